//! Rs of a dark curve by Werner's plot of G/I against G.
//!
//! ```text
//! G = dI/dV        G/I = d(ln I)/dV = (1 − Rs·G)/a        intercept 1/a, slope −Rs/a
//! ```
//!
//! J. H. Werner, Appl. Phys. A 47 (1988) 291 (from memory). G/I is the slope of a line through five neighbouring
//! readings of ln I. On the other axis G is not the difference of noisy readings, which would bias the line, but
//! that of the line itself at the current read, G = I/(a + Rs·I), followed over some rounds.
//!
//! The scatter is carried through reading by reading, each at the cost of the whole plot: many readings are averaged into
//! [`MOST`] beforehand, as what they differ by from the stand-in.

use super::dark_regression::{forward, regress};
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::uncertainty::carry;
use super::window_selection::{Trial, best, sizes};
use crate::numerics::least_squares::linear::least_squares;

const WIDTH: usize = 5;
const FEWEST: usize = WIDTH + 4;
const ROUNDS: usize = 8;

/// Points of the plot at most; readings that are no more stay as they are. `means_give_what_the_readings_give` holds both
/// together.
const MOST: usize = 400;

const WORDS: Words = Words {
    quantity: Quantity::Series,
    method: "conductance plot (Werner)",
    measures: "lumped, in the dark at high forward current",
    source: "J. H. Werner, Appl. Phys. A 47 (1988) 291",
};

/// Rs of a dark sweep.
pub(super) fn conductance_plot(dark: &Prepared) -> Result<Resistance, ResistanceError> {
    let trace = &dark.trace;
    let forward = forward(trace).thinned(MOST);
    let given = forward.len();
    let few = ResistanceError::TooFewPoints { region: "of clear forward current", given, needed: FEWEST };
    let trials =
        sizes(FEWEST, given).chain([given].into_iter().filter(|n| *n >= FEWEST)).filter_map(|count| {
            let cut = forward.cut(given - count..given);
            let (value, ideal) = (series(&cut)?, series(&cut.ideal())?);
            // The variance of the plain regression over the same readings ranks the windows.
            let variance = regress(&cut, 3)?.covariance(2, 2);
            Some((Trial::plain(value, variance, ideal - trace.circuit.rs), cut))
        });
    let (trial, cut) = best(trials).ok_or(few)?;
    let carried = carry(&cut, series).ok_or(ResistanceError::Undetermined { axis: "currents" })?;
    let offset = cut.through_offset(trial.value, series);
    let variance = carried.variance + offset * offset;
    let (value, bias) = (trial.value - carried.shift, trial.bias);
    let doubts = dark.doubt().into_iter().chain(super::dark_regression::further_term(&cut)).collect();
    Raw { value, variance, dof: trace.dof, bias, doubts }.dress(WORDS, trace)
}

/// Rs of the line through the plot of all the readings.
fn series(cut: &Trace) -> Option<f64> {
    let start = regress(cut, 3)?;
    let (mut a, mut rs) = (start.c[1], start.c[2]);
    let middles: Vec<usize> = (WIDTH / 2..cut.len() - WIDTH / 2).collect();
    let y: Vec<f64> = middles.iter().map(|&k| relative_slope(cut, k)).collect::<Option<_>>()?;
    for _ in 0..ROUNDS {
        let g = |&k: &usize| -cut.i[k] / (a - rs * cut.i[k]);
        let columns = vec![vec![1.0; y.len()], middles.iter().map(g).collect()];
        let line = least_squares(&columns, &y)?;
        (a, rs) = (1.0 / line.c[0], -line.c[1] / line.c[0]);
    }
    (a > 0.0 && rs.is_finite()).then_some(rs)
}

/// d(ln I)/dV of the line through the five readings about `k`.
fn relative_slope(cut: &Trace, k: usize) -> Option<f64> {
    let span = k - WIDTH / 2..k + WIDTH / 2 + 1;
    let middle = span.clone().map(|k| cut.v[k]).sum::<f64>() / WIDTH as f64;
    let (mut top, mut below) = (0.0, 0.0);
    for k in span {
        top += (cut.v[k] - middle) * (-cut.i[k]).ln();
        below += (cut.v[k] - middle).powi(2);
    }
    Some(top / below).filter(|s| s.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Device, Parameters};
    use crate::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    const RS: f64 = 0.8;

    /// Invented: a dark silicon-like cell, `count` readings with a scatter of `noise` on the axis that is read.
    fn dark(count: usize, swept: Swept, noise: Noise, seed: u64) -> Prepared {
        let (i0_a, n, rs_ohm, rsh_ohm) = ([2e-10], [1.3], RS, 4e3);
        let p = Parameters { iph_a: 0.0, i0_a, n, rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 };
        let device = Device::new(p).expect("in the domain");
        let random = &mut ChaCha8Rng::seed_from_u64(seed);
        let mut normal = || -> f64 { StandardNormal.sample(random) };
        let even = |low: f64, high: f64| -> Vec<f64> {
            (0..count).map(|k| low + (high - low) * k as f64 / (count - 1) as f64).collect()
        };
        let (mut v, mut i) = (even(-0.1, 0.72), even(0.0, -0.05));
        if swept == Swept::Voltage {
            device.current(&v, &mut i).expect("finite");
            i.iter_mut().for_each(|i| *i += noise.current_a * normal());
        } else {
            device.voltage(&i, &mut v).expect("finite");
            v.iter_mut().for_each(|v| *v += noise.voltage_v * normal());
        }
        let (sign, leads) = (Sign::Generator, Leads::AsGiven);
        let options = SweepOptions { sign, leads, swept, noise: Some(noise), ..SweepOptions::default() };
        Prepared::of(&Sweep::new(&v, &i, options).expect("a sweep"), true).expect("a fit")
    }

    /// Over one window, where the noise is small enough for five readings to have a slope: what the noise does to Rs of
    /// means lies within the ± of what it does to that of the readings themselves, and the truncation is the same. The ±
    /// of means is the smaller one, for five of them span more.
    #[test]
    fn means_give_what_the_readings_give() {
        let current = Noise { current_a: 2e-7, ..Noise::default() };
        let voltage = Noise { voltage_v: 2e-6, ..Noise::default() };
        for (swept, noise) in [(Swept::Voltage, current), (Swept::Current, voltage)] {
            let all = forward(&dark(2000, swept, noise, 1).trace);
            for part in [0.2, 0.3] {
                let readings = all.cut(all.len() - (part * all.len() as f64) as usize..all.len());
                let means = readings.thinned(MOST / 2);
                assert!(readings.len() > 3 * means.len(), "{} {}", readings.len(), means.len());
                let [(off, u, truth), (mean_off, mean_u, mean_truth)] = [&readings, &means].map(|of| {
                    let (value, truth) = (series(of).unwrap(), series(&of.ideal()).unwrap());
                    let carried = carry(of, series).unwrap();
                    (value - carried.shift - truth, carried.variance.sqrt(), truth)
                });
                println!("{swept:?} {part}: {off} ± {u} {truth}, {mean_off} ± {mean_u} {mean_truth}");
                assert!((mean_off - off).abs() < 3.0 * u && mean_off.abs() < 3.0 * mean_u);
                assert!((0.2..1.0).contains(&(mean_u / u)), "{mean_u} {u}");
                assert!((mean_truth - truth).abs() < 0.005 * RS);
            }
        }
    }

    /// Of 5,000 noisy readings the intervals hold the truth; 40 runs of 95 % leave 3.6 standard deviations.
    #[test]
    fn intervals_of_many_readings_hold() {
        let current = Noise { current_a: 2e-5, ..Noise::default() };
        let runs = 40;
        let held = (0..runs).filter(|seed| {
            let found = conductance_plot(&dark(5000, Swept::Voltage, current, 100 + seed)).unwrap();
            found.interval.low.unwrap() <= RS && RS <= found.interval.high.unwrap()
        });
        let held = held.count();
        println!("{held}");
        assert!(held >= 33, "{held}");
    }
}
