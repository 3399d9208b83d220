//! Rsh from the slope at V = 0: of a lit sweep (at short circuit) or of a dark one (its ohmic region).
//!
//! ```text
//! −dI/dV at V = 0 = (g + Id/a)/(1 + Rs·(g + Id/a)) ≈ g = 1/Rsh
//! ```
//!
//! I(V) by a local polynomial about 0 V; where the voltages of a lit sweep were read V(I) by one about the stand-in's current at 0 V,
//! whose slope −R at its own zero gives g = 1/R. The diode's own slope Id/a and the factor 1 + Rs·g are the assumption,
//! which the stand-in judges.
//!
//! Source: common practice.

use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::polynomial::current_on_voltage;
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::window_selection::{Trial, best, sizes};
use crate::curve::nearest;
use crate::diode::Junction;
use crate::numerics::least_squares::regression::Problem;
use crate::numerics::least_squares::regression::powers;
use std::ops::Range;

const TOP_DEGREE: usize = 3;

const AT_ISC: Words = Words {
    quantity: Quantity::Shunt,
    method: "slope at Isc",
    measures: "lumped with the series resistance, at short circuit under light",
    source: "common practice",
};

const DARK: Words = Words {
    quantity: Quantity::Shunt,
    method: "dark ohmic region",
    measures: "lumped with the series resistance, in the dark about 0 V",
    source: "common practice",
};

/// Rsh from the slope at Isc of a lit sweep.
pub(super) fn slope_at_isc(lit: &Prepared) -> Result<Resistance, ResistanceError> {
    slope_at_zero(lit, AT_ISC, lit.trace.reads_voltage())
}

/// Rsh from the slope about 0 V of a dark sweep.
pub(super) fn dark_ohmic(dark: &Prepared) -> Result<Resistance, ResistanceError> {
    // V(I) turns sharply where the diode opens, and no polynomial follows it.
    slope_at_zero(dark, DARK, false)
}

fn slope_at_zero(sweep: &Prepared, words: Words, reads_voltage: bool) -> Result<Resistance, ResistanceError> {
    let trace = &sweep.trace;
    let (low, high) = (trace.v[0], trace.v[trace.len() - 1]);
    if low > 0.0 || high < 0.0 {
        return Err(ResistanceError::ZeroNotReached { low_v: low, high_v: high });
    }
    let ordered = if reads_voltage { trace.by_falling_current() } else { trace.clone() };
    let (x, centre) = if reads_voltage {
        (ordered.i.iter().map(|i| -i).collect(), -trace.circuit.current_at(0.0))
    } else {
        (ordered.v.clone(), 0.0)
    };
    let (ordered, x) = (&ordered, &x);
    let trials = sizes(3, trace.len()).flat_map(|count| {
        let degrees = 1..=TOP_DEGREE.min(count.saturating_sub(2));
        let window = nearest(x, centre, count);
        degrees.filter_map(move |degree| {
            let trial = if reads_voltage { trial_of_voltage } else { trial };
            Some((trial(ordered, window.clone(), degree)?, ()))
        })
    });
    let given = trace.len();
    let few = ResistanceError::TooFewPoints { region: "around 0 V", given, needed: 3 };
    let (trial, ()) = best(trials).ok_or(few)?;
    let doubts = sweep.doubt().into_iter().collect();
    let Trial { value, variance, .. } = trial;
    // What the stand-in's own slope differs from its g, and what the polynomial makes wrong of that slope.
    Raw { value, variance, dof: trace.dof, bias: trial.bias, doubts }.dress(words, trace)
}

fn trial(trace: &Trace, span: Range<usize>, degree: usize) -> Option<Trial> {
    let cut = trace.cut(span);
    let real = current_on_voltage(&cut, degree)?;
    let ideal = current_on_voltage(&cut.ideal(), degree)?;
    Some(Trial {
        value: -real.c[1],
        variance: real.covariance(1, 1),
        bias: -ideal.c[1] - trace.circuit.g,
        chi2: real.chi2,
        spare: real.dof,
    })
}

/// V on I: −1/slope where the polynomial is 0.
fn trial_of_voltage(trace: &Trace, span: Range<usize>, degree: usize) -> Option<Trial> {
    let at = trace.circuit.current_at(0.0);
    let of = |cut: &Trace| {
        let basis = |_: usize, i: f64, phi: &mut [f64], dphi: &mut [f64]| {
            powers(i - at, phi, dphi);
            true
        };
        let (x, y, sigma_x, sigma_y) = (&cut.i, &cut.v, &cut.sigma_i, &cut.sigma_v);
        let r = Problem { x, y, sigma_x, sigma_y, terms: degree + 1, basis: &basis }.solve()?;
        // To second order in the distance of the zero from the stand-in's: x = −c₀/c₁, slope c₁ + 2·c₂·x.
        let (slope, bend) = (r.c[1], if degree > 1 { 2.0 * r.c[2] } else { 0.0 });
        let by_c0 = -bend / slope;
        let variance =
            r.covariance(1, 1) + 2.0 * by_c0 * r.covariance(0, 1) + by_c0 * by_c0 * r.covariance(0, 0);
        let steep = slope + by_c0 * r.c[0];
        Some((-1.0 / steep, variance / steep.powi(4), r.chi2, r.dof))
    };
    let cut = trace.cut(span);
    let (value, variance, chi2, spare) = of(&cut)?;
    Some(Trial { value, variance, bias: of(&cut.ideal())?.0 - trace.circuit.g, chi2, spare })
}
