//! How stiff a smoothing spline is to be.
//!
//! ```text
//! generalised cross-validation    λ = argmin N·χ²(λ)/(N − edf(λ))²
//! the stated noise                λ: χ²(λ) = N − edf(λ), the stiffest where there are several
//! ```
//!
//! P. Craven, G. Wahba, Numer. Math. 31 (1979) 377. Both are searched between almost a straight line and almost an
//! interpolant, on a grid in ln λ that is then refined.

use super::error::InterpolantError;
use super::points::Points;
use super::smoothing::System;
use serde::{Deserialize, Serialize};

/// Degrees of freedom above those of a line at the stiff end.
const STIFF: f64 = 1e-3;
/// Share of the degrees of freedom above a line's that is used at the loose end of cross-validation.
const LOOSE: f64 = 0.95;
/// The same for a stated noise: towards an interpolant χ² falls as λ², N − edf as λ only.
const LOOSE_STATED: f64 = 0.9999;
/// The same for a smooth that readings are compared with: it leaves half of them to tell the noise.
const LOOSE_COMPARED: f64 = 0.5;
/// Steps of the grid.
const GRID: usize = 50;
/// Steps of the grid for a guide.
const COARSE: usize = 20;
/// What a degree of freedom of a guide costs, in those of cross-validation. Of 1 to 2, the least by which windows do not
/// follow the noise, and the most that leaves 15 points their bends; by simulation.
const DEAR: f64 = 1.4;
/// Halvings of a grid step in ln λ: 2⁻⁵⁰ is rounding.
const HALVINGS: usize = 50;
/// Halvings for a limit of the grid, which needs no more than a place.
const LIMIT_HALVINGS: usize = 16;
/// Steps of the golden section: 0.618³⁶ of two grid steps; a minimum cannot be told more finely.
const SECTIONS: usize = 36;
/// The range of ln λ about its middle in which a limit is sought.
const REACH: f64 = 100.0;

/// How λ is chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub enum Penalty {
    /// By generalised cross-validation; needs no knowledge of the noise.
    #[default]
    CrossValidation,
    /// So that χ² of the stated noise equals N − edf. A straight line where even its χ² is smaller.
    StatedNoise,
    /// The given λ, 0 or more: in V³/A² where the noise is stated, else in V³ (N readings count N times).
    Lambda(f64),
}

impl Penalty {
    /// The scaled λ.
    pub(super) fn choose(self, system: &System, points: &Points) -> Result<f64, InterpolantError> {
        match self {
            Self::Lambda(lambda) => given(system, lambda),
            Self::CrossValidation => cross_validated(system, points, LOOSE),
            Self::StatedNoise if points.noise_stated() => as_noisy_as_stated(system, points),
            Self::StatedNoise => {
                let cure = "state sigma_a of the readings, or choose the penalty by cross-validation";
                Err(InterpolantError::Value { name: "penalty: stated noise", index: 0, value: 0.0, cure })
            }
        }
    }
}

/// λ by cross-validation among smooths that leave at least half of the readings' degrees of freedom to the noise.
pub(super) fn for_comparison(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    cross_validated(system, points, LOOSE_COMPARED)
}

/// By cross-validation that counts every degree of freedom [`DEAR`] times, to the step of a coarse grid: stiffer than
/// the smooth that is nearest to the curve, and quickly found.
pub(super) fn for_guide(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let (loose, stiff) = limits(system, points, LOOSE_COMPARED)?;
    let mut best = (f64::INFINITY, stiff);
    for k in 0..=COARSE {
        let t = stiff + (loose - stiff) * k as f64 / COARSE as f64;
        let trial = system.trial(t.exp(), points)?;
        let left = count - DEAR * trial.edf;
        let score = trial.chi2 / (left * left);
        if left > 0.0 && score < best.0 {
            best = (score, t);
        }
    }
    Ok(best.1.exp())
}

fn given(system: &System, lambda: f64) -> Result<f64, InterpolantError> {
    let scaled = system.scaled(lambda);
    if !(lambda >= 0.0 && scaled.is_finite()) {
        let cure = "give a finite penalty of 0 or more; a large one gives a straight line";
        return Err(InterpolantError::Value { name: "lambda", index: 0, value: lambda, cure });
    }
    Ok(scaled)
}

/// Where a function that is positive below and negative above changes sign.
fn bisect(
    [mut low, mut high]: [f64; 2],
    halvings: usize,
    positive: impl Fn(f64) -> Result<bool, InterpolantError>,
) -> Result<f64, InterpolantError> {
    for _ in 0..halvings {
        let middle = 0.5 * (low + high);
        if positive(middle)? { low = middle } else { high = middle }
    }
    Ok(0.5 * (low + high))
}

/// Scaled ln λ of the loose and of the stiff end.
fn limits(system: &System, points: &Points, share: f64) -> Result<(f64, f64), InterpolantError> {
    let middle = system.middle().ln();
    let free = points.len() as f64 - 2.0;
    let at = |edf: f64| {
        bisect([middle - REACH, middle + REACH], LIMIT_HALVINGS, |t| {
            Ok(system.degrees(t.exp()).is_ok_and(|found| found > edf))
        })
    };
    Ok((at(2.0 + share * free)?, at(2.0 + STIFF * free.min(1.0))?))
}

/// Scaled ln λ from loose to stiff.
fn grid(system: &System, points: &Points, share: f64) -> Result<Vec<f64>, InterpolantError> {
    let (loose, stiff) = limits(system, points, share)?;
    Ok((0..=GRID).map(|k| loose + (stiff - loose) * k as f64 / GRID as f64).collect())
}

fn cross_validated(system: &System, points: &Points, share: f64) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let score = |t: f64| -> Result<f64, InterpolantError> {
        let trial = system.trial(t.exp(), points)?;
        Ok(count * trial.chi2 / (count - trial.edf).powi(2))
    };
    let grid = grid(system, points, share)?;
    let scores = grid.iter().map(|t| score(*t)).collect::<Result<Vec<_>, _>>()?;
    let best = (0..scores.len()).min_by(|&a, &b| scores[a].total_cmp(&scores[b])).unwrap_or(0);
    let (mut low, mut high) = (grid[best.saturating_sub(1)], grid[(best + 1).min(GRID)]);
    for _ in 0..SECTIONS {
        let step = 0.381_966_011_250_105 * (high - low);
        if score(low + step)? <= score(high - step)? { high -= step } else { low += step }
    }
    Ok((0.5 * (low + high)).exp())
}

fn as_noisy_as_stated(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let quiet = |t: f64| -> Result<bool, InterpolantError> {
        let trial = system.trial(t.exp(), points)?;
        Ok(trial.chi2 <= count - trial.edf)
    };
    let grid = grid(system, points, LOOSE_STATED)?;
    if quiet(grid[GRID])? {
        return Ok(grid[GRID].exp());
    }
    for pair in grid.windows(2).rev() {
        if quiet(pair[0])? {
            return Ok(bisect([pair[0], pair[1]], HALVINGS, quiet)?.exp());
        }
    }
    let trial = system.trial(grid[0].exp(), points)?;
    Err(InterpolantError::NoPenalty { chi2: trial.chi2, expected: count - trial.edf })
}
