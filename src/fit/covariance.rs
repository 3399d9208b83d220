//! First-order uncertainty at an optimum: covariance, common errors, rounding.
//!
//! ```text
//! C = (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ over the free coordinates        δθ = −R⁻¹·Qᵀ·δr
//! ```
//!
//! C is absolute where the noise is stated and is multiplied by χ²/ν where it is not. A gain or an offset
//! is common to all points, as is every effect of the sweep that has one source: it moves θ by δθ as a whole and does not
//! average down.

use super::residuals::Problem;
use crate::diode::Circuit;
use crate::numerics::least_squares::bounded_step::{PerCoordinate, PerPair};
use crate::numerics::least_squares::problem::Residuals;
use crate::numerics::linear_algebra::qr::{inverse_upper, rough_qr, sum_of_squares, thin_qr};
use crate::sweep::{Effect, SweepOptions};
use smallvec::smallvec;

/// The weighted Jacobian over the free coordinates, factorised, and what comes of it.
pub(super) struct Linear {
    /// Positions of the free coordinates in θ.
    pub free: Vec<usize>,
    rows: usize,
    jacobian: Vec<f64>,
    /// `None` where the Jacobian is singular.
    factors: Option<Factors>,
}

/// J·D⁻¹ = Q·R: R⁻¹ row by row, D.
struct Factors {
    inverse: PerPair,
    scale: PerCoordinate,
}

impl Linear {
    /// With the residuals at `theta`, which are not finite where there are none.
    pub fn new(problem: &impl Residuals, theta: &[f64], free: Vec<usize>) -> (Self, Vec<f64>) {
        let (rows, n) = (problem.len(), theta.len());
        let (mut residuals, mut jacobian) = (vec![f64::NAN; rows], vec![0.0; rows * n]);
        let there = problem.evaluate(theta, &mut residuals, Some(&mut jacobian)) && !free.is_empty();
        let mut linear = Self { free, rows, jacobian, factors: None };
        // A column that depends on the others shows only after a second pass.
        linear.factors = if there { linear.factorised(rough_qr).map(|f| f.1) } else { None };
        (linear, residuals)
    }

    /// Counts the Jacobian as singular: nothing scales what it gives.
    pub fn give_up(&mut self) {
        self.factors = None;
    }

    /// (JᵀJ)⁻¹ = R⁻¹·R⁻ᵀ over the free coordinates, row by row.
    pub fn unscaled(&self) -> Option<Vec<f64>> {
        let Factors { inverse, scale } = self.factors.as_ref()?;
        let m = scale.len();
        let entry = |a: usize, b: usize| {
            let sum: f64 = (a.max(b)..m).map(|k| inverse[a * m + k] * inverse[b * m + k]).sum();
            sum / (scale[a] * scale[b])
        };
        Some((0..m * m).map(|k| entry(k / m, k % m)).collect())
    }

    /// P = D⁻¹·R⁻¹·Qᵀ, free × points.
    pub fn pseudo_inverse(&self) -> Option<Vec<f64>> {
        self.factors.as_ref()?;
        let (q, Factors { inverse, scale }) = self.factorised(thin_qr)?;
        let (m, rows) = (scale.len(), self.rows);
        let mut p = vec![0.0; m * rows];
        for (a, row) in p.chunks_exact_mut(rows).enumerate() {
            for (k, q) in q.chunks_exact(rows).enumerate().skip(a) {
                let share = inverse[a * m + k] / scale[a];
                row.iter_mut().zip(q).for_each(|(p, q)| *p += share * q);
            }
        }
        p.iter().all(|x| x.is_finite()).then_some(p)
    }

    /// J·D⁻¹ as `qr` leaves it, R⁻¹ and D. `None` where the Jacobian is singular.
    fn factorised(&self, qr: fn(&mut [f64], usize, &mut [f64])) -> Option<(Vec<f64>, Factors)> {
        let (m, rows) = (self.free.len(), self.rows);
        let mut columns: Vec<f64> = Vec::with_capacity(rows * m);
        self.free.iter().for_each(|&k| columns.extend(&self.jacobian[k * rows..(k + 1) * rows]));
        let mut scale = PerCoordinate::with_capacity(m);
        for column in columns.chunks_exact_mut(rows) {
            let norm = sum_of_squares(column).sqrt();
            column.iter_mut().for_each(|x| *x /= norm);
            scale.push(norm);
        }
        if !columns.iter().fold(true, |all, x| all & x.is_finite()) {
            return None;
        }
        let (mut r, mut inverse): (PerPair, PerPair) = (smallvec![0.0; m * m], smallvec![0.0; m * m]);
        qr(&mut columns, m, &mut r);
        let regular = inverse_upper(&r, m, &mut inverse) && inverse.iter().all(|x| x.is_finite());
        regular.then_some((columns, Factors { inverse, scale }))
    }

    /// Shift of the free coordinates by a change of the residuals, by the pseudo-inverse.
    fn shift(&self, p: &[f64], change: &[f64]) -> Vec<f64> {
        let of = |row: &[f64]| -row.iter().zip(change).map(|(p, d)| p * d).sum::<f64>();
        p.chunks_exact(change.len()).map(of).collect()
    }

    /// Shifts by one standard uncertainty of each gain and offset that the noise of a sweep states, and of each of its
    /// effects that has one source.
    pub fn common_shifts<const K: usize>(
        &self,
        problem: &Problem<K>,
        theta: &[f64],
        options: &SweepOptions,
    ) -> Vec<Vec<f64>> {
        let sources = problem.points.common_effects(options);
        if sources.is_empty() {
            return Vec::new();
        }
        let by = problem.by_readings(&Circuit::<K>::from_theta(theta));
        let inverse = self.pseudo_inverse().unwrap_or_else(|| vec![0.0; self.free.len() * by.len()]);
        let residuals = |source: &Effect| -> Vec<f64> {
            let change = source.voltage_v.iter().zip(&source.current_a);
            by.iter().zip(change).map(|(by, (v, i))| by.0 * v + by.1 * i).collect()
        };
        sources.iter().map(|source| self.shift(&inverse, &residuals(source))).collect()
    }

    /// δp of each free coordinate: what rounding of readings and model alone can move it by.
    ///
    /// δp² = Σi (P_pi·ε·[|Ii| + |V·∂I/∂V| + Σ|q·∂I/∂q|]·V′/S)², the bracket being the error scale of the
    /// forward model, turned into a residual by V′/S; V′/S·∂I/∂q is ∂r/∂q, a row of the Jacobian.
    pub fn rounding<const K: usize>(&self, problem: &Problem<K>, theta: &[f64]) -> Option<Vec<f64>> {
        let p = self.pseudo_inverse()?;
        let points = problem.points;
        // I0 and a stand as logarithms: q·∂r/∂q is ∂r/∂(ln q).
        let is_logarithm = |k: usize| (1..=2 * K).contains(&k);
        let size: Vec<f64> =
            theta.iter().enumerate().map(|(k, t)| if is_logarithm(k) { 1.0 } else { t.abs() }).collect();
        let ulp: Vec<f64> = problem
            .by_readings(&Circuit::<K>::from_theta(theta))
            .iter()
            .enumerate()
            .map(|(i, by)| {
                let readings = (points.voltage_v[i] * by.0).abs() + (points.current_a[i] * by.1).abs();
                let row = self.jacobian.iter().skip(i).step_by(points.voltage_v.len());
                let parameters: f64 = row.zip(&size).map(|(d, q)| (d * q).abs()).sum();
                f64::EPSILON * (readings + parameters)
            })
            .collect();
        Some(
            p.chunks_exact(ulp.len())
                .map(|row| row.iter().zip(&ulp).map(|(p, e)| (p * e).powi(2)).sum::<f64>().sqrt())
                .collect(),
        )
    }
}

/// (JᵀJ)⁻¹ of any least-squares problem at `x`, row by row; times Σr²/ν it is the covariance of x where the
/// noise is not known. `None` where J is singular.
///
/// # Examples
/// ```
/// use litdiode::fit::{Residuals, unscaled_covariance};
/// /// Residuals of y = x₀ + x₁·t at t = 0, 1, 2; JᵀJ = [3 3; 3 5].
/// struct Line;
/// impl Residuals for Line {
///     fn len(&self) -> usize {
///         3
///     }
///     fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
///         (0..3).for_each(|k| r[k] = x[0] + x[1] * k as f64 - [1.0, 3.0, 5.0][k]);
///         jacobian.into_iter().for_each(|j| j.copy_from_slice(&[1.0, 1.0, 1.0, 0.0, 1.0, 2.0]));
///         true
///     }
/// }
/// let covariance = unscaled_covariance(&Line, &[1.0, 2.0]).unwrap();
/// let exact = [5.0 / 6.0, -0.5, -0.5, 0.5];
/// assert!(covariance.iter().zip(exact).all(|(found, wanted)| (found - wanted).abs() < 1e-12));
/// ```
pub fn unscaled_covariance(problem: &impl Residuals, x: &[f64]) -> Option<Vec<f64>> {
    Linear::new(problem, x, (0..x.len()).collect()).0.unscaled()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Parameters, SingleDiode};
    use crate::fit::{Options, fit_single_diode};
    use crate::sweep::{Leads, Sign, Sweep};

    /// Readings that are rounded once: the parameters are off by about what rounding may move them by, over all sizes.
    #[test]
    fn parameters_of_rounded_readings_are_off_by_their_rounding() {
        let mut shares: [Vec<f64>; 5] = [const { Vec::new() }; 5];
        for k in 0..24_i32 {
            let parameters = Parameters {
                iph_a: [1e-6, 0.03, 8.0][k as usize % 3],
                i0_a: [[1e-15, 1e-9, 1e-6][k as usize % 3] * 0.1],
                n: [1.1 + 0.03 * f64::from(k)],
                rs_ohm: [6e3, 0.6, 3e-3][k as usize % 3],
                rsh_ohm: [3e7, 900.0, 5.0][k as usize % 3] * (1.0 + 0.1 * f64::from(k)),
                cells: 1,
                temperature_c: 25.0,
            };
            let device = SingleDiode::new(parameters).unwrap();
            let (v, i) = device.curve(40);
            let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
            let fit = fit_single_diode(&Sweep::new(&v, &i, options).unwrap(), &Options::default()).unwrap();
            let problem = fit.problem();
            let (linear, _) = Linear::new(&problem, &fit.theta, fit.free.clone());
            let rounding = linear.rounding(&problem, &fit.theta).unwrap();
            for (k, rounding) in fit.free.iter().zip(rounding) {
                shares[*k].push((fit.theta[*k] - device.circuit().theta()[*k]).abs() / rounding);
            }
        }
        for (k, mut shares) in shares.into_iter().enumerate() {
            shares.sort_by(f64::total_cmp);
            let [half, most] = [0.5, 1.0].map(|p| shares[(p * (shares.len() - 1) as f64) as usize]);
            println!("coordinate {k}: half within {half:.3}, all within {most:.2} of their rounding");
            assert!(shares.len() > 20 && half > 0.01 && most < 30.0, "{k} {shares:?}");
        }
    }
}
