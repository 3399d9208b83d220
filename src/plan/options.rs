//! What a plan is asked for.

use super::error::PlanError;
use super::expected::Expected;
use crate::fit::{Figure, Parameter};
use crate::quantity::key_points::KeyPoint;
use crate::setters::setters;
use crate::sweep::{Noise, Swept};
use std::fmt;

/// By what share one expected device may be off where nothing else is said.
const SPREAD: f64 = 0.1;
/// Most set points of a plan.
pub(super) const MOST_POINTS: usize = 1000;

/// Whose uncertainty is made small.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Method {
    /// That of a figure of the diode model fitted to the readings.
    #[default]
    Model,
    /// That of a key point found without a model, by [`crate::curve::key_points`].
    Local,
}

impl Method {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Method::Model => "model",
            Method::Local => "local",
        }
    }
}

/// What every set point keeps to, at every expected device; infinite where nothing is asked.
///
/// # Examples
/// ```
/// use litdiode::plan::Limits;
/// let limits = Limits { voltage_v: (-0.1, 0.8), current_a: (-0.05, 0.05), power_w: 0.02 };
/// assert!(limits.hold(0.5, 0.03) && !limits.hold(0.9, 0.0));
/// assert!(!limits.hold(0.75, 0.03)); // 22.5 mW
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Limits {
    /// Lowest and highest voltage in V; the lowest is the reverse bias that the device bears.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
    pub voltage_v: (f64, f64),
    /// Lowest and highest current in A; the lowest is what the source drives into the device, below 0.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
    pub current_a: (f64, f64),
    /// Largest |V·I| in W.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub power_w: f64,
}

impl Default for Limits {
    /// None.
    fn default() -> Self {
        let all = (f64::NEG_INFINITY, f64::INFINITY);
        Self { voltage_v: all, current_a: all, power_w: f64::INFINITY }
    }
}

impl Limits {
    /// Whether a point keeps to them.
    pub fn hold(&self, voltage_v: f64, current_a: f64) -> bool {
        let within = |x: f64, (low, high): (f64, f64)| x >= low && x <= high;
        within(voltage_v, self.voltage_v)
            && within(current_a, self.current_a)
            && (voltage_v * current_a).abs() <= self.power_w
    }

    /// Those of the quantity that is set.
    pub(crate) fn of_set_points(&self, swept: Swept) -> (f64, f64) {
        match swept {
            Swept::Voltage => self.voltage_v,
            Swept::Current => self.current_a,
        }
    }

    fn validate(&self) -> Result<(), PlanError> {
        for (name, (low, high)) in
            [("limits: voltage_v", self.voltage_v), ("limits: current_a", self.current_a)]
        {
            if low.is_nan() || high.is_nan() || low >= high {
                let cure = "give (low, high) with low below high";
                return Err(PlanError::Option { name, value: low, cure });
            }
        }
        if self.power_w.is_nan() || self.power_w <= 0.0 {
            let cure = "give the largest power in W, above 0";
            return Err(PlanError::Option { name: "limits: power_w", value: self.power_w, cure });
        }
        Ok(())
    }
}

/// What a plan is asked for.
///
/// # Examples
/// ```
/// use litdiode::{fit::Parameter, plan::PlanOptions, sweep::Noise};
/// let options = PlanOptions::default().points(31).target(Parameter::Rs).noise(Noise::default().current_a(1e-5));
/// assert_eq!(options.points, 31);
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct PlanOptions {
    /// Number of set points, repeated ones counted.
    pub points: usize,
    /// The quantity that is set; that of the sweep of a fit where left out, else the voltage.
    pub swept: Option<Swept>,
    /// Scatter, gains and offsets of the instrument; that of the sweep of a fit where left out.
    pub noise: Option<Noise>,
    /// The figure whose uncertainty is made small.
    pub target: Figure,
    /// Whose uncertainty it is.
    pub method: Method,
    /// What the set points keep to.
    pub limits: Limits,
    /// Step of the source in V or A: every set point is a multiple of it; 0 for none.
    pub step: f64,
    /// By what share the device may be off in the quantity that is set, Voc or Isc.
    pub spread: Option<f64>,
    /// Parameters that the fit will hold.
    pub fix: Vec<Parameter>,
}

setters!(PlanOptions {
    /// With so many set points.
    points: usize,
    /// With the quantity that is set.
    swept: impl Into<Option<Swept>>,
    /// With the scatter, gains and offsets of the instrument.
    noise: impl Into<Option<Noise>>,
    /// With another method.
    method: Method,
    /// With limits.
    limits: Limits,
    /// With the step of the source in V or A.
    step: f64,
    /// With the share by which the device may be off.
    spread: impl Into<Option<f64>>,
    /// With parameters that the fit will hold.
    fix: Vec<Parameter>,
});

impl PlanOptions {
    /// With the figure whose uncertainty is made small, a [`KeyPoint`] or a [`Parameter`].
    #[must_use]
    pub fn target(mut self, target: impl Into<Figure>) -> Self {
        self.target = target.into();
        self
    }

    /// What was left out, from a fit or else the voltage.
    pub(super) fn completed(&self, expected: &Expected) -> Self {
        let mut options = self.clone();
        options.noise = options.noise.or(expected.noise);
        options.swept = options.swept.or(expected.swept);
        options
    }

    /// The quantity that is set.
    pub(super) fn set_quantity(&self) -> Swept {
        self.swept.unwrap_or_default()
    }

    /// By what share devices may be off: what was asked, or SPREAD where nothing else says so (`alone`); without a model no less.
    pub(super) fn allowance(&self, alone: bool) -> f64 {
        let asked = self.spread.unwrap_or(if alone { SPREAD } else { 0.0 });
        if self.method == Method::Local { asked.max(SPREAD) } else { asked }
    }

    /// All in their domains, whatever the device.
    pub(super) fn validate(&self) -> Result<(), PlanError> {
        let bad = |name, value, cure| Err(PlanError::Option { name, value, cure });
        if !(self.step >= 0.0 && self.step.is_finite()) {
            return bad("step", self.step, "give the step of the source in V or A, 0 for none");
        }
        if let Some(spread) = self.spread.filter(|s| !(0.0..=0.3).contains(s)) {
            return bad("spread", spread, "give a share from 0 to 0.3, such as 0.1 for 10 %");
        }
        self.limits.validate()?;
        match (self.target, self.method) {
            (Figure::KeyPoint(KeyPoint::Jsc), _) => {
                Err(PlanError::Proportional { target: "jsc", instead: "isc" })
            }
            (Figure::KeyPoint(KeyPoint::Efficiency), _) => {
                Err(PlanError::Proportional { target: "efficiency", instead: "pmax" })
            }
            (Figure::Parameter(p), Method::Local) => Err(PlanError::NoParameter { target: p.name() }),
            _ => Ok(()),
        }
    }
}

impl Default for PlanOptions {
    /// 25 voltages for the fill factor of the model.
    fn default() -> Self {
        Self {
            points: 25,
            swept: None,
            noise: None,
            target: KeyPoint::Ff.into(),
            method: Method::Model,
            limits: Limits::default(),
            step: 0.0,
            spread: None,
            fix: Vec::new(),
        }
    }
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}
