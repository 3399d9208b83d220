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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::series_resistance;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let rs = series_resistance(&[at(700.0, 25.0)?, at(850.0, 25.0)?, at(1000.0, 25.0)?])?;
/// assert!((rs.value - 0.5).abs() < 0.02);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::relative_series_resistance;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: f64::INFINITY, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let sweeps = [at(700.0, 25.0)?, at(850.0, 25.0)?, at(1000.0, 25.0)?];
/// assert!((relative_series_resistance(&sweeps)?.value - 0.5).abs() < 0.02);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{curve_correction, series_resistance, temperature_coefficients};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let heat = [at(1000.0, 25.0)?, at(1000.0, 35.0)?, at(1000.0, 45.0)?];
/// let beta = temperature_coefficients(&heat, 25.0)?.beta;
/// let rs = series_resistance(&[at(700.0, 25.0)?, at(1000.0, 25.0)?])?;
/// let kappa = curve_correction(&heat, &beta, &rs)?;
/// assert!((kappa.value - 0.0095).abs() < 5e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{relative_curve_correction, relative_series_resistance};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: f64::INFINITY, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let heat = [at(1000.0, 25.0)?, at(1000.0, 35.0)?, at(1000.0, 45.0)?];
/// let rs = relative_series_resistance(&[at(700.0, 25.0)?, at(1000.0, 25.0)?])?;
/// let kappa = relative_curve_correction(&heat, &rs)?;
/// assert!((kappa.value - 0.00988).abs() < 2e-4); // 1.3·(k/q)·ln(1/(1 − s))/(s·Isc) at s = 0.91
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
