//! Value and slope of a local polynomial at a place, with their variances, from a [`Problem`].

use super::window_selection::{Trial, best, sizes};
use crate::numerics::least_squares::regression::Problem;
use crate::numerics::least_squares::regression::powers;

/// y(x) near one place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Local {
    pub value: f64,
    pub variance: f64,
    pub slope: f64,
    pub slope_variance: f64,
}

/// Readings (x, y) with their deviations.
pub(super) struct Columns<'a> {
    pub x: &'a [f64],
    pub y: &'a [f64],
    pub sigma_x: &'a [f64],
    pub sigma_y: &'a [f64],
}

impl Columns<'_> {
    /// The polynomial of `degree` over all the readings, at `centre`.
    pub fn at(&self, centre: f64, degree: usize) -> Option<Local> {
        self.solve(degree, 1.0, &|x| Some((x - centre, 1.0)))
    }

    /// The same as a polynomial of ln x. The logarithm is taken at the foot of a reading and not at the reading,
    /// whose scatter would bias it.
    pub fn at_logarithm(&self, centre: f64, degree: usize) -> Option<Local> {
        self.solve(degree, 1.0 / centre, &|x| (x > 0.0).then(|| ((x / centre).ln(), 1.0 / x)))
    }

    /// `coordinate` gives t(x) and dt/dx; t is 0 at the place, where dt/dx is `stretch`.
    fn solve(
        &self,
        degree: usize,
        stretch: f64,
        coordinate: &dyn Fn(f64) -> Option<(f64, f64)>,
    ) -> Option<Local> {
        let basis = |_: usize, x: f64, phi: &mut [f64], dphi: &mut [f64]| {
            let Some((t, dt)) = coordinate(x) else { return false };
            powers(t, phi, dphi);
            dphi.iter_mut().for_each(|d| *d *= dt);
            true
        };
        let Self { x, y, sigma_x, sigma_y } = *self;
        let r = Problem { x, y, sigma_x, sigma_y, terms: degree + 1, basis: &basis }.solve()?;
        let (slope, slope_variance) =
            if degree > 0 { (r.c[1] * stretch, r.covariance(1, 1) * stretch * stretch) } else { (0.0, 0.0) };
        Some(Local { value: r.c[0], variance: r.covariance(0, 0), slope, slope_variance })
    }
}

impl Trial {
    /// A trial without a test of its residuals.
    pub fn plain(value: f64, variance: f64, bias: f64) -> Self {
        Self { value, variance, bias, chi2: 0.0, spare: 0 }
    }
}

/// The best local polynomial of the first to the third degree, with its truncation.
pub(super) fn local_best(
    most: usize,
    at: impl Fn(std::ops::Range<usize>, usize) -> Option<(Local, f64)>,
    window: impl Fn(usize) -> std::ops::Range<usize>,
) -> Option<(Local, f64)> {
    let mut trials = Vec::new();
    for count in sizes(4, most) {
        for degree in 1..=3.min(count - 2) {
            if let Some((local, bias)) = at(window(count), degree) {
                trials.push((Trial::plain(local.value, local.variance, bias), local));
            }
        }
    }
    best(trials).map(|(trial, local)| (local, trial.bias))
}
