//! Bounded least squares by the Levenberg–Marquardt method, through QR.
//!
//! ```text
//! min ½·Σ rᵢ(x)²,  low ≤ x ≤ high        step: min ‖J·p + r‖² + μ·‖D·p‖²  within the box
//! ```
//!
//! The step itself is `step.rs`; μ follows H. B. Nielsen, report IMM-REP-1999-05, DTU. A [`Descent`] allocates
//! once, when it starts; [`minimise`] runs it, and `observed.rs` hands it to `argmin`. The termination is a
//! report, not an error.

use super::step::Work;
use serde::{Deserialize, Serialize};

/// Steps in a row that keep less than a tenth of their promise, after which a Σr² of this many times the
/// rounding of the residuals is taken as rounding itself.
const MOST_FRUITLESS: usize = 15;
const NEAR_ROUNDING: f64 = 1e6;
/// Steps that polish an optimum among rounding.
const MOST_POLISHING: usize = 3;
/// Times the Σr² that the last bits of the coordinates make, below which sums of squares are luck.
const BITS: f64 = 10.0;

/// Reduction, as a share of Σr², that no longer counts.
const RESOLVED: f64 = 1e-19;
/// Steps beyond that, and the share below which there is nothing but rounding.
const MOST_LAST_STEPS: usize = 1;
const ROUNDED: f64 = 1e-28;
/// Times √(Σr²·rounding) that Σr² is off by.
const BLUR: f64 = 8.0;
/// Steps among blurred sums that come no closer.
const MOST_STALLED: usize = 4;
/// First μ, and that of a start close to the optimum.
const FIRST_DAMPING: f64 = 1e-3;
const CLOSE_DAMPING: f64 = 1e-5;
/// Smallest μ.
const LEAST_DAMPING: f64 = 1e-15;

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
    /// The model promises no further reduction of Σr², or none that its rounding would show.
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
    /// Moves `x` into the box.
    pub(super) fn clamp(&self, x: &mut [f64]) {
        for (k, x) in x.iter_mut().enumerate() {
            *x = x.clamp(self.low[k], self.high[k]);
        }
    }
}

/// Minimises Σr² from `start` within `bounds` in at most `most_steps` steps, showing `observe` the descent after each
/// ([`Descent::as_step`] records it). Nothing is allocated between the steps.
pub fn minimise(
    problem: &impl Residuals,
    start: &[f64],
    bounds: &Bounds,
    most_steps: usize,
    observe: impl FnMut(&Descent),
) -> Solution {
    run(Descent::new(problem, start, bounds), problem, bounds, most_steps, observe)
}

/// Advances a descent to its end.
pub(super) fn run(
    mut descent: Descent,
    problem: &impl Residuals,
    bounds: &Bounds,
    most_steps: usize,
    mut observe: impl FnMut(&Descent),
) -> Solution {
    while descent.stop.is_none() && descent.iteration < most_steps {
        if descent.iteration == 0 {
            observe(&descent);
        }
        if descent.advance(problem, bounds) {
            observe(&descent);
        }
    }
    descent.polish(problem, bounds);
    descent.solution()
}

/// A descent that is advanced one step at a time.
pub struct Descent {
    x: Vec<f64>,
    trial: Vec<f64>,
    work: Work,
    cost: f64,
    mu: f64,
    growth: f64,
    rounding: f64,
    fruitless: usize,
    last_steps: usize,
    stalled: usize,
    least_promised: f64,
    iteration: usize,
    evaluations: usize,
    taken: bool,
    stop: Option<Stop>,
}

impl Descent {
    /// Evaluates the start, moved into the box.
    pub fn new(problem: &impl Residuals, start: &[f64], bounds: &Bounds) -> Self {
        let mut x = start.to_vec();
        bounds.clamp(&mut x);
        let mut work = Work::new(problem.len(), x.len());
        let there = work.evaluate(problem, &x);
        let cost = if there { work.accept() } else { f64::INFINITY };
        let stop = (!cost.is_finite()).then_some(Stop::NoResiduals);
        let trial = x.clone();
        Self {
            x,
            trial,
            work,
            cost,
            mu: FIRST_DAMPING,
            growth: 2.0,
            rounding: problem.rounding(),
            fruitless: 0,
            last_steps: 0,
            stalled: 0,
            least_promised: f64::INFINITY,
            iteration: 0,
            evaluations: 1,
            taken: true,
            stop,
        }
    }

    /// With less damping to begin with, for a start that is close to the optimum.
    pub fn from_close(self) -> Self {
        Self { mu: CLOSE_DAMPING, ..self }
    }

    /// One step, taken or refused; `false` where the descent has stopped instead.
    pub fn advance(&mut self, problem: &impl Residuals, bounds: &Bounds) -> bool {
        if self.stop.is_some() {
            return false;
        }
        let promised = self.work.step(self.mu, &self.x, bounds);
        (0..self.x.len()).for_each(|k| self.trial[k] = self.x[k] + self.work.p[k]);
        bounds.clamp(&mut self.trial);
        self.stop = self.at_rest(promised);
        if self.stop.is_some() {
            return false;
        }
        self.iteration += 1;
        self.evaluations += 1;
        let there = self.work.evaluate(problem, &self.trial);
        let trial_cost = if there { self.work.trial_cost() } else { f64::INFINITY };
        // Close to the optimum the reduction drowns in the rounding of Σr²: then the model is believed.
        let drowned = self.is_blurred(promised) && trial_cost <= self.cost + self.blur();
        let gain = if drowned { 1.0 } else { (self.cost - trial_cost) / promised };
        self.taken = trial_cost.is_finite() && gain > 1e-4;
        self.fruitless = if gain > 0.1 { 0 } else { self.fruitless + 1 };
        if self.taken {
            std::mem::swap(&mut self.x, &mut self.trial);
            self.cost = self.work.accept();
        }
        self.damp(gain);
        true
    }

    /// The reason to stop before the next step, whose linear model promises a reduction of Σr².
    fn at_rest(&mut self, promised: f64) -> Option<Stop> {
        let rounding = self.rounding;
        let fruitless_for_long = self.fruitless >= MOST_FRUITLESS && self.is_near_rounding();
        if self.cost <= rounding || fruitless_for_long {
            return Some(Stop::Exact);
        }
        if promised <= RESOLVED * self.cost {
            // What no longer counts in Σr² may still move a coordinate that is all but undetermined.
            self.last_steps += 1;
            if self.last_steps > MOST_LAST_STEPS || promised <= ROUNDED * self.cost {
                return Some(Stop::Gradient);
            }
        }
        if self.is_blurred(promised) {
            self.stalled = if promised < 0.5 * self.least_promised { 0 } else { self.stalled + 1 };
            self.least_promised = self.least_promised.min(promised);
            if self.stalled > MOST_STALLED {
                return Some(Stop::Gradient);
            }
        }
        let still = |(t, x): (&f64, &f64)| (t - x).abs() <= f64::EPSILON * x.abs();
        self.trial.iter().zip(&self.x).all(still).then_some(Stop::Step)
    }

    /// What Σr² is off by.
    fn blur(&self) -> f64 {
        (1e-13 * self.cost).max(BLUR * (self.cost * self.rounding).sqrt())
    }

    fn is_blurred(&self, promised: f64) -> bool {
        promised <= 10.0 * self.blur()
    }

    fn is_near_rounding(&self) -> bool {
        self.cost <= NEAR_ROUNDING * self.rounding
    }

    /// Undamped steps where the last bit of a coordinate moves the residuals by more than what is left of them. There
    /// a lower Σr² is luck, mostly of the points that weigh most, and may lie far along a valley; the linear model
    /// still sees where its floor is lowest.
    fn polish(&mut self, problem: &impl Residuals, bounds: &Bounds) {
        for _ in 0..MOST_POLISHING {
            let resolved = BITS * self.work.resolved(&self.x);
            if self.cost > resolved {
                return;
            }
            self.stop.get_or_insert(Stop::Exact);
            self.work.step(0.0, &self.x, bounds);
            (0..self.x.len()).for_each(|k| self.trial[k] = self.x[k] + self.work.p[k]);
            bounds.clamp(&mut self.trial);
            self.evaluations += 1;
            let there = self.work.evaluate(problem, &self.trial);
            if !there || self.work.trial_cost() > resolved {
                return;
            }
            std::mem::swap(&mut self.x, &mut self.trial);
            self.cost = self.work.accept();
        }
    }

    fn damp(&mut self, gain: f64) {
        if self.taken {
            self.mu *= (1.0 - (2.0 * gain.clamp(0.0, 1.0) - 1.0).powi(3)).max(0.1);
            self.mu = self.mu.max(LEAST_DAMPING);
            self.growth = 2.0;
        } else {
            self.mu *= self.growth;
            self.growth *= 2.0;
        }
    }

    /// Coordinates of the least Σr² so far.
    pub fn x(&self) -> &[f64] {
        &self.x
    }

    /// Σr² there.
    pub fn cost(&self) -> f64 {
        self.cost
    }

    /// Why it has stopped; `None` while it goes on.
    pub fn stop(&self) -> Option<Stop> {
        self.stop
    }

    /// The last step as a record.
    pub fn as_step(&self) -> Step {
        Step {
            iteration: self.iteration,
            x: self.x.clone(),
            norm: self.cost.sqrt(),
            damping: self.mu,
            taken: self.taken,
        }
    }

    /// Where it ended; with steps left to take, [`Stop::MostSteps`].
    pub fn solution(self) -> Solution {
        let stop = self.stop.unwrap_or(Stop::MostSteps);
        Solution { x: self.x, cost: self.cost, evaluations: self.evaluations, stop }
    }
}

#[cfg(test)]
pub(super) mod examples {
    use super::Residuals;

    /// H. H. Rosenbrock, Comput. J. 3 (1960) 175: minimum 0 at (1, 1).
    pub struct Valley;

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
}

#[cfg(test)]
mod tests {
    use super::examples::Valley;
    use super::*;
    use approx::assert_relative_eq;

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
