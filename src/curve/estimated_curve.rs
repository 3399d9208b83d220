//! The curve after the readings: pilot and displacement together, as a function of the quantity that was set.

use super::discrepancy::Posterior;
use super::observation::Functional;
use super::pilot_fit::{Foot, Over, PARAMETERS, Pilot};

/// Step of x over which derivatives of the displacement are taken. Where the curve is steep it is longer along the curve,
/// by some ten times; the error is its square there, in units of the shortest correlation length.
const STEP: f64 = 1e-4;

/// A last step of this part of x leaves an error of its square, times the curvature.
const CLOSE: f64 = 1e-9;

/// Steps of Newton's method.
const NEWTON: usize = 60;

/// The estimated curve.
pub struct Estimated<'a> {
    /// What the displacement is counted from.
    pub pilot: &'a Pilot,
    /// What is known of it.
    pub posterior: &'a Posterior,
    /// The quantity that was set.
    pub set: Over,
}

/// y, y′, y″.
#[derive(Clone, Copy, Debug)]
pub struct Value {
    /// y.
    pub y: f64,
    /// dy/dx.
    pub slope: f64,
    /// d²y/dx².
    pub curvature: f64,
}

/// y of the pilot moved by h·z, as a functional.
fn displacement(foot: &Foot, amplitude: f64, factor: f64, into: &mut Functional) {
    let c = factor * foot.stretch;
    into.places.push((c * amplitude, foot.s));
    for p in 0..PARAMETERS {
        into.trend[p] += c * foot.by[p];
    }
}

impl Estimated<'_> {
    /// The feet at `x` and a step before and behind it.
    fn feet(&self, over: Over, x: f64) -> [Foot; 3] {
        let feet = self.pilot.feet(over, &[x - STEP, x, x + STEP]);
        [feet[0], feet[1], feet[2]]
    }

    /// The functionals of y and of dy/dx at `x`.
    pub fn functionals(&self, over: Over, x: f64) -> [Functional; 2] {
        let [before, here, behind] = self.feet(over, x);
        let (mut value, mut slope) = (Functional::default(), Functional::default());
        displacement(&here, here.amplitude(over, self.set), 1.0, &mut value);
        displacement(&before, before.amplitude(over, self.set), -0.5 / STEP, &mut slope);
        displacement(&behind, behind.amplitude(over, self.set), 0.5 / STEP, &mut slope);
        [value, slope]
    }

    /// The curve at `x`.
    pub fn at(&self, over: Over, x: f64) -> Value {
        let feet = self.feet(over, x);
        let z = self
            .posterior
            .displacements([0, 1, 2].map(|k| (feet[k].s, feet[k].amplitude(over, self.set), &feet[k].by)));
        let [before, here, behind]: [f64; 3] = std::array::from_fn(|k| feet[k].stretch * z[k]);
        let foot = &feet[1];
        Value {
            y: foot.y + here,
            slope: foot.slope + (behind - before) / (2.0 * STEP),
            curvature: foot.curvature + (behind - 2.0 * here + before) / (STEP * STEP),
        }
    }

    /// Where `f`, with its derivative, falls through 0 between `low` and `high`, from `start`: Newton steps, bisection
    /// where they leave. `None` where it does not.
    pub fn falls_through(
        &self,
        over: Over,
        (mut low, mut high): (f64, f64),
        start: f64,
        f: impl Fn(f64, &Value) -> (f64, f64),
    ) -> Option<f64> {
        let at = |x: f64| f(x, &self.at(over, x));
        let (mut x, mut checked) = (start.clamp(low, high), [false; 2]);
        for _ in 0..NEWTON {
            let (value, slope) = at(x);
            if !value.is_finite() {
                return None;
            }
            if value == 0.0 {
                return Some(x);
            }
            if value > 0.0 {
                (low, checked[0]) = (x, true)
            } else {
                (high, checked[1]) = (x, true)
            }
            let newton = x - value / slope;
            let inside = slope < 0.0 && newton > low && newton < high;
            let next = if inside { newton } else { 0.5 * (low + high) };
            // A step out of a side that was never looked at asks whether the root lies there at all.
            let next = if !inside && slope < 0.0 && newton >= high && !checked[1] {
                high
            } else if !inside && slope < 0.0 && newton <= low && !checked[0] {
                low
            } else {
                next
            };
            if (next - x).abs() <= CLOSE * x.abs().max(1e-3) {
                return (checked[0] && checked[1] || inside).then_some(next);
            }
            x = next;
        }
        (checked[0] && checked[1]).then_some(x)
    }
}
