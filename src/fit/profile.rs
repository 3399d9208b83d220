//! Profile likelihood: how far one coordinate can go while all others follow.
//!
//! An end of the interval is where the least Σr² with the coordinate held has risen by t²·s²,
//!
//! ```text
//! χ²(θ_p) − χ²(θ̂) = t²·s²        s² = 1 where the noise is stated, χ²/ν where it is not
//! ```
//!
//! and there is none where the coordinate meets its bound, or the end of f64, before that.

use super::problem::Problem;
use super::solver::{Bounds, minimise};

/// Steps of a descent with one coordinate held.
const MOST_STEPS: usize = 60;
/// Steps outwards, and of refinement.
const MOST_TRIALS: usize = 40;

/// One end of a profile interval of coordinate `k`.
pub(super) struct Profile<'a, const K: usize> {
    pub problem: &'a Problem<'a, K>,
    pub bounds: &'a Bounds,
    pub theta: &'a [f64],
    pub cost: f64,
    /// t²·s².
    pub rise: f64,
}

impl<const K: usize> Profile<'_, K> {
    /// The end in the direction of `sign`, first looked for at `reach` from the optimum; `None` where the
    /// interval does not close before the bound.
    pub fn end(&self, k: usize, sign: f64, reach: f64) -> Option<f64> {
        let centre = self.theta[k];
        let bound = if sign > 0.0 { self.bounds.high[k] } else { self.bounds.low[k] };
        let mut warm = self.theta.to_vec();
        let (mut inner, mut inner_root) = (0.0, 0.0);
        let room = (bound - centre).abs();
        let mut step = reach.min(room);
        if step.is_nan() || step <= 0.0 {
            return None;
        }
        for _ in 0..MOST_TRIALS {
            let root = self.signed_root(k, centre + sign * step, &mut warm);
            if root >= 1.0 {
                return Some(centre + sign * self.refine(k, sign, (inner, inner_root), (step, root), warm));
            }
            if step >= room {
                return None;
            }
            (inner, inner_root) = (step, root);
            // √(Δχ²) is straight where the problem is linear; never more than eight times as far.
            let guess = if root > 0.125 { 1.1 * step / root } else { 8.0 * step };
            step = guess.clamp(1.2 * step, 8.0 * step).min(room);
        }
        None
    }

    /// √(Δχ²/rise) with coordinate `k` at `x`; the others start from and go to `warm`.
    fn signed_root(&self, k: usize, x: f64, warm: &mut [f64]) -> f64 {
        let mut held = self.bounds.clone();
        (held.low[k], held.high[k]) = (x, x);
        warm[k] = x;
        let found = minimise(self.problem, warm, &held, MOST_STEPS, |_| {});
        if !found.cost.is_finite() {
            return f64::INFINITY;
        }
        warm.copy_from_slice(&found.x);
        ((found.cost - self.cost).max(0.0) / self.rise).sqrt()
    }

    /// Illinois' rule between an inner point below 1 and an outer one above, to 1e-4 in the root.
    fn refine(&self, k: usize, sign: f64, inner: (f64, f64), outer: (f64, f64), mut warm: Vec<f64>) -> f64 {
        let (mut x0, mut f0) = (inner.0, inner.1 - 1.0);
        let (mut x1, mut f1) = (outer.0, (outer.1 - 1.0).min(1e3));
        for _ in 0..MOST_TRIALS {
            let x = if f1 - f0 > 1e-12 { x1 - f1 * (x1 - x0) / (f1 - f0) } else { 0.5 * (x0 + x1) };
            let f = (self.signed_root(k, self.theta[k] + sign * x, &mut warm) - 1.0).min(1e3);
            if f.abs() < 1e-4 || (x1 - x0).abs() <= 1e-6 * x1.abs() {
                return x;
            }
            if f > 0.0 {
                (x1, f1) = (x, f);
                f0 *= 0.5;
            } else {
                (x0, f0) = (x, f);
                f1 *= 0.5;
            }
        }
        x1
    }
}
