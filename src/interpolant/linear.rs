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
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, linear};
/// let points = Points::new(&[0.0, 0.4, 0.6], &[0.030, 0.028, -0.040])?; // invented
/// let curve = linear(&points)?;
/// assert!((curve.current(&[0.5], false)?.values[0] + 0.006).abs() < 1e-15);
/// assert!((curve.slope(&[0.5], false)?.values[0] + 0.34).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn linear(points: &Points) -> Result<Piecewise, InterpolantError> {
    let pieces = points.current_a().windows(2).map(|i| [i[0], i[1] - i[0], 0.0, 0.0]).collect();
    Piecewise::new(points.voltage_v().to_vec(), pieces)
}
