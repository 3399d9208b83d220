//! The curve that a sweep draws, without a model of the device: key points with their uncertainties.
//!
//! ```text
//! Sweep ─▶ Readings (ordered, scaled, smoothed) ─▶ Guide (how sharp are the bends) ─▶ Scatter (stated or found)
//!       ─▶ choice of window and degree ─▶ Isc │ Voc │ Pmax as Figures ─▶ Found ─▶ KeyPoints
//! ```
//!
//! Where readings lie far apart `sparse` finds the figures again without some of them.
//! `effects` adds what moves the points besides their noise.
//! `abreast` tries many windows at once in vector code, `local` holds the one that was chosen.
//!
//! Every figure is, to first order, a linear function of the readings, so that one covariance holds for all.

mod abreast;
mod analysis;
mod bracket;
mod choice;
mod converter;
mod discrepancy;
mod effects;
mod estimated;
mod figure;
mod figures;
mod guide;
mod key_points;
mod local;
mod many;
mod members;
mod observations;
mod pilot;
mod pull;
mod readings;
mod scatter;
mod windows;

pub(crate) use choice::deviate;
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
