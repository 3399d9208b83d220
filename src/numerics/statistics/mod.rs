//! Distributions and orders of numbers.
//!
//! | file | holds |
//! |---|---|
//! | `ranges` | range of a list, runs of close numbers |
//! | `trend` | whether one quantity rises or falls with another |
//! | `truncated_normal` | mean and variance between two ends |
//! | `variance_ratio` | how far a variance ratio lies from chance |

pub(crate) mod ranges;
pub(crate) mod trend;
pub(crate) mod truncated_normal;
pub(crate) mod variance_ratio;
