//! The highest of samples with normal scatter.
//!
//! ```text
//! F(x) = Π Φ((x − μᵢ)/σᵢ)        E = ∫ x dF,   var = ∫ (x − E)² dF
//! ```
//!
//! The highest of several noisy readings is above the truth on average, the more so the more of them compete.

use crate::numerics::cancel;
use crate::quantity::format::plus_minus;
use statrs::distribution::{ContinuousCDF, Normal};
use std::fmt;

/// Steps of the integration, and how many standard deviations it reaches.
const STEPS: usize = 2000;
const REACH: f64 = 8.0;

/// Expectation and standard deviation of the highest sample.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Highest {
    /// E.
    pub mean: f64,
    /// √var.
    pub spread: f64,
}

/// The highest of independent normal samples of expectations `mean` and standard deviations `sigma`; `None` for none,
/// or where a number is not finite or a σ not above 0.
///
/// # Examples
/// ```
/// // The highest of two independent standard normal numbers: mean 1/√π, variance 1 − 1/π.
/// let highest = litdiode::maximum_power::highest_of(&[0.0, 0.0], &[1.0, 1.0]).unwrap();
/// assert!((highest.mean - 1.0 / std::f64::consts::PI.sqrt()).abs() < 1e-8);
/// assert!((highest.spread.powi(2) - (1.0 - 1.0 / std::f64::consts::PI)).abs() < 1e-8);
/// ```
pub fn highest_of(mean: &[f64], sigma: &[f64]) -> Option<Highest> {
    let normal = Normal::new(0.0, 1.0).ok()?;
    let good = |(m, s): (&f64, &f64)| m.is_finite() && s.is_finite() && *s > 0.0;
    if mean.is_empty() || mean.len() != sigma.len() || !mean.iter().zip(sigma).all(good) {
        return None;
    }
    let at = |sign: f64| mean.iter().zip(sigma).map(move |(m, s)| m + sign * REACH * s);
    let low = at(-1.0).fold(f64::NEG_INFINITY, f64::max);
    let high = at(1.0).fold(f64::NEG_INFINITY, f64::max);
    // A sample that ends below x is below it: Φ is 1 to rounding. By falling end those that count stand first.
    let mut samples: Vec<(f64, f64)> = mean.iter().copied().zip(sigma.iter().copied()).collect();
    let end = |(m, s): &(f64, f64)| m + REACH * s;
    samples.retain(|sample| end(sample) > low);
    samples.sort_by(|a, b| end(b).total_cmp(&end(a)));
    let below = |x: f64| {
        samples.iter().take_while(|s| end(s) > x).map(|(m, s)| normal.cdf((x - m) / s)).product::<f64>()
    };
    // E = high − ∫ F dx from the point where F is nothing, by Simpson's rule; the second moment likewise.
    let h = (high - low) / STEPS as f64;
    let (mut first, mut second) = (0.0, 0.0);
    for k in 0..=STEPS {
        if cancel::requested() {
            return None;
        }
        let weight = if k == 0 || k == STEPS { 1.0 } else { 2.0 + 2.0 * (k % 2) as f64 };
        let x = low + h * k as f64;
        let f = weight * below(x) * h / 3.0;
        first += f;
        second += 2.0 * (x - high) * f;
    }
    // With y = x − high: E[y] = −∫F, E[y²] = −2∫y·F.
    let variance = -second - first * first;
    Some(Highest { mean: high - first, spread: variance.max(0.0).sqrt() })
}

/// `mean ± spread`.
impl fmt::Display for Highest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&plus_minus(self.mean, Some(self.spread)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Two equal samples: mean 1/√π, variance 1 − 1/π; three: 3/(2√π). (H. A. David, Order Statistics (1981), ch. 3.)
    #[test]
    fn known_order_statistics() {
        let pi = std::f64::consts::PI;
        let two = highest_of(&[0.0; 2], &[1.0; 2]).unwrap();
        assert_relative_eq!(two.mean, 1.0 / pi.sqrt(), epsilon = 1e-9);
        assert_relative_eq!(two.spread, (1.0 - 1.0 / pi).sqrt(), epsilon = 1e-9);
        let three = highest_of(&[5.0; 3], &[2.0; 3]).unwrap();
        assert_relative_eq!(three.mean, 5.0 + 2.0 * 1.5 / pi.sqrt(), epsilon = 1e-8);
        // One that towers above the others is only itself.
        let alone = highest_of(&[10.0, 0.0, -3.0], &[0.5, 1.0, 1.0]).unwrap();
        assert_relative_eq!(alone.mean, 10.0, epsilon = 1e-8);
        assert_relative_eq!(alone.spread, 0.5, epsilon = 1e-7);
        assert_eq!(highest_of(&[], &[]), None);
    }

    /// Samples far below the highest change nothing, and all together are what a plain product over them gives.
    #[test]
    fn samples_far_below_are_left_out() {
        let mean: Vec<f64> = (0..300).map(|k| 1.0 - (f64::from(k) / 150.0 - 1.0).powi(2)).collect();
        let sigma: Vec<f64> = (0..300).map(|k| 0.01 + 1e-5 * f64::from(k)).collect();
        let found = highest_of(&mean, &sigma).unwrap();
        let normal = Normal::new(0.0, 1.0).unwrap();
        let below = |x: f64| mean.iter().zip(&sigma).map(|(m, s)| normal.cdf((x - m) / s)).product::<f64>();
        // ∫ (1 − F) from a place where F is nothing.
        let (low, high, steps) = (0.9, 1.2, 20_000);
        let h = (high - low) / f64::from(steps);
        let rest: f64 = (0..steps).map(|k| (1.0 - below(low + h * (f64::from(k) + 0.5))) * h).sum();
        assert_relative_eq!(found.mean, low + rest, max_relative = 1e-8);
    }
}
