//! Readings compared with the pilot, those that lie close together as one.

use super::observation::{Observation, Size};
use super::pilot_fit::{Foot, Over, PARAMETERS, Pilot};
use super::scaled_readings::Readings;

/// Readings within this part of the curve are averaged: a fifth of the shortest correlation length changes the
/// displacement by less than a thousandth of its standard deviation from end to end of such a run.
const CLOSE: f64 = 0.05;

/// Sweeps of up to so many readings are left as they are.
const FEW: usize = 16;

/// Observations at most: the time of a Gaussian process goes with their cube, its memory with their square. A sweep from
/// Isc to Voc makes 40; one that reaches far beyond both would make up to 1,200, at the least V₀ and I₀ that a pilot has.
const MOST: usize = 200;

/// Isc and Voc lie at s = −1 and 1: outside of these the reach of an observation grows with the distance from them where
/// there would be more than [`MOST`], by this much to begin with.
const ISC_VOC_AT: f64 = 1.0;
const GROWTH: f64 = 0.05;

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
    /// Index of its observation.
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
        Self::grouped(readings, pilot, over, sigma, counts)
    }

    /// With `counts` saying how many readings of rising positions make one observation each.
    fn grouped(
        readings: &Readings,
        pilot: &Pilot,
        over: Over,
        sigma: impl Fn(usize, &Foot, Over) -> (f64, f64),
        counts: impl Fn(&[f64]) -> Vec<usize>,
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
        let s: Vec<f64> = order.iter().map(|k| all[*k].foot.s).collect();
        let counts = if s.len() > FEW { counts(&s) } else { vec![1; s.len()] };
        let (mut observations, mut within) = (Vec::with_capacity(counts.len()), (0.0, 0.0, 0.0));
        let mut rest = &order[..];
        for count in counts {
            let (group, others) = rest.split_at(count);
            observations.push(average(&mut all, (group, over), observations.len(), &mut within));
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

/// How many successive ones of rising positions `s` make one observation each: no more than [`MOST`] observations.
fn counts(s: &[f64]) -> Vec<usize> {
    let mut growth = 0.0;
    loop {
        let counts = counts_growing(s, growth);
        if counts.len() <= MOST || !growth.is_finite() {
            return counts;
        }
        growth = (2.0 * growth).max(GROWTH);
    }
}

fn counts_growing(s: &[f64], growth: f64) -> Vec<usize> {
    let (mut counts, mut rest) = (Vec::new(), s);
    while let Some(start) = rest.first() {
        let beyond = (start.abs() - ISC_VOC_AT).max(0.0);
        let reach = if beyond > 0.0 { CLOSE.max(growth * beyond) } else { CLOSE };
        // A group that begins below Isc ends there.
        let last = if *start < -ISC_VOC_AT && growth > 0.0 { -ISC_VOC_AT } else { f64::INFINITY };
        let count = rest.iter().take_while(|s| **s - start <= reach && **s <= last).count().max(1);
        counts.push(count);
        rest = &rest[count..];
    }
    counts
}

/// The least σ of a reading as a part of the largest.
const LEAST_SIGMA: f64 = 1e-4;

fn average(
    all: &mut [Compared],
    (group, set): (&[usize], Over),
    index: usize,
    within: &mut (f64, f64, f64),
) -> Observation {
    let sum: f64 = group.iter().map(|k| all[*k].sigma.powi(-2)).sum();
    let (variance, count) = (1.0 / sum, group.len() as f64);
    let mut mean =
        Observation { s: 0.0, z: 0.0, variance, trend: [0.0; PARAMETERS], order: 0.0, count, amplitude: 0.0 };
    for k in group {
        let c = &mut all[*k];
        (c.group, c.share) = (index, c.sigma.powi(-2) / sum);
        mean.s += c.share * c.foot.s;
        mean.z += c.share * c.z;
        mean.amplitude += c.share * c.foot.amplitude(c.over, set);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Circuit, Junction};

    fn even(low: f64, high: f64, count: usize) -> Vec<f64> {
        (0..count).map(|k| low + (high - low) * k as f64 / (count - 1) as f64).collect()
    }

    /// However many readings there are and however far they reach, the observations are few, hold every reading, and
    /// between Isc and Voc lie as close as ever.
    #[test]
    fn the_number_of_observations_is_bounded() {
        for (low, high) in [(-1.2, 1.3), (-40.0, 2.0), (-3.0, 900.0), (-1e12, 1e300)] {
            let mut s = even(low, high, 5000);
            s.extend(even(-1.0, 1.0, 2000));
            s.sort_by(f64::total_cmp);
            let counts = counts(&s);
            assert!(counts.len() <= MOST, "{low} {high}: {}", counts.len());
            assert_eq!(counts.iter().sum::<usize>(), s.len());
            let mut from = 0;
            for count in counts {
                let (first, last) = (s[from], s[from + count - 1]);
                assert!(last - first <= CLOSE || first.abs() > ISC_VOC_AT, "{first} {last}");
                assert!(
                    first >= -ISC_VOC_AT || last <= -ISC_VOC_AT || last - first <= CLOSE,
                    "{first} {last}"
                );
                from += count;
            }
        }
    }

    /// A silicon-like curve swept to fifteen times its Voc in reverse: bounded observations give the displacement at Isc, at the knee and at
    /// Voc, and its covariance, that those of one fixed reach give.
    #[test]
    fn bounded_observations_say_the_same_of_the_figures() {
        use super::super::discrepancy::Posterior;
        use super::super::observation::Functional;
        let p = Circuit::<1>::new(0.035, [1.5e-10], [0.0321], 0.5, 1.0 / 3.5e3);
        let v = even(-9.0, 0.95, 2000);
        let noise = |k: usize| 1e-4 * ((k * 7919 % 101) as f64 / 29.0 - 1.72);
        let i: Vec<f64> = v.iter().enumerate().map(|(k, v)| p.current_at(*v) + noise(k)).collect();
        let readings = Readings::new(&v, &i, 1.0).unwrap();
        let (zeros, ones) = (vec![0.0; 2000], vec![1.0; 2000]);
        let pilot = Pilot::fit(&readings, None, (&zeros, &ones), Over::Voltage).unwrap();
        let sigma = 1e-4 / readings.unit_a / pilot.i0;
        let of = |counts: &dyn Fn(&[f64]) -> Vec<usize>| {
            let even = |_: usize, _: &Foot, _: Over| (0.0, sigma);
            let comparison = Comparison::grouped(&readings, &pilot, Over::Voltage, even, counts);
            let posterior = Posterior::new(&comparison.observations, comparison.size(true)).unwrap();
            let feet = [0.0, pilot.v_pmax, pilot.voc].map(|v| pilot.at(Over::Voltage, v));
            let amplitude = |foot: &Foot| foot.amplitude(Over::Voltage, Over::Voltage);
            let places = feet.each_ref().map(|foot| (foot.s, amplitude(foot), &foot.by));
            let functionals =
                feet.map(|foot| Functional { places: vec![(amplitude(&foot), foot.s)], trend: foot.by });
            let covariance = posterior.estimates(&functionals).covariance;
            (comparison.observations.len(), posterior.displacements(places), covariance)
        };
        let (few, bounded, covariance) = of(&counts);
        let (many, exact, exact_covariance) = of(&|s| counts_growing(s, 0.0));
        assert!(few <= MOST && many > 3 * MOST / 2, "{few} {many}");
        for k in 0..3 {
            let (u, exact_u) = (covariance[k][k].sqrt(), exact_covariance[k][k].sqrt());
            println!("{} ± {u}, {} ± {exact_u}", bounded[k], exact[k]);
            assert!((bounded[k] - exact[k]).abs() < 0.25 * exact_u);
            assert!((u / exact_u - 1.0).abs() < 0.02);
        }
    }

    /// Where few observations come of it, they are the runs of one fixed reach.
    #[test]
    fn a_sweep_of_ordinary_reach_is_grouped_evenly() {
        let s = even(-1.3, 2.0, 3000);
        assert_eq!(counts(&s), counts_growing(&s, 0.0));
        assert!(counts(&s).len() <= 67);
    }
}
