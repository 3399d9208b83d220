//! The normal distribution between two ends.
//!
//! ```text
//! α = (low − μ)/u   β = (high − μ)/u   Z = Φ(β) − Φ(α)
//! mean = μ + u·(φ(α) − φ(β))/Z     variance = u²·[1 + (α·φ(α) − β·φ(β))/Z − ((φ(α) − φ(β))/Z)²]
//! ```
//!
//! Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1 (1994), 13.10; from memory.

use statrs::function::erf::erfc;

/// An end so many standard deviations away takes less than 1e-6 of the variance.
const FAR: f64 = 6.0;

/// An interval of so many standard deviations leaves a rectangular distribution.
const NARROW: f64 = 0.01;

/// Mean and variance of a normal distribution that is cut off outside of `low` to `high`.
pub(crate) fn truncated((mean, u): (f64, f64), (low, high): (f64, f64)) -> (f64, f64) {
    let (a, b) = ((low - mean) / u, (high - mean) / u);
    if a < -FAR && b > FAR {
        return (mean, u * u);
    }
    if b - a < NARROW {
        return (0.5 * (low + high), (high - low).powi(2) / 12.0);
    }
    let density = |x: f64| (-0.5 * x * x).exp() / (2.0 * std::f64::consts::PI).sqrt();
    // Of the side where both tails are small.
    let whole = if a > 0.0 { upper(a) - upper(b) } else { upper(-b) - upper(-a) };
    let (p, q) = (density(a) / whole, density(b) / whole);
    let (p_a, q_b) = (if a.is_finite() { a * p } else { 0.0 }, if b.is_finite() { b * q } else { 0.0 });
    (mean + u * (p - q), u * u * (1.0 + p_a - q_b - (p - q).powi(2)))
}

/// The part of a standard normal distribution above `x`.
fn upper(x: f64) -> f64 {
    0.5 * erfc(x / std::f64::consts::SQRT_2)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Moments of a truncated normal distribution against sums over 200,000 places.
    #[test]
    fn moments_of_a_truncated_normal_distribution() {
        for (mean, u, low, high) in [
            (0.0, 1.0, -0.5, 2.0),
            (3.0, 0.5, 1.0, 2.0),
            (-1.0, 2.0, -0.2, 0.1),
            (0.3, 5.0, 0.0, 0.04),
            (0.0, 0.1, -1.0, 0.2),
        ] {
            let n = 200_000;
            let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
            for k in 0..n {
                let x: f64 = low + (high - low) * (f64::from(k) + 0.5) / f64::from(n);
                let p = (-0.5 * ((x - mean) / u).powi(2)).exp();
                (sum, first, second) = (sum + p, first + p * x, second + p * x * x);
            }
            let expected = (first / sum, second / sum - (first / sum).powi(2));
            let found = truncated((mean, u), (low, high));
            assert_relative_eq!(found.0, expected.0, max_relative = 1e-4, epsilon = 1e-6);
            assert_relative_eq!(found.1, expected.1, max_relative = 2e-4);
        }
        assert_eq!(truncated((0.5, 0.01), (0.0, 1.0)), (0.5, 0.01 * 0.01));
    }
}
