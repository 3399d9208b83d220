//! What the uncertainty of a key point is made of: the scatter of the readings, the shape of the curve between them, gains and
//! offsets, every effect of the sweep, area and irradiance.
//!
//! ```text
//! u²(F) = Σ (g·hₛ)² over common sources + gᵀSg + scatter        g = ∂F/∂(Isc, Voc, Pmax, V_Pmax, I_Pmax)
//! ```
//!
//! hₛ is the change of the five by one standard uncertainty of a source, S the covariance of what the discrepancy from the pilot
//! makes wrong of them. What is left of u² is the scatter of the readings.

use super::beyond::Beyond;
use super::contributions::{Contributions, OF_NOISE};
use super::effects::change;
use super::figures_of_points::traced;
use super::key_points::key_points;
use crate::quantity::attribution::dot;
use crate::quantity::budget::{Budget, of_surroundings};
use crate::quantity::key_points::KeyPoint;
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Reach, Sweep};

/// The sources of the uncertainty of one key point of `sweep`.
///
/// # Errors
/// The reason why the figure, or its ±, is absent.
///
/// # Examples
/// ```
/// use litdiode::curve::budget;
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::key_points::KeyPoint;
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let noise = Noise::default().current_a(1e-6).current_gain_u(0.01);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(noise))?;
/// let made_of = budget(&sweep, KeyPoint::Isc)?;
/// let gain = &made_of.contributions[0];
/// assert_eq!(gain.source, "current gain");
/// assert!((gain.u - 0.01 * 0.0299833).abs() < 1e-6 && made_of.share(gain) > 0.999);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn budget(sweep: &Sweep, figure: KeyPoint) -> Result<Budget, Reason> {
    let points = key_points(sweep);
    let name = figure.name();
    let Some(estimate) = points.get(name).cloned() else {
        return Err(points.why_absent(name).cloned().unwrap_or(Reason::Unrecorded));
    };
    if estimate.u.is_none() {
        return Err(estimate.notes.first().cloned().unwrap_or(Reason::Unrecorded));
    }
    let gradient = points.gradient(figure);
    let (found, contributions) = traced(sweep, sweep.voltage_v(), sweep.current_a(), Beyond::default());
    let mut named = of_noise(&contributions, &gradient);
    named.push(("shape of the curve between the readings".to_owned(), of_shape(&contributions, &gradient)));
    for effect in sweep.options().effects.iter().filter(|e| e.reach == Reach::Common && e.shared.is_none()) {
        let half = change(sweep, effect, &found.values, Beyond::default())?;
        named.push((effect.name.clone(), dot(&gradient, &half).powi(2)));
    }
    let options = sweep.options();
    let around = (options.area_cm2.as_ref(), options.irradiance_w_m2.as_ref());
    named.extend(of_surroundings(figure, estimate.value, around));
    Ok(Budget::new(name, estimate, named))
}

fn of_noise(contributions: &[Option<Contributions>; 5], gradient: &[f64; 5]) -> Vec<(String, f64)> {
    let by = |k: usize| -> [f64; 5] {
        std::array::from_fn(|j| contributions[j].as_ref().map_or(0.0, |contribution| contribution.common[k]))
    };
    let one = |(k, place): (usize, &usize)| (Noise::COMMON[*place].to_owned(), dot(gradient, &by(k)).powi(2));
    OF_NOISE.iter().enumerate().map(one).collect()
}

fn of_shape(contributions: &[Option<Contributions>; 5], gradient: &[f64; 5]) -> f64 {
    let used = |j: &usize| gradient[*j] != 0.0;
    let row = |j: usize| {
        let shape = contributions[j].as_ref().map_or([0.0; 5], |contribution| contribution.shape);
        gradient[j] * dot(gradient, &shape)
    };
    (0..5).filter(used).map(row).sum::<f64>().max(0.0)
}
