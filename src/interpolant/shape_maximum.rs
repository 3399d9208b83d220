//! The maximum power of the falling, concave curve, with the spread and the bias that its noise gives it.
//!
//! ```text
//! P* = maximum of the shape fitted to: fitted shape + fresh noise        u² = Σ (P* − mean P*)²/(draws − 1) + (mean P* − P)²
//! ```
//!
//! Which of the inequalities hold as equations depends on the readings, so that no linear formula gives the spread: it is
//! drawn. The bias is counted in u and not taken off, which would cost more spread than it is worth. B. Efron, R. J. Tibshirani, An Introduction to the Bootstrap (1993), chapters 6 and 10. The seed is fixed.

use super::error::InterpolantError;
use super::piecewise::Maximum;
use super::shape_constrained::{Shape, ShapeBasis};
use crate::numerics::cancel;
use crate::quantity::estimate::{Estimate, Unit};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// Fits to simulated readings: u is known to 9 %.
const DRAWS: usize = 60;
const SEED: u64 = 0x70b;

impl Shape {
    /// The point of maximum power within the range, and Pmax in W. Takes 60 fits.
    ///
    /// # Errors
    /// [`InterpolantError::NoScatter`] for readings too few to tell noise from curve, numbers beyond a double.
    pub fn maximum_power(&self) -> Result<(Maximum, Estimate), InterpolantError> {
        let top = self.curve().maximum_power()?;
        let (sigma, basis) = (self.noise()?, ShapeBasis::new(&self.points)?);
        let mut random = ChaCha8Rng::seed_from_u64(SEED);
        let mut drawn = Vec::with_capacity(DRAWS);
        for _ in 0..DRAWS {
            if cancel::requested_now() {
                return Err(InterpolantError::Stopped);
            }
            let fit = basis.fit(self.drawn(sigma, &mut random).current_a());
            drawn.push(basis.curve(&fit)?.maximum_power()?.pmax_w);
        }
        let mean = drawn.iter().sum::<f64>() / DRAWS as f64;
        let variance = drawn.iter().map(|p| (p - mean).powi(2)).sum::<f64>() / (DRAWS - 1) as f64;
        let u = variance.sqrt().hypot(mean - top.pmax_w);
        let dof = if self.points.noise_stated() {
            f64::INFINITY
        } else {
            self.points.readings() as f64 - self.edf()
        };
        Ok((top, Estimate::new(top.pmax_w, u, Unit::Watt).with_dof(dof)))
    }
}
