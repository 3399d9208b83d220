//! One descent of the Levenberg–Marquardt method, advanced one step at a time.
//!
//! What a step promises and what it gives decide on μ; among the rounding of Σr² the linear model decides alone.

use super::error::{ProblemError, same_length};
use crate::numerics::least_squares::bounded_step::{PerCoordinate, Work};
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution, Step, Stop};

/// Steps in a row that keep less than a tenth of their promise, after which a Σr² of this many times the
/// rounding of the residuals is taken as rounding itself.
const MOST_FRUITLESS: usize = 15;
const NEAR_ROUNDING: f64 = 1e6;
/// Steps that polish an optimum among rounding.
const MOST_POLISHING: usize = 3;
/// Times the Σr² that the last bits of the coordinates make, below which sums of squares are luck.
const BITS: f64 = 10.0;

/// Reduction, as a share of Σr², that no longer counts; and where steps shrink fast, from a start close to the optimum.
const RESOLVED: f64 = 1e-19;
const CLOSE_RESOLVED: f64 = 1e-17;
/// Steps beyond that, and the share below which there is nothing but rounding.
const MOST_LAST_STEPS: usize = 1;
const ROUNDED: f64 = 1e-28;
/// Times √(Σr²·rounding) that Σr² is off by.
const BLUR: f64 = 8.0;
/// Share of Σr² that an undamped step must promise where a damped one promises nothing that shows.
const SHOWS: f64 = 1e-15;
/// Share of Σr² that summing it is off by.
const SUMMED: f64 = 1e-13;
/// Share of Σr² below which nothing is learnt from seeing what a step gave.
const UNSEEN: f64 = 1e-11;
/// Steps among blurred sums that come no closer.
const MOST_STALLED: usize = 4;
/// Steps after which a descent is taken to follow a bent valley.
const LONG: usize = 20;
/// First μ, and that of a start close to the optimum.
const FIRST_DAMPING: f64 = 1e-3;
const CLOSE_DAMPING: f64 = 1e-10;
/// μ that hardly shortens a step.
const HARDLY_DAMPED: f64 = 1e-6;
/// Smallest μ.
const LEAST_DAMPING: f64 = 1e-15;

/// A descent that is advanced one step at a time.
///
/// # Examples
/// ```
/// use litdiode::fit::{Bounds, Descent, Residuals};
/// /// Residuals of y = exp(−b·t) at t = 0, 1, 2.
/// struct Decay;
/// impl Residuals for Decay {
///     fn len(&self) -> usize {
///         3
///     }
///     fn evaluate(&self, b: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
///         let t = [0.0, 1.0, 2.0];
///         (0..3).for_each(|k| r[k] = (-b[0] * t[k]).exp() - [1.0, 0.5, 0.25][k]);
///         jacobian.into_iter().for_each(|j| (0..3).for_each(|k| j[k] = -t[k] * (-b[0] * t[k]).exp()));
///         true
///     }
/// }
/// let bounds = Bounds::new(vec![0.0], vec![9.0])?;
/// let mut descent = Descent::new(&Decay, &[3.0], &bounds)?;
/// while descent.advance(&Decay, &bounds) && descent.stop().is_none() {}
/// assert!((descent.x()[0] - 2f64.ln()).abs() < 1e-8 && descent.cost() < 1e-16);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Descent {
    x: PerCoordinate,
    trial: PerCoordinate,
    work: Work,
    cost: f64,
    mu: f64,
    growth: f64,
    /// Whether it started close to the optimum.
    close: bool,
    rounding: f64,
    fruitless: usize,
    last_steps: usize,
    stalled: usize,
    least_promised: f64,
    /// Reduction of Σr² that the linear model promised of the last step.
    promised: f64,
    iteration: usize,
    evaluations: usize,
    taken: bool,
    stop: Option<Stop>,
}

impl Descent {
    /// Evaluates the start, moved into the box.
    ///
    /// # Errors
    /// [`ProblemError`] for a start that has not one number a bound.
    pub fn new(problem: &impl Residuals, start: &[f64], bounds: &Bounds) -> Result<Self, ProblemError> {
        same_length("start", start.len(), bounds.low.len())?;
        Ok(Self::begin(problem, start, bounds))
    }

    /// The same for a start that is known to have one number a bound.
    pub(crate) fn begin(problem: &impl Residuals, start: &[f64], bounds: &Bounds) -> Self {
        let mut x = PerCoordinate::from_slice(start);
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
            close: false,
            rounding: problem.rounding(),
            fruitless: 0,
            last_steps: 0,
            stalled: 0,
            least_promised: f64::INFINITY,
            promised: f64::INFINITY,
            iteration: 0,
            evaluations: 1,
            taken: true,
            stop,
        }
    }

    /// Begins again for another problem in as many coordinates: nothing is allocated where it has no more residuals than
    /// one before.
    pub(crate) fn restart(&mut self, problem: &impl Residuals, start: &[f64], bounds: &Bounds) {
        self.x.copy_from_slice(start);
        bounds.clamp(&mut self.x);
        self.trial.copy_from_slice(&self.x);
        self.work.reset(problem.len());
        let there = self.work.evaluate(problem, &self.x);
        self.cost = if there { self.work.accept() } else { f64::INFINITY };
        self.stop = (!self.cost.is_finite()).then_some(Stop::NoResiduals);
        (self.mu, self.growth, self.close) = (FIRST_DAMPING, 2.0, false);
        self.rounding = problem.rounding();
        (self.fruitless, self.last_steps, self.stalled) = (0, 0, 0);
        (self.least_promised, self.promised) = (f64::INFINITY, f64::INFINITY);
        (self.iteration, self.evaluations, self.taken) = (0, 1, true);
    }

    /// With less damping to begin with, for a start that is close to the optimum.
    pub fn expect_close(&mut self) {
        (self.mu, self.close) = (CLOSE_DAMPING, true);
    }

    /// Advances to the end, in at most `most_steps` steps, showing `observe` the descent after each.
    pub fn run(
        &mut self,
        problem: &impl Residuals,
        bounds: &Bounds,
        most_steps: usize,
        mut observe: impl FnMut(&Self),
    ) -> Solution {
        while self.stop.is_none() && self.iteration < most_steps {
            if self.iteration == 0 {
                observe(self);
            }
            if self.advance(problem, bounds) {
                observe(self);
            }
        }
        if self.stop.is_none_or(|stop| !matches!(stop, Stop::Budget | Stop::Cancelled)) {
            self.polish(problem, bounds);
        }
        self.solution()
    }

    /// One step, taken or refused; `false` where the descent has stopped instead.
    pub fn advance(&mut self, problem: &impl Residuals, bounds: &Bounds) -> bool {
        self.stop = self.stop.or_else(|| budget::used_up_between(problem.len()));
        if self.stop.is_some() {
            return false;
        }
        let promised = self.propose(bounds);
        if self.iteration >= LONG && self.taken && !self.is_blurred(promised) {
            self.work.bend(problem, self.mu, &self.x, bounds);
        }
        (0..self.x.len()).for_each(|k| self.trial[k] = self.x[k] + self.work.p[k]);
        bounds.clamp(&mut self.trial);
        self.stop = self.at_rest(promised);
        let last = std::mem::replace(&mut self.promised, promised);
        if self.stop.is_some() {
            return false;
        }
        self.iteration += 1;
        if self.is_last(promised, last) {
            std::mem::swap(&mut self.x, &mut self.trial);
            self.cost -= promised;
            self.stop = Some(Stop::Gradient);
            return true;
        }
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

    /// The next step; the reduction of Σr² that it promises. A damped step may promise nothing only because it is
    /// short: then it is not damped, if that shows.
    fn propose(&mut self, bounds: &Bounds) -> f64 {
        let promised = self.work.step(self.mu, &self.x, bounds);
        if !(self.taken && self.is_blurred(promised) && self.work.is_damped_by(self.mu)) {
            return promised;
        }
        let free = self.work.step(LEAST_DAMPING, &self.x, bounds);
        if free > SHOWS * self.cost {
            self.mu = LEAST_DAMPING;
            return free;
        }
        self.work.step(self.mu, &self.x, bounds)
    }

    /// The reason to stop before the next step, whose linear model promises a reduction of Σr².
    fn at_rest(&mut self, promised: f64) -> Option<Stop> {
        let rounding = self.rounding;
        let fruitless_for_long = self.fruitless >= MOST_FRUITLESS && self.is_near_rounding();
        if self.cost <= rounding || fruitless_for_long {
            return Some(Stop::Exact);
        }
        let resolved = if self.close { CLOSE_RESOLVED } else { RESOLVED };
        if promised <= resolved * self.cost {
            // What no longer counts in Σr² may still move a coordinate that is all but undetermined.
            self.last_steps += 1;
            let fast = self.close && !self.is_near_rounding();
            if fast || self.last_steps > MOST_LAST_STEPS || promised <= ROUNDED * self.cost {
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

    /// Whether the next step needs no look at where it leads: its promise is too small for Σr² to show more than rounding,
    /// and steps shrink so fast (`last` was promised before) that the one after it would not count. A damped step promises
    /// little along a weak direction however far it has to go.
    fn is_last(&self, promised: f64, last: f64) -> bool {
        let shrinks =
            self.taken && last.is_finite() && promised * promised <= CLOSE_RESOLVED * self.cost * last;
        self.close
            && !self.work.is_damped_by(self.mu)
            && shrinks
            && promised <= UNSEEN * self.cost
            && !self.is_near_rounding()
            && self.cost > BITS * self.work.resolved(&self.x)
    }

    /// What Σr² is off by.
    fn blur(&self) -> f64 {
        (SUMMED * self.cost).max(BLUR * (self.cost * self.rounding).sqrt())
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

    /// Whether the last step, taken and all but undamped, was promised no more than a `share` of Σr².
    pub fn has_little_left(&self, share: f64) -> bool {
        self.taken && self.mu <= HARDLY_DAMPED && self.promised <= share * self.cost
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
    pub fn solution(&self) -> Solution {
        let stop = self.stop.unwrap_or(Stop::MostSteps);
        Solution { x: self.x.to_vec(), cost: self.cost, evaluations: self.evaluations, stop }
    }
}
