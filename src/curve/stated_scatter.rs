//! The scatter of points as their sweep states it: its noise, or its sources at every point.

use super::bend::Guide;
use super::noise_estimate::Stated;
use super::scaled_readings::Readings;
use crate::sweep::{Noise, Reach, Sweep};

/// Calls `f` with what is known of the scatter of the points (v, i): the sources at every point of `sweep` where it
/// carries any, as one scatter of the current, √Σ (dI − dI/dV·dV)²; else what `noise` states.
pub(super) fn stated<T>(
    sweep: &Sweep,
    noise: &Noise,
    v: &[f64],
    i: &[f64],
    f: impl FnOnce(&Stated) -> T,
) -> T {
    let options = sweep.options();
    let Some(along) = effective(sweep, v, i) else { return Stated::with(noise, options.swept, f) };
    let of_current = |current: f64| {
        let k = along.partition_point(|p| p.0 < current);
        let (Some(after), Some(before)) = (along.get(k).or(along.last()), along.get(k.saturating_sub(1)))
        else {
            return 0.0;
        };
        let part = (current - before.0) / (after.0 - before.0);
        if part.is_finite() { before.1 + part.clamp(0.0, 1.0) * (after.1 - before.1) } else { after.1 }
    };
    f(&Stated::Known(&|_| 0.0, &of_current))
}

/// (current in A, scatter in A) by rising current of a smooth; `None` where the sweep carries no sources at its points.
fn effective(sweep: &Sweep, v: &[f64], i: &[f64]) -> Option<Vec<(f64, f64)>> {
    let mut each = sweep.options().effects.iter().filter(|e| e.reach == Reach::Each).peekable();
    each.peek()?;
    let readings = Readings::new(v, i, 1.0)?;
    let order = readings.order(v, i, 1.0);
    let slope = Guide::of(&readings)
        .slope()
        .iter()
        .map(|s| s * readings.unit_a / readings.unit_v)
        .collect::<Vec<_>>();
    let mut squares = vec![0.0; order.len()];
    for e in each {
        for (n, &k) in order.iter().enumerate() {
            squares[n] += (e.current_a[k] - slope[n] * e.voltage_v[k]).powi(2);
        }
    }
    let mut all: Vec<(f64, f64)> =
        readings.smooth().iter().map(|i| i * readings.unit_a).zip(squares.iter().map(|s| s.sqrt())).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(all)
}
