//! Points along a curve, spaced for the eye: equal steps of length and of turning.
//!
//! In axes scaled to the ranges of V and I the curve has an arc length s and a direction φ; points are
//! set at equal steps of s/s_total + |Δφ|/φ_total, so that the knee gets as many as the flat parts.

use super::junction::Junction;

/// Fine steps for each point asked for.
const FINE: usize = 8;

/// `points` pairs from V = `low` to `high`; both ends are met exactly.
pub(super) fn trace<M: Junction>(model: &M, low: f64, high: f64, points: usize) -> (Vec<f64>, Vec<f64>) {
    if points < 2 {
        let v = vec![low; points];
        return (v.clone(), v.iter().map(|&v| model.current_at(v)).collect());
    }
    let fine = FINE * points.max(16);
    let (u0, u1) = (model.at_voltage(low), model.at_voltage(high));
    // Half the fine steps even in u, half even in V: the first resolve the bend, the second the rest.
    let mut us: Vec<f64> = (0..=fine).map(|k| u0 + (u1 - u0) * k as f64 / fine as f64).collect();
    us.extend((1..fine).map(|k| model.at_voltage(low + (high - low) * k as f64 / fine as f64)));
    us.sort_by(f64::total_cmp);
    let measure = progress(model, &us);
    let whole = *measure.last().unwrap_or(&0.0);
    let mut voltage = vec![low];
    let mut k = 0;
    for p in 1..points - 1 {
        let target = whole * p as f64 / (points - 1) as f64;
        while k + 2 < us.len() && measure[k + 1] < target {
            k += 1;
        }
        let part = (target - measure[k]) / (measure[k + 1] - measure[k]).max(f64::MIN_POSITIVE);
        let u = us[k] + part.clamp(0.0, 1.0) * (us[k + 1] - us[k]);
        voltage.push((u - model.current_and_drop(u).1.value).clamp(low.min(high), low.max(high)));
    }
    voltage.push(high);
    let current = voltage.iter().map(|&v| model.current_at(v)).collect();
    (voltage, current)
}

/// Length plus turning up to each of `us`, each scaled to a whole of one.
fn progress<M: Junction>(model: &M, us: &[f64]) -> Vec<f64> {
    let points: Vec<_> = us.iter().map(|&u| Point::of(model, u)).collect();
    let (first, last) = (&points[0], &points[points.len() - 1]);
    let range = |from: f64, to: f64| (to - from).abs().max(f64::MIN_POSITIVE);
    let scale = (range(first.at.0, last.at.0), range(first.at.1, last.at.1));
    let steps = points.windows(2).map(|w| {
        let length = ((w[1].at.0 - w[0].at.0) / scale.0).hypot((w[1].at.1 - w[0].at.1) / scale.1);
        (length, (w[1].direction(scale) - w[0].direction(scale)).abs())
    });
    let steps: Vec<(f64, f64)> = steps.collect();
    let total = |sum: f64| sum.max(f64::MIN_POSITIVE);
    let length = total(steps.iter().map(|s| s.0).sum());
    let turning = total(steps.iter().map(|s| s.1).sum());
    let mut sum = 0.0;
    let progress = steps.iter().map(|s| {
        sum += s.0 / length + s.1 / turning;
        sum
    });
    std::iter::once(0.0).chain(progress).collect()
}

/// A point of the curve, (V, I) in V and A, and its derivative with respect to the junction voltage u.
struct Point {
    at: (f64, f64),
    derivative: (f64, f64),
}

impl Point {
    /// The point at the junction voltage `u`.
    fn of<M: Junction>(model: &M, u: f64) -> Self {
        let (current, drop) = model.current_and_drop(u);
        Self {
            at: (u - drop.value, current.value),
            derivative: (1.0 - drop.slope * current.slope, current.slope),
        }
    }

    /// Angle of the tangent in rad, in axes divided by `scale`. From the derivative, so that two points at the same place
    /// have the same direction.
    fn direction(&self, scale: (f64, f64)) -> f64 {
        (self.derivative.1 / scale.1).atan2(self.derivative.0 / scale.0)
    }
}
