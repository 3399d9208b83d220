//! Which window and which degree: the pair with the smallest error to be expected.
//!
//! ```text
//! minimise Σ ℓᵢ² sᵢ² + 4·(t² + 4·w²)
//! t: what the fit makes wrong of the guide curve at the place wanted; w: rms of that over the window
//! ```
//!
//! All terms are known before the readings enter (but for the scale of the noise and of the bend), so
//! the choice does not chase the scatter and the stated ± keeps its meaning. Windows in which the
//! polynomial visibly does not fit (variance ratio beyond three standard deviations) are passed over:
//! the guide knows one bend only, and a curve may have two. The two weights were set by simulation.

use super::abreast::{Abreast, Columns, LANES, Windows};
use super::guide::Guide;
use super::local::{Jet, Local, Rows, Series, nearest};
use super::readings::Readings;
use super::scatter::Scatter;
use std::array::from_fn;
use std::ops::{Range, RangeInclusive};

/// What the shape makes wrong counts more than noise: it does not average out over repeated sweeps.
const SHAPE_WEIGHT: f64 = 2.0;

/// What a polynomial leaves of the guide anywhere in the window counts this much against its use at one
/// place: the truncation at the place itself may vanish by chance, and does not for the true curve.
const WAVINESS_WEIGHT: f64 = 2.0;

/// Windows grow by this factor, or by one point.
const GROWTH: f64 = 1.25;

/// No reading counts more than this many times another, squared: a stated σ may vanish on a flat curve.
const WEIGHT_FLOOR: f64 = 1e-3;

/// A lack of fit is believed beyond this many standard deviations.
const LACK_OF_FIT: f64 = 3.0;

/// Points of rising `x` with the standard deviations of `y`.
pub struct Points<'a> {
    /// Where.
    pub x: &'a [f64],
    /// What was read.
    pub y: &'a [f64],
    /// Effective standard deviation of each y.
    pub sigma: &'a [f64],
    /// Degrees of freedom behind `sigma`.
    pub dof: f64,
    /// The non-polynomial part of the guide curve at each x.
    pub guide: &'a [f64],
}

/// A chosen local fit.
#[derive(Clone, Debug)]
pub struct Choice {
    /// The polynomials over the window.
    pub fit: Local,
    /// The same over the guide.
    pub shadow: Series,
    /// The one that was chosen.
    pub degree: usize,
    /// The window.
    pub span: Range<usize>,
}

impl Choice {
    /// The polynomial at `x`.
    pub fn at(&self, x: f64) -> Jet {
        self.fit.at(x, self.degree)
    }

    /// What each reading of the window contributes to value and slope at `x`.
    pub fn rows(&self, x: f64) -> Rows {
        self.fit.rows(x, self.degree)
    }

    /// The slope at each reading of the window, of which `voltage` are all.
    pub fn slopes(&self, voltage: &[f64]) -> Vec<f64> {
        voltage[self.span.clone()].iter().map(|v| self.at(*v).slope).collect()
    }

    /// What the fit makes wrong of the guide, whose own value and slope at `x` are `guide`.
    pub fn truncation(&self, x: f64, guide: Jet) -> Jet {
        let shadow = self.fit.at_of(&self.shadow, x, self.degree);
        Jet {
            value: shadow.value - guide.value,
            slope: shadow.slope - guide.slope,
            curvature: shadow.curvature - guide.curvature,
        }
    }

    /// By how much one degree more, over the same window, would move the value at `x`.
    pub fn next_degree(&self, x: f64) -> f64 {
        self.fit.at(x, self.degree + 1).value - self.at(x).value
    }
}

/// A polynomial that might be chosen, before its readings enter: what is to be expected of it at the place wanted.
#[derive(Clone, Copy, Debug)]
pub struct Trial {
    /// What it makes wrong of the guide's value there.
    pub wrong: f64,
    /// The same of the slope.
    pub wrong_slope: f64,
    /// Variance of its value.
    pub variance: f64,
    /// Variance of its slope.
    pub slope_variance: f64,
    /// Their covariance.
    pub covariance: f64,
    /// Mean square of what it leaves of the guide over the whole window.
    waviness: f64,
}

impl Trial {
    /// The square of its error of shape: what it makes wrong at the place and over the whole window.
    pub fn shape(&self) -> f64 {
        self.wrong * self.wrong + WAVINESS_WEIGHT * WAVINESS_WEIGHT * self.waviness
    }

    /// The variance of value + `factor`·slope.
    pub fn variance_with_slope(&self, factor: f64) -> f64 {
        self.variance + factor * (2.0 * self.covariance + factor * self.slope_variance)
    }
}

impl<'a> Points<'a> {
    /// The currents of the readings over their voltages.
    pub fn of_currents(readings: &'a Readings, guide: &'a Guide, scatter: &'a Scatter) -> Self {
        let (x, y, sigma) = (&readings.voltage, &readings.current, &scatter.effective);
        Self { x, y, sigma, dof: scatter.dof, guide: guide.bend() }
    }

    /// The best local fit for the value at `centre`, where the guide is `guide`; `guess` is the square of the error to be
    /// expected of a trial beside its noise.
    ///
    /// `None` when no window has enough distinct places for the lowest degree.
    pub fn best(
        &self,
        centre: f64,
        guide: Jet,
        degrees: RangeInclusive<usize>,
        guess: impl Fn(&Trial) -> f64,
    ) -> Option<Choice> {
        let (mut least, mut best) = (f64::INFINITY, None);
        let known = self.sigma.iter().any(|s| *s > 0.0);
        let columns = Columns { x: self.x, y: self.y, other: self.guide };
        let mut windows = self.windows(centre, *degrees.start());
        let mut abreast = Abreast::default();
        loop {
            let spans: [Range<usize>; LANES] = from_fn(|_| windows.next().unwrap_or(0..0));
            if spans[0].is_empty() {
                break;
            }
            let scatter = (self.sigma, from_fn(|l| self.floor(&spans[l])));
            abreast.weighted(columns, scatter, &Windows::new(&spans), *degrees.end(), centre);
            for (l, span) in spans.iter().enumerate() {
                let Some(highest) = abreast.degree(l) else { continue };
                for degree in *degrees.start()..=highest {
                    let trial = trial(&abreast, l, degree, guide);
                    let error = trial.variance + SHAPE_WEIGHT * SHAPE_WEIGHT * guess(&trial);
                    let misfit = || abreast.rung(degree).misfit[l];
                    if error < least && !(known && self.misfits(misfit(), span.len() - 1 - degree)) {
                        (least, best) = (error, Some((span.clone(), degree)));
                    }
                }
            }
        }
        let (span, degree) = best?;
        self.over(span, degree, *degrees.end())
    }

    /// One degree over one window, and the next one where it is allowed.
    fn over(&self, span: Range<usize>, degree: usize, highest: usize) -> Option<Choice> {
        let weight = self.weights(&span);
        let fit = Local::fit(&self.x[span.clone()], &self.y[span.clone()], &weight, highest.min(degree + 1))?;
        let shadow = fit.series_of(&self.guide[span.clone()]);
        Some(Choice { fit, shadow, degree, span })
    }

    /// Variance of Σ ℓᵢ yᵢ over a window.
    pub fn variance(&self, row: &[f64], span: &Range<usize>) -> f64 {
        row.iter().zip(&self.sigma[span.clone()]).map(|(l, s)| (l * s).powi(2)).sum()
    }

    /// Growing windows about `centre`.
    fn windows(&self, centre: f64, least_degree: usize) -> impl Iterator<Item = Range<usize>> {
        let grow = |&count: &usize| Some((count + 1).max((count as f64 * GROWTH) as usize));
        std::iter::successors(Some(least_degree + 1), grow)
            .take_while(|count| *count <= self.x.len())
            .map(move |count| nearest(self.x, centre, count))
    }

    fn weights(&self, span: &Range<usize>) -> Vec<f64> {
        let floor = self.floor(span);
        self.sigma[span.clone()].iter().map(|s| 1.0 / (s * s + floor)).collect()
    }

    /// What is added to every σ² in a window.
    fn floor(&self, span: &Range<usize>) -> f64 {
        let largest = self.sigma[span.clone()].iter().copied().fold(0.0, f64::max);
        if largest > 0.0 { (WEIGHT_FLOOR * largest).powi(2) } else { 1.0 }
    }

    /// Whether a weighted sum of squares with `spare` degrees of freedom is more than the scatter explains.
    fn misfits(&self, misfit: f64, spare: usize) -> bool {
        let spare = spare as f64;
        spare > 0.0 && deviate(misfit / spare, spare, self.dof) > LACK_OF_FIT
    }
}

fn trial(fit: &Abreast, l: usize, degree: usize, guide: Jet) -> Trial {
    let rung = fit.rung(degree);
    Trial {
        wrong: rung.other_at[0][l] - guide.value,
        wrong_slope: rung.other_at[1][l] - guide.slope,
        variance: rung.variance[0][l],
        slope_variance: rung.variance[1][l],
        covariance: rung.covariance[l],
        waviness: rung.other_misfit[l] / fit.weight()[l],
    }
}

/// The normal deviate of a variance ratio `f` with `m` and `n` degrees of freedom (n may be infinite).
///
/// Wilson–Hilferty cube root in Paulson's form, Ann. Math. Statist. 13 (1942) 233, from memory.
pub fn deviate(f: f64, m: f64, n: f64) -> f64 {
    let (a, b, root) = (2.0 / (9.0 * m), 2.0 / (9.0 * n), f.cbrt());
    ((1.0 - b) * root - (1.0 - a)) / (b * root * root + a).sqrt()
}
