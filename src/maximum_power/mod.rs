//! The maximum power by every method, side by side.
//!
//! | file | holds |
//! |---|---|
//! | `methods` | the maximum power by every method, and which one to quote |
//! | `absence` | why a method gives none |
//! | `choice` | what must be known with a maximum power, and why one of them is quoted |
//! | `highest` | the highest of noisy samples: its expectation and spread |

mod absence;
mod choice;
mod highest;
mod methods;

pub use absence::NoMaximum;
pub use choice::{PowerChoice, PowerRemark};
pub use highest::{Highest, highest_of};
pub use methods::{MaximumPowers, PowerEstimate, maximum_powers, maximum_powers_watched};
