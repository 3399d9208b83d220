//! Estimates that compute: sums, products and powers, to first order and with what the operands have in common.
//!
//! ```text
//! f(x, y): uₖ = ∂f/∂x·uₖ(x) + ∂f/∂y·uₖ(y) for every source k        u² = Σ uₖ²
//! ```
//!
//! JCGM 100:2008, 5.1.2 applied to independent sources; degrees of freedom by Welch–Satterthwaite over the origins (annex G,
//! equation G.2b), those of one origin being counted together.

use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::key_points::combined_dof;
use crate::quantity::reason::Reason;
use crate::quantity::source::{Aside, Identity, Source};
use std::collections::HashMap;

/// Why two estimates do not make a third.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ArithmeticError {
    /// Amperes and volts do not add.
    #[error(
        "a figure in {left} and one in {right} cannot be added or compared: convert one of them",
        left = shown(*left), right = shown(*right)
    )]
    Units {
        /// Unit of the first.
        left: Unit,
        /// Unit of the second.
        right: Unit,
    },
    /// No unit that is known.
    #[error("the result has no unit that figures have here: compute with float(figure), or in other units")]
    NoUnit,
    /// The result is no number, as of a quotient by 0 or a root of a negative figure.
    #[error(
        "the result is {value}, no finite number: the figure is zero, or outside what the operation takes"
    )]
    NotFinite {
        /// What came out.
        value: f64,
    },
}

fn shown(unit: Unit) -> &'static str {
    if unit == Unit::One { "1 (a pure number)" } else { unit.symbol() }
}

impl Estimate {
    /// The figure of these operands: `value` in `unit`, with the derivative by each operand.
    ///
    /// What sources have in common is kept. An operand without a recorded source counts as independent of the others, and a
    /// note says so; one without u leaves the result without.
    ///
    /// # Errors
    /// [`ArithmeticError::NotFinite`] where the value or a derivative is no number.
    pub fn of_operands(
        value: f64,
        unit: Unit,
        operands: &[(&Estimate, f64)],
    ) -> Result<Self, ArithmeticError> {
        for number in operands.iter().map(|o| o.1).chain([value]) {
            if !number.is_finite() {
                return Err(ArithmeticError::NotFinite { value: number });
            }
        }
        let mut notes: Vec<Reason> = Vec::new();
        for note in operands.iter().flat_map(|(e, _)| &e.notes) {
            if !notes.contains(note) {
                notes.push(note.clone());
            }
        }
        let mut result = Self { notes, ..Self::new(value, 0.0, unit) };
        if operands.iter().any(|(e, _)| e.u.is_none()) {
            result.u = None;
            return Ok(result);
        }
        let sources = merged(operands);
        if is_unknown(&sources) {
            result.notes.push(Reason::UnknownCorrelation);
        }
        result.u = Some(sources.iter().map(|s| s.u).fold(0.0, f64::hypot));
        result.dof = dof(&sources);
        result.sources = Aside(sources);
        Ok(result)
    }

    /// The sum of two figures in one unit.
    ///
    /// # Errors
    /// [`ArithmeticError::Units`], and [`ArithmeticError::NotFinite`] beyond the largest number.
    pub fn plus(&self, other: &Self) -> Result<Self, ArithmeticError> {
        self.comparable(other)?;
        Self::of_operands(self.value + other.value, self.unit, &[(self, 1.0), (other, 1.0)])
    }

    /// The difference of two figures in one unit.
    ///
    /// # Errors
    /// As [`Estimate::plus`].
    pub fn minus(&self, other: &Self) -> Result<Self, ArithmeticError> {
        self.comparable(other)?;
        Self::of_operands(self.value - other.value, self.unit, &[(self, 1.0), (other, -1.0)])
    }

    /// The product.
    ///
    /// # Errors
    /// [`ArithmeticError::NoUnit`] where none of [`Unit`] is its unit.
    pub fn times(&self, other: &Self) -> Result<Self, ArithmeticError> {
        let unit = self.unit.product(other.unit, 1).ok_or(ArithmeticError::NoUnit)?;
        Self::of_operands(self.value * other.value, unit, &[(self, other.value), (other, self.value)])
    }

    /// The quotient.
    ///
    /// # Errors
    /// As [`Estimate::times`]; [`ArithmeticError::NotFinite`] where `other` is 0.
    pub fn over(&self, other: &Self) -> Result<Self, ArithmeticError> {
        let unit = self.unit.product(other.unit, -1).ok_or(ArithmeticError::NoUnit)?;
        let value = self.value / other.value;
        Self::of_operands(value, unit, &[(self, 1.0 / other.value), (other, -value / other.value)])
    }

    /// The power with a known exponent.
    ///
    /// # Errors
    /// [`ArithmeticError::NoUnit`] where a figure with a unit is raised to another power than 1, 0 or −1 that has none of
    /// [`Unit`]; [`ArithmeticError::NotFinite`] as for a root of a negative figure.
    pub fn to_power(&self, exponent: f64) -> Result<Self, ArithmeticError> {
        let unit = match self.unit {
            Unit::One => Unit::One,
            unit if exponent == 1.0 => unit,
            _ if exponent == 0.0 => Unit::One,
            unit if exponent == -1.0 => Unit::One.product(unit, -1).ok_or(ArithmeticError::NoUnit)?,
            _ => return Err(ArithmeticError::NoUnit),
        };
        // 0 to the power of 1 has a derivative, though the general form is 0/0.
        let by = if exponent == 0.0 { 0.0 } else { exponent * self.value.powf(exponent - 1.0) };
        Self::of_operands(self.value.powf(exponent), unit, &[(self, by)])
    }

    /// The figure times a known number.
    ///
    /// # Errors
    /// [`ArithmeticError::NotFinite`] beyond the largest number.
    pub fn scaled(&self, factor: f64) -> Result<Self, ArithmeticError> {
        Self::of_operands(factor * self.value, self.unit, &[(self, factor)])
    }

    /// Covariance with another figure through the sources that both have.
    pub fn covariance(&self, other: &Self) -> f64 {
        let theirs = other.known_sources();
        let shared =
            |s: &Source| theirs.iter().filter(|t| t.identity == s.identity).map(|t| t.u * s.u).sum::<f64>();
        self.known_sources().iter().map(shared).sum()
    }

    /// Whether both are in one unit.
    ///
    /// # Errors
    /// [`ArithmeticError::Units`].
    pub fn comparable(&self, other: &Self) -> Result<(), ArithmeticError> {
        let same = self.unit == other.unit;
        if same { Ok(()) } else { Err(ArithmeticError::Units { left: self.unit, right: other.unit }) }
    }

    /// The recorded sources; where there are none, one of its own.
    pub fn known_sources(&self) -> Vec<Source> {
        if !self.sources.0.is_empty() {
            return self.sources.0.clone();
        }
        let own =
            |u: f64| Source::new(Identity::unknown_distinct(), "a figure without a record", u, self.dof);
        self.u.filter(|u| *u > 0.0).map(own).into_iter().collect()
    }

    /// The same with its uncertainty made of `sources`, which replace `u`, and with the degrees of freedom that they have.
    #[must_use]
    pub fn with_sources(mut self, sources: Vec<Source>) -> Self {
        self.u = Some(sources.iter().map(|s| s.u).fold(0.0, f64::hypot));
        self.dof = dof(&sources);
        self.sources = Aside(sources);
        self
    }

    /// The same with its whole uncertainty one source.
    #[must_use]
    pub fn identified(mut self, identity: Identity, name: impl Into<String>) -> Self {
        let own = |u: f64| Source::new(identity, name, u, self.dof);
        self.sources = Aside(self.u.filter(|u| *u > 0.0).map(own).into_iter().collect());
        self
    }

    /// Whether its sources are recorded.
    pub fn is_identified(&self) -> bool {
        !self.sources.0.is_empty()
    }
}

/// The sources of a combination, those of one identity together.
fn merged(operands: &[(&Estimate, f64)]) -> Vec<Source> {
    let mut sources: Vec<Source> = Vec::new();
    let mut places: HashMap<Identity, usize> = HashMap::new();
    for (estimate, by) in operands {
        for source in estimate.known_sources() {
            match places.get(&source.identity) {
                Some(&at) => {
                    sources[at].u += by * source.u;
                    sources[at].dof = sources[at].dof.min(source.dof);
                }
                None => {
                    places.insert(source.identity.clone(), sources.len());
                    sources.push(source.times(*by));
                }
            }
        }
    }
    sources
}

/// Degrees of freedom of independent sources; those of one origin rest on one estimate of a scatter.
fn dof(sources: &[Source]) -> f64 {
    let mut parts: Vec<(f64, f64)> = Vec::new();
    let mut places: HashMap<&str, usize> = HashMap::new();
    for s in sources {
        let at = *places.entry(&s.identity.origin).or_insert(parts.len());
        match parts.get_mut(at) {
            Some(part) => *part = (part.0 + s.u * s.u, part.1.min(s.dof)),
            None => parts.push((s.u * s.u, s.dof)),
        }
    }
    combined_dof(&parts)
}

/// Origins among which common readings are looked for: of very many, as in a long sum, they are not.
const MANY: usize = 50;

/// Whether what the sources have in common is not known: some have no record, or are read from one sweep in different ways.
fn is_unknown(sources: &[Source]) -> bool {
    let mut origins: HashMap<&str, &Identity> = HashMap::new();
    for source in sources.iter().filter(|s| s.u != 0.0) {
        origins.entry(&source.identity.origin).or_insert(&source.identity);
    }
    let all: Vec<&Identity> = origins.into_values().collect();
    let unrecorded = all.len() > 1 && all.iter().any(|identity| identity.is_unknown());
    let shares = |a: &&Identity| all.iter().any(|b| a.shares_readings(b));
    unrecorded || (all.len() <= MANY && all.iter().any(shares))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn known(value: f64, u: f64, unit: Unit) -> Estimate {
        Estimate::new(value, u, unit).identified(Identity::distinct(), "invented")
    }

    #[test]
    fn a_figure_less_itself_is_exactly_zero() {
        let x = known(3.0, 0.4, Unit::Volt);
        let zero = x.minus(&x).unwrap();
        assert_eq!((zero.value, zero.u), (0.0, Some(0.0)));
        // As of x·x, whose u is 2·x·u and not √2·x·u.
        let one = x.over(&x).unwrap();
        assert_eq!((one.unit, one.u), (Unit::One, Some(0.0)));
    }

    /// JCGM 101:2008, 9.2.2: the sum of four quantities of standard uncertainty 1 has 2, and 95 % within ±3.92.
    #[test]
    fn four_inputs_of_jcgm_101() {
        let inputs: Vec<Estimate> = (0..4).map(|_| known(0.0, 1.0, Unit::One)).collect();
        let sum = inputs[1..].iter().try_fold(inputs[0].clone(), |sum, x| sum.plus(x)).unwrap();
        let interval = sum.interval(0.95);
        assert_relative_eq!(sum.u.unwrap(), 2.0, max_relative = 1e-15);
        assert_relative_eq!(interval.high.unwrap(), 3.92, epsilon = 0.005);
    }

    /// JCGM 100:2008, H.2: resistance, reactance and impedance from the means of five simultaneous readings of V, I, φ.
    #[test]
    fn simultaneous_resistance_and_reactance_of_jcgm_100() {
        let (v, i, phi) = (4.9990, 19.6610e-3, 1.04446);
        let u = [0.0032, 0.0095e-3, 0.00075];
        let r = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]];
        // Three sources by Cholesky.
        let mut l = [[0.0f64; 3]; 3];
        for a in 0..3 {
            for b in 0..=a {
                let sum: f64 = (0..b).map(|k| l[a][k] * l[b][k]).sum();
                let c = r[a][b] * u[a] * u[b] - sum;
                l[a][b] = if a == b { c.sqrt() } else { c / l[b][b] };
            }
        }
        let origin = Identity::distinct();
        let input = |a: usize, value: f64, unit: Unit| {
            let source = |k: usize| Source::new(origin.part(k), "readings", l[a][k], f64::INFINITY);
            Estimate::new(value, 0.0, unit).with_sources((0..3).map(source).collect())
        };
        let (volt, ampere, angle) =
            (input(0, v, Unit::Volt), input(1, i, Unit::Ampere), input(2, phi, Unit::One));
        let cosine = Estimate::of_operands(phi.cos(), Unit::One, &[(&angle, -phi.sin())]).unwrap();
        let sine = Estimate::of_operands(phi.sin(), Unit::One, &[(&angle, phi.cos())]).unwrap();
        let z = volt.over(&ampere).unwrap();
        let (resistance, reactance) = (z.times(&cosine).unwrap(), z.times(&sine).unwrap());
        // Table H.4: R 127.732 (0.071), X 219.847 (0.295), Z 254.260 (0.236) Ω; r(R, X) −0.588.
        for (found, value, u) in
            [(&resistance, 127.732, 0.071), (&reactance, 219.847, 0.295), (&z, 254.260, 0.236)]
        {
            assert_eq!(found.unit, Unit::Ohm);
            assert_relative_eq!(found.value, value, epsilon = 0.003);
            assert_relative_eq!(found.u.unwrap(), u, epsilon = 0.0015);
        }
        let correlation = resistance.covariance(&reactance) / (resistance.u.unwrap() * reactance.u.unwrap());
        assert_relative_eq!(correlation, -0.588, epsilon = 0.01);
    }

    #[test]
    fn degrees_of_freedom_of_one_origin_are_not_added() {
        let origin = Identity::distinct();
        let source = |k: usize| Source::new(origin.part(k), "readings", 1.0, 5.0);
        let x = Estimate::new(1.0, 0.0, Unit::Volt).with_sources(vec![source(0), source(1)]);
        assert_relative_eq!(x.dof, 5.0, max_relative = 1e-14);
        // JCGM 100, G.4.1: of two origins they are.
        let own = Estimate::new(1.0, 1.0, Unit::Volt).with_dof(4.0);
        let (a, b) =
            (own.clone().identified(Identity::distinct(), "a"), own.identified(Identity::distinct(), "b"));
        assert_relative_eq!(a.plus(&b).unwrap().dof, 8.0, max_relative = 1e-14);
    }

    #[test]
    fn units_go_with_the_numbers() {
        let (v, i) = (known(2.0, 0.1, Unit::Volt), known(4.0, 0.1, Unit::Ampere));
        assert_eq!(v.times(&i).unwrap().unit, Unit::Watt);
        assert_eq!(i.over(&v).unwrap().unit, Unit::Siemens);
        assert_eq!(v.times(&v).unwrap_err(), ArithmeticError::NoUnit);
        assert_eq!(v.plus(&i).unwrap_err(), ArithmeticError::Units { left: Unit::Volt, right: Unit::Ampere });
        assert!(matches!(v.over(&known(0.0, 0.1, Unit::Volt)), Err(ArithmeticError::NotFinite { .. })));
        assert!(matches!(known(-2.0, 0.1, Unit::One).to_power(0.5), Err(ArithmeticError::NotFinite { .. })));
        assert_relative_eq!(
            known(3.0, 0.1, Unit::One).to_power(2.0).unwrap().u.unwrap(),
            0.6,
            max_relative = 1e-14
        );
        assert_eq!(known(0.0, 0.1, Unit::Volt).to_power(1.0).unwrap().u, Some(0.1));
    }

    #[test]
    fn what_has_no_record_is_told() {
        let (known, plain) = (known(1.0, 0.1, Unit::Volt), Estimate::new(1.0, 0.1, Unit::Volt));
        assert_eq!(known.plus(&plain).unwrap().notes, [Reason::UnknownCorrelation]);
        assert_eq!(plain.scaled(2.0).unwrap().notes, []);
        let bare = Estimate::without_u(1.0, Unit::Volt, Reason::Given);
        assert_eq!(known.plus(&bare).unwrap().u, None);
    }
}
