//! The natural cubic spline: the curve through the points of the least ∫ (d²I/dV²)² dV.
//!
//! ```text
//! hₖ₋₁·Mₖ₋₁ + 2(hₖ₋₁ + hₖ)·Mₖ + hₖ·Mₖ₊₁ = 6(mₖ − mₖ₋₁)       M = d²I/dV², 0 at both ends; mₖ = (Iₖ₊₁ − Iₖ)/hₖ
//! I = Iₖ + (Iₖ₊₁ − Iₖ − hₖ²(2Mₖ + Mₖ₊₁)/6)·s + hₖ²·Mₖ/2·s² + hₖ²(Mₖ₊₁ − Mₖ)/6·s³
//! ```

use super::banded::{Banded, Roughness};
use super::checks::size;
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;

/// The natural cubic spline through the points; the straight line through two.
///
/// # Errors
/// [`InterpolantError::NotRepresentable`] where voltages lie too close together for a double.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, natural_cubic};
/// // Through 0, 1, 0 at 0, 1, 2 the natural cubic is 1.5·x − 0.5·x³ on the left.
/// let curve = natural_cubic(&Points::new(&[0.0, 1.0, 2.0], &[0.0, 1.0, 0.0])?)?;
/// assert!((curve.current(&[0.5], false)?.values[0] - 0.6875).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn natural_cubic(points: &Points) -> Result<Piecewise, InterpolantError> {
    let roughness = Roughness::new(points.voltage_v())?;
    let scale = size(points.current_a());
    let y: Vec<f64> = points.current_a().iter().map(|i| i / scale).collect();
    let bend = Banded::factor(&roughness.gram())?.solve(roughness.bends(&y));
    roughness.curve(points.voltage_v(), &y, &bend, scale)
}
