//! All parameters of procedure 1 or 2 from two sets of sweeps: one over irradiance, one over temperature.
//!
//! ```text
//! irradiances ─▶ Rs or R′s, a          temperatures ─▶ α, β          temperatures with β, Rs ─▶ κ or κ′
//! ```

use super::coefficients::{irradiance_factor, temperature_coefficients};
use super::condition::{Range, condition};
use super::error::TranslateError;
use super::procedure_1::Procedure1;
use super::procedure_2::Procedure2;
use super::resistance::{
    curve_correction, relative_curve_correction, relative_series_resistance, series_resistance,
};
use crate::sweep::{Sweep, range};

impl Procedure1 {
    /// Rs from `at_irradiances`; α, β and κ from `at_temperatures`. Measure the latter in the light of the
    /// target, for α is a current per kelvin and grows with light.
    ///
    /// # Errors
    /// As [`series_resistance`] and [`curve_correction`].
    pub fn from_sweeps(at_irradiances: &[Sweep], at_temperatures: &[Sweep]) -> Result<Self, TranslateError> {
        let rs = series_resistance(at_irradiances)?;
        // The reference enters the relative coefficients alone.
        let found = temperature_coefficients(at_temperatures, 25.0)?;
        let kappa = curve_correction(at_temperatures, &found.beta, &rs)?;
        let range = over(at_irradiances, at_temperatures)?;
        Ok(Self { alpha: found.alpha, beta: found.beta, rs, kappa, range })
    }
}

impl Procedure2 {
    /// R′s and a from `at_irradiances`; α, β and κ′ from `at_temperatures`. The relative ones refer to the
    /// irradiance and the temperature of `start`, the sweep to be translated (or one of its condition).
    ///
    /// # Errors
    /// As [`relative_series_resistance`], [`irradiance_factor`] and [`relative_curve_correction`]; `start`
    /// without irradiance.
    pub fn from_sweeps(
        at_irradiances: &[Sweep],
        at_temperatures: &[Sweep],
        start: &Sweep,
    ) -> Result<Self, TranslateError> {
        let from = condition(start, 0)?;
        let rs = relative_series_resistance(at_irradiances)?;
        let (a, _) = irradiance_factor(at_irradiances, from.irradiance_w_m2)?;
        let found = temperature_coefficients(at_temperatures, from.temperature_c)?;
        let kappa = relative_curve_correction(at_temperatures, &rs)?;
        let range = over(at_irradiances, at_temperatures)?;
        Ok(Self { alpha_rel: found.alpha_rel, beta_rel: found.beta_rel, a, rs, kappa, range })
    }
}

/// From the lowest to the highest condition of both sets.
fn over(at_irradiances: &[Sweep], at_temperatures: &[Sweep]) -> Result<Range, TranslateError> {
    let sweeps = at_irradiances.iter().chain(at_temperatures).enumerate();
    let all = sweeps.map(|(k, s)| condition(s, k)).collect::<Result<Vec<_>, _>>()?;
    let light: Vec<f64> = all.iter().map(|c| c.irradiance_w_m2).collect();
    let warmth: Vec<f64> = all.iter().map(|c| c.temperature_c).collect();
    Ok(Range { irradiance_w_m2: range(&light), temperature_c: range(&warmth) })
}
