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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::temperature_coefficients;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let found = temperature_coefficients(&[at(1000.0, 25.0)?, at(1000.0, 35.0)?, at(1000.0, 45.0)?], 25.0)?;
/// assert!((found.alpha_rel.value - 5e-4).abs() < 1e-6); // as stated to the model
/// let beta = -(1.12 + 3.0 * 0.025692579 - 0.5743) / 298.15; // −(Eg/q + 3kT/q − Voc)/T
/// assert!((found.beta.value - beta).abs() < 5e-5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::irradiance_factor;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let (a, range) = irradiance_factor(&[at(500.0, 25.0)?, at(700.0, 25.0)?, at(1000.0, 25.0)?], 700.0)?;
/// assert!((a.value - 1.3 * 0.025692579 / 0.5623).abs() < 2e-3); // nearly n·VT/Voc
/// assert_eq!(range.irradiance_w_m2, (500.0, 1000.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
