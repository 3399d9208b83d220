//! Two ways of a sweep: how far they part, how fast the device follows, and where it would settle.
//!
//! ```text
//! index           h = (P_second − P_first)/(P_second + P_first)           P: maximum power of each way
//! first-order lag yₖ = sₖ + (yₖ₋₁ − sₖ)·e        e = exp(−T/τ)             s: settled curve, T: dwell time a step
//! two ways        aₖ = e·bₖ      aₖ = yₖ(up) − yₖ(down)     bₖ = yₖ₋₁(up) − yₖ₊₁(down)
//! ```
//!
//! On the same set points the settled curve drops out of the difference of both ways, so that e is the slope of a line through
//! zero and no model of the device is needed. The scatter of the readings enters a and b: Σb² is freed of what it adds,
//! as in a regression with errors in both variables (W. A. Fuller, Measurement Error Models (1987), section 1.2; from memory).
//! The index is common practice; several are in use, and they differ.

use crate::curve::{estimate_noise, key_points};
use crate::numerics::statistics::variance_ratio::deviate;
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use crate::quantity::reason::Reason;
use crate::quantity::source::Identity;
use crate::sweep::{
    Change, Effect, Leads, Noise, Reach, Sign, Sweep, SweepError, SweepOptions, Swept, of_one_source, range,
};
use std::fmt;

/// Part of the range by which the set points of both ways may differ.
const SAME: f64 = 1e-3;
/// Fewest common set points that show a lag.
const FEWEST: usize = 6;
/// Part by which the times of steps may differ.
const UNEVEN: f64 = 0.2;
/// Standard deviations beyond which a variance ratio is not chance.
const BEYOND_DOUBT: f64 = 4.0;
/// Standard uncertainties that e must be above 0 for there to be a lag.
const CLEAR: f64 = 3.0;

/// Why two sweeps are not compared.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum HysteresisError {
    /// One stepped the voltage, the other the current.
    #[error("one sweep steps the voltage and the other the current: compare two ways of one kind")]
    DifferentlySwept,
    /// Both go the same way.
    #[error("both sweeps go the same way: pass one upwards and one downwards")]
    SameWay,
    /// The settled curve is no sweep.
    #[error("the settled curve is no sweep: {0}")]
    Settled(#[from] SweepError),
}

/// What two ways of a sweep say of a device that follows slowly.
///
/// # Examples
/// ```
/// use litdiode::hysteresis::hysteresis;
/// use litdiode::sweep::{Sweep, SweepOptions};
/// // Invented: I = 30 mA − V/20 Ω once settled; exp(−1/2) of each step is left after the dwell time.
/// let v: Vec<f64> = (0..13).map(|k| 0.05 * f64::from(k)).collect();
/// let settled = |v: f64| 0.030 - v / 20.0;
/// let follow = |v: &[f64]| -> Vec<f64> {
///     let mut i = settled(v[0]);
///     v.iter().map(|v| { i = settled(*v) + (i - settled(*v)) * (-0.5f64).exp(); i }).collect()
/// };
/// let sweep = |v: &[f64]| {
///     let time_s = (0..v.len()).map(|k| 0.1 * k as f64).collect();
///     Sweep::new(v, &follow(v), SweepOptions::default().time_s(Some(time_s)))
/// };
/// let down: Vec<f64> = v.iter().rev().copied().collect();
/// let found = hysteresis(&sweep(&v)?, &sweep(&down)?)?;
/// assert!((found.time_constant_s?.value - 0.2).abs() < 1e-6); // 0.1 s are half a time constant
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Hysteresis {
    /// (P_second − P_first)/(P_second + P_first), or why there is none.
    pub index: Result<Estimate, Reason>,
    /// Part of a step that is left after the dwell time, e, or why it is not known.
    pub left: Result<Estimate, Reason>,
    /// Dwell time a step in s, where the times of the readings are known.
    pub dwell_s: Option<f64>,
    /// Time constant τ in s, or why it is not known.
    pub time_constant_s: Result<Estimate, Reason>,
    /// Largest step of the settled curve from one set point to the next, in the unit of what was read.
    pub largest_step: f64,
    /// The curve that the device would settle on, where a lag was found.
    pub settled: Option<Sweep>,
}

/// Compares two ways of a sweep, in the order in which they were measured.
///
/// # Errors
/// [`HysteresisError`] for sweeps of different kinds or of the same direction. What the readings do not give is absent in the
/// result, with its reason.
///
/// # Examples
/// ```
/// use litdiode::hysteresis::hysteresis;
/// use litdiode::sweep::{Sweep, SweepOptions};
/// // Invented: on the way down the currents are 1 % higher than on the way up.
/// let (v, i) = ([0.0, 0.2, 0.4, 0.45, 0.5, 0.6], [0.030, 0.030, 0.028, 0.024, 0.017, -0.041]);
/// let (mut back_v, mut back_i) = (v, i.map(|i| 1.01 * i));
/// back_v.reverse();
/// back_i.reverse();
/// let up = Sweep::new(&v, &i, SweepOptions::default())?;
/// let down = Sweep::new(&back_v, &back_i, SweepOptions::default())?;
/// let found = hysteresis(&up, &down)?;
/// assert!((found.index?.value - 0.01 / 2.01).abs() < 1e-6); // (P_down − P_up)/(P_down + P_up)
/// assert!(found.time_constant_s.is_err()); // the sweeps carry no times
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn hysteresis(first: &Sweep, second: &Sweep) -> Result<Hysteresis, HysteresisError> {
    if first.options().swept != second.options().swept {
        return Err(HysteresisError::DifferentlySwept);
    }
    if rises(first) == rises(second) {
        return Err(HysteresisError::SameWay);
    }
    let (up, down) = if rises(first) { (first, second) } else { (second, first) };
    let dwell = common_dwell(first, second);
    let index = index(first, second);
    let mut result = Hysteresis {
        index,
        left: Err(Reason::Unrecorded),
        dwell_s: dwell.clone().ok().flatten(),
        time_constant_s: Err(Reason::Unrecorded),
        largest_step: 0.0,
        settled: None,
    };
    match dwell.and_then(|dwell| Ok((dwell, Lag::of(up, down)?))) {
        Err(why) => {
            result.left = Err(why.clone());
            result.time_constant_s = Err(why);
        }
        Ok((dwell, lag)) => {
            let left = lag.left();
            result.time_constant_s = time_constant(&left, dwell);
            result.largest_step = lag.largest_step();
            result.settled = Some(lag.settled(up)?);
            result.left = Ok(left);
        }
    }
    Ok(result)
}

impl Hysteresis {
    /// Dwell time a step in s that leaves at most `bound` (in the unit of what was read) of error on even steps.
    ///
    /// ```text
    /// error ≤ Δ·e/(1 − e), Δ: largest step of the settled curve        T = τ·ln(1 + Δ/bound)
    /// ```
    ///
    /// # Errors
    /// The reason why the time constant is not known.
    pub fn dwell_for(&self, bound: f64) -> Result<Estimate, Reason> {
        let tau = self.time_constant_s.clone()?;
        let factor = (self.largest_step / bound).ln_1p();
        tau.scaled(factor).map_err(|_| Reason::Overflow)
    }
}

/// Whether the set quantity rises.
fn rises(sweep: &Sweep) -> bool {
    let (set, _) = sweep.set_and_read();
    set[set.len() - 1] > set[0]
}

/// Time from one reading to the next; `None` where the times are not known, an error where they differ.
fn dwell(sweep: &Sweep) -> Result<Option<f64>, Reason> {
    let Some(time) = &sweep.options().time_s else { return Ok(None) };
    let mut steps: Vec<f64> = time.windows(2).map(|w| (w[1] - w[0]).abs()).collect();
    let (shortest_s, longest_s) = range(&steps);
    if longest_s - shortest_s > UNEVEN * longest_s {
        return Err(Reason::UnevenDwell { shortest_s, longest_s });
    }
    steps.sort_by(f64::total_cmp);
    Ok(steps.get(steps.len() / 2).copied().filter(|t| *t > 0.0))
}

/// The mean of both ways.
fn common_dwell(first: &Sweep, second: &Sweep) -> Result<Option<f64>, Reason> {
    Ok(dwell(first)?.zip(dwell(second)?).map(|(a, b)| 0.5 * (a + b)))
}

fn index(first: &Sweep, second: &Sweep) -> Result<Estimate, Reason> {
    let power = |sweep: &Sweep| {
        let points = key_points(sweep);
        let why = || points.why_absent("pmax").cloned().unwrap_or(Reason::Unrecorded);
        points.traced(KeyPoint::Pmax).ok_or_else(why)
    };
    let (p, q) = (power(first)?, power(second)?);
    let of = || q.minus(&p)?.over(&q.plus(&p)?);
    of().map_err(|_| Reason::Overflow)
}

fn time_constant(left: &Estimate, dwell_s: Option<f64>) -> Result<Estimate, Reason> {
    let Some(dwell) = dwell_s else { return Err(Reason::NoTimes) };
    let (e, u) = (left.value, left.u.unwrap_or(0.0));
    if e <= CLEAR * u || e >= 1.0 {
        return Err(Reason::NoLag { left: e, u });
    }
    let tau = -dwell / e.ln();
    // dτ/de = T/(e·ln²e).
    let by = dwell / (e * e.ln().powi(2));
    let made = Estimate::of_operands(tau, Unit::Second, &[(left, by)]);
    made.map_err(|_| Reason::Overflow)
}

/// Both ways on common set points, by rising set point.
struct Lag {
    set: Vec<f64>,
    up: Vec<f64>,
    down: Vec<f64>,
    /// The part of a step that is left.
    e: f64,
    u: f64,
    dof: f64,
    /// Scatter of one reading.
    sigma: f64,
}

impl Lag {
    fn of(up: &Sweep, down: &Sweep) -> Result<Self, Reason> {
        let beside = (up, down);
        let (set, up) = sorted(up);
        let (others, down) = sorted(down);
        let (low, high) = range(&set);
        let same = set.len() == others.len()
            && set.iter().zip(&others).all(|(a, b)| (a - b).abs() <= SAME * (high - low));
        if !same || set.len() < FEWEST {
            return Err(Reason::DifferentSetPoints { fewest: FEWEST });
        }
        let n = set.len();
        let a: Vec<f64> = (1..n - 1).map(|k| up[k] - down[k]).collect();
        let b: Vec<f64> = (1..n - 1).map(|k| up[k - 1] - down[k + 1]).collect();
        let dot = |x: &[f64], y: &[f64]| x.iter().zip(y).map(|(x, y)| x * y).sum::<f64>();
        let (m, dof) = (a.len() as f64, a.len() as f64 - 1.0);
        let mut lag = Self { set, up, down, e: dot(&a, &b) / dot(&b, &b), u: 0.0, dof, sigma: 0.0 };
        // σ² of a reading from what is left of a − e·b, whose variance is 2σ²(1 + e²).
        for _ in 0..ROUNDS {
            let rest: f64 = a.iter().zip(&b).map(|(a, b)| (a - lag.e * b).powi(2)).sum();
            lag.sigma = (rest / dof / (2.0 * (1.0 + lag.e * lag.e))).sqrt();
            let own = dot(&b, &b) - 2.0 * m * lag.sigma.powi(2);
            if own <= 0.0 {
                return Err(Reason::NoLag { left: 0.0, u: f64::INFINITY });
            }
            lag.e = dot(&a, &b) / own;
            lag.u = lag.variance(&b, own).sqrt();
        }
        lag.agrees_with_noise(beside)?;
        if lag.e >= 1.0 || !lag.u.is_finite() {
            return Err(Reason::NoLag { left: lag.e, u: lag.u });
        }
        Ok(lag)
    }

    /// Whether what is left is the noise that the sweeps state, or that each of them shows by itself.
    fn agrees_with_noise(&self, (up, down): (&Sweep, &Sweep)) -> Result<(), Reason> {
        let (low, high) = range(&self.up);
        let of = |noise: &Noise| match up.options().swept {
            Swept::Voltage => noise.sigma_current(low.abs().max(high.abs())),
            Swept::Current => noise.sigma_voltage(low.abs().max(high.abs())),
        };
        let stated = up.options().noise.map(|noise| (of(&noise), f64::INFINITY)).filter(|s| s.0 > 0.0);
        let shown = || {
            let (a, b) = (estimate_noise(up).ok()?, estimate_noise(down).ok()?);
            Some(((0.5 * (of(&a).powi(2) + of(&b).powi(2))).sqrt(), a.dof() + b.dof()))
        };
        let Some((sigma, dof)) = stated.or_else(shown).filter(|s| s.0 > 0.0) else { return Ok(()) };
        let ratio = (self.sigma / sigma).powi(2);
        let beyond = deviate(ratio, self.dof, dof) > BEYOND_DOUBT;
        if beyond { Err(Reason::NotFirstOrder { times: ratio.sqrt() }) } else { Ok(()) }
    }

    /// Variance of e: the errors of aₖ − e·bₖ share readings with those of the neighbours, covariance −2e·σ².
    fn variance(&self, b: &[f64], own: f64) -> f64 {
        let s2 = self.sigma.powi(2);
        let each: f64 = b.iter().map(|b| b * b).sum::<f64>() * 2.0 * s2 * (1.0 + self.e * self.e);
        let neighbours: f64 = b.windows(2).map(|w| w[0] * w[1]).sum::<f64>() * -4.0 * self.e * s2;
        // What the errors of b themselves do: of the second order in σ²/Σb².
        let second = b.len() as f64 * 4.0 * s2 * s2 * (1.0 + self.e * self.e);
        (each + neighbours + second).max(0.0) / (own * own)
    }

    fn left(&self) -> Estimate {
        Estimate::new(self.e, self.u, Unit::One)
            .with_dof(self.dof)
            .identified(Identity::distinct(), "lag of the device")
    }

    /// Where each way says that the device would settle, and the mean of both.
    fn settled_values(&self) -> Vec<f64> {
        let (e, n) = (self.e, self.set.len());
        let from = |now: f64, before: f64| (now - e * before) / (1.0 - e);
        (0..n)
            .map(|k| {
                let up = (k > 0).then(|| from(self.up[k], self.up[k - 1]));
                let down = (k + 1 < n).then(|| from(self.down[k], self.down[k + 1]));
                match (up, down) {
                    (Some(up), Some(down)) => 0.5 * (up + down),
                    (up, down) => up.or(down).unwrap_or(self.up[k]),
                }
            })
            .collect()
    }

    fn largest_step(&self) -> f64 {
        self.settled_values().windows(2).map(|w| (w[1] - w[0]).abs()).fold(0.0, f64::max)
    }

    /// The settled curve as a sweep whose noise is what both ways leave, and whose effect is the lag's own uncertainty.
    fn settled(&self, like: &Sweep) -> Result<Sweep, SweepError> {
        let values = self.settled_values();
        let (e, n) = (self.e, values.len());
        // d/de of the mean of both ways.
        let by = |now: f64, before: f64| (now - before) / (1.0 - e).powi(2);
        let moved: Vec<f64> = (0..n)
            .map(|k| {
                let up = (k > 0).then(|| by(self.up[k], self.up[k - 1]));
                let down = (k + 1 < n).then(|| by(self.down[k], self.down[k + 1]));
                let both: Vec<f64> = up.into_iter().chain(down).collect();
                self.u * both.iter().sum::<f64>() / both.len().max(1) as f64
            })
            .collect();
        let sigma = self.sigma * (0.5 * (1.0 + e * e)).sqrt() / (1.0 - e);
        let old = like.options();
        let noise = Noise { scatter_dof: self.dof, ..old.noise.unwrap_or_default() };
        let none = vec![0.0; n];
        let (voltage_v, current_a, noise, effect) = match old.swept {
            Swept::Voltage => {
                let noise = Noise { current_a: sigma, current_rel: 0.0, current_step_a: 0.0, ..noise };
                (&self.set, &values, noise, (none, moved))
            }
            Swept::Current => {
                let noise = Noise { voltage_v: sigma, voltage_rel: 0.0, voltage_step_v: 0.0, ..noise };
                (&values, &self.set, noise, (moved, none))
            }
        };
        let mut effect = Effect::new("lag of the device", Reach::Common, effect.0, effect.1);
        effect.dof = self.dof;
        let mut options: SweepOptions = old.clone().sign(Sign::Generator).leads(Leads::AsGiven).noise(noise);
        // What moves all points together moves the settled curve alike.
        let order = by_set(like);
        let along = |x: &[f64]| order.iter().map(|&k| x[k]).collect::<Vec<f64>>();
        options.effects = of_one_source(old)
            .map(|e| Effect { voltage_v: along(&e.voltage_v), current_a: along(&e.current_a), ..e })
            .chain([effect])
            .collect();
        options.time_s = None;
        options.changes = like.changes().to_vec();
        options.changes.push(Change::asked_for(
            format!("settled curve of two ways, {} of a step being left at each reading", quantity(e, "")),
            "hysteresis of the first order",
        ));
        Sweep::new(voltage_v, current_a, options)
    }
}

/// Rounds in which the scatter and the slope are found.
const ROUNDS: usize = 10;

/// Set points and readings by rising set point.
fn sorted(sweep: &Sweep) -> (Vec<f64>, Vec<f64>) {
    let (set, read) = sweep.set_and_read();
    by_set(sweep).into_iter().map(|k| (set[k], read[k])).unzip()
}

/// Indices of the readings by rising set point.
fn by_set(sweep: &Sweep) -> Vec<usize> {
    let (set, _) = sweep.set_and_read();
    let mut order: Vec<usize> = (0..set.len()).collect();
    order.sort_by(|&a, &b| set[a].total_cmp(&set[b]));
    order
}

/// Index, time constant and what they rest on, a line each.
impl fmt::Display for Hysteresis {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let line = |x: &Result<Estimate, Reason>| match x {
            Ok(estimate) => estimate.to_string(),
            Err(why) => format!("none: {why}"),
        };
        writeln!(f, "hysteresis index  {}", line(&self.index))?;
        writeln!(f, "left of a step    {}", line(&self.left))?;
        write!(f, "time constant     {}", line(&self.time_constant_s))
    }
}
