//! Set points for a figure of the fitted model.

use super::error::PlanError;
use super::information::{Reading, without_readings};
use super::setting::{Candidates, Setting, WIDER};
use crate::diode::Device;
use crate::numerics::linear_algebra::information::{Covariance, dot};
use crate::numerics::optimal_design::{Rows, Task};

/// Information on each coordinate before the first reading, as a share of that of all candidates: it keeps a design
/// regular while it is sought. With the first alone, plans of few points rested on fewer places than there are parameters
/// (`tests/plan/designs.rs`, few points).
const VAGUE: [f64; 2] = [1e-7, 1e-11];
/// Share of the range within which set points are one.
const CLOSE: f64 = 2e-3;
/// What Φ may rise by where they are gathered: a thousandth of u.
const LITTLE: f64 = 2e-3;
/// Set points beyond the best ones between which multiples of the step are tried.
const STEPS_ABOUT: i32 = 3;

impl<const K: usize, const N: usize> Setting<K, N> {
    /// The set points whose fit makes the uncertainty of the target least, rising.
    pub fn best_set_points(&self, points: usize) -> Result<Vec<f64>, PlanError> {
        let Candidates { set: candidates, rows } = &self.candidates;
        let needed = self.free().min(points);
        if candidates.len() < needed {
            return Err(PlanError::NoRoom { different: candidates.len(), needed });
        }
        // A vague start lets an exchange begin from any design; the vaguer one decides, since what it holds is no reading.
        let [coarse, task] = VAGUE.map(|share| self.task(share));
        let starts = [
            Some(coarse.greedy(rows, points)),
            self.in_equal_voltages(points).map(|set| nearest(candidates, &set)),
            self.in_equal_currents(points).map(|set| nearest(candidates, &set)),
        ];
        let exchanged = starts.into_iter().flatten().filter(|start| start.len() == points);
        let best = exchanged
            .filter_map(|mut start| {
                coarse.exchange(rows, &mut start)?;
                Some((task.exchange(rows, &mut start)?, start))
            })
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, chosen)) = best else {
            return Err(self.not_determined_error(0, WIDER));
        };
        let mut set: Vec<f64> = chosen.iter().map(|k| candidates[*k]).collect();
        self.polish(&task, &mut set);
        if self.step > 0.0 {
            self.settle_on_steps(&task, &mut set);
        }
        set.sort_by(f64::total_cmp);
        Ok(set)
    }

    /// Moves the set points off the grid of candidates.
    fn polish(&self, task: &Task<N>, set: &mut [f64]) {
        let candidates = &self.candidates.set;
        let before = set.to_vec();
        let reach = |x: f64| {
            let after = candidates.partition_point(|c| *c <= x).min(candidates.len() - 1);
            let at = candidates.partition_point(|c| *c < x);
            (candidates[at.saturating_sub(1)], candidates[after])
        };
        match task.polish(set, |x| self.rows(x), reach) {
            Some(least) => self.gather(task, least, set),
            None => set.copy_from_slice(&before),
        }
    }

    /// Sets points that lie close together to their mean, where that costs next to nothing: one set point, read again.
    fn gather(&self, task: &Task<N>, least: f64, set: &mut [f64]) {
        set.sort_by(f64::total_cmp);
        let (Some(first), Some(last)) = (set.first(), set.last()) else { return };
        let close = CLOSE * (last - first);
        let mut gathered: Vec<f64> = Vec::with_capacity(set.len());
        for group in set.chunk_by(|a, b| b - a <= close) {
            let mean = group.iter().sum::<f64>() / group.len() as f64;
            let at = if group.iter().all(|x| *x == group[0]) { group[0] } else { mean };
            gathered.extend(group.iter().map(|_| at));
        }
        let mut different = gathered.clone();
        different.dedup();
        if different.len() < self.free() {
            return;
        }
        let rows: Option<Vec<Rows<N>>> = gathered.iter().map(|x| self.rows(*x)).collect();
        if rows.and_then(|rows| task.criterion(&rows)).is_some_and(|value| value <= least + LITTLE) {
            set.copy_from_slice(&gathered);
        }
    }

    /// Exchanges the set points for multiples of the step about them.
    fn settle_on_steps(&self, task: &Task<N>, set: &mut Vec<f64>) {
        let about = |x: &f64| {
            let x = *x;
            (-STEPS_ABOUT..=STEPS_ABOUT).map(move |k| x + f64::from(k) * self.step)
        };
        let Candidates { set: candidates, rows } = self.as_set(set.iter().flat_map(about).collect());
        let mut chosen = nearest(&candidates, set);
        if task.exchange(&rows, &mut chosen).is_some() {
            *set = chosen.iter().map(|k| candidates[*k]).collect();
        }
    }

    /// What a fit of readings of `device` at the set points would know; `None` where they leave a parameter open.
    pub fn knowledge(&self, device: &Device<K>, set: &[f64]) -> Option<Knowledge<N>> {
        let readings: Vec<Reading<N>> =
            set.iter().map(|x| self.reading(device, *x)).collect::<Option<_>>()?;
        let mut information = without_readings(&self.held);
        readings.iter().for_each(|r| information.add(&r.by_theta, 1.0));
        let covariance = information.inverse()?;
        let mut sums = [[0.0; N]; 4];
        for r in &readings {
            for (sum, change) in sums.iter_mut().zip(r.by_common(&self.noise)) {
                sum.iter_mut().zip(&r.by_theta).for_each(|(sum, g)| *sum -= g * change);
            }
        }
        let common = sums.map(|sum| covariance.times(&sum));
        Some(Knowledge { covariance, common })
    }
}

/// What a fit would know of the parameters.
pub(super) struct Knowledge<const N: usize> {
    covariance: Covariance<N>,
    /// Shifts of θ by one standard uncertainty of each gain and offset.
    common: [[f64; N]; 4],
}

impl<const N: usize> Knowledge<N> {
    /// u of the figure with the derivatives `by`: scatter, and what is common to all readings. `None` where nothing moves it.
    pub fn u(&self, by: &[f64; N]) -> Option<f64> {
        let common = self.common.iter().map(|shift| dot(by, shift)).fold(0.0, f64::hypot);
        let u = self.covariance.variance(by).max(0.0).sqrt().hypot(common);
        (u > 0.0 && u.is_finite()).then_some(u)
    }
}

/// Numbers of the candidates nearest to each of `set`.
fn nearest(candidates: &[f64], set: &[f64]) -> Vec<usize> {
    let at = |x: &f64| {
        let k = candidates.partition_point(|c| c < x).min(candidates.len() - 1);
        if k > 0 && x - candidates[k - 1] < candidates[k] - x { k - 1 } else { k }
    };
    set.iter().map(at).collect()
}
