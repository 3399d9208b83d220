//! Readings compared with the pilot, those that lie close together as one.

use super::discrepancy::{Observation, Size, Trend};
use super::pilot::{Foot, Over, PARAMETERS, Pilot};
use super::readings::Readings;

/// Readings within this part of the curve are averaged: a fifth of the shortest correlation length changes the
/// displacement by less than a thousandth of its standard deviation from end to end of such a run.
const CLOSE: f64 = 0.05;

/// Sweeps of up to so many readings are left as they are.
const FEW: usize = 16;

/// What one reading was compared with.
#[derive(Clone, Copy, Debug)]
pub struct Compared {
    /// Over which quantity.
    pub over: Over,
    /// The point of the pilot.
    pub foot: Foot,
    /// Reading less pilot.
    pub z: f64,
    /// Standard deviation of z; relative where the size of the noise is not known.
    pub sigma: f64,
    /// The observation that it belongs to, and its share of it.
    pub group: usize,
    /// Weight in the group.
    pub share: f64,
}

/// The comparison of a sweep with its pilot.
pub struct Comparison {
    /// In the order of the readings.
    pub readings: Vec<Compared>,
    /// By rising s.
    pub observations: Vec<Observation>,
    /// Scatter within observations.
    pub within: (f64, f64, f64),
}

impl Comparison {
    /// `sigma` gives the standard deviations of voltage and current of a reading, in the pilot's units.
    pub fn new(
        readings: &Readings,
        pilot: &Pilot,
        over: Over,
        sigma: impl Fn(usize, &Foot, Over) -> (f64, f64),
    ) -> Self {
        let compared = pilot.compare(readings, over);
        let one = |(k, (over, foot, z)): (usize, (Over, Foot, f64))| {
            let (sigma_v, sigma_i) = sigma(k, &foot, over);
            let (x, y) = if over == Over::Voltage { (sigma_v, sigma_i) } else { (sigma_i, sigma_v) };
            let sigma = y.hypot(foot.slope * x) / foot.stretch;
            Compared { over, foot, z, sigma, group: 0, share: 1.0 }
        };
        let mut all: Vec<Compared> = compared.into_iter().enumerate().map(one).collect();
        // A reading that counts for nothing against the others would make a variance of 0.
        let largest = all.iter().map(|c| c.sigma).fold(0.0, f64::max);
        all.iter_mut().for_each(|c| c.sigma = c.sigma.max(LEAST_SIGMA * largest));
        let mut order: Vec<usize> = (0..all.len()).collect();
        order.sort_by(|a, b| all[*a].foot.s.total_cmp(&all[*b].foot.s).then(a.cmp(b)));
        let reach = if all.len() > FEW { CLOSE } else { 0.0 };
        let (mut observations, mut within) = (Vec::with_capacity(all.len()), (0.0, 0.0, 0.0));
        let mut rest = &order[..];
        while let Some(first) = rest.first() {
            let start = all[*first].foot.s;
            let count = rest.iter().take_while(|k| all[**k].foot.s - start <= reach).count().max(1);
            let (group, others) = rest.split_at(count);
            observations.push(average(&mut all, group, observations.len(), &mut within));
            rest = others;
        }
        Self { readings: all, observations, within }
    }

    /// Derivatives of a figure by the readings' own quantity and by the other one, from those by the observations.
    pub fn by_readings(&self, row: &[f64]) -> Vec<(f64, f64)> {
        let one = |c: &Compared| {
            let by_z = row[c.group] * c.share;
            let (y, x) = (by_z / c.foot.stretch, -by_z * c.foot.slope / c.foot.stretch);
            if c.over == Over::Voltage { (x, y) } else { (y, x) }
        };
        self.readings.iter().map(one).collect()
    }

    /// What is known of the size of the noise.
    pub fn size(&self, known: bool) -> Size {
        Size { known, within: self.within }
    }
}

/// The least σ of a reading as a part of the largest.
const LEAST_SIGMA: f64 = 1e-4;

fn average(all: &mut [Compared], group: &[usize], index: usize, within: &mut (f64, f64, f64)) -> Observation {
    let precision = |k: &usize| all[*k].sigma.powi(-2);
    let sum: f64 = group.iter().map(precision).sum();
    let mean =
        |of: &dyn Fn(&Compared) -> f64| group.iter().map(|k| precision(k) * of(&all[*k])).sum::<f64>() / sum;
    let mut trend: Trend = [0.0; PARAMETERS];
    for (p, t) in trend.iter_mut().enumerate() {
        *t = mean(&|c| c.foot.by[p]);
    }
    let (s, z) = (mean(&|c| c.foot.s), mean(&|c| c.z));
    let order = group.iter().map(|k| *k as f64).sum::<f64>() / group.len() as f64;
    let variance = 1.0 / sum;
    within.0 += group.iter().map(|k| precision(k) * (all[*k].z - z).powi(2)).sum::<f64>();
    within.1 += group.len() as f64 - 1.0;
    within.2 += 0.5 * variance.ln() + group.iter().map(|k| -all[*k].sigma.ln()).sum::<f64>();
    let shares: Vec<f64> = group.iter().map(|k| precision(k) / sum).collect();
    for (k, share) in group.iter().zip(shares) {
        (all[*k].group, all[*k].share) = (index, share);
    }
    Observation { s, z, variance, trend, order, count: group.len() as f64 }
}
