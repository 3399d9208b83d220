//! One damped step within a box.
//!
//! ```text
//! min ‖R·p + q‖² + μ·‖p‖²,  low ≤ p ≤ high        J·D⁻¹ = Q·R,  q = Qᵀ·r,  p in units of D
//! ```
//!
//! J is reduced by QR once an iterate; the damped subproblem is solved on R by an active set, so that a
//! bound is met exactly and let go of when the multiplier says so. D holds the largest column norms so far
//! (J. J. Moré, Lecture Notes in Mathematics 630 (1978) 105), which makes the path independent of units.
//! All buffers are made once.

use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Bounds, Residuals};
use crate::numerics::linear_algebra::qr::{
    exact_dots, solve_transposed, solve_upper_settling, sum_of_squares, thin_qr, triangle_of,
};
use smallvec::{SmallVec, smallvec};

/// A share of R's smallest diagonal entry squared below which μ does not show in a step.
const UNSEEN: f64 = 1e-6;

/// Share of a step at which its bend is measured, and the most of its length that it may be bent by.
const AHEAD: f64 = 0.1;
const MOST_BENT: f64 = 0.375;

/// Numbers of one coordinate each, and of each pair: in place for up to eight coordinates.
pub(crate) type PerCoordinate<T = f64> = SmallVec<[T; 8]>;
pub(crate) type PerPair = SmallVec<[f64; 64]>;

/// Buffers of one descent.
pub(crate) struct Work {
    n: usize,
    residual: Vec<f64>,
    trial_residual: Vec<f64>,
    /// J of what was evaluated last; J·D⁻¹ once that is accepted.
    trial_jacobian: Vec<f64>,
    /// What the QR leaves of J·D⁻¹.
    columns: Vec<f64>,
    scale: PerCoordinate,
    r: PerPair,
    q: PerCoordinate,
    /// The step in the units of x.
    pub p: PerCoordinate,
    set: ActiveSet,
}

impl Work {
    pub fn new(rows: usize, n: usize) -> Self {
        let zeros = |k| vec![0.0; k];
        Self {
            n,
            residual: zeros(rows),
            trial_residual: zeros(rows),
            trial_jacobian: zeros(rows * n),
            columns: zeros(rows * n),
            scale: smallvec![0.0; n],
            r: smallvec![0.0; n * n],
            q: smallvec![0.0; n],
            p: smallvec![0.0; n],
            set: ActiveSet::new(n),
        }
    }

    /// For another problem, with so many residuals; the buffers grow where they must.
    pub fn reset(&mut self, rows: usize) {
        let n = self.n;
        for list in [&mut self.residual, &mut self.trial_residual] {
            list.resize(rows, 0.0);
        }
        for list in [&mut self.trial_jacobian, &mut self.columns] {
            list.resize(rows * n, 0.0);
        }
        self.scale.fill(0.0);
    }

    /// Residuals and derivatives at `x`; whether they exist and are finite.
    pub fn evaluate(&mut self, problem: &impl Residuals, x: &[f64]) -> bool {
        budget::spend();
        problem.evaluate(x, &mut self.trial_residual, Some(&mut self.trial_jacobian))
            && are_finite(&self.trial_residual)
            && are_finite(&self.trial_jacobian)
    }

    /// Σr² of what was evaluated last; infinite beyond f64.
    pub fn trial_cost(&self) -> f64 {
        let sum = sum_of_squares(&self.trial_residual);
        if sum.is_finite() { sum } else { f64::INFINITY }
    }

    /// Makes what was evaluated last the point to step from; its Σr².
    pub fn accept(&mut self) -> f64 {
        let cost = self.trial_cost();
        std::mem::swap(&mut self.residual, &mut self.trial_residual);
        self.factorise();
        cost
    }

    /// Column norms, then J·D⁻¹ → Q·R and q = R⁻ᵀ·D⁻¹·Jᵀr. The columns are scaled first, so that R is as well
    /// conditioned as the units allow. Qᵀr would carry the rounding of Q, which an ill-conditioned R⁻¹ makes large;
    /// the gradient in twice the precision is zero where it should be.
    fn factorise(&mut self) {
        let (n, rows) = (self.n, self.residual.len());
        if rows == 0 {
            return;
        }
        for (column, scale) in self.trial_jacobian.chunks_exact_mut(rows).zip(&mut self.scale) {
            *scale = scale.max(sum_of_squares(column).sqrt()).max(f64::MIN_POSITIVE);
            let by = 1.0 / *scale;
            column.iter_mut().for_each(|x| *x *= by);
        }
        self.columns.copy_from_slice(&self.trial_jacobian);
        triangle_of(&mut self.columns, n, &mut self.r);
        exact_dots(&self.trial_jacobian, &self.residual, &mut self.q);
        solve_transposed(&self.r, n, &mut self.q);
    }

    /// Whether the damping μ shows in a step.
    pub fn is_damped_by(&self, mu: f64) -> bool {
        !is_unseen(&self.r, self.n, mu)
    }

    /// Σr² that one bit of each coordinate makes: ε²·Σ(xₖ·∂rᵢ/∂xₖ)².
    pub fn resolved(&self, x: &[f64]) -> f64 {
        let n = self.n;
        let column = |k: usize| (0..=k).map(|i| self.r[i * n + k].powi(2)).sum::<f64>();
        let bits = (0..n).map(|k| (x[k] * self.scale[k]).powi(2) * column(k)).sum::<f64>();
        f64::EPSILON.powi(2) * bits
    }

    /// The damped step within the box into `p`; the reduction of Σr² that the linear model promises.
    pub fn step(&mut self, mu: f64, x: &[f64], bounds: &Bounds) -> f64 {
        self.place(x, bounds);
        self.set.solve(&self.r, &self.q, mu);
        let p = &self.set.p;
        (0..self.n).for_each(|k| self.p[k] = p[k] / self.scale[k]);
        promise(&self.r, &self.q, p)
    }

    fn place(&mut self, x: &[f64], bounds: &Bounds) {
        for k in 0..self.n {
            let scale = self.scale[k];
            self.set.limits[k] = ((bounds.low[k] - x[k]) * scale, (bounds.high[k] - x[k]) * scale);
        }
        self.set.origin.copy_from_slice(x);
        self.set.scale.copy_from_slice(&self.scale);
    }

    /// Bends the step `p` from `x`, the point accepted last, along a curved valley: by half of what makes up for the second
    /// derivative of r along it (M. K. Transtrum, J. P. Sethna, arXiv 1201.5885: geodesic acceleration), if that is
    /// small beside the step.
    pub fn bend(&mut self, problem: &impl Residuals, mu: f64, x: &[f64], bounds: &Bounds) {
        let ahead: PerCoordinate = x.iter().zip(&self.p).map(|(x, p)| x + AHEAD * p).collect();
        budget::spend();
        if !problem.evaluate(&ahead, &mut self.trial_residual, None) {
            return;
        }
        let rows = self.residual.len();
        for i in 0..rows {
            let along: f64 =
                (0..self.n).map(|k| self.trial_jacobian[k * rows + i] * self.scale[k] * self.p[k]).sum();
            let difference = (self.trial_residual[i] - self.residual[i]) / AHEAD - along;
            self.trial_residual[i] = difference / AHEAD;
        }
        let mut q: PerCoordinate = smallvec![0.0; self.n];
        exact_dots(&self.trial_jacobian, &self.trial_residual, &mut q);
        solve_transposed(&self.r, self.n, &mut q);
        let end: PerCoordinate = x.iter().zip(&self.p).map(|(x, p)| x + p).collect();
        self.place(&end, bounds);
        self.set.solve(&self.r, &q, mu);
        let length = |a: &dyn Fn(usize) -> f64| (0..self.n).map(|k| a(k).powi(2)).sum::<f64>().sqrt();
        let (bent, step) = (length(&|k| self.set.p[k]), length(&|k| self.p[k] * self.scale[k]));
        if bent <= MOST_BENT * step {
            (0..self.n).for_each(|k| self.p[k] += self.set.p[k] / self.scale[k]);
        }
    }
}

fn are_finite(list: &[f64]) -> bool {
    list.iter().fold(true, |all, x| all & x.is_finite())
}

/// ‖q‖² − ‖Rp + q‖², without forming the difference: −(Rp)·(Rp + 2q).
fn promise(r: &[f64], q: &[f64], p: &[f64]) -> f64 {
    let n = p.len();
    (0..n)
        .map(|i| {
            let rp: f64 = (i..n).map(|k| r[i * n + k] * p[k]).sum();
            -rp * (rp + 2.0 * q[i])
        })
        .sum()
}

/// min ‖Rp + q‖² + μ‖p‖² with low ≤ p ≤ high (0 inside).
struct ActiveSet {
    limits: PerCoordinate<(f64, f64)>,
    /// x and D.
    origin: PerCoordinate,
    scale: PerCoordinate,
    p: PerCoordinate,
    target: PerCoordinate,
    wants: PerCoordinate,
    free: PerCoordinate<bool>,
    index: PerCoordinate<usize>,
    /// Two numbers a pair and two a coordinate: the damped problem below the undamped one.
    stacked: SmallVec<[f64; 128]>,
    right: SmallVec<[f64; 16]>,
    small: PerPair,
}

impl ActiveSet {
    fn new(n: usize) -> Self {
        let zeros = || -> PerCoordinate { smallvec![0.0; n] };
        Self {
            limits: smallvec![(0.0, 0.0); n],
            origin: zeros(),
            scale: zeros(),
            p: zeros(),
            target: zeros(),
            wants: zeros(),
            free: smallvec![false; n],
            index: PerCoordinate::with_capacity(n),
            stacked: smallvec![0.0; 2 * n * n],
            right: smallvec![0.0; 2 * n],
            small: smallvec![0.0; n * n],
        }
    }

    fn solve(&mut self, r: &[f64], q: &[f64], mu: f64) {
        let n = q.len();
        self.p.fill(0.0);
        // A coordinate at its bound starts free only if it wants to leave.
        let inside = self.limits.iter().all(|(low, high)| *low < 0.0 && *high > 0.0);
        if !inside {
            self.gradient(r, q, mu);
        }
        for k in 0..n {
            let (low, high) = self.limits[k];
            let (down, up) = (low < 0.0 && self.wants[k] > 0.0, high > 0.0 && self.wants[k] < 0.0);
            self.free[k] = down || up || low < 0.0 && high > 0.0;
        }
        for _ in 0..4 * n {
            self.unbounded(r, q, mu);
            if let Some((k, t, bound)) = self.first_block() {
                for j in (0..n).filter(|&j| self.free[j]) {
                    self.p[j] += t * (self.target[j] - self.p[j]);
                }
                self.p[k] = bound;
                self.free[k] = false;
                continue;
            }
            self.p.copy_from_slice(&self.target);
            if !self.free.contains(&false) {
                break;
            }
            self.gradient(r, q, mu);
            match self.most_eager() {
                Some(k) => self.free[k] = true,
                None => break,
            }
        }
    }

    /// Half the gradient at p.
    fn gradient(&mut self, r: &[f64], q: &[f64], mu: f64) {
        let n = q.len();
        for (k, want) in self.wants.iter_mut().enumerate() {
            *want = mu * self.p[k];
        }
        for i in 0..n {
            let residual = q[i] + (i..n).map(|k| r[i * n + k] * self.p[k]).sum::<f64>();
            (i..n).for_each(|k| self.wants[k] += r[i * n + k] * residual);
        }
    }

    /// The coordinate at a bound that gains most by leaving it.
    fn most_eager(&self) -> Option<usize> {
        let leaves = |k: &usize| {
            let ((low, high), p, want) = (self.limits[*k], self.p[*k], self.wants[*k]);
            !self.free[*k] && low < high && (p <= low && want < 0.0 || p >= high && want > 0.0)
        };
        let eager = |a: &usize, b: &usize| self.wants[*a].abs().total_cmp(&self.wants[*b].abs());
        (0..self.p.len()).filter(leaves).max_by(eager)
    }

    /// The first bound met on the way from `p` to `target`: coordinate, fraction of the way, bound.
    fn first_block(&self) -> Option<(usize, f64, f64)> {
        let mut first: Option<(usize, f64, f64)> = None;
        for k in (0..self.p.len()).filter(|&k| self.free[k]) {
            let ((low, high), p, target) = (self.limits[k], self.p[k], self.target[k]);
            let bound = if target < low { low } else { high };
            if target < low || target > high {
                let t = ((bound - p) / (target - p)).clamp(0.0, 1.0);
                if first.is_none_or(|f| t < f.1) {
                    first = Some((k, t, bound));
                }
            }
        }
        first
    }

    /// The minimum over the free coordinates, the others held, by QR of the stacked matrix, into `target`.
    ///
    /// Undamped, it ends on numbers of f64: a coordinate can only move to one, which among rounding is coarse, and
    /// those solved for after it make up for that (L. Babai, Combinatorica 6 (1986) 1: the nearest plane).
    fn unbounded(&mut self, r: &[f64], q: &[f64], mu: f64) {
        let n = q.len();
        self.target.copy_from_slice(&self.p);
        self.index.clear();
        self.index.extend((0..n).filter(|&k| self.free[k]));
        let m = self.index.len();
        if m == 0 {
            return;
        }
        if m == n && is_unseen(r, n, mu) {
            self.target.iter_mut().zip(q).for_each(|(t, q)| *t = -q);
            let (origin, scale) = (&self.origin, &self.scale);
            let settle = |i: usize, p: f64| if mu > 0.0 { p } else { settled(origin[i], scale[i], p) };
            solve_upper_settling(r, n, &mut self.target, settle);
            return;
        }
        let height = n + m;
        let columns = &mut self.stacked[..height * m];
        let right = &mut self.right[..height];
        columns.fill(0.0);
        right.fill(0.0);
        for i in 0..n {
            let held: f64 = (i..n).filter(|&k| !self.free[k]).map(|k| r[i * n + k] * self.p[k]).sum();
            right[i] = -(q[i] + held);
        }
        for (c, (&k, column)) in self.index.iter().zip(columns.chunks_exact_mut(height)).enumerate() {
            (0..=k).for_each(|i| column[i] = r[i * n + k]);
            column[n + c] = mu.sqrt();
        }
        let small = &mut self.small[..m * m];
        thin_qr(columns, m, small);
        let wants = &mut self.wants[..m];
        for (w, column) in wants.iter_mut().zip(columns.chunks_exact(height)) {
            *w = column.iter().zip(right.iter()).map(|(c, b)| c * b).sum();
        }
        let (index, origin, scale) = (&self.index, &self.origin, &self.scale);
        let settle = |i: usize, p: f64| {
            if mu > 0.0 { p } else { settled(origin[index[i]], scale[index[i]], p) }
        };
        if solve_upper_settling(small, m, wants, settle) {
            self.index.iter().zip(wants).for_each(|(&k, p)| self.target[k] = *p);
        }
    }
}

/// Whether damping does not show beside R.
fn is_unseen(r: &[f64], n: usize, mu: f64) -> bool {
    let least = (0..n).map(|i| r[i * n + i] * r[i * n + i]).fold(f64::INFINITY, f64::min);
    least > 0.0 && mu <= UNSEEN * least
}

/// The number of f64 nearest to x + p/d, as a step in units of 1/d.
fn settled(x: f64, d: f64, p: f64) -> f64 {
    ((x + p / d) - x) * d
}
