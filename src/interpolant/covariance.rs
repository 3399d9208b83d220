//! The covariance of what a smoothing spline is made of in a gap, in time linear in the number of gaps.
//!
//! ```text
//! S = B⁻¹, B = R + λP, P = QᵀW⁻¹Q                          g = (1 − λW⁻¹Q·S·Qᵀ)·I      γ = S·Qᵀ·I
//! noise:            ⟨γγ⟩ = T = S·P·S = −dS/dλ   ⟨γg⟩ = (S − λT)·QᵀW⁻¹   ⟨gg⟩ = W⁻¹ − W⁻¹Q·(2λS − λ²T)·QᵀW⁻¹
//! noise and bias:   ⟨γγ⟩ = (R⁻¹ − S)/λ          ⟨γg⟩ = S·QᵀW⁻¹          ⟨gg⟩ = W⁻¹ − W⁻¹Q·λS·QᵀW⁻¹
//! ```
//!
//! The second line multiplies the rows of the spline with those of the spline of least roughness, R in place of B. All that a
//! gap needs lies within three bands of S and T (M. F. Hutchinson, F. R. de Hoog, Numer. Math. 47 (1985) 99); the bands of T
//! come from the same recursions, differentiated by λ.

use super::banded::{Bands, Roughness};

/// What a variance counts with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Counted {
    Noise,
    NoiseAndBias,
}

/// Row i: the entries (i, i) to (i, i + 3) of a symmetric matrix.
type Wide = Vec<[f64; 4]>;

/// A number and its derivative by λ.
#[derive(Clone, Copy)]
struct Dual(f64, f64);

impl Dual {
    fn times(self, by: Self) -> Self {
        Self(self.0 * by.0, self.0 * by.1 + self.1 * by.0)
    }

    fn less(self, by: Self) -> Self {
        Self(self.0 - by.0, self.1 - by.1)
    }

    fn over(self, by: Self) -> Self {
        let ratio = self.0 / by.0;
        Self(ratio, (self.1 - ratio * by.1) / by.0)
    }
}

/// The bands of the inverse of R + λP and of its derivative by λ.
fn inverse(gram: &Bands, penalty: &Bands, lambda: f64) -> (Wide, Wide) {
    let entry = |(r, p): (&f64, &f64)| Dual(r + lambda * p, *p);
    let row = |(r, p): (&[f64; 3], &[f64; 3])| [0, 1, 2].map(|k| entry((&r[k], &p[k])));
    let mut rows: Vec<[Dual; 3]> = gram.iter().zip(penalty).map(row).collect();
    for i in 0..rows.len() {
        let [d, a, b] = rows[i];
        let (l, m) = (a.over(d), b.over(d));
        rows[i] = [d, l, m];
        if let Some(next) = rows.get_mut(i + 1) {
            next[0] = next[0].less(a.times(l));
            next[1] = next[1].less(a.times(m));
        }
        if let Some(next) = rows.get_mut(i + 2) {
            next[0] = next[0].less(b.times(m));
        }
    }
    let zero = Dual(0.0, 0.0);
    let mut s = vec![[zero; 4]; rows.len() + 2];
    for (i, &[d, l, m]) in rows.iter().enumerate().rev() {
        let (next, after) = (s[i + 1], s[i + 2]);
        let below = |a: Dual, b: Dual| zero.less(l.times(a)).less(m.times(b));
        let (near, far) = (below(next[0], next[1]), below(next[1], after[0]));
        let own = Dual(1.0, 0.0).over(d).less(l.times(near)).less(m.times(far));
        s[i] = [own, near, far, below(next[2], after[1])];
    }
    s.truncate(rows.len());
    let part = |of: fn(Dual) -> f64| s.iter().map(|row| row.map(of)).collect();
    (part(|x| x.0), part(|x| x.1))
}

/// What the covariances of all gaps are made of.
pub(super) struct Covariances<'a> {
    roughness: &'a Roughness,
    w: &'a [f64],
    /// S.
    inverse: Wide,
    /// ⟨γγ⟩.
    bends: Wide,
    lambda: f64,
    /// How often λS and λ²T count in ⟨gg⟩, the latter in ⟨γg⟩ by λT.
    counts: [f64; 2],
}

impl<'a> Covariances<'a> {
    pub fn new(
        roughness: &'a Roughness,
        penalty: &Bands,
        w: &'a [f64],
        lambda: f64,
        counted: Counted,
    ) -> Self {
        let gram = roughness.gram();
        let (s, derivative) = inverse(&gram, penalty, lambda);
        let of = |inverse, bends, counts| Self { roughness, w, inverse, bends, lambda, counts };
        // Without a penalty both are the same.
        if counted == Counted::Noise || lambda == 0.0 {
            return of(s, derivative.iter().map(|row| row.map(|x| -x)).collect(), [2.0, 1.0]);
        }
        let loose = inverse(&gram, penalty, 0.0).0;
        let rows = loose.iter().zip(&s).map(|(r, s)| std::array::from_fn(|k| (r[k] - s[k]) / lambda));
        let bends = rows.collect();
        of(s, bends, [1.0, 0.0])
    }

    /// Of (gₖ, gₖ₊₁, γₖ, γₖ₊₁), in units of 1/w.
    pub fn of_gap(&self, k: usize) -> [[f64; 4]; 4] {
        let [once, twice] = self.counts;
        // Of (S, T), T where it counts.
        let sum = |of: &dyn Fn(&Wide) -> f64, share: f64| {
            of(&self.inverse) - if twice > 0.0 { share * of(&self.bends) } else { 0.0 }
        };
        let gg = |p: usize, q: usize| {
            let both = |m: &Wide| -> f64 {
                let terms = self.touching(p).flat_map(|i| self.touching(q).map(move |j| (i, j)));
                terms.map(|(i, j)| self.q(p, i) * self.q(q, j) * at(m, Some(i), Some(j))).sum()
            };
            let own = if p == q { 1.0 / self.w[p] } else { 0.0 };
            own - once * self.lambda / (self.w[p] * self.w[q]) * sum(&both, twice * self.lambda / once)
        };
        let bend_g = |b: usize, p: usize| {
            let i = b.checked_sub(1);
            let one = |m: &Wide| -> f64 { self.touching(p).map(|j| self.q(p, j) * at(m, i, Some(j))).sum() };
            sum(&one, twice * self.lambda) / self.w[p]
        };
        let bends = |a: usize, b: usize| at(&self.bends, a.checked_sub(1), b.checked_sub(1));
        std::array::from_fn(|i| {
            std::array::from_fn(|j| match (i / 2, j / 2) {
                (0, 0) => gg(k + i, k + j),
                (1, 1) => bends(k + i - 2, k + j - 2),
                (0, _) => bend_g(k + j - 2, k + i),
                _ => bend_g(k + i - 2, k + j),
            })
        })
    }

    /// Columns of Q that are not 0 at a point.
    fn touching(&self, point: usize) -> std::ops::Range<usize> {
        point.saturating_sub(2)..(point + 1).min(self.inverse.len())
    }

    fn q(&self, point: usize, column: usize) -> f64 {
        self.roughness.column(column)[point - column]
    }
}

/// An entry of a symmetric matrix, 0 beyond its edge.
fn at(m: &Wide, i: Option<usize>, j: Option<usize>) -> f64 {
    let (Some(i), Some(j)) = (i, j) else { return 0.0 };
    let (low, high) = (i.min(j), i.max(j));
    if high < m.len() { m[low][high - low] } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::interpolant::{Penalty, Points, smoothing};

    /// Against the rows of the smooth, one solution of the equations each: Σ ℓ²/w and, with the rows of the spline without a
    /// penalty, Σ ℓ·m/w, at places of every gap, with uneven gaps and weights.
    #[test]
    fn variances_are_those_of_the_rows() {
        let v: Vec<f64> = (0..14).map(|k| 0.05 * f64::from(k) + 0.01 * f64::from(k * k % 3)).collect();
        let i: Vec<f64> = v.iter().map(|v| -(7.0 * v).exp()).collect();
        let sigma: Vec<f64> = (0..14).map(|k| 0.1 + 0.05 * f64::from(k % 4)).collect();
        for count in [2, 3, 4, 14] {
            let points = Points::with_noise(&v[..count], &i[..count], &sigma[..count]).unwrap();
            let loose = smoothing(&points, Penalty::Lambda(0.0)).unwrap();
            for lambda in [0.0, 1e-5, 1e-2, 1e2] {
                let smooth = smoothing(&points, Penalty::Lambda(lambda)).unwrap();
                let places: Vec<f64> = v[..count]
                    .windows(2)
                    .flat_map(|v| [0.0, 0.3, 0.9].map(|s| v[0] + s * (v[1] - v[0])))
                    .collect();
                let noise = smooth.variances(&places, Counted::Noise);
                let both = smooth.variances(&places, Counted::NoiseAndBias);
                for ((x, noise), both) in places.iter().zip(noise).zip(both) {
                    let (row, through) = (smooth.row(*x).unwrap(), loose.row(*x).unwrap());
                    let sum = |a: &[f64], b: &[f64]| -> f64 {
                        a.iter().zip(b).zip(points.weight()).map(|((a, b), w)| a * b / w).sum()
                    };
                    for (got, want) in [
                        (noise[0], sum(&row.current, &row.current)),
                        (noise[1], sum(&row.slope, &row.slope)),
                        (both[0], sum(&row.current, &through.current)),
                        (both[1], sum(&row.slope, &through.slope)),
                    ] {
                        assert!((got - want).abs() < 1e-8 * want.abs(), "{count} {lambda} {x}: {got} {want}");
                    }
                }
            }
        }
    }
}
