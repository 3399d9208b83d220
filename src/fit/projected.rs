//! The implicit equation with its linear coefficients at their best: what is left of a fit in (Rs, ln a).
//!
//! For given (Rs, a) the implicit equation is linear in (Iph, I0k, g):
//!
//! ```text
//! Ii ≈ Iph − Σk I0k·expm1(ui/ak) − g·ui        ui = Vi + Ii·Rs,  all coefficients ≥ 0
//! r = W·(Φ·x − I) = −P⊥·W·I        ∂r/∂p ≈ P⊥·W·(∂Φ/∂p)·x        P⊥ = 1 − Q·Qᵀ,  W·Φ = Q·R
//! ```
//!
//! The derivative leaves out a term as small as the residuals (L. Kaufman, BIT 15 (1975) 49). A bent valley of Rs, a and
//! I0 has no length here.

use super::problem::Points;
use super::reduced::Knot;
use super::solver::{Bounds, Residuals};
use crate::diode::{Circuit, shares};
use crate::qr::{solve_upper, take_out, thin_qr};
use multiversion::multiversion;
use std::cell::RefCell;

/// Share of a current or slope that stands for "none" where a logarithm is needed.
const TRACE: f64 = 1e-9;
/// Share of each reading that the exponentials are good to.
const ROUGH: f64 = 1e-8;
/// Coefficients, and columns with the currents, at most.
const MOST: usize = 5;

/// The residuals over (Rs, ln a1, …) of points with weights of their currents.
pub(super) struct Projected<'a, const K: usize> {
    points: &'a Points,
    weights: &'a [f64],
    /// The largest current.
    scale: f64,
    work: RefCell<Work>,
}

/// Lists that one evaluation fills.
struct Work {
    u: Vec<f64>,
    /// exp((u − top)/a) − exp(−top/a) of each diode.
    shares: Vec<f64>,
    /// The columns whose coefficients are not 0, then the currents; orthonormal once solved.
    columns: Vec<f64>,
    /// (∂Φ/∂p)·x.
    derivative: Vec<f64>,
}

/// The best coefficients at one knot.
struct Best<const K: usize> {
    a: [f64; K],
    top: f64,
    reach: f64,
    /// exp(−top/a).
    at_zero: [f64; K],
    /// Of 1, each diode and u, as shares of the largest current at the top.
    x: [f64; MOST],
    /// Columns that are not left out.
    kept: usize,
    /// The length of the residual along the last of the columns.
    length: f64,
}

impl<'a, const K: usize> Projected<'a, K> {
    pub fn new(points: &'a Points, weights: &'a [f64]) -> Self {
        let scale = points.current_a.iter().fold(0.0f64, |m, x| m.max(x.abs()));
        let rows = points.voltage_v.len();
        let list = |columns: usize| Vec::with_capacity(columns * rows);
        let work = Work { u: list(1), shares: list(K), columns: list(K + 3), derivative: list(K + 1) };
        Self { points, weights, scale, work: RefCell::new(work) }
    }

    /// θ of the best coefficients at `knot`.
    pub fn theta(&self, knot: &Knot<K>, bounds: &Bounds) -> Option<Vec<f64>> {
        let best = self.best(&mut self.work.borrow_mut(), knot)?;
        let n = Circuit::<K>::PARAMETERS;
        let mut theta = vec![0.0; n];
        theta[0] = best.x[0] * self.scale;
        for k in 0..K {
            theta[1 + 2 * k] = (best.x[1 + k].max(TRACE) * self.scale).ln() - best.top / best.a[k];
            theta[2 + 2 * k] = knot.ln_a[k];
        }
        theta[n - 2] = knot.rs;
        theta[n - 1] = best.x[K + 1] * self.scale / best.reach;
        theta.iter_mut().enumerate().for_each(|(k, t)| *t = t.clamp(bounds.low[k], bounds.high[k]));
        theta.iter().all(|t| t.is_finite()).then_some(theta)
    }

    /// Columns that would come in with the wrong sign are left out, until none does.
    fn best(&self, work: &mut Work, knot: &Knot<K>) -> Option<Best<K>> {
        let rows = self.points.voltage_v.len();
        let Points { voltage_v, current_a, .. } = self.points;
        work.u.resize(rows, 0.0);
        let (top, reach) = junctions(voltage_v, current_a, knot.rs, &mut work.u);
        let a = knot.ln_a.map(f64::exp);
        work.shares.resize(K * rows, 0.0);
        let mut at_zero = [0.0; K];
        for ((list, a), at_zero) in work.shares.chunks_exact_mut(rows).zip(a).zip(&mut at_zero) {
            *at_zero = shares(&work.u, top, a, list);
        }
        let mut best = Best { a, top, reach, at_zero, x: [0.0; MOST], kept: 0, length: 0.0 };
        let mut set = [true; MOST];
        for _ in 0..K + 2 {
            if self.solve(work, &mut best, &mut set)? {
                return Some(best);
            }
        }
        Some(best)
    }

    /// The free minimum over the columns of `set`, less those that come out negative; whether none did.
    fn solve(&self, work: &mut Work, best: &mut Best<K>, set: &mut [bool; MOST]) -> Option<bool> {
        let rows = work.u.len();
        let weighted = || self.weights.iter().map(|w| w * self.scale);
        work.columns.clear();
        for k in (0..K + 2).filter(|&k| set[k]) {
            if k == 0 {
                work.columns.extend(weighted());
            } else if k <= K {
                let share = &work.shares[(k - 1) * rows..k * rows];
                work.columns.extend(share.iter().zip(weighted()).map(|(s, w)| -w * s));
            } else {
                let by_reach = 1.0 / best.reach;
                work.columns.extend(work.u.iter().zip(weighted()).map(|(u, w)| -w * by_reach * u));
            }
        }
        work.columns.extend(self.points.current_a.iter().zip(self.weights).map(|(i, w)| i * w));
        let kept = set[..K + 2].iter().filter(|s| **s).count();
        let n = kept + 1;
        let mut triangle = [0.0; (MOST + 1) * (MOST + 1)];
        thin_qr(&mut work.columns, n, &mut triangle[..n * n]);
        (best.kept, best.length, best.x) = (kept, triangle[n * n - 1], [0.0; MOST]);
        let mut right: [f64; MOST] =
            std::array::from_fn(|i| if i < kept { triangle[i * n + kept] } else { 0.0 });
        let mut small = [0.0; MOST * MOST];
        (0..kept * kept).for_each(|k| small[k] = triangle[k / kept * n + k % kept]);
        if !solve_upper(&small[..kept * kept], kept, &mut right[..kept]) {
            return None;
        }
        let (mut good, mut rest) = (true, right.iter());
        for k in 0..K + 2 {
            best.x[k] = if set[k] { *rest.next()? } else { 0.0 };
            if best.x[k].is_nan() {
                return None;
            }
            if best.x[k] < 0.0 {
                (set[k], good) = (false, false);
            }
        }
        Some(good)
    }

    /// P⊥·W·(∂Φ/∂p)·x, column by column.
    fn differentiate(&self, work: &mut Work, best: &Best<K>) {
        let rows = work.u.len();
        work.derivative.resize((K + 1) * rows, 0.0);
        derivatives(self, work, best);
        let span = &work.columns[..best.kept * rows];
        for column in work.derivative.chunks_exact_mut(rows) {
            take_out(span, column);
        }
    }
}

/// u at every reading; the largest, at least 0, and the farthest from 0.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn junctions(voltage_v: &[f64], current_a: &[f64], rs: f64, u: &mut [f64]) -> (f64, f64) {
    let (mut top, mut reach) = (0.0f64, f64::MIN_POSITIVE);
    for ((u, v), i) in u.iter_mut().zip(voltage_v).zip(current_a) {
        *u = rs.mul_add(*i, *v);
        top = if *u > top { *u } else { top };
        reach = if u.abs() > reach { u.abs() } else { reach };
    }
    (top, reach)
}

/// W·(∂Φ/∂p)·x, column by column.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn derivatives<const K: usize>(projected: &Projected<K>, work: &mut Work, best: &Best<K>) {
    let rows = work.u.len();
    let (u, weights) = (&work.u[..rows], &projected.weights[..rows]);
    let (by_rs, by_a) = work.derivative.split_at_mut(rows);
    by_rs.fill(best.x[K + 1] / best.reach);
    for k in 0..K {
        let (x, by_a, at_zero) =
            (best.x[1 + k] / best.a[k], &mut by_a[k * rows..(k + 1) * rows], best.at_zero[k]);
        let shares = &work.shares[k * rows..(k + 1) * rows];
        for i in 0..rows {
            let whole = shares[i] + at_zero;
            by_rs[i] = x.mul_add(whole, by_rs[i]);
            by_a[i] = weights[i] * projected.scale * x * (u[i] - best.top).mul_add(whole, best.top * at_zero);
        }
    }
    for i in 0..rows {
        by_rs[i] *= -weights[i] * projected.scale * projected.points.current_a[i];
    }
}

impl<const K: usize> Residuals for Projected<'_, K> {
    fn len(&self) -> usize {
        self.points.voltage_v.len()
    }

    fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
        let rows = self.len();
        let knot = Knot { rs: x[0], ln_a: std::array::from_fn(|k| x[1 + k]) };
        let work = &mut self.work.borrow_mut();
        let Some(best) = self.best(work, &knot) else { return false };
        let last = &work.columns[best.kept * rows..];
        r.iter_mut().zip(last).for_each(|(r, q)| *r = -best.length * q);
        if let Some(jacobian) = jacobian {
            self.differentiate(work, &best);
            for (k, column) in work.derivative.chunks_exact(rows).enumerate() {
                jacobian.iter_mut().skip(k).step_by(K + 1).zip(column).for_each(|(j, d)| *j = *d);
            }
        }
        true
    }

    fn rounding(&self) -> f64 {
        let each = self.points.current_a.iter().zip(self.weights).map(|(i, w)| (ROUGH * i * w).powi(2));
        each.sum()
    }
}
