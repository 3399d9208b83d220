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
//! | `pilot` | the diode that the curve is counted from |
//! | `observations` | readings less pilot, those close together as one |
//! | `discrepancy`, `members` | the average over covariances; several of them side by side in vector code |
//! | `analysis`, `converter` | size of the noise, stated or found; the step of a converter |
//! | `estimated`, `figures`, `bracket` | the curve, what is read from it, and what neighbours allow |
//! | `effects`, `pull` | what moves a sweep besides its noise |
//! | `guide`, `scatter`, `windows`, `abreast`, `local` | scatter from local polynomials, which the resistances use |
//!
//! Every figure is, to first order, a linear function of the readings, so that one covariance holds for all. No figure
//! assumes a model: where the pilot fits it guides the figures, where it does not they follow the readings.

mod abreast;
mod analysis;
mod bracket;
mod converter;
mod discrepancy;
mod effects;
mod estimated;
mod figure;
mod figures;
mod guide;
mod ideality_average;
mod key_points;
mod local;
mod many;
mod members;
mod observations;
mod pilot;
mod pull;
mod readings;
mod scatter;
mod variance_ratio;
mod windows;

pub(crate) use effects::{change, shares, sources};
pub use figure::Common;
pub(crate) use key_points::traced;
pub use key_points::{Beyond, found, key_points, key_points_beyond, window_of_maximum};
pub use local::{Jet, Local, MAX_DEGREE, Rows, Series, nearest};
pub use many::key_points_many;
pub(crate) use pull::Pull;
pub(crate) use readings::Readings;
pub(crate) use scatter::Scatter;
pub use scatter::Stated;
pub(crate) use variance_ratio::deviate;
