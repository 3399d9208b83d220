//! Rs and n of a dark curve by Cheung's relation, computed as a regression.
//!
//! ```text
//! V = c + a·ln I + Rs·I        I: forward current, V ≫ a, I ≫ V/Rsh;  a = n·cells·k·T/q
//! dV/d(ln I) = a + Rs·I        H(I) = V − a·ln I = c + Rs·I        the two classical plots
//! ```
//!
//! S. K. Cheung, N. W. Cheung, Appl. Phys. Lett. 49 (1986) 85 (from memory) differentiate the readings, which
//! multiplies their scatter; the regression uses the same physics without a difference. The window reaches
//! down from the highest current as far as the shunt and the −1 of the diode allow, judged on the stand-in.

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::window_selection::{Trial, best, sizes};
use crate::curve::deviate;
use crate::numerics::least_squares::regression::{Problem, Regression};
use crate::quantity::estimate::{Estimate, Unit};
use std::fmt;

const FEWEST: usize = 5;

/// Readings whose current is expected below this many of its standard deviations have no logarithm worth using.
const CLEAR: f64 = 6.0;

/// A misfit or a further term is believed beyond this many standard deviations.
const BELIEVED: f64 = 4.0;

const WORDS: Words = Words {
    quantity: Quantity::Series,
    method: "dark regression (Cheung)",
    measures: "lumped, in the dark at high forward current",
    source: "S. K. Cheung, N. W. Cheung, Appl. Phys. Lett. 49 (1986) 85",
};

/// What the regression of a dark curve gives.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct DarkRegression {
    /// Rs.
    pub resistance: Resistance,
    /// The ideality factor.
    pub n: Estimate,
    /// The classical plots, for the eye.
    pub plots: ClassicalPlots,
}

/// The two classical plots against the current as plain data, from the readings of the window.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct ClassicalPlots {
    /// Geometric mean of two neighbouring currents in A, for `dv_dlni_v`.
    pub middle_a: Vec<f64>,
    /// Differences of neighbouring readings ΔV/Δ(ln I) in V: a + Rs·I and much scatter.
    pub dv_dlni_v: Vec<f64>,
    /// Forward current in A, for `h_v`.
    pub current_a: Vec<f64>,
    /// H = V − a·ln(I/1 A) in V.
    pub h_v: Vec<f64>,
}

/// Rs and n of a dark sweep.
pub(super) fn dark_regression(dark: &Prepared) -> Result<DarkRegression, ResistanceError> {
    let trace = &dark.trace;
    let forward = forward(trace);
    let given = forward.len();
    let few = ResistanceError::TooFewPoints { region: "of clear forward current", given, needed: FEWEST };
    if given < FEWEST {
        return Err(few);
    }
    let trials = sizes(FEWEST, given).chain([given]).filter_map(|count| {
        let cut = forward.cut(given - count..given);
        let (real, ideal) = (regress(&cut, 3)?, regress(&cut.ideal(), 3)?);
        let (rs_bias, n_bias) = (ideal.c[2] - trace.circuit.rs, ideal.c[1] - trace.circuit.a[0]);
        // Both figures are wanted: the worse of the two, in standard deviations, chooses.
        let per_n = (real.covariance(2, 2) / real.covariance(1, 1)).sqrt();
        let bias = rs_bias.abs().max(if per_n.is_finite() { per_n * n_bias.abs() } else { 0.0 });
        let trial = Trial {
            value: real.c[2],
            variance: real.covariance(2, 2),
            bias,
            chi2: real.chi2,
            spare: real.dof,
        };
        Some((trial, (cut, real, rs_bias, n_bias)))
    });
    let (trial, (cut, real, bias, n_bias)) =
        best(trials).ok_or(ResistanceError::Undetermined { axis: "currents" })?;
    let mut doubts: Vec<Doubt> = dark.doubt().into_iter().collect();
    doubts.extend(misfit(&trial, trace.dof));
    doubts.extend(further_term(&cut));
    let of_offset = |j: usize| cut.through_offset(real.c[j], |t| Some(regress(t, 3)?.c[j]));
    let (value, variance) = (trial.value, trial.variance + of_offset(2).powi(2));
    let resistance = Raw { value, variance, dof: trace.dof, bias, doubts }.dress(WORDS, trace)?;
    let n = ideality(trace, &real, n_bias.hypot(of_offset(1)));
    let plots = plots(&cut, real.c[1]);
    Ok(DarkRegression { resistance, n, plots })
}

/// Forward readings of clear current, by rising voltage; the current is turned to I > 0 and V kept.
pub(super) fn forward(trace: &Trace) -> Trace {
    let expected = trace.expected();
    let clear = |k: usize| {
        let through_voltage = expected[k] / trace.volts_per_n * trace.sigma_v[k];
        let sigma = trace.sigma_i[k].hypot(through_voltage.min(trace.sigma_i[k]));
        trace.v[k] > 2.0 * trace.volts_per_n && -expected[k] > CLEAR * sigma && trace.i[k] < 0.0
    };
    let first = (0..trace.len()).rev().take_while(|&k| clear(k)).last().unwrap_or(trace.len());
    trace.cut(first..trace.len())
}

/// V on 1, ln I, I and, with four terms, (ln I)².
pub(super) fn regress(cut: &Trace, terms: usize) -> Option<Regression> {
    let forward: Vec<f64> = cut.i.iter().map(|i| -i).collect();
    let unit = forward.last().copied().filter(|i| *i > 0.0)?;
    let basis = |_: usize, i: f64, phi: &mut [f64], dphi: &mut [f64]| {
        if i <= 0.0 {
            return false;
        }
        let x = (i / unit).ln();
        let (all, slopes) = ([1.0, x, i, x * x], [0.0, 1.0 / i, 1.0, 2.0 * x / i]);
        phi.copy_from_slice(&all[..phi.len()]);
        dphi.copy_from_slice(&slopes[..dphi.len()]);
        true
    };
    let (x, y, sigma_x, sigma_y) = (&forward, &cut.v, &cut.sigma_i, &cut.sigma_v);
    Problem { x, y, sigma_x, sigma_y, terms, basis: &basis }.solve()
}

fn misfit(trial: &Trial, dof: f64) -> Option<Doubt> {
    let spare = trial.spare as f64;
    let ratio = trial.chi2 / spare;
    let off = spare > 0.0 && trial.variance > 0.0 && deviate(ratio, spare, dof) > BELIEVED;
    off.then(|| Doubt::OffCheung { ratio: ratio.sqrt() })
}

/// A term (ln I)², which one diode does not have.
pub(super) fn further_term(cut: &Trace) -> Option<Doubt> {
    let significance = regress(cut, 4)?.significance(3);
    (significance > BELIEVED).then_some(Doubt::BentLogarithm { significance })
}

fn ideality(trace: &Trace, real: &Regression, beside: f64) -> Estimate {
    let u = real.covariance(1, 1).sqrt().hypot(beside) / trace.volts_per_n;
    trace.as_far_as_known(Estimate::new(real.c[1] / trace.volts_per_n, u, Unit::One).with_dof(trace.dof))
}

fn plots(cut: &Trace, a: f64) -> ClassicalPlots {
    let current_a: Vec<f64> = cut.i.iter().map(|i| -i).collect();
    let pairs: Vec<(f64, f64)> = (1..cut.len())
        .filter(|&k| current_a[k] != current_a[k - 1])
        .map(|k| {
            let (i, j) = (current_a[k - 1], current_a[k]);
            ((i * j).sqrt(), (cut.v[k] - cut.v[k - 1]) / (j / i).ln())
        })
        .filter(|p| p.0.is_finite() && p.1.is_finite())
        .collect();
    let (middle_a, dv_dlni_v) = pairs.into_iter().unzip();
    let h_v = cut.v.iter().zip(&current_a).map(|(v, i)| v - a * i.ln()).collect();
    ClassicalPlots { middle_a, dv_dlni_v, current_a, h_v }
}

/// Rs, and the ideality factor.
impl fmt::Display for DarkRegression {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}\nn {}", self.resistance, self.n)
    }
}
