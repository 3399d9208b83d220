//! Quantities: values with uncertainties and units, the key points of a curve, and how they are written.
//!
//! | file | holds |
//! |---|---|
//! | [`estimate`] | a value with its standard uncertainty, degrees of freedom, unit and interval |
//! | [`key_points`] | Isc, Voc, Pmax, FF, Jsc and η with their joint covariance, or why one is absent |
//! | [`format`](mod@format) | the one way a number with a unit is written |

pub mod estimate;
pub mod format;
pub mod key_points;
