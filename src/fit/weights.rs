//! From a sweep and its noise to weighted points for a residual.

use super::error::FitError;
use super::residuals::{Points, Residual};
use crate::sweep::{Noise, Sweep, Swept};

/// The residual that a fit uses when none is asked for.
///
/// Noise stated on both axes: nearest; on one: that axis; on none: the axis that was read.
pub fn automatic_residual(sweep: &Sweep) -> Residual {
    match (stated(sweep), sweep.options().swept) {
        ((true, true), _) => Residual::Nearest,
        ((true, false), _) => Residual::Voltage,
        ((false, true), _) | ((false, false), Swept::Voltage) => Residual::Current,
        ((false, false), Swept::Current) => Residual::Voltage,
    }
}

/// Whether scatter is stated for the voltage and for the current.
fn stated(sweep: &Sweep) -> (bool, bool) {
    let noise = sweep.options().noise.as_ref();
    (noise.is_some_and(Noise::states_voltage), noise.is_some_and(Noise::states_current))
}

/// Whether χ² can be read against the stated noise.
pub(super) fn is_absolute(sweep: &Sweep, residual: Residual) -> bool {
    match (residual, stated(sweep)) {
        (Residual::Nearest, _) => true,
        (Residual::Current, (_, current)) => current,
        (Residual::Voltage, (voltage, _)) => voltage,
        (Residual::Implicit, _) => false,
    }
}

/// Whether the weights are those of a stated noise: Σr² is then in its units, also where its size is taken from the scatter.
pub(super) fn is_in_stated_units(sweep: &Sweep, residual: Residual) -> bool {
    match residual {
        Residual::Implicit => stated(sweep).1,
        _ => is_absolute(sweep, residual),
    }
}

/// Whether the weights depend on the curve.
pub(super) fn weights_follow(sweep: &Sweep) -> bool {
    sweep.options().noise.as_ref().is_some_and(|n| n.voltage_rel > 0.0 || n.current_rel > 0.0)
}

/// Points weighed for `residual`, the noise taken at the values (`at_v`, `at_a`) of a smooth or a fit.
///
/// An axis of unknown scatter gets the largest reading as a common σ, which leaves r a pure number.
pub(super) fn weigh(
    sweep: &Sweep,
    residual: Residual,
    at_v: &[f64],
    at_a: &[f64],
) -> Result<Points, FitError> {
    let (voltage, current) = stated(sweep);
    let noise = sweep.options().noise.as_ref();
    let none = |xs: &[f64]| vec![0.0; xs.len()];
    let sigma_v = |on: bool| match noise {
        Some(noise) if on => at_v.iter().map(|v| noise.sigma_voltage(*v)).collect(),
        _ => vec![largest(sweep.voltage_v()); at_v.len()],
    };
    let sigma_a = |on: bool| match noise {
        Some(noise) if on => at_a.iter().map(|a| noise.sigma_current(*a)).collect(),
        _ => vec![largest(sweep.current_a()); at_a.len()],
    };
    let (sv, sa): (Vec<f64>, Vec<f64>) = match residual {
        Residual::Nearest if !voltage && !current => {
            return Err(FitError::NoUncertainty { residual: "nearest", axis: "voltage or current" });
        }
        Residual::Nearest => (
            if voltage { sigma_v(true) } else { none(at_v) },
            if current { sigma_a(true) } else { none(at_a) },
        ),
        Residual::Voltage => (sigma_v(voltage), none(at_a)),
        Residual::Current | Residual::Implicit => (none(at_v), sigma_a(current)),
    };
    if let Some(index) = sv.iter().zip(&sa).position(|(v, a)| *v <= 0.0 && *a <= 0.0) {
        return Err(FitError::NoWeight { index });
    }
    let (voltage_v, current_a) = (sweep.voltage_v().to_vec(), sweep.current_a().to_vec());
    Ok(Points { voltage_v, current_a, sigma_v: sv, sigma_a: sa })
}

fn largest(xs: &[f64]) -> f64 {
    xs.iter().fold(f64::MIN_POSITIVE, |m, x| m.max(x.abs()))
}
