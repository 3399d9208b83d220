//! Weighted local polynomials: value and slope of a smooth curve as linear functions of the readings.
//!
//! ```text
//! minimise Σ wᵢ (yᵢ − Σⱼ cⱼ pⱼ(xᵢ))²      y⁽ʳ⁾(x) = Σᵢ ℓᵢ yᵢ,   ℓᵢ = wᵢ Σⱼ pⱼ⁽ʳ⁾(x) pⱼ(xᵢ)/‖pⱼ‖²
//! pⱼ₊₁(t) = (t − αⱼ) pⱼ(t) − βⱼ pⱼ₋₁(t)    αⱼ = ⟨t pⱼ, pⱼ⟩/‖pⱼ‖²,  βⱼ = ‖pⱼ‖²/‖pⱼ₋₁‖²
//! ```
//!
//! Polynomials orthogonal over the points themselves (Forsythe, J. SIAM 5 (1957) 74–88) need no matrix,
//! are well conditioned, and one pass gives every degree up to the highest.

use crate::sweep::range;
use std::ops::Range;

/// Highest degree of a local polynomial.
pub const MAX_DEGREE: usize = 6;

const COUNT: usize = MAX_DEGREE + 1;

/// A ‖pⱼ‖² below this part of ‖p₀‖² is rounding: the points have no more than j distinct places.
const DEGENERATE: f64 = 1e-22;

/// Value, first and second derivative at a place.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Jet {
    /// y.
    pub value: f64,
    /// dy/dx.
    pub slope: f64,
    /// d²y/dx².
    pub curvature: f64,
}

/// Polynomials of all degrees up to [`Local::degree`], fitted to the same weighted points.
#[derive(Clone, Debug)]
pub struct Local {
    centre: f64,
    half_width: f64,
    degree: usize,
    alpha: [f64; COUNT],
    beta: [f64; COUNT],
    norm: [f64; COUNT],
    series: Series,
    weight: Vec<f64>,
    /// pⱼ at the points, one degree after the other.
    basis: Vec<f64>,
}

/// One set of values at the points of a [`Local`], in its polynomials.
#[derive(Clone, Copy, Debug, Default)]
pub struct Series {
    coefficient: [f64; COUNT],
    misfit: [f64; COUNT],
}

/// What each reading contributes to value and slope at a place: the rows ℓ of the module's equation.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rows {
    /// ℓ for y.
    pub value: Vec<f64>,
    /// ℓ for dy/dx.
    pub slope: Vec<f64>,
}

impl Local {
    /// Fits the points (x, y) with weights w by polynomials up to `degree`, or as high as the number of
    /// distinct places allows. `None` without points or with a weight sum that is not positive.
    pub fn fit(x: &[f64], y: &[f64], w: &[f64], degree: usize) -> Option<Self> {
        let (low, high) = range(x);
        let total: f64 = w.iter().sum();
        if !(total > 0.0 && total.is_finite() && low.is_finite() && high.is_finite()) {
            return None;
        }
        let top = degree.min(MAX_DEGREE).min(y.len() - 1);
        let mut fit = Self {
            centre: 0.5 * (low + high),
            half_width: if high > low { 0.5 * (high - low) } else { 1.0 },
            degree: 0,
            alpha: [0.0; COUNT],
            beta: [0.0; COUNT],
            norm: [0.0; COUNT],
            series: Series::default(),
            weight: w.to_vec(),
            basis: Vec::with_capacity((top + 2) * x.len()),
        };
        fit.expand(x, top);
        fit.series = fit.series_of(y);
        Some(fit)
    }

    /// The polynomials over the points, by the three-term recurrence.
    fn expand(&mut self, x: &[f64], top: usize) {
        let count = x.len();
        let place: Vec<f64> = x.iter().map(|&x| self.reduced(x)).collect();
        self.basis.resize(count, 1.0);
        for j in 0..=top {
            let p = &self.basis[j * count..];
            let (mut norm, mut first) = (0.0, 0.0);
            for ((w, p), t) in self.weight.iter().zip(p).zip(&place) {
                let wpp = w * p * p;
                norm += wpp;
                first += wpp * t;
            }
            if j > 0 && norm <= DEGENERATE * self.norm[0] {
                return;
            }
            self.degree = j;
            self.norm[j] = norm;
            self.alpha[j] = first / norm;
            self.beta[j] = if j > 0 { norm / self.norm[j - 1] } else { 0.0 };
            for (k, t) in place.iter().enumerate() {
                let older = if j > 0 { self.basis[(j - 1) * count + k] } else { 0.0 };
                let next = (t - self.alpha[j]) * self.basis[j * count + k] - self.beta[j] * older;
                self.basis.push(next);
            }
        }
    }

    /// Other values at the same points, in the same polynomials.
    pub fn series_of(&self, y: &[f64]) -> Series {
        let mut series = Series::default();
        let mut residual = y.to_vec();
        for (j, p) in self.basis.chunks_exact(self.count()).enumerate().take(self.degree + 1) {
            let along: f64 = self.weight.iter().zip(p).zip(&residual).map(|((w, p), r)| w * p * r).sum();
            series.coefficient[j] = along / self.norm[j];
            for ((r, p), w) in residual.iter_mut().zip(p).zip(&self.weight) {
                *r -= series.coefficient[j] * p;
                series.misfit[j] += w * *r * *r;
            }
        }
        series
    }

    /// x on the scale on which the window is −1 to 1.
    fn reduced(&self, x: f64) -> f64 {
        (x - self.centre) / self.half_width
    }

    /// The highest degree that the points allow, at most the one asked for.
    pub fn degree(&self) -> usize {
        self.degree
    }

    /// Number of points.
    pub fn count(&self) -> usize {
        self.weight.len()
    }

    /// Lowest and highest place.
    pub fn bounds(&self) -> (f64, f64) {
        (self.centre - self.half_width, self.centre + self.half_width)
    }

    /// Weighted sum of squared residuals of the polynomial of `degree`.
    pub fn misfit(&self, degree: usize) -> f64 {
        self.misfit_of(&self.series, degree)
    }

    /// The same for other values.
    pub fn misfit_of(&self, series: &Series, degree: usize) -> f64 {
        series.misfit[degree.min(self.degree)]
    }

    /// Weighted root mean square of the residuals of other values.
    pub fn spread_of(&self, series: &Series, degree: usize) -> f64 {
        (self.misfit_of(series, degree) / self.norm[0]).sqrt()
    }

    /// The polynomial of `degree` at `x`.
    pub fn at(&self, x: f64, degree: usize) -> Jet {
        self.at_of(&self.series, x, degree)
    }

    /// The same for other values.
    pub fn at_of(&self, series: &Series, x: f64, degree: usize) -> Jet {
        let mut jet = Jet::default();
        for (c, p) in series.coefficient.iter().zip(&self.ladder(x)).take(degree.min(self.degree) + 1) {
            jet.value += c * p.value;
            jet.slope += c * p.slope;
            jet.curvature += c * p.curvature;
        }
        jet
    }

    /// The rows of the polynomial of `degree` at `x`.
    pub fn rows(&self, x: f64, degree: usize) -> Rows {
        let mut rows = Rows::zero(self.count());
        for (j, p) in self.ladder(x).iter().enumerate().take(degree.min(self.degree) + 1) {
            self.add(&mut rows, j, p);
        }
        rows
    }

    /// Adds the part of degree `j`, whose polynomial at the place of the rows is `p`.
    pub(super) fn add(&self, rows: &mut Rows, j: usize, p: &Jet) {
        let (value, slope) = (p.value / self.norm[j], p.slope / self.norm[j]);
        let basis = &self.basis[j * self.count()..(j + 1) * self.count()];
        for (k, (w, b)) in self.weight.iter().zip(basis).enumerate() {
            rows.value[k] += value * w * b;
            rows.slope[k] += slope * w * b;
        }
    }

    /// How far reading `b` pulls the fit of the highest degree at reading `a`.
    pub fn pull(&self, a: usize, b: usize) -> f64 {
        let at = |j: usize, k: usize| self.basis[j * self.count() + k];
        self.weight[b] * (0..=self.degree).map(|j| at(j, a) * at(j, b) / self.norm[j]).sum::<f64>()
    }

    /// p₀, p₁, … at `x` with their derivatives by x.
    pub(super) fn ladder(&self, x: f64) -> [Jet; COUNT] {
        let (t, h) = (self.reduced(x), self.half_width);
        let (mut older, mut p) = (Jet::default(), Jet { value: 1.0, ..Jet::default() });
        std::array::from_fn(|j| {
            let this = Jet { value: p.value, slope: p.slope / h, curvature: p.curvature / (h * h) };
            let (s, beta) = (t - self.alpha[j], self.beta[j]);
            let next = Jet {
                value: s * p.value - beta * older.value,
                slope: p.value + s * p.slope - beta * older.slope,
                curvature: 2.0 * p.slope + s * p.curvature - beta * older.curvature,
            };
            (older, p) = (p, next);
            this
        })
    }
}

impl Rows {
    /// Rows over `count` readings to which nothing has been added.
    pub(super) fn zero(count: usize) -> Self {
        Self { value: vec![0.0; count], slope: vec![0.0; count] }
    }
}

/// The run of `count` successive points of rising `x` that lie nearest to `centre`.
pub fn nearest(x: &[f64], centre: f64, count: usize) -> Range<usize> {
    let mut low = x.partition_point(|&x| x < centre);
    let mut high = low;
    while high - low < count.min(x.len()) {
        let left = low.checked_sub(1).map(|k| centre - x[k]);
        let right = x.get(high).map(|x| x - centre);
        match (left, right) {
            (Some(l), Some(r)) if l <= r => low -= 1,
            (Some(_), None) => low -= 1,
            _ => high += 1,
        }
    }
    low..high
}
