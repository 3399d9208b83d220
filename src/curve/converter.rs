//! The step of a converter, read off the readings.
//!
//! Readings whose differences are all whole multiples of one step may have been rounded to it; whether they were is told
//! by their scatter, which rounding leaves at 0.3 steps.

/// Fewest gaps between different readings that show a step.
const FEWEST: usize = 4;

/// A gap is a whole multiple of the step within this part of it.
const EXACT: f64 = 1e-3;

/// A step below this part of the range does not show beside any noise.
const VISIBLE: f64 = 1e-5;

/// A scatter below this part of a converter's step does not spread the readings over its codes.
pub const HIDDEN: f64 = 0.5;

/// The step of which all differences of `readings` are whole multiples; `None` where there is no such step, or it is too
/// small to matter.
pub fn step_of(readings: &[f64]) -> Option<f64> {
    let mut sorted = readings.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let range = sorted.last()? - sorted.first()?;
    let gaps: Vec<f64> =
        sorted.windows(2).map(|w| w[1] - w[0]).filter(|gap| *gap > VISIBLE * range).collect();
    let step = gaps.iter().copied().fold(f64::INFINITY, f64::min);
    let whole = |gap: &f64| ((gap / step).round() - gap / step).abs() <= EXACT * (gap / step).max(1.0);
    (gaps.len() >= FEWEST && gaps.iter().all(whole)).then_some(step)
}
