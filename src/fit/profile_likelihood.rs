//! Profile likelihood: how far one coordinate, or a figure that follows from all, can go while the rest follows.
//!
//! An end of the interval is where the least Σr² with the coordinate held has risen by t²·s²,
//!
//! ```text
//! χ²(θ_p) − χ²(θ̂) = t²·s²        s² = 1 where the noise is stated, χ²/ν where it is not
//! ```
//!
//! and there is none where the coordinate meets its bound, or the end of f64, before that. A figure h(θ) cannot
//! be held like a coordinate. It is drawn by a penalty: the least of χ² + ((h − c)/w)² is also the least χ² at whatever h it
//! ends with, for any c and w, and so a point of the profile.

use super::derived_quantity::Derived;
use super::multistart::{Effort, descend, search_with};
use super::residuals::Problem;
use crate::diode::Circuit;
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::minimise::descend_from;
use crate::numerics::least_squares::problem::{Bounds, Residuals};

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

/// A point of a profile: distance from the optimum, √(Δχ²/rise) there, all coordinates.
struct Place {
    step: f64,
    root: f64,
    theta: Vec<f64>,
}

impl<const K: usize> Profile<'_, K> {
    /// The end in the direction of `sign`, first looked for at `reach` from the optimum; `None` where the
    /// interval does not close before the bound.
    pub fn end(&self, k: usize, sign: f64, reach: f64) -> Option<f64> {
        let (inner, outer) = self.bracket(k, sign, reach)?;
        Some(self.theta[k] + sign * self.refine(k, sign, inner, outer))
    }

    /// Whether [`Profile::end`] is there.
    pub fn closes(&self, k: usize, sign: f64, reach: f64) -> bool {
        self.bracket(k, sign, reach).is_some()
    }

    /// A place within the end and one beyond it.
    fn bracket(&self, k: usize, sign: f64, reach: f64) -> Option<(Place, Place)> {
        let bound = if sign > 0.0 { self.bounds.high[k] } else { self.bounds.low[k] };
        let room = (bound - self.theta[k]).abs();
        let mut inner = Place { step: 0.0, root: 0.0, theta: self.theta.to_vec() };
        let mut step = reach.min(room);
        if step.is_nan() || step <= 0.0 {
            return None;
        }
        for _ in 0..MOST_TRIALS {
            let there = self.place(k, sign, step, &inner);
            if budget::used_up().is_some() {
                return None;
            }
            if there.root >= 1.0 {
                return Some((inner, there));
            }
            if step >= room {
                return None;
            }
            // √(Δχ²) is straight where the problem is linear, and level where the interval is open; never more than eight
            // times as far.
            let rise = (there.root - inner.root).max(0.0) / (step - inner.step);
            let guess = step + 1.1 * (1.0 - there.root) / rise;
            step = guess.clamp(1.2 * step, 8.0 * step).min(room);
            inner = there;
        }
        None
    }

    /// The point of the profile at `step`, looked for from `inner`.
    fn place(&self, k: usize, sign: f64, step: f64, inner: &Place) -> Place {
        let x = self.theta[k] + sign * step;
        let mut held = self.bounds.clone();
        (held.low[k], held.high[k]) = (x, x);
        let mut theta = inner.theta.clone();
        self.follow(k, x, &mut theta);
        let mut found = descend_from(self.problem, &theta, &held, MOST_STEPS, |_| {});
        if !found.cost.is_finite() {
            // A voltage residual from where some reading has no voltage.
            found = descend::<K>(self.problem.points, self.problem.residual, &held, &theta, Effort::SHORT).0;
        }
        if self.root(found.cost) >= 1.0 {
            // A way along bounds may have missed the floor: it ends only where a start of its own ends as high.
            let fresh =
                search_with::<K>(self.problem.points, self.problem.residual, &held, None, Effort::SHORT).0;
            if fresh.cost < found.cost {
                found = fresh;
            }
        }
        Place { step, root: self.root(found.cost), theta: found.x }
    }

    fn root(&self, cost: f64) -> f64 {
        if cost.is_finite() { ((cost - self.cost).max(0.0) / self.rise).sqrt() } else { f64::INFINITY }
    }

    /// Illinois' rule between an inner point below 1 and an outer one above, to 1e-4 in the root.
    fn refine(&self, k: usize, sign: f64, mut inner: Place, outer: Place) -> f64 {
        let (mut f0, mut x1, mut f1) = (inner.root - 1.0, outer.step, (outer.root - 1.0).min(1e3));
        for _ in 0..MOST_TRIALS {
            let x0 = inner.step;
            let x = if f1 - f0 > 1e-12 { x1 - f1 * (x1 - x0) / (f1 - f0) } else { 0.5 * (x0 + x1) };
            let there = self.place(k, sign, x, &inner);
            let f = (there.root - 1.0).min(1e3);
            if f.abs() < 1e-4 || (x1 - x0).abs() <= 1e-6 * x1.abs() || budget::used_up().is_some() {
                return x;
            }
            if f > 0.0 {
                (x1, f1) = (x, f);
                f0 *= 0.5;
            } else {
                inner = there;
                f0 = f;
                f1 *= 0.5;
            }
        }
        x1
    }

    /// Moves coordinate `k` of `theta` to `x`, and of ln I0 and ln a of a diode the other one with it, so that
    /// the diode's current at the highest junction voltage stays: ln I0 + u/a. Either alone would leave the valley.
    fn follow(&self, k: usize, x: f64, theta: &mut [f64]) {
        let diode = k.wrapping_sub(1);
        let v = self.problem.points.highest_junction_v(theta[2 * K + 1]);
        let before = theta[k];
        theta[k] = x;
        if diode >= 2 * K || v <= 0.0 {
            return;
        }
        if diode.is_multiple_of(2) {
            let exponent = v / theta[k + 1].exp() + before - x;
            if exponent > 0.0 {
                theta[k + 1] = (v / exponent).ln();
            }
        } else {
            theta[k - 1] += v / before.exp() - v / x.exp();
        }
    }
}

/// A problem whose figure is drawn towards a target by a penalty.
struct Penalised<'a, const K: usize> {
    problem: &'a Problem<'a, K>,
    figure: Derived,
    target: f64,
    width: f64,
}

impl<const K: usize> Residuals for Penalised<'_, K> {
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
            // Every column grows by one entry: the last one moves first.
            for k in (0..n).rev() {
                let column = k * (points + 1);
                jacobian.copy_within(k * points..(k + 1) * points, column);
                jacobian[column + points] = by[k] / self.width;
            }
        }
        true
    }

    fn rounding(&self) -> f64 {
        self.problem.rounding()
    }
}

impl<const K: usize> Profile<'_, K> {
    /// One end of the interval of `figure`, whose value is `best` and whose first-order standard uncertainty,
    /// in units of s, is `u`. `None` where Σr² does not rise far enough however heavy the penalty is.
    pub fn end_of(&self, figure: Derived, best: f64, u: f64, sign: f64) -> Option<f64> {
        // Where the penalty leads into another valley the figure may come out on the wrong side: no end is known then.
        self.penalised_end(figure, best, u, sign).filter(|end| sign * (end - best) >= 0.0)
    }

    fn penalised_end(&self, figure: Derived, best: f64, u: f64, sign: f64) -> Option<f64> {
        if !(u.is_finite() && u > 0.0) {
            return None;
        }
        let mut warm = self.theta.to_vec();
        let (mut inner, mut outer) =
            (PenalisedOptimum { by: 0.0, value: best, root: 0.0 }, None::<PenalisedOptimum>);
        // Where the problem is linear the figure goes half of the way.
        let mut by = 2.0 * self.rise.sqrt() * u;
        for _ in 0..MOST_TRIALS {
            let there = self.penalised(figure, best + sign * by, u, by, &mut warm)?;
            if budget::used_up().is_some() {
                return None;
            }
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

    /// Where the figure ends when it is drawn to `target`, and √(Δχ²/rise) there.
    fn penalised(
        &self,
        figure: Derived,
        target: f64,
        u: f64,
        by: f64,
        warm: &mut [f64],
    ) -> Option<PenalisedOptimum> {
        let penalised = Penalised { problem: self.problem, figure, target, width: u };
        let found = descend_from(&penalised, warm, self.bounds, MOST_STEPS, |_| {});
        if !found.cost.is_finite() {
            return None;
        }
        warm.copy_from_slice(&found.x);
        let mut by_theta = vec![0.0; found.x.len()];
        let value = figure.evaluate(&Circuit::<K>::from_theta(&found.x), &mut by_theta)?;
        let own = found.cost - ((value - target) / u).powi(2);
        Some(PenalisedOptimum { by, value, root: ((own - self.cost).max(0.0) / self.rise).sqrt() })
    }
}

/// A penalised optimum: how far it aimed, where the figure ended, √(Δχ²/rise) there.
struct PenalisedOptimum {
    by: f64,
    value: f64,
    root: f64,
}
