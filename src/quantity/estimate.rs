//! A value with its standard uncertainty: what every quoted figure is.
//!
//! An [`Estimate`] is `value ± u` with the degrees of freedom behind `u`, a unit, and the scale on
//! which its interval is symmetric. The expanded interval follows JCGM 100:2008 (GUM), annex G:
//!
//! ```text
//! value ± t_p(ν) · u          t_p: Student's t, two-sided; ν = ∞ gives the normal quantile
//! ```

use crate::quantity::format::quoted;
use statrs::distribution::{ContinuousCDF, Normal, StudentsT};
use std::borrow::Cow;
use std::fmt;

/// The name of a figure.
pub type Name = Cow<'static, str>;

/// A name that stands for nothing of its kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{name:?} is no {what}; use one of {known}")]
#[non_exhaustive]
pub struct UnknownName {
    /// The name given.
    pub name: String,
    /// What it should stand for.
    pub what: &'static str,
    /// The names that there are.
    pub known: String,
}

/// The one of `all` that has the name `given`.
pub(crate) fn named<T: Copy>(
    given: &str,
    what: &'static str,
    all: &[T],
    name: impl Fn(T) -> &'static str,
) -> Result<T, UnknownName> {
    all.iter().copied().find(|one| name(*one) == given).ok_or_else(|| UnknownName {
        name: given.into(),
        what,
        known: all.iter().map(|one| name(*one)).collect::<Vec<_>>().join(", "),
    })
}

/// The SI unit of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Unit {
    /// A pure number.
    One,
    /// Ampere.
    Ampere,
    /// Volt.
    Volt,
    /// Watt.
    Watt,
    /// Ohm.
    Ohm,
    /// Ampere per square centimetre.
    AmperePerCm2,
    /// Square centimetre.
    Cm2,
    /// Watt per square metre.
    WattPerM2,
    /// Siemens.
    Siemens,
    /// Kelvin.
    Kelvin,
    /// Per kelvin: a relative temperature coefficient.
    PerKelvin,
    /// Ampere per kelvin.
    AmperePerKelvin,
    /// Volt per kelvin.
    VoltPerKelvin,
    /// Ohm per kelvin.
    OhmPerKelvin,
}

impl Unit {
    /// All there are.
    pub const ALL: [Unit; 14] = [
        Unit::One,
        Unit::Ampere,
        Unit::Volt,
        Unit::Watt,
        Unit::Ohm,
        Unit::AmperePerCm2,
        Unit::Cm2,
        Unit::WattPerM2,
        Unit::Siemens,
        Unit::Kelvin,
        Unit::PerKelvin,
        Unit::AmperePerKelvin,
        Unit::VoltPerKelvin,
        Unit::OhmPerKelvin,
    ];

    /// The symbol, empty for a pure number.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::One => "",
            Unit::Ampere => "A",
            Unit::Volt => "V",
            Unit::Watt => "W",
            Unit::Ohm => "Ω",
            Unit::AmperePerCm2 => "A/cm²",
            Unit::Cm2 => "cm²",
            Unit::WattPerM2 => "W/m²",
            Unit::Siemens => "S",
            Unit::Kelvin => "K",
            Unit::PerKelvin => "1/K",
            Unit::AmperePerKelvin => "A/K",
            Unit::VoltPerKelvin => "V/K",
            Unit::OhmPerKelvin => "Ω/K",
        }
    }
}

/// The scale on which the distribution of an estimate is close to symmetric.
///
/// `u` is always the standard uncertainty of the value itself (first order); the interval is taken
/// on the scale and carried back.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Scale {
    /// The value itself.
    #[default]
    Linear,
    /// Its logarithm: I0 and n.
    Log,
    /// Its reciprocal: Rsh = 1/g, whose upper limit may be infinite.
    Reciprocal,
}

/// A two-sided or one-sided interval at a stated level.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(remote = "Self"))]
#[non_exhaustive]
pub struct Interval {
    /// Lower end; `None` where the data give none.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::option"))]
    pub low: Option<f64>,
    /// Upper end; `None` where the data give none.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::option"))]
    pub high: Option<f64>,
    /// Probability that the interval is stated to hold.
    pub level: f64,
    /// Why an end is missing, where one is.
    pub note: Option<String>,
}

impl Interval {
    /// An interval without ends, and the reason.
    pub fn absent(level: f64, why: impl Into<String>) -> Self {
        Self { low: None, high: None, level, note: Some(why.into()) }
    }

    /// The answer to a `level` that no interval has; `None` where it is one.
    pub fn refused(level: f64) -> Option<Self> {
        let good = level > 0.0 && level < 1.0;
        (!good).then(|| Self::absent(level, LevelError { level }.to_string()))
    }
}

/// A value with its standard uncertainty, degrees of freedom and unit.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(remote = "Self"))]
#[non_exhaustive]
pub struct Estimate {
    /// The best value, in `unit`.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub value: f64,
    /// Standard uncertainty (one standard deviation) in `unit`; `None` where no ± exists.
    pub u: Option<f64>,
    /// Degrees of freedom of `u`; infinite when the noise is known.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub dof: f64,
    /// The unit.
    pub unit: Unit,
    /// The scale of the interval.
    pub scale: Scale,
    /// What must be known with the figure: why `u` is absent, what it leaves out.
    pub note: Option<String>,
}

impl Estimate {
    /// A value with a known standard uncertainty (infinite degrees of freedom).
    pub const fn new(value: f64, u: f64, unit: Unit) -> Self {
        Self { value, u: Some(u), dof: f64::INFINITY, unit, scale: Scale::Linear, note: None }
    }

    /// A value without an uncertainty, and the reason.
    pub fn without_u(value: f64, unit: Unit, why: impl Into<String>) -> Self {
        Self { value, u: None, dof: f64::INFINITY, unit, scale: Scale::Linear, note: Some(why.into()) }
    }

    /// The same with `dof` degrees of freedom behind `u`.
    #[must_use]
    pub fn with_dof(mut self, dof: f64) -> Self {
        self.dof = dof;
        self
    }

    /// The same figure read in `unit`, its numbers as they are.
    #[must_use]
    pub fn in_unit(mut self, unit: Unit) -> Self {
        self.unit = unit;
        self
    }

    /// The same with its interval taken on `scale`.
    #[must_use]
    pub fn on(mut self, scale: Scale) -> Self {
        self.scale = scale;
        self
    }

    /// The same with a remark.
    #[must_use]
    pub fn noted(mut self, note: impl Into<String>) -> Self {
        self.note = Some(note.into());
        self
    }

    /// `u / |value|`, where both are there and the value is not zero.
    pub fn relative_u(&self) -> Option<f64> {
        self.u.filter(|_| self.value != 0.0).map(|u| u / self.value.abs())
    }

    /// The interval that holds the true value with probability `level`, 0 < level < 1.
    ///
    /// Formula: `value ± t·u` on a linear scale; `value·exp(±t·u/value)` on a logarithmic one;
    /// `1/(1/value ± t·u/value²)` on a reciprocal one, where an end beyond 1/x = 0 is infinite.
    ///
    /// # Panics
    /// Never: a `level` outside (0, 1) gives an interval without ends and says so.
    pub fn interval(&self, level: f64) -> Interval {
        if let Some(refused) = Interval::refused(level) {
            return refused;
        }
        let Some(u) = self.u else {
            return Interval::absent(level, self.note.as_deref().unwrap_or("no standard uncertainty"));
        };
        let half = student_t(level, self.dof) * u;
        let (low, high) = match self.scale {
            Scale::Linear => (self.value - half, self.value + half),
            Scale::Log => {
                let factor = (half / self.value.abs()).exp();
                (self.value / factor, self.value * factor)
            }
            Scale::Reciprocal => reciprocal_interval(self.value, half),
        };
        if low.is_nan() || high.is_nan() {
            let what = if self.scale == Scale::Linear { "interval" } else { "logarithm or reciprocal" };
            return Interval::absent(level, format!("a value of {} with u = {u} has no {what}", self.value));
        }
        Interval { low: Some(low), high: Some(high), level, note: None }
    }
}

#[cfg(feature = "serde")]
crate::numerics::serde_float::checked!(Interval);

#[cfg(feature = "serde")]
impl Interval {
    /// What no interval holds.
    fn wrong(&self) -> Option<String> {
        let (low, high) = (self.low.unwrap_or(f64::NEG_INFINITY), self.high.unwrap_or(f64::INFINITY));
        (low.is_nan() || high.is_nan() || low > high)
            .then(|| format!("low = {low} and high = {high} are not the ends of an interval"))
    }
}

#[cfg(feature = "serde")]
crate::numerics::serde_float::checked!(Estimate);

#[cfg(feature = "serde")]
impl Estimate {
    /// What no estimate holds.
    fn wrong(&self) -> Option<String> {
        let Self { value, dof, .. } = self;
        if value.is_nan() {
            return Some("value is not a number".into());
        }
        if let Some(u) = self.u.filter(|u| !(u.is_finite() && *u >= 0.0)) {
            return Some(format!("u = {u} is not a standard uncertainty: a finite number, 0 or more"));
        }
        (dof.is_nan() || *dof < 0.0)
            .then(|| format!("dof = {dof} is not a number of degrees of freedom, 0 or more"))
    }
}

/// `value ± u` with its unit, as [`crate::quantity::format`] writes it.
impl fmt::Display for Estimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&quoted(self.value, self.u, self.unit.symbol()))
    }
}

/// Interval of x = 1/g from g ± half/x²; g may not be negative.
fn reciprocal_interval(x: f64, half: f64) -> (f64, f64) {
    let g = 1.0 / x;
    let spread = half * g * g;
    let high = if spread < g { 1.0 / (g - spread) } else { f64::INFINITY };
    (1.0 / (g + spread), high)
}

/// A probability that no interval has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("level = {level} is not between 0 and 1; pass for instance 0.95")]
#[non_exhaustive]
pub struct LevelError {
    /// What was given.
    pub level: f64,
}

/// Student's t for a two-sided interval at `level` with `dof` degrees of freedom.
///
/// The normal quantile for infinite `dof`; infinite for `dof` ≤ 0 (nothing is known of the spread).
///
/// # Errors
/// [`LevelError`] for a `level` that is not between 0 and 1.
pub fn coverage_factor(level: f64, dof: f64) -> Result<f64, LevelError> {
    if level > 0.0 && level < 1.0 { Ok(student_t(level, dof)) } else { Err(LevelError { level }) }
}

/// Degrees of freedom below which t, (2/(1 − level))^(1/dof) in order of magnitude, is beyond any use.
const FEWEST: f64 = 1e-2;

/// The same for a level that is known to be one.
pub(crate) fn student_t(level: f64, dof: f64) -> f64 {
    let p = 0.5 + 0.5 * level;
    if dof.is_nan() || dof < FEWEST {
        return f64::INFINITY;
    }
    if dof > 1e7 {
        return Normal::standard().inverse_cdf(p);
    }
    StudentsT::new(0.0, 1.0, dof).map_or(f64::INFINITY, |t| t.inverse_cdf(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// GUM (JCGM 100:2008) table G.2: t_95 for 1, 5, 10, 20 and infinitely many degrees of freedom.
    #[test]
    fn coverage_factors_of_gum_table_g2() {
        for (dof, t) in [(1.0, 12.71), (5.0, 2.57), (10.0, 2.23), (20.0, 2.09), (f64::INFINITY, 1.96)] {
            assert_relative_eq!(coverage_factor(0.95, dof).unwrap(), t, epsilon = 0.005);
        }
    }

    /// Fewer degrees of freedom than any scatter has, which a stored estimate may hold all the same.
    #[test]
    fn hardly_any_degrees_of_freedom_give_an_infinite_factor() {
        for dof in [0.0, 5e-324, 1e-300, 9e-3, -1.0, f64::NAN] {
            assert_eq!(coverage_factor(0.95, dof), Ok(f64::INFINITY), "{dof}");
        }
        assert!(coverage_factor(0.95, 0.1).unwrap() > 1e6);
    }

    #[test]
    fn a_level_that_is_none_is_refused() {
        for level in [2.0, -5.0, 0.0, 1.0, f64::NAN, f64::INFINITY] {
            let error = coverage_factor(level, 10.0).unwrap_err();
            assert!(error.to_string().starts_with(&format!("level = {level}")), "{error}");
        }
    }

    #[test]
    fn a_value_that_its_scale_does_not_hold_has_no_interval() {
        let i = Estimate::new(0.0, 1.0, Unit::One).on(Scale::Log).interval(0.95);
        assert_eq!((i.low, i.high), (None, None));
        assert!(i.note.is_some());
        // 1/0 is a reciprocal all the same: anything from 0 on.
        let i = Estimate::new(0.0, 1.0, Unit::One).on(Scale::Reciprocal).interval(0.95);
        assert_eq!((i.low, i.high), (Some(0.0), Some(f64::INFINITY)));
    }

    #[test]
    fn reciprocal_interval_may_be_open() {
        let rsh = Estimate::new(100.0, 80.0, Unit::Ohm).on(Scale::Reciprocal);
        let i = rsh.interval(0.95);
        assert_eq!(i.high, Some(f64::INFINITY));
        assert_relative_eq!(i.low.unwrap(), 1.0 / (0.01 + 1.959963984540054 * 0.008), max_relative = 1e-9);
    }

    #[test]
    fn absent_u_gives_absent_interval_with_the_reason() {
        let i = Estimate::without_u(1.0, Unit::Volt, "one reading only").interval(0.95);
        assert_eq!((i.low, i.high), (None, None));
        assert_eq!(i.note.as_deref(), Some("one reading only"));
    }
}
