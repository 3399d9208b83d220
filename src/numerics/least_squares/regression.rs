//! Regression of y on functions that are linear in their coefficients, with scatter on both axes.
//!
//! ```text
//! f(x) = Σⱼ cⱼ φⱼ(x)        minimise Σᵢ [yᵢ − f(x̂ᵢ) − f′(x̂ᵢ)(xᵢ − x̂ᵢ)]² / (σyᵢ² + f′(x̂ᵢ)² σxᵢ²)
//! x̂ᵢ = xᵢ + σxᵢ² f′ (yᵢ − f(xᵢ)) / (σyᵢ² + f′² σxᵢ²)        the foot of the reading on the curve
//! ```
//!
//! Weights and functions are taken at the foot and never at the raw reading: a proportional scatter or a
//! logarithm taken there would bias the coefficients. With σx = 0 it is the ordinary weighted regression, with
//! σy = 0 that of x on y. The covariance is that of linear regression, (XᵀWX)⁻¹ (JCGM 100:2008, 5.2.2 with
//! independent readings: L·Σ·Lᵀ for L = (XᵀWX)⁻¹XᵀW and Σ = W⁻¹).

use crate::numerics::cancel;
use crate::numerics::least_squares::linear::least_squares;

/// Rounds in which foot points and weights follow the curve.
const ROUNDS: usize = 30;

/// A round that moves no coefficient by more than this part of its standard deviation is the last.
const STILL: f64 = 1e-7;

/// φ and dφ/dx of reading `k` at x; `false` outside their domain.
pub(crate) type Basis<'a> = dyn Fn(usize, f64, &mut [f64], &mut [f64]) -> bool + 'a;

/// Readings and functions.
pub(crate) struct Problem<'a> {
    pub x: &'a [f64],
    pub y: &'a [f64],
    pub sigma_x: &'a [f64],
    pub sigma_y: &'a [f64],
    pub terms: usize,
    pub basis: &'a Basis<'a>,
}

/// Coefficients with their covariance.
#[derive(Clone, Debug)]
pub(crate) struct Regression {
    pub c: Vec<f64>,
    covariance: Vec<f64>,
    pub chi2: f64,
    pub dof: usize,
}

impl Regression {
    /// Covariance of two coefficients for the stated scatter.
    pub fn covariance(&self, i: usize, j: usize) -> f64 {
        self.covariance[i * self.c.len() + j]
    }

    /// How many standard deviations coefficient `j` lies from 0.
    pub fn significance(&self, j: usize) -> f64 {
        let u = self.covariance(j, j).sqrt();
        if u > 0.0 { self.c[j].abs() / u } else { 0.0 }
    }
}

struct Round<'a> {
    problem: &'a Problem<'a>,
    foot: Vec<f64>,
    slope: Vec<f64>,
}

impl Problem<'_> {
    /// The regression; `None` where the readings do not determine it or leave the domain.
    pub fn solve(&self) -> Option<Regression> {
        let mut round = Round { problem: self, foot: self.x.to_vec(), slope: self.chords() };
        let mut best = round.regress()?;
        for _ in 0..ROUNDS {
            if cancel::requested_now() {
                return None;
            }
            round.follow(&best.c);
            let next = round.regress()?;
            let moved = (0..self.terms)
                .map(|j| (next.c[j] - best.c[j]).abs() / next.covariance(j, j).sqrt())
                .fold(0.0, f64::max);
            best = next;
            if moved.is_nan() || moved < STILL {
                break;
            }
        }
        Some(best)
    }

    /// A first slope for the weights: that of the line over all readings.
    fn chords(&self) -> Vec<f64> {
        let n = self.x.len().max(1) as f64;
        let (mx, my) = (self.x.iter().sum::<f64>() / n, self.y.iter().sum::<f64>() / n);
        let xx: f64 = self.x.iter().map(|x| (x - mx).powi(2)).sum();
        let xy: f64 = self.x.iter().zip(self.y).map(|(x, y)| (x - mx) * (y - my)).sum();
        vec![if xx > 0.0 { xy / xx } else { 0.0 }; self.x.len()]
    }
}

impl Round<'_> {
    fn sigma2(&self, k: usize) -> f64 {
        let s = self.problem.sigma_y[k].hypot(self.slope[k] * self.problem.sigma_x[k]);
        s * s
    }

    fn regress(&self) -> Option<Regression> {
        let p = self.problem;
        let (n, m) = (p.x.len(), p.terms);
        let largest = (0..n).map(|k| self.sigma2(k)).fold(0.0, f64::max);
        let mut columns = vec![vec![0.0; n]; m];
        let mut b = vec![0.0; n];
        let (mut phi, mut dphi) = (vec![0.0; m], vec![0.0; m]);
        for k in 0..n {
            if !(p.basis)(k, self.foot[k], &mut phi, &mut dphi) {
                return None;
            }
            // A reading on a flat stretch may have no scatter of its own; none counts a million times another.
            let s2 = if largest > 0.0 { self.sigma2(k).max(1e-6 * largest) } else { 1.0 };
            let w = 1.0 / s2.sqrt();
            b[k] = w * (p.y[k] - self.slope_shift(k));
            columns.iter_mut().zip(&phi).for_each(|(column, phi)| column[k] = w * phi);
        }
        let solved = least_squares(&columns, &b)?;
        let fitted = |k: usize| columns.iter().zip(&solved.c).map(|(column, c)| c * column[k]).sum::<f64>();
        let chi2 = (0..n).map(|k| (b[k] - fitted(k)).powi(2)).sum();
        let covariance = if largest > 0.0 { solved.covariance } else { vec![0.0; m * m] };
        Some(Regression { c: solved.c, covariance, chi2, dof: n - m })
    }

    /// f′·(x − x̂); nothing in the first round, where the foot is the reading.
    fn slope_shift(&self, k: usize) -> f64 {
        self.slope[k] * (self.problem.x[k] - self.foot[k])
    }

    /// Moves feet and slopes to the curve with coefficients `c`.
    fn follow(&mut self, c: &[f64]) {
        let p = self.problem;
        let (mut phi, mut dphi) = (vec![0.0; p.terms], vec![0.0; p.terms]);
        let along = |row: &[f64]| row.iter().zip(c).map(|(r, c)| r * c).sum::<f64>();
        for k in 0..p.x.len() {
            if !(p.basis)(k, self.foot[k], &mut phi, &mut dphi) {
                continue;
            }
            let (f, slope) = (along(&phi), along(&dphi));
            let s2 = p.sigma_y[k].powi(2) + (slope * p.sigma_x[k]).powi(2);
            if s2 > 0.0 {
                let miss = p.y[k] - f - slope * (p.x[k] - self.foot[k]);
                let foot = p.x[k] + p.sigma_x[k].powi(2) * slope * miss / s2;
                // A foot beyond the domain, or many σ away from a reading, stays where it was.
                let near = (foot - p.x[k]).abs() <= 8.0 * p.sigma_x[k];
                if near && (p.basis)(k, foot, &mut phi, &mut dphi) {
                    self.foot[k] = foot;
                    self.slope[k] = along(&dphi);
                    continue;
                }
            }
            self.slope[k] = slope;
        }
    }
}

/// 1, x, x², … and their derivatives.
pub(crate) fn powers(x: f64, phi: &mut [f64], dphi: &mut [f64]) {
    let (mut power, mut before) = (1.0, 0.0);
    for (j, (phi, dphi)) in phi.iter_mut().zip(dphi).enumerate() {
        *phi = power;
        *dphi = j as f64 * before;
        before = power;
        power *= x;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_abs_diff_eq;

    fn line(x: &[f64], y: &[f64], sigma_x: &[f64], sigma_y: &[f64]) -> Regression {
        let basis = |_: usize, x: f64, phi: &mut [f64], dphi: &mut [f64]| {
            powers(x, phi, dphi);
            true
        };
        Problem { x, y, sigma_x, sigma_y, terms: 2, basis: &basis }.solve().expect("a line")
    }

    /// Pearson's data with York's weights: D. York et al., Am. J. Phys. 72 (2004) 367.
    #[test]
    fn scatter_on_both_axes() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let wx = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0f64];
        let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0f64];
        let found = line(&x, &y, &wx.map(|w| w.powf(-0.5)), &wy.map(|w| w.powf(-0.5)));
        assert_abs_diff_eq!(found.c[1], -0.48053, epsilon = 5e-6);
        assert_abs_diff_eq!(found.c[0], 5.47991, epsilon = 5e-6);
        assert_abs_diff_eq!(found.covariance(1, 1).sqrt(), 0.05799, epsilon = 5e-6);
        assert_abs_diff_eq!(found.covariance(0, 0).sqrt(), 0.29497, epsilon = 5e-6);
        assert_abs_diff_eq!(found.chi2, 11.866, epsilon = 5e-4);
    }

    /// Calibration of a thermometer: JCGM 100:2008, H.3, equations H.13 and table H.6.
    #[test]
    fn straight_line_of_the_gum() {
        let t = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511];
        let b = [171, 169, 166, 159, 164, 165, 156, 157, 159, 161, 160].map(|b| -1e-3 * f64::from(b));
        let found = line(&t.map(|t| t - 20.0), &b, &[0.0; 11], &[1.0; 11]);
        let s2 = found.chi2 / found.dof as f64;
        assert_abs_diff_eq!(found.c[0], -0.1712, epsilon = 5e-5);
        assert_abs_diff_eq!(found.c[1], 0.00218, epsilon = 5e-6);
        assert_abs_diff_eq!((s2 * found.covariance(0, 0)).sqrt(), 0.0029, epsilon = 5e-5);
        assert_abs_diff_eq!((s2 * found.covariance(1, 1)).sqrt(), 0.00067, epsilon = 5e-6);
        let r = found.covariance(0, 1) / (found.covariance(0, 0) * found.covariance(1, 1)).sqrt();
        assert_abs_diff_eq!(r, -0.930, epsilon = 5e-4);
    }
}
