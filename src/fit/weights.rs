//! From a sweep and its noise to weighted points for a residual.
//!
//! Where a lead resistance R was corrected, V + I·R carries the noise of the current into the voltage. A reading then lies
//! (R·δI, δI) off, which along the current is
//!
//! ```text
//! δI − (dI/dV)·R·δI        σ = σI·|1 − R·dI/dV|
//! ```

use super::error::FitError;
use super::residuals::{Points, Residual};
use crate::diode::{Circuit, Junction};
use crate::sweep::{Noise, Sweep, Swept};

/// The residual that a fit uses when none is asked for.
///
/// Noise stated on both axes: nearest; on one: that axis; on none: the axis that was read.
///
/// # Examples
/// ```
/// use litdiode::fit::{Residual, automatic_residual};
/// use litdiode::sweep::{Noise, Swept, Sweep, SweepOptions};
/// let (v, i) = ([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]); // invented
/// let stepped = SweepOptions::default().swept(Swept::Current);
/// assert_eq!(automatic_residual(&Sweep::new(&v, &i, stepped.clone())?), Residual::Voltage);
/// let both = stepped.noise(Noise::default().voltage_v(1e-3).current_a(1e-5));
/// assert_eq!(automatic_residual(&Sweep::new(&v, &i, both)?), Residual::Nearest);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn automatic_residual(sweep: &Sweep) -> Residual {
    residual_for(sweep.options().noise.as_ref(), sweep.options().swept)
}

/// The same before there is a sweep.
pub(crate) fn residual_for(noise: Option<&Noise>, swept: Swept) -> Residual {
    match (stated_by(noise), swept) {
        ((true, true), _) => Residual::Nearest,
        ((true, false), _) => Residual::Voltage,
        ((false, true), _) | ((false, false), Swept::Voltage) => Residual::Current,
        ((false, false), Swept::Current) => Residual::Voltage,
    }
}

/// Whether scatter is stated for the voltage and for the current.
fn stated(sweep: &Sweep) -> (bool, bool) {
    stated_by(sweep.options().noise.as_ref())
}

fn stated_by(noise: Option<&Noise>) -> (bool, bool) {
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
    sweep.options().noise.as_ref().is_some_and(Noise::is_proportional) || sweep.carries_noise_through_leads()
}

/// Where the noise of each reading is taken: its values, and dI/dV where a curve is known.
pub(super) struct Place {
    pub voltage_v: Vec<f64>,
    pub current_a: Vec<f64>,
    pub slope: Option<Vec<f64>>,
}

impl Place {
    /// At the readings themselves: for a start.
    pub fn of_readings(sweep: &Sweep) -> Self {
        Self { voltage_v: sweep.voltage_v().to_vec(), current_a: sweep.current_a().to_vec(), slope: None }
    }

    /// Where a curve has the readings.
    pub fn on_curve<const K: usize>(theta: &[f64], sweep: &Sweep, residual: Residual) -> Self {
        let circuit = Circuit::<K>::from_theta(theta);
        let (v, a) = (sweep.voltage_v(), sweep.current_a());
        if residual != Residual::Voltage {
            let current_a = v.iter().map(|v| circuit.current_at(*v)).collect();
            let slope = |v: &f64| {
                let by_u = circuit.current(circuit.at_voltage(*v)).slope;
                by_u / (1.0 - circuit.rs * by_u)
            };
            let slope = sweep.carries_noise_through_leads().then(|| v.iter().map(slope).collect());
            return Self { voltage_v: v.to_vec(), current_a, slope };
        }
        // A current that no voltage carries keeps its reading.
        let at = |(v, a): (&f64, &f64)| Some(circuit.voltage_at(*a)).filter(|x| x.is_finite()).unwrap_or(*v);
        Self { voltage_v: v.iter().zip(a).map(at).collect(), current_a: a.to_vec(), slope: None }
    }
}

/// Points weighed for `residual`, the noise taken at `place`.
///
/// An axis of unknown scatter gets the largest reading as a common σ, which leaves r a pure number.
pub(super) fn weigh(sweep: &Sweep, residual: Residual, place: &Place) -> Result<Points, FitError> {
    let (at_v, at_a) = (&place.voltage_v, &place.current_a);
    let (voltage, current) = stated(sweep);
    let noise = sweep.options().noise.as_ref();
    let none = |xs: &[f64]| vec![0.0; xs.len()];
    let sigma_v = |on: bool| match noise {
        Some(noise) if on => at_v.iter().map(|v| noise.sigma_voltage(*v)).collect(),
        _ => vec![largest(sweep.voltage_v()); at_v.len()],
    };
    let sigma_a = |on: bool| match noise {
        Some(noise) if on => {
            let own = at_a.iter().map(|a| noise.sigma_current(*a)).collect();
            through_leads(sweep, own, place.slope.as_deref())
        }
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

/// What `sigma_a` is with what the leads carry of it into the voltage.
fn through_leads(sweep: &Sweep, sigma_a: Vec<f64>, slope: Option<&[f64]>) -> Vec<f64> {
    let (Some(slope), Some(ohm)) = (slope, sweep.noise_through_leads_ohm()) else { return sigma_a };
    let factor = |((s, slope), ohm): ((&f64, &f64), &f64)| s * (1.0 - ohm * slope).abs();
    sigma_a.iter().zip(slope).zip(&ohm).map(factor).collect()
}

/// The largest size of a list; above 0.
pub(crate) fn largest(xs: &[f64]) -> f64 {
    xs.iter().fold(f64::MIN_POSITIVE, |m, x| m.max(x.abs()))
}
