//! Readings of a reference device against its known figure: does the rig read right, and does it drift?
//!
//! ```text
//! bias   b = x̄/X − 1          E_n = (x̄ − X)/√(U² + U_ref²)     |E_n| ≤ 1 passes, U = 2u
//! drift  x/X = c + d·t        by least squares, Student's t with n − 2 degrees of freedom
//! ```
//!
//! E_n after ISO 13528:2022, 9.7 (from memory), with coverage factor 2. The uncertainty of the mean holds what the readings have in
//! common whole, and of the scatter between them the larger of what they state and what they show.

use crate::quantity::arithmetic::ArithmeticError;
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::source::Identity;
use std::fmt;

/// Coverage factor of the expanded uncertainties.
const EXPANDED: f64 = 2.0;
/// Readings that show a drift.
const FEWEST: usize = 3;
/// Level at which a drift is one.
const LEVEL: f64 = 0.95;

/// Why there is no check.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CheckError {
    /// Nothing was measured.
    #[error("measured is empty: pass at least one figure of the reference device")]
    Empty,
    /// A figure without u says nothing of its bias.
    #[error("{name}{} has no u: an E_n score needs the uncertainty of both", index.map_or(String::new(), |k| format!("[{k}]")))]
    NoUncertainty {
        /// The argument.
        name: &'static str,
        /// Its place among several.
        index: Option<usize>,
    },
    /// As many times as figures are needed.
    #[error("time_h has {times} entries and measured {figures}: one time a figure is needed")]
    Lengths {
        /// Times.
        times: usize,
        /// Figures.
        figures: usize,
    },
    /// A time that is no number.
    #[error("time_h[{index}] = {value}: give finite times in hours")]
    Time {
        /// Its place.
        index: usize,
        /// What was given.
        value: f64,
    },
    /// Units differ, or the reference is 0.
    #[error(transparent)]
    Arithmetic(#[from] ArithmeticError),
}

/// What readings of a reference device say of a rig.
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::instrument_check::check_instrument;
/// let read = [1.000, 1.010, 1.020, 1.030].map(|x| Estimate::new(x, 0.001, Unit::Ampere)); // invented: 1 % an hour
/// let reference = Estimate::new(1.015, 0.010, Unit::Ampere);
/// let found = check_instrument(&read, &reference, Some(&[0.0, 1.0, 2.0, 3.0]))?;
/// assert!(found.passes() && found.drifts());
/// assert!((found.drift.unwrap().value - 0.01 / 1.015).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct InstrumentCheck {
    /// Mean of what was measured.
    pub mean: Estimate,
    /// The known figure.
    pub reference: Estimate,
    /// x̄/X − 1, a share.
    pub bias: Estimate,
    /// E_n.
    pub en: f64,
    /// Relative drift per hour, where times were given and there are three readings or more.
    pub drift: Option<Estimate>,
    /// How many times more than stated the readings scatter, where that raised the uncertainty.
    pub scatter_times: Option<f64>,
}

impl InstrumentCheck {
    /// Whether |E_n| ≤ 1.
    pub fn passes(&self) -> bool {
        self.en.abs() <= 1.0
    }

    /// Whether the 95 % interval of the drift leaves 0 out.
    pub fn drifts(&self) -> bool {
        let outside = |e: &Estimate| {
            let interval = e.interval(LEVEL);
            interval.low.is_some_and(|low| low > 0.0) || interval.high.is_some_and(|high| high < 0.0)
        };
        self.drift.as_ref().is_some_and(outside)
    }
}

/// Checks `measured` figures of a reference device against its `reference`; `time_h` are the times of the readings in hours.
///
/// # Errors
/// [`CheckError`] naming what is missing or does not fit.
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::instrument_check::check_instrument;
/// let read = [1.017, 1.018, 1.019].map(|x| Estimate::new(x, 0.003, Unit::Ampere)); // invented
/// let found = check_instrument(&read, &Estimate::new(1.0, 0.002, Unit::Ampere), None)?;
/// assert!((found.bias.value - 0.018).abs() < 1e-12);
/// let u_mean = 0.003 / 3f64.sqrt();
/// assert!((found.en - 0.018 / (2.0 * u_mean.hypot(0.002))).abs() < 1e-9 && !found.passes());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn check_instrument(
    measured: &[Estimate],
    reference: &Estimate,
    time_h: Option<&[f64]>,
) -> Result<InstrumentCheck, CheckError> {
    if measured.is_empty() {
        return Err(CheckError::Empty);
    }
    if let Some(index) = measured.iter().position(|x| x.u.is_none()) {
        return Err(CheckError::NoUncertainty { name: "measured", index: Some(index) });
    }
    if reference.u.is_none() {
        return Err(CheckError::NoUncertainty { name: "reference", index: None });
    }
    let (mean, scatter_times) = mean(measured)?;
    let one = Estimate::new(1.0, 0.0, Unit::One);
    let bias = mean.over(reference)?.minus(&one)?;
    let difference = mean.minus(reference)?;
    let u = difference.u.unwrap_or(0.0);
    let en = match difference.value {
        0.0 => 0.0,
        value if u > 0.0 => value / (EXPANDED * u),
        value => f64::INFINITY.copysign(value),
    };
    let drift = time_h.map_or(Ok(None), |time| drift(measured, reference.value, time))?;
    Ok(InstrumentCheck { mean, reference: reference.clone(), bias, en, drift, scatter_times })
}

/// The mean, its scatter the larger of what the figures state and what they show.
fn mean(measured: &[Estimate]) -> Result<(Estimate, Option<f64>), ArithmeticError> {
    let n = measured.len();
    let sum = measured[1..].iter().try_fold(measured[0].clone(), |sum, x| sum.plus(x))?;
    let mean = sum.scaled(1.0 / n as f64)?;
    if n < 2 {
        return Ok((mean, None));
    }
    // What the figures do not share: the variance of their differences from the mean.
    let apart = |x: &Estimate| Ok::<f64, ArithmeticError>(x.minus(&mean)?.u.unwrap_or(0.0).powi(2));
    let stated = measured.iter().map(apart).sum::<Result<f64, _>>()?;
    let shown: f64 = measured.iter().map(|x| (x.value - mean.value).powi(2)).sum();
    if shown <= stated {
        return Ok((mean, None));
    }
    // s²/n with n − 1 degrees of freedom for the whole of the scatter, of which a part is in the mean already.
    let (more, all) = ((shown - stated) / ((n - 1) * n) as f64, shown / ((n - 1) * n) as f64);
    let extra = Estimate::new(0.0, more.sqrt(), mean.unit)
        .with_dof((n - 1) as f64 * (more / all).powi(2))
        .identified(Identity::distinct(), "scatter between the readings");
    let times = (stated > 0.0).then(|| (shown / stated).sqrt());
    Ok((mean.plus(&extra)?, times))
}

fn drift(measured: &[Estimate], reference: f64, time: &[f64]) -> Result<Option<Estimate>, CheckError> {
    let n = measured.len();
    if time.len() != n {
        return Err(CheckError::Lengths { times: time.len(), figures: n });
    }
    if let Some(index) = time.iter().position(|t| !t.is_finite()) {
        return Err(CheckError::Time { index, value: time[index] });
    }
    let at = time.iter().sum::<f64>() / n as f64;
    let x: Vec<f64> = time.iter().map(|t| t - at).collect();
    let squares: f64 = x.iter().map(|x| x * x).sum();
    if n < FEWEST || squares == 0.0 {
        return Ok(None);
    }
    let y: Vec<f64> = measured.iter().map(|m| m.value / reference).collect();
    let level = y.iter().sum::<f64>() / n as f64;
    let slope = x.iter().zip(&y).map(|(x, y)| x * (y - level)).sum::<f64>() / squares;
    let rest: f64 = x.iter().zip(&y).map(|(x, y)| (y - level - slope * x).powi(2)).sum();
    let dof = (n - 2) as f64;
    let u = (rest / dof / squares).sqrt();
    Ok(Some(Estimate::new(slope, u, Unit::PerHour).with_dof(dof)))
}

/// One sentence: `the rig reads (1.80 ± 0.30) % high (E_n = 3.0, does not pass)`.
impl fmt::Display for InstrumentCheck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let percent = |e: &Estimate| {
            crate::quantity::format::quoted(100.0 * e.value.abs(), e.u.map(|u| 100.0 * u), "%")
        };
        let side = if self.bias.value < 0.0 { "low" } else { "high" };
        let verdict =
            if self.passes() { "passes: no bias beyond the uncertainties" } else { "does not pass" };
        write!(f, "the rig reads {} {side} (E_n = {:.2}, {verdict})", percent(&self.bias), self.en)?;
        if let Some(drift) = &self.drift {
            let way = if drift.value < 0.0 { "falling" } else { "rising" };
            if self.drifts() {
                write!(f, "; it drifts, {way} by {} an hour", percent(drift))?;
            } else {
                write!(f, "; no drift is seen ({way} by {} an hour)", percent(drift))?;
            }
        }
        if let Some(times) = self.scatter_times {
            write!(f, "; the readings scatter {times:.1} times what they state, which is in the ±")?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn figure(value: f64, u: f64) -> Estimate {
        Estimate::new(value, u, Unit::Ampere).identified(Identity::distinct(), "invented")
    }

    /// By hand: mean 1.018 ± 0.003/√3, reference 1.000 ± 0.002; E_n = 0.018/(2·√(0.003²/3 + 0.002²)).
    #[test]
    fn bias_and_score_by_hand() {
        let measured = [figure(1.017, 0.003), figure(1.018, 0.003), figure(1.019, 0.003)];
        let check = check_instrument(&measured, &figure(1.0, 0.002), None).unwrap();
        assert_relative_eq!(check.bias.value, 0.018, max_relative = 1e-12);
        let u = (0.003f64.powi(2) / 3.0 + 0.002f64.powi(2)).sqrt();
        assert_relative_eq!(check.en, 0.018 / (2.0 * u), max_relative = 1e-9);
        assert!(!check.passes() && check.to_string().contains("% high"), "{check}");
    }

    /// A calibration that all readings share is not averaged away, and is not counted as their scatter.
    #[test]
    fn what_is_common_is_kept_whole() {
        let gain = Estimate::new(1.0, 0.01, Unit::One).identified(Identity::named("meter"), "meter");
        let of = |x: f64| figure(x, 1e-4).times(&gain).unwrap();
        let check = check_instrument(&[of(1.0), of(1.0001), of(0.9999)], &figure(1.0, 1e-3), None).unwrap();
        assert_relative_eq!(check.mean.u.unwrap(), 0.01, max_relative = 1e-3);
        assert!(check.scatter_times.is_none() && check.passes());
    }

    /// The straight line through three points has slope 0.01 an hour and a residual of ±0.001·(1, −2, 1)/3.
    #[test]
    fn drift_by_hand() {
        let measured = [figure(1.001, 0.001), figure(1.008, 0.001), figure(1.021, 0.001)];
        let check = check_instrument(&measured, &figure(1.0, 0.001), Some(&[0.0, 1.0, 2.0])).unwrap();
        let drift = check.drift.unwrap();
        assert_relative_eq!(drift.value, 0.01, max_relative = 1e-12);
        assert_relative_eq!(drift.u.unwrap(), (6.0 * 0.001f64.powi(2) / 2.0).sqrt(), max_relative = 1e-9);
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        let reference = figure(1.0, 0.01);
        assert_eq!(check_instrument(&[], &reference, None), Err(CheckError::Empty));
        let bare = Estimate::without_u(1.0, Unit::Ampere, "none");
        let found = check_instrument(&[figure(1.0, 0.1), bare], &reference, None).unwrap_err();
        assert!(found.to_string().starts_with("measured[1] has no u"), "{found}");
        let volt = Estimate::new(1.0, 0.1, Unit::Volt);
        assert!(matches!(check_instrument(&[volt], &reference, None), Err(CheckError::Arithmetic(_))));
        assert!(check_instrument(std::slice::from_ref(&reference), &reference, Some(&[0.0, 1.0])).is_err());
    }
}
