//! What the neighbours of a figure allow: a curve that falls lies between two readings within their rectangle.
//!
//! ```text
//! Isc: I_{k+1} ≤ I(0) ≤ I_k     Voc: V_k ≤ V ≤ V_{k+1} about the change of sign     max VₖIₖ ≤ Pmax ≤ max V_{k+1}Iₖ
//! ```
//!
//! Each end is widened by three standard deviations of its reading, by more where many readings lie about it ([`widening`]). Mean and variance of the figure are those of its normal
//! distribution cut off at the ends of the bracket (Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1,
//! 1994, 13.10; from memory), which are those of a rectangular one where the uncertainty is larger than the bracket
//! (width/√12 about its middle; JCGM 100:2008, 4.3.7). A figure that lies outside by more than three of its own
//! uncertainties contradicts its bracket: it is moved to the nearer end, with the rectangular distribution's variance about
//! it.

use super::analysis::Analysis;
use super::ideality_average;
use super::linear_estimator::Figures;
use super::pilot_fit::Over;
use super::scaled_readings::Readings;
use crate::numerics::statistics::truncated_normal::truncated;
use statrs::distribution::{ContinuousCDF, Normal};

/// Standard deviations by which an end is widened: of the ten readings about a maximum one exceeds them in 1 % of sweeps.
const WIDE: f64 = 3.0;

/// Part of the readings that lies about a maximum: ten of the 25 of an ordinary sweep.
const ABOUT: f64 = 0.4;

/// The bracket decides where it leaves less than this part of the variance.
const DECIDES: f64 = 0.5;

/// A reading: voltage, current and their standard deviations.
#[derive(Clone, Copy)]
struct Point {
    v: f64,
    i: f64,
    u_v: f64,
    u_i: f64,
}

/// The mean step of the voltage, in units of the readings.
pub fn mean_step(readings: &Readings) -> f64 {
    let (low, high) = readings.range();
    (high - low) / (readings.len() - 1) as f64
}

/// Holds `figures` to their brackets.
pub fn apply(figures: &mut Figures, a: &Analysis) {
    let (points, wide) = (points(a), widening(a.readings.len()));
    let ends = [isc(&points, a.over, wide), voc(&points, a.over, wide), power(&points, wide)];
    for (k, ends) in ends.into_iter().enumerate() {
        if let Some(ends) = ends {
            if k == 0 && a.over == Over::Current {
                ideality_average::isc(figures, a, ends);
            }
            hold(figures, a, k, ends);
        }
    }
}

/// Standard deviations by which an end is widened among so many readings, so that one exceeds them as rarely as among
/// ten: the furthest of many decides.
fn widening(readings: usize) -> f64 {
    let about = ABOUT * readings as f64;
    if about <= 10.0 {
        return WIDE;
    }
    let normal = Normal::standard();
    -normal.inverse_cdf(normal.sf(WIDE) * 10.0 / about)
}

fn hold(figures: &mut Figures, a: &Analysis, k: usize, (low, high): (f64, f64)) {
    let u = figures.variance(k, &a.scatter).sqrt();
    let Ok(figure) = &mut figures.values[k] else { return };
    let noise = figure.scatter_covariance(figure, &a.scatter);
    let held = figure.value.clamp(low, high);
    let moved = (held - figure.value).abs() > WIDE * u;
    let (value, variance) = if moved {
        (held, (high - low).powi(2) / 12.0 + (held - 0.5 * (low + high)).powi(2))
    } else {
        truncated((figure.value, u), (low, high))
    };
    if !moved && variance >= u * u {
        return;
    }
    figure.value = value;
    // The derivative of a truncated normal distribution's mean by the mean of the whole is the ratio of their variances.
    let factor = if u > 0.0 { (variance / (u * u)).min(1.0) } else { 0.0 };
    figure.held *= factor;
    for j in 0..figures.shape.len() {
        figures.shape[j][k] *= factor;
        figures.shape[k][j] *= factor;
    }
    figures.shape[k][k] = (variance - noise * factor * factor).max(0.0);
    figures.bracketed[k] = moved || factor < DECIDES;
}

/// In the order of the curve: by rising voltage, or by falling current where the current was set.
fn points(a: &Analysis) -> Vec<Point> {
    let r = &a.readings;
    let mut points: Vec<Point> = (0..r.len())
        .map(|k| Point {
            v: r.voltage[k],
            i: r.current[k],
            u_v: a.scatter.voltage[k],
            u_i: a.scatter.current[k],
        })
        .collect();
    if a.over == Over::Current {
        points.sort_by(|p, q| q.i.total_cmp(&p.i));
    }
    points
}

/// Of I at V = 0. Where the current was set, its values are exact, and the last before and the first behind the axis bound
/// it; where it was read, the nearest reading on each side does, since many of one height would narrow it by their noise.
fn isc(points: &[Point], over: Over, wide: f64) -> Option<(f64, f64)> {
    let before = || points.iter().filter(|p| p.v <= -wide * p.u_v);
    let behind = || points.iter().filter(|p| p.v >= wide * p.u_v);
    if over == Over::Current {
        let low = behind().map(|p| p.i).fold(f64::NEG_INFINITY, f64::max);
        return within(low, before().map(|p| p.i).fold(f64::INFINITY, f64::min));
    }
    let before = before().max_by(|p, q| p.v.total_cmp(&q.v))?;
    let behind = behind().min_by(|p, q| p.v.total_cmp(&q.v))?;
    within(behind.i - wide * behind.u_i, before.i + wide * before.u_i)
}

/// Of V at I = 0, likewise.
fn voc(points: &[Point], over: Over, wide: f64) -> Option<(f64, f64)> {
    let before = || points.iter().filter(|p| p.i >= wide * p.u_i);
    let behind = || points.iter().filter(|p| p.i <= -wide * p.u_i);
    if over == Over::Voltage {
        let low = before().map(|p| p.v).fold(f64::NEG_INFINITY, f64::max);
        return within(low, behind().map(|p| p.v).fold(f64::INFINITY, f64::min));
    }
    let before = before().min_by(|p, q| p.i.total_cmp(&q.i))?;
    let behind = behind().max_by(|p, q| p.i.total_cmp(&q.i))?;
    within(before.v - wide * before.u_v, behind.v + wide * behind.u_v)
}

fn power(points: &[Point], wide: f64) -> Option<(f64, f64)> {
    let lit = |p: &&Point| p.v > 0.0 && p.i > 0.0;
    let u = |v: f64, i: f64, p: &Point| wide * (v * p.u_i).hypot(i * p.u_v);
    let low = points.iter().filter(lit).map(|p| p.v * p.i - u(p.v, p.i, p)).fold(f64::NEG_INFINITY, f64::max);
    let high = points
        .windows(2)
        .map(|w| {
            let (v, i) = (w[0].v.max(w[1].v), w[0].i.max(w[1].i));
            let above = u(v, i, &Point { u_v: w[0].u_v.max(w[1].u_v), u_i: w[0].u_i.max(w[1].u_i), ..w[0] });
            v * i + above
        })
        .fold(f64::NEG_INFINITY, f64::max);
    within(low, high)
}

/// Noise may turn a bracket over: then it says nothing.
fn within(low: f64, high: f64) -> Option<(f64, f64)> {
    (low.is_finite() && high.is_finite() && low < high).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(u_v: f64, u_i: f64) -> Vec<Point> {
        let at = |(v, i): (f64, f64)| Point { v, i, u_v, u_i };
        [(-0.1, 1.0), (0.1, 0.98), (0.5, 0.9), (0.6, 0.5), (0.7, -0.2)].map(at).to_vec()
    }

    fn close(found: Option<(f64, f64)>, low: f64, high: f64) {
        let (a, b) = found.unwrap();
        assert!((a - low).abs() < 1e-12 && (b - high).abs() < 1e-12, "{a} {b}");
    }

    /// By hand: where the current was read, its neighbours' values less and more 3 u; the highest reading's power, and the
    /// corners of the steps between readings.
    #[test]
    fn brackets_of_stepped_voltages() {
        let points = points(0.0, 0.01);
        close(isc(&points, Over::Voltage, 3.0), 0.98 - 0.03, 1.0 + 0.03);
        close(voc(&points, Over::Voltage, 3.0), 0.6, 0.7);
        // 0.5 V·0.9 A − 3·0.5 V·0.01 A; the corner (0.6 V, 0.9 A).
        close(power(&points, 3.0), 0.45 - 0.015, 0.54 + 0.018);
    }

    #[test]
    fn brackets_of_stepped_currents() {
        let points = points(0.02, 0.0);
        close(isc(&points, Over::Current, 3.0), 0.98, 1.0);
        close(voc(&points, Over::Current, 3.0), 0.6 - 0.06, 0.7 + 0.06);
        close(power(&points, 3.0), 0.45 - 3.0 * 0.9 * 0.02, 0.54 + 3.0 * 0.9 * 0.02);
    }
}
