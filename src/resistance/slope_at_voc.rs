//! Rs from the slope at open circuit.
//!
//! ```text
//! −dV/dI at Voc = Rs + 1/(Id/a + g),   Id ≈ Isc,  a = n·cells·k·T/q,   so   Rs ≈ −dV/dI − a/Isc
//! V = c₀ + c₁x + c₂x² + …,   x = ln(1 − I/Isc)        −dV/dI at I = 0 is c₁/Isc
//! ```
//!
//! In x the curve of a rectifying device is nearly straight, so that few readings give the slope. What is
//! left is the truncation: the same regression on the stand-in. The excess a/Isc neglects the shunt.
//!
//! Source: common practice.

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::window_selection::{Trial, best, sizes};
use crate::curve::nearest;
use crate::diode::Junction;
use crate::numerics::least_squares::regression::powers;
use crate::numerics::least_squares::regression::{Problem, Regression};
use crate::quantity::estimate::Estimate;
use std::ops::Range;

/// Currents up to this part of Isc have a logarithm worth using.
const LARGEST: f64 = 0.9;
const TOP_DEGREE: usize = 4;

const WORDS: Words = Words {
    quantity: Quantity::Series,
    method: "slope at Voc",
    measures: "lumped, at open circuit under light",
    source: "common practice",
};

/// Rs from the slope at Voc of a lit sweep, less a/Isc where the ideality factor `n` is given.
///
/// Without `n` the slope itself comes back, an upper bound of Rs, and `holds` says so.
///
/// # Errors
/// [`ResistanceError`] where the sweep has no Isc, no Voc or too few readings between them.
pub(super) fn slope_at_voc(lit: &Prepared, n: Option<&Estimate>) -> Result<Resistance, ResistanceError> {
    let (isc, voc) = (lit.key_point("isc")?, lit.key_point("voc")?);
    let trace = &lit.trace;
    let window = |count: usize| nearest(&trace.v, voc.value, count);
    let trials = sizes(3, trace.len()).flat_map(|count| {
        let degrees = 1..=TOP_DEGREE.min(count.saturating_sub(2));
        degrees.filter_map(move |degree| Some((trial(trace, isc.value, window(count), degree)?, ())))
    });
    let given = trace.len();
    let few = ResistanceError::TooFewPoints { region: "around open circuit", given, needed: 3 };
    let (trial, ()) = best(trials).ok_or(few)?;
    let mut raw = Raw {
        value: trial.value,
        variance: trial.variance,
        dof: trace.dof,
        bias: trial.bias,
        doubts: lit.doubt().into_iter().collect(),
    };
    // Truncation and excess are judged on the stand-in: on a curve that it does not follow (an S about Voc) they say nothing.
    raw.doubts.extend(lit.lack_of_fit());
    match n {
        Some(n) => remove_excess(&mut raw, trace, isc, n),
        None => raw.doubts.push(Doubt::DiodeSlope { excess_ohm: trace.circuit.a[0] / isc.value }),
    }
    raw.dress(WORDS, trace)
}

/// Takes a/Isc off, and judges on the stand-in what that leaves.
fn remove_excess(raw: &mut Raw, trace: &Trace, isc: &Estimate, n: &Estimate) {
    let excess = trace.volts_per_n * n.value / isc.value;
    raw.value -= excess;
    let from_n = trace.volts_per_n * n.u.unwrap_or(0.0) / isc.value;
    let from_isc = excess * isc.relative_u().unwrap_or(0.0);
    raw.variance += from_n * from_n + from_isc * from_isc;
    raw.bias += true_slope(trace) - trace.circuit.a[0] / trace.isc - trace.circuit.rs;
}

/// −dV/dI of the stand-in at its Voc.
fn true_slope(trace: &Trace) -> f64 {
    -1.0 / trace.circuit.slope_at(trace.voc)
}

fn trial(trace: &Trace, isc: f64, span: Range<usize>, degree: usize) -> Option<Trial> {
    let cut = trace.cut(span);
    let real = regress(&cut, isc, degree)?;
    let ideal = regress(&cut.ideal(), trace.isc, degree)?;
    Some(Trial {
        value: real.c[1] / isc,
        variance: real.covariance(1, 1) / (isc * isc),
        bias: ideal.c[1] / trace.isc - true_slope(trace),
        chi2: real.chi2,
        spare: real.dof,
    })
}

fn regress(cut: &Trace, isc: f64, degree: usize) -> Option<Regression> {
    let basis = |_: usize, i: f64, phi: &mut [f64], dphi: &mut [f64]| {
        if i > LARGEST * isc {
            return false;
        }
        let (x, dx) = ((-i / isc).ln_1p(), -1.0 / (isc - i));
        powers(x, phi, dphi);
        dphi.iter_mut().for_each(|d| *d *= dx);
        true
    };
    let (x, y, sigma_x, sigma_y) = (&cut.i, &cut.v, &cut.sigma_i, &cut.sigma_v);
    Problem { x, y, sigma_x, sigma_y, terms: degree + 1, basis: &basis }.solve()
}
