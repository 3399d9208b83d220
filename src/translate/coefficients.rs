//! α and β from sweeps at several temperatures, a from sweeps at several irradiances.
//!
//! ```text
//! Isc = Isc(T0) + α·(T − T0)     α_rel = α/Isc(T0)          Voc = A + B·ln G     a = B/Voc(G1)
//! Voc = Voc(T0) + β·(T − T0)     β_rel = β/Voc(T0)
//! ```
//!
//! Weighted by the key points' own uncertainties where all have one; the ± comes from the scatter.

use super::condition::Range;
use super::error::TranslateError;
use super::straight_line::{Line, straight_line};
use super::sweep_set::Set;
use crate::quantity::estimate::{Estimate, Unit};
use crate::sweep::Sweep;
use std::fmt;

/// Relative repeatability of light and temperature that no set surpasses (common practice).
const REPEATS: f64 = 1e-4;

/// Temperature coefficients of one device.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct TemperatureCoefficients {
    /// dIsc/dT in A/K.
    pub alpha: Estimate,
    /// dVoc/dT in V/K.
    pub beta: Estimate,
    /// α over Isc at the reference temperature, in 1/K.
    pub alpha_rel: Estimate,
    /// β over Voc at the reference temperature, in 1/K.
    pub beta_rel: Estimate,
    /// Where they were found.
    pub range: Range,
}

/// α and β, absolute and as shares of Isc and Voc at `reference_c` (in °C), from sweeps at several temperatures.
///
/// Procedure 2 multiplies its shares with the Isc and Voc of the sweep that is translated: give that sweep's
/// temperature as `reference_c`. Small differences of irradiance within the set are taken out of Isc by
/// proportion.
///
/// # Errors
/// [`TranslateError`]: fewer than two temperatures, irradiances that differ by more than 4 %, a sweep without
/// irradiance, Isc or Voc.
pub fn temperature_coefficients(
    sweeps: &[Sweep],
    reference_c: f64,
) -> Result<TemperatureCoefficients, TranslateError> {
    if !reference_c.is_finite() {
        let cure = "give the temperature in °C that the relative coefficients refer to";
        return Err(TranslateError::Number { name: "reference_c", value: reference_c, cure });
    }
    let set = Set::of_temperatures(sweeps)?;
    let light = set.irradiances();
    let mean = light.iter().sum::<f64>() / light.len() as f64;
    let t: Vec<f64> = set.temperatures().iter().map(|t| t - reference_c).collect();
    let isc: Vec<f64> = set.isc_a.iter().zip(&light).map(|(i, g)| i * mean / g).collect();
    let of_isc = regression(&set, "isc", &t, &isc)?;
    let of_voc = regression(&set, "voc", &t, &set.voc_v)?;
    Ok(TemperatureCoefficients {
        alpha: of_isc.slope(Unit::AmperePerKelvin),
        beta: of_voc.slope(Unit::VoltPerKelvin),
        alpha_rel: of_isc.relative_slope(0.0, Unit::PerKelvin),
        beta_rel: of_voc.relative_slope(0.0, Unit::PerKelvin),
        range: set.range(),
    })
}

/// The irradiance factor a of procedure 2 for sweeps measured at `from_w_m2` (W/m²), and where it was found,
/// from the line of Voc against ln G.
///
/// Procedure 2 multiplies a with the Voc of the sweep that is translated, so that a depends on where it starts.
///
/// # Errors
/// [`TranslateError`]: fewer than two irradiances, temperatures that differ by more than 4 K, a sweep without
/// irradiance, Isc or Voc.
pub fn irradiance_factor(sweeps: &[Sweep], from_w_m2: f64) -> Result<(Estimate, Range), TranslateError> {
    if !(from_w_m2 > 0.0 && from_w_m2.is_finite()) {
        let cure = "give the irradiance in W/m² of the sweep to be translated, above 0";
        return Err(TranslateError::Number { name: "from_w_m2", value: from_w_m2, cure });
    }
    let set = Set::of_irradiances(sweeps)?;
    let x: Vec<f64> = set.irradiances().iter().map(|g| (g / from_w_m2).ln()).collect();
    let line = regression(&set, "voc", &x, &set.voc_v)?;
    Ok((line.relative_slope(0.0, Unit::One), set.range()))
}

/// The line through a figure of all sweeps, weighted by its `u` where all have one. Sets of conditions repeat no
/// better than [`REPEATS`]: without that floor one very quiet sweep would carry the line alone.
fn regression(set: &Set, figure: &'static str, x: &[f64], y: &[f64]) -> Result<Line, TranslateError> {
    let u = |k: usize| set.sweeps[k].figure(figure).ok().and_then(|e| e.u);
    let weight = |k: usize| u(k).map(|u| 1.0 / ((u / y[k]).powi(2) + REPEATS * REPEATS) / (y[k] * y[k]));
    let weights: Option<Vec<f64>> = (0..y.len()).map(weight).collect();
    straight_line(x, y, weights.as_deref())
}

/// A line a coefficient, then where they hold.
impl fmt::Display for TemperatureCoefficients {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { alpha, beta, alpha_rel, beta_rel, range } = self;
        write!(f, "alpha {alpha}\nbeta {beta}\nalpha_rel {alpha_rel}\nbeta_rel {beta_rel}\n{range}")
    }
}
