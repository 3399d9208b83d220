//! Series and shunt resistance by every method that the sweeps at hand allow, side by side.
//!
//! ```text
//! lit sweep ─▶ slope at Voc, slope at Isc, reverse bias, co-content, diode fit
//! dark sweep ─▶ Cheung's regression, Werner's plot, ohmic region, reverse bias, diode fit
//! two or more lit ─▶ equal Isc − I        lit and dark, lit and implied voltages ─▶ distance at maximum power
//! ```
//!
//! The methods measure different things and rest on different assumptions: each [`Resistance`] says what it
//! measures and whether its assumption holds on these data. Truncation is judged on a stand-in, the single diode
//! fitted to the same sweep: the method applied to the stand-in's own curve, less the stand-in's resistance.
//!
//! | file | holds |
//! |---|---|
//! | `prepared_sweep` | a sweep made ready, with its stand-in; means of its readings |
//! | `polynomial` | I on V by a polynomial (`numerics::least_squares::regression`) |
//! | `uncertainty`, `local_line` | scatter through other computations; a local polynomial at a place |
//! | `window_selection` | the window and degree of a local fit |
//! | `estimated`, `doubt` | [`Resistance`]; from scatter, truncation and gains to u; what speaks against it |
//! | `slope_at_voc`, `slope_at_zero`, `reverse_bias`, `dark_regression`, `multi_irradiance`, `at_maximum_power`, `conductance_plot`, `co_content`, `by_fit` | one method each |
//! | `suns_voc`, `local_ideality` | implied voltages and the pseudo fill factor; n(V) of a dark sweep |
//! | `common_sources` | what moves all points of a sweep, in every uncertainty |
//! | `measured`, `table`, `quote` | the sweeps; [`resistances`], and the ones to quote |
//! | `fill_factor` | the ideal fill factor and what the resistances take of it |

mod at_maximum_power;
mod by_fit;
mod co_content;
mod common_sources;
mod conductance_plot;
mod dark_regression;
mod doubt;
mod error;
mod estimated;
mod fill_factor;
mod local_ideality;
mod local_line;
mod measured;
mod multi_irradiance;
mod polynomial;
mod prepared_sweep;
mod quantity;
mod quote;
mod reverse_bias;
mod slope_at_voc;
mod slope_at_zero;
mod suns_voc;
mod table;
mod uncertainty;
mod window_selection;

pub use dark_regression::{ClassicalPlots, DarkRegression};
pub use doubt::Doubt;
pub use error::ResistanceError;
pub use estimated::{LEVEL, Resistance};
pub use fill_factor::{FillFactorLosses, fill_factor_losses, green_fill_factor, ideal_fill_factor};
pub use local_ideality::{LocalIdeality, local_ideality};
pub use measured::Measured;
pub use quantity::Quantity;
pub use quote::{Quote, QuoteReason};
pub use suns_voc::Implied;
pub use table::{Absent, Resistances, dark_ideality, resistances, resistances_watched};
