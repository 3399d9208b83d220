//! The equation of `linexp` at many points, without a branch, so that the loop becomes vector code.
//!
//! ```text
//! x + e^x = y   (x = ln ω, the logarithm of the Wright omega function)        u = a·(x − k) = c/α − a·e^x
//! ```
//!
//! For one diode two steps of Halley's method from a start within 0.2 of x, with exponentials of eight digits, leave
//! it within 1e-8; a third one on the equation itself, with all digits, ends at rounding, and its exponentials serve
//! current and derivatives. With more diodes the smallest of the single roots lies above the root, and the same steps
//! fall to it. Where a lane leaves the ordinary (an exponent beyond 700, a voltage below all resolution) it says so,
//! and the careful solver of `linexp` answers instead. Each lane depends on its own numbers alone; with fused
//! multiply-add in place of a platform's functions the bits are the same on every instruction set.

use super::circuit::Circuit;
use super::elementary::{exp_pair, exp_rough, ln, ln_rough};
use super::junction::Junction;
use super::roots::{BLOCK, Root};
use multiversion::multiversion;

/// Exponents between which `exp_pair` holds with room to spare.
const LARGEST: f64 = 700.0;
/// Above, y may lose the bits of c/α, and the careful solver takes the logarithmic form.
const LARGEST_Y: f64 = 1e8;
/// Steps towards a root of several diodes.
const MOST_STEPS: usize = 40;
/// A step of this many thermal voltages leaves an error of its third power, below rounding.
const LAST: f64 = 1e-6;

/// α·u + ρ·Σ I0·(e^(u/a) − 1) = s for one circuit, with everything that does not depend on s.
#[derive(Clone, Copy, Debug)]
struct Equation<const K: usize> {
    alpha: f64,
    by_alpha: f64,
    /// ρ·ΣI0.
    all: f64,
    rho_i0: [f64; K],
    /// ρ·I0/a.
    bend: [f64; K],
    a: [f64; K],
    by_a: [f64; K],
    /// 1/(α·a).
    by_alpha_a: [f64; K],
    /// ln(ρ·I0/(α·a)); ln(ρ·I0) where α = 0.
    k: [f64; K],
    least_a: f64,
    usable: bool,
}

/// A root: u, e^(u/a) − 1 and e^(u/a) of each diode, and whether it can be believed.
#[derive(Clone, Copy, Debug)]
struct LaneRoot<const K: usize> {
    u: f64,
    minus_one: [f64; K],
    whole: [f64; K],
    good: bool,
}

impl<const K: usize> Equation<K> {
    fn new(alpha: f64, rho: f64, circuit: &Circuit<K>) -> Self {
        let (a, rho_i0) = (circuit.a, circuit.i0.map(|i0| rho * i0));
        let k: [f64; K] = std::array::from_fn(|d| {
            let scale = if alpha > 0.0 { (rho / alpha).ln() - a[d].ln() } else { rho.ln() };
            circuit.ln_i0[d] + scale
        });
        let ordinary = |x: f64| (1e-290..1e290).contains(&x);
        let usable = (0..K)
            .all(|d| ordinary(rho_i0[d]) && ordinary(a[d]) && ordinary(rho_i0[d] / a[d]) && k[d].is_finite());
        Self {
            alpha,
            by_alpha: 1.0 / alpha,
            all: rho * circuit.i0.iter().sum::<f64>(),
            rho_i0,
            bend: std::array::from_fn(|d| rho_i0[d] / a[d]),
            a,
            by_a: a.map(f64::recip),
            by_alpha_a: a.map(|a| 1.0 / (alpha * a)),
            k,
            least_a: a.iter().copied().fold(f64::INFINITY, f64::min),
            usable,
        }
    }

    /// A value at or above the root, within 1e-8·a of it for one diode, and whether it can be believed.
    #[inline(always)]
    fn start<const SHUNT: bool>(&self, s: f64) -> (f64, bool) {
        let c = s + self.all;
        let (mut u, mut good) = (f64::INFINITY, true);
        let normal = (c > f64::MIN_POSITIVE) & (c < f64::MAX);
        let ln_c = if SHUNT { 0.0 } else { ln(if normal { c } else { 1.0 }) };
        for d in 0..K {
            let alone = if SHUNT {
                let y = c.mul_add(self.by_alpha_a[d], self.k[d]);
                good &= y < LARGEST_Y;
                let (x, _) = halley(y, first_guess(y));
                let (x, omega) = halley(y, x);
                let from_line = c.mul_add(self.by_alpha, -(self.a[d] * omega));
                if x >= 0.0 { self.a[d] * (x - self.k[d]) } else { from_line }
            } else {
                self.a[d] * (ln_c - self.k[d])
            };
            u = if alone < u { alone } else { u };
        }
        (u, good & (SHUNT | normal))
    }

    /// One step of Halley's method on the equation, whose exponentials follow it, and its length in thermal voltages.
    #[inline(always)]
    fn step(&self, u: f64, s: f64) -> (LaneRoot<K>, f64) {
        let (mut minus_one, mut whole) = ([0.0; K], [0.0; K]);
        let (mut value, mut slope, mut curvature) = (self.alpha.mul_add(u, -s), self.alpha, 0.0);
        let mut good = true;
        for d in 0..K {
            let t = u * self.by_a[d];
            good &= t < LARGEST;
            (minus_one[d], whole[d]) = exp_pair(t.clamp(-LARGEST, LARGEST));
            value = self.rho_i0[d].mul_add(minus_one[d], value);
            let by_u = self.bend[d] * whole[d];
            slope += by_u;
            curvature = by_u.mul_add(self.by_a[d], curvature);
        }
        let step = 2.0 * value * slope / (2.0 * slope).mul_add(slope, -(value * curvature));
        let mut longest = 0.0;
        for d in 0..K {
            let x = -step * self.by_a[d];
            longest = if x.abs() > longest { x.abs() } else { longest };
            let growth = x.mul_add(0.5 * x, x);
            (minus_one[d], whole[d]) =
                (whole[d].mul_add(growth, minus_one[d]), whole[d].mul_add(growth, whole[d]));
        }
        let end = u - step;
        // Closer to zero u would not have all its bits after the step.
        good &= end.abs() > 1e-6 * self.least_a;
        (LaneRoot { u: end, minus_one, whole, good }, longest)
    }
}

impl Equation<1> {
    /// The root of one diode: a single step is the last.
    #[inline(always)]
    fn root<const SHUNT: bool>(&self, s: f64) -> LaneRoot<1> {
        let (u, good) = self.start::<SHUNT>(s);
        let (root, longest) = self.step(u, s);
        LaneRoot { good: root.good & good & (longest < LAST), ..root }
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
struct Ready<const K: usize> {
    equation: Equation<K>,
    iph: f64,
    i0: [f64; K],
    i0_by_a: [f64; K],
    rs: f64,
    by_rs: f64,
    g: f64,
    /// Without a series resistance u = V.
    direct: bool,
}

impl<const K: usize> Ready<K> {
    fn new(c: &Circuit<K>) -> Self {
        Self {
            equation: Equation::new(c.rs.mul_add(c.g, 1.0), c.rs, c),
            iph: c.iph,
            i0: c.i0,
            i0_by_a: std::array::from_fn(|d| c.i0[d] / c.a[d]),
            rs: c.rs,
            by_rs: 1.0 / c.rs,
            g: c.g,
            direct: c.rs == 0.0,
        }
    }

    fn usable(&self) -> bool {
        self.direct || self.equation.usable
    }

    /// The state at u = V.
    #[inline(always)]
    fn direct_root(&self, v: f64) -> LaneRoot<K> {
        let (mut minus_one, mut whole, mut good) = ([0.0; K], [0.0; K], true);
        for d in 0..K {
            let t = v / self.equation.a[d];
            good &= t < LARGEST;
            (minus_one[d], whole[d]) = exp_pair(t.clamp(-LARGEST, LARGEST));
        }
        LaneRoot { u: v, minus_one, whole, good }
    }

    /// I at V from the state; NaN where it cannot be believed.
    #[inline(always)]
    fn current(&self, v: f64, root: &LaneRoot<K>) -> f64 {
        let (mut j, mut slope) = (self.iph, self.g);
        for d in 0..K {
            j = self.i0[d].mul_add(-root.minus_one[d], j);
            slope = self.i0_by_a[d].mul_add(root.whole[d], slope);
        }
        let j = self.g.mul_add(-root.u, j);
        let from_drop = (root.u - v) * self.by_rs;
        let i = if self.rs * slope > 1.0 { from_drop } else { j };
        if root.good { i } else { f64::NAN }
    }
}

/// I in A at each voltage of one circuit.
pub(super) fn currents<const K: usize>(circuit: &Circuit<K>, voltage_v: &[f64], current_a: &mut [f64]) {
    match circuit.as_one() {
        Some(one) => {
            let ready = Ready::new(&one);
            match (ready.usable(), ready.direct) {
                (false, _) => current_a.fill(f64::NAN),
                (true, true) => many_currents::<true>(&ready, voltage_v, current_a),
                (true, false) => many_currents::<false>(&ready, voltage_v, current_a),
            }
        }
        None => {
            let (ready, mut block) = (Ready::new(circuit), Block::<K>::default());
            for (v, i) in voltage_v.chunks(BLOCK).zip(current_a.chunks_mut(BLOCK)) {
                block.at_voltages(&ready, v);
                (0..v.len()).for_each(|k| i[k] = ready.current(v[k], &block.root(k)));
            }
        }
    }
    for (i, v) in current_a.iter_mut().zip(voltage_v).filter(|(i, _)| i.is_nan()) {
        *i = circuit.current_from(circuit.at_voltage(*v), *v);
    }
}

/// V in V at each current of one circuit.
pub(super) fn voltages<const K: usize>(circuit: &Circuit<K>, current_a: &[f64], voltage_v: &mut [f64]) {
    if let Some(one) = circuit.as_one() {
        let equation = Equation::new(one.g, 1.0, &one);
        match (equation.usable, one.g > 0.0) {
            (false, _) => voltage_v.fill(f64::NAN),
            (true, true) => many_voltages::<true>(&equation, &one, current_a, voltage_v),
            (true, false) => many_voltages::<false>(&equation, &one, current_a, voltage_v),
        }
        for (v, i) in voltage_v.iter_mut().zip(current_a).filter(|(v, _)| v.is_nan()) {
            *v = one.voltage_from(one.at_current(*i), *i);
        }
        return;
    }
    let (equation, mut block) = (Equation::new(circuit.g, 1.0, circuit), Block::<K>::default());
    for (i, v) in current_a.chunks(BLOCK).zip(voltage_v.chunks_mut(BLOCK)) {
        block.at_currents(&equation, circuit, i);
        for (k, (v, i)) in v.iter_mut().zip(i).enumerate() {
            let u = if block.good(k) { block.u[k] } else { circuit.at_current(*i) };
            *v = circuit.voltage_from(u, *i);
        }
    }
}

/// The states of the junction at each voltage.
pub(super) fn roots_at_voltages<const K: usize>(
    circuit: &Circuit<K>,
    voltage_v: &[f64],
    roots: &mut [Root<K>],
) {
    let (ready, mut block) = (Ready::new(circuit), Block::default());
    for (v, roots) in voltage_v.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        block.at_voltages(&ready, v);
        block.put(circuit, roots, |k| circuit.at_voltage(v[k]));
    }
}

/// The states of the junction at each current.
pub(super) fn roots_at_currents<const K: usize>(
    circuit: &Circuit<K>,
    current_a: &[f64],
    roots: &mut [Root<K>],
) {
    let (equation, mut block) = (Equation::new(circuit.g, 1.0, circuit), Block::default());
    for (i, roots) in current_a.chunks(BLOCK).zip(roots.chunks_mut(BLOCK)) {
        block.at_currents(&equation, circuit, i);
        block.put(circuit, roots, |k| circuit.at_current(i[k]));
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

/// States of a block of points, one list a quantity; u is NaN where the careful solver must answer.
struct Block<const K: usize> {
    u: [f64; BLOCK],
    minus_one: [[f64; BLOCK]; K],
    whole: [[f64; BLOCK]; K],
}

impl<const K: usize> Default for Block<K> {
    fn default() -> Self {
        let zeros = [0.0; BLOCK];
        Self { u: zeros, minus_one: [zeros; K], whole: [zeros; K] }
    }
}

impl<const K: usize> Block<K> {
    fn at_voltages(&mut self, ready: &Ready<K>, voltage_v: &[f64]) {
        match (ready.usable(), ready.direct) {
            (false, _) => self.u.fill(f64::NAN),
            (true, true) => fill_direct(self, ready, voltage_v),
            (true, false) => {
                let s = padded(voltage_v, |v| ready.rs.mul_add(ready.iph, v));
                fill::<K, true>(self, &ready.equation, &s[..lanes(voltage_v.len())]);
            }
        }
    }

    fn at_currents(&mut self, equation: &Equation<K>, circuit: &Circuit<K>, current_a: &[f64]) {
        let s = padded(current_a, |i| circuit.iph - i);
        let s = &s[..lanes(current_a.len())];
        match (equation.usable, circuit.g > 0.0) {
            (false, _) => self.u.fill(f64::NAN),
            (true, true) => fill::<K, true>(self, equation, s),
            (true, false) => fill::<K, false>(self, equation, s),
        }
    }

    fn good(&self, k: usize) -> bool {
        !self.u[k].is_nan()
    }

    #[inline(always)]
    fn set(&mut self, k: usize, root: &LaneRoot<K>) {
        self.u[k] = if root.good { root.u } else { f64::NAN };
        for d in 0..K {
            self.minus_one[d][k] = root.minus_one[d];
            self.whole[d][k] = root.whole[d];
        }
    }

    fn root(&self, k: usize) -> LaneRoot<K> {
        let of = |lists: &[[f64; BLOCK]; K]| std::array::from_fn(|d| lists[d][k]);
        LaneRoot { u: self.u[k], minus_one: of(&self.minus_one), whole: of(&self.whole), good: self.good(k) }
    }

    fn put(&self, circuit: &Circuit<K>, roots: &mut [Root<K>], careful: impl Fn(usize) -> f64) {
        for (k, root) in roots.iter_mut().enumerate() {
            *root = if self.good(k) {
                let currents =
                    |lists: &[[f64; BLOCK]; K]| std::array::from_fn(|d| circuit.i0[d] * lists[d][k]);
                Root { u: self.u[k], diode_a: currents(&self.minus_one), whole_a: currents(&self.whole) }
            } else {
                circuit.root(careful(k))
            };
        }
    }
}

/// Lanes for that many points: whole vectors, but for a few points only those.
fn lanes(points: usize) -> usize {
    if points <= 4 { points } else { points.next_multiple_of(8).min(BLOCK) }
}

/// Up to a block of numbers; the lanes left over repeat the last one.
fn padded(x: &[f64], f: impl Fn(f64) -> f64) -> [f64; BLOCK] {
    let last = x.len().saturating_sub(1);
    std::array::from_fn(|k| x.get(k.min(last)).map_or(0.0, |x| f(*x)))
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn many_currents<const DIRECT: bool>(ready: &Ready<1>, voltage_v: &[f64], current_a: &mut [f64]) {
    for (i, &v) in current_a.iter_mut().zip(voltage_v) {
        let root = if DIRECT {
            ready.direct_root(v)
        } else {
            ready.equation.root::<true>(ready.rs.mul_add(ready.iph, v))
        };
        *i = ready.current(v, &root);
    }
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn many_voltages<const SHUNT: bool>(
    equation: &Equation<1>,
    circuit: &Circuit<1>,
    current_a: &[f64],
    voltage_v: &mut [f64],
) {
    for (v, &i) in voltage_v.iter_mut().zip(current_a) {
        let root = equation.root::<SHUNT>(circuit.iph - i);
        *v = if root.good { circuit.voltage_from(root.u, i) } else { f64::NAN };
    }
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn fill_direct<const K: usize>(block: &mut Block<K>, ready: &Ready<K>, voltage_v: &[f64]) {
    let count = voltage_v.len().min(BLOCK);
    for (k, v) in voltage_v[..count].iter().enumerate() {
        block.set(k, &ready.direct_root(*v));
    }
}

/// The roots for right sides `s`: steps until every lane has taken a short one, each lane stopping at its own.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn fill<const K: usize, const SHUNT: bool>(block: &mut Block<K>, equation: &Equation<K>, s: &[f64]) {
    let (mut u, mut moving) = ([0.0; BLOCK], [0.0; BLOCK]);
    let lanes = s.len().min(BLOCK);
    for k in 0..lanes {
        let (start, good) = equation.start::<SHUNT>(s[k]);
        u[k] = start;
        moving[k] = if good { 1.0 } else { 0.0 };
        block.u[k] = f64::NAN;
    }
    for _ in 0..MOST_STEPS {
        let mut any = 0.0;
        for k in 0..lanes {
            let (root, longest) = equation.step(u[k], s[k]);
            let going = moving[k] > 0.0;
            let arrived = going & (longest < LAST);
            u[k] = if going { root.u } else { u[k] };
            block.u[k] = if arrived & root.good { root.u } else { block.u[k] };
            for d in 0..K {
                block.minus_one[d][k] = if arrived { root.minus_one[d] } else { block.minus_one[d][k] };
                block.whole[d][k] = if arrived { root.whole[d] } else { block.whole[d][k] };
            }
            moving[k] = if going & !arrived { 1.0 } else { 0.0 };
            any += moving[k];
        }
        if any == 0.0 {
            break;
        }
    }
}
