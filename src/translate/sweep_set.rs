//! Several sweeps of one device, and the levels of current at which their voltages are compared.
//!
//! ```text
//! by difference (procedure 1):  I = Isc_k − d        by share (procedure 2):  I = s·Isc_k
//! ```
//!
//! A level is the same place on every curve once the curves are translated into each other. The levels lie about
//! the points of maximum power, so that it is Pmax that coincides where curves cannot coincide everywhere. The scatter of
//! the voltage there is that of the current times −dV/dI, which for a diode falls as 1/d or 1/(1 − s): the
//! levels have weights d² or (1 − s)².

use super::condition::{Measured, Range};
use super::error::TranslateError;
use super::voltage_at_current::Curve;
use crate::sweep::{Sweep, range};

/// Span of temperatures in K that counts as one temperature (IEC 60891: ±2 °C; from memory).
const ONE_TEMPERATURE_K: f64 = 4.0;
/// Span of irradiances, as a share of the highest, that counts as one irradiance.
const ONE_LIGHT: f64 = 0.04;
/// Share of the highest irradiance by which two must differ to count as two.
const LIGHT_APART: f64 = 0.02;
/// Kelvin by which two temperatures must differ to count as two.
const APART_K: f64 = 1.0;
/// Number of levels.
const LEVELS: usize = 15;
/// Their distances below Isc, in units of that of the points of maximum power.
const ABOUT_KNEE: (f64, f64) = (0.7, 1.5);
/// Largest distance below Isc, as a share of the smallest Isc: each curve must reach the level before Voc.
const DEEPEST: f64 = 0.9;

/// Validated sweeps of one device.
pub(super) struct Set<'a> {
    pub sweeps: Vec<Measured<'a>>,
    pub isc_a: Vec<f64>,
    pub voc_v: Vec<f64>,
    i_pmax_a: Vec<f64>,
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
        let (isc_a, voc_v, i_pmax_a) = (all("isc")?, all("voc")?, all("i_pmax")?);
        Ok(Self { sweeps, isc_a, voc_v, i_pmax_a })
    }

    /// A set at several irradiances and one temperature.
    pub fn of_irradiances(sweeps: &'a [Sweep]) -> Result<Self, TranslateError> {
        let set = Self::new(sweeps)?;
        let light = set.irradiances();
        different("irradiances", &light, LIGHT_APART * range(&light).1)?;
        one("temperature_c", &set.temperatures(), ONE_TEMPERATURE_K)?;
        Ok(set)
    }

    /// A set at several temperatures and one irradiance.
    pub fn of_temperatures(sweeps: &'a [Sweep]) -> Result<Self, TranslateError> {
        let set = Self::new(sweeps)?;
        different("temperatures", &set.temperatures(), APART_K)?;
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
        let knee = self.isc_a.iter().zip(&self.i_pmax_a).map(|(isc, i)| isc - i).sum::<f64>();
        let depths = depths(knee / self.isc_a.len() as f64, range(&self.isc_a).0);
        self.levels(&depths, |d| d, |isc, d| isc - d)
    }

    /// Levels at a share of Isc.
    pub fn by_share(&self) -> Result<Vec<Level>, TranslateError> {
        let knee = self.isc_a.iter().zip(&self.i_pmax_a).map(|(isc, i)| 1.0 - i / isc).sum::<f64>();
        self.levels(&depths(knee / self.isc_a.len() as f64, 1.0), |d| 1.0 - d, |isc, s| s * isc)
    }

    /// At each of `depths` below Isc: the level's place, and from it the current of each sweep.
    fn levels(
        &self,
        depths: &[f64],
        place: impl Fn(f64) -> f64,
        current: impl Fn(f64, f64) -> f64,
    ) -> Result<Vec<Level>, TranslateError> {
        let curves: Vec<Curve> = self.sweeps.iter().map(|s| Curve::of(s.sweep)).collect();
        let deepest = range(depths).1;
        let level = |&depth: &f64| {
            let place = place(depth);
            let voltage = |k: usize| {
                let current_a = current(self.isc_a[k], place);
                let found = curves[k].voltage_at(current_a, self.voc_v[k], 0.0);
                found.ok_or(TranslateError::NotReached { index: self.sweeps[k].index, current_a })
            };
            let voltage_v = (0..curves.len()).map(voltage).collect::<Result<_, _>>()?;
            Ok(Level { weight: (depth / deepest).powi(2), place, voltage_v })
        };
        depths.iter().map(level).collect()
    }
}

/// Depths below Isc about that of the knee, in the unit of both arguments; noise may put the knee anywhere.
fn depths(knee: f64, smallest: f64) -> Vec<f64> {
    let high = (ABOUT_KNEE.1 * knee).clamp(0.02 * smallest, DEEPEST * smallest);
    let low = high * ABOUT_KNEE.0 / ABOUT_KNEE.1;
    (0..LEVELS).map(|n| low + (high - low) * n as f64 / (LEVELS - 1) as f64).collect()
}

/// At least two values that lie further apart than what one setting of a lamp or a stage drifts.
fn different(what: &'static str, values: &[f64], apart: f64) -> Result<(), TranslateError> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.dedup_by(|next, kept| *next - *kept < apart);
    let given = sorted.len();
    if given < 2 { Err(TranslateError::TooFew { what, given, needed: 2 }) } else { Ok(()) }
}

fn one(what: &'static str, values: &[f64], allowed: f64) -> Result<(), TranslateError> {
    let (low, high) = range(values);
    if high - low > allowed { Err(TranslateError::Mixed { what, low, high, allowed }) } else { Ok(()) }
}
