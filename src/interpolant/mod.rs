//! Interpolants and smooths of a measured sweep: curves I(V) of cubic pieces, without a model of the device.
//!
//! ```text
//! readings ─▶ Points ─▶ linear │ monotone_cubic │ natural_cubic ─▶ Piecewise ─▶ I(V), dI/dV, V(I), maximum of V·I
//!                   └─▶ smoothing (penalised) ─▶ Smooth: Piecewise, band, degrees of freedom
//!                   └─▶ shape_constrained (falling, concave) ─▶ Shape: Piecewise, test of the shape
//! ```
//!
//! The band of a smooth knows the noise; the wider one counts what the penalty bends away as well. In simulation (30 points,
//! 1000 sweeps, two curves; `tests/interpolant/smooth.rs`) the wider 95 % band held 93–97 % averaged over the curve where the noise
//! was 1 % of Isc or more, 92–95 % at 0.1 %; docs/smoothing.md has the table of many devices. Place by place it holds less
//! where the curve bends hardest, and far less in the last gaps before an end at which the curve still bends, where d²s/dV²
//! falls to 0: next to nothing at 0.1 % noise. Let a sweep run past the places of interest. Of a sweep stepped in current
//! V(I) is smoothed, and where its voltages lie far apart the band holds all that the neighbours allow (`by_current`).
//!
//! An interpolant takes the readings for the curve, noise and all; a smooth weighs them. Neither knows physics.
//!
//! | file | holds |
//! |---|---|
//! | `points`, `checks` | readings as an interpolant wants them; what is asked of numbers from outside |
//! | `piecewise`, `monotone_segments` | a curve of cubic pieces; where it has a given current |
//! | `linear`, `monotone_cubic`, `natural_cubic` | interpolants |
//! | `banded`, `penalised_system`, `covariance` | the equations of a smoothing spline and its covariance |
//! | `smoothing_parameter`, `adaptive_penalty` | how stiff it is; a roughness that follows the bend |
//! | `smooth`, `smoothing`, `weighted_sweep` | a smooth; of points, of a sweep with its noise |
//! | `common_sources` | what moves all readings together, in the uncertainty of a smooth |
//! | `by_current`, `open_slope` | smooths of V(I); what two readings leave open of the slope between them |
//! | `concave_basis`, `shape_constrained`, `shape_maximum`, `shape_test` | the falling, concave curve nearest to the readings, its maximum, and whether the readings have its shape |
//! | `serialization` | curves as plain data (feature `serde`) |

mod adaptive_penalty;
mod banded;
mod by_current;
mod checks;
mod common_sources;
mod concave_basis;
mod covariance;
mod error;
mod linear;
mod monotone_cubic;
mod monotone_segments;
mod natural_cubic;
mod open_slope;
mod penalised_system;
mod piecewise;
mod points;
#[cfg(feature = "serde")]
mod serialization;
mod shape_constrained;
mod shape_maximum;
mod shape_test;
mod smooth;
mod smoothing;
mod smoothing_parameter;
mod weighted_sweep;

pub use error::InterpolantError;
pub use linear::linear;
pub use monotone_cubic::monotone_cubic;
pub use monotone_segments::Voltages;
pub use natural_cubic::natural_cubic;
pub use piecewise::{Evaluated, Maximum, Piecewise};
pub use points::Points;
pub use shape_constrained::{Shape, shape_constrained};
pub use shape_test::ShapeVerdict;
pub use smooth::{Row, Smooth};
pub use smoothing::smoothing;
pub(crate) use smoothing::stiff;
pub use smoothing_parameter::Penalty;
pub(crate) use weighted_sweep::{shape_beside, smooth_readings};
pub use weighted_sweep::{shape_sweep, smooth_sweep};
