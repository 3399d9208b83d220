//! Which window and which degree: the least scatter whose truncation is a quarter of it or less.

/// Truncation up to this part of the standard deviation is welcome.
const WELCOME: f64 = 0.25;

/// One way to estimate a figure: its value, the variance from scatter, and what the shape makes wrong of it.
#[derive(Clone, Debug)]
pub(super) struct Trial {
    pub value: f64,
    pub variance: f64,
    pub bias: f64,
    /// χ² and degrees of freedom of its regression.
    pub chi2: f64,
    pub spare: usize,
}

impl Trial {
    fn is_sound(&self) -> bool {
        self.value.is_finite() && self.variance.is_finite() && self.bias.is_finite() && self.variance >= 0.0
    }

    fn is_welcome(&self) -> bool {
        self.bias.abs() <= WELCOME * self.variance.sqrt()
    }

    fn error(&self) -> f64 {
        self.variance + 4.0 * self.bias * self.bias
    }
}

/// The best of `trials`; where none has a welcome truncation, the one with the smallest error altogether.
///
/// Both terms come from the stand-in and the places of the readings, so that the choice hardly chases scatter.
pub(super) fn best<T>(trials: impl IntoIterator<Item = (Trial, T)>) -> Option<(Trial, T)> {
    let mut best: Option<(Trial, T)> = None;
    for trial in trials.into_iter().filter(|(trial, _)| trial.is_sound()) {
        let better = best.as_ref().is_none_or(|(held, _)| {
            let (new, old) = (trial.0.is_welcome(), held.is_welcome());
            if new == old { trial.0.error() < held.error() } else { new }
        });
        if better {
            best = Some(trial);
        }
    }
    best
}

/// Window sizes from `fewest` to `most`, growing by a fifth or by one point.
pub(super) fn sizes(fewest: usize, most: usize) -> impl Iterator<Item = usize> {
    std::iter::successors(Some(fewest), |&n| Some((n + 1).max(n * 6 / 5))).take_while(move |n| *n <= most)
}
