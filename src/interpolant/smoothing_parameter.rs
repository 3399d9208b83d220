//! How stiff a smoothing spline is to be.
//!
//! ```text
//! cross-validation    ln λ = 0.7·ln λ₁ + 0.3·ln λ₂      λ₁ = argmin N·χ²(λ)/(N − c·edf(λ))²,   c = 1.2
//!                     λ₂ = argmin (N − 2)·ln(χ² + λ∫ρs″²) + ln det(R + λQᵀW⁻¹Q) − (n − 2)·ln λ
//! the stated noise    λ: χ²(λ) = N − edf(λ), the stiffest where there are several
//! ```
//!
//! N readings at n voltages. λ₁: generalised cross-validation (P. Craven, G. Wahba, Numer. Math. 31 (1979) 377) with a
//! degree of freedom counted c-fold (common practice); λ₂: restricted maximum likelihood (G. Wahba, Ann. Stat. 13 (1985)
//! 1378; from memory). With c = 1 and a constant ρ one sweep in five is left all but unsmoothed. λ₁ is nearer to the curve,
//! λ₂ steadier from sweep to sweep and lower where the curve bends sharply against its noise. c and the share of λ₂ were
//! chosen by simulation (`tests/interpolant/smooth.rs` with `LITDIODE_SMOOTHS_TUNING`; c from 1 to 1.4, shares from 0 to 0.5) for the
//! least error with bands that hold. All are searched between almost a straight line and almost an interpolant, on a
//! grid in ln λ that is then refined.

use super::error::InterpolantError;
use super::penalised_system::{System, Trial};
use super::points::Points;

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
/// Steps of the grid of two criteria, whose mean is taken.
const GRID_OF_TWO: usize = 25;
/// Steps of the grid for a guide.
const COARSE: usize = 20;
/// c: what a degree of freedom costs, in those of generalised cross-validation.
const COST: f64 = 1.2;
/// Share of the restricted likelihood in ln λ.
const REML_SHARE: f64 = 0.3;
/// What a degree of freedom of a guide costs. Of 1 to 2, the least by which windows do not follow the noise, and the most
/// that leaves 15 points their bends; by simulation.
const GUIDE_COST: f64 = 1.4;
/// Halvings of a grid step in ln λ: 2⁻⁵⁰ is rounding.
const HALVINGS: usize = 50;
/// Halvings for a limit of the grid, which needs no more than a place.
const LIMIT_HALVINGS: usize = 16;
/// Steps of the golden section: 0.618³⁶ of two grid steps; a minimum cannot be told more finely.
const SECTIONS: usize = 36;
/// The same for two criteria, far apart against 0.618¹⁴ of two grid steps.
const SECTIONS_OF_TWO: usize = 14;
/// What remains of an interval in a step of the golden section.
const GOLDEN: f64 = 0.618_033_988_749_895;
/// The range of ln λ about its middle in which a limit is sought.
const REACH: f64 = 100.0;

/// How λ is chosen.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Penalty {
    /// By generalised cross-validation and restricted likelihood; needs no knowledge of the noise.
    #[default]
    CrossValidation,
    /// So that χ² of the stated noise equals N − edf. A straight line where even its χ² is smaller.
    StatedNoise,
    /// The given λ, 0 or more: in V³/A² where the noise is stated, else in V³ (N readings count N times). ρ is 1: the λ of a
    /// smooth that was chosen gives another one here.
    Lambda(f64),
}

impl Penalty {
    /// The scaled λ.
    pub(super) fn choose(self, system: &System, points: &Points) -> Result<f64, InterpolantError> {
        match self {
            Self::Lambda(lambda) => given(system, lambda),
            Self::CrossValidation => balanced(system, points),
            Self::StatedNoise if points.noise_stated() => as_noisy_as_stated(system, points),
            Self::StatedNoise => {
                let cure = "state sigma_a of the readings, or choose the penalty by cross-validation";
                Err(InterpolantError::Value { name: "penalty: stated noise", index: 0, value: 0.0, cure })
            }
        }
    }
}

/// λ by plain cross-validation among smooths that leave at least half of the readings' degrees of freedom to the noise.
pub(super) fn for_comparison(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    cross_validated(system, points, LOOSE_COMPARED)
}

/// By cross-validation that counts every degree of freedom [`GUIDE_COST`] times, to the step of a coarse grid: stiffer than
/// the smooth that is nearest to the curve, and quickly found.
pub(super) fn for_guide(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let (loose, stiff) = limits(system, points, LOOSE_COMPARED)?;
    let mut best = (f64::INFINITY, stiff);
    for k in 0..=COARSE {
        let t = stiff + (loose - stiff) * k as f64 / COARSE as f64;
        let score = crossed(&system.trial(t.exp(), points)?, count, GUIDE_COST);
        if score < best.0 {
            best = (score, t);
        }
    }
    Ok(best.1.exp())
}

/// N·χ²/(N − cost·edf)², infinite where no degrees of freedom are left.
fn crossed(trial: &Trial, count: f64, cost: f64) -> f64 {
    let left = count - cost * trial.edf;
    if left > 0.0 { count * trial.chi2 / (left * left) } else { f64::INFINITY }
}

/// −2 ln of the restricted likelihood, its scale the most likely one, less what is the same for all λ.
fn restricted(trial: &Trial, count: f64, inner: f64, t: f64) -> f64 {
    (count - 2.0) * trial.penalised.ln() + trial.ln_determinant - inner * t
}

/// λ between those of cross-validation and of the restricted likelihood.
pub(super) fn balanced(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    let (count, inner) = (points.readings() as f64, points.len() as f64 - 2.0);
    let grid = grid(system, points, LOOSE, GRID_OF_TWO)?;
    let trials = grid.iter().map(|t| system.trial(t.exp(), points)).collect::<Result<Vec<_>, _>>()?;
    let scores = |score: &dyn Fn(&Trial, f64) -> f64| {
        let scores: Vec<f64> = trials.iter().zip(&grid).map(|(trial, t)| score(trial, *t)).collect();
        least(&grid, &scores, SECTIONS_OF_TWO, |t| Ok(score(&system.trial(t.exp(), points)?, t)))
    };
    let first = scores(&|trial, _| crossed(trial, count, COST))?;
    let second = scores(&|trial, t| restricted(trial, count, inner, t))?;
    Ok(((1.0 - REML_SHARE) * first + REML_SHARE * second).exp())
}

/// Where a score is least: about the best of a grid by the golden section.
fn least(
    grid: &[f64],
    scores: &[f64],
    sections: usize,
    score: impl Fn(f64) -> Result<f64, InterpolantError>,
) -> Result<f64, InterpolantError> {
    let best = (0..scores.len()).min_by(|&a, &b| scores[a].total_cmp(&scores[b])).unwrap_or(0);
    let (mut low, mut high) = (grid[best.saturating_sub(1)], grid[(best + 1).min(grid.len() - 1)]);
    let places = |low: f64, high: f64| (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (left, right) = places(low, high);
    let (mut at_left, mut at_right) = (score(left)?, score(right)?);
    for _ in 0..sections {
        let (left, right) = places(low, high);
        if at_left <= at_right {
            high = right;
            (at_left, at_right) = (score(places(low, high).0)?, at_left);
        } else {
            low = left;
            (at_left, at_right) = (at_right, score(places(low, high).1)?);
        }
    }
    Ok(0.5 * (low + high))
}

fn given(system: &System, lambda: f64) -> Result<f64, InterpolantError> {
    let scaled = system.scaled(lambda);
    if !(lambda >= 0.0 && scaled.is_finite()) {
        let cure = "give a finite penalty of 0 or more; a large one gives a straight line";
        return Err(InterpolantError::Value { name: "penalty", index: 0, value: lambda, cure });
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

/// Scaled ln λ of the loose and of the stiff end; for very many points the stiff end is the largest λ that a double resolves.
fn limits(system: &System, points: &Points, share: f64) -> Result<(f64, f64), InterpolantError> {
    let middle = system.middle().ln();
    let free = points.len() as f64 - 2.0;
    let at = |edf: f64| {
        bisect([middle - REACH, middle + REACH], LIMIT_HALVINGS, |t| {
            Ok(system.degrees(t.exp()).is_some_and(|found| found > edf))
        })
    };
    Ok((at(2.0 + share * free)?, at(2.0 + STIFF * free.min(1.0))?))
}

/// Scaled ln λ from loose to stiff.
fn grid(system: &System, points: &Points, share: f64, steps: usize) -> Result<Vec<f64>, InterpolantError> {
    let (loose, stiff) = limits(system, points, share)?;
    Ok((0..=steps).map(|k| loose + (stiff - loose) * k as f64 / steps as f64).collect())
}

/// Generalised cross-validation.
fn cross_validated(system: &System, points: &Points, share: f64) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let score = |t: f64| -> Result<f64, InterpolantError> {
        Ok(crossed(&system.trial(t.exp(), points)?, count, 1.0))
    };
    let grid = grid(system, points, share, GRID)?;
    let scores = grid.iter().map(|t| score(*t)).collect::<Result<Vec<_>, _>>()?;
    Ok(least(&grid, &scores, SECTIONS, score)?.exp())
}

fn as_noisy_as_stated(system: &System, points: &Points) -> Result<f64, InterpolantError> {
    let count = points.readings() as f64;
    let quiet = |t: f64| -> Result<bool, InterpolantError> {
        let trial = system.trial(t.exp(), points)?;
        Ok(trial.chi2 <= count - trial.edf)
    };
    let grid = grid(system, points, LOOSE_STATED, GRID)?;
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented readings: ln cosh with alternating noise.
    fn points() -> Points {
        let v: Vec<f64> = (0..30).map(|k| 0.02 * f64::from(k) + 0.003 * f64::from(k * k % 5)).collect();
        let noise = |k: usize| 2e-3 * (((k * 7919) % 13) as f64 - 6.0);
        let i: Vec<f64> =
            v.iter().enumerate().map(|(k, v)| -(6.0 * v - 2.0).cosh().ln() + noise(k)).collect();
        Points::new(&v, &i).unwrap()
    }

    /// At the optimum of the restricted likelihood (N − 2)·λ∫ρs″²/(χ² + λ∫ρs″²) = edf − 2 (its derivative by ln λ, by
    /// hand); that of cross-validation is the best of 4000 penalties; λ lies between them as said.
    #[test]
    fn the_criteria_are_at_their_optima() {
        let points = points();
        let system = System::new(&points).unwrap();
        let count = points.readings() as f64;
        let (loose, stiff) = limits(&system, &points, LOOSE).unwrap();
        let trials: Vec<(f64, Trial)> = (0..=4000)
            .map(|k| loose + (stiff - loose) * f64::from(k) / 4000.0)
            .map(|t| (t, system.trial(t.exp(), &points).unwrap()))
            .collect();
        let best = trials.iter().min_by(|a, b| {
            let score =
                |t: &Trial| t.chi2 / (count - COST * t.edf).powi(2) + f64::from(count < COST * t.edf) * 1e9;
            score(&a.1).total_cmp(&score(&b.1))
        });
        let excess = |t: &Trial| (count - 2.0) * (t.penalised - t.chi2) / t.penalised - (t.edf - 2.0);
        let likely = trials.windows(2).find(|w| excess(&w[0].1) < 0.0 && excess(&w[1].1) >= 0.0).unwrap();
        let (first, second) = (best.unwrap().0, likely[0].0);
        let found = balanced(&system, &points).unwrap().ln();
        println!("{first} {second} {found}");
        assert!((first - second).abs() > 0.1);
        assert!((found - (0.7 * first + 0.3 * second)).abs() < 0.02);
    }
}
