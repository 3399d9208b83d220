//! The one diode within two: its optimum, and where a second diode enters from there.
//!
//! With the I0 of one of them at its least two diodes are one. That optimum is a point of the box of both, so that χ² of
//! two is at most χ² of one. To first order in I02 ≥ 0, at a given a2,
//!
//! ```text
//! r ≈ r₁ + J·δ + q·I02        q = ∂r/∂I02        fall of χ² = (q̂·r₁)² where q̂·r₁ < 0,  q̂ = P⊥q/|P⊥q|,  P⊥ = 1 − Q·Qᵀ of J
//! ```
//!
//! with J over the coordinates of the one diode: the step to the least of that is a start for both.

use super::multistart::{EXACT, Effort, descend, descend_below, is_better};
use super::residuals::{Points, Problem, Residual};
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution, Step};
use crate::numerics::linear_algebra::qr::{rough_qr, solve_upper};

/// Knots of ln a2 on either side of ln a1.
const KNOTS: usize = 6;
/// Share of the largest current that the second diode carries where derivatives by its I0 are taken.
const PROBE: f64 = 1e-6;
/// Share of χ² of one diode below which the search of two counts as done: the starts made from one diode are left out. Not where
/// the voltages alone are weighted, whose starts are less reliable.
const ALREADY_FOUND: f64 = 0.3;
/// Shares of the current of one diode that the second of two carries at starts where both share it.
const SHARES: [f64; 1] = [0.5];
/// Times that a step which does not lower χ² is halved.
const MOST_HALVINGS: usize = 24;

/// The optimum of one diode in the place of one of two.
pub(super) struct Nested {
    /// Its place, 0 or 1.
    place: usize,
    /// Its box, and whether the other place has the same.
    pub bounds: Bounds,
    both: bool,
    /// The readings with the weights that they have on its curve.
    pub points: Points,
    pub solution: Solution,
    trace: Vec<Step>,
}

impl Nested {
    /// In each of the two boxes, or in the one that both have, where `search` finds it.
    pub fn all<E>(
        bounds: &Bounds,
        mut search: impl FnMut(&Bounds) -> Result<(Points, Solution, Vec<Step>), E>,
    ) -> Result<Vec<Self>, E> {
        let [first, second] = [0, 1].map(|place| box_of(bounds, place));
        let both = first.low == second.low && first.high == second.high;
        let boxes = if both { vec![first] } else { vec![first, second] };
        let found = |(place, bounds)| {
            let (points, solution, trace) = search(&bounds)?;
            Ok(Self { place, bounds, both, points, solution, trace })
        };
        boxes.into_iter().enumerate().map(found).collect()
    }

    /// The optimum with the weights of `points`, those of two diodes.
    pub fn at(&self, points: &Points, residual: Residual) -> Solution {
        if self.points == *points {
            return self.solution.clone();
        }
        descend::<1>(points, residual, &self.bounds, &self.solution.x, Effort::SHORT).0
    }

    /// Its θ among those of two diodes: `x` in `place`, the other I0 at its least and the other a at its end.
    fn embedded(&self, x: &[f64], bounds: &Bounds) -> Vec<f64> {
        let mut theta = vec![0.0; bounds.low.len()];
        for (k, x) in positions(self.place).into_iter().zip(x) {
            theta[k] = *x;
        }
        let other = 1 - self.place;
        theta[1 + 2 * other] = bounds.low[1 + 2 * other];
        theta[2 + 2 * other] = if other == 0 { bounds.low[2] } else { bounds.high[4] };
        theta
    }

    /// The starts at which the second diode lowers χ² to first order, one on either side of this one's a; and one with a1 at its
    /// least and a2 at its largest, each diode with half of the current.
    fn second_diode_starts<const K: usize>(&self, problem: &Problem<K>, bounds: &Bounds) -> Vec<Vec<f64>> {
        let places = if self.both { vec![0, 1] } else { vec![self.place] };
        let entering = places.into_iter().filter_map(|place| self.second_diode_start(place, problem, bounds));
        entering.chain(SHARES.map(|share| self.shared(share, problem.points, bounds))).collect()
    }

    /// Two diodes, the first of the least and the second of the largest a, that carry this one's current at the highest
    /// junction voltage, the second a `share` of it.
    fn shared(&self, share: f64, points: &Points, bounds: &Bounds) -> Vec<f64> {
        let x = &self.solution.x;
        let top = points.highest_junction_v(x[3]);
        let ln_current = x[1] + top / x[2].exp();
        let (first, second) = (bounds.low[2], bounds.high[4]);
        let ln_i0 = |share: f64, ln_a: f64| share.ln() + ln_current - top / ln_a.exp();
        let mut theta =
            vec![x[0], ln_i0(1.0 - share, first), first, ln_i0(share, second), second, x[3], x[4]];
        bounds.clamp(&mut theta);
        theta
    }

    fn second_diode_start<const K: usize>(
        &self,
        place: usize,
        problem: &Problem<K>,
        bounds: &Bounds,
    ) -> Option<Vec<f64>> {
        let (x, other) = (&self.solution.x, 1 - place);
        let ends = (bounds.low[2 + 2 * other], bounds.high[2 + 2 * other]);
        let (low, high) = if other == 0 { (ends.0, ends.1.min(x[2])) } else { (ends.0.max(x[2]), ends.1) };
        if bounds.low[1 + 2 * other] == bounds.high[1 + 2 * other] || low > high {
            return None;
        }
        let top = problem.points.highest_junction_v(x[3]);
        let ln_probe = (PROBE * problem.points.largest_current_a()).ln();
        let free: Vec<usize> =
            self.bounds.inside(x).into_iter().map(|k| positions(place)[k]).chain([1 + 2 * other]).collect();
        let knots = (0..KNOTS).map(|k| low + (high - low) * k as f64 / (KNOTS - 1) as f64);
        let steps = knots.filter_map(|ln_a| {
            let mut theta = vec![0.0; bounds.low.len()];
            positions(place).into_iter().zip(x).for_each(|(k, x)| theta[k] = *x);
            (theta[1 + 2 * other], theta[2 + 2 * other]) = (ln_probe - top / ln_a.exp(), ln_a);
            let (gain, step) = first_order_step(problem, &theta, &free)?;
            Some((gain, theta, step))
        });
        let (_, theta, step) = steps.max_by(|a, b| a.0.total_cmp(&b.0))?;
        self.halved_until_lower(problem, bounds, &theta, &free, &step)
    }

    /// The first of ever shorter steps from `theta` that lowers χ²; the last coordinate, ln I0 of the second diode, takes
    /// what the linear model gives I0.
    fn halved_until_lower<const K: usize>(
        &self,
        problem: &Problem<K>,
        bounds: &Bounds,
        theta: &[f64],
        free: &[usize],
        step: &[f64],
    ) -> Option<Vec<f64>> {
        let mut r = vec![0.0; problem.len()];
        (0..MOST_HALVINGS).map(|k| 0.5f64.powi(k as i32)).find_map(|share| {
            let mut start = theta.to_vec();
            let (last, others) = free.split_last()?;
            others.iter().zip(step).for_each(|(&k, step)| start[k] += share * step);
            start[*last] += (share * step.last()?).ln();
            bounds.clamp(&mut start);
            let there = problem.evaluate(&start, &mut r, None);
            let cost: f64 = r.iter().map(|r| r * r).sum();
            (there && cost < self.solution.cost).then_some(start)
        })
    }
}

/// Fall of χ² and step over the coordinates `free`, the last of which is a ln I0 whose step is that of I0 as a share of
/// itself; `None` where a positive I0 does not lower χ².
fn first_order_step<const K: usize>(
    problem: &Problem<K>,
    theta: &[f64],
    free: &[usize],
) -> Option<(f64, Vec<f64>)> {
    let (rows, m) = (problem.len(), free.len());
    let (mut r, mut jacobian) = (vec![0.0; rows], vec![0.0; rows * theta.len()]);
    if !problem.evaluate(theta, &mut r, Some(&mut jacobian)) {
        return None;
    }
    let mut columns = Vec::with_capacity(rows * (m + 1));
    free.iter().for_each(|&k| columns.extend(&jacobian[k * rows..(k + 1) * rows]));
    columns.extend(r.iter().map(|r| -r));
    let n = m + 1;
    let mut triangle = vec![0.0; n * n];
    rough_qr(&mut columns, n, &mut triangle);
    let square: Vec<f64> = (0..m * m).map(|k| triangle[k / m * n + k % m]).collect();
    let mut step: Vec<f64> = (0..m).map(|i| triangle[i * n + m]).collect();
    let gain = step.last()?.powi(2);
    let solved = solve_upper(&square, m, &mut step) && step.iter().all(|x| x.is_finite());
    (solved && *step.last()? > 0.0).then_some((gain, step))
}

/// Where the coordinates of one diode stand among those of two.
fn positions(place: usize) -> [usize; 5] {
    [0, 1 + 2 * place, 2 + 2 * place, 5, 6]
}

/// The box of one of the two diodes by itself.
fn box_of(bounds: &Bounds, place: usize) -> Bounds {
    let of = |x: &[f64]| positions(place).iter().map(|&k| x[k]).collect();
    Bounds { low: of(&bounds.low), high: of(&bounds.high) }
}

/// The lowest of `found`, of the optima of one diode, and of the descents from where a second one enters there.
pub(super) fn lowest<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    nested: &[Nested],
    found: (Solution, Vec<Step>),
) -> (Solution, Vec<Step>) {
    let exact = EXACT * problem.rounding();
    let mut best = found;
    let mut r = vec![0.0; problem.len()];
    for one in nested {
        let theta = one.embedded(&one.solution.x, bounds);
        if problem.evaluate(&theta, &mut r, None) {
            let cost = r.iter().map(|r| r * r).sum();
            let whole = Solution { x: theta, cost, ..one.solution.clone() };
            if is_better(&whole, &best.0, exact) {
                let step = |s: &Step| Step { x: one.embedded(&s.x, bounds).into(), ..s.clone() };
                best = (whole, one.trace.iter().map(step).collect());
            }
        }
        if problem.residual != Residual::Voltage && best.0.cost < ALREADY_FOUND * one.solution.cost {
            continue;
        }
        if budget::used_up().is_some() {
            break;
        }
        for start in one.second_diode_starts(problem, bounds) {
            let found = descend_below(problem, bounds, &start, best.0.cost);
            if let Some(found) = found.filter(|found| is_better(&found.0, &best.0, exact)) {
                best = found;
            }
        }
    }
    best
}
