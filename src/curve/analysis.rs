//! From readings to the estimated curve: pilot, size of the noise, displacement.

use super::converter::{HIDDEN, step_of};
use super::discrepancy::Posterior;
use super::estimated_curve::Estimated;
use super::noise_estimate::{Scatter, Stated};
use super::observations::Comparison;
use super::pilot_fit::{Foot, Over, Pilot};
use super::scaled_readings::Readings;
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Swept};

/// Fewest readings in which a scatter is looked for: two more than the pilot has parameters.
const FEWEST: usize = 7;

/// Readings whose squared deviations differ by this factor between the upper and the lower half of the read quantity
/// make a proportional noise worth trying.
const UNEVEN: f64 = 3.0;

/// It is taken where its restricted likelihood is e to this power times that of an even one, and leaves the halves alike: a
/// curve that is not followed, such as the bend of an S-shape, leaves large deviations in the upper half as well.
const CONVINCING: f64 = 3.0;

/// Where a proportional noise is tried, its floor is this part of the largest.
const FLOOR: f64 = 0.1;

/// Stated noise is contradicted beyond this many standard deviations.
const BEYOND_DOUBT: f64 = 4.0;

/// Rounding leaves readings about 0.3 steps from a smooth curve; below this part they lie on it and were not rounded.
const EXACT: f64 = 0.05;

/// The pilot's ideality is at least this: a diode of n = 1 then lies inside the bounds.
const SHARP: f64 = 0.9;

/// What is known beside the readings.
#[derive(Clone, Copy)]
pub struct Setup<'a> {
    /// The noise.
    pub stated: &'a Stated<'a>,
    /// Which quantity was set.
    pub swept: Swept,
    /// cells·k·T/q in V, where it is known.
    pub thermal_v: Option<f64>,
    /// Degrees of freedom behind a stated noise.
    pub dof: f64,
    /// What the stated steps of converters, of voltage in V and current in A, make common to readings on one code.
    pub hidden: (f64, f64),
    /// How many readings each point is the mean of; `None` where each is one.
    pub count: Option<&'a [f64]>,
}

/// What the steps of `noise` make common to readings on one code: the standard deviation of rounding, where the stated
/// scatter does not spread the readings over the codes.
pub fn hidden(noise: &Noise) -> (f64, f64) {
    let of = |step: f64, floor: f64| if floor < HIDDEN * step { step / 12f64.sqrt() } else { 0.0 };
    (of(noise.voltage_step_v, noise.voltage_v), of(noise.current_step_a, noise.current_a))
}

/// The estimated curve with what it was estimated from. Lengths are in units of the readings or of the pilot.
pub struct Analysis {
    pub readings: Readings,
    pub pilot: Pilot,
    pub over: Over,
    pub comparison: Comparison,
    pub posterior: Posterior,
    /// In units of the readings.
    pub scatter: Scatter,
    /// What a converter's step makes common to readings on the same code, of voltages and currents, in units of the
    /// readings.
    pub hidden: (f64, f64),
}

/// A standard deviation in SI units as a function of the true value.
type Deviation<'a> = &'a dyn Fn(f64) -> f64;

/// Standard deviations of one reading (voltage, current) in units of the pilot.
type Sigma<'a> = &'a dyn Fn(usize, &Foot, Over) -> (f64, f64);

impl Analysis {
    /// `None` where no diode comes near the readings.
    pub fn new(readings: Readings, setup: &Setup) -> Option<Self> {
        let over = Over::from(setup.swept);
        let (count, unit) = (readings.len(), readings.unit_v);
        let (ones, zeros) = ((0..count).map(|k| readings.share(k)).collect(), vec![0.0; count]);
        let rough = match setup.stated {
            Stated::Known(sigma_v, sigma_i) => {
                let (v, i) = (&readings.voltage, readings.smooth());
                let of_v = |k: usize| readings.share(k) * sigma_v(v[k] * unit) / unit;
                let of_i = |k: usize| readings.share(k) * sigma_i(i[k] * readings.unit_a) / readings.unit_a;
                ((0..count).map(of_v).collect(), (0..count).map(of_i).collect())
            }
            _ if over == Over::Current => (ones, zeros),
            _ => (zeros, ones),
        };
        let thermal = setup.thermal_v.map(|v| SHARP * v / unit);
        let pilot = Pilot::fit(&readings, thermal, (&rough.0, &rough.1), over)?;
        match setup.stated {
            Stated::Known(sigma_v, sigma_i) => {
                let hidden = (setup.hidden.0 / unit, setup.hidden.1 / readings.unit_a);
                Self::with_stated(readings, pilot, over, (*sigma_v, *sigma_i, setup.dof))
                    .map(|a| Self { hidden, ..a })
            }
            _ => Self::with_found(readings, pilot, over),
        }
    }

    fn with_stated(
        readings: Readings,
        pilot: Pilot,
        over: Over,
        (sigma_v, sigma_i, dof): (Deviation, Deviation, f64),
    ) -> Option<Self> {
        let (unit_v, unit_i) = (readings.unit_v * pilot.v0, readings.unit_a * pilot.i0);
        let sigma = |k: usize, foot: &Foot, over: Over| {
            // A proportional part is taken at the pilot, not at the reading.
            let (v, i) = match over {
                Over::Voltage => (readings.voltage[k] / pilot.v0, foot.y),
                Over::Current => (foot.y, readings.current[k] / pilot.i0),
            };
            let share = readings.share(k);
            (share * sigma_v(v * unit_v) / unit_v, share * sigma_i(i * unit_i) / unit_i)
        };
        let comparison = Comparison::new(&readings, &pilot, over, sigma);
        let posterior = Posterior::new(&comparison.observations, comparison.size(true))?;
        let sigmas: Vec<(f64, f64)> =
            comparison.readings.iter().enumerate().map(|(k, c)| sigma(k, &c.foot, c.over)).collect();
        let ratio = posterior.misfit;
        let doubtless = posterior.dof >= 2.0
            && crate::numerics::statistics::variance_ratio::deviate(ratio, posterior.dof, f64::INFINITY)
                > BEYOND_DOUBT;
        let scatter = Scatter {
            voltage: sigmas.iter().map(|s| s.0 * pilot.v0).collect(),
            current: sigmas.iter().map(|s| s.1 * pilot.i0).collect(),
            effective: Vec::new(),
            dof,
            excess: doubtless.then(|| ratio.sqrt()),
            unknown: None,
        };
        Some(Self { readings, pilot, over, comparison, posterior, scatter, hidden: (0.0, 0.0) })
    }

    fn with_found(readings: Readings, pilot: Pilot, over: Over) -> Option<Self> {
        let even = |k: usize, _: &Foot, _: Over| on_axis(over, readings.share(k));
        let (mut comparison, mut posterior) = weighed(&readings, &pilot, over, &even)?;
        let mut shape: Vec<f64> = (0..readings.len()).map(|k| readings.share(k)).collect();
        if unevenness(&readings, &comparison, &posterior, over) > UNEVEN {
            let level = |k: usize| {
                let read = if over == Over::Voltage {
                    readings.smooth()[k] / pilot.i0
                } else {
                    readings.voltage[k] / pilot.v0
                };
                readings.share(k) * FLOOR.hypot(read)
            };
            let proportional = |k: usize, _: &Foot, _: Over| on_axis(over, level(k));
            if let Some((other, better)) = weighed(&readings, &pilot, over, &proportional)
                && better.evidence > posterior.evidence + CONVINCING
                && unevenness(&readings, &other, &better, over) < UNEVEN
            {
                shape = (0..readings.len()).map(level).collect();
                (comparison, posterior) = (other, better);
            }
        }
        let mut found = posterior.size2.sqrt();
        let (read, unit) =
            if over == Over::Voltage { (&readings.current, pilot.i0) } else { (&readings.voltage, pilot.v0) };
        let step = step_of(read).unwrap_or(0.0) / unit;
        let least = step / 12f64.sqrt();
        let (mut hidden, mut dof) = ((0.0, 0.0), posterior.dof);
        if found > EXACT * step && found < HIDDEN * step {
            // The scatter hides in the converter's step, whose size is then the noise that is known.
            let stated = |_: usize, _: &Foot, _: Over| on_axis(over, least.max(found));
            comparison = Comparison::new(&readings, &pilot, over, stated);
            posterior = Posterior::new(&comparison.observations, comparison.size(true))?;
            shape = vec![1.0; readings.len()];
            found = least.max(found);
            let common = on_axis(over, least * unit);
            (hidden, dof) = (common, f64::INFINITY);
        }
        let unknown = (readings.len() < FEWEST && dof.is_finite())
            .then(|| Reason::FewReadings { readings: readings.len(), fewest: FEWEST });
        let own: Vec<f64> = shape.iter().map(|s| s * found * unit).collect();
        let other = vec![0.0; own.len()];
        let (voltage, current) = if over == Over::Voltage { (other, own) } else { (own, other) };
        let scatter = Scatter { voltage, current, effective: Vec::new(), dof, excess: None, unknown };
        Some(Self { readings, pilot, over, comparison, posterior, scatter, hidden })
    }

    /// The curve.
    pub fn curve(&self) -> Estimated<'_> {
        Estimated { pilot: &self.pilot, posterior: &self.posterior, set: self.over }
    }
}

/// (voltage, current) where the quantity that was read has `sigma`.
fn on_axis(over: Over, sigma: f64) -> (f64, f64) {
    if over == Over::Voltage { (0.0, sigma) } else { (sigma, 0.0) }
}

fn weighed(readings: &Readings, pilot: &Pilot, over: Over, sigma: Sigma) -> Option<(Comparison, Posterior)> {
    let comparison = Comparison::new(readings, pilot, over, sigma);
    let posterior = Posterior::new(&comparison.observations, comparison.size(false))?;
    Some((comparison, posterior))
}

/// Ratio of the mean squared deviations, in units of σ, of readings in the upper and in the lower half of the read quantity;
/// 1 where fewer than three lie in the lower one.
fn unevenness(readings: &Readings, comparison: &Comparison, posterior: &Posterior, over: Over) -> f64 {
    let read = |k: usize| {
        let c = &comparison.readings[k];
        if over == Over::Current {
            readings.voltage[k]
        } else {
            c.foot.y + c.foot.stretch * posterior.smooth[c.group]
        }
    };
    let top = (0..readings.len()).map(read).fold(0.0f64, f64::max);
    let (mut high, mut low) = ((0.0, 0.0), (0.0, 0.0));
    for (k, c) in comparison.readings.iter().enumerate() {
        let deviation = (c.z - posterior.smooth[c.group]) / c.sigma;
        let half = if read(k) > 0.5 * top { &mut high } else { &mut low };
        *half = (half.0 + deviation * deviation, half.1 + 1.0);
    }
    if low.1 < 3.0 { 1.0 } else { high.0 * low.1 / (low.0 * high.1) }
}
