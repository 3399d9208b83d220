//! A simulated instrument: a model in, the sweep that a tracer would write down out, with known truth.
//!
//! ```text
//! set points ─lag─▶ device behind its leads ─compliance─▶ offsets ─noise─▶ quantisation ─▶ Sweep
//! ```
//!
//! For teaching and for tests: every fault of a home-made tracer can be switched on by itself. The same seed
//! gives the same readings on every machine.
//!
//! | file | holds |
//! |---|---|
//! | `instrument` | what a tracer does to a curve |
//! | `measurement` | the readings themselves |

mod error;
mod instrument;
mod measurement;

pub use error::SimulationError;
pub use instrument::Instrument;
pub use measurement::simulate_sweep;
