//! The maximum power by every method, side by side.
//!
//! | file | holds |
//! |---|---|
//! | `methods` | the maximum power by every method, and which one to quote |
//! | `absence` | why a method gives none |
//! | `highest` | the highest of noisy samples: its expectation and spread |

mod absence;
mod highest;
mod methods;

pub use absence::NoMaximum;
pub use highest::{Highest, highest_of};
pub use methods::{MaximumPowers, PowerEstimate, maximum_powers, maximum_powers_watched};
