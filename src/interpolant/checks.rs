//! What is asked of numbers that come from outside, and their size.

use super::error::InterpolantError;

/// All finite numbers, or the error that names the first that is not.
pub(super) fn finite(name: &'static str, values: &[f64]) -> Result<(), InterpolantError> {
    match values.iter().position(|x| !x.is_finite()) {
        Some(index) => Err(InterpolantError::NotFinite { name, index, value: values[index] }),
        None => Ok(()),
    }
}

/// A probability strictly between 0 and 1, or the error that says so.
pub(super) fn level(level: f64) -> Result<(), InterpolantError> {
    if level > 0.0 && level < 1.0 {
        return Ok(());
    }
    let cure = "pass a probability between 0 and 1, for instance 0.95";
    Err(InterpolantError::Value { name: "level", index: 0, value: level, cure })
}

/// A power of two near the largest size of `xs`, by which they divide without rounding; 1 where all are 0.
pub(super) fn size(xs: &[f64]) -> f64 {
    let largest = xs.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    if largest > 0.0 { largest.log2().floor().clamp(-1000.0, 1000.0).exp2() } else { 1.0 }
}
