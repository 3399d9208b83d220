//! Distributions and orders of numbers.

pub(crate) mod ranges;
pub(crate) mod truncated_normal;
pub(crate) mod variance_ratio;
