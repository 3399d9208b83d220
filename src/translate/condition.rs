//! Where a sweep was measured, where it is to go, and where the parameters for it were found.

use super::error::TranslateError;
use super::warning::{End, Warning};
use crate::curve::{self, Beyond, Contributions};
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::format::as_given;
use crate::quantity::key_points::{Found, KeyPoints};
use crate::quantity::reason::Reason;
use crate::sweep::{Effect, Sweep};
use std::cell::OnceCell;
use std::fmt;

/// The condition to translate to. It is exact: the uncertainty of a translation lies on its points.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Target {
    /// Irradiance in W/m².
    pub irradiance_w_m2: f64,
    /// Temperature of the device in °C.
    pub temperature_c: f64,
}

impl Target {
    pub(super) fn validate(&self) -> Result<(), TranslateError> {
        let (name, value) = ("irradiance_w_m2 of the target", self.irradiance_w_m2);
        if !(value > 0.0 && value.is_finite()) {
            return Err(TranslateError::Number {
                name, value, cure: "give the irradiance in W/m², above 0"
            });
        }
        let (name, value) = ("temperature_c of the target", self.temperature_c);
        if !(value > -273.15 && value.is_finite()) {
            let cure = "give the temperature in °C, above absolute zero (−273.15)";
            return Err(TranslateError::Number { name, value, cure });
        }
        Ok(())
    }
}

/// The conditions (low, high) in which parameters were found.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Range {
    /// Irradiance in W/m².
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
    pub irradiance_w_m2: (f64, f64),
    /// Temperature in °C.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
    pub temperature_c: (f64, f64),
}

impl Range {
    /// No limits: nothing is warned of.
    pub const UNLIMITED: Self = Self {
        irradiance_w_m2: (f64::NEG_INFINITY, f64::INFINITY),
        temperature_c: (f64::NEG_INFINITY, f64::INFINITY),
    };

    /// Both ends numbers in their order.
    pub(super) fn validate(&self) -> Result<(), TranslateError> {
        let cure = "give (low, high) with low ≤ high, infinite where there is no limit";
        for (name, (low, high)) in
            [("range: irradiance_w_m2", self.irradiance_w_m2), ("range: temperature_c", self.temperature_c)]
        {
            let ordered = low <= high;
            if !ordered {
                return Err(TranslateError::Number { name, value: low, cure });
            }
        }
        Ok(())
    }

    /// One warning for each end of the translation and each axis that lies outside.
    pub(super) fn warnings(&self, from: &Target, to: &Target) -> Vec<Warning> {
        let outside = |x: f64, (low, high): (f64, f64)| x < low || x > high;
        let (range_w_m2, range_c) = (self.irradiance_w_m2, self.temperature_c);
        let of = |(end, &Target { irradiance_w_m2, temperature_c }): (End, &Target)| {
            let light = outside(irradiance_w_m2, range_w_m2);
            let warmth = outside(temperature_c, range_c);
            [
                light.then_some(Warning::IrradianceOutside { end, irradiance_w_m2, range_w_m2 }),
                warmth.then_some(Warning::TemperatureOutside { end, temperature_c, range_c }),
            ]
        };
        [(End::Target, to), (End::Sweep, from)].into_iter().flat_map(of).flatten().collect()
    }
}

/// The condition of the sweep at `index` of a list.
pub(super) fn condition(sweep: &Sweep, index: usize) -> Result<Target, TranslateError> {
    let options = sweep.options();
    let light = options.irradiance_w_m2.as_ref().ok_or(TranslateError::NoIrradiance { index })?;
    Ok(Target { irradiance_w_m2: light.value, temperature_c: options.temperature_c })
}

/// A sweep with the light, the temperature and the key points that a translation starts from.
pub(super) struct Measured<'a> {
    pub sweep: &'a Sweep,
    pub index: usize,
    pub irradiance: &'a Estimate,
    pub temperature_c: f64,
    pub key_points: KeyPoints,
    traced: OnceCell<(Found, [Option<Contributions>; 5])>,
    sources: OnceCell<Vec<Effect>>,
}

impl<'a> Measured<'a> {
    pub fn new(sweep: &'a Sweep, index: usize) -> Result<Self, TranslateError> {
        let irradiance =
            sweep.options().irradiance_w_m2.as_ref().ok_or(TranslateError::NoIrradiance { index })?;
        let temperature_c = sweep.options().temperature_c;
        let key_points = curve::key_points(sweep);
        let (traced, sources) = (OnceCell::new(), OnceCell::new());
        Ok(Self { sweep, index, irradiance, temperature_c, key_points, traced, sources })
    }

    pub fn condition(&self) -> Target {
        Target { irradiance_w_m2: self.irradiance.value, temperature_c: self.temperature_c }
    }

    fn traced(&self) -> &(Found, [Option<Contributions>; 5]) {
        self.traced.get_or_init(|| {
            curve::traced(self.sweep, self.sweep.voltage_v(), self.sweep.current_a(), Beyond::default())
        })
    }

    /// What the readings do to one of the five figures; `None` where it or its uncertainty is absent.
    pub fn contribution(&self, figure: usize) -> Option<Contributions> {
        self.traced().1[figure].clone()
    }

    /// The five figures.
    pub fn values(&self) -> [Result<f64, Reason>; 5] {
        self.traced().0.values.clone()
    }

    /// The independent sources at each of its points.
    pub fn sources(&self) -> &[Effect] {
        self.sources.get_or_init(|| curve::sources(self.sweep))
    }

    /// Isc or Voc; an error where it is absent or not above zero.
    pub fn figure(&self, figure: &'static str) -> Result<&Estimate, TranslateError> {
        let index = self.index;
        let Some(estimate) = self.key_points.get(figure) else {
            let why = self.key_points.why_absent(figure).unwrap_or(&Reason::Unrecorded).to_string();
            return Err(TranslateError::KeyPoint { index, figure, why });
        };
        if estimate.value > 0.0 {
            return Ok(estimate);
        }
        Err(TranslateError::NotLit { index, figure, value: estimate.value })
    }
}

/// A parameter: finite, in its unit, with a `u` that can be one.
pub(super) fn check(name: &'static str, estimate: &Estimate, wanted: Unit) -> Result<(), TranslateError> {
    if estimate.unit != wanted {
        return Err(TranslateError::Unit { name, given: estimate.unit, wanted });
    }
    let cure = "give a finite number with a standard uncertainty of 0 or more";
    if !estimate.value.is_finite() {
        return Err(TranslateError::Number { name, value: estimate.value, cure });
    }
    match estimate.u {
        Some(value) if !(value >= 0.0 && value.is_finite()) => {
            Err(TranslateError::Number { name, value, cure })
        }
        _ => Ok(()),
    }
}

/// `800 W/m², 25 °C`.
impl fmt::Display for Target {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} W/m², {} °C", as_given(self.irradiance_w_m2), as_given(self.temperature_c))
    }
}

/// `200 to 1000 W/m², 25 to 60 °C`, or that there are no limits.
impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if *self == Self::UNLIMITED {
            return f.write_str("without limits");
        }
        let ((g0, g1), (t0, t1)) = (self.irradiance_w_m2, self.temperature_c);
        let [g0, g1, t0, t1] = [g0, g1, t0, t1].map(as_given);
        write!(f, "{g0} to {g1} W/m², {t0} to {t1} °C")
    }
}
