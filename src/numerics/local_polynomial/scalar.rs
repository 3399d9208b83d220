//! Weighted local polynomials: value and slope of a smooth curve as linear functions of the readings.
//!
//! ```text
//! minimise Σ wᵢ (yᵢ − Σⱼ cⱼ pⱼ(xᵢ))²      y⁽ʳ⁾(x) = Σᵢ ℓᵢ yᵢ,   ℓᵢ = wᵢ Σⱼ pⱼ⁽ʳ⁾(x) pⱼ(xᵢ)/‖pⱼ‖²
//! pⱼ₊₁(t) = (t − αⱼ) pⱼ(t) − βⱼ pⱼ₋₁(t)    αⱼ = ⟨t pⱼ, pⱼ⟩/‖pⱼ‖²,  βⱼ = ‖pⱼ‖²/‖pⱼ₋₁‖²
//! ```
//!
//! Polynomials orthogonal over the points themselves (Forsythe, J. SIAM 5 (1957) 74–88) need no matrix,
//! are well conditioned, and one pass gives every degree up to the highest.

use crate::numerics::statistics::ranges::range;
use multiversion::multiversion;
use std::ops::Range;

/// Highest degree of a local polynomial.
pub const MAX_DEGREE: usize = 6;

pub(crate) const COUNT: usize = MAX_DEGREE + 1;

/// Sums that run side by side, so that they become vector code.
const LANES: usize = 8;

/// Windows up to so many points need no buffer of their own.
const SMALL: usize = 64;

/// A ‖pⱼ‖² below this part of ‖p₀‖² is rounding: the points have no more than j distinct places.
pub(crate) const DEGENERATE: f64 = 1e-22;

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
///
/// # Examples
/// ```
/// use litdiode::curve::Local;
/// let x = [0.0, 1.0, 2.0, 3.0, 4.0];
/// let y = x.map(|x| 1.0 - 2.0 * x + 0.5 * x * x);
/// let at = Local::fit(&x, &y, &[1.0; 5], 2).unwrap().at(2.5, 2);
/// assert!((at.value + 0.875).abs() < 1e-12 && (at.slope - 0.5).abs() < 1e-12);
/// assert!((at.curvature - 1.0).abs() < 1e-12);
/// ```
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
            basis: Vec::with_capacity((top + 1) * x.len()),
        };
        fit.expand(x, top);
        fit.series = fit.series_of(y);
        Some(fit)
    }

    /// The polynomials over the points, by the three-term recurrence.
    fn expand(&mut self, x: &[f64], top: usize) {
        let count = x.len();
        self.basis.resize((top + 1) * count, 1.0);
        let scale = (self.centre, 1.0 / self.half_width);
        let recurrence = (&mut self.alpha, &mut self.beta, &mut self.norm);
        self.degree = expand(x, scale, &self.weight, &mut self.basis, recurrence);
    }

    /// Other values at the same points, in the same polynomials.
    pub fn series_of(&self, y: &[f64]) -> Series {
        let (mut small, mut large) = ([0.0; SMALL], Vec::new());
        let residual = if y.len() <= SMALL {
            &mut small[..y.len()]
        } else {
            large.resize(y.len(), 0.0);
            &mut large[..]
        };
        residual.copy_from_slice(y);
        let mut series = Series::default();
        let basis = &self.basis[..(self.degree + 1) * self.count()];
        project(basis, &self.weight, &self.norm, residual, &mut series);
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

    /// The polynomial of `degree` at `x`.
    pub fn at(&self, x: f64, degree: usize) -> Jet {
        self.at_of(&self.series, x, degree)
    }

    /// The same for other values.
    pub fn at_of(&self, series: &Series, x: f64, degree: usize) -> Jet {
        let mut jet = Jet::default();
        self.ladder(x, degree, |j, p| {
            let c = series.coefficient[j];
            jet.value += c * p.value;
            jet.slope += c * p.slope;
            jet.curvature += c * p.curvature;
        });
        jet
    }

    /// The rows of the polynomial of `degree` at `x`.
    pub fn rows(&self, x: f64, degree: usize) -> Rows {
        let mut rows = Rows { value: vec![0.0; self.count()], slope: vec![0.0; self.count()] };
        self.ladder(x, degree, |j, p| {
            let (value, slope) = (p.value / self.norm[j], p.slope / self.norm[j]);
            let basis = &self.basis[j * self.count()..(j + 1) * self.count()];
            for (k, (w, b)) in self.weight.iter().zip(basis).enumerate() {
                rows.value[k] += value * w * b;
                rows.slope[k] += slope * w * b;
            }
        });
        rows
    }

    /// p₀, p₁, … up to `degree` at `x` with their derivatives by x.
    #[inline(always)]
    fn ladder(&self, x: f64, degree: usize, mut each: impl FnMut(usize, Jet)) {
        let (t, by_width) = (self.reduced(x), 1.0 / self.half_width);
        let (mut older, mut p) = (Jet::default(), Jet { value: 1.0, ..Jet::default() });
        for j in 0..=degree.min(self.degree) {
            let slope = p.slope * by_width;
            each(j, Jet { value: p.value, slope, curvature: p.curvature * by_width * by_width });
            let (s, beta) = (t - self.alpha[j], self.beta[j]);
            let next = Jet {
                value: s * p.value - beta * older.value,
                slope: p.value + s * p.slope - beta * older.slope,
                curvature: 2.0 * p.slope + s * p.curvature - beta * older.curvature,
            };
            (older, p) = (p, next);
        }
    }
}

/// Fills alpha, beta, norm and the values of the polynomials, as many as `basis` has room for or the points allow;
/// the highest degree.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn expand(
    x: &[f64],
    (centre, by_half_width): (f64, f64),
    weight: &[f64],
    basis: &mut [f64],
    (alpha, beta, norm): Recurrence,
) -> usize {
    let count = x.len();
    let mut degree = 0;
    for j in 0..basis.len() / count {
        let (done, rest) = basis.split_at_mut(j * count);
        let p = &mut rest[..count];
        if j > 0 {
            let older = if j > 1 { &done[(j - 2) * count..(j - 1) * count] } else { &done[..count] };
            let (a, b) = (alpha[j - 1], if j > 1 { beta[j - 1] } else { 0.0 });
            let last = &done[(j - 1) * count..];
            for ((p, x), (last, older)) in p.iter_mut().zip(x).zip(last.iter().zip(older)) {
                let t = (x - centre) * by_half_width;
                *p = (t - a).mul_add(*last, -(b * older));
            }
        }
        let (mut sums, mut firsts) = ([0.0; LANES], [0.0; LANES]);
        for ((x, w), p) in x.chunks(LANES).zip(weight.chunks(LANES)).zip(p.chunks(LANES)) {
            for (l, ((x, w), p)) in x.iter().zip(w).zip(p).enumerate() {
                let wpp = w * p * p;
                sums[l] += wpp;
                firsts[l] = wpp.mul_add((x - centre) * by_half_width, firsts[l]);
            }
        }
        let (whole, first) = (sum(&sums), sum(&firsts));
        if j > 0 && whole <= DEGENERATE * norm[0] {
            return degree;
        }
        (degree, norm[j], alpha[j]) = (j, whole, first / whole);
        beta[j] = if j > 0 { whole / norm[j - 1] } else { 0.0 };
    }
    degree
}

/// alpha, beta, norm.
type Recurrence<'a> = (&'a mut [f64; COUNT], &'a mut [f64; COUNT], &'a mut [f64; COUNT]);

/// Coefficients of `residual`, which is used up.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn project(basis: &[f64], weight: &[f64], norm: &[f64; COUNT], residual: &mut [f64], series: &mut Series) {
    for (j, p) in basis.chunks_exact(weight.len()).enumerate() {
        let mut sums = [0.0; LANES];
        for ((w, p), r) in weight.chunks(LANES).zip(p.chunks(LANES)).zip(residual.chunks(LANES)) {
            for (l, ((w, p), r)) in w.iter().zip(p).zip(r).enumerate() {
                sums[l] = (w * p).mul_add(*r, sums[l]);
            }
        }
        let c = sum(&sums) / norm[j];
        residual.iter_mut().zip(p).for_each(|(r, p)| *r = p.mul_add(-c, *r));
        series.coefficient[j] = c;
    }
}

/// In a fixed order, whatever the machine.
#[inline(always)]
fn sum(x: &[f64; LANES]) -> f64 {
    ((x[0] + x[4]) + (x[1] + x[5])) + ((x[2] + x[6]) + (x[3] + x[7]))
}

/// The run of `count` successive points of rising `x` that lie nearest to `centre`.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::curve::nearest(&[0.0, 1.0, 2.0, 3.0, 10.0], 2.4, 3), 1..4);
/// ```
pub fn nearest(x: &[f64], centre: f64, count: usize) -> Range<usize> {
    let count = count.min(x.len());
    // The run moves up while the point that it would leave is further away than the one that it would take in.
    let (mut low, mut high) = (0, x.len() - count);
    while low < high {
        let middle = (low + high) / 2;
        if centre - x[middle] > x[middle + count] - centre { low = middle + 1 } else { high = middle }
    }
    low..low + count
}
