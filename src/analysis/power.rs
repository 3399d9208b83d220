//! Pmax by every method, side by side.
//!
//! ```text
//! highest sample   max Vᵢ·Iᵢ, with the bias that its scatter gives it
//! local polynomial maximum of V·I(V), window and degree by the noise (curve)
//! smooth curve     maximum of V·s(V), s a penalised spline (interpolant)
//! diode model      maximum of the fitted single diode (fit)
//! ```
//!
//! The local polynomial is recommended, unless the smooth curve differs from it by more than 1.5 of its standard
//! uncertainties and the diode model does not side with it: then the readings have a bend that its window, chosen for a
//! curve of one bend, does not know (an S-shape), and the smooth curve is. How far either can be believed is simulated in docs/maximum_power.md. The diode
//! model is more precise where it is right; it can only be quoted where nothing speaks against it.

use super::highest::highest_of;
use crate::curve::key_points;
use crate::estimate::{Estimate, Unit};
use crate::fit::{Options, Status, fit_single_diode};
use crate::interpolant::{Maximum, Penalty, Piecewise, Points, Smooth, smoothing};
use crate::sweep::Sweep;
use serde::Serialize;

/// Standard uncertainties by which two estimates from the same readings may differ.
const APART: f64 = 1.5;

const LOCAL: &str = "local polynomial";
const SMOOTH: &str = "smooth curve";
const MODEL: &str = "diode model";

/// Pmax by one method.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PowerEstimate {
    /// The method, in a few words.
    pub method: &'static str,
    /// Pmax in W.
    pub pmax: Estimate,
    /// Its voltage in V.
    pub v_pmax: f64,
    /// What must be known with it; empty if nothing.
    pub remark: String,
}

/// Pmax by all methods, those that gave none with the reason, and the one to quote.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct MaximumPowers {
    /// In the order of the module's table.
    pub estimates: Vec<PowerEstimate>,
    /// Methods that gave none, and why.
    pub absent: Vec<(&'static str, String)>,
    /// The one to quote; where the smooth curve is taken because it and the local polynomial part, with half of the
    /// difference in its standard uncertainty.
    pub quote: Option<PowerEstimate>,
    /// Why that one.
    pub why: String,
}

/// Pmax of `sweep` by every method. Never fails: a method that gives none says why.
pub fn maximum_powers(sweep: &Sweep) -> MaximumPowers {
    let points = Points::of_sweep(sweep).map_err(|e| e.to_string());
    let smooth = points
        .as_ref()
        .map_err(Clone::clone)
        .and_then(|p| smoothing(p, Penalty::CrossValidation).map_err(|e| e.to_string()));
    let found = [
        ("highest sample", highest(sweep, smooth.as_ref().ok())),
        (LOCAL, local(sweep)),
        (SMOOTH, smooth.and_then(|s| of_smooth(&s))),
        (MODEL, of_model(sweep)),
    ];
    let (mut estimates, mut absent) = (Vec::new(), Vec::new());
    for (method, outcome) in found {
        match outcome {
            Ok((pmax, v_pmax, remark)) => estimates.push(PowerEstimate { method, pmax, v_pmax, remark }),
            Err(why) => absent.push((method, why)),
        }
    }
    let (quote, why) = choice(&estimates);
    MaximumPowers { estimates, absent, quote, why }
}

type Outcome = Result<(Estimate, f64, String), String>;

/// The highest V·I among the samples; its expectation from the smooth where there is one.
fn highest(sweep: &Sweep, smooth: Option<&Smooth>) -> Outcome {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let best = (0..v.len())
        .max_by(|&a, &b| (v[a] * i[a]).total_cmp(&(v[b] * i[b])))
        .filter(|&k| v[k] * i[k] > 0.0)
        .ok_or("no sample delivers power")?;
    let value = v[best] * i[best];
    let expected = smooth.and_then(|s| expected_highest(sweep, s));
    let Some((bias, spread, dof)) = expected else {
        let why = "its bias and spread need the scatter of the readings";
        return Ok((Estimate::without_u(value, Unit::Watt, why), v[best], "biased upwards".into()));
    };
    let remark = format!("on average {bias:.2e} W above the maximum of the curve, for its scatter");
    Ok((
        Estimate::new(value, spread, Unit::Watt).with_dof(dof).noted("not corrected for its bias"),
        v[best],
        remark,
    ))
}

/// Bias and standard deviation of the highest sample, were the smooth the truth.
fn expected_highest(sweep: &Sweep, smooth: &Smooth) -> Option<(f64, f64, f64)> {
    let v = sweep.voltage_v();
    let currents = smooth.curve().current(v, false).ok()?.values;
    let noise = sweep.options().noise.filter(|n| n.states_voltage() || n.states_current());
    let scatter = smooth.scatter();
    let sigma: Vec<f64> = (0..v.len())
        .map(|k| match &noise {
            // P = V·I: ∂P/∂V at a reading of its own is I.
            Some(n) => (v[k] * n.sigma_current(currents[k])).hypot(currents[k] * n.sigma_voltage(v[k])),
            None => (v[k] * scatter.unwrap_or(f64::NAN)).abs(),
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

fn local(sweep: &Sweep) -> Outcome {
    let points = key_points(sweep);
    let why = || points.why_absent("pmax").unwrap_or("no maximum").to_owned();
    let pmax = points.pmax.clone().ok_or_else(why)?;
    let v_pmax = points.v_pmax.as_ref().map_or(f64::NAN, |e| e.value);
    Ok((pmax, v_pmax, String::new()))
}

fn inside(curve: &Piecewise) -> Result<Maximum, String> {
    let top = curve.maximum_power().map_err(|e| e.to_string())?;
    if top.at_end {
        return Err("the power is highest at the end of the sweep: measure further".into());
    }
    if top.pmax_w <= 0.0 {
        return Err("the curve delivers no power".into());
    }
    Ok(top)
}

/// δPmax = V·δI at the maximum (its own place does not count to first order).
fn of_smooth(smooth: &Smooth) -> Outcome {
    let top = inside(smooth.curve())?;
    let current = smooth.current(&[top.v_pmax]).map_err(|e| e.to_string())?.remove(0);
    let pmax = match current.u {
        Some(u) => Estimate::new(top.pmax_w, top.v_pmax.abs() * u, Unit::Watt).with_dof(current.dof),
        None => Estimate::without_u(top.pmax_w, Unit::Watt, current.note.unwrap_or_default()),
    };
    Ok((pmax, top.v_pmax, "the penalty flattens the knee: ± does not hold that bias".into()))
}

fn of_model(sweep: &Sweep) -> Outcome {
    let fit = fit_single_diode(sweep, &Options::default()).map_err(|e| e.to_string())?;
    if fit.status == Status::NotConverged {
        return Err("the fit did not converge".into());
    }
    let points = fit.key_points();
    let pmax = points.pmax.clone().ok_or("the model is dark")?;
    let v_pmax = points.v_pmax.as_ref().map_or(f64::NAN, |e| e.value);
    Ok((pmax, v_pmax, fit.lack_of_fit().join("; ")))
}

/// The one to quote, and why.
fn choice(estimates: &[PowerEstimate]) -> (Option<PowerEstimate>, String) {
    let of = |method: &str| estimates.iter().position(|e| e.method == method && e.pmax.u.is_some());
    let Some(local) = of(LOCAL) else {
        return (None, "none: the local polynomial gives no maximum with an uncertainty".into());
    };
    let own = estimates[local].pmax.u.unwrap_or(f64::INFINITY);
    let apart = |k: usize| (estimates[k].pmax.value - estimates[local].pmax.value).abs() / own;
    let model = of(MODEL).filter(|&k| estimates[k].remark.is_empty() && apart(k) < APART);
    if let Some(smooth) = of(SMOOTH).filter(|&k| apart(k) > APART && model.is_none()) {
        let why = format!(
            "the local polynomial is {:.1} of its standard uncertainties off the smooth curve: the curve bends more than once",
            apart(smooth)
        );
        let (mut quote, other) = (estimates[smooth].clone(), estimates[local].pmax.value);
        quote.pmax.u = quote.pmax.u.map(|u| u.hypot(0.5 * (quote.pmax.value - other)));
        return (Some(quote), why);
    }
    let base = "no model is needed, and on curves of one bend its bias is below a quarter of its uncertainty";
    let why = match model.and_then(|k| estimates[k].pmax.u).filter(|u| *u < own) {
        Some(u) => {
            format!(
                "{base}; the diode model agrees and is {:.1} times as precise, if the device is a diode",
                own / u
            )
        }
        None => base.into(),
    };
    (Some(estimates[local].clone()), why)
}
