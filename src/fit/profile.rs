//! Profile likelihood: how far one coordinate, or a figure that follows from all, can go while the rest follows.
//!
//! An end of the interval is where the least Σr² with the coordinate held has risen by t²·s²,
//!
//! ```text
//! χ²(θ_p) − χ²(θ̂) = t²·s²        s² = 1 where the noise is stated, χ²/ν where it is not
//! ```
//!
//! and there is none where the coordinate meets its bound, or the end of f64, before that. A figure h(θ) cannot
//! be held like a coordinate. It is pulled: the least of χ² + ((h − c)/w)² is also the least χ² at whatever h it
//! ends with, for any c and w, and so a point of the profile.

use super::figure::Figure;
use super::problem::Problem;
use super::solver::{Bounds, Residuals, minimise};
use crate::diode::Circuit;

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

/// A problem whose figure is pulled towards a target.
struct Pulled<'a, const K: usize> {
    problem: &'a Problem<'a, K>,
    figure: Figure,
    target: f64,
    width: f64,
}

impl<const K: usize> Residuals for Pulled<'_, K> {
    fn len(&self) -> usize {
        self.problem.len() + 1
    }

    fn evaluate(&self, theta: &[f64], r: &mut [f64], mut jacobian: Option<&mut [f64]>) -> bool {
        let (points, n) = (self.problem.len(), theta.len());
        let (own, last) = r.split_at_mut(points);
        let inner = jacobian.as_deref_mut().map(|j| &mut j[..points * n]);
        if !self.problem.evaluate(theta, own, inner) {
            return false;
        }
        let mut by = vec![0.0; n];
        let Some(value) = self.figure.evaluate(&Circuit::<K>::from_theta(theta), &mut by) else {
            return false;
        };
        last[0] = (value - self.target) / self.width;
        if let Some(jacobian) = jacobian {
            jacobian[points * n..].iter_mut().zip(&by).for_each(|(j, by)| *j = by / self.width);
        }
        true
    }

    fn rounding(&self) -> f64 {
        self.problem.rounding()
    }
}

impl<const K: usize> Profile<'_, K> {
    /// One end of the interval of `figure`, whose value is `best` and whose first-order standard uncertainty,
    /// in units of s, is `u`. `None` where Σr² does not rise far enough however hard the figure is pulled.
    pub fn end_of(&self, figure: Figure, best: f64, u: f64, sign: f64) -> Option<f64> {
        if !(u.is_finite() && u > 0.0) {
            return None;
        }
        let mut warm = self.theta.to_vec();
        let (mut inner, mut outer) = (Pull { by: 0.0, value: best, root: 0.0 }, None::<Pull>);
        // Where the problem is linear the figure goes half of the way.
        let mut by = 2.0 * self.rise.sqrt() * u;
        for _ in 0..MOST_TRIALS {
            let there = self.pull(figure, best + sign * by, u, by, &mut warm)?;
            if (there.root - 1.0).abs() < 1e-3 {
                return Some(there.value + (1.0 - there.root) * (there.value - best) / there.root);
            }
            if there.root < 1.0 {
                inner = there;
            } else {
                outer = Some(there);
            }
            by = match &outer {
                None if inner.by > 1e6 * u * self.rise.sqrt() => return None,
                None => inner.by * (1.05 / inner.root.max(1e-3)).clamp(1.2, 10.0),
                Some(outer) if outer.by - inner.by <= 1e-9 * outer.by => return Some(outer.value),
                Some(outer) => {
                    let share = (1.0 - inner.root) / (outer.root - inner.root);
                    inner.by + share.clamp(0.05, 0.95) * (outer.by - inner.by)
                }
            };
        }
        outer.map(|o| o.value)
    }

    /// Where the figure ends when it is pulled to `target`, and √(Δχ²/rise) there.
    fn pull(&self, figure: Figure, target: f64, u: f64, by: f64, warm: &mut [f64]) -> Option<Pull> {
        let pulled = Pulled { problem: self.problem, figure, target, width: u };
        let found = minimise(&pulled, warm, self.bounds, MOST_STEPS, |_| {});
        if !found.cost.is_finite() {
            return None;
        }
        warm.copy_from_slice(&found.x);
        let mut by_theta = vec![0.0; found.x.len()];
        let value = figure.evaluate(&Circuit::<K>::from_theta(&found.x), &mut by_theta)?;
        let own = found.cost - ((value - target) / u).powi(2);
        Some(Pull { by, value, root: ((own - self.cost).max(0.0) / self.rise).sqrt() })
    }
}

/// A pull: how far it aimed, where the figure ended, √(Δχ²/rise) there.
struct Pull {
    by: f64,
    value: f64,
    root: f64,
}
