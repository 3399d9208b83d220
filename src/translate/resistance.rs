//! Rs and R′s from sweeps at several irradiances, κ and κ′ from sweeps at several temperatures: the values
//! that make the translated curves coincide.
//!
//! With the shifts of Isc and Voc as measured, the procedures say that at one level of current
//!
//! ```text
//! 1:  V_k(Isc_k − d) = h(d) − Rs·Isc_k                 V_k(Isc_k − d) + Rs·Isc_k = h(d) + [β − κ·(Isc − d)]·T_k
//! 2:  V_k(s·Isc_k) − Voc_k = h(s) − R′s·s·Isc_k        V_k(s·Isc_k) − Voc_k + R′s·s·Isc_k = h(s) − κ′·s·Isc·T_k
//! ```
//!
//! with an unknown h common to all sweeps. Minimising the weighted squares over h and the parameter is a straight
//! line through one combination of levels a sweep, y_k = Σ w·c·V_k/Σ w·c² with c the factor of the parameter.
//! The idea of Rs from a constant distance below Isc: M. Wolf, H. Rauschenbach, Advanced Energy
//! Conversion 3 (1963) 455 (from memory).

use super::condition::check;
use super::error::TranslateError;
use super::straight_line::straight_line;
use super::sweep_set::{Level, Set};
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::reason::Reason;
use crate::sweep::Sweep;

/// Rs in Ω of procedure 1, from sweeps at several irradiances and one temperature.
///
/// The ± is the scatter of the sweeps about the line, N − 2 degrees of freedom; two irradiances give none.
///
/// # Errors
/// [`TranslateError`]: fewer than two irradiances, temperatures that differ by more than 4 K, a sweep without
/// irradiance, Isc or Voc.
pub fn series_resistance(sweeps: &[Sweep]) -> Result<Estimate, TranslateError> {
    let set = Set::of_irradiances(sweeps)?;
    let levels = set.by_difference()?;
    let y = combined(&levels, |_| 1.0, |l, k| l.voltage_v[k], set.isc_a.len());
    Ok(straight_line(&set.isc_a, &y, None)?.combination(0.0, -1.0, Unit::Ohm))
}

/// R′s in Ω of procedure 2, from sweeps at several irradiances and one temperature.
///
/// # Errors
/// As [`series_resistance`].
pub fn relative_series_resistance(sweeps: &[Sweep]) -> Result<Estimate, TranslateError> {
    let set = Set::of_irradiances(sweeps)?;
    let levels = set.by_share()?;
    let y = combined(&levels, |l| l.place, |l, k| l.voltage_v[k] - set.voc_v[k], set.isc_a.len());
    Ok(straight_line(&set.isc_a, &y, None)?.combination(0.0, -1.0, Unit::Ohm))
}

/// κ in Ω/K of procedure 1, from sweeps at several temperatures and one irradiance, with β in V/K and Rs in Ω.
///
/// The ± holds the scatter about the line and those of β and Rs.
///
/// # Errors
/// [`TranslateError`]: fewer than two temperatures, irradiances that differ by more than 4 %, a parameter in
/// another unit, a sweep without irradiance, Isc or Voc.
pub fn curve_correction(
    sweeps: &[Sweep],
    beta: &Estimate,
    rs: &Estimate,
) -> Result<Estimate, TranslateError> {
    check("beta", beta, Unit::VoltPerKelvin)?;
    check("rs", rs, Unit::Ohm)?;
    let set = Set::of_temperatures(sweeps)?;
    let (levels, t, isc) = (set.by_difference()?, set.temperatures(), &set.isc_a);
    let mean = isc.iter().sum::<f64>() / isc.len() as f64;
    let factor = |l: &Level| mean - l.place;
    let y = combined(&levels, factor, |l, k| l.voltage_v[k] + rs.value * isc[k] - beta.value * t[k], t.len());
    let slope = |y: &[f64]| {
        Ok::<_, TranslateError>(straight_line(&t, y, None)?.combination(0.0, -1.0, Unit::OhmPerKelvin))
    };
    let by_rs = slope(&combined(&levels, factor, |_, k| isc[k], t.len()))?.value;
    let by_beta = slope(&combined(&levels, factor, |_, k| -t[k], t.len()))?.value;
    Ok(with_inputs(slope(&y)?, &[(by_rs, rs), (by_beta, beta)]))
}

/// κ′ in Ω/K of procedure 2, from sweeps at several temperatures and one irradiance, with R′s in Ω.
///
/// # Errors
/// As [`curve_correction`].
pub fn relative_curve_correction(sweeps: &[Sweep], rs: &Estimate) -> Result<Estimate, TranslateError> {
    check("rs", rs, Unit::Ohm)?;
    let set = Set::of_temperatures(sweeps)?;
    let (levels, t, isc) = (set.by_share()?, set.temperatures(), &set.isc_a);
    let mean = isc.iter().sum::<f64>() / isc.len() as f64;
    let factor = |l: &Level| l.place * mean;
    let drop = |l: &Level, k: usize| l.place * isc[k];
    let y = combined(&levels, factor, |l, k| l.voltage_v[k] - set.voc_v[k] + rs.value * drop(l, k), t.len());
    let slope = |y: &[f64]| {
        Ok::<_, TranslateError>(straight_line(&t, y, None)?.combination(0.0, -1.0, Unit::OhmPerKelvin))
    };
    let by_rs = slope(&combined(&levels, factor, drop, t.len()))?.value;
    Ok(with_inputs(slope(&y)?, &[(by_rs, rs)]))
}

/// For each sweep Σ w·c·value/Σ w·c² over the levels.
fn combined(
    levels: &[Level],
    factor: impl Fn(&Level) -> f64,
    value: impl Fn(&Level, usize) -> f64,
    sweeps: usize,
) -> Vec<f64> {
    let norm: f64 = levels.iter().map(|l| l.weight * factor(l).powi(2)).sum();
    let of = |k: usize| levels.iter().map(|l| l.weight * factor(l) * value(l, k)).sum::<f64>() / norm;
    (0..sweeps).map(of).collect()
}

/// The uncertainties of the parameters that were put in, added with Welch–Satterthwaite (JCGM 100:2008, G.4).
fn with_inputs(estimate: Estimate, inputs: &[(f64, &Estimate)]) -> Estimate {
    let Some(u) = estimate.u else { return estimate };
    let mut parts = vec![(u * u, estimate.dof)];
    parts.extend(inputs.iter().filter_map(|(by, e)| e.u.map(|u| ((by * u).powi(2), e.dof))));
    let total: f64 = parts.iter().map(|p| p.0).sum();
    let spread: f64 = parts.iter().map(|(v, dof)| v * v / dof).sum();
    let dof = if spread > 0.0 { total * total / spread } else { f64::INFINITY };
    let sum = Estimate { u: Some(total.sqrt()), ..estimate }.with_dof(dof);
    if inputs.iter().all(|(_, e)| e.u.is_some()) {
        return sum;
    }
    sum.noted(Reason::PartLeftOut)
}
