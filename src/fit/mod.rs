//! From a sweep to the parameters of a diode model, without a guess from the user.
//!
//! ```text
//! Sweep ─weigh▶ Points ─start▶ grid of linear problems ─solver▶ bounded least squares (nearest, current,
//! voltage or implicit residual: problem) ─linear, profile▶ uncertainties ─assess▶ status and notes ─▶ Fit
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `names` | parameters as users name them, and their coordinates (Iph, ln I0, ln a, Rs, g) |
//! | `wishes` | what users ask of them: fixed, bounded, started from |
//! | `weigh` | the sweep's noise as weights |
//! | `problem` | the residuals and their derivatives; the foot point |
//! | `start` | from a grid of knots to starts |
//! | `held` | linear coefficients that the caller fixed |
//! | `reduced`, `projected` | the linear problem at many knots at once; the descent over (Rs, ln a) from the best |
//! | `solver`, `descent`, `step` | bounded Levenberg–Marquardt, usable by itself |
//! | `observed` | the same as a solver of `argmin` (feature `argmin`) |
//! | `search`, `nested` | descents from the best starts; for two diodes from the optimum of one as well |
//! | `figure`, `extrapolated` | what follows from the parameters: key points, a current; key points beyond the readings |
//! | `linear`, `profile` | first-order covariance; profile-likelihood intervals |
//! | `lack`, `support` | whether the residuals look like noise; whether there is a signal, a second diode |
//! | `assess` | what the data determine: status, notes |
//! | `band`, `resample` | the band of the curve, joint covariance; the fit repeated on drawn sweeps |
//! | `closed` | one diode from a few figures, in closed form |
//! | `pilot` | the optimum alone, of some of the readings |
//! | `extract`, `settle`, `many` | the fit as a whole; many fits on threads |
//! | `result`, `stored` | [`Fit`], what comes back; the same as plain data |

mod assess;
mod band;
mod budget;
mod closed;
mod descent;
mod error;
mod extract;
mod extrapolated;
mod figure;
mod held;
mod lack;
mod linear;
mod many;
mod names;
mod nested;
#[cfg(feature = "argmin")]
mod observed;
mod pilot;
mod problem;
mod profile;
mod projected;
mod reduced;
mod resample;
mod result;
mod search;
mod settle;
mod solver;
mod start;
mod step;
#[cfg(feature = "serde")]
mod stored;
mod support;
mod weigh;
mod wishes;

pub use band::Joint;
pub use closed::{ClosedError, ClosedForm, ThreePoints, from_end_slopes, from_key_points};
pub use descent::Descent;
pub use error::{FitError, ProblemError};
pub use extract::{NoiseScale, Options, extract, fit_double_diode, fit_single_diode};
pub use linear::unscaled_covariance;
pub use many::fit_many;
pub use names::{Figure, Parameter};
#[cfg(feature = "argmin")]
pub use observed::BoundedLevenbergMarquardt;
pub(crate) use pilot::Pilot;
pub use problem::{Points, Problem, Residual};
pub use resample::{Resample, ResampleOptions, Scatter};
pub use result::{Fit, Status};
pub(crate) use search::{approximate_optimum, conditional_optimum};
pub use solver::{Bounds, Residuals, Solution, Step, Stop, minimise};
pub use support::Support;
pub use weigh::automatic_residual;
pub use wishes::Wishes;
