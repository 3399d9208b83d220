//! The curve that a sweep draws, without a model of the device: key points with their uncertainties.
//!
//! ```text
//! Sweep ─▶ Readings (ordered, scaled) ─▶ Pilot (a diode fitted quickly) ─▶ Comparison (readings less pilot)
//!       ─▶ Posterior (Gaussian process of the discrepancy) ─▶ Estimated curve
//!       ─▶ Isc │ Voc │ Pmax as Figures, held to the bracket of their neighbours ─▶ Found ─▶ KeyPoints
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `averages` | very many readings as means of those close together |
//! | `scaled_readings` | readings by rising voltage, in units of their own |
//! | `pilot_fit` | the diode that the curve is counted from |
//! | `observation` | what the discrepancy is conditioned on, and what is asked of it |
//! | `observations` | readings less pilot, those close together as one |
//! | `discrepancy`, `candidate_covariances` | the average over covariances; several of them side by side in vector code |
//! | `analysis`, `converter` | size of the noise, stated or found; the step of a converter |
//! | `estimated_curve`, `figures`, `bracket` | the curve, what is read from it, and what neighbours allow |
//! | `linear_estimator` | a figure as a linear function of the readings |
//! | `beyond` | which figures may be read beyond the sweep |
//! | `figures_of_points`, `key_points` | the chain from points to figures; the figures of a sweep with its remarks |
//! | `stated_scatter`, `effects`, `contributions` | the scatter that a sweep states; what moves it besides |
//! | `scatter_estimate` | the noise of an instrument as a sweep shows it |
//! | `budget` | what the uncertainty of a figure is made of |
//! | `prediction` | what the curve through some readings says of another |
//! | `batch` | many sweeps on threads |
//! | `bend`, `noise_estimate`, `window_variance` | scatter from local polynomials, which the resistances use |
//! | `ideality_average` | Isc in a wide gap and Voc beyond the readings, averaged over the ideality |
//!
//! Every figure is, to first order, a linear function of the readings, so that one covariance holds for all. No figure
//! assumes a model: where the pilot fits it guides the figures, where it does not they follow the readings.

mod analysis;
mod averages;
mod batch;
mod bend;
mod beyond;
mod bracket;
mod budget;
mod candidate_covariances;
mod contributions;
mod converter;
mod discrepancy;
mod effects;
mod estimated_curve;
mod figures;
mod figures_of_points;
mod ideality_average;
mod key_points;
mod linear_estimator;
mod noise_estimate;
mod observation;
mod observations;
mod pilot_fit;
mod prediction;
mod scaled_readings;
mod scatter_estimate;
mod stated_scatter;
mod window_variance;

pub use crate::numerics::local_polynomial::scalar::{Jet, Local, MAX_DEGREE, Rows, Series, nearest};
pub(crate) use crate::numerics::statistics::variance_ratio::deviate;
pub use batch::key_points_many;
pub use beyond::Beyond;
pub use budget::budget;
pub(crate) use contributions::Contributions;
pub(crate) use effects::{change, shares, sources};
pub use figures_of_points::found;
pub(crate) use figures_of_points::{analysis_of, traced};
pub use key_points::{key_points, key_points_beyond, window_of_maximum};
pub use linear_estimator::Common;
pub(crate) use noise_estimate::Scatter;
pub use noise_estimate::Stated;
pub(crate) use prediction::deviation;
pub(crate) use scaled_readings::Readings;
pub use scatter_estimate::estimate_noise;
