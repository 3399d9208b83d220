//! Quantities: values with uncertainties and units, the key points of a curve, and how they are written.
//!
//! | file | holds |
//! |---|---|
//! | [`estimate`] | a value with its standard uncertainty, degrees of freedom, unit and interval |
//! | [`key_points`] | Isc, Voc, Pmax, FF, Jsc and η with their joint covariance, or why one is absent |
//! | [`reason`] | why a figure, its ± or an end of its interval is missing |
//! | [`budget`] | what the uncertainty of a figure is made of |
//! | [`arithmetic`], [`source`] | estimates that compute with what they have in common |
//! | `attribution` | which sources move the figures of one sweep |
//! | `coverage` | Student's t |
//! | `key_point`, `names`, `unit` | which figures there are, their names, their units |
//! | [`format`](mod@format) | the one way a number with a unit is written |

pub mod arithmetic;
pub(crate) mod attribution;
pub mod budget;
mod coverage;
pub mod estimate;
pub mod format;
mod key_point;
pub mod key_points;
mod names;
pub mod reason;
pub mod source;
mod unit;
