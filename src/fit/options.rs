//! How to fit: what users ask of the whole, and the budget of a search.

use super::residuals::Residual;
use super::wishes::Wishes;
use std::time::Duration;

/// A search for K diodes among n readings may take K·[`EVALUATIONS`]/√n evaluations: chosen on 43,000 broken sweeps,
/// whose times docs/speed.md states. Ordinary fits of one diode take 10 to 300, and up to 3,300 of 10 readings or 1,500 of
/// more where profiles must show what the readings determine (`tests/budget.rs`). An evaluation at hard points counts as
/// several.
const EVALUATIONS: f64 = 120_000.0;

/// The budget of a search over so many readings where the caller sets none.
pub(super) fn default_budget(diodes: usize, readings: usize) -> usize {
    (diodes as f64 * EVALUATIONS / (readings.max(1) as f64).sqrt()) as usize
}

/// Where the size of the noise comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum NoiseScale {
    /// As the sweep states it; from the scatter where it states none.
    #[default]
    Stated,
    /// From the scatter about the curve: what the sweep states gives the weights only, up to a common factor.
    FromScatter,
}

/// How to fit.
///
/// ```
/// use litdiode::fit::{Options, Residual};
/// use std::time::Duration;
/// let options = Options::default().residual(Residual::Voltage).deadline(Duration::from_millis(50));
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Options {
    /// The distance to make small; `None` chooses by [`automatic_residual`](super::automatic_residual).
    pub residual: Option<Residual>,
    /// What to fix, to bound and to start from.
    pub wishes: Wishes,
    /// Where the size of the noise comes from.
    pub noise_scale: NoiseScale,
    /// Evaluations of the residuals that the whole fit may take; `None` for K·120,000/√n with n readings. One in
    /// which the curve is hard to solve counts as several. A fit that uses them up is [`Status::NotConverged`](super::Status::NotConverged) and holds its best state.
    pub most_evaluations: Option<usize>,
    /// Time that it may take; a fit that is still at work then ends likewise.
    pub deadline: Option<Duration>,
}

impl Options {
    /// With the distance to make small.
    #[must_use]
    pub fn residual(mut self, residual: Residual) -> Self {
        self.residual = Some(residual);
        self
    }

    /// With what to fix, to bound and to start from.
    #[must_use]
    pub fn wishes(mut self, wishes: Wishes) -> Self {
        self.wishes = wishes;
        self
    }

    /// With the place that the size of the noise comes from.
    #[must_use]
    pub fn noise_scale(mut self, noise_scale: NoiseScale) -> Self {
        self.noise_scale = noise_scale;
        self
    }

    /// With a budget of residual evaluations.
    #[must_use]
    pub fn most_evaluations(mut self, evaluations: usize) -> Self {
        self.most_evaluations = Some(evaluations);
        self
    }

    /// With the time that the fit may take.
    #[must_use]
    pub fn deadline(mut self, deadline: Duration) -> Self {
        self.deadline = Some(deadline);
        self
    }
}
