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

use super::guide::Guide;
use super::local::{Jet, Local, Rows, Series, nearest};
use super::readings::Readings;
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

    /// A truncation with what the polynomial leaves of the guide over the whole window.
    pub fn shape(&self, truncation: f64) -> f64 {
        truncation.hypot(WAVINESS_WEIGHT * self.fit.spread_of(&self.shadow, self.degree))
    }
}

impl<'a> Points<'a> {
    /// The currents of the readings over their voltages.
    pub fn of_currents(readings: &'a Readings, guide: &'a Guide, sigma: &'a [f64], dof: f64) -> Self {
        Self { x: &readings.voltage, y: &readings.current, sigma, dof, guide: guide.bend() }
    }

    /// The best local fit for the value at `centre`; `guess` is the error to be expected beside its noise,
    /// from a choice and its rows at the centre.
    ///
    /// `None` when no window has enough distinct places for the lowest degree.
    pub fn best(
        &self,
        centre: f64,
        degrees: RangeInclusive<usize>,
        guess: impl Fn(&Choice, &Rows) -> f64,
    ) -> Option<Choice> {
        let (mut least, mut best) = (f64::INFINITY, None);
        for span in self.windows(centre, *degrees.start()) {
            let Some(mut choice) = self.over(span, *degrees.end()) else { continue };
            let ladder = choice.fit.ladder(centre);
            let mut rows = Rows::zero(choice.fit.count());
            let mut better = None;
            for (degree, rung) in ladder.iter().enumerate().take(choice.fit.degree() + 1) {
                choice.fit.add(&mut rows, degree, rung);
                if !degrees.contains(&degree) || self.misfits(&choice.fit, degree) {
                    continue;
                }
                choice.degree = degree;
                let noise = self.variance(&rows.value, &choice.span);
                let error = noise + (SHAPE_WEIGHT * guess(&choice, &rows)).powi(2);
                if error < least {
                    (least, better) = (error, Some(degree));
                }
            }
            if let Some(degree) = better {
                best = Some(Choice { degree, ..choice });
            }
        }
        best
    }

    /// All degrees over one window, none chosen yet.
    fn over(&self, span: Range<usize>, degree: usize) -> Option<Choice> {
        let weight = self.weights(&span);
        let fit = Local::fit(&self.x[span.clone()], &self.y[span.clone()], &weight, degree)?;
        let shadow = fit.series_of(&self.guide[span.clone()]);
        Some(Choice { fit, shadow, degree: 0, span })
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
        let sigma = &self.sigma[span.clone()];
        let largest = sigma.iter().copied().fold(0.0, f64::max);
        if largest > 0.0 {
            sigma.iter().map(|s| 1.0 / (s * s + (WEIGHT_FLOOR * largest).powi(2))).collect()
        } else {
            vec![1.0; sigma.len()]
        }
    }

    fn misfits(&self, fit: &Local, degree: usize) -> bool {
        let spare = fit.count() - 1 - degree;
        let known = self.sigma.iter().any(|s| *s > 0.0);
        known && spare > 0 && deviate(fit.misfit(degree) / spare as f64, spare as f64, self.dof) > LACK_OF_FIT
    }
}

/// The normal deviate of a variance ratio `f` with `m` and `n` degrees of freedom (n may be infinite).
///
/// Wilson–Hilferty cube root in Paulson's form, Ann. Math. Statist. 13 (1942) 233, from memory.
pub fn deviate(f: f64, m: f64, n: f64) -> f64 {
    let (a, b, root) = (2.0 / (9.0 * m), 2.0 / (9.0 * n), f.cbrt());
    ((1.0 - b) * root - (1.0 - a)) / (b * root * root + a).sqrt()
}
