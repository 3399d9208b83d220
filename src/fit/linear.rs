//! First-order uncertainty at an optimum: covariance, common errors, rounding.
//!
//! ```text
//! C = (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ over the free coordinates        δθ = −R⁻¹·Qᵀ·δr
//! ```
//!
//! C is absolute where the noise is stated and is multiplied by χ²/ν where it is not. A gain or an offset
//! is common to all points: it moves θ by δθ as a whole and does not average down.

use super::problem::Problem;
use super::solver::Residuals;
use crate::diode::Circuit;
use crate::qr::{inverse_upper, thin_qr};
use crate::sweep::Noise;

/// The pseudo-inverse of the weighted Jacobian over the free coordinates, and what comes of it.
pub(super) struct Linear {
    /// Positions of the free coordinates in θ.
    pub free: Vec<usize>,
    /// P = R⁻¹·Qᵀ, free × points; `None` where the Jacobian is singular.
    pub pseudo_inverse: Option<Vec<f64>>,
    /// The residuals; not finite where there are none.
    pub residuals: Vec<f64>,
    jacobian: Vec<f64>,
    rows: usize,
}

impl Linear {
    pub fn new(problem: &impl Residuals, theta: &[f64], free: Vec<usize>) -> Self {
        let (rows, n, m) = (problem.len(), theta.len(), free.len());
        let (mut r, mut jacobian) = (vec![f64::NAN; rows], vec![0.0; rows * n]);
        let there = problem.evaluate(theta, &mut r, Some(&mut jacobian));
        let pseudo_inverse = if there && m > 0 { pseudo_inverse(&jacobian, n, &free) } else { None };
        Self { free, pseudo_inverse, residuals: r, jacobian, rows }
    }

    /// (JᵀJ)⁻¹ over the free coordinates, row by row.
    pub fn unscaled(&self) -> Option<Vec<f64>> {
        let p = self.pseudo_inverse.as_ref()?;
        let m = self.free.len();
        let row = |a: usize| &p[a * self.rows..(a + 1) * self.rows];
        let dot = |a: usize, b: usize| row(a).iter().zip(row(b)).map(|(x, y)| x * y).sum::<f64>();
        Some((0..m * m).map(|k| dot(k / m, k % m)).collect())
    }

    /// Shift of the free coordinates by a change of the residuals.
    fn shift(&self, change: &[f64]) -> Vec<f64> {
        let Some(p) = &self.pseudo_inverse else { return vec![0.0; self.free.len()] };
        p.chunks_exact(self.rows)
            .map(|row| -row.iter().zip(change).map(|(p, d)| p * d).sum::<f64>())
            .collect()
    }

    /// Shifts by one standard uncertainty of each gain and offset that the noise model states.
    pub fn common_shifts<const K: usize>(
        &self,
        problem: &Problem<K>,
        theta: &[f64],
        noise: &Noise,
    ) -> Vec<Vec<f64>> {
        let circuit = Circuit::<K>::from_theta(theta);
        let p = problem.points;
        let by = problem.by_readings(&circuit);
        let change = |u: f64, f: &dyn Fn(usize) -> f64| -> Option<Vec<f64>> {
            (u > 0.0).then(|| self.shift(&(0..self.rows).map(|i| u * f(i)).collect::<Vec<_>>()))
        };
        [
            change(noise.voltage_gain_u, &|i| by[i].0 * p.voltage_v[i]),
            change(noise.voltage_offset_u, &|i| by[i].0),
            change(noise.current_gain_u, &|i| by[i].1 * p.current_a[i]),
            change(noise.current_offset_u, &|i| by[i].1),
        ]
        .into_iter()
        .flatten()
        .collect()
    }

    /// δp of each free coordinate: what rounding of readings and model alone can move it by.
    ///
    /// δp² = Σi (P_pi·ε·[|Ii| + |V·∂I/∂V| + Σ|q·∂I/∂q|]·V′/S)², the bracket being the error scale of the
    /// forward model, turned into a residual by V′/S; V′/S·∂I/∂q is ∂r/∂q, a row of the Jacobian.
    pub fn rounding<const K: usize>(&self, problem: &Problem<K>, theta: &[f64]) -> Option<Vec<f64>> {
        let p = self.pseudo_inverse.as_ref()?;
        let points = problem.points;
        // I0 and a stand as logarithms: q·∂r/∂q is ∂r/∂(ln q).
        let is_logarithm = |k: usize| (1..=2 * K).contains(&k);
        let size: Vec<f64> =
            theta.iter().enumerate().map(|(k, t)| if is_logarithm(k) { 1.0 } else { t.abs() }).collect();
        let ulp: Vec<f64> = problem
            .by_readings(&Circuit::<K>::from_theta(theta))
            .iter()
            .zip(self.jacobian.chunks_exact(theta.len()))
            .enumerate()
            .map(|(i, (by, row))| {
                let readings = (points.voltage_v[i] * by.0).abs() + (points.current_a[i] * by.1).abs();
                let parameters: f64 = row.iter().zip(&size).map(|(d, q)| (d * q).abs()).sum();
                f64::EPSILON * (readings + parameters)
            })
            .collect();
        Some(
            p.chunks_exact(self.rows)
                .map(|row| row.iter().zip(&ulp).map(|(p, e)| (p * e).powi(2)).sum::<f64>().sqrt())
                .collect(),
        )
    }
}

/// (JᵀJ)⁻¹ of any least-squares problem at `x`, row by row; times Σr²/ν it is the covariance of x where the
/// noise is not known. `None` where J is singular.
pub fn unscaled_covariance(problem: &impl Residuals, x: &[f64]) -> Option<Vec<f64>> {
    Linear::new(problem, x, (0..x.len()).collect()).unscaled()
}

fn pseudo_inverse(jacobian: &[f64], n: usize, free: &[usize]) -> Option<Vec<f64>> {
    let m = free.len();
    let rows = jacobian.len() / n;
    let norm = |k: usize| jacobian.iter().skip(k).step_by(n).map(|d| d * d).sum::<f64>().sqrt();
    let scale: Vec<f64> = free.iter().map(|&k| norm(k)).collect();
    let mut q: Vec<f64> = Vec::with_capacity(rows * m);
    for (&k, s) in free.iter().zip(&scale) {
        q.extend(jacobian.iter().skip(k).step_by(n).map(|d| d / s));
    }
    if q.iter().any(|x| !x.is_finite()) {
        return None;
    }
    let mut r = vec![0.0; m * m];
    thin_qr(&mut q, m, &mut r);
    let inverse = inverse_upper(&r, m)?;
    let entry =
        |a: usize, i: usize| (a..m).map(|k| inverse[a * m + k] * q[k * rows + i]).sum::<f64>() / scale[a];
    let p: Vec<f64> = (0..m * rows).map(|k| entry(k / rows, k % rows)).collect();
    p.iter().all(|x| x.is_finite()).then_some(p)
}
