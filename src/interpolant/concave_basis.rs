//! Falling, concave curves as sums: a straight fall, and a bend downwards about every knot.
//!
//! ```text
//! s(x) = a − b·x − Σ mⱼ·Hⱼ(x)      Hⱼ″ = the hat function of knot tⱼ, Hⱼ(t₀) = Hⱼ′(t₀) = 0;   b, mⱼ ≥ 0
//! ```
//!
//! s″ = −Σ mⱼ·hatⱼ is piecewise linear and negative everywhere if and only if all mⱼ ≥ 0, and s′ then negative
//! everywhere if and only if b ≥ 0: the inequalities are exactly the shape.

use crate::numerics::roots::cubic::Cubic;

/// Rising knots, 2 or more, the first at 0.
#[derive(Clone, Debug)]
pub(super) struct Hats {
    knots: Vec<f64>,
}

impl Hats {
    pub fn new(knots: Vec<f64>) -> Self {
        Self { knots }
    }

    /// −x, then −Hⱼ(x) for every knot.
    pub fn at(&self, x: f64) -> Vec<f64> {
        std::iter::once(-x).chain((0..self.knots.len()).map(|j| -self.integral(j, x))).collect()
    }

    /// Hⱼ(x): a cubic on each side of the knot, the line of slope ∫ hat from the centre of the hat beyond it.
    fn integral(&self, j: usize, x: f64) -> f64 {
        let t = self.knots[j];
        let left = j.checked_sub(1).map_or(t, |j| self.knots[j]);
        let right = self.knots.get(j + 1).copied().unwrap_or(t);
        if x <= left {
            return 0.0;
        }
        if x <= t {
            return (x - left).powi(3) / (6.0 * (t - left));
        }
        let line = 0.5 * (right - left) * (x - (left + t + right) / 3.0);
        if x >= right { line } else { line + (right - x).powi(3) / (6.0 * (right - t)) }
    }

    /// The pieces of the curve with value `start` at the first knot, and b, m₀, m₁, … as `amounts`.
    pub fn pieces(&self, start: f64, amounts: &[f64]) -> Vec<Cubic> {
        let (mut value, mut slope) = (start, -amounts[0]);
        let bend = &amounts[1..];
        let gaps = self.knots.windows(2).map(|t| t[1] - t[0]);
        gaps.zip(bend.windows(2))
            .map(|(h, m)| {
                let piece = [value, h * slope, -h * h * m[0] / 2.0, h * h * (m[0] - m[1]) / 6.0];
                value += h * slope - h * h * (2.0 * m[0] + m[1]) / 6.0;
                slope -= h * (m[0] + m[1]) / 2.0;
                piece
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::roots::cubic;

    /// Hⱼ(x) = ∫ (x − t)·hatⱼ(t) dt from 0 to x, from the definition. Between two knots, or a knot and x, the integrand is a
    /// parabola, of which Simpson's rule is exact.
    #[test]
    fn columns_are_the_integrals_of_their_hats() {
        let knots = [0.0, 0.1, 0.4, 0.45, 1.0];
        let hats = Hats::new(knots.to_vec());
        let hat = |j: usize, t: f64| {
            let k = knots.partition_point(|x| *x <= t).clamp(1, knots.len() - 1);
            let s = (t - knots[k - 1]) / (knots[k] - knots[k - 1]);
            if j == k {
                s
            } else if j == k - 1 {
                1.0 - s
            } else {
                0.0
            }
        };
        for x in (0..=50).map(|k| f64::from(k) / 50.0) {
            let row = hats.at(x);
            assert_eq!((row.len(), row[0]), (6, -x));
            for j in 0..knots.len() {
                let at = |t: f64| (x - t) * hat(j, t);
                let simpson = |w: &[f64]| {
                    let (low, high) = (w[0], w[1].min(x));
                    (high - low) / 6.0 * (at(low) + 4.0 * at(0.5 * (low + high)) + at(high))
                };
                let integral: f64 = knots.windows(2).filter(|w| w[0] < x).map(simpson).sum();
                assert!((row[j + 1] + integral).abs() < 1e-15, "{j} {x}: {} {integral}", row[j + 1]);
            }
        }
    }

    /// Columns and pieces are two ways to the same curve.
    #[test]
    fn sum_of_columns_is_the_pieces() {
        let knots = [0.0, 0.1, 0.4, 0.45, 1.0];
        let (hats, amounts) = (Hats::new(knots.to_vec()), [0.3, 1.0, 0.0, 2.0, 5.0, 0.7]);
        for (k, piece) in hats.pieces(2.0, &amounts).iter().enumerate() {
            for s in [0.0, 0.2, 0.7, 1.0] {
                let x = knots[k] + s * (knots[k + 1] - knots[k]);
                let sum: f64 = hats.at(x).iter().zip(&amounts).map(|(h, m)| h * m).sum();
                assert!((2.0 + sum - cubic::value(piece, s)).abs() < 1e-15, "{x}");
            }
        }
    }
}
