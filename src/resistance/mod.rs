//! Series and shunt resistance by every method that the sweeps at hand allow, side by side.
//!
//! ```text
//! lit sweep ─▶ slope at Voc, slope at Isc, reverse bias, diode fit        two or more lit ─▶ equal Isc − I
//! dark sweep ─▶ Cheung's regression, ohmic region, reverse bias, diode fit
//! ```
//!
//! The methods measure different things and rest on different assumptions: each [`Resistance`] says what it
//! measures and whether its assumption holds on these data. Truncation is judged on a stand-in, the single diode
//! fitted to the same sweep: the method applied to the stand-in's own curve, less the stand-in's resistance.
//!
//! | file | holds |
//! |---|---|
//! | `trace` | a sweep made ready, with its stand-in |
//! | `regression`, `solve`, `polynomial` | weighted regression with scatter on both axes and its covariance |
//! | `choice` | the window and degree of a local fit |
//! | `outcome` | [`Resistance`]; from scatter, truncation and gains to u |
//! | `slope_at_voc`, `slope_at_zero`, `reverse`, `dark_regression`, `equal_current`, `by_fit` | one method each |
//! | `all` | [`resistances`] |
//! | `fill_factor` | the ideal fill factor and what the resistances take of it |

mod all;
mod by_fit;
mod choice;
mod dark_regression;
mod equal_current;
mod error;
mod fill_factor;
mod outcome;
mod polynomial;
mod regression;
mod reverse;
mod slope_at_voc;
mod slope_at_zero;
mod solve;
mod trace;

pub use all::{Absent, Measured, Resistances, dark_ideality, resistances};
pub use dark_regression::{ClassicalPlots, DarkRegression};
pub use error::ResistanceError;
pub use fill_factor::{FillFactorLosses, fill_factor_losses, green_fill_factor, ideal_fill_factor};
pub use outcome::{Quantity, Resistance};
