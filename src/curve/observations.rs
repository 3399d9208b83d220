//! Readings compared with the pilot, those that lie close together as one.

use super::discrepancy::{Observation, Size};
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

    /// For each reading its observation, and the derivatives of that observation's z by its voltage and by its current.
    pub fn by_readings(&self) -> Vec<(usize, f64, f64)> {
        let one = |c: &Compared| {
            let (y, x) = (c.share / c.foot.stretch, -c.share * c.foot.slope / c.foot.stretch);
            if c.over == Over::Voltage { (c.group, x, y) } else { (c.group, y, x) }
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
    let sum: f64 = group.iter().map(|k| all[*k].sigma.powi(-2)).sum();
    let (variance, count) = (1.0 / sum, group.len() as f64);
    let mut mean = Observation { s: 0.0, z: 0.0, variance, trend: [0.0; PARAMETERS], order: 0.0, count };
    for k in group {
        let c = &mut all[*k];
        (c.group, c.share) = (index, c.sigma.powi(-2) / sum);
        mean.s += c.share * c.foot.s;
        mean.z += c.share * c.z;
        mean.order += *k as f64 / count;
        for (t, by) in mean.trend.iter_mut().zip(&c.foot.by) {
            *t += c.share * by;
        }
    }
    if group.len() > 1 {
        let deviation = |k: &usize| ((all[*k].z - mean.z) / all[*k].sigma).powi(2);
        within.0 += group.iter().map(deviation).sum::<f64>();
        within.1 += count - 1.0;
        within.2 += 0.5 * variance.ln() - group.iter().map(|k| all[*k].sigma.ln()).sum::<f64>();
    }
    mean
}
