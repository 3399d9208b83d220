//! Weighted local polynomials: value and slope of a smooth curve as linear functions of its readings.

pub(crate) mod scalar;
pub(crate) mod simd;
