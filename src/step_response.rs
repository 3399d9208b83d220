//! How a device settles after one step: readings in time against an exponential.
//!
//! ```text
//! y(t) = s + Δ·exp(−(t − t₀)/τ)        t₀: the first reading        T = τ·ln(|Δ|/bound)
//! ```
//!
//! For a given τ the curve is linear in s and Δ, so that ln τ alone is searched, on a grid and then by Gauss and Newton
//! (variable projection: G. H. Golub, V. Pereyra, SIAM J. Numer. Anal. 10 (1973) 413; from memory). τ has its uncertainty on
//! a logarithmic scale. It is given where the readings bound it on both sides: where the least squares at the ends of the grid
//! are worse than the best by F(1, n − 3) at 95 %.

use crate::numerics::least_squares::linear::{Solved, least_squares};
use crate::quantity::estimate::{Estimate, Scale, Unit, student_t};
use crate::quantity::reason::Reason;
use crate::sweep::range;
use std::fmt;

/// Fewest readings: two more than the curve has parameters.
const FEWEST: usize = 5;
/// Places of ln τ that are tried, from a tenth of the shortest step in time to 30 times the whole.
const PLACES: usize = 60;
/// Rounds of Gauss and Newton.
const ROUNDS: usize = 50;
/// Level at which τ is bounded.
const LEVEL: f64 = 0.95;
/// Standard uncertainties that a step is above 0.
const CLEAR: f64 = 3.0;
/// Standard deviations by which successive residuals may be alike: that is no single exponential.
const BEYOND_DOUBT: f64 = 4.0;

/// Why readings are no step response.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StepError {
    /// Not one reading a time.
    #[error("time_s has {times} entries and reading {readings}: one reading a time is needed")]
    Lengths {
        /// Times.
        times: usize,
        /// Readings.
        readings: usize,
    },
    /// Too few readings.
    #[error("{given} readings are too few for a time constant, {fewest} are needed: read more often")]
    TooFew {
        /// As given.
        given: usize,
        /// Fewest.
        fewest: usize,
    },
    /// A value that is no number.
    #[error("{name}[{index}] = {value}: give a finite number")]
    NotFinite {
        /// The argument.
        name: &'static str,
        /// Its place.
        index: usize,
        /// What was given.
        value: f64,
    },
    /// A time that is not behind the one before.
    #[error("time_s[{index}] = {value} is not above the time before it: give rising times in seconds")]
    Time {
        /// Its place.
        index: usize,
        /// What was given.
        value: f64,
    },
}

/// How a device settles after one step.
///
/// # Examples
/// ```
/// use litdiode::{estimate::Unit, step_response::step_response};
/// let time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30];
/// let read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]; // invented
/// let found = step_response(&time_s, &read, Unit::Ampere)?;
/// let left = found.step.value.abs() * (-found.dwell_for(1e-5)?.value / found.time_constant_s?.value).exp();
/// assert!((left - 1e-5).abs() < 1e-10);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct StepResponse {
    /// τ in s, or why it is not known.
    pub time_constant_s: Result<Estimate, Reason>,
    /// s, where the reading would settle, in its unit; the mean of the readings where there is no step.
    pub settled: Estimate,
    /// Δ, how far from it the first reading lies.
    pub step: Estimate,
    /// Standard deviation of a reading about the curve.
    pub scatter: f64,
}

/// The readings of one quantity, in `unit`, at rising times in s after a step of what was set.
///
/// # Errors
/// [`StepError`] names the argument, its place and its value. What the readings do not determine is absent in the result, with
/// its reason.
///
/// # Examples
/// ```
/// use litdiode::estimate::Unit;
/// use litdiode::step_response::step_response;
/// let time_s: Vec<f64> = (0..20).map(|k| 0.01 * f64::from(k)).collect();
/// let scatter = |k: usize| 1e-6 * ((k * 37 % 11) as f64 - 5.0); // invented
/// let reading: Vec<f64> =
///     time_s.iter().enumerate().map(|(k, t)| 0.018 + 4e-3 * (-t / 0.05).exp() + scatter(k)).collect();
/// let found = step_response(&time_s, &reading, Unit::Ampere)?;
/// let tau = found.time_constant_s.unwrap();
/// assert!((tau.value - 0.05).abs() < 3.0 * tau.u.unwrap());
/// # Ok::<(), litdiode::step_response::StepError>(())
/// ```
pub fn step_response(time_s: &[f64], reading: &[f64], unit: Unit) -> Result<StepResponse, StepError> {
    check(time_s, reading)?;
    let data = Data { time: time_s.iter().map(|t| t - time_s[0]).collect(), reading, unit };
    Ok(data.response())
}

fn check(time_s: &[f64], reading: &[f64]) -> Result<(), StepError> {
    if time_s.len() != reading.len() {
        return Err(StepError::Lengths { times: time_s.len(), readings: reading.len() });
    }
    for (name, values) in [("time_s", time_s), ("reading", reading)] {
        if let Some(index) = values.iter().position(|x| !x.is_finite()) {
            return Err(StepError::NotFinite { name, index, value: values[index] });
        }
    }
    if let Some(k) = time_s.windows(2).position(|t| t[1] <= t[0]) {
        return Err(StepError::Time { index: k + 1, value: time_s[k + 1] });
    }
    if time_s.len() < FEWEST {
        return Err(StepError::TooFew { given: time_s.len(), fewest: FEWEST });
    }
    Ok(())
}

impl StepResponse {
    /// The time in s after a step of this size until at most `bound` (in the unit of the reading) of it is left; 0 for a
    /// smaller step.
    ///
    /// # Errors
    /// The reason why the time constant is not known.
    pub fn dwell_for(&self, bound: f64) -> Result<Estimate, Reason> {
        let tau = self.time_constant_s.clone()?;
        let times = (self.step.value.abs() / bound).ln().max(0.0);
        tau.scaled(times).map_err(|_| Reason::Overflow)
    }
}

/// Times from the first reading on, and what was read.
struct Data<'a> {
    time: Vec<f64>,
    reading: &'a [f64],
    unit: Unit,
}

/// The least squares of one τ.
struct Fitted {
    ln_tau: f64,
    residuals: Vec<f64>,
    sse: f64,
}

impl Data<'_> {
    fn response(&self) -> StepResponse {
        let grid = self.grid();
        let tried: Vec<Fitted> = grid.iter().filter_map(|x| self.at(*x)).collect();
        let best = tried.iter().min_by(|a, b| a.sse.total_cmp(&b.sse)).and_then(|f| self.descended(f.ln_tau));
        let found = best.and_then(|best| Some((self.with_tau(best.ln_tau)?, best)));
        let Some((solved, best)) = found else { return self.without_a_step() };
        let dof = self.reading.len() as f64 - 3.0;
        let s2 = best.sse / dof;
        let of = |j: usize| {
            let u = (s2 * solved.covariance[j * 3 + j]).sqrt();
            Estimate::new(solved.c[j], u, self.unit).with_dof(dof)
        };
        let (settled, step, scatter) = (of(0), of(1), s2.sqrt());
        let u_ln = (s2 * solved.covariance[8]).sqrt() / step.value.abs();
        let time_constant_s = self.judged(&tried, &best, (&step, s2)).map(|()| {
            let tau = best.ln_tau.exp();
            Estimate::new(tau, tau * u_ln, Unit::Second).with_dof(dof).on(Scale::Log)
        });
        // Another curve than theirs has no such end, whatever the scatter is.
        let (settled, step) = match &time_constant_s {
            Err(why @ Reason::NotExponential { .. }) => {
                let without = |e: Estimate| Estimate::without_u(e.value, self.unit, why.clone());
                (without(settled), without(step))
            }
            _ => (settled, step),
        };
        StepResponse { time_constant_s, settled, step, scatter }
    }

    fn grid(&self) -> Vec<f64> {
        let steps: Vec<f64> = self.time.windows(2).map(|t| t[1] - t[0]).collect();
        let whole = self.time[self.time.len() - 1];
        let (low, high) = ((range(&steps).0 / 10.0).ln(), (30.0 * whole).ln());
        (0..PLACES).map(|k| low + (high - low) * k as f64 / (PLACES - 1) as f64).collect()
    }

    /// 1 and E = exp(−t/τ).
    fn columns(&self, ln_tau: f64) -> Vec<Vec<f64>> {
        let tau = ln_tau.exp();
        vec![vec![1.0; self.time.len()], self.time.iter().map(|t| (-t / tau).exp()).collect()]
    }

    /// s, Δ and Δ·δ(ln τ), for ∂y/∂ln τ = Δ·E·t/τ.
    fn with_tau(&self, ln_tau: f64) -> Option<Solved> {
        let (mut columns, tau) = (self.columns(ln_tau), ln_tau.exp());
        columns.push(self.time.iter().zip(&columns[1]).map(|(t, e)| e * t / tau).collect());
        least_squares(&columns, self.reading)
    }

    fn at(&self, ln_tau: f64) -> Option<Fitted> {
        let columns = self.columns(ln_tau);
        let solved = least_squares(&columns, self.reading)?;
        let fitted = columns[1].iter().map(|e| solved.c[0] + solved.c[1] * e);
        let residuals: Vec<f64> = self.reading.iter().zip(fitted).map(|(y, f)| y - f).collect();
        let sse = residuals.iter().map(|r| r * r).sum();
        Some(Fitted { ln_tau, residuals, sse })
    }

    /// The optimum next to a place of the grid: steps that do not improve are halved.
    fn descended(&self, from: f64) -> Option<Fitted> {
        let mut best = self.at(from)?;
        for _ in 0..ROUNDS {
            let Some(solved) = self.with_tau(best.ln_tau) else { break };
            let mut by = (solved.c[2] / solved.c[1]).clamp(-1.0, 1.0);
            let better = std::iter::from_fn(|| {
                let tried = self.at(best.ln_tau + by);
                by *= 0.5;
                Some(tried)
            });
            match better.take(ROUNDS).flatten().find(|tried| tried.sse < best.sse) {
                Some(next) => best = next,
                None => break,
            }
        }
        Some(best)
    }

    /// Whether there is a step, along one exponential, that bounds τ on both sides.
    fn judged(&self, tried: &[Fitted], best: &Fitted, (step, s2): (&Estimate, f64)) -> Result<(), Reason> {
        let dof = self.reading.len() as f64 - 3.0;
        let worse = best.sse + s2 * student_t(LEVEL, dof).powi(2);
        let is_open = |end: Option<&Fitted>| end.is_none_or(|f| f.sse <= worse);
        let u = step.u.unwrap_or(f64::INFINITY);
        if is_open(tried.first()) && step.value.abs() <= CLEAR * u {
            return Err(Reason::NoStep { step: step.value, u });
        }
        self.is_exponential(&best.residuals, best.sse)?;
        if is_open(tried.first()) || is_open(tried.last()) {
            return Err(Reason::StepNotFollowed { longest_s: self.time[self.time.len() - 1] });
        }
        Ok(())
    }

    /// Residuals of a wrong curve are like their neighbours: the mean square of successive differences over twice that of the
    /// residuals is 1 ± 1/√n for scatter (J. von Neumann, Ann. Math. Stat. 12 (1941) 367; from memory).
    fn is_exponential(&self, rest: &[f64], sse: f64) -> Result<(), Reason> {
        let successive: f64 = rest.windows(2).map(|r| (r[1] - r[0]).powi(2)).sum();
        let times = (1.0 - 0.5 * successive / sse) * (rest.len() as f64).sqrt();
        let exact = sse.sqrt() <= 1e-12 * self.reading.iter().fold(0.0, |m: f64, y| m.max(y.abs()));
        if times > BEYOND_DOUBT && !exact { Err(Reason::NotExponential { times }) } else { Ok(()) }
    }

    fn without_a_step(&self) -> StepResponse {
        let n = self.reading.len() as f64;
        let mean = self.reading.iter().sum::<f64>() / n;
        let s2 = self.reading.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / (n - 1.0);
        let settled = Estimate::new(mean, (s2 / n).sqrt(), self.unit).with_dof(n - 1.0);
        let why = Reason::NoStep { step: 0.0, u: s2.sqrt() };
        let step = Estimate::without_u(0.0, self.unit, why.clone());
        StepResponse { time_constant_s: Err(why), settled, step, scatter: s2.sqrt() }
    }
}

/// A line each.
impl fmt::Display for StepResponse {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match &self.time_constant_s {
            Ok(tau) => writeln!(f, "time constant {tau}")?,
            Err(why) => writeln!(f, "no time constant: {why}")?,
        }
        write!(f, "settles at {}\nfirst reading {} from there", self.settled, self.step)
    }
}
