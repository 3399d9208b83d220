//! The equation of `linexp` at many points, without a branch, so that the loop becomes vector code.
//!
//! ```text
//! x + e^x = y   (x = ln ω, the logarithm of the Wright omega function)        u = a·(x − k) = c/α − a·e^x
//! ```
//!
//! A start within about a thousandth of a thermal voltage, then one step of fifth order on the equation itself, whose
//! exponentials serve current and derivatives. With more diodes the start is the smallest of the single roots, above
//! the root, and two steps with coarse exponentials come between. A lane that has not settled takes more steps; where
//! it leaves the ordinary (an exponent beyond 700, a parameter at the end of f64) it says so, and the careful solver of
//! `linexp` answers instead. Each lane depends on its own numbers alone; with fused multiply-add in place of a
//! platform's functions the bits are the same on every instruction set, and for any number and order of points.
//!
//! | file | holds |
//! |---|---|
//! | `omega` | the start |
//! | `equation` | the equation, its step of fifth order |
//! | `cell` | I(V) and V(I) of one lane |
//! | `one` | one circuit at many points |

mod cell;
mod equation;
mod omega;
mod one;

use super::circuit::Circuit;
use super::elementary::exp_rough;
use super::junction::Junction;
use super::roots::{BLOCK, Root};
use cell::{Current, Direction, Parts, Voltage};
use equation::LARGEST;
use multiversion::multiversion;

/// δ with δ + Σ θn·δⁿ/n! = p, n = 2 to 4, to the fourth order in p.
#[inline(always)]
fn series(p: f64, theta: [f64; 3]) -> f64 {
    let [t2, t3, t4] = theta;
    let third = (0.5 * t2).mul_add(t2, t3 * (-1.0 / 6.0));
    let inner = t2.mul_add(-0.625 * t2, t3 * (5.0 / 12.0));
    let fourth = t2.mul_add(inner, t4 * (-1.0 / 24.0));
    let p2 = p * p;
    p2.mul_add(p2.mul_add(fourth, p.mul_add(third, -0.5 * t2)), p)
}

fn parts<const K: usize>(c: &Circuit<K>) -> Parts<K> {
    Parts { iph: c.iph, i0: c.i0, a: c.a, rs: c.rs, g: c.g }
}

/// I in A at each voltage of one circuit.
pub(super) fn currents<const K: usize>(circuit: &Circuit<K>, voltage_v: &[f64], current_a: &mut [f64]) {
    one::answers(&Current::new(parts(circuit)), voltage_v, current_a);
    for (i, &v) in current_a.iter_mut().zip(voltage_v).filter(|(i, _)| i.is_nan()) {
        *i = circuit.current_from(circuit.at_voltage(v), v);
    }
}

/// V in V at each current of one circuit.
pub(super) fn voltages<const K: usize>(circuit: &Circuit<K>, current_a: &[f64], voltage_v: &mut [f64]) {
    one::answers(&Voltage::new(parts(circuit)), current_a, voltage_v);
    for (v, &i) in voltage_v.iter_mut().zip(current_a).filter(|(v, _)| v.is_nan()) {
        *v = circuit.voltage_from(circuit.at_current(i), i);
    }
}

/// The states of the junction at each voltage.
pub(super) fn roots_at_voltages<const K: usize>(
    circuit: &Circuit<K>,
    voltage_v: &[f64],
    roots: &mut [Root<K>],
) {
    let cell = Current::new(parts(circuit));
    for (v, roots) in voltage_v.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        fill(circuit, &cell, v, roots, |v| circuit.at_voltage(v));
    }
}

/// The states of the junction at each current.
pub(super) fn roots_at_currents<const K: usize>(
    circuit: &Circuit<K>,
    current_a: &[f64],
    roots: &mut [Root<K>],
) {
    let cell = Voltage::new(parts(circuit));
    for (i, roots) in current_a.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        fill(circuit, &cell, i, roots, |i| circuit.at_current(i));
    }
}

/// States of up to a block of points.
fn fill<const K: usize, D: Direction<K>>(
    circuit: &Circuit<K>,
    cell: &D,
    x: &[f64],
    roots: &mut [Root<K>],
    careful: impl Fn(f64) -> f64,
) {
    let Some(last) = x.len().checked_sub(1) else { return };
    let padded: [f64; BLOCK] = std::array::from_fn(|k| x[k.min(last)]);
    let lanes = one::lanes(x.len()).min(BLOCK);
    let mut u = [0.0; BLOCK];
    let (mut minus_one, mut whole) = ([[0.0; one::BLOCK]; K], [[0.0; one::BLOCK]; K]);
    one::roots(cell, &padded[..lanes], &mut u, &mut minus_one, &mut whole);
    for (k, root) in roots.iter_mut().enumerate() {
        *root = if u[k].is_nan() {
            circuit.root(careful(x[k]))
        } else {
            let currents = |lists: &[[f64; one::BLOCK]; K]| std::array::from_fn(|d| circuit.i0[d] * lists[d][k]);
            Root { u: u[k], diode_a: currents(&minus_one), whole_a: currents(&whole) }
        };
    }
}

/// exp((u − top)/a) − exp(−top/a) at each u ≤ top, to 1e-8 of 1: the shape of a diode's current.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub(crate) fn shares(u: &[f64], top: f64, a: f64, out: &mut [f64]) {
    let by_a = 1.0 / a;
    let exponential = |x: f64| exp_rough(x.clamp(-LARGEST, LARGEST));
    let at_zero = exponential(-top * by_a);
    out.iter_mut().zip(u).for_each(|(out, u)| *out = exponential((u - top) * by_a) - at_zero);
}
