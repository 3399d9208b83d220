//! Partners of points on a second curve, found on smooth curves so that scatter chooses none.
//!
//! ```text
//! voltage set:  x = V, y = I      minimise Σ (s₂(xₖ + dₖ) − s₁(xₖ) − ΔIsc)²/τ² + Σ (dₖ₊₁ − dₖ)²/(w²·(xₖ₊₁ − xₖ)/X)
//! current set:  x = I, y = V      d = ΔIsc
//! y* = yⱼ + s₂(x*) − s₂(xⱼ)       x* = x + d      j: the reading of the second sweep nearest to x*
//! ```
//!
//! s: smooth curves of y against the quantity x that was set: the fitted diode where the readings do not speak against
//! it, else a smoothing spline. A pair that is off by δ along the curve moves the result across its own by c·(1 − c)/2
//! times its curvature times δ², so that the smooth of few readings must be good at the knee. A partner carries the
//! scatter of one reading, brought along the smooth to its place. τ is the scatter of the readings about both smooths,
//! X the range of x and w a part of it by which d may change along the curve: one device at one temperature has
//! d = −Rs·ΔIsc everywhere, and where the curve is so flat that a current has no place on it d is that of the knee.

use super::condition::Measured;
use super::error::TranslateError;
use crate::diode::{Circuit, Junction};
use crate::fit::{Options, Status, fit_single_diode};
use crate::interpolant::{Penalty, Piecewise, Points, smoothing};
use crate::sweep::{Sweep, Swept, by_voltage, range};

/// By how much d may change along the curve, as a part of the range of x.
const WIDTH: f64 = 0.03;

/// Least τ, as a part of Isc.
const LEAST: f64 = 1e-7;

/// Even shifts among which the best is the start, and how far they reach as a part of the range of x.
const SHIFTS: i32 = 100;
const REACH: f64 = 0.3;

/// Rounds of Gauss and Newton, and their longest step as a part of the range of x.
const ROUNDS: usize = 60;
const LONGEST: f64 = 0.05;

/// A step below this part of the range of x is the last.
const STILL: f64 = 1e-12;

/// A sweep with its smooth: y as a function of what was set.
pub(super) struct Smoothed {
    x: Vec<f64>,
    y: Vec<f64>,
    curve: Shape,
    set: Swept,
}

enum Shape {
    Diode(Circuit<1>),
    Spline(Piecewise),
}

/// The partner of a point.
pub(super) struct Partner {
    /// Its x and y.
    pub x: f64,
    pub y: f64,
    /// The reading of the second sweep whose scatter it carries.
    pub reading: usize,
    /// How far it lies from the point on the smooth curves.
    pub step_x: f64,
    pub step_y: f64,
}

impl Smoothed {
    pub fn of(sweep: &Measured, set: Swept) -> Result<Self, TranslateError> {
        let (v, i) = (sweep.sweep.voltage_v().to_vec(), sweep.sweep.current_a().to_vec());
        let (x, y) = if set == Swept::Voltage { (v, i) } else { (i, v) };
        let curve = match diode(sweep.sweep) {
            Some(circuit) => Shape::Diode(circuit),
            None => {
                let none = |why: String| TranslateError::NoSmooth { index: sweep.index, why };
                let points = Points::new(&x, &y).map_err(|e| none(e.to_string()))?;
                let smooth = smoothing(&points, Penalty::CrossValidation).map_err(|e| none(e.to_string()))?;
                Shape::Spline(smooth.curve().clone())
            }
        };
        Ok(Self { x, y, curve, set })
    }

    fn value(&self, x: f64) -> Option<f64> {
        let y = match (&self.curve, self.set) {
            (Shape::Diode(c), Swept::Voltage) => c.current_at(x),
            (Shape::Diode(c), Swept::Current) => c.voltage_at(x),
            (Shape::Spline(s), _) => s.current(&[x], true).ok()?.values[0],
        };
        Some(y).filter(|y| y.is_finite())
    }

    /// dy/dx where the voltage was set.
    fn slope(&self, x: f64) -> Option<f64> {
        let slope = match &self.curve {
            Shape::Diode(c) => c.slope_at(x),
            Shape::Spline(s) => s.slope(&[x], true).ok()?.values[0],
        };
        Some(slope).filter(|y| y.is_finite())
    }

    /// Root mean square of the readings about it.
    fn scatter(&self) -> Option<f64> {
        let squares = self.x.iter().zip(&self.y).map(|(x, y)| Some((y - self.value(*x)?).powi(2)));
        Some((squares.sum::<Option<f64>>()? / self.x.len() as f64).sqrt())
    }

    /// The range of x, with half a mean step beyond both ends.
    fn range(&self) -> (f64, f64) {
        let (low, high) = range(&self.x);
        let half = 0.5 * (high - low) / (self.x.len() - 1) as f64;
        (low - half, high + half)
    }
}

/// The fitted diode where it converged and its residuals show no pattern.
fn diode(sweep: &Sweep) -> Option<Circuit<1>> {
    let fit = fit_single_diode(sweep, &Options::default()).ok()?;
    (fit.status != Status::NotConverged && fit.lack_of_fit().is_empty()).then(|| *fit.model.circuit())
}

/// The partners of the points of `first` on `second`, `None` where it does not reach them; `step_a` is Isc2 − Isc1.
pub(super) fn partners(first: &Smoothed, second: &Smoothed, step_a: f64, isc_a: f64) -> Vec<Option<Partner>> {
    let places = if first.set == Swept::Voltage {
        Places::new(first, second, step_a, isc_a).map(|p| p.solve())
    } else {
        Some(first.x.iter().map(|x| x + step_a).collect())
    };
    let (low, high) = second.range();
    let rising = by_voltage(&second.x);
    let partner = |k: usize| {
        let x = *places.as_ref()?.get(k)?;
        if !(low..=high).contains(&x) {
            return None;
        }
        let reading = nearest(&second.x, &rising, x)?;
        let smooth = second.value(x)?;
        let y = second.y[reading] + smooth - second.value(second.x[reading])?;
        Some(Partner { x, y, reading, step_x: x - first.x[k], step_y: smooth - first.value(first.x[k])? })
    };
    (0..first.x.len()).map(partner).collect()
}

/// Which of `xs` lies nearest to `x`, the first of equals; `rising` is their order.
fn nearest(xs: &[f64], rising: &[usize], x: f64) -> Option<usize> {
    let above = rising.partition_point(|&k| xs[k] < x);
    // Of equal values the first stands first in the order.
    let below = above.checked_sub(1).map(|last| rising.partition_point(|&k| xs[k] < xs[rising[last]]));
    let candidates = [below, Some(above)].into_iter().flatten().filter_map(|at| rising.get(at).copied());
    candidates.min_by(|&a, &b| (xs[a] - x).abs().total_cmp(&(xs[b] - x).abs()).then(a.cmp(&b)))
}

/// The places x* on the second curve.
struct Places<'a> {
    first: &'a Smoothed,
    second: &'a Smoothed,
    /// Points of the first by rising x, and the currents that their partners should have.
    order: Vec<usize>,
    target: Vec<f64>,
    /// 1/τ².
    weight: f64,
    /// 1/(w²·Δx/X) of neighbours.
    stiff: Vec<f64>,
    range: f64,
}

impl<'a> Places<'a> {
    fn new(first: &'a Smoothed, second: &'a Smoothed, step_a: f64, isc_a: f64) -> Option<Self> {
        let mut order: Vec<usize> = (0..first.x.len()).collect();
        order.sort_by(|&a, &b| first.x[a].total_cmp(&first.x[b]));
        let target = order.iter().map(|&k| Some(first.value(first.x[k])? + step_a)).collect::<Option<_>>()?;
        let tau = first.scatter()?.hypot(second.scatter()?).max(LEAST * isc_a);
        let (low, high) = range(&first.x);
        let width = (WIDTH * (high - low)).powi(2) / (high - low);
        let gap = |pair: &[usize]| (first.x[pair[1]] - first.x[pair[0]]).max(1e-6 * (high - low));
        let stiff = order.windows(2).map(|pair| 1.0 / (width * gap(pair))).collect();
        Some(Self { first, second, order, target, weight: tau.powi(-2), stiff, range: high - low })
    }

    fn x(&self, n: usize) -> f64 {
        self.first.x[self.order[n]]
    }

    /// The even shift that brings the curves closest; where one exceeds the other by far it counts no more.
    fn start(&self) -> f64 {
        let most = self.target.iter().fold(0.0f64, |m, t| m.max(t.abs()));
        let miss = |d: f64| -> f64 {
            let one = |n: usize| {
                self.second.value(self.x(n) + d).map_or(most, |y| (y - self.target[n]).abs().min(most))
            };
            (0..self.order.len()).map(|n| one(n).powi(2)).sum()
        };
        let shift = |k: i32| REACH * self.range * f64::from(k) / f64::from(SHIFTS);
        let all = (-SHIFTS..=SHIFTS).map(|k| (shift(k), miss(shift(k))));
        all.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.abs().total_cmp(&b.0.abs())))
            .map_or(0.0, |best| best.0)
    }

    fn solve(&self) -> Vec<f64> {
        let n = self.order.len();
        let mut d = vec![self.start(); n];
        for _ in 0..ROUNDS {
            let step = self.step(&d);
            let longest = step.iter().fold(0.0f64, |m, s| m.max(s.abs()));
            let most = LONGEST * self.range;
            d.iter_mut().zip(&step).for_each(|(d, s)| *d += s.clamp(-most, most));
            if longest.is_nan() || longest <= STILL * self.range {
                break;
            }
        }
        let mut places = vec![f64::NAN; n];
        (0..n).for_each(|k| places[self.order[k]] = self.x(k) + d[k]);
        places
    }

    /// The step of Gauss and Newton: a tridiagonal system, positive definite, by elimination.
    fn step(&self, d: &[f64]) -> Vec<f64> {
        let n = d.len();
        let (mut diagonal, mut right) = (vec![0.0; n], vec![0.0; n]);
        for k in 0..n {
            let x = self.x(k) + d[k];
            if let (Some(y), Some(slope)) = (self.second.value(x), self.second.slope(x)) {
                diagonal[k] += self.weight * slope * slope;
                right[k] -= self.weight * slope * (y - self.target[k]);
            }
        }
        for (k, q) in self.stiff.iter().enumerate() {
            let apart = q * (d[k + 1] - d[k]);
            diagonal[k] += q;
            diagonal[k + 1] += q;
            right[k] += apart;
            right[k + 1] -= apart;
        }
        for k in 1..n {
            let factor = self.stiff[k - 1] / diagonal[k - 1];
            diagonal[k] -= factor * self.stiff[k - 1];
            right[k] += factor * right[k - 1];
        }
        for k in (0..n).rev() {
            let next = if k + 1 < n { self.stiff[k] * right[k + 1] } else { 0.0 };
            right[k] = (right[k] + next) / diagonal[k];
        }
        right
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against a look at every value, ties and equal values among them.
    #[test]
    fn the_nearest_is_that_of_a_look_at_all() {
        let xs: Vec<f64> = (0..60).map(|k| f64::from(k * 37 % 23) * 0.5).collect();
        let rising = by_voltage(&xs);
        for x in (-10..140).map(|k| f64::from(k) * 0.125) {
            let near = |j: &usize| (xs[*j] - x).abs();
            let all = (0..xs.len()).min_by(|a, b| near(a).total_cmp(&near(b)));
            assert_eq!(nearest(&xs, &rising, x), all, "{x}");
        }
    }
}
