//! From a sweep to the parameters of a diode model, without a guess from the user.
//!
//! ```text
//! Sweep ─weights▶ Points ─initial_guess▶ starts ─multistart▶ bounded least squares (numerics::least_squares) of the
//! nearest, current, voltage or implicit residuals ─covariance, profile_likelihood▶ uncertainties
//! ─identifiability▶ status and notes ─▶ Fit
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `parameters` | parameters as users name them, and their coordinates (Iph, ln I0, ln a, Rs, g) |
//! | `options` | how to fit; the budget of a search |
//! | `wishes` | what users ask of them: fixed, bounded, started from |
//! | `weights` | the sweep's noise as weights |
//! | `residuals` | the residuals and their derivatives; the foot point |
//! | `initial_guess` | from a grid of knots to starts |
//! | `fixed_coefficients` | linear coefficients that the caller fixed |
//! | `start_costs`, `variable_projection` | the linear problem at many knots at once; the descent over (Rs, ln a) from the best |
//! | `multistart`, `nested` | descents from the best starts; for two diodes from the optimum of one as well |
//! | `derived_quantity`, `extrapolated` | what follows from the parameters: key points, a current; key points beyond the readings |
//! | `covariance` | first-order covariance; what is common to all points |
//! | `budget`, `traced` | what the uncertainty of a figure is made of; figures that compute with those of other fits |
//! | `profile_likelihood` | profile-likelihood intervals |
//! | `lack_of_fit`, `model_comparison` | whether the residuals look like noise; whether there is a signal, a second diode |
//! | `identifiability` | what the data determine: status, notes |
//! | `note`, `reservation` | what must be known with a fit; where a closed form does not hold |
//! | `confidence_band`, `bootstrap` | the band of the curve, joint covariance; the fit repeated on drawn sweeps |
//! | `closed_form` | one diode from a few figures, in closed form |
//! | `point_estimate` | the optimum alone, of some of the readings |
//! | `at_bounds` | what happens to a parameter that ends on its bound |
//! | `extraction`, `batch` | the fit as a whole; many fits on threads |
//! | `result`, `serialization` | [`Fit`], what comes back; the same as plain data |

mod at_bounds;
mod batch;
mod bootstrap;
mod budget;
mod closed_form;
mod confidence_band;
mod covariance;
mod derived_quantity;
mod error;
mod extraction;
mod extrapolated;
mod fixed_coefficients;
mod identifiability;
mod initial_guess;
mod lack_of_fit;
mod model_comparison;
mod multistart;
mod nested;
mod note;
mod options;
mod parameters;
mod point_estimate;
mod profile_likelihood;
mod reservation;
mod residuals;
mod result;
#[cfg(feature = "serde")]
mod serialization;
mod start_costs;
mod traced;
mod variable_projection;
mod weights;
mod wishes;

#[cfg(feature = "argmin")]
pub use crate::numerics::least_squares::argmin_adapter::BoundedLevenbergMarquardt;
pub use crate::numerics::least_squares::error::ProblemError;
pub use crate::numerics::least_squares::levenberg_marquardt::Descent;
pub use crate::numerics::least_squares::minimise::minimise;
pub use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution, Step, Stop};
pub use batch::fit_many;
pub use bootstrap::{Resample, ResampleOptions, Scatter};
pub use closed_form::{ClosedError, ClosedForm, ThreePoints, from_end_slopes, from_key_points};
pub use confidence_band::Joint;
pub use covariance::unscaled_covariance;
pub use error::FitError;
pub use extraction::{extract, fit_double_diode, fit_single_diode};
pub use model_comparison::Support;
pub(crate) use multistart::{approximate_optimum, conditional_optimum};
pub use note::Note;
pub use options::{NoiseScale, Options};
pub(crate) use parameters::names;
pub use parameters::{Figure, Parameter};
pub(crate) use point_estimate::Pilot;
pub use reservation::Reservation;
pub use residuals::{Points, Problem, Residual};
pub use result::{Fit, Status};
pub use weights::automatic_residual;
pub(crate) use weights::{largest, residual_for};
pub use wishes::Wishes;
pub(crate) use wishes::default_bounds;
