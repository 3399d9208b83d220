//! What the uncertainty of a figure is made of.
//!
//! ```text
//! u² = Σ uₖ²        uₖ = |∂F/∂xₖ|·u(xₖ), the source xₖ independent of the others
//! ```
//!
//! JCGM 100:2008, 5.1.2 and annex H: the table of contributions that an uncertainty rests on.

use crate::quantity::estimate::{Estimate, Name};
use crate::quantity::key_point::KeyPoint;
use crate::quantity::reason::Reason;
use std::fmt;

/// One independent source of uncertainty.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Contribution {
    /// What it is.
    pub source: String,
    /// What it alone makes of the standard uncertainty, in the unit of the figure.
    pub u: f64,
}

/// A figure and the sources of its uncertainty, the largest first; their squares add up to u².
///
/// # Examples
/// ```
/// use litdiode::budget::Budget;
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::source::Identity;
/// let lamp = Estimate::new(1.0, 0.02, Unit::One).identified(Identity::named("lamp"), "lamp calibration");
/// let meter = Estimate::new(0.03, 0.0001, Unit::Ampere).identified(Identity::named("meter"), "meter");
/// let budget = Budget::of_estimate(&lamp.times(&meter)?)?;
/// assert_eq!(budget.contributions[0].source, "lamp calibration");
/// assert!((budget.contributions[0].u - 0.02 * 0.03).abs() < 1e-12);
/// assert!((budget.share(&budget.contributions[0]) - 36.0 / 37.0).abs() < 1e-9); // 600² of 600² + 100²
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Budget {
    /// The figure.
    pub figure: Name,
    /// Its value and uncertainty.
    pub estimate: Estimate,
    /// The sources.
    pub contributions: Vec<Contribution>,
}

/// Source of what is left beside the sources that have names.
pub(crate) const SCATTER: &str = "scatter of the readings";

/// Part of u² that is rounding.
const ROUNDING: f64 = 1e-12;

impl Budget {
    /// From the variances of the sources that have names; what is left of u² is that of the scatter.
    ///
    /// Sources of one name before a bracket, such as the readings of a dark sweep, are one.
    pub(crate) fn new(figure: impl Into<Name>, estimate: Estimate, named: Vec<(String, f64)>) -> Self {
        let total = estimate.u.unwrap_or(0.0).powi(2);
        let rest = total - named.iter().map(|n| n.1).sum::<f64>();
        // Sources that are all there are leave rounding.
        let rest = if rest > ROUNDING * total { rest } else { 0.0 };
        let mut sums: Vec<(String, f64)> = vec![(SCATTER.to_owned(), rest)];
        for (name, variance) in named {
            let source = name.split(" (").next().unwrap_or(&name);
            match sums.iter_mut().find(|s| s.0 == source) {
                Some(sum) => sum.1 += variance,
                None => sums.push((source.to_owned(), variance)),
            }
        }
        sums.retain(|s| s.1 > ROUNDING * total);
        sums.sort_by(|a, b| b.1.total_cmp(&a.1));
        let contributions =
            sums.into_iter().map(|(source, v)| Contribution { source, u: v.sqrt() }).collect();
        Self { figure: figure.into(), estimate, contributions }
    }

    /// The sources that an estimate carries, which may be the result of computing with others.
    ///
    /// # Errors
    /// The reason why it has no u.
    pub fn of_estimate(estimate: &Estimate) -> Result<Self, Reason> {
        if estimate.u.is_none() {
            return Err(estimate.notes.first().cloned().unwrap_or(Reason::Unrecorded));
        }
        let named = estimate.known_sources().into_iter().map(|s| (s.name, s.u * s.u)).collect();
        Ok(Self::new("figure", estimate.clone(), named))
    }

    /// The part of u² that a contribution makes, 0 to 1.
    pub fn share(&self, contribution: &Contribution) -> f64 {
        self.estimate.u.map_or(0.0, |u| (contribution.u / u).powi(2))
    }
}

/// Variances that area and irradiance bring into a key point of this value.
pub(crate) fn of_surroundings(
    figure: KeyPoint,
    value: f64,
    (area_cm2, irradiance_w_m2): (Option<&Estimate>, Option<&Estimate>),
) -> Vec<(String, f64)> {
    let part = |name: &str, of: Option<&Estimate>| {
        Some((name.to_owned(), (of.and_then(Estimate::relative_u)? * value).powi(2)))
    };
    let area = matches!(figure, KeyPoint::Jsc | KeyPoint::Efficiency).then(|| part("area", area_cm2));
    let light = (figure == KeyPoint::Efficiency).then(|| part("irradiance", irradiance_w_m2));
    [area, light].into_iter().flatten().flatten().collect()
}

/// The figure, then a line a source: its u and its share of u².
impl fmt::Display for Budget {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.figure, self.estimate)?;
        let unit = self.estimate.unit.symbol();
        let wide = self.contributions.iter().map(|c| c.source.chars().count()).max().unwrap_or(0);
        for c in &self.contributions {
            let u = crate::quantity::format::quoted(c.u, None, unit);
            write!(f, "\n  {:<wide$}  {u:>12}  {:5.1} %", c.source, 100.0 * self.share(c))?;
        }
        Ok(())
    }
}
