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
use super::banded::{Banded, Bands, Roughness, trace};
use super::by_current;
use super::covariance::{Counted, Covariances};
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use super::points::{Points, size};
use super::smoothing_parameter::Penalty;
use crate::numerics::cancel;
use crate::quantity::estimate::{Estimate, Interval, Unit};

/// Residual degrees of freedom below which the scatter is not estimated.
const LEAST_DOF: f64 = 0.5;

/// What the choice of λ and ρ from the same readings takes of the residual degrees of freedom, as a share of edf/N. With 0
/// the band with bias of 25 points without a stated noise held in 93 to 96 %, with 0.4 in 95 to 97 % (`tests/smooth.rs`,
/// devices of even number).
const CHOSEN: f64 = 0.4;

/// A smooth of a sweep, with its uncertainty.
#[derive(Clone, Debug)]
pub struct Smooth {
    /// The value read as a function of the place set.
    pub(super) spline: Piecewise,
    /// I(V) of a smooth of V(I).
    inverse: Option<Piecewise>,
    pub(super) points: Points,
    system: System,
    factor: Banded,
    /// λ of the scaled equations.
    scaled: f64,
    edf: f64,
    chi2: f64,
}

impl PartialEq for Smooth {
    fn eq(&self, other: &Self) -> bool {
        self.points() == other.points() && self.lambda() == other.lambda() && self.ease() == other.ease()
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

/// The smoothing spline of the points with the given choice of λ. With a λ that is given the weight ρ of the roughness is
/// 1; with one that is chosen it follows the bend of the curve ([`Smooth::roughness_weight`]).
///
/// # Errors
/// [`InterpolantError::Value`] for a penalty that is negative or not finite, [`InterpolantError::NoPenalty`],
/// [`InterpolantError::NotRepresentable`] where voltages lie too close together for a double.
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
pub(super) fn smoothing_easing(
    points: &Points,
    ease: Vec<f64>,
    lambda: f64,
) -> Result<Smooth, InterpolantError> {
    let system = System::easing(points, ease)?;
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

/// The equations in scaled numbers: V in `unit_v`, I in `unit_a`, w in `unit_w`.
#[derive(Clone, Debug)]
pub(super) struct System {
    roughness: Roughness,
    gram: Bands,
    penalty: Bands,
    y: Vec<f64>,
    w: Vec<f64>,
    unit_a: f64,
    unit_w: f64,
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
    pub fn easing(points: &Points, ease: Vec<f64>) -> Result<Self, InterpolantError> {
        Self::with(points, Roughness::new(points.places())?.easing(ease))
    }

    fn with(points: &Points, roughness: Roughness) -> Result<Self, InterpolantError> {
        let (unit_a, unit_w) = (size(points.values()), size(points.weight()));
        let w: Vec<f64> = points.weight().iter().map(|w| w / unit_w).collect();
        let y = points.values().iter().map(|i| i / unit_a).collect();
        Ok(Self { gram: roughness.gram(), penalty: roughness.penalty(&w), roughness, y, w, unit_a, unit_w })
    }

    /// R + λ·Qᵀ·W⁻¹·Q.
    fn factor(&self, scaled: f64) -> Result<Banded, InterpolantError> {
        let rows = self.gram.iter().zip(&self.penalty);
        Banded::factor(&rows.map(|(r, p)| std::array::from_fn(|k| r[k] + scaled * p[k])).collect())
    }

    /// Values at the points and γ at the inner ones.
    fn solve(&self, factor: &Banded, scaled: f64) -> (Vec<f64>, Vec<f64>) {
        let bend = factor.solve(self.roughness.bends(&self.y));
        let pull = self.roughness.spread(&bend);
        let g = self.y.iter().zip(&pull).zip(&self.w).map(|((y, q), w)| y - scaled * q / w).collect();
        (g, bend)
    }

    fn edf(&self, factor: &Banded) -> f64 {
        2.0 + trace(&factor.inverse(), &self.gram)
    }

    fn chi2(&self, g: &[f64], points: &Points) -> f64 {
        let between: f64 = self.y.iter().zip(g).zip(&self.w).map(|((y, g), w)| w * (y - g) * (y - g)).sum();
        self.in_units(between) + points.within()
    }

    /// Of a sum of squares in scaled numbers.
    fn in_units(&self, squares: f64) -> f64 {
        squares * self.unit_w * self.unit_a * self.unit_a
    }

    pub fn degrees(&self, scaled: f64) -> Result<f64, InterpolantError> {
        Ok(self.edf(&self.factor(scaled)?))
    }

    pub fn trial(&self, scaled: f64, points: &Points) -> Result<Trial, InterpolantError> {
        if cancel::requested_now() {
            return Err(InterpolantError::Stopped);
        }
        let factor = self.factor(scaled)?;
        let (g, bend) = self.solve(&factor, scaled);
        // Σ w·I·(I − s) = λ·(Qᵀ·I)·γ.
        let pull: f64 = self.roughness.bends(&self.y).iter().zip(&bend).map(|(b, m)| scaled * b * m).sum();
        Ok(Trial {
            edf: self.edf(&factor),
            chi2: self.chi2(&g, points),
            penalised: self.in_units(pull) + points.within(),
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
        Ok(Smooth { spline, inverse, points, system: self, factor, scaled, edf, chi2 })
    }
}

fn quadratic(covariance: &[[f64; 4]; 4], x: &[f64; 4]) -> f64 {
    (0..4).map(|i| x[i] * (0..4).map(|j| covariance[i][j] * x[j]).sum::<f64>()).sum()
}

impl Smooth {
    /// With I(V), where the spline is one of V(I).
    fn drawn(self) -> Result<Self, InterpolantError> {
        let inverse = if self.points.of_current() { Some(by_current::curve(&self)?) } else { None };
        Ok(Self { inverse, ..self })
    }

    /// The curve I(V).
    pub fn curve(&self) -> &Piecewise {
        self.inverse.as_ref().unwrap_or(&self.spline)
    }

    /// The points smoothed.
    pub fn points(&self) -> &Points {
        &self.points
    }

    /// λ in V³/A² where the noise is stated, else in V³; of a smooth of V(I) in A³/V² or A³.
    pub fn lambda(&self) -> f64 {
        self.system.lambda(self.scaled)
    }

    /// ρ, the weight of the roughness, of each gap between two points: 1 where λ was given, else small where the curve
    /// bends; its geometric mean over the places set is 1.
    pub fn roughness_weight(&self) -> Vec<f64> {
        self.ease().iter().map(|e| 1.0 / e).collect()
    }

    pub(super) fn ease(&self) -> &[f64] {
        self.system.roughness.ease()
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
        let chosen = self.ease().iter().any(|e| *e != 1.0);
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

    /// The row ℓ of the smoother at one voltage: what each reading of the axis that was read contributes.
    ///
    /// # Errors
    /// [`InterpolantError::Outside`] the range.
    pub fn row(&self, voltage_v: f64) -> Result<Row, InterpolantError> {
        let at = self.curve().current(&[voltage_v], false)?.values[0];
        if self.inverse.is_some() { Ok(by_current::row(self, at)) } else { Ok(self.spline_row(voltage_v)) }
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
    fn pulled(&self, k: usize, shares: [f64; 4]) -> Vec<f64> {
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

    /// The current at each voltage as an estimate in A: ± from the stated noise, else from [`Smooth::scatter`] with
    /// [`Smooth::scatter_dof`] degrees of freedom. What the penalty bends away (bias) is not in it; of a smooth of V(I) what
    /// the neighbours leave open between readings is.
    ///
    /// # Errors
    /// [`InterpolantError::Outside`] the range, a voltage that is not finite.
    pub fn current(&self, voltage_v: &[f64]) -> Result<Vec<Estimate>, InterpolantError> {
        let values = self.curve().current(voltage_v, false)?.values;
        if self.inverse.is_some() {
            return by_current::estimates(self, voltage_v, &values);
        }
        self.estimates(voltage_v, &values, Counted::Noise, 0, Unit::Ampere)
    }

    /// The slope dI/dV at each voltage as an estimate in S, as [`Smooth::current`].
    ///
    /// # Errors
    /// As [`Smooth::current`].
    pub fn slope(&self, voltage_v: &[f64]) -> Result<Vec<Estimate>, InterpolantError> {
        let values = self.curve().slope(voltage_v, false)?.values;
        if self.inverse.is_some() {
            return by_current::slopes(self, voltage_v, &values);
        }
        self.estimates(voltage_v, &values, Counted::Noise, 1, Unit::Siemens)
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
    /// holds the voltage, widened by what the neighbours leave open between readings.
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
        super::points::level(level)?;
        let values = self.curve().current(voltage_v, false)?.values;
        if self.inverse.is_some() {
            return by_current::band(self, voltage_v, level, counted);
        }
        let estimates = self.estimates(voltage_v, &values, counted, 0, Unit::Ampere)?;
        Ok(estimates.iter().map(|e| e.interval(level)).collect())
    }

    /// Values at places with the uncertainty of the spline (`which` 0) or of its slope (1).
    fn estimates(
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
            None => Estimate::without_u(value, unit, "the smooth takes up all readings: state their noise"),
        }
    }
}
