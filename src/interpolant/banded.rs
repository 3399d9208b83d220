//! Symmetric matrices with two bands beside the diagonal, and those of them that a cubic spline is made of.
//!
//! ```text
//! B = L·D·Lᵀ        S = B⁻¹ within the bands, from the last row up:
//! Sᵢ,ᵢ₊₂ = −l₁Sᵢ₊₁,ᵢ₊₂ − l₂Sᵢ₊₂,ᵢ₊₂    Sᵢ,ᵢ₊₁ = −l₁Sᵢ₊₁,ᵢ₊₁ − l₂Sᵢ₊₁,ᵢ₊₂    Sᵢᵢ = 1/dᵢ − l₁Sᵢ,ᵢ₊₁ − l₂Sᵢ,ᵢ₊₂
//! R·γ = Qᵀ·g        g: values at the points, γ = ρ·s″ at the inner ones: straight over each gap, continuous
//! R: ∫ ρ·s″² = ∫ (ρ·s″)²/ρ = γᵀ·R·γ      its gaps hₖ weighted by 1/ρₖ
//! ```
//!
//! ρ, the weight of the roughness, is constant over each gap; where it is 1 everywhere s is a natural cubic spline.
//! C. H. Reinsch, Numer. Math. 10 (1967) 177; the bands of the inverse: M. F. Hutchinson, F. R. de Hoog, Numer. Math.
//! 47 (1985) 99. Lengths are scaled by a power of two near the range of the voltages.

use super::checks::size;
use super::error::InterpolantError;
use super::piecewise::Piecewise;

/// Row i: the entries (i, i), (i, i + 1), (i, i + 2) of a symmetric matrix; those beyond its edge are 0.
pub(super) type Bands = Vec<[f64; 3]>;

/// L·D·Lᵀ of a positive definite banded matrix: in row i dᵢ, Lᵢ₊₁,ᵢ and Lᵢ₊₂,ᵢ.
#[derive(Clone, Debug)]
pub(super) struct Banded(Bands);

impl Banded {
    pub fn factor(bands: &Bands) -> Result<Self, InterpolantError> {
        let mut rows: Bands = bands.clone();
        for i in 0..rows.len() {
            let [d, a, b] = rows[i];
            if !(d > 0.0 && d.is_finite() && a.is_finite() && b.is_finite()) {
                return Err(InterpolantError::NotRepresentable {
                    what: "curvature of the spline",
                    index: i + 1,
                });
            }
            rows[i] = [d, a / d, b / d];
            if let Some(next) = rows.get_mut(i + 1) {
                next[0] -= a * (a / d);
                next[1] -= a * (b / d);
            }
            if let Some(next) = rows.get_mut(i + 2) {
                next[0] -= b * (b / d);
            }
        }
        Ok(Self(rows))
    }

    /// ln of the determinant.
    pub fn ln_determinant(&self) -> f64 {
        self.0.iter().map(|row| row[0].ln()).sum()
    }

    pub fn solve(&self, mut x: Vec<f64>) -> Vec<f64> {
        let n = self.0.len();
        for i in 0..n {
            let [_, a, b] = self.0[i];
            let here = x[i];
            if i + 1 < n {
                x[i + 1] -= a * here;
            }
            if i + 2 < n {
                x[i + 2] -= b * here;
            }
        }
        for i in (0..n).rev() {
            let [d, a, b] = self.0[i];
            let after = |k: usize| x.get(k).copied().unwrap_or(0.0);
            x[i] = x[i] / d - a * after(i + 1) - b * after(i + 2);
        }
        x
    }

    /// The bands of the inverse.
    pub fn inverse(&self) -> Bands {
        let mut s: Bands = vec![[0.0; 3]; self.0.len() + 2];
        for (i, &[d, a, b]) in self.0.iter().enumerate().rev() {
            let (next, after) = (s[i + 1], s[i + 2]);
            let far = -a * next[1] - b * after[0];
            let near = -a * next[0] - b * next[1];
            s[i] = [1.0 / d - a * near - b * far, near, far];
        }
        s.truncate(self.0.len());
        s
    }
}

/// Σ of the products of all entries of two symmetric banded matrices: the trace of their product.
pub(super) fn trace(a: &Bands, b: &Bands) -> f64 {
    a.iter().zip(b).map(|(a, b)| a[0] * b[0] + 2.0 * (a[1] * b[1] + a[2] * b[2])).sum()
}

/// The matrices R and Q of a spline of least roughness on given voltages.
#[derive(Clone, Debug)]
pub(super) struct Roughness {
    /// Gaps, in units of `unit_v`.
    h: Vec<f64>,
    /// 1/ρ of each gap.
    inverse_rho: Vec<f64>,
    /// A power of two near the range, in V.
    pub unit_v: f64,
}

impl Roughness {
    pub fn new(voltage_v: &[f64]) -> Result<Self, InterpolantError> {
        let gaps: Vec<f64> = voltage_v.windows(2).map(|v| v[1] - v[0]).collect();
        let span = voltage_v[voltage_v.len() - 1] - voltage_v[0];
        if !span.is_finite() {
            return Err(InterpolantError::NotRepresentable { what: "range of the voltages", index: 0 });
        }
        let unit_v = size(&[span]);
        let inverse_rho = vec![1.0; gaps.len()];
        Ok(Self { h: gaps.iter().map(|h| h / unit_v).collect(), inverse_rho, unit_v })
    }

    /// The same with 1/ρ of each gap.
    pub fn with_inverse_rho(self, inverse_rho: Vec<f64>) -> Self {
        Self { inverse_rho, ..self }
    }

    /// 1/ρ of each gap.
    pub fn inverse_rho(&self) -> &[f64] {
        &self.inverse_rho
    }

    /// R.
    pub fn gram(&self) -> Bands {
        let inner = self.h.len() - 1;
        let weighted = |k: usize| self.h[k] * self.inverse_rho[k];
        let row = |j: usize| {
            let beside = if j + 1 < inner { weighted(j + 1) / 6.0 } else { 0.0 };
            [(weighted(j) + weighted(j + 1)) / 3.0, beside, 0.0]
        };
        (0..inner).map(row).collect()
    }

    /// Column j of Q: its entries at points j, j + 1, j + 2.
    pub fn column(&self, j: usize) -> [f64; 3] {
        let (a, b) = (1.0 / self.h[j], 1.0 / self.h[j + 1]);
        [a, -a - b, b]
    }

    /// Qᵀ·y, by differences of secants so that a line gives 0.
    pub fn bends(&self, y: &[f64]) -> Vec<f64> {
        let m: Vec<f64> = y.windows(2).zip(&self.h).map(|(y, h)| (y[1] - y[0]) / h).collect();
        m.windows(2).map(|m| m[1] - m[0]).collect()
    }

    /// Q·x.
    pub fn spread(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.h.len() + 1];
        for (j, x) in x.iter().enumerate() {
            self.column(j).iter().enumerate().for_each(|(k, q)| out[j + k] += q * x);
        }
        out
    }

    /// Qᵀ·W⁻¹·Q for weights w.
    pub fn penalty(&self, w: &[f64]) -> Bands {
        let inner = self.h.len() - 1;
        let columns: Vec<[f64; 3]> = (0..inner).map(|j| self.column(j)).collect();
        let product = |j: usize, shift: usize| {
            let other = columns.get(j + shift)?;
            Some((shift..3).map(|k| columns[j][k] * other[k - shift] / w[j + k]).sum::<f64>())
        };
        (0..inner).map(|j| [0, 1, 2].map(|shift| product(j, shift).unwrap_or(0.0))).collect()
    }

    /// Weights of (gₖ, gₖ₊₁, γₖ, γₖ₊₁) in the spline at s of piece k, with γ at all points, and in its d/ds.
    pub fn shares(&self, k: usize, s: f64) -> ([f64; 4], [f64; 4]) {
        let (h2, t) = (self.h[k] * self.h[k] * self.inverse_rho[k] / 6.0, 1.0 - s);
        let value = [t, s, -h2 * s * t * (1.0 + t), -h2 * s * t * (1.0 + s)];
        let slope = [-1.0, 1.0, h2 * (1.0 - 3.0 * t * t), h2 * (3.0 * s * s - 1.0)];
        (value, slope)
    }

    /// The spline with values `g` (in units of `scale_a`) and inner γ `bend`.
    pub fn curve(
        &self,
        voltage_v: &[f64],
        g: &[f64],
        bend: &[f64],
        scale_a: f64,
    ) -> Result<Piecewise, InterpolantError> {
        let at = |k: usize| k.checked_sub(1).and_then(|k| bend.get(k)).copied().unwrap_or(0.0);
        let piece = |k: usize| {
            let (h2, left, right) = (self.h[k] * self.h[k] * self.inverse_rho[k], at(k), at(k + 1));
            let first = g[k + 1] - g[k] - h2 * (2.0 * left + right) / 6.0;
            [g[k], first, h2 * left / 2.0, h2 * (right - left) / 6.0].map(|c| c * scale_a)
        };
        Piecewise::new(voltage_v.to_vec(), (0..self.h.len()).map(piece).collect())
    }
}
