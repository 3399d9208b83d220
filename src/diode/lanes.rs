//! One diode at many points: the equation of `linexp` without a branch, so that the loop becomes vector code.
//!
//! ```text
//! x + e^x = y   (x = ln ω, the logarithm of the Wright omega function)        u = a·(x − k) = c/α − a·e^x
//! ```
//!
//! Two steps of Halley's method from a start within 0.2 of x, with exponentials of eight digits, leave it within 1e-8;
//! a third one on the equation itself, with all digits, ends at rounding, and its exponentials serve current and
//! derivatives. Where a lane leaves the ordinary (an exponent beyond 700, a voltage below all resolution) it says so,
//! and the careful solver of `linexp` answers instead. Each lane depends on its own numbers alone; with fused multiply-add in place of a
//! platform's functions the bits are the same on every instruction set.

use super::circuit::Circuit;
use super::elementary::{exp_pair, exp_rough, ln, ln_rough};
use super::junction::Junction;
use super::roots::Root;
use multiversion::multiversion;

/// Exponents between which `exp_pair` holds with room to spare.
const LARGEST: f64 = 700.0;
/// Above, y may lose the bits of c/α, and the careful solver takes the logarithmic form.
const LARGEST_Y: f64 = 1e8;

/// α·u + ρ·I0·(e^(u/a) − 1) = s for one circuit, with everything that does not depend on s.
#[derive(Clone, Copy, Debug)]
struct Equation {
    alpha: f64,
    rho_i0: f64,
    /// ρ·I0/a.
    bend: f64,
    a: f64,
    by_a: f64,
    by_alpha: f64,
    by_alpha_a: f64,
    /// ln(ρ·I0/(α·a)); ln(ρ·I0) where α = 0.
    k: f64,
    usable: bool,
}

/// A root: u, e^(u/a) − 1, e^(u/a), and whether it can be believed.
#[derive(Clone, Copy, Debug)]
struct Root1 {
    u: f64,
    minus_one: f64,
    whole: f64,
    good: bool,
}

impl Equation {
    fn new(alpha: f64, rho: f64, circuit: &Circuit<1>) -> Self {
        let (a, rho_i0) = (circuit.a[0], rho * circuit.i0[0]);
        let k = if alpha > 0.0 {
            circuit.ln_i0[0] + ((rho / alpha).ln() - a.ln())
        } else {
            circuit.ln_i0[0] + rho.ln()
        };
        let usable = rho_i0 > 1e-290 && rho_i0 < 1e290 && k.is_finite() && (1e-290..1e290).contains(&a);
        Self {
            alpha,
            rho_i0,
            bend: rho_i0 / a,
            a,
            by_a: 1.0 / a,
            by_alpha: 1.0 / alpha,
            by_alpha_a: 1.0 / (alpha * a),
            k,
            usable,
        }
    }

    /// The root for α > 0.
    #[inline(always)]
    fn root(&self, s: f64) -> Root1 {
        let c = s + self.rho_i0;
        let y = c.mul_add(self.by_alpha_a, self.k);
        let (x, _) = halley(y, first_guess(y));
        let (x, omega) = halley(y, x);
        let from_log = self.a * (x - self.k);
        let from_line = c.mul_add(self.by_alpha, -(self.a * omega));
        let u = if x >= 0.0 { from_log } else { from_line };
        self.polished(u, s, y < LARGEST_Y)
    }

    /// The root for α = 0: only the exponential is left.
    #[inline(always)]
    fn root_without_line(&self, s: f64) -> Root1 {
        let c = s + self.rho_i0;
        let normal = c > f64::MIN_POSITIVE && c < f64::MAX;
        let u = self.a * (ln(if normal { c } else { 1.0 }) - self.k);
        self.polished(u, s, normal)
    }

    /// One step of Halley's method on the equation, whose exponentials follow it.
    #[inline(always)]
    fn polished(&self, u: f64, s: f64, good: bool) -> Root1 {
        let t = u * self.by_a;
        let (m1, whole) = exp_pair(t.clamp(-LARGEST, LARGEST));
        let value = self.rho_i0.mul_add(m1, self.alpha.mul_add(u, -s));
        let diode = self.bend * whole;
        let slope = self.alpha + diode;
        // f″ = diode/a
        let step = 2.0 * value * slope / (2.0 * slope).mul_add(slope, -(value * diode * self.by_a));
        let d = -step * self.by_a;
        let growth = d.mul_add(0.5 * d, d);
        let end = u - step;
        // The third power of d is below rounding, and u has all its bits after the step.
        let good = good & (t < LARGEST) & (d.abs() < 1e-6) & (end.abs() > 1e-6 * self.a);
        let (minus_one, whole) = (whole.mul_add(growth, m1), whole.mul_add(growth, whole));
        Root1 { u: end, minus_one, whole, good }
    }
}

/// x with x + e^x = y, to 0.2.
#[inline(always)]
fn first_guess(y: f64) -> f64 {
    // About y = 1, where x = 0.
    let t = (y - 1.0).clamp(-3.0, 3.0);
    let middle = t * t.mul_add(t.mul_add(t.mul_add(1.0 / 3072.0, 1.0 / 192.0), -1.0 / 16.0), 0.5);
    let large = y.clamp(4.0, 1e300);
    let log = ln_rough(large - ln_rough(large));
    if y < -1.5 {
        y
    } else if y < 4.0 {
        middle
    } else {
        log
    }
}

/// One step of Halley's method on x + e^x − y, and e^x after it.
#[inline(always)]
fn halley(y: f64, x: f64) -> (f64, f64) {
    let x = x.clamp(-LARGEST, LARGEST);
    let e = exp_rough(x);
    let f = x - y + e;
    let slope = 1.0 + e;
    let step = 2.0 * f * slope / (2.0 * slope).mul_add(slope, -(f * e));
    // Below −700 the exponential is nothing and x = y.
    let d = if y < -LARGEST { 0.0 } else { -step };
    (x + d, e * d.mul_add(d.mul_add(0.5, 1.0), 1.0))
}

/// A circuit made ready for many voltages.
#[derive(Clone, Copy, Debug)]
struct Ready {
    equation: Equation,
    iph: f64,
    i0: f64,
    i0_by_a: f64,
    rs: f64,
    by_rs: f64,
    g: f64,
    /// Without a series resistance u = V.
    direct: bool,
}

impl Ready {
    fn new(c: &Circuit<1>) -> Self {
        let equation = Equation::new(c.rs.mul_add(c.g, 1.0), c.rs, c);
        Self {
            equation,
            iph: c.iph,
            i0: c.i0[0],
            i0_by_a: c.i0[0] / c.a[0],
            rs: c.rs,
            by_rs: 1.0 / c.rs,
            g: c.g,
            direct: c.rs == 0.0,
        }
    }

    fn usable(&self) -> bool {
        self.direct || self.equation.usable
    }

    #[inline(always)]
    fn root<const DIRECT: bool>(&self, v: f64) -> Root1 {
        if DIRECT {
            let t = v / self.equation.a;
            let (minus_one, whole) = exp_pair(t.clamp(-LARGEST, LARGEST));
            Root1 { u: v, minus_one, whole, good: t < LARGEST }
        } else {
            self.equation.root(self.rs.mul_add(self.iph, v))
        }
    }

    /// I at V from the root.
    #[inline(always)]
    fn current<const DIRECT: bool>(&self, v: f64) -> f64 {
        let root = self.root::<DIRECT>(v);
        let j = self.g.mul_add(-root.u, self.i0.mul_add(-root.minus_one, self.iph));
        let loss = self.rs * (self.i0_by_a * root.whole + self.g);
        let from_drop = (root.u - v) * self.by_rs;
        let i = if loss > 1.0 { from_drop } else { j };
        if root.good { i } else { f64::NAN }
    }
}

/// Points whose states are found together before they are put where they belong.
const BLOCK: usize = 32;

/// I in A at each voltage of one circuit.
pub(super) fn currents(circuit: &Circuit<1>, voltage_v: &[f64], current_a: &mut [f64]) {
    let ready = Ready::new(circuit);
    match (ready.usable(), ready.direct) {
        (false, _) => current_a.fill(f64::NAN),
        (true, true) => many_currents_direct(&ready, voltage_v, current_a),
        (true, false) => many_currents(&ready, voltage_v, current_a),
    }
    for (i, v) in current_a.iter_mut().zip(voltage_v).filter(|(i, _)| i.is_nan()) {
        *i = circuit.current_from(circuit.at_voltage(*v), *v);
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

/// V in V at each current of one circuit.
pub(super) fn voltages(circuit: &Circuit<1>, current_a: &[f64], voltage_v: &mut [f64]) {
    let mut block = Block::default();
    let equation = Equation::new(circuit.g, 1.0, circuit);
    for (i, v) in current_a.chunks(BLOCK).zip(voltage_v.chunks_mut(BLOCK)) {
        block.at_currents(&equation, circuit, i);
        for (k, (v, i)) in v.iter_mut().zip(i).enumerate() {
            let u = if block.u[k].is_nan() { circuit.at_current(*i) } else { block.u[k] };
            *v = circuit.voltage_from(u, *i);
        }
    }
}

/// The states of the junction at each voltage.
pub(super) fn roots_at_voltages<const K: usize>(
    circuit: &Circuit<1>,
    voltage_v: &[f64],
    roots: &mut [Root<K>],
) {
    let mut block = Block::default();
    let ready = Ready::new(circuit);
    for (v, roots) in voltage_v.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        block.at_voltages(&ready, v);
        block.put(circuit, roots, |k| circuit.at_voltage(v[k]));
    }
}

/// The states of the junction at each current.
pub(super) fn roots_at_currents<const K: usize>(
    circuit: &Circuit<1>,
    current_a: &[f64],
    roots: &mut [Root<K>],
) {
    let mut block = Block::default();
    let equation = Equation::new(circuit.g, 1.0, circuit);
    for (i, roots) in current_a.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        block.at_currents(&equation, circuit, i);
        block.put(circuit, roots, |k| circuit.at_current(i[k]));
    }
}

/// States of a block of points, one list a quantity; u is NaN where the careful solver must answer.
struct Block {
    u: [f64; BLOCK],
    minus_one: [f64; BLOCK],
    whole: [f64; BLOCK],
}

impl Default for Block {
    fn default() -> Self {
        let zeros = [0.0; BLOCK];
        Self { u: zeros, minus_one: zeros, whole: zeros }
    }
}

impl Block {
    fn at_voltages(&mut self, ready: &Ready, voltage_v: &[f64]) {
        match (ready.usable(), ready.direct) {
            (false, _) => self.u.fill(f64::NAN),
            (true, true) => fill_at_voltages::<true>(self, ready, voltage_v),
            (true, false) => fill_at_voltages::<false>(self, ready, voltage_v),
        }
    }

    fn at_currents(&mut self, equation: &Equation, circuit: &Circuit<1>, current_a: &[f64]) {
        match (equation.usable, circuit.g > 0.0) {
            (false, _) => self.u.fill(f64::NAN),
            (true, true) => fill_at_currents::<true>(self, equation, circuit.iph, current_a),
            (true, false) => fill_at_currents::<false>(self, equation, circuit.iph, current_a),
        }
    }

    #[inline(always)]
    fn set(&mut self, k: usize, root: Root1) {
        self.u[k] = if root.good { root.u } else { f64::NAN };
        self.minus_one[k] = root.minus_one;
        self.whole[k] = root.whole;
    }

    fn put<const K: usize>(
        &self,
        circuit: &Circuit<1>,
        roots: &mut [Root<K>],
        careful: impl Fn(usize) -> f64,
    ) {
        let i0 = circuit.i0[0];
        for (k, root) in roots.iter_mut().enumerate() {
            let (u, diode, whole) = if self.u[k].is_nan() {
                let found = circuit.root(careful(k));
                (found.u, found.diode_a[0], found.whole_a[0])
            } else {
                (self.u[k], i0 * self.minus_one[k], i0 * self.whole[k])
            };
            *root = Root { u, diode_a: [diode; K], whole_a: [whole; K] };
        }
    }
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn many_currents(ready: &Ready, voltage_v: &[f64], current_a: &mut [f64]) {
    current_a.iter_mut().zip(voltage_v).for_each(|(i, v)| *i = ready.current::<false>(*v));
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn many_currents_direct(ready: &Ready, voltage_v: &[f64], current_a: &mut [f64]) {
    current_a.iter_mut().zip(voltage_v).for_each(|(i, v)| *i = ready.current::<true>(*v));
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn fill_at_voltages<const DIRECT: bool>(block: &mut Block, ready: &Ready, voltage_v: &[f64]) {
    let count = voltage_v.len().min(BLOCK);
    for (k, v) in voltage_v[..count].iter().enumerate() {
        block.set(k, ready.root::<DIRECT>(*v));
    }
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn fill_at_currents<const SHUNT: bool>(block: &mut Block, equation: &Equation, iph: f64, current_a: &[f64]) {
    let count = current_a.len().min(BLOCK);
    for (k, i) in current_a[..count].iter().enumerate() {
        let s = iph - i;
        block.set(k, if SHUNT { equation.root(s) } else { equation.root_without_line(s) });
    }
}
