//! What the curve through some readings says of another one.

use super::analysis::Analysis;
use super::figures_of_points::with_noise_of;
use super::pilot_fit::Over;
use super::scaled_readings::Readings;
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
    let a = with_noise_of(sweep, &v, &i, |setup| Analysis::new(Readings::new(&v, &i, 1.0)?, setup))?;
    let (unit_v, unit_i) = (a.readings.unit_v * a.pilot.v0, a.readings.unit_a * a.pilot.i0);
    let (v, i) = (sweep.voltage_v()[k] / unit_v, sweep.current_a()[k] / unit_i);
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
