//! The scatter of points as their sweep states it: its noise, or its sources at every point.

use super::bend::BendCurve;
use super::noise_estimate::Stated;
use super::scaled_readings::Readings;
use crate::sweep::{Effect, Noise, Reach, Sweep, Swept};

/// Calls `f` with what is known of the scatter of the points (v, i): the sources at every point of `sweep` where it
/// carries any, else what `noise` states. Of stepped voltages the sources are one scatter of the current,
/// √Σ (dI − dI/dV·dV)²; of stepped currents, where dI/dV is next to nothing, √Σ dV² and √Σ dI².
pub(super) fn stated<T>(
    sweep: &Sweep,
    noise: &Noise,
    v: &[f64],
    i: &[f64],
    f: impl FnOnce(&Stated) -> T,
) -> T {
    let options = sweep.options();
    let sources: Vec<&Effect> = options.effects.iter().filter(|e| e.reach == Reach::Each).collect();
    if sources.is_empty() {
        return Stated::with(noise, options.swept, f);
    }
    if sweep.exact_axis() == Swept::Current {
        let squares = |x: &[f64], of: fn(&Effect) -> &[f64]| {
            let sum = |k: usize| sources.iter().map(|e| of(e)[k].powi(2)).sum::<f64>().sqrt();
            by_rising(x.iter().enumerate().map(|(k, x)| (*x, sum(k))).collect())
        };
        let (of_voltage, of_current) = (squares(v, |e| &e.voltage_v), squares(i, |e| &e.current_a));
        return f(&Stated::Known(&|x| between(&of_voltage, x), &|x| between(&of_current, x)));
    }
    match effective(&sources, v, i) {
        Some(along) => f(&Stated::Known(&|_| 0.0, &|current| between(&along, current))),
        None => Stated::with(noise, options.swept, f),
    }
}

fn by_rising(mut all: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// The second number at `x`, by straight lines between its neighbours; that of the end beyond.
fn between(along: &[(f64, f64)], x: f64) -> f64 {
    let k = along.partition_point(|p| p.0 < x);
    let (Some(after), Some(before)) = (along.get(k).or(along.last()), along.get(k.saturating_sub(1))) else {
        return 0.0;
    };
    let part = (x - before.0) / (after.0 - before.0);
    if part.is_finite() { before.1 + part.clamp(0.0, 1.0) * (after.1 - before.1) } else { after.1 }
}

/// (current in A, scatter in A) by rising current of a smooth; `None` where the points are no curve.
fn effective(sources: &[&Effect], v: &[f64], i: &[f64]) -> Option<Vec<(f64, f64)>> {
    let readings = Readings::new(v, i, 1.0)?;
    let order = readings.order(v, i, 1.0);
    let slope = BendCurve::of(&readings)
        .slope()
        .iter()
        .map(|s| s * readings.unit_a / readings.unit_v)
        .collect::<Vec<_>>();
    let mut squares = vec![0.0; order.len()];
    for e in sources {
        for (n, &k) in order.iter().enumerate() {
            squares[n] += (e.current_a[k] - slope[n] * e.voltage_v[k]).powi(2);
        }
    }
    let scatter = squares.iter().map(|s| s.sqrt());
    Some(by_rising(readings.smooth().iter().map(|i| i * readings.unit_a).zip(scatter).collect()))
}
