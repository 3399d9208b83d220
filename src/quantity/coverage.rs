//! How many standard uncertainties an interval reaches: Student's t.

use statrs::distribution::{ContinuousCDF, Normal, StudentsT};

/// A probability that no interval has.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[error("level = {level} is not between 0 and 1; pass for instance 0.95")]
#[non_exhaustive]
pub struct LevelError {
    /// What was given.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub level: f64,
}

/// Student's t for a two-sided interval at `level` with `dof` degrees of freedom.
///
/// The normal quantile for infinite `dof`; infinite for `dof` ≤ 0 (nothing is known of the spread).
///
/// # Errors
/// [`LevelError`] for a `level` that is not between 0 and 1.
///
/// # Examples
/// ```
/// use litdiode::estimate::coverage_factor;
/// assert!((coverage_factor(0.95, f64::INFINITY)? - 1.959964).abs() < 1e-6);
/// assert!((coverage_factor(0.95, 5.0)? - 2.570582).abs() < 1e-6); // JCGM 100:2008, table G.2: 2.57
/// assert!(coverage_factor(1.0, 5.0).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn coverage_factor(level: f64, dof: f64) -> Result<f64, LevelError> {
    if level > 0.0 && level < 1.0 { Ok(student_t(level, dof)) } else { Err(LevelError { level }) }
}

/// Degrees of freedom below which t, (2/(1 − level))^(1/dof) in order of magnitude, is beyond any use.
const FEWEST: f64 = 1e-2;

/// Degrees of freedom from which t is expanded about the normal quantile, where the incomplete beta function loses its digits.
const MANY: f64 = 1e4;

/// t = z + (z³ + z)/(4ν) + (5z⁵ + 16z³ + 3z)/(96ν²) + O(ν⁻³): M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions
/// (1964), 26.7.5.
fn of_many(z: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return z;
    }
    let z2 = z * z;
    z + z * (z2 + 1.0) / (4.0 * dof) + z * ((5.0 * z2 + 16.0) * z2 + 3.0) / (96.0 * dof * dof)
}

/// The same for a level that is known to be one.
pub(crate) fn student_t(level: f64, dof: f64) -> f64 {
    let p = 0.5 + 0.5 * level;
    if dof.is_nan() || dof < FEWEST {
        return f64::INFINITY;
    }
    if dof > MANY {
        return of_many(Normal::standard().inverse_cdf(p), dof);
    }
    StudentsT::new(0.0, 1.0, dof).map_or(f64::INFINITY, |t| t.inverse_cdf(p))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// GUM (JCGM 100:2008) table G.2: t_95 for 1, 5, 10, 20 and infinitely many degrees of freedom.
    #[test]
    fn coverage_factors_of_gum_table_g2() {
        for (dof, t) in [(1.0, 12.71), (5.0, 2.57), (10.0, 2.23), (20.0, 2.09), (f64::INFINITY, 1.96)] {
            assert_relative_eq!(coverage_factor(0.95, dof).unwrap(), t, epsilon = 0.005);
        }
    }

    /// scipy.stats.t.ppf(0.975, dof) and (0.84135, dof) with 50 digits by mpmath; falls steadily to the normal quantile.
    #[test]
    fn coverage_factors_of_many_degrees_of_freedom() {
        for (dof, t) in [(2e4, 1.960_082_605_158), (1e6, 1.959_966_356_814), (1e7, 1.959_964_221_767)] {
            assert_relative_eq!(coverage_factor(0.95, dof).unwrap(), t, max_relative = 1e-9);
        }
        let all: Vec<f64> =
            (0..400).map(|k| student_t(0.95, 10f64.powf(2.0 + 0.02 * f64::from(k)))).collect();
        assert!(all.windows(2).all(|w| w[0] >= w[1]), "{all:?}");
    }

    /// Fewer degrees of freedom than any scatter has, which a stored estimate may hold all the same.
    #[test]
    fn hardly_any_degrees_of_freedom_give_an_infinite_factor() {
        for dof in [0.0, 5e-324, 1e-300, 9e-3, -1.0, f64::NAN] {
            assert_eq!(coverage_factor(0.95, dof), Ok(f64::INFINITY), "{dof}");
        }
        assert!(coverage_factor(0.95, 0.1).unwrap() > 1e6);
    }

    #[test]
    fn a_level_that_is_none_is_refused() {
        for level in [2.0, -5.0, 0.0, 1.0, f64::NAN, f64::INFINITY] {
            let error = coverage_factor(level, 10.0).unwrap_err();
            assert!(error.to_string().starts_with(&format!("level = {level}")), "{error}");
        }
    }
}
