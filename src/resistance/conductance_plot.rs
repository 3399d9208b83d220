//! Rs of a dark curve by Werner's plot of G/I against G.
//!
//! ```text
//! G = dI/dV        G/I = d(ln I)/dV = (1 − Rs·G)/a        intercept 1/a, slope −Rs/a
//! ```
//!
//! J. H. Werner, Appl. Phys. A 47 (1988) 291 (from memory). G/I is the slope of a line through five neighbouring
//! readings of ln I. On the other axis G is not the difference of noisy readings, which would bias the line, but
//! that of the line itself at the current read, G = I/(a + Rs·I), followed over some rounds.

use super::carry::carry;
use super::choice::{Trial, best, sizes};
use super::dark_regression::{forward, regress};
use super::error::ResistanceError;
use super::outcome::{Quantity, Raw, Resistance, Words};
use super::solve::least_squares;
use super::trace::{Prepared, Trace};

const WIDTH: usize = 5;
const FEWEST: usize = WIDTH + 4;
const ROUNDS: usize = 8;

const WORDS: Words = Words {
    quantity: Quantity::Series,
    method: "conductance plot (Werner)",
    measures: "lumped, in the dark at high forward current",
    source: "J. H. Werner, Appl. Phys. A 47 (1988) 291",
};

/// Rs of a dark sweep.
pub(super) fn conductance_plot(dark: &Prepared) -> Result<Resistance, ResistanceError> {
    let trace = &dark.trace;
    let forward = forward(trace);
    let given = forward.len();
    let few = ResistanceError::TooFewPoints { region: "of clear forward current", given, needed: FEWEST };
    let trials =
        sizes(FEWEST, given).chain([given].into_iter().filter(|n| *n >= FEWEST)).filter_map(|count| {
            let cut = forward.cut(given - count..given);
            let (value, ideal) = (series(&cut)?, series(&cut.ideal())?);
            // The variance of the plain regression over the same readings ranks the windows.
            let variance = regress(&cut, 3)?.covariance(2, 2);
            Some((Trial::plain(value, variance, ideal - trace.circuit.rs), cut))
        });
    let (trial, cut) = best(trials).ok_or(few)?;
    let carried = carry(&cut, series).ok_or(ResistanceError::Undetermined { axis: "currents" })?;
    let offset = cut.through_offset(trial.value, series);
    let variance = carried.variance + offset * offset;
    let (value, bias) = (trial.value - carried.shift, trial.bias);
    let doubts = dark.doubt().into_iter().chain(super::dark_regression::further_term(&cut)).collect();
    Raw { value, variance, dof: trace.dof, bias, doubts }.dress(WORDS, trace)
}

/// Rs of the line through the plot of all the readings.
fn series(cut: &Trace) -> Option<f64> {
    let start = regress(cut, 3)?;
    let (mut a, mut rs) = (start.c[1], start.c[2]);
    let middles: Vec<usize> = (WIDTH / 2..cut.len() - WIDTH / 2).collect();
    let y: Vec<f64> = middles.iter().map(|&k| relative_slope(cut, k)).collect::<Option<_>>()?;
    for _ in 0..ROUNDS {
        let g = |&k: &usize| -cut.i[k] / (a - rs * cut.i[k]);
        let columns = vec![vec![1.0; y.len()], middles.iter().map(g).collect()];
        let line = least_squares(&columns, &y)?;
        (a, rs) = (1.0 / line.c[0], -line.c[1] / line.c[0]);
    }
    (a > 0.0 && rs.is_finite()).then_some(rs)
}

/// d(ln I)/dV of the line through the five readings about `k`.
fn relative_slope(cut: &Trace, k: usize) -> Option<f64> {
    let span = k - WIDTH / 2..k + WIDTH / 2 + 1;
    let middle = span.clone().map(|k| cut.v[k]).sum::<f64>() / WIDTH as f64;
    let (mut top, mut below) = (0.0, 0.0);
    for k in span {
        top += (cut.v[k] - middle) * (-cut.i[k]).ln();
        below += (cut.v[k] - middle).powi(2);
    }
    Some(top / below).filter(|s| s.is_finite())
}
