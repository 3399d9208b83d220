//! The smooth of a sweep with the noise of its instrument.
//!
//! ```text
//! σₖ² = σI(s(Vₖ))² + (s′(Vₖ)·σV(Vₖ))²       s: the smooth before, first one without weights
//! ```
//!
//! The proportional part of a noise is taken from a smooth, never from the reading itself, whose own noise would then
//! weigh it.

use super::choice::Penalty;
use super::error::InterpolantError;
use super::points::Points;
use super::shape_constrained::{Shape, shape_constrained};
use super::smoothing::{Smooth, smoothing};
use crate::sweep::{Noise, Sweep};

/// Rounds of weighing; σ depends on the smooth weakly.
const ROUNDS: usize = 3;
/// Least σ as a share of the largest: a flat curve whose voltage alone is noisy would have none.
const LEAST: f64 = 1e-3;

/// The smoothing spline of a sweep, weighed by the scatter its noise states; without a stated scatter all readings
/// weigh the same. What is common to all points (gain, offset) is not in its ±.
///
/// # Errors
/// As [`Points::with_noise`] and [`smoothing`].
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Penalty, smooth_sweep};
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let v: Vec<f64> = (0..25).map(|k| 0.025 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * (v / 0.036f64).exp_m1()).collect();
/// let noise = Noise::default().current_a(1e-4);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(noise))?;
/// let smooth = smooth_sweep(&sweep, Penalty::CrossValidation)?;
/// let middle = &smooth.current(&[0.25])?[0];
/// assert!((middle.value - 0.030).abs() < 1e-4 && middle.u.unwrap() < 1e-4);
/// let maximum = smooth.curve().maximum_power()?;
/// assert!((maximum.v_pmax - 0.521).abs() < 0.005); // (1 + x)·exp(x) = 3e7 at x = V/0.036 V = 14.48
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn smooth_sweep(sweep: &Sweep, penalty: Penalty) -> Result<Smooth, InterpolantError> {
    let plain = Points::of_sweep(sweep)?;
    let Some(noise) = stated(sweep) else {
        return match penalty {
            Penalty::StatedNoise => Err(InterpolantError::NoNoise),
            _ => smoothing(&plain, penalty),
        };
    };
    let mut smooth = smoothing(&plain, Penalty::CrossValidation)?;
    for _ in 0..ROUNDS {
        let sigma = scatter(sweep.voltage_v(), &noise, &smooth)?;
        smooth = smoothing(&Points::with_noise(sweep.voltage_v(), sweep.current_a(), &sigma)?, penalty)?;
    }
    Ok(smooth)
}

/// The falling, concave curve nearest to a sweep, weighed as [`smooth_sweep`] weighs it.
///
/// # Errors
/// As [`smooth_sweep`] and [`shape_constrained`].
pub fn shape_sweep(sweep: &Sweep) -> Result<Shape, InterpolantError> {
    if stated(sweep).is_none() {
        return shape_constrained(&Points::of_sweep(sweep)?);
    }
    shape_constrained(smooth_sweep(sweep, Penalty::CrossValidation)?.points())
}

/// The noise of a sweep that states a scatter.
fn stated(sweep: &Sweep) -> Option<Noise> {
    sweep.options().noise.filter(|n| n.states_current() || n.states_voltage())
}

/// σ of every reading in A.
fn scatter(voltage_v: &[f64], noise: &Noise, smooth: &Smooth) -> Result<Vec<f64>, InterpolantError> {
    let current = smooth.curve().current(voltage_v, false)?.values;
    let slope = smooth.curve().slope(voltage_v, false)?.values;
    let one = |((v, i), d): ((&f64, f64), f64)| noise.sigma_current(i).hypot(d * noise.sigma_voltage(*v));
    let sigma: Vec<f64> = voltage_v.iter().zip(current).zip(slope).map(one).collect();
    let largest = sigma.iter().copied().fold(0.0, f64::max);
    Ok(sigma.iter().map(|s| s.max(LEAST * largest)).collect())
}
