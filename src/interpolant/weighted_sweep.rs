//! The smooth of a sweep with the noise of its instrument.
//!
//! ```text
//! voltage set    s of I(V)     σₖ² = σI(s(Vₖ))² + (s′(Vₖ)·σV(Vₖ))²
//! current set    s of V(I)     σₖ² = σV(s(Iₖ))² + (s′(Iₖ)·σI(Iₖ))²       s: the smooth before, first one without weights
//! ```
//!
//! The variable that was set is exact (but see `Sweep::exact_axis`), the one that was read is smoothed: in the order of noisy voltages a spline of I(V)
//! follows the noise, and its band holds the curve in 35 to 94 % only. The proportional part of a noise is taken from a smooth, never from the reading itself, whose own noise would then
//! weigh it.

use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;
use super::shape_constrained::{Shape, shape_constrained};
use super::smooth::Smooth;
use super::smoothing::smoothing;
use super::smoothing_parameter::Penalty;
use crate::sweep::{Noise, Sweep, Swept};

/// Rounds of weighing; σ depends on the smooth weakly.
const ROUNDS: usize = 3;
/// Least σ as a share of the largest: a flat curve whose voltage alone is noisy would have none.
const LEAST: f64 = 1e-3;

/// The smoothing spline of a sweep, of I(V) or, where the current was set, of V(I), weighed by the scatter its noise states; without a stated scatter all readings
/// weigh the same. What moves all points together (gains, offsets, effects of the sweep) is in its ±.
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
    Ok(smooth_readings(sweep, penalty)?.carrying(sweep))
}

/// [`smooth_sweep`] with what the readings scatter alone in its ±.
pub(crate) fn smooth_readings(sweep: &Sweep, penalty: Penalty) -> Result<Smooth, InterpolantError> {
    let plain = points(sweep, None)?;
    let Some(noise) = stated(sweep) else {
        return match penalty {
            Penalty::StatedNoise => Err(InterpolantError::NoNoise),
            _ => smoothing(&plain, penalty),
        };
    };
    let mut smooth = smoothing(&plain, Penalty::CrossValidation)?;
    for _ in 0..ROUNDS {
        let sigma = scatter(sweep, &noise, &smooth.spline)?;
        smooth = smoothing(&points(sweep, Some(&sigma))?, penalty)?;
    }
    Ok(smooth)
}

/// The readings as a smooth takes them, with σ of what was read.
fn points(sweep: &Sweep, sigma: Option<&[f64]>) -> Result<Points, InterpolantError> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    match (sweep.exact_axis(), sigma) {
        (Swept::Current, sigma) => Points::by_current(v, i, sigma),
        (Swept::Voltage, Some(sigma)) => Points::with_noise(v, i, sigma),
        (Swept::Voltage, None) => Points::of_sweep(sweep),
    }
}

/// The falling, concave curve nearest to a sweep, weighed as [`smooth_sweep`] weighs it.
///
/// # Errors
/// As [`smooth_sweep`] and [`shape_constrained`].
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::interpolant::shape_sweep;
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let noise = Noise::default().current_a(1e-5);
/// let shape = shape_sweep(&Sweep::new(&v, &i, SweepOptions::default().noise(noise))?)?;
/// let (best, pmax) = shape.maximum_power()?;
/// assert!((best.pmax_w - 0.0129307).abs() < 2e-6 && (pmax.value - 0.0129307).abs() < 3.0 * pmax.u.unwrap());
/// assert!(shape.fits_the_shape(0.95)?.fits);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn shape_sweep(sweep: &Sweep) -> Result<Shape, InterpolantError> {
    if stated(sweep).is_none() {
        return shape_constrained(&Points::of_sweep(sweep)?);
    }
    shape_beside(sweep, &smooth_readings(sweep, Penalty::CrossValidation)?)
}

/// The same, its smooth being known: of a smooth of V(I) each reading weighs by σV times the slope.
pub(crate) fn shape_beside(sweep: &Sweep, smooth: &Smooth) -> Result<Shape, InterpolantError> {
    let noise = stated(sweep);
    match noise.filter(|_| smooth.points.of_current()) {
        Some(noise) => {
            let sigma = sigma_current(sweep.voltage_v(), &noise, smooth.curve())?;
            shape_constrained(&Points::with_noise(sweep.voltage_v(), sweep.current_a(), &sigma)?)
        }
        None if smooth.points.of_current() => shape_constrained(&Points::of_sweep(sweep)?),
        None => shape_constrained(&smooth.points),
    }
}

/// The noise of a sweep that states a scatter.
fn stated(sweep: &Sweep) -> Option<Noise> {
    sweep.options().noise.filter(Noise::states_scatter)
}

/// σ of what was read, of every reading.
fn scatter(sweep: &Sweep, noise: &Noise, spline: &Piecewise) -> Result<Vec<f64>, InterpolantError> {
    if sweep.exact_axis() == Swept::Voltage {
        return sigma_current(sweep.voltage_v(), noise, spline);
    }
    let jet = |i: &f64| (*i, spline.jet(*i));
    let one = |(i, [v, d, _]): (f64, [f64; 3])| noise.sigma_voltage(v).hypot(d * noise.sigma_current(i));
    Ok(held(sweep.current_a().iter().map(jet).map(one).collect()))
}

/// σ of every current in A about I(V).
fn sigma_current(voltage_v: &[f64], noise: &Noise, curve: &Piecewise) -> Result<Vec<f64>, InterpolantError> {
    let current = curve.current(voltage_v, false)?.values;
    let slope = curve.slope(voltage_v, false)?.values;
    let one = |((v, i), d): ((&f64, f64), f64)| noise.sigma_current(i).hypot(d * noise.sigma_voltage(*v));
    Ok(held(voltage_v.iter().zip(current).zip(slope).map(one).collect()))
}

/// None below [`LEAST`] of the largest.
fn held(sigma: Vec<f64>) -> Vec<f64> {
    let largest = sigma.iter().copied().fold(0.0, f64::max);
    sigma.iter().map(|s| s.max(LEAST * largest)).collect()
}
