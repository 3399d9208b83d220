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

use super::fixed_coefficients::FixedCoefficients;
use super::residuals::Points;
use super::start_costs::Knot;
use crate::diode::{Circuit, shares};
use crate::numerics::least_squares::problem::{Bounds, Residuals};
use crate::numerics::linear_algebra::qr::{rough_qr, solve_upper, take_out};
use multiversion::multiversion;
use std::cell::RefCell;

/// Share of a current or slope that stands for "none" where a logarithm is needed.
const TRACE: f64 = 1e-9;
/// Share of each reading that the exponentials are good to.
const ROUGH: f64 = 3e-9;
/// Coefficients, and columns with the currents, at most.
const MOST: usize = 5;

/// The residuals over (Rs, ln a1, …) of points with weights of their currents.
pub(super) struct Projected<'a, const K: usize> {
    points: &'a Points,
    weights: &'a [f64],
    held: FixedCoefficients<K>,
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
    /// Those that are not free.
    held: [Option<f64>; MOST],
    /// Columns that are not left out.
    kept: usize,
    /// The length of the residual along the last of the columns.
    length: f64,
}

impl<'a, const K: usize> Projected<'a, K> {
    pub fn new(points: &'a Points, weights: &'a [f64], held: FixedCoefficients<K>) -> Self {
        let (scale, rows) = (points.largest_current_a(), points.voltage_v.len());
        let list = |columns: usize| Vec::with_capacity(columns * rows);
        let work = Work { u: list(1), shares: list(K), columns: list(K + 3), derivative: list(K + 1) };
        Self { points, weights, held, scale, work: RefCell::new(work) }
    }

    /// Σr² that the rough exponentials make.
    pub fn roughness(&self) -> f64 {
        self.points.current_a.iter().zip(self.weights).map(|(i, w)| (ROUGH * i * w).powi(2)).sum()
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
        let held = self.held_at(top, reach, a);
        let mut best = Best { a, top, reach, at_zero, x: [0.0; MOST], held, kept: 0, length: 0.0 };
        let mut set: [bool; MOST] = std::array::from_fn(|j| held[j].is_none());
        // Each round leaves out a column at least; without any the residuals are the currents.
        while !self.solve(work, &mut best, &mut set)? {}
        Some(best)
    }

    /// The coefficients that are held, in the scale of the others.
    fn held_at(&self, top: f64, reach: f64, a: [f64; K]) -> [Option<f64>; MOST] {
        let mut held = [None; MOST];
        held[0] = self.held.iph.map(|iph| iph / self.scale);
        for k in 0..K {
            held[1 + k] = self.held.diode(k, top, 1.0 / a[k], self.scale).map(|x| x / self.scale);
        }
        held[K + 1] = self.held.g.map(|g| g * reach / self.scale);
        held
    }

    /// The free minimum over the columns of `set`, less those that come out negative or that depend on those before
    /// them; whether none did. `None` where the numbers leave f64.
    fn solve(&self, work: &mut Work, best: &mut Best<K>, set: &mut [bool; MOST]) -> Option<bool> {
        self.write_columns(work, best, set);
        let kept = set[..K + 2].iter().filter(|s| **s).count();
        let n = kept + 1;
        let mut triangle = [0.0; (MOST + 1) * (MOST + 1)];
        rough_qr(&mut work.columns, n, &mut triangle[..n * n]);
        (best.kept, best.length) = (kept, triangle[n * n - 1]);
        let mut x = [0.0; MOST];
        (0..kept).for_each(|i| x[i] = triangle[i * n + kept]);
        let mut square = [0.0; MOST * MOST];
        (0..kept * kept).for_each(|k| square[k] = triangle[k / kept * n + k % kept]);
        let solved = solve_upper(&square[..kept * kept], kept, &mut x[..kept]);
        if x.iter().any(|x| x.is_nan()) {
            return None;
        }
        let (mut good, mut p) = (true, 0);
        for k in 0..K + 2 {
            best.x[k] = best.held[k].unwrap_or(0.0);
            if set[k] {
                let depends = square[p * kept + p] == 0.0;
                if depends || solved && x[p] < 0.0 {
                    (set[k], good) = (false, false);
                } else {
                    best.x[k] = x[p];
                }
                p += 1;
            }
        }
        Some(good)
    }

    /// The weighted columns 1, −shares and −u of `set`, and the currents less what the held ones give.
    fn write_columns(&self, work: &mut Work, best: &Best<K>, set: &[bool; MOST]) {
        let Work { u, shares, columns, .. } = work;
        let weighted = || self.weights.iter().map(|w| w * self.scale);
        columns.clear();
        if set[0] {
            columns.extend(weighted());
        }
        for (shares, _) in shares.chunks_exact(u.len()).zip(&set[1..=K]).filter(|(_, kept)| **kept) {
            columns.extend(shares.iter().zip(weighted()).map(|(s, w)| -w * s));
        }
        if set[K + 1] {
            let by_reach = 1.0 / best.reach;
            columns.extend(u.iter().zip(weighted()).map(|(u, w)| -w * by_reach * u));
        }
        columns.extend(self.points.current_a.iter().zip(self.weights).map(|(i, w)| i * w));
        if best.held.iter().all(Option::is_none) {
            return;
        }
        let rows = u.len();
        let from = columns.len() - rows;
        let x = best.held.map(|x| x.unwrap_or(0.0));
        for (i, target) in columns[from..].iter_mut().enumerate() {
            let diodes: f64 = (0..K).map(|k| x[1 + k] * shares[k * rows + i]).sum();
            *target -= self.weights[i] * self.scale * (x[0] - diodes - x[K + 1] * u[i] / best.reach);
        }
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
        let held = best.held[1 + k].is_some();
        for i in 0..rows {
            let whole = shares[i] + at_zero;
            by_rs[i] = x.mul_add(whole, by_rs[i]);
            // Where I0 is held, its share of the current at the top goes with a.
            let by_top = if held { whole } else { at_zero };
            by_a[i] = weights[i] * projected.scale * x * (u[i] - best.top).mul_add(whole, best.top * by_top);
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
            jacobian.copy_from_slice(&work.derivative);
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::super::residuals::{Problem, Residual};
    use super::*;
    use crate::diode::Junction;
    use approx::assert_relative_eq;

    fn points(wave_a: f64) -> Points {
        let circuit = Circuit::new(0.03, [2e-13, 1e-8], [0.026, 0.0514], 0.5, 3.3e-4);
        let voltage_v: Vec<f64> = (0..25).map(|k| -0.05 + 0.027 * f64::from(k)).collect();
        let current_a =
            voltage_v.iter().map(|v| circuit.current_at(*v) + wave_a * (40.0 * v).sin()).collect();
        let sigma_a = (0..25).map(|k| 1e-4 * (1.0 + 0.1 * f64::from(k))).collect();
        Points { sigma_v: vec![0.0; 25], sigma_a, voltage_v, current_a }
    }

    fn bounds() -> Bounds {
        Bounds { low: vec![0.0, -600.0, -9.0, -600.0, -9.0, 0.0, 0.0], high: vec![1e9; 7] }
    }

    fn residuals(projected: &Projected<2>, x: &[f64]) -> Vec<f64> {
        let mut r = vec![0.0; 25];
        assert!(projected.evaluate(x, &mut r, None));
        r
    }

    /// The residuals are those of the implicit equation, evaluated by itself, at the coefficients that `theta` gives.
    #[test]
    fn residuals_are_those_of_the_implicit_equation() {
        let points = points(1e-4);
        let weights = points.current_weights();
        let projected = Projected::<2>::new(&points, &weights, FixedCoefficients::none());
        let problem = Problem::<2> { points: &points, residual: Residual::Implicit };
        for x in [[0.5, 0.026f64.ln(), 0.0514f64.ln()], [0.3, 0.024f64.ln(), 0.05f64.ln()]] {
            let knot = Knot { rs: x[0], ln_a: [x[1], x[2]] };
            let theta = projected.theta(&knot, &bounds()).unwrap();
            let mut r = vec![0.0; 25];
            assert!(problem.evaluate(&theta, &mut r, None));
            let largest = r.iter().fold(0.0f64, |m, r| m.max(r.abs()));
            for (own, r) in residuals(&projected, &x).iter().zip(&r) {
                assert_relative_eq!(own, r, epsilon = 1e-4 * largest);
            }
        }
    }

    /// Without residuals the derivative is exact: against central differences at the truth.
    #[test]
    fn derivative_agrees_with_differences_at_the_truth() {
        let points = points(0.0);
        let weights = points.current_weights();
        let projected = Projected::<2>::new(&points, &weights, FixedCoefficients::none());
        let x = [0.5, 0.026f64.ln(), 0.0514f64.ln()];
        let (mut r, mut jacobian) = (vec![0.0; 25], vec![0.0; 75]);
        assert!(projected.evaluate(&x, &mut r, Some(&mut jacobian)));
        for p in 0..3 {
            let at = |h: f64| {
                let mut moved = x;
                moved[p] += h;
                residuals(&projected, &moved)
            };
            let (up, down) = (at(1e-3), at(-1e-3));
            let largest = (0..25).map(|i| jacobian[25 * p + i].abs()).fold(0.0, f64::max);
            for i in 0..25 {
                let difference = (up[i] - down[i]) / 2e-3;
                assert_relative_eq!(jacobian[25 * p + i], difference, epsilon = 2e-3 * largest);
            }
        }
    }

    /// A curve that bends upwards needs no diode: its column is left out, and what remains is the misfit of the straight
    /// line of least squares, here by its normal equations.
    #[test]
    fn columns_of_the_wrong_sign_are_left_out() {
        let mut points = points(0.0);
        points.current_a = points.voltage_v.iter().map(|v| 1e-3 - 1e-4 * v + 1e-5 * v * v).collect();
        let weights = points.current_weights();
        let projected = Projected::<1>::new(&points, &weights, FixedCoefficients::none());
        let mut r = vec![0.0; 25];
        assert!(projected.evaluate(&[0.0, 0.03f64.ln()], &mut r, None));
        let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
            let all = points.voltage_v.iter().zip(&points.current_a).zip(&weights);
            all.map(|((v, i), w)| w * w * f(*v, *i)).sum()
        };
        let (one, v, vv) = (sum(&|_, _| 1.0), sum(&|v, _| v), sum(&|v, _| v * v));
        let (i, vi) = (sum(&|_, i| i), sum(&|v, i| v * i));
        let slope = (one * vi - v * i) / (one * vv - v * v);
        let level = (i - slope * v) / one;
        for (k, r) in r.iter().enumerate() {
            let misfit = level + slope * points.voltage_v[k] - points.current_a[k];
            assert_relative_eq!(*r, weights[k] * misfit, epsilon = 1e-9);
        }
        let knot = Knot { rs: 0.0, ln_a: [0.03f64.ln()] };
        let theta =
            projected.theta(&knot, &Bounds { low: vec![0.0, -900.0, -9.0, 0.0, 0.0], high: vec![1e9; 5] });
        assert_relative_eq!(theta.unwrap()[4], -slope, max_relative = 1e-9);
    }
}
