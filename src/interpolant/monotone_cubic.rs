//! A cubic through the points that rises where they rise and falls where they fall.
//!
//! ```text
//! mₖ = (Iₖ₊₁ − Iₖ)/hₖ     dₖ = 0 where mₖ₋₁·mₖ ≤ 0, else (w₁ + w₂)/(w₁/mₖ₋₁ + w₂/mₖ)
//! w₁ = 2hₖ + hₖ₋₁         w₂ = hₖ + 2hₖ₋₁
//! d₀ = ((2h₀ + h₁)·m₀ − h₀·m₁)/(h₀ + h₁), 0 if its sign is not m₀'s, 3·m₀ if m₁'s sign differs and it is larger
//! ```
//!
//! Slopes within a factor 3 of both neighbouring secants make a cubic monotone: F. N. Fritsch, R. E. Carlson, SIAM J.
//! Numer. Anal. 17 (1980) 238. The weighted harmonic mean: F. N. Fritsch, J. Butland, SIAM J. Sci. Stat. Comput. 5
//! (1984) 300.

use super::checks::size;
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::Points;

/// The monotone cubic through the points; the straight line through two.
///
/// # Errors
/// [`InterpolantError::NotRepresentable`] where a slope is beyond a double.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, monotone_cubic};
/// let points = Points::new(&[0.0, 0.2, 0.4, 0.6], &[0.030, 0.030, 0.030, -0.040])?; // invented
/// let curve = monotone_cubic(&points)?;
/// assert_eq!(curve.current(&[0.1, 0.3], false)?.values, [0.030, 0.030]); // where a natural cubic swings
/// assert!(curve.current(&[0.7], false).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn monotone_cubic(points: &Points) -> Result<Piecewise, InterpolantError> {
    let scale = size(points.voltage_v());
    let h: Vec<f64> = points.voltage_v().windows(2).map(|v| v[1] / scale - v[0] / scale).collect();
    let rise: Vec<f64> = points.current_a().windows(2).map(|i| i[1] - i[0]).collect();
    let m: Vec<f64> = rise.iter().zip(&h).map(|(r, h)| r / h).collect();
    let d = slopes(&h, &m);
    let piece = |k: usize| {
        let (left, right) = (h[k] * d[k], h[k] * d[k + 1]);
        let bend = 3.0 * rise[k] - 2.0 * left - right;
        [points.current_a()[k], left, bend, left + right - 2.0 * rise[k]]
    };
    Piecewise::new(points.voltage_v().to_vec(), (0..h.len()).map(piece).collect())
}

/// The slope at every point.
fn slopes(h: &[f64], m: &[f64]) -> Vec<f64> {
    let last = m.len() - 1;
    if last == 0 {
        return vec![m[0]; 2];
    }
    let mut d = vec![end([h[0], h[1]], [m[0], m[1]])];
    d.extend((1..=last).map(|k| inner([h[k - 1], h[k]], [m[k - 1], m[k]])));
    d.push(end([h[last], h[last - 1]], [m[last], m[last - 1]]));
    d
}

fn inner([h0, h1]: [f64; 2], [m0, m1]: [f64; 2]) -> f64 {
    if m0 == 0.0 || m1 == 0.0 || (m0 > 0.0) != (m1 > 0.0) {
        return 0.0;
    }
    let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
    (w0 + w1) / (w0 / m0 + w1 / m1)
}

/// The slope at the end of the first of two intervals.
fn end([h0, h1]: [f64; 2], [m0, m1]: [f64; 2]) -> f64 {
    let d = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1);
    if m0 == 0.0 || d * m0.signum() <= 0.0 {
        0.0
    } else if (m0 > 0.0) != (m1 > 0.0) && d.abs() > 3.0 * m0.abs() {
        3.0 * m0
    } else {
        d
    }
}
