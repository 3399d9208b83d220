//! A sweep that goes and returns, as the ways that it consists of.
//!
//! ```text
//! a way ends at a reading from which the set quantity comes back by more than a tenth of its range
//! ```
//!
//! Reversals within that are the scatter of a set quantity that was read back.

use super::error::SweepError;
use super::{Sweep, range};

/// Part of the range by which the set quantity must come back for a new way to begin.
const BACK: f64 = 0.1;
/// Fewest readings that make a way of their own.
const FEWEST: usize = 3;

impl Sweep {
    /// The ways of a sweep in the order of measurement, each with everything that goes with its readings: one where it goes
    /// one way only, and two where it goes and returns. A single
    /// reading at a turn belongs to the way that led to it; of several there each way has its half.
    ///
    /// # Errors
    /// [`SweepError`] where a way is no sweep of its own, for instance all at one voltage.
    pub fn branches(&self) -> Result<Vec<Self>, SweepError> {
        let (set, _) = self.set_and_read();
        let ways = ways(set);
        if ways.len() < 2 {
            return Ok(vec![self.clone()]);
        }
        let one = |(from, to): &(usize, usize)| {
            let branch = self.subset(&(*from..*to).collect::<Vec<_>>(), Vec::new())?;
            let word = if set[*to - 1] > set[*from] { "up" } else { "down" };
            let label = self.options().label.as_ref().map_or(word.to_owned(), |l| format!("{l}, {word}"));
            Ok(branch.labelled(label))
        };
        ways.iter().map(one).collect()
    }
}

/// One past the reading at which readings that end at `last` with one value are parted in halves, the longer first: both ways may
/// hold the turn.
fn middle_of_plateau(set: &[f64], last: usize) -> usize {
    let equal = (0..=last).rev().take_while(|&k| set[k] == set[last]).count();
    last + 1 - equal / 2
}

/// First and one past the last reading of each way.
fn ways(set: &[f64]) -> Vec<(usize, usize)> {
    let (low, high) = range(set);
    let back = BACK * (high - low);
    let (mut turns, mut extreme, mut sense) = (Vec::new(), 0, 0.0);
    for k in 1..set.len() {
        let step = set[k] - set[extreme];
        if sense == 0.0 {
            if step.abs() > back {
                (sense, extreme) = (step.signum(), k);
            }
        } else if sense * step >= 0.0 {
            extreme = k;
        } else if step.abs() > back {
            turns.push(middle_of_plateau(set, extreme));
            (sense, extreme) = (-sense, k);
        }
    }
    let ends: Vec<usize> = std::iter::once(0).chain(turns).chain([set.len()]).collect();
    let all: Vec<(usize, usize)> = ends.windows(2).map(|w| (w[0], w[1])).collect();
    let is_short = |way: &(usize, usize)| way.1 - way.0 < FEWEST;
    if all.iter().any(is_short) { vec![(0, set.len())] } else { all }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_part_at_the_turns() {
        assert_eq!(ways(&[0.0, 1.0, 2.0, 3.0]), [(0, 4)]);
        assert_eq!(ways(&[0.0, 1.0, 2.0, 3.0, 3.0, 2.0, 1.0, 0.0]), [(0, 4), (4, 8)]);
        assert_eq!(ways(&[3.0, 2.0, 0.0, 1.0, 2.0, 3.0]), [(0, 3), (3, 6)]);
        // Scatter of what was set, and a last reading that repeats an earlier one, make no way.
        assert_eq!(ways(&[0.0, 1.0, 0.95, 2.0, 1.98, 3.0]), [(0, 6)]);
        assert_eq!(ways(&[0.0, 1.0, 2.0, 3.0, 1.0]), [(0, 5)]);
        let triangle: Vec<f64> = (0..30).map(|k| f64::from((k % 20 - 10_i32).abs())).collect();
        assert_eq!(ways(&triangle), [(0, 11), (11, 21), (21, 30)]);
    }
}
