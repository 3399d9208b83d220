//! What an instrument can detect: limits from blank readings, and the smallest cell that it can characterise.
//!
//! ```text
//! blank readings ─▶ Limits (critical level, detection limit, quantification limit)
//! rig + device ─▶ smallest_cell (the Isc from which a figure has the wanted uncertainty)
//! ```

mod blank;
mod error;
mod smallest_cell;

pub use blank::{Limits, limits_of_blank, limits_of_known_blank};
pub use error::DetectionError;
pub use smallest_cell::{Rig, SmallestCell, smallest_cell};
