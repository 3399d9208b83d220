//! Weighted local polynomials: value and slope of a smooth curve as linear functions of its readings.
//!
//! | file | holds |
//! |---|---|
//! | `scalar` | one window |
//! | `simd` | several windows in vector code |

pub(crate) mod scalar;
pub(crate) mod simd;
