//! A value with its standard uncertainty: what every quoted figure is.
//!
//! An [`Estimate`] is `value ± u` with the degrees of freedom behind `u`, a unit, and the scale on
//! which its interval is symmetric. The expanded interval follows JCGM 100:2008 (GUM), annex G:
//!
//! ```text
//! value ± t_p(ν) · u          t_p: Student's t, two-sided; ν = ∞ gives the normal quantile
//! ```

use crate::quantity::format::{quantity, quoted};
use crate::quantity::reason::{Reason, joined};
use crate::quantity::source::{Aside, Source};
use std::fmt;

pub(crate) use crate::quantity::coverage::student_t;
pub use crate::quantity::coverage::{LevelError, coverage_factor};
pub(crate) use crate::quantity::names::named;
pub use crate::quantity::names::{Name, UnknownName};
pub use crate::quantity::unit::{Amount, Unit};

/// Standard uncertainties below which a figure is not detected: 2·1.645 (L. A. Currie, Anal. Chem. 40 (1968) 586, α = β = 5 %).
pub(crate) const DETECTED: f64 = 3.29;

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
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Interval, Unit};
/// use litdiode::reason::Reason;
/// let interval = Estimate::new(10.0, 1.0, Unit::Ohm).interval(0.95);
/// assert!((interval.high.unwrap() - 11.959964).abs() < 1e-6);
/// let none = Interval::absent(0.95, Reason::NoScatter);
/// assert!(none.low.is_none() && none.note().is_some());
/// assert!(Interval::refused(1.5).is_some()); // no level
/// ```
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
    /// Why an end is missing, where one is, and what must be known with those that are there.
    #[cfg_attr(feature = "serde", serde(default))]
    pub notes: Vec<Reason>,
}

impl Interval {
    /// An interval without ends, and the reason.
    pub fn absent(level: f64, why: impl Into<Reason>) -> Self {
        Self { low: None, high: None, level, notes: vec![why.into()] }
    }

    /// The notes as one text; `None` where there is nothing to say.
    pub fn note(&self) -> Option<String> {
        joined(&self.notes)
    }

    /// The answer to a `level` that no interval has; `None` where it is one.
    pub fn refused(level: f64) -> Option<Self> {
        let good = level > 0.0 && level < 1.0;
        (!good).then(|| Self::absent(level, LevelError { level }))
    }
}

/// A value with its standard uncertainty, degrees of freedom and unit.
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Scale, Unit};
/// use litdiode::source::Identity;
/// let current = Estimate::new(0.0300, 0.0002, Unit::Ampere).with_dof(5.0);
/// assert_eq!(current.to_string(), "30.00 ± 0.20 mA");
/// let t = 2.570582; // of Student for 95 % and 5 degrees of freedom
/// assert!((current.interval(0.95).high.unwrap() - (0.0300 + t * 0.0002)).abs() < 1e-9);
/// // An interval of I0 goes through ln I0, and stays above 0.
/// let i0 = Estimate::new(1e-9, 1e-9, Unit::Ampere).on(Scale::Log);
/// assert!((i0.interval(0.95).low.unwrap() - 1e-9 * (-1.959964f64).exp()).abs() < 1e-15);
/// // A figure that is known by name less itself is exact.
/// let lamp = Estimate::new(1000.0, 20.0, Unit::WattPerM2).identified(Identity::named("lamp"), "lamp");
/// assert_eq!(lamp.clone().minus(&lamp)?.u, Some(0.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
    #[cfg_attr(feature = "serde", serde(default))]
    pub notes: Vec<Reason>,
    /// The independent sources that u is made of; empty where they are not recorded.
    #[cfg_attr(feature = "serde", serde(default))]
    pub(crate) sources: Aside<Vec<Source>>,
}

impl Estimate {
    /// A value with a known standard uncertainty (infinite degrees of freedom).
    pub const fn new(value: f64, u: f64, unit: Unit) -> Self {
        let sources = Aside(Vec::new());
        Self { value, u: Some(u), dof: f64::INFINITY, unit, scale: Scale::Linear, notes: Vec::new(), sources }
    }

    /// A value without an uncertainty, and the reason.
    pub fn without_u(value: f64, unit: Unit, why: impl Into<Reason>) -> Self {
        let notes = vec![why.into()];
        let sources = Aside::default();
        Self { value, u: None, dof: f64::INFINITY, unit, scale: Scale::Linear, notes, sources }
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

    /// The same with one more note.
    #[must_use]
    pub fn noted(mut self, note: impl Into<Reason>) -> Self {
        self.notes.push(note.into());
        self
    }

    /// The notes as one text; `None` where there is nothing to say.
    pub fn note(&self) -> Option<String> {
        joined(&self.notes)
    }

    /// 3.29·u, where the value is below it: a signal of that size is found in 95 % of readings only.
    pub fn detection_limit(&self) -> Option<f64> {
        self.u.map(|u| DETECTED * u).filter(|limit| self.value.abs() < *limit)
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
            let notes = if self.notes.is_empty() { vec![Reason::Unrecorded] } else { self.notes.clone() };
            return Interval { low: None, high: None, level, notes };
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
            return Interval::absent(level, Reason::NoInterval { value: self.value, u });
        }
        Interval { low: Some(low), high: Some(high), level, notes: Vec::new() }
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
        if let Some(source) = self.sources.0.iter().find(|s| !(s.u.is_finite() && s.dof > 0.0)) {
            return Some(format!(
                "sources: {} has no finite u and a number of degrees of freedom",
                source.name
            ));
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

/// Its ends, in the unit of the figure, and the notes: `1.020 to 1.240 (level 0.95)`.
impl fmt::Display for Interval {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let end = |x: Option<f64>| x.map_or("open".into(), |x| quantity(x, ""));
        let notes = self.note().map_or(String::new(), |note| format!(": {note}"));
        write!(f, "{} to {} (level {}){notes}", end(self.low), end(self.high), self.level)
    }
}

/// Interval of x = 1/g from g ± half/x²; g may not be negative.
fn reciprocal_interval(x: f64, half: f64) -> (f64, f64) {
    let g = 1.0 / x;
    let spread = half * g * g;
    let high = if spread < g { 1.0 / (g - spread) } else { f64::INFINITY };
    (1.0 / (g + spread), high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_value_that_its_scale_does_not_hold_has_no_interval() {
        let i = Estimate::new(0.0, 1.0, Unit::One).on(Scale::Log).interval(0.95);
        assert_eq!((i.low, i.high), (None, None));
        assert_eq!(i.notes, [Reason::NoInterval { value: 0.0, u: 1.0 }]);
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
        assert_eq!(i.note().as_deref(), Some("one reading only"));
    }

    /// Without a unit, which an interval does not hold.
    #[test]
    fn an_interval_is_written_with_its_notes() {
        let mut i = Estimate::new(0.5728, 0.0012, Unit::Volt).interval(0.95);
        assert_eq!(i.to_string(), "0.5704 to 0.5752 (level 0.95)");
        (i.high, i.notes) = (None, vec![Reason::OpenAbove]);
        assert_eq!(i.to_string(), format!("0.5704 to open (level 0.95): {}", Reason::OpenAbove));
    }
}
