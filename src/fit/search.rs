//! The optimum of a weighted problem from its automatic starts.

use super::problem::{Points, Problem, Residual};
use super::solver::{Bounds, Solution, Step, Stop, minimise};
use super::start::starts;

/// Steps of one descent.
const MOST_STEPS: usize = 500;
/// Starts that are followed to their end.
const MOST_STARTS: usize = 4;

/// The best of the descents, and its path.
pub(super) fn search<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    wanted: Option<&[f64]>,
) -> (Solution, Vec<Step>) {
    let candidates =
        wanted.map_or_else(|| starts::<K>(points, bounds, MOST_STARTS), |theta| vec![theta.to_vec()]);
    let mut best: Option<(Solution, Vec<Step>)> = None;
    for theta in candidates {
        let found = descend::<K>(points, residual, bounds, &theta);
        if best.as_ref().is_none_or(|b| found.0.cost < b.0.cost) {
            best = Some(found);
        }
    }
    best.unwrap_or_else(|| (nowhere(bounds), Vec::new()))
}

/// One descent. The voltage residual exists only where the curve carries every current, so it is approached
/// through the nearest distance with an uncertainty of the current that shrinks to nothing.
pub(super) fn descend<const K: usize>(
    points: &Points,
    residual: Residual,
    bounds: &Bounds,
    start: &[f64],
) -> (Solution, Vec<Step>) {
    let mut theta = start.to_vec();
    if residual == Residual::Voltage {
        let largest = points.current_a.iter().fold(f64::MIN_POSITIVE, |m, a| m.max(a.abs()));
        for share in [1.0, 1e-2, 1e-4, 1e-6] {
            let soft = Points { sigma_a: vec![share * largest; points.current_a.len()], ..points.clone() };
            let problem = Problem::<K> { points: &soft, residual: Residual::Nearest };
            theta = minimise(&problem, &theta, bounds, MOST_STEPS, |_| {}).x;
        }
    }
    let mut trace = Vec::new();
    let problem = Problem::<K> { points, residual };
    let solution = minimise(&problem, &theta, bounds, MOST_STEPS, |step| trace.push(step.clone()));
    (solution, trace)
}

fn nowhere(bounds: &Bounds) -> Solution {
    let x = bounds.low.iter().zip(&bounds.high).map(|(l, h)| 0.0f64.clamp(*l, *h)).collect();
    Solution { x, cost: f64::INFINITY, evaluations: 0, stop: Stop::NoResiduals }
}
