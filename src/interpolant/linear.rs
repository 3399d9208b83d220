//! Straight lines from point to point.
//!
//! ```text
//! I(V) = Iₖ + (Iₖ₊₁ − Iₖ)·s
//! ```

use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;

/// The polygon through the points.
///
/// # Errors
/// [`InterpolantError::NotRepresentable`] where a difference of two currents or voltages is beyond a double.
pub fn linear(points: &Points) -> Result<Piecewise, InterpolantError> {
    let pieces = points.current_a().windows(2).map(|i| [i[0], i[1] - i[0], 0.0, 0.0]).collect();
    Piecewise::new(points.voltage_v().to_vec(), pieces)
}
