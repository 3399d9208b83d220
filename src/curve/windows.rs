//! Variance from the residuals of local polynomials in overlapping windows.
//!
//! ```text
//! σ̂² = Σⱼ qⱼ rⱼ² / tr C,   C = Σⱼ qⱼ Rⱼ,   ν = (tr C)²/tr(C²)
//! ```
//!
//! rⱼ² = yᵀRⱼy is the residual sum of squares in window j. As windows overlap, the degrees of freedom are
//! those of the quadratic form (Satterthwaite, Biometrics Bull. 2 (1946) 110–114) and not the sum over
//! windows. qⱼ falls from 1 to 0 where a window is too wide for the bend of the curve.

use super::local::Local;

/// The misfit of the bend counts this much against a window.
const BEND_WEIGHT: f64 = 5.0;

/// Points in a window and the degree of its polynomial.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Successive points.
    pub points: usize,
    /// Degree, below `points` − 1.
    pub degree: usize,
}

/// All windows of successive points.
pub struct Windows {
    size: Size,
    count: usize,
    all: Vec<Window>,
}

struct Window {
    first: usize,
    dof: f64,
    misfit: f64,
    bent: f64,
    fit: Local,
}

impl Windows {
    /// Windows over points of rising `x`; `bend` is the non-polynomial part that is expected of y.
    pub fn new(x: &[f64], y: &[f64], bend: &[f64], size: Size) -> Self {
        let ones = vec![1.0; size.points];
        let window = |first: usize| {
            let span = first..first + size.points;
            let fit = Local::fit(&x[span.clone()], &y[span.clone()], &ones, size.degree)?;
            let bent = fit.misfit_of(&fit.series_of(&bend[span]), size.degree);
            let dof = (size.points - 1 - fit.degree()) as f64;
            Some(Window { first, dof, misfit: fit.misfit(size.degree), bent, fit })
        };
        let all = (0..(x.len() + 1).saturating_sub(size.points)).filter_map(window).collect();
        Self { size, count: x.len(), all }
    }

    /// σ̂² of an even scatter and ν.
    pub fn variance(&self) -> (f64, f64) {
        let mut share = vec![1.0; self.all.len()];
        for _ in 0..3 {
            let sigma2 = self.ratio(&share, &|w| w.dof);
            share = self.all.iter().map(|w| w.share(sigma2)).collect();
        }
        (self.ratio(&share, &|w| w.dof), self.satterthwaite(&share))
    }

    /// The ratio of the variance found to that expected of the standard deviations `sigma`, and ν.
    pub fn against(&self, sigma: &[f64]) -> (f64, f64) {
        let expected = |w: &Window| {
            let own = |k: usize| (1.0 - w.fit.pull(k, k)) * sigma[w.first + k].powi(2);
            (0..self.size.points).map(own).sum::<f64>()
        };
        let share: Vec<f64> = self.all.iter().map(|w| w.share(expected(w) / w.dof)).collect();
        (self.ratio(&share, &expected), self.satterthwaite(&share))
    }

    /// Σ q·misfit / Σ q·expected.
    fn ratio(&self, share: &[f64], expected: &dyn Fn(&Window) -> f64) -> f64 {
        let sum =
            |of: &dyn Fn(&Window) -> f64| self.all.iter().zip(share).map(|(w, q)| q * of(w)).sum::<f64>();
        sum(&|w| w.misfit) / sum(expected)
    }

    /// (tr C)²/tr(C²) with C = Σ qⱼ(1 − Hⱼ), which is banded: row k keeps the columns from k on.
    fn satterthwaite(&self, share: &[f64]) -> f64 {
        let width = self.size.points;
        let mut band = vec![0.0; width * self.count];
        for (w, q) in self.all.iter().zip(share) {
            for row in 0..width {
                for column in row..width {
                    let identity = if column == row { 1.0 } else { 0.0 };
                    band[(w.first + row) * width + column - row] += q * (identity - w.fit.pull(row, column));
                }
            }
        }
        let (mut trace, mut square) = (0.0, 0.0);
        for row in band.chunks_exact(width) {
            trace += row[0];
            square += row[0] * row[0] + 2.0 * row[1..].iter().map(|c| c * c).sum::<f64>();
        }
        if square > 0.0 { trace * trace / square } else { 0.0 }
    }
}

impl Window {
    /// q: how much the window says of a variance `sigma2` rather than of the bend.
    fn share(&self, sigma2: f64) -> f64 {
        let bent = BEND_WEIGHT * self.bent / self.dof;
        if bent > 0.0 { sigma2.powi(2) / (sigma2.powi(2) + bent.powi(2)) } else { 1.0 }
    }
}
