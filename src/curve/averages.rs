//! Very many readings as means of those that lie close together.
//!
//! ```text
//! x̄ = Σx/m    ȳ = Σy/m    σ(ȳ) = σ(y)/√m        x: the quantity that was set, y: the one that was read
//! ```
//!
//! A mean lies off the curve by ½·y″·h²/12, where its readings span h: with [`GROUPS`] of them over the range below
//! 1e-8 of the largest reading. The first and the last reading stay by themselves, since a sweep may begin on an axis.
//! Means are not taken where they would lose the noise: few set points, each read very often, or a converter so coarse
//! that readings close together show one code.

use super::converter::{HIDDEN, step_of};

/// Readings up to which each counts by itself.
const MANY: usize = 100_000;

/// Means at most.
const GROUPS: usize = 50_000;

/// Means at least, so that the scatter about the curve is that of many.
const FEWEST: usize = 5_000;

/// Readings in which the step of a converter is looked for.
const SAMPLE: usize = 20_000;

/// Means by rising set quantity.
pub struct Averages {
    pub set: Vec<f64>,
    pub read: Vec<f64>,
    /// Readings of each mean.
    pub count: Vec<f64>,
}

impl Averages {
    /// `None` where each reading is to count by itself.
    pub fn of(set: &[f64], read: &[f64]) -> Option<Self> {
        if set.len() <= MANY || set.len() > u32::MAX as usize {
            return None;
        }
        let mut members: Vec<u32> = (0..set.len() as u32).collect();
        let at = |k: u32| (set[k as usize], read[k as usize]);
        if !set.is_sorted() {
            members.sort_unstable_by(|&j, &k| {
                at(j).0.total_cmp(&at(k).0).then(at(j).1.total_cmp(&at(k).1)).then(j.cmp(&k))
            });
        }
        // The same reading twice says nothing of the noise.
        members.dedup_by(|j, k| at(*j) == at(*k));
        if is_coarse(&members, read) {
            return None;
        }
        let means = Self::grouped(set, read, &members);
        (FEWEST..=members.len() / 2).contains(&means.count.len()).then_some(means)
    }

    fn grouped(set: &[f64], read: &[f64], members: &[u32]) -> Self {
        let last = members.len() - 1;
        let at = |x: &[f64], k: usize| x[members[k] as usize];
        let reach = (at(set, last) - at(set, 0)) / GROUPS as f64;
        let (mut means, mut from) = (Self { set: Vec::new(), read: Vec::new(), count: Vec::new() }, 0);
        while from <= last {
            let start = at(set, from);
            let inside = (from..last).take_while(|k| from > 0 && at(set, *k) - start <= reach).count();
            let to = from + inside.max(1);
            let m = (to - from) as f64;
            // About the first: a sum of very many would lose digits.
            let mean = |x: &[f64]| at(x, from) + (from..to).map(|k| at(x, k) - at(x, from)).sum::<f64>() / m;
            means.set.push(mean(set));
            means.read.push(mean(read));
            means.count.push(m);
            from = to;
        }
        means
    }
}

/// Whether readings close together show one code of a converter.
fn is_coarse(members: &[u32], read: &[f64]) -> bool {
    let apart = members.len().div_ceil(SAMPLE);
    let sample: Vec<f64> = members.iter().step_by(apart).map(|k| read[*k as usize]).collect();
    let Some(step) = step_of(&sample) else { return false };
    let at = |k: &u32| read[*k as usize];
    let squares = members.windows(2).map(|w| (at(&w[1]) - at(&w[0])).powi(2));
    let scatter = (0.5 * squares.sum::<f64>() / members.len() as f64).sqrt();
    scatter < HIDDEN * step
}
