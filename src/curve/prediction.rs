//! What the curve through some readings says of another one.

use super::figures_of_points::analysis_of;
use super::pilot_fit::Over;
use crate::sweep::Sweep;

/// A reading less the curve through others, in standard deviations of that difference.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Deviation {
    /// (y − ŷ)/√(u²(ŷ) + σ²).
    pub times: f64,
    /// Degrees of freedom behind σ.
    pub dof: f64,
}

/// Reading `k` of `sweep` against the estimated curve through the readings `rest`; `None` where they are no curve.
///
/// u²(ŷ) holds what the discrepancy leaves open between readings: where these are few or the curve is steep a reading may
/// lie far off and contradict nothing.
pub(crate) fn deviation(sweep: &Sweep, rest: &[usize], k: usize) -> Option<Deviation> {
    let of = |x: &[f64]| rest.iter().map(|&j| x[j]).collect::<Vec<f64>>();
    let (v, i) = (of(sweep.voltage_v()), of(sweep.current_a()));
    let (a, sense) = analysis_of(sweep, &v, &i)?;
    let (unit_v, unit_i) = (a.readings.unit_v * a.pilot.v0, a.readings.unit_a * a.pilot.i0);
    let (v, i) = (sense * sweep.voltage_v()[k] / unit_v, sense * sweep.current_a()[k] / unit_i);
    let (x, y, sigma, unit) = match a.over {
        Over::Voltage => (v, i, &a.scatter.current, a.pilot.i0),
        Over::Current => (i, v, &a.scatter.voltage, a.pilot.v0),
    };
    let curve = a.curve();
    let (at, [value, _]) = (curve.at(a.over, x).y, curve.functionals(a.over, x));
    let variance = a.posterior.estimates(&[value]).covariance[0][0].max(0.0);
    let sigma = sigma.iter().sum::<f64>() / sigma.len() as f64 / unit;
    let times = (y - at) / (variance + sigma * sigma).sqrt();
    times.is_finite().then_some(Deviation { times, dof: a.scatter.dof })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Circuit, Junction};
    use crate::sweep::{Leads, Noise, Sign, SweepOptions, Swept};

    /// A reading 20 σ off is so far from the curve through the others, less what that is uncertain by (σ or less here),
    /// whichever quantity was set, and so is that of a device with its leads swapped; the exact one lies on the curve.
    #[test]
    fn a_reading_off_is_as_far_off_as_it_is() {
        let cell = Circuit::<1>::new(0.03, [1e-9], [0.036], 0.8, 1.0 / 900.0);
        let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
        let v: Vec<f64> = (0..25).map(|k| 0.62 * f64::from(k) / 24.0).collect();
        let i: Vec<f64> = v.iter().map(|v| cell.current_at(*v)).collect();
        let k = 20;
        let rest: Vec<usize> = (0..25).filter(|j| *j != k).collect();
        // Sizes that are far from a power of two as well, by which readings are scaled.
        let cases = [1.0, 0.72, 1.44].map(|size| [(Swept::Voltage, size), (Swept::Current, size)]);
        for (swept, size) in cases.into_iter().flatten() {
            let (v, i) = ([&v, &i].map(|x| x.iter().map(|x| size * x).collect::<Vec<f64>>())).into();
            let (off_v, off_i) =
                if swept == Swept::Voltage { (0.0, 2e-3 * size) } else { (2e-3 * size, 0.0) };
            let noise = Noise::default().current_a(off_i / 20.0).voltage_v(off_v / 20.0);
            for (off, sense) in [(1.0, 1.0), (1.0, -1.0), (0.0, 1.0)] {
                let moved = |x: &[f64], by: f64| -> Vec<f64> {
                    x.iter()
                        .enumerate()
                        .map(|(j, x)| sense * (x + if j == k { off * by } else { 0.0 }))
                        .collect()
                };
                let with = options.clone().swept(swept).noise(noise);
                let sweep = Sweep::new(&moved(&v, off_v), &moved(&i, off_i), with).unwrap();
                let found = deviation(&sweep, &rest, k).unwrap();
                let expected = 20.0 * off;
                assert!(
                    (0.65 * expected - 0.1..=expected + 0.1).contains(&found.times),
                    "{swept:?} {sense} {found:?}"
                );
            }
        }
    }
}
