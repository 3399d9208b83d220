//! The penalised cubic smoothing spline, its degrees of freedom, and what every reading contributes to it.
//!
//! ```text
//! minimise Σ wₖ(Iₖ − s(Vₖ))² + λ·∫ ρ·(d²s/dV²)² dV
//! (R + λ·Qᵀ·W⁻¹·Q)·γ = Qᵀ·I       g = I − λ·W⁻¹·Q·γ        edf = tr A = 2 + tr((R + λ·QᵀW⁻¹Q)⁻¹·R)
//! s(V) = Σ ℓₖ(V)·Iₖ               u²(s) = Σ ℓₖ²·σₖ²
//! ```
//!
//! C. H. Reinsch, Numer. Math. 10 (1967) 177. A cubic spline with a knot at every distinct voltage; time and memory are
//! linear in their number. ρ is 1 where λ is given, and follows the bend of the curve (`bend`) where λ is chosen.

use super::adaptive_penalty::following;
use super::by_current;
use super::covariance::Counted;
use super::error::InterpolantError;
use super::penalised_system::System;
use super::piecewise::Piecewise;
use super::points::Points;
use super::smooth::{Row, Smooth};
use super::smoothing_parameter::Penalty;
use crate::quantity::estimate::{Estimate, Interval, Unit};

/// The smoothing spline of the points with the given choice of λ. With a λ that is given the weight ρ of the roughness is
/// 1; with one that is chosen it follows the bend of the curve ([`Smooth::roughness_weight`]): the λ of a smooth that was
/// chosen, given again, makes another smooth. What was written down with serde comes back the same.
///
/// # Errors
/// [`InterpolantError::Value`] for a penalty that is negative or not finite, [`InterpolantError::NoPenalty`],
/// [`InterpolantError::NotRepresentable`] where voltages lie too close together for a double.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Penalty, Points, smoothing};
/// let v: Vec<f64> = (0..25).map(|k| 0.025 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * (v / 0.036f64).exp_m1()).collect(); // invented
/// let smooth = smoothing(&Points::with_noise(&v, &i, &[1e-5; 25])?, Penalty::CrossValidation)?;
/// let best = smooth.curve().maximum_power()?;
/// assert!((best.v_pmax - 0.521).abs() < 0.002); // (1 + x)·exp(x) = 3e7 at x = V/0.036 V = 14.48
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn smoothing(points: &Points, penalty: Penalty) -> Result<Smooth, InterpolantError> {
    let system = match penalty {
        Penalty::Lambda(_) => System::new(points)?,
        _ => following(points)?,
    };
    let lambda = penalty.choose(&system, points)?;
    system.smooth(points, lambda)?.drawn()
}

/// The smoothing spline of a given λ, with 1/ρ of each gap: a smooth that was written down.
#[cfg(feature = "serde")]
pub(super) fn smoothing_with_inverse_rho(
    points: &Points,
    inverse_rho: Vec<f64>,
    lambda: f64,
) -> Result<Smooth, InterpolantError> {
    let system = System::with_inverse_rho(points, inverse_rho)?;
    let scaled = Penalty::Lambda(lambda).choose(&system, points)?;
    system.smooth(points, scaled)?.drawn()
}

/// A stiff smooth of points (V, I): a stand-in for the shape of a curve, not an estimate of it.
pub(crate) fn stiff(voltage_v: &[f64], current_a: &[f64]) -> Result<Piecewise, InterpolantError> {
    let points = Points::new(voltage_v, current_a)?;
    let system = System::new(&points)?;
    let lambda = super::smoothing_parameter::for_guide(&system, &points)?;
    Ok(system.smooth(&points, lambda)?.spline)
}

impl Smooth {
    /// With I(V), where the spline is one of V(I).
    fn drawn(mut self) -> Result<Self, InterpolantError> {
        let inverse = if self.points.of_current() { Some(by_current::curve(&self)?) } else { None };
        self.inverse = inverse;
        Ok(self)
    }

    /// The row ℓ of the smoother at one voltage: what each reading of the axis that was read contributes.
    ///
    /// # Errors
    /// [`InterpolantError::Outside`] the range.
    pub fn row(&self, voltage_v: f64) -> Result<Row, InterpolantError> {
        let at = self.curve().current(&[voltage_v], false)?.values[0];
        if self.inverse.is_some() { Ok(by_current::row(self, at)) } else { Ok(self.spline_row(voltage_v)) }
    }

    /// The current at each voltage as an estimate in A: ± from the stated noise, else from [`Smooth::scatter`] with
    /// [`Smooth::scatter_dof`] degrees of freedom; of a sweep also from what moves all its points together. What the penalty
    /// bends away (bias) is not in it; of a smooth of V(I) what the neighbours leave open between readings is.
    ///
    /// # Errors
    /// [`InterpolantError::Outside`] the range, a voltage that is not finite.
    pub fn current(&self, voltage_v: &[f64]) -> Result<Vec<Estimate>, InterpolantError> {
        let values = self.curve().current(voltage_v, false)?.values;
        let found = if self.inverse.is_some() {
            by_current::estimates(self, voltage_v, &values)?
        } else {
            self.estimates(voltage_v, &values, Counted::Noise, 0, Unit::Ampere)?
        };
        self.with_common(voltage_v, found, |row| &row.current)
    }

    /// The slope dI/dV at each voltage as an estimate in S, as [`Smooth::current`]. Of a smooth of V(I) the bias is in it,
    /// and where two readings lie far apart all slopes that a falling curve of one bend through their neighbours can have.
    ///
    /// # Errors
    /// As [`Smooth::current`].
    pub fn slope(&self, voltage_v: &[f64]) -> Result<Vec<Estimate>, InterpolantError> {
        let values = self.curve().slope(voltage_v, false)?.values;
        let found = if self.inverse.is_some() {
            by_current::slopes(self, voltage_v, &values)?
        } else {
            self.estimates(voltage_v, &values, Counted::Noise, 1, Unit::Siemens)?
        };
        self.with_common(voltage_v, found, |row| &row.slope)
    }

    /// The pointwise band: at each voltage an interval that holds the current with probability `level`.
    ///
    /// # Errors
    /// As [`Smooth::current`]; a `level` that is not between 0 and 1.
    pub fn band(&self, voltage_v: &[f64], level: f64) -> Result<Vec<Interval>, InterpolantError> {
        self.interval(voltage_v, level, Counted::Noise)
    }

    /// A wider band that counts with the bias: averaged over the curve, not place by place, it holds the curve with
    /// probability `level`.
    ///
    /// Equation: u² = Σ ℓₖ·mₖ·σₖ², m the row of the spline of least roughness through the points: the variance of the curve
    /// given the readings, were ∫ ρ·(d²s/dV²)² dV drawn as the penalty lets expect. Exact at the points; the spread of such a
    /// curve about its spline between them is left out. G. Wahba, J. R. Stat. Soc. B 45 (1983)
    /// 133; D. Nychka, J. Am. Stat. Assoc. 83 (1988) 1134. Of a smooth of V(I): the currents at which such a band of V
    /// holds the voltage, widened by what the neighbours leave open between readings and by the bias of each place, as a
    /// second smoothing shows it.
    ///
    /// # Errors
    /// As [`Smooth::band`].
    pub fn band_with_bias(&self, voltage_v: &[f64], level: f64) -> Result<Vec<Interval>, InterpolantError> {
        self.interval(voltage_v, level, Counted::NoiseAndBias)
    }

    fn interval(
        &self,
        voltage_v: &[f64],
        level: f64,
        counted: Counted,
    ) -> Result<Vec<Interval>, InterpolantError> {
        super::checks::level(level)?;
        let values = self.curve().current(voltage_v, false)?.values;
        if self.inverse.is_some() {
            let band = by_current::band(self, voltage_v, &values, level, counted)?;
            return self.widened(voltage_v, &values, band);
        }
        let estimates = self.estimates(voltage_v, &values, counted, 0, Unit::Ampere)?;
        let estimates = self.with_common(voltage_v, estimates, |row| &row.current)?;
        Ok(estimates.iter().map(|e| e.interval(level)).collect())
    }
}
