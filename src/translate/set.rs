//! Several sweeps of one device, and the levels of current at which their voltages are compared.
//!
//! ```text
//! by difference (procedures 1):  I = Isc_k − d        by share (procedure 2):  I = s·Isc_k
//! ```
//!
//! A level is the same place on every curve once the curves are translated into each other. The scatter of
//! the voltage there is that of the current times −dV/dI, which for a diode falls as 1/d or 1/(1 − s): the
//! levels have weights d² or (1 − s)².

use super::condition::{Measured, Range};
use super::error::TranslateError;
use super::pairing::Curve;
use crate::sweep::{Sweep, range};

/// Span of temperatures in K that counts as one temperature (IEC 60891: ±2 °C; from memory).
const ONE_TEMPERATURE_K: f64 = 4.0;
/// Span of irradiances, as a share of the highest, that counts as one irradiance.
const ONE_LIGHT: f64 = 0.04;
/// Levels of current from 0.2 to 0.9 of the smallest Isc below Isc, or of shares from 0.1 to 0.8.
const LEVELS: usize = 15;

/// Validated sweeps of one device.
pub(super) struct Set<'a> {
    pub sweeps: Vec<Measured<'a>>,
    pub isc_a: Vec<f64>,
    pub voc_v: Vec<f64>,
}

/// One level of current.
pub(super) struct Level {
    /// Weight.
    pub weight: f64,
    /// I/Isc of the level, or Isc − I in A.
    pub place: f64,
    /// Voltage of each sweep there, in V.
    pub voltage_v: Vec<f64>,
}

impl<'a> Set<'a> {
    fn new(sweeps: &'a [Sweep]) -> Result<Self, TranslateError> {
        let sweeps =
            sweeps.iter().enumerate().map(|(k, s)| Measured::new(s, k)).collect::<Result<Vec<_>, _>>()?;
        let all = |figure: &'static str| -> Result<Vec<f64>, TranslateError> {
            sweeps.iter().map(|s| s.figure(figure).map(|e| e.value)).collect()
        };
        let (isc_a, voc_v) = (all("isc")?, all("voc")?);
        Ok(Self { sweeps, isc_a, voc_v })
    }

    /// A set at several irradiances and one temperature.
    pub fn of_irradiances(sweeps: &'a [Sweep]) -> Result<Self, TranslateError> {
        let set = Self::new(sweeps)?;
        different("irradiances", &set.irradiances())?;
        one("temperature_c", &set.temperatures(), ONE_TEMPERATURE_K)?;
        Ok(set)
    }

    /// A set at several temperatures and one irradiance.
    pub fn of_temperatures(sweeps: &'a [Sweep]) -> Result<Self, TranslateError> {
        let set = Self::new(sweeps)?;
        different("temperatures", &set.temperatures())?;
        let light = set.irradiances();
        one("irradiance_w_m2", &light, ONE_LIGHT * range(&light).1)?;
        Ok(set)
    }

    pub fn irradiances(&self) -> Vec<f64> {
        self.sweeps.iter().map(|s| s.irradiance.value).collect()
    }

    pub fn temperatures(&self) -> Vec<f64> {
        self.sweeps.iter().map(|s| s.temperature_c).collect()
    }

    pub fn range(&self) -> Range {
        Range { irradiance_w_m2: range(&self.irradiances()), temperature_c: range(&self.temperatures()) }
    }

    /// Levels a difference below Isc.
    pub fn by_difference(&self) -> Result<Vec<Level>, TranslateError> {
        let smallest = range(&self.isc_a).0;
        self.levels(|t| (0.2 + 0.7 * t) * smallest, |isc, d| isc - d, |d| (d / smallest).powi(2))
    }

    /// Levels at a share of Isc.
    pub fn by_share(&self) -> Result<Vec<Level>, TranslateError> {
        self.levels(|t| 0.1 + 0.7 * t, |isc, s| s * isc, |s| (1.0 - s).powi(2))
    }

    fn levels(
        &self,
        place: impl Fn(f64) -> f64,
        current: impl Fn(f64, f64) -> f64,
        weight: impl Fn(f64) -> f64,
    ) -> Result<Vec<Level>, TranslateError> {
        let curves: Vec<Curve> = self.sweeps.iter().map(|s| Curve::of(s.sweep)).collect();
        let level = |n: usize| {
            let place = place(n as f64 / (LEVELS - 1) as f64);
            let voltage = |k: usize| {
                let current_a = current(self.isc_a[k], place);
                let found = curves[k].voltage_at(current_a, self.voc_v[k], 0.0);
                found.ok_or(TranslateError::NotReached { index: self.sweeps[k].index, current_a })
            };
            let voltage_v = (0..curves.len()).map(voltage).collect::<Result<_, _>>()?;
            Ok(Level { weight: weight(place), place, voltage_v })
        };
        (0..LEVELS).map(level).collect()
    }
}

fn different(what: &'static str, values: &[f64]) -> Result<(), TranslateError> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup();
    let given = sorted.len();
    if given < 2 { Err(TranslateError::TooFew { what, given, needed: 2 }) } else { Ok(()) }
}

fn one(what: &'static str, values: &[f64], allowed: f64) -> Result<(), TranslateError> {
    let (low, high) = range(values);
    if high - low > allowed { Err(TranslateError::Mixed { what, low, high, allowed }) } else { Ok(()) }
}
