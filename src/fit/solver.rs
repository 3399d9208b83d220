//! Bounded least squares by the Levenberg–Marquardt method, through QR.
//!
//! ```text
//! min ½·Σ rᵢ(x)²,  low ≤ x ≤ high        step: min ‖J·p + r‖² + μ·‖D·p‖²  within the box
//! ```
//!
//! J is reduced by QR once an iterate; the damped subproblem is solved on R by an active set, so that a
//! bound is met exactly and let go of when the multiplier says so. D holds the largest column norms so
//! far (J. J. Moré, Lecture Notes in Mathematics 630 (1978) 105), which makes the path independent of
//! units; μ follows H. B. Nielsen, report IMM-REP-1999-05, DTU. The termination is a report, not an error.

use super::qr::{solve_upper, thin_qr};
use serde::{Deserialize, Serialize};

/// Steps in a row that keep less than a tenth of their promise, after which a Σr² of this many times the
/// rounding of the residuals is taken as rounding itself.
const MOST_FRUITLESS: usize = 15;
const NEAR_ROUNDING: f64 = 1e6;

/// A least-squares problem: residuals and their derivatives at x.
pub trait Residuals {
    /// Number of residuals.
    fn len(&self) -> usize;

    /// Whether there are none.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Writes r(x), and with `jacobian` ∂r/∂x row by row; `false` where x has no residuals.
    fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool;

    /// Σr² below which the residuals are rounding.
    fn rounding(&self) -> f64 {
        0.0
    }
}

/// Why the solver stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[non_exhaustive]
pub enum Stop {
    /// The model promises no further reduction: √(promised/Σr²) ≤ 1e-11.
    Gradient,
    /// The step is below the resolution of x.
    Step,
    /// The residuals are rounding.
    Exact,
    /// The most steps were taken.
    MostSteps,
    /// The start has no residuals, or they are not finite.
    NoResiduals,
}

impl Stop {
    /// Whether x is an optimum as far as f64 shows.
    pub fn converged(self) -> bool {
        matches!(self, Stop::Gradient | Stop::Step | Stop::Exact)
    }

    /// The reason in words.
    pub fn reason(self) -> &'static str {
        match self {
            Stop::Gradient => "no further reduction is promised",
            Stop::Step => "the step is below the resolution of the parameters",
            Stop::Exact => "the residuals are rounding",
            Stop::MostSteps => "the most steps were taken",
            Stop::NoResiduals => "the start has no finite residuals",
        }
    }
}

/// One step of the solver, for those who want to see the path.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Counted from 0, the start.
    pub iteration: usize,
    /// Coordinates.
    pub x: Vec<f64>,
    /// √Σr².
    pub norm: f64,
    /// Damping μ.
    pub damping: f64,
    /// Whether the step was taken.
    pub taken: bool,
}

/// Where the solver ended.
#[derive(Clone, Debug, PartialEq)]
pub struct Solution {
    /// Coordinates of the least Σr² seen.
    pub x: Vec<f64>,
    /// Σr² there.
    pub cost: f64,
    /// Evaluations of the residuals.
    pub evaluations: usize,
    /// Why it stopped.
    pub stop: Stop,
}

/// The box.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Bounds {
    /// Lower bounds.
    #[serde(with = "crate::plain::list")]
    pub low: Vec<f64>,
    /// Upper bounds; equal to the lower one where a coordinate is fixed.
    #[serde(with = "crate::plain::list")]
    pub high: Vec<f64>,
}

impl Bounds {
    fn clamp(&self, x: &mut [f64]) {
        for (k, x) in x.iter_mut().enumerate() {
            *x = x.clamp(self.low[k], self.high[k]);
        }
    }
}

/// Minimises Σr² from `start` within `bounds` in at most `most_steps` steps, telling `observe` each.
pub fn minimise(
    problem: &impl Residuals,
    start: &[f64],
    bounds: &Bounds,
    most_steps: usize,
    mut observe: impl FnMut(&Step),
) -> Solution {
    let n = start.len();
    let mut x = start.to_vec();
    bounds.clamp(&mut x);
    let mut work = Work::new(problem.len(), n);
    let mut evaluations = 1;
    if !problem.evaluate(&x, &mut work.residual, Some(&mut work.jacobian)) || !work.all_finite() {
        return Solution { x, cost: f64::INFINITY, evaluations, stop: Stop::NoResiduals };
    }
    let mut cost = sum_of_squares(&work.residual);
    let (mut mu, mut growth, mut fruitless) = (1e-3, 2.0, 0);
    let mut stop = Stop::MostSteps;
    let mut trial = vec![0.0; n];
    work.factorise();
    observe(&Step { iteration: 0, x: x.clone(), norm: cost.sqrt(), damping: mu, taken: true });
    for iteration in 1..=most_steps {
        let fruitless_for_long = fruitless >= MOST_FRUITLESS && cost <= NEAR_ROUNDING * problem.rounding();
        if cost <= problem.rounding() || fruitless_for_long {
            stop = Stop::Exact;
            break;
        }
        let promised = work.step(mu, &x, bounds);
        if promised <= 1e-22 * cost {
            stop = Stop::Gradient;
            break;
        }
        (0..n).for_each(|k| trial[k] = x[k] + work.p[k]);
        bounds.clamp(&mut trial);
        if trial.iter().zip(&x).all(|(t, x)| (t - x).abs() <= f64::EPSILON * x.abs()) {
            stop = Stop::Step;
            break;
        }
        evaluations += 1;
        let there = problem.evaluate(&trial, &mut work.trial_residual, None);
        let trial_cost = if there { sum_of_squares(&work.trial_residual) } else { f64::INFINITY };
        let gain = (cost - trial_cost) / promised;
        // Close to the optimum the reduction drowns in the rounding of Σr²: then the model is believed.
        let drowned = promised <= 1e-12 * cost && trial_cost <= cost * (1.0 + 1e-13);
        let taken = trial_cost.is_finite() && (gain > 1e-4 || drowned);
        fruitless = if gain > 0.1 { 0 } else { fruitless + 1 };
        if taken {
            x.copy_from_slice(&trial);
            problem.evaluate(&x, &mut work.residual, Some(&mut work.jacobian));
            cost = trial_cost;
            work.factorise();
            mu *= (1.0 - (2.0 * gain.clamp(0.0, 1.0) - 1.0).powi(3)).max(0.1);
            mu = mu.max(1e-15);
            growth = 2.0;
        } else {
            mu *= growth;
            growth *= 2.0;
        }
        observe(&Step { iteration, x: x.clone(), norm: cost.sqrt(), damping: mu, taken });
    }
    Solution { x, cost, evaluations, stop }
}

fn sum_of_squares(r: &[f64]) -> f64 {
    let sum: f64 = r.iter().map(|r| r * r).sum();
    if sum.is_finite() { sum } else { f64::INFINITY }
}

/// Buffers of one solve.
struct Work {
    n: usize,
    residual: Vec<f64>,
    trial_residual: Vec<f64>,
    jacobian: Vec<f64>,
    scale: Vec<f64>,
    r: Vec<f64>,
    qr: Vec<f64>,
    p: Vec<f64>,
}

impl Work {
    fn new(rows: usize, n: usize) -> Self {
        let zeros = |k| vec![0.0; k];
        Self {
            n,
            residual: zeros(rows),
            trial_residual: zeros(rows),
            jacobian: zeros(rows * n),
            scale: zeros(n),
            r: zeros(n * n),
            qr: zeros(n),
            p: zeros(n),
        }
    }

    fn all_finite(&self) -> bool {
        self.residual.iter().chain(&self.jacobian).all(|x| x.is_finite())
    }

    /// Column norms, then J → Q·R and q = Qᵀr. The columns are scaled first, so that R is as well
    /// conditioned as the units allow.
    fn factorise(&mut self) {
        let n = self.n;
        for c in 0..n {
            let column = self.jacobian.iter().skip(c).step_by(n);
            let norm = column.map(|d| d * d).sum::<f64>().sqrt();
            self.scale[c] = self.scale[c].max(norm).max(f64::MIN_POSITIVE);
        }
        for row in self.jacobian.chunks_exact_mut(n) {
            row.iter_mut().zip(&self.scale).for_each(|(d, s)| *d /= s);
        }
        thin_qr(&mut self.jacobian, n, &mut self.r);
        for c in 0..n {
            self.qr[c] =
                self.jacobian.iter().skip(c).step_by(n).zip(&self.residual).map(|(q, r)| q * r).sum();
        }
    }

    /// The damped step within the box into `p`; the reduction of Σr² that the linear model promises.
    fn step(&mut self, mu: f64, x: &[f64], bounds: &Bounds) -> f64 {
        let n = self.n;
        let box_of =
            |k: usize| ((bounds.low[k] - x[k]) * self.scale[k], (bounds.high[k] - x[k]) * self.scale[k]);
        let limits: Vec<(f64, f64)> = (0..n).map(box_of).collect();
        let p = boxed_step(&self.r, &self.qr, mu, &limits);
        let promised = promise(&self.r, &self.qr, &p);
        (0..n).for_each(|k| self.p[k] = p[k] / self.scale[k]);
        promised
    }
}

/// ‖q‖² − ‖Rp + q‖², without forming the difference: −(Rp)·(Rp + 2q).
fn promise(r: &[f64], q: &[f64], p: &[f64]) -> f64 {
    let n = p.len();
    (0..n)
        .map(|i| {
            let rp: f64 = (i..n).map(|k| r[i * n + k] * p[k]).sum();
            -rp * (rp + 2.0 * q[i])
        })
        .sum()
}

/// min ‖Rp + q‖² + μ‖p‖² with low ≤ p ≤ high (0 inside), by an active set.
fn boxed_step(r: &[f64], q: &[f64], mu: f64, limits: &[(f64, f64)]) -> Vec<f64> {
    let n = q.len();
    let mut p = vec![0.0; n];
    let mut free: Vec<bool> = limits.iter().map(|l| l.0 < 0.0 || l.1 > 0.0).collect();
    let gradient = |p: &[f64]| -> Vec<f64> {
        let residual: Vec<f64> =
            (0..n).map(|i| q[i] + (i..n).map(|k| r[i * n + k] * p[k]).sum::<f64>()).collect();
        (0..n).map(|k| (0..=k).map(|i| r[i * n + k] * residual[i]).sum::<f64>() + mu * p[k]).collect()
    };
    // A coordinate at its bound starts free only if it wants to leave.
    let wants = gradient(&p);
    for k in 0..n {
        free[k] &= (limits[k].0 < 0.0 || wants[k] < 0.0) && (limits[k].1 > 0.0 || wants[k] > 0.0);
    }
    for _ in 0..4 * n {
        let target = damped(r, q, mu, &free, &p);
        let blocked = first_block(&p, &target, limits, &free);
        match blocked {
            Some((k, t, bound)) => {
                (0..n).filter(|&j| free[j]).for_each(|j| p[j] += t * (target[j] - p[j]));
                p[k] = bound;
                free[k] = false;
            }
            None => {
                p = target;
                let wants = gradient(&p);
                let leaves = |k: &usize| {
                    let (low, high) = limits[*k];
                    !free[*k]
                        && low < high
                        && (p[*k] <= low && wants[*k] < 0.0 || p[*k] >= high && wants[*k] > 0.0)
                };
                let Some(k) =
                    (0..n).filter(leaves).max_by(|a, b| wants[*a].abs().total_cmp(&wants[*b].abs()))
                else {
                    break;
                };
                free[k] = true;
            }
        }
    }
    p
}

/// The first bound met on the way from `p` to `target`: coordinate, fraction of the way, bound.
fn first_block(p: &[f64], target: &[f64], limits: &[(f64, f64)], free: &[bool]) -> Option<(usize, f64, f64)> {
    let mut first: Option<(usize, f64, f64)> = None;
    for k in (0..p.len()).filter(|&k| free[k]) {
        let bound = if target[k] < limits[k].0 { limits[k].0 } else { limits[k].1 };
        if target[k] < limits[k].0 || target[k] > limits[k].1 {
            let t = ((bound - p[k]) / (target[k] - p[k])).clamp(0.0, 1.0);
            if first.is_none_or(|f| t < f.1) {
                first = Some((k, t, bound));
            }
        }
    }
    first
}

/// min ‖Rp + q‖² + μ‖p‖² over the free coordinates, the others held, by QR of the stacked matrix.
fn damped(r: &[f64], q: &[f64], mu: f64, free: &[bool], held: &[f64]) -> Vec<f64> {
    let n = q.len();
    let index: Vec<usize> = (0..n).filter(|&k| free[k]).collect();
    let m = index.len();
    let mut out = held.to_vec();
    if m == 0 {
        return out;
    }
    let mut rows = vec![0.0; (n + m) * m];
    let mut right = vec![0.0; n + m];
    for i in 0..n {
        let rest: f64 = (i..n).filter(|&k| !free[k]).map(|k| r[i * n + k] * held[k]).sum();
        right[i] = -(q[i] + rest);
        (0..m).for_each(|c| rows[i * m + c] = if index[c] >= i { r[i * n + index[c]] } else { 0.0 });
    }
    (0..m).for_each(|c| rows[(n + c) * m + c] = mu.sqrt());
    let mut small = vec![0.0; m * m];
    thin_qr(&mut rows, m, &mut small);
    let mut p: Vec<f64> = (0..m).map(|c| (0..n + m).map(|i| rows[i * m + c] * right[i]).sum()).collect();
    if solve_upper(&small, m, &mut p) {
        index.iter().zip(&p).for_each(|(&k, &p)| out[k] = p);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// H. H. Rosenbrock, Comput. J. 3 (1960) 175: minimum 0 at (1, 1).
    struct Valley;

    impl Residuals for Valley {
        fn len(&self) -> usize {
            2
        }

        fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
            r.copy_from_slice(&[10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]);
            if let Some(j) = jacobian {
                j.copy_from_slice(&[-20.0 * x[0], 10.0, -1.0, 0.0]);
            }
            true
        }
    }

    fn bounds(low: [f64; 2], high: [f64; 2]) -> Bounds {
        Bounds { low: low.to_vec(), high: high.to_vec() }
    }

    #[test]
    fn valley_is_followed_to_its_end() {
        let wide = bounds([-9.0; 2], [9.0; 2]);
        let s = minimise(&Valley, &[-1.2, 1.0], &wide, 200, |_| {});
        assert!(s.stop.converged());
        assert_relative_eq!(s.x[0], 1.0, max_relative = 1e-10);
    }

    /// With x ≤ ½ the minimum is at (½, ¼) by hand: the second residual is ½ and the first 0.
    #[test]
    fn active_bound_is_met_exactly() {
        let s = minimise(&Valley, &[-1.2, 1.0], &bounds([-9.0; 2], [0.5, 9.0]), 200, |_| {});
        assert!(s.stop.converged(), "{s:?}");
        assert_eq!(s.x[0], 0.5);
        assert_relative_eq!(s.x[1], 0.25, max_relative = 1e-9);
        assert_relative_eq!(s.cost, 0.25, max_relative = 1e-12);
    }

    #[test]
    fn a_fixed_coordinate_stays() {
        let s = minimise(&Valley, &[0.3, 2.0], &bounds([0.3, -9.0], [0.3, 9.0]), 200, |_| {});
        assert_eq!(s.x[0], 0.3);
        assert_relative_eq!(s.x[1], 0.09, max_relative = 1e-9);
    }
}
