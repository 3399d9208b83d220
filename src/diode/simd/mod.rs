//! The equation of `numerics::special::linear_exponential` at many points, without a branch, so that the loop becomes vector code.
//!
//! ```text
//! x + e^x = y   (x = ln ω, the logarithm of the Wright omega function)        u = a·(x − k) = c/α − a·e^x
//! ```
//!
//! A start within about a thousandth of a thermal voltage, then one step of fifth order on the equation itself, whose
//! exponentials serve current and derivatives. With more diodes the start is the smallest of the single roots, above
//! the root, and two steps with coarse exponentials come between. A lane that has not settled takes more steps; where
//! it leaves the ordinary (an exponent beyond 700, a parameter at the end of f64) it says so, and the careful solver of
//! `linear_exponential` answers instead. Each lane depends on its own numbers alone; with fused multiply-add in place of a
//! platform's functions the bits are the same on every instruction set, and for any number and order of points.
//!
//! | file | holds |
//! |---|---|
//! | `omega` | the start |
//! | `equation` | the equation, its step of fifth order |
//! | `direction` | I(V) and V(I) of one lane |
//! | `maximum_power` | the point of maximum power of one lane |
//! | `one_circuit` | one circuit at many points |
//! | `many_circuits` | many circuits, each at its own point, and their key points |
//! | `instruction_sets` | a test: the same bits under every instruction set |

mod direction;
mod equation;
#[cfg(test)]
mod instruction_sets;
mod many_circuits;
mod maximum_power;
mod omega;
mod one_circuit;

use super::circuit::Circuit;
use super::junction::Junction;
use super::junction_voltages::{BLOCK, Roots};
use super::maximum::MaximumPower;
use crate::numerics::special::exp_ln::exp_rough;
use direction::{Current, Direction, Parts, Voltage};
use equation::LARGEST;
pub(super) use many_circuits::{Cells, Figures};
use multiversion::multiversion;
pub(super) use one_circuit::BLOCK as WIDE;

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

/// What a batch asks of each circuit at its own number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Wanted {
    Current,
    Voltage,
    Slope,
}

fn parts<const K: usize>(c: &Circuit<K>) -> Parts<K> {
    Parts { iph: c.iph, i0: c.i0, a: c.a, rs: c.rs, g: c.g }
}

/// I in A at each voltage of one circuit.
pub(super) fn currents<const K: usize>(circuit: &Circuit<K>, voltage_v: &[f64], current_a: &mut [f64]) {
    one_circuit::answers::<K, Current<K>>(&parts(circuit), voltage_v, current_a);
    for (i, &v) in current_a.iter_mut().zip(voltage_v).filter(|(i, _)| i.is_nan()) {
        *i = circuit.current_from(circuit.at_voltage(v), v);
    }
}

/// V in V at each current of one circuit.
pub(super) fn voltages<const K: usize>(circuit: &Circuit<K>, current_a: &[f64], voltage_v: &mut [f64]) {
    one_circuit::answers::<K, Voltage<K>>(&parts(circuit), current_a, voltage_v);
    for (v, &i) in voltage_v.iter_mut().zip(current_a).filter(|(v, _)| v.is_nan()) {
        *v = circuit.voltage_from(circuit.at_current(i), i);
    }
}

/// The states of the junction at each of up to a block of voltages.
pub(super) fn roots_at_voltages<const K: usize>(
    circuit: &Circuit<K>,
    voltage_v: &[f64],
    roots: &mut Roots<K>,
) {
    fill::<K, Current<K>>(circuit, voltage_v, roots, |v| circuit.at_voltage(v));
}

/// The states of the junction at each of up to a block of currents.
pub(super) fn roots_at_currents<const K: usize>(
    circuit: &Circuit<K>,
    current_a: &[f64],
    roots: &mut Roots<K>,
) {
    fill::<K, Voltage<K>>(circuit, current_a, roots, |i| circuit.at_current(i));
}

/// States of up to a block of points.
fn fill<const K: usize, D: Direction<K>>(
    circuit: &Circuit<K>,
    x: &[f64],
    roots: &mut Roots<K>,
    careful: impl Fn(f64) -> f64,
) {
    let Some(last) = x.len().checked_sub(1) else { return };
    let padded: [f64; BLOCK] = std::array::from_fn(|k| x[k.min(last)]);
    let lanes = one_circuit::lanes(x.len()).min(BLOCK);
    one_circuit::roots::<K, D>(&parts(circuit), &padded[..lanes], roots);
    for k in 0..x.len().min(BLOCK) {
        if roots.u[k].is_nan() {
            roots.hard += 1;
            roots.set(k, circuit, careful(x[k]));
        }
    }
}

/// The current, voltage or slope of each of a block of circuits at its own `x`.
pub(super) fn each<const K: usize>(
    wanted: Wanted,
    cells: &Cells<K>,
    x: &[f64; WIDE],
    out: &mut [f64; WIDE],
    count: usize,
) {
    let lanes = one_circuit::lanes(count);
    match wanted {
        Wanted::Current => many_circuits::answers::<K, Current<K>>(cells, x, out, lanes),
        Wanted::Voltage => many_circuits::answers::<K, Voltage<K>>(cells, x, out, lanes),
        Wanted::Slope => out.fill(f64::NAN),
    }
    for (k, out) in out[..count].iter_mut().enumerate().filter(|(_, out)| out.is_nan()) {
        *out = careful(wanted, &circuit(cells.parts(k)), x[k]);
    }
}

/// The current, voltage or slope of one circuit at each `x`.
pub(super) fn along<const K: usize>(wanted: Wanted, circuit: &Circuit<K>, x: &[f64], out: &mut [f64]) {
    match wanted {
        Wanted::Current => currents(circuit, x, out),
        Wanted::Voltage => voltages(circuit, x, out),
        Wanted::Slope => out.iter_mut().zip(x).for_each(|(out, &x)| *out = circuit.slope_at(x)),
    }
}

fn careful<const K: usize>(wanted: Wanted, circuit: &Circuit<K>, x: f64) -> f64 {
    match wanted {
        Wanted::Current => circuit.current_from(circuit.at_voltage(x), x),
        Wanted::Voltage => circuit.voltage_from(circuit.at_current(x), x),
        Wanted::Slope => circuit.slope_at(x),
    }
}

fn circuit<const K: usize>(p: Parts<K>) -> Circuit<K> {
    Circuit::new(p.iph, p.i0, p.a, p.rs, p.g)
}

/// Isc, Voc and the maximum of the first `count` of a block of circuits; all 0 in the dark.
pub(super) fn figures<const K: usize>(cells: &Cells<K>, found: &mut Figures, count: usize) {
    many_circuits::figures(cells, found, one_circuit::lanes(count));
    for k in 0..count.min(WIDE) {
        if cells.iph[k] == 0.0 {
            (found.isc[k], found.voc[k], found.u[k]) = (0.0, 0.0, 0.0);
            (found.v_pmax[k], found.i_pmax[k]) = (0.0, 0.0);
            continue;
        }
        if !(found.isc[k] + found.voc[k] + found.u[k]).is_nan() {
            continue;
        }
        let circuit = circuit(cells.parts(k));
        (found.isc[k], found.voc[k]) = (circuit.isc(), circuit.voc());
        let best = circuit.maximum_power();
        (found.u[k], found.v_pmax[k], found.i_pmax[k]) = (best.u, best.v_pmax, best.i_pmax);
    }
}

/// The maximum of a circuit under light whose open-circuit voltage is `voc`, where a lane finds it.
pub(super) fn maximum<const K: usize>(c: &Circuit<K>, voc: f64) -> Option<MaximumPower> {
    let mut cells = Cells::<K>::default();
    (cells.iph[0], cells.rs[0], cells.g[0]) = (c.iph, c.rs, c.g);
    for d in 0..K {
        (cells.i0[d][0], cells.a[d][0]) = (c.i0[d], c.a[d]);
    }
    let mut found = Figures::default();
    found.voc[0] = voc;
    many_circuits::maxima(&cells, &mut found, 1);
    let (u, v_pmax, i_pmax) = (found.u[0], found.v_pmax[0], found.i_pmax[0]);
    (!u.is_nan()).then_some(MaximumPower { u, v_pmax, i_pmax, pmax: v_pmax * i_pmax })
}

/// exp((u − top)/a) − exp(−top/a) at each u ≤ top, to 1e-8 of 1: the shape of a diode's current. Returns exp(−top/a).
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub(crate) fn shares(u: &[f64], top: f64, a: f64, out: &mut [f64]) -> f64 {
    let by_a = 1.0 / a;
    let exponential = |x: f64| exp_rough(x.clamp(-LARGEST, LARGEST));
    let at_zero = exponential(-top * by_a);
    out.iter_mut().zip(u).for_each(|(out, u)| *out = exponential((u - top) * by_a) - at_zero);
    at_zero
}
