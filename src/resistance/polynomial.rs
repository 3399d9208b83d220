//! Polynomials as functions of a regression.

use super::prepared_sweep::Trace;
use crate::numerics::least_squares::regression::{Problem, Regression, powers};

/// I on V by a polynomial of `degree`.
pub(super) fn current_on_voltage(cut: &Trace, degree: usize) -> Option<Regression> {
    let basis = |_: usize, v: f64, phi: &mut [f64], dphi: &mut [f64]| {
        powers(v, phi, dphi);
        true
    };
    let (x, y, sigma_x, sigma_y) = (&cut.v, &cut.i, &cut.sigma_v, &cut.sigma_i);
    Problem { x, y, sigma_x, sigma_y, terms: degree + 1, basis: &basis }.solve()
}
