//! A bounded least-squares problem: residuals, bounds, what a descent ends with.
//!
//! ```text
//! min ½·Σ rᵢ(x)²,  low ≤ x ≤ high        step: min ‖J·p + r‖² + μ·‖D·p‖²  within the box
//! ```
//!
//! The step itself is `bounded_step.rs`; μ follows H. B. Nielsen, report IMM-REP-1999-05, DTU. A descent
//! (`levenberg_marquardt.rs`) allocates once, when it starts; `minimise.rs` runs it, `argmin_adapter.rs` hands it to `argmin`. The termination is a
//! report, not an error.

use super::error::{ProblemError, all_good, same_length};
use smallvec::SmallVec;
use std::fmt;

/// A least-squares problem: residuals and their derivatives at x.
///
/// # Examples
/// ```
/// use litdiode::fit::{Bounds, Residuals, minimise};
/// /// Residuals of a mean: x − yₖ.
/// struct Mean([f64; 4]);
/// impl Residuals for Mean {
///     fn len(&self) -> usize {
///         4
///     }
///     fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
///         r.iter_mut().zip(self.0).for_each(|(r, y)| *r = x[0] - y);
///         jacobian.into_iter().for_each(|j| j.fill(1.0));
///         true
///     }
/// }
/// let bounds = Bounds::new(vec![-10.0], vec![10.0])?;
/// let found = minimise(&Mean([1.0, 2.0, 4.0, 5.0]), &[0.0], &bounds, 50, |_| {})?;
/// assert!((found.x[0] - 3.0).abs() < 1e-12 && (found.cost - 10.0).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub trait Residuals {
    /// Number of residuals.
    fn len(&self) -> usize;

    /// Whether there are none.
    fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Writes r(x), and with `jacobian` ∂r/∂x column by column, one a coordinate; `false` where x has no residuals.
    fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool;

    /// Σr² below which the residuals are rounding.
    fn rounding(&self) -> f64 {
        0.0
    }
}

/// Why the solver stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
    /// The evaluations that the whole search may take are used up.
    Budget,
    /// A deadline passed, or the work was cancelled.
    Cancelled,
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
            Stop::Budget => "the budget of residual evaluations is used up",
            Stop::Cancelled => "the deadline passed, or the work was cancelled",
        }
    }
}

/// One step of the solver, for those who want to see the path.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, fit_single_diode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let fit = fit_single_diode(&sweep, &Options::default())?;
/// let last = fit.trace.last().unwrap();
/// assert_eq!(last.x().len(), 5); // Iph, ln I0, ln a, Rs, 1/Rsh
/// assert!((last.x()[0] - 0.03).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Step {
    /// Counted from 0, the start.
    pub iteration: usize,
    /// Coordinates.
    pub(crate) x: SmallVec<[f64; 8]>,
    /// √Σr².
    pub norm: f64,
    /// Damping μ.
    pub damping: f64,
    /// Whether the step was taken.
    pub taken: bool,
}

impl Step {
    /// Coordinates.
    pub fn x(&self) -> &[f64] {
        &self.x
    }
}

/// Where the solver ended.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
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

/// The box: a lower and an upper bound of each coordinate, equal where it is fixed.
///
/// # Examples
/// ```
/// use litdiode::fit::Bounds;
/// let bounds = Bounds::new(vec![0.0, f64::NEG_INFINITY], vec![1.0, f64::INFINITY])?;
/// assert_eq!((bounds.low()[0], bounds.high()[0]), (0.0, 1.0));
/// assert!(Bounds::new(vec![2.0], vec![1.0]).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Bounds {
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) low: Vec<f64>,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) high: Vec<f64>,
}

impl Bounds {
    /// Positions of the coordinates of `x` that lie inside their bounds.
    pub(crate) fn inside(&self, x: &[f64]) -> Vec<usize> {
        (0..x.len()).filter(|&k| x[k] > self.low[k] && x[k] < self.high[k]).collect()
    }

    /// Lower and upper bounds, which may be infinite.
    ///
    /// # Errors
    /// [`ProblemError`] for lists that are empty or differ in length, a bound that is no number, and one that crosses
    /// the other.
    pub fn new(low: Vec<f64>, high: Vec<f64>) -> Result<Self, ProblemError> {
        if low.is_empty() {
            return Err(ProblemError::Empty { what: "low" });
        }
        same_length("high", high.len(), low.len())?;
        let wrong = ("not a number", "give a bound, infinite for none");
        all_good("low", &low, |x| !x.is_nan(), wrong)?;
        all_good("high", &high, |x| !x.is_nan(), wrong)?;
        match (0..low.len()).find(|&k| low[k] > high[k]) {
            Some(index) => Err(ProblemError::Crossed { index, low: low[index], high: high[index] }),
            None => Ok(Self { low, high }),
        }
    }

    /// Lower bounds.
    pub fn low(&self) -> &[f64] {
        &self.low
    }

    /// Upper bounds.
    pub fn high(&self) -> &[f64] {
        &self.high
    }

    /// Moves `x` into the box.
    pub(crate) fn clamp(&self, x: &mut [f64]) {
        for (k, x) in x.iter_mut().enumerate() {
            *x = x.clamp(self.low[k], self.high[k]);
        }
    }
}

impl fmt::Display for Stop {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.reason())
    }
}

#[cfg(test)]
pub(crate) mod examples {
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
                j.copy_from_slice(&[-20.0 * x[0], -1.0, 10.0, 0.0]);
            }
            true
        }
    }
}
