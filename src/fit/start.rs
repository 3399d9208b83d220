//! A start for the fit without a guess from the user.
//!
//! For given (Rs, a) the implicit equation is linear in (Iph, I0k, g):
//!
//! ```text
//! Ii ≈ Iph − Σk I0k·expm1(ui/ak) − g·ui        ui = Vi + Ii·Rs,  all coefficients ≥ 0
//! ```
//!
//! so a coarse grid over Rs and the a's with a non-negative linear least squares at each knot gives a
//! ranking of starts, and meshes around the best of them refine them. Deterministic.

use super::mesh::{Mesh, Ranked};
use super::problem::{Points, Problem};
use super::reduced::{Knot, Reduced, Work as KnotWork};
use super::solver::Bounds;
use crate::diode::{Circuit, shares};
use crate::sweep::by_voltage;

/// Knots over ln a, and over Rs beside Rs = 0, for one diode and for two.
const A_KNOTS: [usize; 2] = [10, 14];
const RS_KNOTS: [usize; 2] = [5, 8];
/// First step of the meshes over ln a, and over Rs as a share of its highest knot; the steps over ln a that
/// end them for all seeds, and for the best.
const A_MESH: f64 = 0.12;
const MESH: f64 = 0.15;
const MIDDLE: f64 = 0.03;
const FINEST: f64 = 4e-3;
/// Times the least cost up to which another start is followed as well; the sum of squares of two diodes has more
/// valleys.
const RIVAL: [f64; 2] = [3.0, 30.0];
/// Share of a current or slope that stands for "none" where a logarithm is needed.
const TRACE: f64 = 1e-9;

/// The `most` best starts within `bounds` (θ as in [`Circuit::from_theta`]), best first.
pub fn starts<const K: usize>(problem: &Problem<K>, bounds: &Bounds, most: usize) -> Vec<Vec<f64>> {
    let n = Circuit::<K>::PARAMETERS;
    let points = problem.points;
    let weights = points.current_weights();
    let series = knots_of_series(points, RS_KNOTS[K - 1], bounds.low[n - 2], bounds.high[n - 2]);
    let ln_a = knots_of_a::<K>(bounds);
    let knots: Vec<Knot<K>> =
        series.iter().flat_map(|&rs| ln_a.iter().map(move |&ln_a| Knot { rs, ln_a })).collect();
    let (reduced, mut work) = (Reduced::new(points, &weights), KnotWork::new());
    let costs = reduced.costs(&knots, &mut work);
    let found: Vec<Ranked<K>> = costs.iter().copied().zip(knots).collect();
    let top = series.iter().copied().fold(0.0, f64::max);
    let mut mesh = Mesh::new(&reduced, work, bounds);
    let mut seeds: Vec<Ranked<K>> = distinct(&found, most)
        .into_iter()
        .map(|seed| mesh.refine(seed, (MESH * top, A_MESH), MIDDLE))
        .collect();
    seeds.sort_by(|x, y| x.0.total_cmp(&y.0));
    let least = seeds.first().map_or(0.0, |s| s.0);
    // Readings on a straight line leave nothing but rounding, of either sign.
    seeds.retain(|s| s.0 <= least.max(RIVAL[K - 1] * least));
    let mut found: Vec<Vec<f64>> =
        seeds.iter().filter_map(|(_, knot)| at_knot(points, &weights, bounds, knot)).collect();
    if let (Some(first), Some(seed)) = (found.first_mut(), seeds.first()) {
        // The best one again, on the finest mesh and with the weights of the distance itself.
        let weights = problem.current_weights_at(first).unwrap_or(weights);
        let reduced = Reduced::new(points, &weights);
        let mut mesh = Mesh::new(&reduced, mesh.work, bounds);
        let steps = (MIDDLE / A_MESH * MESH * top, MIDDLE);
        let (_, knot) = mesh.refine((f64::INFINITY, seed.1), steps, FINEST);
        if let Some(theta) = at_knot(points, &weights, bounds, &knot) {
            *first = theta;
        }
    }
    found
}

/// The `most` lowest that differ in Rs or a by more than one knot, lowest first.
fn distinct<const K: usize>(found: &[Ranked<K>], most: usize) -> Vec<Ranked<K>> {
    let mut kept: Vec<Ranked<K>> = Vec::with_capacity(most);
    while kept.len() < most {
        let free = |candidate: &&Ranked<K>| !kept.iter().any(|k| are_near(&k.1, &candidate.1));
        let Some(next) = found.iter().filter(free).min_by(|x, y| x.0.total_cmp(&y.0)) else { break };
        kept.push(*next);
    }
    kept
}

fn are_near<const K: usize>(a: &Knot<K>, b: &Knot<K>) -> bool {
    a.ln_a.iter().zip(&b.ln_a).all(|(a, b)| (a - b).abs() < 0.3)
        && (a.rs - b.rs).abs() <= 0.5 * a.rs.max(b.rs)
}

/// Rs = 0 and powers of two up to the flattest |ΔV/ΔI| of any longer chord, which bounds Rs from above.
fn knots_of_series(points: &Points, count: usize, low: f64, high: f64) -> Vec<f64> {
    let order = by_voltage(&points.voltage_v);
    let reach = (order.len() / 8).max(3).min(order.len() - 1);
    let chord = |w: &[usize]| {
        let (i, j) = (w[0], w[reach]);
        ((points.voltage_v[j] - points.voltage_v[i]) / (points.current_a[j] - points.current_a[i])).abs()
    };
    let steepest = order.windows(reach + 1).map(chord).filter(|x| *x > 0.0).fold(f64::INFINITY, f64::min);
    let top = if steepest.is_finite() { steepest } else { 0.0 };
    let mut knots: Vec<f64> = (0..count)
        .map(|k| 1.2 * top * 0.6f64.powi(k as i32))
        .chain([0.0])
        .map(|r| r.clamp(low, high))
        .collect();
    knots.dedup();
    knots
}

/// All combinations of the knots of ln a, rising for more than one diode.
fn knots_of_a<const K: usize>(bounds: &Bounds) -> Vec<[f64; K]> {
    let axes: Vec<Vec<f64>> = (0..K)
        .map(|k| {
            let (low, high) = (bounds.low[2 + 2 * k], bounds.high[2 + 2 * k]);
            let count = if high > low { A_KNOTS[K - 1] } else { 1 };
            (0..count).map(|j| low + (high - low) * (j as f64 + 0.5) / count as f64).collect()
        })
        .collect();
    let mut all = vec![[0.0; K]];
    for (k, axis) in axes.iter().enumerate() {
        all = all.iter().flat_map(|a| axis.iter().map(|&x| with(a, k, x)).collect::<Vec<_>>()).collect();
    }
    all.retain(|a| a.windows(2).all(|w| w[0] <= w[1]));
    all
}

fn with<const K: usize>(a: &[f64; K], k: usize, x: f64) -> [f64; K] {
    let mut a = *a;
    a[k] = x;
    a
}

/// θ of the best non-negative (Iph, I0k, g) at one knot.
fn at_knot<const K: usize>(
    points: &Points,
    weights: &[f64],
    bounds: &Bounds,
    knot: &Knot<K>,
) -> Option<Vec<f64>> {
    let n = Circuit::<K>::PARAMETERS;
    let (columns, rows) = (K + 3, points.voltage_v.len());
    // Columns 1, the diodes, u, and the currents: the last is what the others are to give.
    let mut matrix = vec![0.0; columns * rows];
    let (constant, rest) = matrix.split_at_mut(rows);
    let (diodes, rest) = rest.split_at_mut(K * rows);
    let (u, right) = rest.split_at_mut(rows);
    for (i, u) in u.iter_mut().enumerate() {
        *u = knot.rs * points.current_a[i] + points.voltage_v[i];
    }
    let top = u.iter().copied().fold(0.0f64, f64::max);
    let reach = u.iter().fold(0.0f64, |m, x| m.max(x.abs())).max(f64::MIN_POSITIVE);
    let scale = points.current_a.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    for (i, weight) in weights.iter().enumerate() {
        constant[i] = weight * scale;
        right[i] = weight * points.current_a[i];
    }
    let a = knot.ln_a.map(f64::exp);
    for (column, a) in diodes.chunks_exact_mut(rows).zip(a) {
        // exp(u/a)/exp(top/a) − exp(−top/a), the diode's share at the highest point.
        shares(u, top, a, column);
        column.iter_mut().zip(constant.iter()).for_each(|(x, c)| *x *= -c);
    }
    u.iter_mut().zip(constant.iter()).for_each(|(u, c)| *u *= -c / reach);
    let (_, x) = non_negative(&mut matrix, columns)?;
    let mut theta = vec![0.0; n];
    theta[0] = x[0] * scale;
    for k in 0..K {
        theta[1 + 2 * k] = (x[1 + k].max(TRACE) * scale).ln() - top / a[k];
        theta[2 + 2 * k] = knot.ln_a[k];
    }
    theta[n - 2] = knot.rs;
    theta[n - 1] = x[K + 1] * scale / reach;
    theta.iter_mut().enumerate().for_each(|(k, t)| *t = t.clamp(bounds.low[k], bounds.high[k]));
    Some(theta)
}

/// min ‖A·x − b‖ with x ≥ 0 on the triangle that A and b are reduced to once: `matrix` holds A and b, column by
/// column. Where the free minimum has a negative coefficient, every set of positive ones is tried (at most 2⁴).
fn non_negative(matrix: &mut [f64], columns: usize) -> Option<(f64, Vec<f64>)> {
    let mut triangle = vec![0.0; columns * columns];
    crate::qr::thin_qr(matrix, columns, &mut triangle);
    let unknowns = columns - 1;
    let mut best: Option<(f64, Vec<f64>)> = None;
    let mut work = Work::new(columns);
    let all = (1u32 << unknowns) - 1;
    // The empty set stays where every coefficient would be negative.
    for set in (0..=all).rev() {
        let Some(cost) = work.least_squares(&triangle, columns, set) else { continue };
        if cost.is_finite() && best.as_ref().is_none_or(|b| cost < b.0) {
            best = Some((cost, work.x.clone()));
        }
        if set == all {
            break;
        }
    }
    best
}

/// Buffers of the small problems.
struct Work {
    part: Vec<f64>,
    r: Vec<f64>,
    own: Vec<f64>,
    x: Vec<f64>,
}

impl Work {
    fn new(columns: usize) -> Self {
        let zeros = |n| vec![0.0; n];
        Self {
            part: zeros(columns * columns),
            r: zeros(columns * columns),
            own: zeros(columns),
            x: zeros(columns - 1),
        }
    }

    /// Least squares over the coefficients in `set`, into `x`; its sum of squares, if none is negative.
    fn least_squares(&mut self, triangle: &[f64], columns: usize, set: u32) -> Option<f64> {
        let (unknowns, m) = (columns - 1, set.count_ones() as usize);
        let (part, r) = (&mut self.part[..columns * m], &mut self.r[..m * m]);
        let chosen = || (0..unknowns).filter(|k| set >> k & 1 == 1);
        for (c, k) in chosen().enumerate() {
            (0..columns).for_each(|i| part[c * columns + i] = triangle[i * columns + k]);
        }
        crate::qr::thin_qr(part, m, r);
        let right = |i: usize| triangle[i * columns + unknowns];
        let own = &mut self.own[..m];
        for (c, own) in own.iter_mut().enumerate() {
            *own = (0..columns).map(|i| part[c * columns + i] * right(i)).sum();
        }
        if !crate::qr::solve_upper(r, m, own) || own.iter().any(|x| x.is_nan() || *x < 0.0) {
            return None;
        }
        self.x.fill(0.0);
        chosen().zip(own.iter()).for_each(|(k, x)| self.x[k] = *x);
        let misfit = |i: usize| {
            let model: f64 = (i..unknowns).map(|k| triangle[i * columns + k] * self.x[k]).sum();
            model - right(i)
        };
        Some((0..columns).map(|i| misfit(i).powi(2)).sum())
    }
}

#[cfg(test)]
mod tests {
    use super::super::problem::Residual;
    use super::super::solver::Residuals;
    use super::*;
    use crate::diode::Junction;
    use approx::assert_relative_eq;

    /// The cost of a knot by normal equations is Σr² of the implicit residual, evaluated by itself, at the θ that the
    /// QR of the same linear problem gives there.
    #[test]
    fn costs_are_sums_of_squares_of_the_implicit_residual() {
        let circuit = Circuit::new(0.03, [2e-9], [0.037], 1.0, 1.25e-3);
        let voltage_v: Vec<f64> = (0..25).map(|k| -0.05 + 0.027 * f64::from(k)).collect();
        let wave = |v: &f64| circuit.current_at(*v) + 3e-4 * (40.0 * v).sin();
        let current_a = voltage_v.iter().map(wave).collect();
        let sigma_a = (0..25).map(|k| 1e-4 * (1.0 + 0.1 * f64::from(k))).collect();
        let points = Points { sigma_v: vec![0.0; 25], sigma_a, voltage_v, current_a };
        let weights = points.current_weights();
        let bounds = Bounds { low: vec![0.0, -600.0, -9.0, 0.0, 0.0], high: vec![1.0, 0.0, 1.0, 10.0, 1.0] };
        let knots: Vec<Knot<1>> = (0..21)
            .map(|k| Knot { rs: 0.1 * f64::from(k), ln_a: [0.037f64.ln() + 0.02 * f64::from(k % 7 - 3)] })
            .collect();
        let mut work = KnotWork::new();
        let costs = Reduced::new(&points, &weights).costs(&knots, &mut work).to_vec();
        let problem = Problem::<1> { points: &points, residual: Residual::Implicit };
        let mut r = vec![0.0; 25];
        for (knot, cost) in knots.iter().zip(costs) {
            let theta = at_knot(&points, &weights, &bounds, knot).expect("coefficients");
            assert!(problem.evaluate(&theta, &mut r, None));
            // The rough exponential of the start is good to 3e-9, and Σr² is least there.
            assert_relative_eq!(cost, r.iter().map(|r| r * r).sum::<f64>(), max_relative = 1e-6);
        }
    }
}
