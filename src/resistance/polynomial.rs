//! Polynomials as functions of a regression.

use super::prepared_sweep::Trace;
use super::regression::{Problem, Regression};

/// 1, x, x², … and their derivatives.
pub(super) fn powers(x: f64, phi: &mut [f64], dphi: &mut [f64]) {
    let (mut power, mut before) = (1.0, 0.0);
    for (j, (phi, dphi)) in phi.iter_mut().zip(dphi).enumerate() {
        *phi = power;
        *dphi = j as f64 * before;
        before = power;
        power *= x;
    }
}

/// I on V by a polynomial of `degree`.
pub(super) fn current_on_voltage(cut: &Trace, degree: usize) -> Option<Regression> {
    let basis = |_: usize, v: f64, phi: &mut [f64], dphi: &mut [f64]| {
        powers(v, phi, dphi);
        true
    };
    let (x, y, sigma_x, sigma_y) = (&cut.v, &cut.i, &cut.sigma_v, &cut.sigma_i);
    Problem { x, y, sigma_x, sigma_y, terms: degree + 1, basis: &basis }.solve()
}
