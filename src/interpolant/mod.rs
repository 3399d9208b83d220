//! Interpolants and smooths of a measured sweep: curves I(V) of cubic pieces, without a model of the device.
//!
//! ```text
//! readings ─▶ Points ─▶ linear │ monotone_cubic │ natural_cubic ─▶ Piecewise ─▶ I(V), dI/dV, V(I), maximum of V·I
//!                   └─▶ smooth (penalised) ─▶ Smooth: Piecewise, band, degrees of freedom
//!                   └─▶ fit_shape (falling and concave) ─▶ Shape: Piecewise, test of the shape
//! ```
//!
//! An interpolant takes the readings for the curve, noise and all; a smooth weighs them. Neither knows physics.

mod banded;
mod choice;
mod cubic;
mod error;
mod linear;
mod monotone_cubic;
mod natural_cubic;
mod piecewise;
mod points;
mod smoothing;
mod stretch;

pub use choice::Penalty;
pub use error::InterpolantError;
pub use linear::linear;
pub use monotone_cubic::monotone_cubic;
pub use natural_cubic::natural_cubic;
pub use piecewise::{Evaluated, Maximum, Piecewise, Voltages};
pub use points::Points;
pub use smoothing::{Row, Smooth, smoothing};
