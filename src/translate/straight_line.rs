//! A straight line through points by weighted least squares, with the covariance of both coefficients.
//!
//! ```text
//! y = intercept + slope·x       minimise Σ w·(y − intercept − slope·x)²       s² = Σ w·r²/(N − 2)
//! u²(slope) = s²/Σw(x − x̄)²     u²(intercept) = s²/Σw + x̄²·u²(slope)          cov = −x̄·u²(slope)
//! ```
//!
//! The weights are relative: the uncertainties come from the scatter about the line, with N − 2 degrees of
//! freedom (JCGM 100:2008, H.3).

use super::error::TranslateError;
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::reason::Reason;

/// A fitted straight line.
///
/// # Examples
/// ```
/// use litdiode::estimate::Unit;
/// use litdiode::translate::straight_line;
/// let line = straight_line(&[0.0, 1.0, 2.0, 3.0], &[1.1, 2.9, 5.1, 6.9], None)?;
/// let slope = line.slope(Unit::One); // s² = Σr²/2 = 0.016, Σ(x − x̄)² = 5
/// assert!((slope.value - 1.96).abs() < 1e-12 && (slope.u.unwrap() - (0.016f64 / 5.0).sqrt()).abs() < 1e-12);
/// assert_eq!(slope.dof, 2.0);
/// assert!((line.at(1.5, Unit::One).value - 4.0).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Line {
    /// y at x = 0.
    pub intercept: f64,
    /// dy/dx.
    pub slope: f64,
    /// Covariance of (intercept, slope); `None` of two points, which leave no scatter.
    pub covariance: Option<[[f64; 2]; 2]>,
    /// Degrees of freedom, N − 2.
    pub dof: f64,
}

impl Line {
    /// a·intercept + b·slope with its uncertainty.
    pub fn combination(&self, a: f64, b: f64, unit: Unit) -> Estimate {
        let value = a * self.intercept + b * self.slope;
        match self.covariance {
            Some(c) => {
                let variance = a * a * c[0][0] + 2.0 * a * b * c[0][1] + b * b * c[1][1];
                Estimate::new(value, variance.max(0.0).sqrt(), unit).with_dof(self.dof)
            }
            None => Estimate::without_u(value, unit, Reason::TwoConditions).with_dof(0.0),
        }
    }

    /// Slope, in `unit`.
    pub fn slope(&self, unit: Unit) -> Estimate {
        self.combination(0.0, 1.0, unit)
    }

    /// y at `x`, in `unit`.
    pub fn at(&self, x: f64, unit: Unit) -> Estimate {
        self.combination(1.0, x, unit)
    }

    /// slope/y(x): the relative slope, in `unit`, with the correlation of both.
    pub fn relative_slope(&self, x: f64, unit: Unit) -> Estimate {
        let y = self.intercept + self.slope * x;
        let ratio = self.slope / y;
        let linear = self.combination(-ratio / y, (1.0 - ratio * x) / y, unit);
        Estimate { value: ratio, ..linear }
    }
}

/// The line through (`x`, `y`), with relative `weights` (1/u²) or equal ones.
///
/// # Errors
/// [`TranslateError`]: unequal lengths, a number that is not finite, a weight not above 0, fewer than two
/// different `x`.
///
/// # Examples
/// ```
/// let line = litdiode::translate::straight_line(&[0.0, 1.0, 2.0], &[1.0, 3.0, 5.0], None)?;
/// assert_eq!((line.intercept, line.slope), (1.0, 2.0));
/// # Ok::<(), litdiode::translate::TranslateError>(())
/// ```
pub fn straight_line(x: &[f64], y: &[f64], weights: Option<&[f64]>) -> Result<Line, TranslateError> {
    let ones = vec![1.0; x.len()];
    let w = weights.unwrap_or(&ones);
    validate(x, y, w)?;
    let total: f64 = w.iter().sum();
    let mean = |z: &[f64]| z.iter().zip(w).map(|(z, w)| w * z).sum::<f64>() / total;
    let (x_mean, y_mean) = (mean(x), mean(y));
    let (mut xx, mut xy) = (0.0, 0.0);
    for ((x, y), w) in x.iter().zip(y).zip(w) {
        xx += w * (x - x_mean).powi(2);
        xy += w * (x - x_mean) * (y - y_mean);
    }
    let slope = xy / xx;
    let rest = |x: f64, y: f64| y - y_mean - slope * (x - x_mean);
    let squares: f64 = x.iter().zip(y).zip(w).map(|((x, y), w)| w * rest(*x, *y).powi(2)).sum();
    let dof = x.len() as f64 - 2.0;
    let covariance = (dof > 0.0).then(|| {
        let scatter = squares / dof;
        let of_slope = scatter / xx;
        let cross = -x_mean * of_slope;
        [[scatter / total + x_mean * x_mean * of_slope, cross], [cross, of_slope]]
    });
    Ok(Line { intercept: y_mean - slope * x_mean, slope, covariance, dof })
}

fn validate(x: &[f64], y: &[f64], w: &[f64]) -> Result<(), TranslateError> {
    for (name, z) in [("y", y), ("weights", w)] {
        if z.len() != x.len() {
            return Err(TranslateError::Lengths { name, x: x.len(), given: z.len() });
        }
    }
    for (name, z) in [("x", x), ("y", y), ("weights", w)] {
        let bad = z.iter().find(|z| !z.is_finite() || z.abs() > 1e150 || (name == "weights" && **z <= 0.0));
        if let Some(&value) = bad {
            let cure = "give finite numbers within 1e150, weights above 0";
            return Err(TranslateError::Number { name, value, cure });
        }
    }
    if x.iter().all(|z| *z == x[0]) {
        return Err(TranslateError::TooFew { what: "x", given: x.len().min(1), needed: 2 });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// JCGM 100:2008, H.3, table H.6: calibration of a thermometer.
    #[test]
    fn thermometer_of_gum_h3() {
        let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
        let b = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160];
        let x = t.map(|t| t - 20.0);
        let line = straight_line(&x, &b, None).unwrap();
        let c = line.covariance.unwrap();
        let (y1, y2) = (line.at(0.0, Unit::Kelvin), line.slope(Unit::One));
        assert_relative_eq!(y1.value, -0.1712, epsilon = 5e-5);
        assert_relative_eq!(y1.u.unwrap(), 0.0029, epsilon = 5e-5);
        assert_relative_eq!(y2.value, 0.00218, epsilon = 5e-6);
        assert_relative_eq!(y2.u.unwrap(), 0.00067, epsilon = 5e-6);
        assert_relative_eq!(c[0][1] / (c[0][0] * c[1][1]).sqrt(), -0.930, epsilon = 5e-4);
        assert_eq!(y2.dof, 9.0);
        // H.3.4: the correction at 30 °C is −0.1494 °C with u = 0.0041 °C.
        let at = line.at(10.0, Unit::Kelvin);
        assert_relative_eq!(at.value, -0.1494, epsilon = 5e-5);
        assert_relative_eq!(at.u.unwrap(), 0.0041, epsilon = 5e-5);
    }

    /// A point of weight 2 is the same point twice in value (the scatter then has other degrees of freedom).
    #[test]
    fn weights_count_points() {
        let weighted = straight_line(&[0.0, 1.0, 2.0], &[0.0, 1.0, 5.0], Some(&[1.0, 2.0, 1.0])).unwrap();
        let twice = straight_line(&[0.0, 1.0, 1.0, 2.0], &[0.0, 1.0, 1.0, 5.0], None).unwrap();
        assert_relative_eq!(weighted.slope, twice.slope, max_relative = 1e-14);
        assert_relative_eq!(weighted.intercept, twice.intercept, epsilon = 1e-14);
    }

    #[test]
    fn broken_input_is_an_error_and_two_points_have_no_u() {
        assert!(straight_line(&[], &[], None).is_err());
        assert!(straight_line(&[1.0, 1.0], &[1.0, 2.0], None).is_err());
        assert!(straight_line(&[1.0, 2.0], &[1.0, f64::NAN], None).is_err());
        assert!(straight_line(&[1.0, 2.0], &[1.0], None).is_err());
        assert!(straight_line(&[1.0, 2.0], &[1.0, 2.0], Some(&[1.0, 0.0])).is_err());
        assert_eq!(straight_line(&[1.0, 2.0], &[1.0, 2.0], None).unwrap().slope(Unit::Ohm).u, None);
    }
}
