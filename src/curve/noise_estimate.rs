//! The scatter of the readings: as stated with the instrument, or found in the sweep itself.
//!
//! ```text
//! s² = σI² + (dI/dV·σV)²             one reading's effective variance on the current axis
//! ```
//!
//! Where nothing is stated, the axis that was read scatters evenly and the other not at all; σ is found
//! from the residuals of local polynomials in overlapping windows.

use super::bend::BendCurve;
use super::scaled_readings::Readings;
use super::window_variance::{Size, Windows};
use crate::numerics::statistics::variance_ratio::deviate;
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Swept};

/// Windows on I(V): as narrow as a quartic with two degrees of freedom allows.
const ON_CURRENT: Size = Size { points: 7, degree: 4 };

/// Windows on V against ln(1 − I/S), which is straighter and often has few points.
const ON_VOLTAGE: Size = Size { points: 5, degree: 2 };

/// Fewest readings in which a scatter is looked for.
const FEWEST: usize = 7;

/// Stated noise is contradicted beyond this many standard deviations.
const BEYOND_DOUBT: f64 = 4.0;

/// Beyond this misfit the curve of one bend gives way. It is not fitted by least squares, so that the misfit of an
/// ordinary curve may reach some standard deviations; a needless change costs time and next to no accuracy.
const BENT_OFTEN: f64 = 5.0;

/// Nor does it for a misfit below this part of Isc, however little noise there is: a smooth would know the knee less
/// well than the equation of one.
const SLIGHT: f64 = 0.01;

/// Scatter assumed where nothing is known, in parts of the largest current: it chooses windows only.
const NOMINAL: f64 = 3e-3;

/// Standard deviations of each reading, in the units of the [`Readings`].
#[derive(Clone, Debug)]
pub struct Scatter {
    /// σV.
    pub voltage: Vec<f64>,
    /// σI.
    pub current: Vec<f64>,
    /// Effective standard deviation of each reading on the current axis.
    pub effective: Vec<f64>,
    /// Degrees of freedom behind them; infinite when stated.
    pub dof: f64,
    /// How many times more than stated the readings scatter, where that is beyond doubt.
    pub excess: Option<f64>,
    /// Why there is no ±, where the scatter is neither stated nor found.
    pub unknown: Option<Reason>,
}

/// What is known of the noise before the sweep is looked at.
pub enum Stated<'a> {
    /// Standard deviations as functions of the true voltage in V and the true current in A.
    Known(&'a dyn Fn(f64) -> f64, &'a dyn Fn(f64) -> f64),
    /// Nothing; the current was read, and scatters evenly.
    ReadCurrent,
    /// Nothing; the voltage was read, and scatters evenly.
    ReadVoltage,
}

impl Stated<'_> {
    /// Calls `f` with what `noise` states; where it states no scatter, the quantity that was not `swept` was read.
    pub fn with<T>(noise: &Noise, swept: Swept, f: impl FnOnce(&Stated) -> T) -> T {
        let sigma_v = |v: f64| noise.sigma_voltage(v);
        let sigma_i = |i: f64| noise.sigma_current(i);
        if noise.states_scatter() {
            f(&Stated::Known(&sigma_v, &sigma_i))
        } else if swept == Swept::Current {
            f(&Stated::ReadVoltage)
        } else {
            f(&Stated::ReadCurrent)
        }
    }
}

impl Scatter {
    /// The bend curve of `readings` and their scatter about it.
    pub fn with_bend_curve(readings: &Readings, stated: &Stated) -> (BendCurve, Self) {
        let bend_curve = BendCurve::of(readings);
        let scatter = Self::of(readings, &bend_curve, stated);
        let (beyond_chance, size) = bend_curve.misfit(readings, &scatter.effective);
        if beyond_chance > BENT_OFTEN && size > SLIGHT {
            let bend_curve = bend_curve.bending(readings);
            let scatter = Self::of(readings, &bend_curve, stated);
            return (bend_curve, scatter);
        }
        (bend_curve, scatter)
    }

    fn of(readings: &Readings, bend_curve: &BendCurve, stated: &Stated) -> Self {
        let mut scatter = match stated {
            Stated::Known(sigma_v, sigma_i) => known(readings, bend_curve, *sigma_v, *sigma_i),
            Stated::ReadCurrent => found(readings, pooled_current(readings, bend_curve), false),
            Stated::ReadVoltage => found(readings, pooled_voltage(readings, bend_curve), true),
        };
        let axes = scatter.current.iter().zip(&scatter.voltage).zip(bend_curve.slope());
        scatter.effective = axes.map(|((i, v), slope)| i.hypot(slope * v)).collect();
        if let Stated::Known(..) = stated {
            scatter.excess = excess(readings, bend_curve, &scatter.effective);
        }
        scatter
    }
}

fn known(
    readings: &Readings,
    bend_curve: &BendCurve,
    sigma_v: &dyn Fn(f64) -> f64,
    sigma_i: &dyn Fn(f64) -> f64,
) -> Scatter {
    let (unit_v, unit_a) = (readings.unit_v, readings.unit_a);
    let current: Vec<f64> = readings.smooth().iter().map(|i| sigma_i(i * unit_a) / unit_a).collect();
    let voltage = (0..readings.len()).map(|k| {
        let (v, slope) = (readings.voltage[k], bend_curve.slope()[k]);
        let sigma = sigma_v(v * unit_v) / unit_v;
        let s2 = current[k].powi(2) + (slope * sigma).powi(2);
        // A proportional part is taken at the foot of the reading on the smooth, not at the reading.
        let foot = if s2 > 0.0 {
            (readings.current[k] - readings.smooth()[k]) * slope * sigma * sigma / s2
        } else {
            0.0
        };
        sigma_v((v + foot) * unit_v) / unit_v
    });
    let voltage = voltage.collect();
    Scatter { voltage, current, effective: Vec::new(), dof: f64::INFINITY, excess: None, unknown: None }
}

fn found(readings: &Readings, pooled: Result<(f64, f64), Reason>, on_voltage: bool) -> Scatter {
    let (sigma, dof, unknown) = match pooled {
        Ok((sigma, dof)) => (sigma, dof, None),
        Err(why) => (NOMINAL, f64::INFINITY, Some(why)),
    };
    let (this, other) = (vec![sigma; readings.len()], vec![0.0; readings.len()]);
    let (voltage, current) = if on_voltage { (this, other) } else { (other, this) };
    Scatter { voltage, current, effective: Vec::new(), dof, excess: None, unknown }
}

fn pooled_current(readings: &Readings, bend_curve: &BendCurve) -> Result<(f64, f64), Reason> {
    pooled(&readings.voltage, &readings.current, bend_curve.bend(), ON_CURRENT)
}

/// The voltage scatters: V against ln(1 − I/S) is nearly straight where the curve is steep.
fn pooled_voltage(readings: &Readings, bend_curve: &BendCurve) -> Result<(f64, f64), Reason> {
    let mut points: Vec<(f64, f64)> = (0..readings.len())
        .map(|k| (1.0 - readings.current[k] / bend_curve.flat(readings.voltage[k]), readings.voltage[k]))
        .filter(|(rest, _)| *rest > 0.1)
        .map(|(rest, v)| (rest.ln(), v))
        .collect();
    points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let bend: Vec<f64> = x.iter().map(|x| bend_curve.stretch(*x)).collect();
    pooled(&x, &y, &bend, ON_VOLTAGE)
}

/// σ̂ and its degrees of freedom; `bend` is the curve's own non-polynomial part.
fn pooled(x: &[f64], y: &[f64], bend: &[f64], size: Size) -> Result<(f64, f64), Reason> {
    let fewest = size.points.max(FEWEST);
    if x.len() < fewest {
        return Err(Reason::FewReadings { readings: x.len(), fewest });
    }
    let windows = Windows::new(x, y, bend, size);
    let (sigma2, dof) = windows.variance();
    if sigma2.is_finite() && dof > 0.0 { Ok((sigma2.sqrt(), dof)) } else { Err(Reason::NoScatter) }
}

/// How many times more than `sigma` the readings scatter, when it is more beyond doubt.
fn excess(readings: &Readings, bend_curve: &BendCurve, sigma: &[f64]) -> Option<f64> {
    if readings.len() < ON_CURRENT.points {
        return None;
    }
    let windows = Windows::new(&readings.voltage, &readings.current, bend_curve.bend(), ON_CURRENT);
    let (ratio, dof) = windows.against(sigma);
    let doubtless = ratio.is_finite() && dof > 0.0 && deviate(ratio, dof, f64::INFINITY) > BEYOND_DOUBT;
    doubtless.then(|| ratio.sqrt())
}
