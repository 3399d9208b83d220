//! Variance from the residuals of local polynomials in overlapping windows.
//!
//! ```text
//! σ̂² = Σⱼ qⱼ rⱼ² / tr C,   C = Σⱼ qⱼ Rⱼ,   ν = (tr C)²/tr(C²)
//! ```
//!
//! rⱼ² = yᵀRⱼy is the residual sum of squares in window j. As windows overlap, the degrees of freedom are
//! those of the quadratic form (Satterthwaite, Biometrics Bull. 2 (1946) 110–114) and not the sum over
//! windows. qⱼ falls from 1 to 0 where a window is too wide for the bend of the curve.

use crate::numerics::local_polynomial::simd::{
    Abreast, Columns, LANES, Lane, MOST, Triangle, Windows as Several, pair,
};
use std::array::from_fn;

/// The misfit of the bend counts this much against a window.
const BEND_WEIGHT: f64 = 5.0;

/// Points in a window and the degree of its polynomial.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Successive points, no more than [`MOST`].
    pub points: usize,
    /// Degree, below `points` − 1.
    pub degree: usize,
}

/// All windows of successive points.
pub struct Windows {
    size: Size,
    count: usize,
    blocks: Vec<Block>,
}

/// Windows that begin at successive points; one without a fit has zeros.
struct Block {
    first: usize,
    dof: Lane,
    misfit: Lane,
    bent: Lane,
    /// R.
    residuals: Triangle,
}

impl Windows {
    /// Windows over points of rising `x`; `bend` is the non-polynomial part that is expected of y.
    pub fn new(x: &[f64], y: &[f64], bend: &[f64], size: Size) -> Self {
        let columns = Columns { x, y, other: bend };
        let windows = (x.len() + 1).saturating_sub(size.points);
        let mut abreast = Abreast::default();
        let block = |first: usize| {
            let span = |l: usize| if first + l < windows { first + l..first + l + size.points } else { 0..0 };
            abreast.even(columns, &Several::new(&from_fn::<_, LANES, _>(span)), size.degree);
            Block::of(&abreast, first, size)
        };
        Self { size, count: x.len(), blocks: (0..windows).step_by(LANES).map(block).collect() }
    }

    /// σ̂² of an even scatter and ν.
    pub fn variance(&self) -> (f64, f64) {
        let dof = || self.blocks.iter().map(|b| b.dof);
        let mut share = vec![[1.0; LANES]; self.blocks.len()];
        for _ in 0..3 {
            let sigma2 = self.ratio(&share, dof());
            share = self.blocks.iter().map(|b| b.share([sigma2; LANES])).collect();
        }
        (self.ratio(&share, dof()), self.satterthwaite(&share))
    }

    /// The ratio of the variance found to that expected of the standard deviations `sigma`, and ν.
    pub fn against(&self, sigma: &[f64]) -> (f64, f64) {
        let points = self.size.points;
        let own = |b: &Block, l: usize| {
            let of = |(k, s): (usize, &f64)| b.residuals[pair(points, k, k)][l] * s * s;
            sigma.iter().skip(b.first + l).take(points).enumerate().map(of).sum::<f64>()
        };
        let expected: Vec<Lane> = self.blocks.iter().map(|b| from_fn(|l| own(b, l))).collect();
        let shares = self.blocks.iter().zip(&expected).map(|(b, e)| b.share(from_fn(|l| e[l] / b.dof[l])));
        let share: Vec<Lane> = shares.collect();
        (self.ratio(&share, expected.iter().copied()), self.satterthwaite(&share))
    }

    /// Σ q·misfit / Σ q·expected.
    fn ratio(&self, share: &[Lane], expected: impl Iterator<Item = Lane>) -> f64 {
        let (mut top, mut below) = ([0.0; LANES], [0.0; LANES]);
        for ((b, q), expected) in self.blocks.iter().zip(share).zip(expected) {
            top = from_fn(|l| top[l] + q[l] * b.misfit[l]);
            below = from_fn(|l| below[l] + q[l] * expected[l]);
        }
        top.iter().sum::<f64>() / below.iter().sum::<f64>()
    }

    /// (tr C)²/tr(C²) with C = Σ qⱼRⱼ, which is banded: it is kept by its diagonals.
    fn satterthwaite(&self, share: &[Lane]) -> f64 {
        let width = self.size.points;
        // The lanes beyond the last window reach as far again.
        let long = self.count + LANES;
        let mut diagonals = vec![0.0; MOST * long];
        for (b, q) in self.blocks.iter().zip(share) {
            let mut entries = b.residuals.iter();
            for row in 0..width {
                for (off, entry) in (0..width - row).zip(&mut entries) {
                    let sums = &mut diagonals[off * long + b.first + row..][..LANES];
                    sums.iter_mut().zip(entry).zip(q).for_each(|((sum, r), q)| *sum += q * r);
                }
            }
        }
        let (main, others) = diagonals.split_at(long);
        let trace: f64 = main.iter().sum();
        let square = |c: &[f64]| c.iter().map(|c| c * c).sum::<f64>();
        let square = square(main) + 2.0 * square(others);
        if square > 0.0 { trace * trace / square } else { 0.0 }
    }
}

impl Block {
    fn of(fit: &Abreast, first: usize, size: Size) -> Self {
        let degree: [Option<usize>; LANES] = from_fn(|l| fit.degree(l));
        let of = |value: &dyn Fn(usize, usize) -> f64| from_fn(|l| degree[l].map_or(0.0, |d| value(l, d)));
        let mut residuals = fit.residuals();
        for l in (0..LANES).filter(|&l| degree[l].is_none()) {
            residuals.iter_mut().for_each(|entry| entry[l] = 0.0);
        }
        Self {
            first,
            dof: of(&|_, degree| (size.points - 1 - degree) as f64),
            misfit: of(&|l, degree| fit.rung(degree).misfit[l]),
            bent: of(&|l, degree| fit.rung(degree).other_misfit[l]),
            residuals,
        }
    }

    /// q: how much each window says of a variance `sigma2` rather than of the bend.
    fn share(&self, sigma2: Lane) -> Lane {
        from_fn(|l| {
            let bent = BEND_WEIGHT * self.bent[l] / self.dof[l];
            if bent > 0.0 { sigma2[l].powi(2) / (sigma2[l].powi(2) + bent.powi(2)) } else { 1.0 }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    /// Of independent normal errors about a cubic: σ̂²/σ² has the mean 1 and the variance 2/ν, whether σ is even and sought, or
    /// uneven and given but for its size.
    #[test]
    fn the_variance_of_normal_errors_is_found_with_its_degrees_of_freedom() {
        const RUNS: usize = 2000;
        let size = Size { points: 7, degree: 4 };
        let x: Vec<f64> = (0..31).map(|k| f64::from(k) + 0.3 * f64::from(k * 7 % 5)).collect();
        let uneven: Vec<f64> = x.iter().map(|x| 0.2 + 0.01 * x).collect();
        let mut random = ChaCha8Rng::seed_from_u64(72);
        let mut found: [Vec<(f64, f64)>; 2] = [Vec::new(), Vec::new()];
        for _ in 0..RUNS {
            let z: Vec<f64> = x.iter().map(|_| StandardNormal.sample(&mut random)).collect();
            let y = |sigma: &dyn Fn(usize) -> f64| -> Vec<f64> {
                (0..x.len()).map(|k| 1e-4 * x[k].powi(3) - 0.02 * x[k] + sigma(k) * z[k]).collect()
            };
            let bend = vec![0.0; x.len()];
            let (variance, dof) = Windows::new(&x, &y(&|_| 0.3), &bend, size).variance();
            found[0].push((variance / 0.09, dof));
            // Twice the spread that is given: four times the variance.
            let (ratio, dof) = Windows::new(&x, &y(&|k| 2.0 * uneven[k]), &bend, size).against(&uneven);
            found[1].push((ratio / 4.0, dof));
        }
        for found in found {
            let of = |f: &dyn Fn(&(f64, f64)) -> f64| found.iter().map(f).sum::<f64>() / RUNS as f64;
            let (mean, dof) = (of(&|x| x.0), of(&|x| x.1));
            let variance = of(&|x| (x.0 - mean).powi(2));
            println!("mean {mean:.3}, variance {variance:.4}, 2/ν {:.4}", 2.0 / dof);
            // Standard deviations of the mean of so many runs: 0.01; of their variance 4 %.
            assert!((mean - 1.0).abs() < 0.04);
            assert!((variance * dof / 2.0 - 1.0).abs() < 0.2, "{variance} {dof}");
        }
    }
}
