//! Critical level, detection limit and quantification limit from blank readings.
//!
//! ```text
//! net signal = reading − mean of n blanks        σ₀ = s·√(1 + 1/n)
//! L_C = t₁₋α(ν)·σ₀          a net signal above it is not the blank's, but for a chance of α
//! L_D = δ(α, β, ν)·σ₀       a true signal of this size is missed with a chance of β
//! L_Q = 10·σ₀               a signal of this size has a relative standard uncertainty of 10 %
//! ```
//!
//! L. A. Currie, Anal. Chem. 40 (1968) 586, equations 4, 5 and 13 to 15; with few blanks Student's t and the non-centrality δ of
//! the non-central t distribution, P(T(ν, δ) ≤ t₁₋α) = β, in place of the normal quantiles (L. A. Currie, Pure Appl. Chem. 67
//! (1995) 1699; from memory). For a known scatter δ = z₁₋α + z₁₋β: 1.645, 3.29 and 10 σ₀ at 5 %.

use super::error::DetectionError;
use crate::numerics::roots::bracketed_newton::root_between;
use crate::quantity::estimate::{Estimate, Unit};
use statrs::distribution::{Continuous, ContinuousCDF, Normal, StudentsT};
use statrs::function::gamma::ln_gamma;
use std::fmt;

/// Part of a signal that its quantification limit leaves uncertain: 1/10.
const QUANTIFICATION: f64 = 10.0;
/// Standard deviations of √(χ²/ν) on either side of its mean that hold all of it, and Simpson steps over them.
const REACH: f64 = 12.0;
const STEPS: usize = 400;

/// The limits of a signal that is read against a blank.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Limits {
    /// Mean of the blank readings with its standard uncertainty: what is to be subtracted.
    pub blank: Estimate,
    /// Scatter of one reading, σ, with the standard uncertainty that so few readings leave it.
    pub scatter: Estimate,
    /// Net signal above which something is there.
    pub critical: Estimate,
    /// Smallest true signal that is found but for a chance of β.
    pub detection: Estimate,
    /// Smallest signal with a relative standard uncertainty of 10 %.
    pub quantification: Estimate,
    /// Chance of finding what is not there.
    pub alpha: f64,
    /// Chance of missing what is there.
    pub beta: f64,
}

/// Limits from `readings` of nothing (in the dark, the cell replaced by an open or a short), all taken as one reading of the
/// signal will be.
///
/// # Errors
/// [`DetectionError`] for fewer than two readings, readings that are no numbers or all equal, and chances outside 0 to ½.
///
/// # Examples
/// ```
/// use litdiode::{detection::limits_of_blank, estimate::Unit};
/// let blank = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6];  // invented, in A
/// let limits = limits_of_blank(&blank, Unit::Ampere, 0.05, 0.05)?;
/// assert!(limits.critical.value < limits.detection.value && limits.detection.value < limits.quantification.value);
/// # Ok::<(), litdiode::detection::DetectionError>(())
/// ```
pub fn limits_of_blank(
    readings: &[f64],
    unit: Unit,
    alpha: f64,
    beta: f64,
) -> Result<Limits, DetectionError> {
    let n = readings.len();
    if n < 2 {
        return Err(DetectionError::FewBlanks { readings: n });
    }
    if let Some(index) = readings.iter().position(|x| !x.is_finite()) {
        let (value, cure) = (readings[index], "give finite readings");
        return Err(DetectionError::Number { name: "blank", index: Some(index), value, cure });
    }
    let mean = readings.iter().sum::<f64>() / n as f64;
    let dof = (n - 1) as f64;
    let s = (readings.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / dof).sqrt();
    if readings.iter().all(|x| *x == readings[0]) {
        return Err(DetectionError::NoScatter { readings: n, value: mean });
    }
    limits((mean, s), (n, dof), unit, (alpha, beta))
}

/// Limits where the scatter of one reading is known, and `blanks` readings were averaged for the blank.
///
/// # Errors
/// [`DetectionError::Number`] for a scatter that is not above 0, no blank reading, and chances outside 0 to ½.
///
/// # Examples
/// ```
/// use litdiode::{detection::limits_of_known_blank, estimate::Unit};
/// // L. A. Currie, Anal. Chem. 40 (1968) 586: 1.645·σ₀, 3.29·σ₀, 10·σ₀; the mean of many blanks takes σ₀ to σ.
/// let limits = limits_of_known_blank(0.0, 1e-6, 1_000_000, Unit::Ampere, (0.05, 0.05))?;
/// assert!((limits.critical.value - 1.645e-6).abs() < 1e-9);
/// assert!((limits.detection.value - 3.290e-6).abs() < 1e-9);
/// assert!((limits.quantification.value - 1e-5).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn limits_of_known_blank(
    mean: f64,
    scatter: f64,
    blanks: usize,
    unit: Unit,
    (alpha, beta): (f64, f64),
) -> Result<Limits, DetectionError> {
    if !(scatter.is_finite() && scatter > 0.0) {
        let cure = "give the standard deviation of one reading, above 0";
        return Err(DetectionError::Number { name: "scatter", index: None, value: scatter, cure });
    }
    if blanks == 0 {
        let cure = "give the number of blank readings behind the mean, 1 or more";
        return Err(DetectionError::Number { name: "blanks", index: None, value: 0.0, cure });
    }
    limits((mean, scatter), (blanks, f64::INFINITY), unit, (alpha, beta))
}

fn limits(
    (mean, s): (f64, f64),
    (n, dof): (usize, f64),
    unit: Unit,
    (alpha, beta): (f64, f64),
) -> Result<Limits, DetectionError> {
    for (name, value) in [("alpha", alpha), ("beta", beta)] {
        if !(value > 0.0 && value < 0.5) {
            let cure = "give a chance between 0 and 0.5, such as 0.05";
            return Err(DetectionError::Number { name, index: None, value, cure });
        }
    }
    let net = s * (1.0 + 1.0 / n as f64).sqrt();
    // Relative standard uncertainty of a standard deviation: 1/√(2ν).
    let share = if dof.is_finite() { 1.0 / (2.0 * dof).sqrt() } else { 0.0 };
    let of = |factor: f64| {
        let value = factor * net;
        Estimate::new(value, share * value, unit).with_dof(dof)
    };
    let t = quantile(1.0 - alpha, dof);
    Ok(Limits {
        blank: Estimate::new(mean, s / (n as f64).sqrt(), unit).with_dof(dof),
        scatter: Estimate::new(s, share * s, unit).with_dof(dof),
        critical: of(t),
        detection: of(non_centrality(t, beta, dof)),
        quantification: of(QUANTIFICATION),
        alpha,
        beta,
    })
}

fn quantile(p: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return Normal::standard().inverse_cdf(p);
    }
    StudentsT::new(0.0, 1.0, dof).map_or(f64::INFINITY, |t| t.inverse_cdf(p))
}

/// δ with P(T(ν, δ) ≤ t) = β, by bisection: the probability falls with δ.
fn non_centrality(t: f64, beta: f64, dof: f64) -> f64 {
    if dof.is_infinite() {
        return t + Normal::standard().inverse_cdf(1.0 - beta);
    }
    root_between(0.0, 4.0 * t + 20.0, |delta| {
        let (missed, slope) = missed(t, delta, dof);
        (missed - beta, slope)
    })
}

/// P(T(ν, δ) ≤ t) = ∫ Φ(t·x − δ)·f(x) dx, f the density of x = √(χ²/ν), by Simpson's rule; and its derivative by δ.
fn missed(t: f64, delta: f64, dof: f64) -> (f64, f64) {
    let normal = Normal::standard();
    let half = 0.5 * dof;
    let log_constant = half * half.ln() + std::f64::consts::LN_2 - ln_gamma(half);
    let density = |x: f64| {
        if x <= 0.0 {
            return if dof == 1.0 { log_constant.exp() } else { 0.0 };
        }
        (log_constant + (dof - 1.0) * x.ln() - half * x * x).exp()
    };
    let spread = 1.0 / (2.0 * dof).sqrt();
    let (low, high) = ((1.0 - REACH * spread).max(0.0), 1.0 + REACH * spread);
    let step = (high - low) / STEPS as f64;
    let weight = |k: usize| if k == 0 || k == STEPS { 1.0 } else { f64::from(2 + 2 * (k as u32 % 2)) };
    let (mut sum, mut slope) = (0.0, 0.0);
    for k in 0..=STEPS {
        let x = low + step * k as f64;
        let (at, part) = (t * x - delta, weight(k) * density(x) * step / 3.0);
        sum += normal.cdf(at) * part;
        slope -= normal.pdf(at) * part;
    }
    (sum, slope)
}

/// The three limits, a line each.
impl fmt::Display for Limits {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent =
            |p: f64| format!("{:.3}", 100.0 * p).trim_end_matches('0').trim_end_matches('.').to_owned();
        writeln!(
            f,
            "critical level        {}  (above it a signal is there; wrong in {} %)",
            self.critical,
            percent(self.alpha)
        )?;
        writeln!(
            f,
            "detection limit       {}  (a signal of this size is missed in {} %)",
            self.detection,
            percent(self.beta)
        )?;
        write!(f, "quantification limit  {}  (a signal of this size is known to 10 %)", self.quantification)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Currie 1968, table I (from memory): paired observations 2.33, 4.65 and 14.1 σ of the blank, a well-known blank
    /// 1.645, 3.29 and 10.
    #[test]
    fn limits_of_currie_1968() {
        for (blanks, critical, detection, quantification) in
            [(1, 2.33, 4.65, 14.1), (1_000_000_000, 1.645, 3.29, 10.0)]
        {
            let limits = limits_of_known_blank(0.0, 1.0, blanks, Unit::Ampere, (0.05, 0.05)).unwrap();
            assert_relative_eq!(limits.critical.value, critical, epsilon = 0.005);
            assert_relative_eq!(limits.detection.value, detection, epsilon = 0.005);
            assert_relative_eq!(limits.quantification.value, quantification, epsilon = 0.05);
        }
    }

    /// scipy.stats.nct: `brentq(lambda d: nct.cdf(t.ppf(0.95, nu), nu, d) - 0.05, 0, 30)`.
    #[test]
    fn non_centralities_are_those_of_scipy() {
        for (dof, delta) in
            [(1.0, 12.528_978_087), (4.0, 4.067_275_641), (9.0, 3.575_384_835), (24.0, 3.387_493_390)]
        {
            let t = quantile(0.95, dof);
            assert_relative_eq!(non_centrality(t, 0.05, dof), delta, max_relative = 2e-6);
        }
    }

    #[test]
    fn what_gives_no_limits_is_refused() {
        let of = |readings: &[f64]| limits_of_blank(readings, Unit::Volt, 0.05, 0.05);
        assert!(matches!(of(&[1.0]), Err(DetectionError::FewBlanks { readings: 1 })));
        assert!(matches!(of(&[1.0, f64::NAN]), Err(DetectionError::Number { index: Some(1), .. })));
        assert!(matches!(of(&[0.1, 0.1, 0.1]), Err(DetectionError::NoScatter { readings: 3, .. })));
        assert!(limits_of_blank(&[1.0, 2.0], Unit::Volt, 0.7, 0.05).is_err());
        assert!(limits_of_known_blank(0.0, 0.0, 3, Unit::Volt, (0.05, 0.05)).is_err());
    }
}
