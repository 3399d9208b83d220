//! A smooth: the spline, what its readings contribute to it, and its scatter.

use super::banded::Banded;
use super::covariance::{Counted, Covariances};
use super::error::InterpolantError;
use super::penalised_system::System;
use super::piecewise::Piecewise;
use super::points::Points;
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::reason::Reason;

/// Residual degrees of freedom below which the scatter is not estimated.
const LEAST_DOF: f64 = 0.5;

/// What the choice of λ and ρ from the same readings takes of the residual degrees of freedom, as a share of edf/N. With 0
/// the band with bias of 25 points without a stated noise held in 93 to 96 %, with 0.4 in 95 to 97 % (`tests/interpolant/smooth.rs`,
/// devices of even number).
const CHOSEN: f64 = 0.4;

/// A source: by how much its standard uncertainty moves each point of the smooth, in the unit of what was read.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Moved {
    pub by: Vec<f64>,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub dof: f64,
}

/// A smooth of a sweep, with its uncertainty.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Penalty, Points, smoothing};
/// let v: Vec<f64> = (0..9).map(|k| 0.1 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| 0.03 - 0.01 * v).collect(); // a line costs no roughness
/// let smooth = smoothing(&Points::with_noise(&v, &i, &[1e-4; 9])?, Penalty::Lambda(1e12))?;
/// assert!((smooth.curve().current(&[0.45], false)?.values[0] - 0.0255).abs() < 1e-12);
/// assert!((smooth.edf() - 2.0).abs() < 1e-3);
/// let middle = &smooth.current(&[0.4])?[0]; // the mean of nine readings is there
/// assert!((middle.u.unwrap() - 1e-4 / 3.0).abs() < 1e-7);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Smooth {
    /// The value read as a function of the place set.
    pub(super) spline: Piecewise,
    /// I(V) of a smooth of V(I).
    pub(super) inverse: Option<Piecewise>,
    pub(super) points: Points,
    system: System,
    factor: Banded,
    /// λ of the scaled equations.
    scaled: f64,
    edf: f64,
    chi2: f64,
    /// What moves all readings together.
    pub(super) common: Vec<Moved>,
}

impl PartialEq for Smooth {
    fn eq(&self, other: &Self) -> bool {
        self.points() == other.points()
            && self.lambda() == other.lambda()
            && self.inverse_rho() == other.inverse_rho()
            && self.common == other.common
    }
}

/// What each reading contributes to current and slope at a place.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Row {
    /// ∂s/∂Iₖ for each distinct voltage; of a smooth of V(I) ∂s/∂Vₖ in S for each distinct current.
    pub current: Vec<f64>,
    /// ∂(ds/dV)/∂Iₖ in 1/V; of a smooth of V(I) ∂(ds/dV)/∂Vₖ in S/V.
    pub slope: Vec<f64>,
}

impl System {
    /// The spline of a scaled λ.
    pub fn smooth(self, points: &Points, scaled: f64) -> Result<Smooth, InterpolantError> {
        let factor = self.factor(scaled)?;
        let (g, bend) = self.solve(&factor, scaled);
        let spline = self.roughness.curve(points.places(), &g, &bend, self.unit_a)?;
        let (edf, chi2, lambda) = (self.edf(&factor), self.chi2(&g, points), self.lambda(scaled));
        let found = [edf, chi2, lambda];
        if found.iter().any(|x| !x.is_finite()) {
            return Err(InterpolantError::NotRepresentable { what: "misfit of the smooth", index: 0 });
        }
        let (points, inverse) = (points.clone(), None);
        Ok(Smooth { spline, inverse, points, system: self, factor, scaled, edf, chi2, common: Vec::new() })
    }
}

fn quadratic(covariance: &[[f64; 4]; 4], x: &[f64; 4]) -> f64 {
    (0..4).map(|i| x[i] * (0..4).map(|j| covariance[i][j] * x[j]).sum::<f64>()).sum()
}

impl Smooth {
    /// The curve I(V).
    pub fn curve(&self) -> &Piecewise {
        self.inverse.as_ref().unwrap_or(&self.spline)
    }

    /// The points smoothed.
    pub fn points(&self) -> &Points {
        &self.points
    }

    /// λ in V³/A² where the noise is stated, else in V³; of a smooth of V(I) in A³/V² or A³. Given to
    /// [`Penalty::Lambda`](super::Penalty::Lambda) it makes the same smooth only where ρ is 1 ([`Smooth::roughness_weight`]).
    pub fn lambda(&self) -> f64 {
        self.system.lambda(self.scaled)
    }

    /// ρ, the weight of the roughness, of each gap between two points: 1 where λ was given, else small where the curve
    /// bends; its geometric mean over the places set is 1.
    pub fn roughness_weight(&self) -> Vec<f64> {
        self.inverse_rho().iter().map(|e| 1.0 / e).collect()
    }

    pub(super) fn inverse_rho(&self) -> &[f64] {
        self.system.roughness.inverse_rho()
    }

    /// Effective degrees of freedom, the trace of the smoother matrix: 2 for a line, the number of points for an
    /// interpolant.
    pub fn edf(&self) -> f64 {
        self.edf
    }

    /// Number of readings less [`Smooth::edf`].
    pub fn residual_dof(&self) -> f64 {
        self.points.readings() as f64 - self.edf
    }

    /// Σ w (I − s)² over the readings: χ² where the noise is stated, else in A² (of a smooth of V(I) in V²).
    pub fn chi2(&self) -> f64 {
        self.chi2
    }

    /// Degrees of freedom of [`Smooth::scatter`]: N − edf where λ was given, (N − edf)·(1 − 0.4·edf/N) where λ and ρ were
    /// chosen from the same readings.
    pub fn scatter_dof(&self) -> f64 {
        let chosen = self.inverse_rho().iter().any(|e| *e != 1.0);
        let taken = if chosen { CHOSEN * self.edf / self.points.readings() as f64 } else { 0.0 };
        self.residual_dof() * (1.0 - taken)
    }

    /// Standard deviation of one reading of weight 1, in A (of a smooth of V(I) in V), found from the residuals: the root of χ² over
    /// [`Smooth::scatter_dof`], to be compared with 1 where the noise is stated. `None` where next to no degrees of freedom
    /// are left.
    pub fn scatter(&self) -> Option<f64> {
        let dof = self.scatter_dof();
        (dof > LEAST_DOF).then(|| (self.chi2 / dof).sqrt())
    }

    /// By how much smoothing the smooth again would move it at each point, in the unit of the values: an estimate of what
    /// the penalty bends away (twicing: J. W. Tukey, Exploratory Data Analysis, 1977; from memory).
    pub(super) fn bent_away(&self) -> Vec<f64> {
        let (system, unit) = (&self.system, self.system.unit_a);
        let (x, spline) = (self.points.places(), &self.spline);
        let g: Vec<f64> = x.iter().map(|x| spline.jet(*x)[0] / unit).collect();
        let pull = system.roughness.spread(&self.factor.solve(system.roughness.bends(&g)));
        pull.iter().zip(&system.w).map(|(q, w)| self.scaled * q / w * unit).collect()
    }

    /// What each reading contributes to the spline and its slope at a place.
    pub(super) fn spline_row(&self, place: f64) -> Row {
        let (k, s) = self.spline.locate(place);
        let (value, slope) = self.system.roughness.shares(k, s);
        let width = self.spline.width(k);
        let slope = self.pulled(k, slope).iter().map(|l| l / width).collect();
        Row { current: self.pulled(k, value), slope }
    }

    /// The variance of the spline and of its slope at places, for a reading of weight 1 and variance 1.
    pub(super) fn variances(&self, places: &[f64], counted: Counted) -> Vec<[f64; 2]> {
        let System { roughness, penalty, w, unit_w, .. } = &self.system;
        let all = Covariances::new(roughness, penalty, w, self.scaled, counted);
        let one = |place: &f64| {
            let (k, s) = self.spline.locate(*place);
            let covariance = all.of_gap(k);
            let (value, slope) = roughness.shares(k, s);
            let width = self.spline.width(k);
            [quadratic(&covariance, &value), quadratic(&covariance, &slope) / (width * width)]
                .map(|x| x / unit_w)
        };
        places.iter().map(one).collect()
    }

    /// e·g + f·γ as a combination of the readings: e + Q·B⁻¹·(f − λ·QᵀW⁻¹·e).
    pub(super) fn pulled(&self, k: usize, shares: [f64; 4]) -> Vec<f64> {
        let (system, scaled) = (&self.system, self.scaled);
        let mut direct = vec![0.0; self.points.len()];
        (direct[k], direct[k + 1]) = (shares[0], shares[1]);
        let eased: Vec<f64> = direct.iter().zip(&system.w).map(|(e, w)| e / w).collect();
        let mut inner: Vec<f64> = system.roughness.bends(&eased).iter().map(|q| -scaled * q).collect();
        for (at, share) in [(k, shares[2]), (k + 1, shares[3])] {
            if let Some(f) = at.checked_sub(1).and_then(|at| inner.get_mut(at)) {
                *f += share;
            }
        }
        let spread = system.roughness.spread(&self.factor.solve(inner));
        direct.iter().zip(&spread).map(|(e, q)| e + q).collect()
    }

    /// Values at places with the uncertainty of the spline (`which` 0) or of its slope (1).
    pub(super) fn estimates(
        &self,
        places: &[f64],
        values: &[f64],
        counted: Counted,
        which: usize,
        unit: Unit,
    ) -> Result<Vec<Estimate>, InterpolantError> {
        let variances = self.variances(places, counted);
        let one = |(value, variance): (&f64, &[f64; 2])| {
            self.scattering(*value, variance[which].max(0.0).sqrt(), unit)
        };
        Ok(values.iter().zip(&variances).map(one).collect())
    }

    /// An estimate whose u is `spread` times the scatter of a reading of weight 1.
    pub(super) fn scattering(&self, value: f64, spread: f64, unit: Unit) -> Estimate {
        if self.points.noise_stated() {
            return Estimate::new(value, spread, unit);
        }
        match self.scatter() {
            Some(scatter) => Estimate::new(value, scatter * spread, unit).with_dof(self.scatter_dof()),
            None => Estimate::without_u(value, unit, Reason::NoDegreesOfFreedom),
        }
    }
}
