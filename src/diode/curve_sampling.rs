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
    let points: Vec<(f64, f64)> = us
        .iter()
        .map(|&u| {
            let (j, d) = model.current_and_drop(u);
            (u - d.value, j.value)
        })
        .collect();
    let (first, last) = (points[0], points[points.len() - 1]);
    let scale =
        ((last.0 - first.0).abs().max(f64::MIN_POSITIVE), (last.1 - first.1).abs().max(f64::MIN_POSITIVE));
    let steps: Vec<(f64, f64)> =
        points.windows(2).map(|w| ((w[1].0 - w[0].0) / scale.0, (w[1].1 - w[0].1) / scale.1)).collect();
    let lengths: Vec<f64> = steps.iter().map(|s| s.0.hypot(s.1)).collect();
    let mut turns: Vec<f64> = steps
        .windows(2)
        .map(|w| if w[0] == (0.0, 0.0) { 0.0 } else { (w[1].1.atan2(w[1].0) - w[0].1.atan2(w[0].0)).abs() })
        .collect();
    turns.push(0.0);
    let total = |xs: &[f64]| xs.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let (length, turn) = (total(&lengths), total(&turns));
    let mut sum = 0.0;
    let mut progress = vec![0.0];
    for (l, t) in lengths.iter().zip(&turns) {
        sum += l / length + t / turn;
        progress.push(sum);
    }
    progress
}
