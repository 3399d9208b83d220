//! Pmax by every method, side by side.
//!
//! ```text
//! highest sample   max Vᵢ·Iᵢ, with the bias that its scatter gives it
//! guided curve     maximum of V·I(V) of the curve that a pilot fit guides (curve)
//! smooth curve     maximum of V·s(V), s a penalised spline (interpolant)
//! concave curve    the same of the falling, concave curve, where the readings do not speak against that shape
//! diode model      maximum of the fitted single diode (fit)
//! ```
//!
//! The guided curve is recommended: it holds on curves of one bend and on S-shapes. How far each can be believed is
//! simulated in docs/maximum_power.md. Concave curve and diode model are more precise where they are right; they can
//! only be quoted where nothing speaks against them.

use super::absence::NoMaximum;
use super::choice::{PowerChoice, PowerRemark};
use super::highest::highest_of;
use crate::curve::{key_points, window_of_maximum};
use crate::fit::{Options, Status, fit_single_diode};
use crate::interpolant::{Maximum, Penalty, Piecewise, Smooth, shape_beside, smooth_readings};
use crate::numerics::cancel;
use crate::quantity::estimate::{Amount, Estimate, Unit};
use crate::quantity::key_points::{KeyPoints, combined_dof};
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Sweep, common_effects, half_difference};
use std::fmt;

/// Level at which the readings may speak against the falling, concave shape.
const LEVEL: f64 = 0.95;

/// Standard uncertainties by which two estimates from the same readings may differ.
const APART: f64 = 1.5;

const HIGHEST: &str = "highest sample";
const LOCAL: &str = "guided curve";
const SMOOTH: &str = "smooth curve";
const CONCAVE: &str = "concave curve";
const MODEL: &str = "diode model";

/// Pmax by one method.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct PowerEstimate {
    /// The method, in a few words.
    pub method: &'static str,
    /// Pmax in W.
    pub pmax: Estimate,
    /// Its voltage in V.
    pub v_pmax: f64,
    /// What must be known with it.
    pub remark: Option<PowerRemark>,
}

/// Pmax by all methods, those that gave none with the reason, and the one to quote.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct MaximumPowers {
    /// In the order of the module's table.
    pub estimates: Vec<PowerEstimate>,
    /// Methods that gave none, and why.
    pub absent: Vec<(&'static str, NoMaximum)>,
    /// The one to quote.
    pub quote: Option<PowerEstimate>,
    /// Why that one.
    pub why: PowerChoice,
    /// Lowest and highest voltage in V that the guided curve is fitted over.
    pub window_v: Option<(f64, f64)>,
}

/// Pmax of `sweep` by every method. Never fails: a method that gives none says why.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::maximum_power::maximum_powers;
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let noise = Noise::default().current_a(1e-5);
/// let all = maximum_powers(&Sweep::new(&v, &i, SweepOptions::default().noise(noise))?);
/// let quoted = all.quote.unwrap();
/// assert_eq!(quoted.method, "guided curve");
/// assert!((quoted.pmax.value - 0.01293074).abs() < 3.0 * quoted.pmax.u.unwrap() && quoted.pmax.u.unwrap() < 1e-5);
/// assert!(all.estimates.iter().all(|one| (one.pmax.value - 0.01293).abs() < 4e-5));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn maximum_powers(sweep: &Sweep) -> MaximumPowers {
    table(sweep, &mut || {})
}

/// [`maximum_powers`], where `watch` is told how many methods are through: in the end as many as there are in `estimates`
/// and `absent`. `None` where it answered `false`, which stops the work, or a [`Token`](cancel::Token) in force stopped it.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::maximum_power::maximum_powers_watched;
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let mut methods = 0;
/// let all = maximum_powers_watched(&sweep, |done| { methods = done; true }).unwrap();
/// assert_eq!(methods, all.estimates.len() + all.absent.len());
/// assert!(maximum_powers_watched(&sweep, |_| false).is_none());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn maximum_powers_watched(sweep: &Sweep, watch: impl FnMut(usize) -> bool) -> Option<MaximumPowers> {
    cancel::watched(watch, |tell| table(sweep, tell))
}

fn table(sweep: &Sweep, tell: &mut dyn FnMut()) -> MaximumPowers {
    let mut through = |outcome: Outcome| {
        tell();
        outcome
    };
    let points = key_points(sweep);
    let smooth = smooth_readings(sweep, Penalty::CrossValidation).map_err(NoMaximum::from);
    let found = [
        (HIGHEST, through(highest(sweep, smooth.as_ref().ok()))),
        (LOCAL, through(local(&points))),
        (SMOOTH, through(smooth.as_ref().map_err(Clone::clone).and_then(of_smooth))),
        (CONCAVE, through(smooth.as_ref().map_err(Clone::clone).and_then(|s| of_shape(sweep, s)))),
        (MODEL, through(of_model(sweep))),
    ];
    let (mut estimates, mut absent) = (Vec::new(), Vec::new());
    for (method, outcome) in found {
        match outcome.and_then(|found| below_rectangle(found, &points)) {
            Ok((pmax, v_pmax, remark)) => estimates.push(PowerEstimate { method, pmax, v_pmax, remark }),
            Err(why) => absent.push((method, why)),
        }
    }
    carry(&mut estimates, sweep);
    let (quote, why) = choice(&estimates);
    MaximumPowers { estimates, absent, quote, why, window_v: window_of_maximum(sweep) }
}

/// Adds what moves all points together to the methods that take the readings alone: half the difference with the points at ± one
/// standard uncertainty of each source.
fn carry(estimates: &mut [PowerEstimate], sweep: &Sweep) {
    let common = common_effects((sweep.voltage_v(), sweep.current_a()), sweep.options());
    for effect in common {
        let [up, down] = [1.0, -1.0].map(|sign| sweep.moved(&effect, sign).map(|moved| of_readings(&moved)));
        for row in estimates.iter_mut().filter(|row| ![LOCAL, MODEL].contains(&row.method)) {
            let at = |rows: &Option<Vec<(&'static str, f64)>>| {
                rows.as_ref().and_then(|rows| rows.iter().find(|r| r.0 == row.method)).map(|r| r.1)
            };
            let half = half_difference(at(&up), row.pmax.value, at(&down)).unwrap_or(0.0);
            let Some(u) = row.pmax.u.filter(|_| half != 0.0) else { continue };
            let dof = combined_dof(&[(u * u, row.pmax.dof), (half * half, effect.dof)]);
            row.pmax = Estimate { u: Some(u.hypot(half)), dof, ..row.pmax.clone() };
        }
    }
}

/// The values of the methods that take the readings alone.
fn of_readings(sweep: &Sweep) -> Vec<(&'static str, f64)> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let sample = v.iter().zip(i).map(|(v, i)| v * i).fold(f64::NEG_INFINITY, f64::max);
    let mut found = vec![(HIGHEST, sample)];
    let Ok(smooth) = smooth_readings(sweep, Penalty::CrossValidation) else { return found };
    found.extend(smooth.curve().maximum_power().ok().map(|top| (SMOOTH, top.pmax_w)));
    let shape = shape_beside(sweep, &smooth).ok();
    found.extend(shape.and_then(|shape| Some((CONCAVE, shape.maximum_power().ok()?.0.pmax_w))));
    found
}

/// Pmax, its voltage, and what must be known with it.
type Found = (Estimate, f64, Option<PowerRemark>);
type Outcome = Result<Found, NoMaximum>;

/// The highest V·I among the samples; its expectation from the smooth where there is one.
fn highest(sweep: &Sweep, smooth: Option<&Smooth>) -> Outcome {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let best = (0..v.len())
        .max_by(|&a, &b| (v[a] * i[a]).total_cmp(&(v[b] * i[b])))
        .filter(|&k| v[k] * i[k] > 0.0)
        .ok_or(Reason::NoPower)?;
    let value = v[best] * i[best];
    let expected = smooth.and_then(|s| expected_highest(sweep, s));
    let Some((bias, spread, dof)) = expected else {
        let pmax = Estimate::without_u(value, Unit::Watt, Reason::BiasUnknown);
        return Ok((pmax, v[best], Some(PowerRemark::BiasedUpwards)));
    };
    let remark = Some(PowerRemark::Bias { bias_w: bias });
    Ok((Estimate::new(value, spread, Unit::Watt).with_dof(dof).noted(Reason::Biased), v[best], remark))
}

/// Bias and standard deviation of the highest sample, were the smooth the truth.
fn expected_highest(sweep: &Sweep, smooth: &Smooth) -> Option<(f64, f64, f64)> {
    let v = sweep.voltage_v();
    let currents = smooth.curve().current(v, false).ok()?.values;
    let noise = sweep.options().noise.filter(Noise::states_scatter);
    let (scatter, of_current) = (smooth.scatter(), smooth.points().of_current());
    let sigma: Vec<f64> = (0..v.len())
        .map(|k| match &noise {
            // P = V·I: ∂P/∂V at a reading of its own is I.
            Some(n) => (v[k] * n.sigma_current(currents[k])).hypot(currents[k] * n.sigma_voltage(v[k])),
            None => (if of_current { currents[k] } else { v[k] } * scatter.unwrap_or(f64::NAN)).abs(),
        })
        .collect();
    // Samples without scatter, at V = 0, deliver nothing.
    let there: Vec<usize> = (0..v.len()).filter(|&k| sigma[k] > 0.0).collect();
    let mean: Vec<f64> = there.iter().map(|&k| v[k] * currents[k]).collect();
    let sigma: Vec<f64> = there.iter().map(|&k| sigma[k]).collect();
    let found = highest_of(&mean, &sigma)?;
    let top = smooth.curve().maximum_power().ok()?.pmax_w;
    let dof = if noise.is_some() { f64::INFINITY } else { smooth.residual_dof() };
    Some((found.mean - top, found.spread, dof))
}

/// No curve delivers more than Isc·Voc, those of the same sweep where it gives them.
fn below_rectangle(found: Found, points: &KeyPoints) -> Outcome {
    let (Some(isc), Some(voc)) = (&points.isc, &points.voc) else { return Ok(found) };
    let ff = found.0.value / (isc.value * voc.value);
    if !(0.0..=1.0).contains(&ff) {
        return Err(Reason::FillFactor { fill_factor: ff }.into());
    }
    Ok(found)
}

fn local(points: &KeyPoints) -> Outcome {
    let why = || points.why_absent("pmax").cloned().unwrap_or(Reason::NoMaximum);
    let pmax = points.pmax.clone().ok_or_else(why)?;
    let v_pmax = points.v_pmax.as_ref().map_or(f64::NAN, |e| e.value);
    Ok((pmax, v_pmax, None))
}

fn inside(curve: &Piecewise) -> Result<Maximum, NoMaximum> {
    let top = curve.maximum_power()?;
    if top.at_end {
        return Err(Reason::MaximumAtEnd { voltage: Amount::volts(top.v_pmax) }.into());
    }
    if top.pmax_w <= 0.0 {
        return Err(Reason::NoPower.into());
    }
    Ok(top)
}

/// δPmax = V·δI at the maximum (its own place does not count to first order).
fn of_smooth(smooth: &Smooth) -> Outcome {
    let top = inside(smooth.curve())?;
    let current = smooth.current(&[top.v_pmax])?.remove(0);
    let pmax = match current.u {
        Some(u) => Estimate::new(top.pmax_w, top.v_pmax.abs() * u, Unit::Watt).with_dof(current.dof),
        None => Estimate { value: top.pmax_w, unit: Unit::Watt, ..current },
    };
    Ok((pmax, top.v_pmax, Some(PowerRemark::FlattenedKnee)))
}

/// Of the shape fitted to the same points with the same weights as the smooth.
fn of_shape(sweep: &Sweep, smooth: &Smooth) -> Outcome {
    let shape = shape_beside(sweep, smooth)?;
    inside(shape.curve())?;
    let verdict = shape.fits_the_shape(LEVEL)?;
    if !verdict.fits {
        return Err(NoMaximum::NotConcave { p: verdict.p });
    }
    let (top, pmax) = shape.maximum_power()?;
    Ok((pmax, top.v_pmax, Some(PowerRemark::OnlyConcave)))
}

fn of_model(sweep: &Sweep) -> Outcome {
    let fit = fit_single_diode(sweep, &Options::default())?;
    if fit.status == Status::NotConverged {
        return Err(NoMaximum::NotConverged);
    }
    let points = fit.key_points();
    let pmax = points.pmax.clone().ok_or(Reason::Dark)?;
    let v_pmax = points.v_pmax.as_ref().map_or(f64::NAN, |e| e.value);
    let lack = fit.lack_of_fit();
    Ok((pmax, v_pmax, (!lack.is_empty()).then_some(PowerRemark::LackOfFit(lack))))
}

/// The one to quote, and why.
fn choice(estimates: &[PowerEstimate]) -> (Option<PowerEstimate>, PowerChoice) {
    let of = |method: &str| estimates.iter().position(|e| e.method == method && e.pmax.u.is_some());
    let Some(local) = of(LOCAL) else {
        return (None, PowerChoice::None);
    };
    let own = estimates[local].pmax.u.unwrap_or(f64::INFINITY);
    let apart = |k: usize| (estimates[k].pmax.value - estimates[local].pmax.value).abs() / own;
    let agreeing = |method: &str, clean: bool| {
        of(method).filter(|&k| (!clean || estimates[k].remark.is_none()) && apart(k) < APART)
    };
    let times = |k: Option<usize>| Some(own / estimates[k?].pmax.u?).filter(|times| *times > 1.05);
    let why = PowerChoice::GuidedCurve {
        concave_times: times(agreeing(CONCAVE, false)),
        model_times: times(agreeing(MODEL, true)),
    };
    (Some(estimates[local].clone()), why)
}

/// Pmax, its voltage, the method, and what must be known with it.
impl fmt::Display for PowerEstimate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} at {} by {}", self.pmax, Amount::volts(self.v_pmax), self.method)?;
        self.remark.iter().try_for_each(|remark| write!(f, "; {remark}"))
    }
}

/// A line a method, then the one to quote.
impl fmt::Display for MaximumPowers {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.estimates.iter().try_for_each(|one| writeln!(f, "{one}"))?;
        self.absent.iter().try_for_each(|(method, why)| writeln!(f, "none by {method}: {why}"))?;
        match &self.quote {
            Some(one) => write!(f, "to quote: {} by {}: {}", one.pmax, one.method, self.why),
            None => write!(f, "to quote: {}", self.why),
        }
    }
}
