//! The equations of a penalised spline, in scaled numbers.

use super::banded::{Banded, Bands, Roughness, trace};
use super::checks::size;
use super::error::InterpolantError;
use super::points::Points;
use crate::numerics::cancel;

/// Points up to which every λ is resolved: ε·(2n/π)⁴ is 4e-5.
const RESOLVED_UP_TO: usize = 1000;
/// Share by which a known solution may be off for a λ to count as resolved; the degrees of freedom and χ² of a smooth as
/// stiff as that hardly hang on it.
const RESOLVED: f64 = 1e-2;

/// The equations in scaled numbers: V in `unit_v`, I in `unit_a`, w in `unit_w`.
#[derive(Clone, Debug)]
pub(super) struct System {
    pub roughness: Roughness,
    pub gram: Bands,
    pub penalty: Bands,
    pub y: Vec<f64>,
    pub w: Vec<f64>,
    pub unit_a: f64,
    pub unit_w: f64,
}

/// What a trial of a λ gives: `edf`, Σ w (I − s)² over the readings, that with λ·∫ ρ s″² beside, and ln det(R + λQᵀW⁻¹Q).
#[derive(Clone, Copy, Debug)]
pub(super) struct Trial {
    pub edf: f64,
    pub chi2: f64,
    pub penalised: f64,
    pub ln_determinant: f64,
}

impl System {
    pub fn new(points: &Points) -> Result<Self, InterpolantError> {
        Self::with(points, Roughness::new(points.places())?)
    }

    /// With 1/ρ of each gap.
    pub fn with_inverse_rho(points: &Points, inverse_rho: Vec<f64>) -> Result<Self, InterpolantError> {
        Self::with(points, Roughness::new(points.places())?.with_inverse_rho(inverse_rho))
    }

    pub fn with(points: &Points, roughness: Roughness) -> Result<Self, InterpolantError> {
        let (unit_a, unit_w) = (size(points.values()), size(points.weight()));
        let w: Vec<f64> = points.weight().iter().map(|w| w / unit_w).collect();
        let y = points.values().iter().map(|i| i / unit_a).collect();
        Ok(Self { gram: roughness.gram(), penalty: roughness.penalty(&w), roughness, y, w, unit_a, unit_w })
    }

    /// R + λ·Qᵀ·W⁻¹·Q.
    pub fn factor(&self, scaled: f64) -> Result<Banded, InterpolantError> {
        Banded::factor(&self.rows(scaled).collect())
    }

    fn rows(&self, scaled: f64) -> impl Iterator<Item = [f64; 3]> {
        let rows = self.gram.iter().zip(&self.penalty);
        rows.map(move |(r, p)| std::array::from_fn(|k| r[k] + scaled * p[k]))
    }

    /// Values at the points and γ at the inner ones.
    pub fn solve(&self, factor: &Banded, scaled: f64) -> (Vec<f64>, Vec<f64>) {
        let bend = factor.solve(self.roughness.bends(&self.y));
        let correction = self.roughness.spread(&bend);
        let g = self.y.iter().zip(&correction).zip(&self.w).map(|((y, q), w)| y - scaled * q / w).collect();
        (g, bend)
    }

    pub fn edf(&self, factor: &Banded) -> f64 {
        2.0 + trace(&factor.inverse(), &self.gram)
    }

    pub fn chi2(&self, g: &[f64], points: &Points) -> f64 {
        let between: f64 = self.y.iter().zip(g).zip(&self.w).map(|((y, g), w)| w * (y - g) * (y - g)).sum();
        self.in_units(between) + points.within()
    }

    /// Of a sum of squares in scaled numbers.
    pub fn in_units(&self, squares: f64) -> f64 {
        squares * self.unit_w * self.unit_a * self.unit_a
    }

    /// Degrees of freedom of a λ; `None` of one that is too stiff for a double.
    pub fn degrees(&self, scaled: f64) -> Option<f64> {
        let factor = self.factor(scaled).ok()?;
        self.is_resolved(&factor, scaled).then(|| self.edf(&factor))
    }

    /// Whether a solution has digits: all 1 must come back from R + λ·Qᵀ·W⁻¹·Q times it. Where λ counts most the condition
    /// grows as (2n/π)⁴, which up to [`RESOLVED_UP_TO`] points leaves four digits and more at equal distances.
    fn is_resolved(&self, factor: &Banded, scaled: f64) -> bool {
        if self.y.len() <= RESOLVED_UP_TO {
            return true;
        }
        let rows: Vec<[f64; 3]> = self.rows(scaled).collect();
        let before = |i: usize, shift: usize| i.checked_sub(shift).map_or(0.0, |k| rows[k][shift]);
        let sum = |i: usize| rows[i].iter().sum::<f64>() + before(i, 1) + before(i, 2);
        let ones = factor.solve((0..rows.len()).map(sum).collect());
        ones.iter().all(|x| (x - 1.0).abs() <= RESOLVED)
    }

    pub fn trial(&self, scaled: f64, points: &Points) -> Result<Trial, InterpolantError> {
        if cancel::requested_now() {
            return Err(InterpolantError::Stopped);
        }
        let factor = self.factor(scaled)?;
        let (g, bend) = self.solve(&factor, scaled);
        // Σ w·I·(I − s) = λ·(Qᵀ·I)·γ.
        let roughness: f64 =
            self.roughness.bends(&self.y).iter().zip(&bend).map(|(b, m)| scaled * b * m).sum();
        Ok(Trial {
            edf: self.edf(&factor),
            chi2: self.chi2(&g, points),
            penalised: self.in_units(roughness) + points.within(),
            ln_determinant: factor.ln_determinant(),
        })
    }

    /// Scaled λ at which penalty and ∫ s″² are of one size.
    pub fn middle(&self) -> f64 {
        let sum = |bands: &Bands| bands.iter().map(|b| b[0]).sum::<f64>();
        if self.gram.is_empty() { 1.0 } else { sum(&self.gram) / sum(&self.penalty) }
    }

    /// λ in V³ times the unit of the weights, of a scaled one.
    pub fn lambda(&self, scaled: f64) -> f64 {
        scaled * self.unit_w * self.roughness.unit_v.powi(3)
    }

    pub fn scaled(&self, lambda: f64) -> f64 {
        lambda / self.unit_w / self.roughness.unit_v.powi(3)
    }
}
