//! A sweep while it is measured: running figures with their ±, and the set point that tells most.
//!
//! ```text
//! next_set_point ─▶ the host sets, waits, reads ─▶ push ─▶ key_points with ± from the readings so far
//!       ▲                                            │
//!       └─ bracket, then the largest fall of var(target), var′ = var − (gᵀ·C·t)²/(1 + gᵀ·C·g) ◀┘
//! ```
//!
//! with C the covariance of a single-diode fit, warm-started, in θ = (Iph, ln I0, ln a, Rs, g), g = ∂r/∂θ of a reading that
//! could be taken, t = ∂target/∂θ. The host keeps the clock and the instrument; nothing here waits, locks or, after
//! construction, allocates in [`LiveSweep::push`].
//!
//! | file | holds |
//! |---|---|
//! | `live_sweep` | [`LiveSweep`], what a host drives |
//! | `outcome` | what comes of the readings: figures, what is missing, the sweep, the fit |
//! | `options` | limits, target, stated noise, order |
//! | `error` | what a host may not pass |
//! | `stop` | [`StopReason`]: why no further set point is given |
//! | `host_axes` | the host's sign and leads, and generator sign within |
//! | `reach` | how far a set point may go without leaving the limits |
//! | `bracket` | the first set points, from a safe value over short and open circuit |
//! | `readings` | the readings, in room made at the start; flags |
//! | `running_fit` | the fit that follows the readings |
//! | `running_figures` | key points of that fit, with what is common to all readings |
//! | `information` | the set point that tells most |
//! | `serialization` | a live sweep as plain data (feature `serde`) |

mod bracket;
mod error;
mod host_axes;
mod information;
mod live_sweep;
mod options;
mod outcome;
mod reach;
mod readings;
mod running_figures;
mod running_fit;
#[cfg(feature = "serde")]
mod serialization;
mod stop;

pub use error::LiveError;
pub use live_sweep::{LiveSweep, Purpose, SetPoint};
pub use options::{LiveOptions, Order};
pub use readings::Flag;
pub use stop::StopReason;
