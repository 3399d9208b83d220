//! The reduced linear problem at many knots (Rs, a) at once, for a start.
//!
//! ```text
//! min over x ≥ 0 of Σ Wi·(Ii − Iph + Σk xk·[exp((ui − top)/ak) − exp(−top/ak)] + g·ui)²      ui = Vi + Ii·Rs
//! ```
//!
//! A coefficient that the caller fixed is taken off the currents. By normal equations and coarse exponentials: a cost comes out to some 1e-11 of ΣW·I², which ranks starts and is not to be used for more. The
//! loops over knots become vector code; `Work::set` fills the lists up to whole turns of it.

use super::fixed_coefficients::FixedCoefficients;
use super::residuals::Points;
use crate::diode::exp_coarse;
use multiversion::multiversion;

/// Knots that one pass of a vector loop takes, at most.
const VECTOR: usize = 16;
/// Knots that are worked on together: a multiple of [`VECTOR`].
const CHUNK: usize = 64;
/// Exponents beyond which an exponential counts as 0 or as out of reach.
const LARGEST: f64 = 700.0;
/// Share of its diagonal entry below which a column depends on those before it.
const DEPENDENT: f64 = 1e-14;
/// Weight of a column that is left out.
const LEFT_OUT: f64 = 1e30;
/// Columns of the widest problem: constant, shunt, two diodes.
const COLUMNS: usize = 4;

/// Rs and ln a of the diodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Knot<const K: usize> {
    pub rs: f64,
    pub ln_a: [f64; K],
}

/// The readings, their weights, and the sums of products that hold at every knot.
pub(super) struct Reduced<'a, const K: usize> {
    held: FixedCoefficients<K>,
    points: &'a Points,
    weights: &'a [f64],
    sums: Sums,
}

/// ΣW·x·y of 1, V and I.
#[derive(Default)]
struct Sums {
    one: f64,
    v: f64,
    i: f64,
    vv: f64,
    vi: f64,
    ii: f64,
}

impl<'a, const K: usize> Reduced<'a, K> {
    pub fn new(points: &'a Points, weights: &'a [f64], held: FixedCoefficients<K>) -> Self {
        let mut sums = Sums::default();
        for ((v, i), w) in points.voltage_v.iter().zip(&points.current_a).zip(weights) {
            let w = w * w;
            let (wv, wi) = (w * v, w * i);
            sums = Sums {
                one: sums.one + w,
                v: sums.v + wv,
                i: sums.i + wi,
                vv: sums.vv + wv * v,
                vi: sums.vi + wv * i,
                ii: sums.ii + wi * i,
            };
        }
        Self { held, points, weights, sums }
    }

    /// The costs of `knots`, in their order.
    pub fn costs(&self, knots: &[Knot<K>]) -> Vec<f64> {
        let mut work = Work::<K>::new();
        let mut costs = Vec::with_capacity(knots.len());
        for knots in knots.chunks(CHUNK) {
            work.set(knots);
            if self.held.any() {
                evaluate::<K, true>(self, &mut work);
            } else {
                evaluate::<K, false>(self, &mut work);
            }
            costs.extend(&work.cost[..knots.len()]);
        }
        costs
    }
}

/// One list a quantity, one entry a knot.
struct Work<const K: usize> {
    /// Knots with those that fill up the last turn.
    count: usize,
    rs: [f64; CHUNK],
    top: [f64; CHUNK],
    cost: [f64; CHUNK],
    diodes: [Diode; K],
    /// ΣW·d1·d2.
    cross: [f64; CHUNK],
    /// Coefficients that the caller fixed, NaN where they are free; filled only where there are any.
    held: [[f64; CHUNK]; COLUMNS],
}

/// What belongs to one diode: its column d = exp(−top/a) − exp((u − top)/a) at one reading, and ΣW·d·x.
struct Diode {
    by_a: [f64; CHUNK],
    at_zero: [f64; CHUNK],
    d: [f64; CHUNK],
    by_one: [f64; CHUNK],
    by_u: [f64; CHUNK],
    by_d: [f64; CHUNK],
    by_i: [f64; CHUNK],
}

const NONE: [f64; CHUNK] = [0.0; CHUNK];

impl Diode {
    const fn new() -> Self {
        Self { by_a: NONE, at_zero: NONE, d: NONE, by_one: NONE, by_u: NONE, by_d: NONE, by_i: NONE }
    }
}

impl<const K: usize> Work<K> {
    fn new() -> Self {
        let diodes = std::array::from_fn(|_| Diode::new());
        Self { count: 0, rs: NONE, top: NONE, cost: NONE, diodes, cross: NONE, held: [NONE; COLUMNS] }
    }

    /// Takes the knots; the last one again until the vector loops come out even.
    fn set(&mut self, knots: &[Knot<K>]) {
        self.count = knots.len().next_multiple_of(VECTOR);
        let filled = || (0..self.count).map(|l| &knots[l.min(knots.len() - 1)]);
        filled().zip(&mut self.rs).for_each(|(knot, rs)| *rs = knot.rs);
        (self.top, self.cross) = (NONE, NONE);
        for (k, diode) in self.diodes.iter_mut().enumerate() {
            *diode = Diode::new();
            filled().zip(&mut diode.by_a).for_each(|(knot, ln_a)| *ln_a = knot.ln_a[k]);
        }
    }
}

#[inline(always)]
fn exponential(x: f64) -> f64 {
    exp_coarse(x.clamp(-LARGEST, LARGEST))
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn evaluate<const K: usize, const HELD: bool>(readings: &Reduced<K>, work: &mut Work<K>) {
    let n = work.count;
    let (rs, top) = (&work.rs[..n], &mut work.top[..n]);
    let Points { voltage_v, current_a, .. } = readings.points;
    for (v, i) in voltage_v.iter().zip(current_a) {
        for l in 0..n {
            top[l] = top[l].max(rs[l].mul_add(*i, *v));
        }
    }
    for diode in &mut work.diodes {
        let (by_a, at_zero) = (&mut diode.by_a[..n], &mut diode.at_zero[..n]);
        for l in 0..n {
            by_a[l] = exponential(-by_a[l]);
            at_zero[l] = exponential(-top[l] * by_a[l]);
        }
    }
    for ((&v, &i), &w) in voltage_v.iter().zip(current_a).zip(readings.weights) {
        let w = w * w;
        for diode in &mut work.diodes {
            diode.add(rs, top, v, i, w);
        }
        if let [first, second, ..] = &work.diodes[..] {
            let (a, b, cross) = (&first.d[..n], &second.d[..n], &mut work.cross[..n]);
            for l in 0..n {
                cross[l] = (w * a[l]).mul_add(b[l], cross[l]);
            }
        }
    }
    if HELD {
        hold(readings, work);
    }
    solve::<K, HELD>(&readings.sums, work);
}

impl Diode {
    /// Adds the products at one reading.
    #[inline(always)]
    fn add(&mut self, rs: &[f64], top: &[f64], v: f64, i: f64, w: f64) {
        let n = rs.len();
        let (top, by_a, at_zero, d) = (&top[..n], &self.by_a[..n], &self.at_zero[..n], &mut self.d[..n]);
        let (by_one, by_u) = (&mut self.by_one[..n], &mut self.by_u[..n]);
        let (by_d, by_i) = (&mut self.by_d[..n], &mut self.by_i[..n]);
        for l in 0..n {
            let u = rs[l].mul_add(i, v);
            let column = at_zero[l] - exponential((u - top[l]) * by_a[l]);
            let weighted = w * column;
            d[l] = column;
            by_one[l] += weighted;
            by_u[l] = weighted.mul_add(-u, by_u[l]);
            by_d[l] = weighted.mul_add(column, by_d[l]);
            by_i[l] = weighted.mul_add(i, by_i[l]);
        }
    }
}

/// The coefficients that are held, at every knot.
fn hold<const K: usize>(readings: &Reduced<K>, work: &mut Work<K>) {
    let largest = readings.points.largest_current_a().max(f64::MIN_POSITIVE);
    let held = &readings.held;
    for l in 0..work.count {
        work.held[0][l] = held.iph.unwrap_or(f64::NAN);
        work.held[1][l] = held.g.unwrap_or(f64::NAN);
        for (k, diode) in work.diodes.iter().enumerate() {
            work.held[2 + k][l] = held.diode(k, work.top[l], diode.by_a[l], largest).unwrap_or(f64::NAN);
        }
    }
}

/// The cost of every knot.
#[inline(always)]
fn solve<const K: usize, const HELD: bool>(sums: &Sums, work: &mut Work<K>) {
    let n = work.count;
    let (rs, cross, cost, held) = (&work.rs[..n], &work.cross[..n], &mut work.cost[..n], &work.held);
    let diodes: [[&[f64]; 4]; K] = std::array::from_fn(|k| {
        let d = &work.diodes[k];
        [&d.by_one[..n], &d.by_u[..n], &d.by_d[..n], &d.by_i[..n]]
    });
    for l in 0..n {
        let mut normal = Normal::of_light(sums, rs[l]);
        for (k, [by_one, by_u, by_d, by_i]) in diodes.iter().enumerate() {
            normal.g[0][2 + k] = by_one[l];
            normal.g[1][2 + k] = by_u[l];
            normal.g[2 + k][2 + k] = by_d[l];
            normal.right[2 + k] = by_i[l];
        }
        // Only two diodes have it; for one it is never looked at.
        normal.g[2][3] = cross[l];
        if HELD {
            normal.hold::<K>(std::array::from_fn(|h| held[h][l]));
        }
        cost[l] = normal.least::<K>();
    }
}

/// The normal equations G·x = b at one knot, the upper half of G, and ΣW·I² of what x is to describe.
struct Normal {
    g: [[f64; COLUMNS]; COLUMNS],
    right: [f64; COLUMNS],
    whole: f64,
}

impl Normal {
    /// The columns of Iph and g; those of the diodes are zero.
    #[inline(always)]
    fn of_light(sums: &Sums, rs: f64) -> Self {
        let (mut g, mut right) = ([[0.0; COLUMNS]; COLUMNS], [0.0; COLUMNS]);
        g[0][0] = sums.one;
        g[0][1] = -rs.mul_add(sums.i, sums.v);
        g[1][1] = rs.mul_add(rs.mul_add(sums.ii, 2.0 * sums.vi), sums.vv);
        right[0] = sums.i;
        right[1] = -rs.mul_add(sums.ii, sums.vi);
        Self { g, right, whole: sums.ii }
    }

    /// Takes the coefficients `held` that are not NaN off the currents, and leaves their columns out.
    #[inline(always)]
    fn hold<const K: usize>(&mut self, held: [f64; COLUMNS]) {
        let Self { g, right, whole } = self;
        for h in 0..K + 2 {
            let x = held[h];
            if !x.is_nan() {
                *whole += x * (x * g[h][h] - 2.0 * right[h]);
                (0..K + 2).for_each(|j| right[j] -= x * g[j.min(h)][j.max(h)]);
            }
        }
        for h in 0..K + 2 {
            self.leave_out(h, !held[h].is_nan());
        }
    }

    /// The cost. Columns that would come in with the wrong sign are left out, until none does.
    #[inline(always)]
    fn least<const K: usize>(&mut self) -> f64 {
        let mut cost = self.whole;
        for _ in 0..K + 2 {
            let x = positive_definite::<K>(&self.g, &self.right);
            cost = self.whole;
            for j in 0..K + 2 {
                cost = (-x[j]).mul_add(self.right[j], cost);
                self.leave_out(j, x[j] < 0.0);
            }
        }
        cost
    }

    /// Leaves a column out, if at all; in a form without a branch.
    #[inline(always)]
    fn leave_out(&mut self, column: usize, out: bool) {
        self.g[column][column] *= if out { LEFT_OUT } else { 1.0 };
        self.right[column] = if out { 0.0 } else { self.right[column] };
    }
}

/// G·x = b by the decomposition L·D·Lᵀ; a column that depends on those before it gets 0.
#[inline(always)]
fn positive_definite<const K: usize>(
    g: &[[f64; COLUMNS]; COLUMNS],
    right: &[f64; COLUMNS],
) -> [f64; COLUMNS] {
    let n = K + 2;
    let mut lower = [[0.0f64; COLUMNS]; COLUMNS];
    let (mut by_d, mut x) = ([0.0; COLUMNS], [0.0f64; COLUMNS]);
    // Entries of L·D, kept for the pivots.
    let mut scaled = [[0.0f64; COLUMNS]; COLUMNS];
    for j in 0..n {
        let mut pivot = g[j][j];
        x[j] = right[j];
        for k in 0..j {
            pivot = (-lower[j][k]).mul_add(scaled[j][k], pivot);
            x[j] = (-lower[j][k]).mul_add(x[k], x[j]);
        }
        by_d[j] = if pivot > DEPENDENT * g[j][j] { 1.0 / pivot } else { 0.0 };
        for i in j + 1..n {
            let mut entry = g[j][i];
            for k in 0..j {
                entry = (-lower[i][k]).mul_add(scaled[j][k], entry);
            }
            scaled[i][j] = entry;
            lower[i][j] = entry * by_d[j];
        }
    }
    for j in (0..n).rev() {
        x[j] *= by_d[j];
        for i in j + 1..n {
            x[j] = (-lower[i][j]).mul_add(x[i], x[j]);
        }
    }
    x
}
