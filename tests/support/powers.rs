//! Simulated sweeps of three shapes of curve, and what every method for Pmax makes of them. Shared by the example that
//! prints the table of the documentation and by the reduced test.

use super::shapes::{Rig, Shape};
use litdiode::maximum_power::{PowerEstimate, maximum_powers};
use litdiode::threads;

/// Figures of one method over many sweeps, as shares of the true Pmax.
pub struct Tally {
    pub method: &'static str,
    /// How often the method gave a figure.
    pub given: f64,
    pub bias: f64,
    pub spread: f64,
    pub rms: f64,
    /// Mean stated standard uncertainty; 0 where the method states none.
    pub u: f64,
    /// How often the stated 95 % interval held the truth.
    pub holds: f64,
}

/// Every method on `sweeps` sweeps of `points` points with current noise of `noise`·Isc.
pub fn tally(shape: &Shape, points: usize, noise: f64, first_seed: u64, sweeps: usize) -> Vec<Tally> {
    let rig = Rig { points, noise, stated: false, shifted: false };
    let truth = shape.truth()[2];
    let job = |k: usize| {
        let sweep = shape.sweep(&rig, first_seed + k as u64);
        let mut found = maximum_powers(&sweep);
        // The one to quote stands in the table as a method of its own.
        if let Some(mut quote) = found.quote {
            quote.method = "recommended";
            found.estimates.push(quote);
        }
        found.estimates
    };
    let all = threads::rows(sweeps, None, job, |_| true).expect("not stopped");
    let mut methods: Vec<&'static str> = Vec::new();
    for estimate in all.iter().flatten() {
        if !methods.contains(&estimate.method) {
            methods.push(estimate.method);
        }
    }
    methods.into_iter().map(|method| of_method(method, &all, truth)).collect()
}

fn of_method(method: &'static str, all: &[Vec<PowerEstimate>], truth: f64) -> Tally {
    let own: Vec<_> = all.iter().flatten().filter(|e| e.method == method).collect();
    let n = own.len() as f64;
    let error = |e: &&PowerEstimate| e.pmax.value / truth - 1.0;
    let bias = own.iter().map(error).sum::<f64>() / n;
    let rms = (own.iter().map(|e| error(e).powi(2)).sum::<f64>() / n).sqrt();
    let u = own.iter().filter_map(|e| e.pmax.u).sum::<f64>() / n / truth;
    let inside = |e: &&&PowerEstimate| {
        let interval = e.pmax.interval(0.95);
        interval.low.is_some_and(|l| l <= truth) && interval.high.is_some_and(|h| truth <= h)
    };
    let holds = own.iter().filter(inside).count() as f64 / n;
    let given = n / all.len() as f64;
    Tally { method, given, bias, spread: (rms * rms - bias * bias).max(0.0).sqrt(), rms, u, holds }
}
