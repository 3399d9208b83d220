//! Key points of simulated sweeps against their truth, over shapes, points and noise.

use super::shapes::{Rig, Shape};
use litdiode::curve::key_points;
use litdiode::threads;

pub const FIGURES: [&str; 4] = ["isc", "voc", "pmax", "ff"];

/// One figure over many sweeps, as shares of the truth.
pub struct Tally {
    pub figure: &'static str,
    /// How often it was given.
    pub given: f64,
    pub bias: f64,
    pub spread: f64,
    /// Mean stated standard uncertainty.
    pub u: f64,
    /// How often the stated 95 % interval held the truth.
    pub holds: f64,
}

/// The four figures on `sweeps` sweeps, with seeds from `first_seed` on.
pub fn tally(shape: &Shape, rig: &Rig, first_seed: u64, sweeps: usize) -> [Tally; 4] {
    let truth = shape.truth();
    let job = |k: usize| {
        let points = key_points(&shape.sweep(rig, first_seed + k as u64));
        FIGURES.map(|figure| points.get(figure).cloned())
    };
    let all = threads::rows(sweeps, None, job, |_| true).expect("not stopped");
    std::array::from_fn(|k| {
        let own: Vec<_> = all.iter().filter_map(|row| row[k].as_ref()).collect();
        let n = own.len() as f64;
        let mean = |f: &dyn Fn(f64, f64, bool) -> f64| {
            let one = |e: &&litdiode::estimate::Estimate| {
                let interval = e.interval(0.95);
                let inside = interval.low.is_some_and(|l| l <= truth[k])
                    && interval.high.is_some_and(|h| truth[k] <= h);
                f(e.value / truth[k] - 1.0, e.u.unwrap_or(0.0) / truth[k], inside)
            };
            own.iter().map(one).sum::<f64>() / n
        };
        let bias = mean(&|error, _, _| error);
        let spread = (mean(&|error, _, _| error * error) - bias * bias).max(0.0).sqrt();
        let (u, holds) = (mean(&|_, u, _| u), mean(&|_, _, held| f64::from(u8::from(held))));
        Tally { figure: FIGURES[k], given: n / sweeps as f64, bias, spread, u, holds }
    })
}
