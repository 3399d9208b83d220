//! Rs and g that are 0 as far as rounding shows.

use super::covariance::Linear;
use super::multistart::{EXACT, Effort, descend};
use super::residuals::Problem;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution};
use crate::sweep::range;

/// Share of the natural scale of Rs and g below which they may be 0.
const TINY: f64 = 1e-6;
/// Rs or g within rounding of 0 is 0, where that costs nothing: a solver in f64 stops short of a bound by
/// the rounding of the data.
pub(super) fn settle_on_bounds<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    solution: &mut Solution,
) {
    let (low_v, high_v) = range(&problem.points.voltage_v);
    let current_a = problem.points.largest_current_a();
    let ohm = (high_v - low_v) / current_a;
    for (k, natural) in [(2 * K + 1, ohm), (2 * K + 2, 1.0 / ohm)] {
        // What rounding moves by more than this is not determined anyway.
        if solution.x[k] - bounds.low[k] > TINY * natural {
            continue;
        }
        let (linear, _) = Linear::new(problem, &solution.x, bounds.inside(&solution.x));
        let (Some(p), Some(delta)) =
            (linear.free.iter().position(|f| *f == k), linear.rounding(problem, &solution.x))
        else {
            continue;
        };
        if solution.x[k] - bounds.low[k] > 10.0 * delta[p] {
            continue;
        }
        let mut held = bounds.clone();
        held.high[k] = held.low[k];
        let (there, _) = descend::<K>(problem.points, problem.residual, &held, &solution.x, Effort::SHORT);
        if there.cost <= solution.cost * (1.0 + 1e-12) + EXACT * problem.rounding() {
            *solution = there;
        }
    }
}
