//! The fit repeated on sweeps that could as well have been measured (bootstrap).
//!
//! ```text
//! parametric   point of the curve + σ·N(0, 1) on each axis that scatters
//! residual     point of the curve − z·(direction of the residual),  z drawn from rᵢ/√(1 − hᵢ), centred
//! ```
//!
//! hᵢ is the leverage of a point; division by √(1 − hᵢ) gives the residuals of the fit the variance of the noise
//! (A. C. Davison, D. V. Hinkley, Bootstrap Methods and their Application (1997), section 6.2; from memory). A gain
//! or an offset with a stated uncertainty is drawn once a sweep. Each draw has its own stream of random numbers, so
//! that the threads do not matter.

use super::covariance::Linear;
use super::derived_quantity;
use super::multistart::{Effort, descend};
use super::parameters::{Figure, names};
use super::residuals::{Points, Problem};
use super::result::Fit;
use crate::diode::Circuit;
use crate::numerics::least_squares::problem::Residuals;
use crate::numerics::threads;
use crate::quantity::estimate::Interval;
use crate::quantity::key_points::{KeyPoint, NAMES};
use crate::quantity::reason::Reason;
use crate::sweep::SweepOptions;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use std::fmt;
use std::num::NonZeroUsize;

/// Where the scatter of a drawn sweep comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Scatter {
    /// The normal distribution of the stated or found size.
    #[default]
    Parametric,
    /// The residuals of the fit.
    Residual,
}

/// How to resample.
///
/// # Examples
/// ```
/// use litdiode::fit::{ResampleOptions, Scatter};
/// let options = ResampleOptions::default().draws(500).scatter(Scatter::Residual);
/// assert_eq!((options.draws, options.seed, options.scatter), (500, 0, Scatter::Residual));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct ResampleOptions {
    /// Sweeps to draw.
    pub draws: usize,
    /// The same seed gives the same draws.
    pub seed: u64,
    /// Where their scatter comes from.
    pub scatter: Scatter,
    /// Threads; all that the machine offers if `None`.
    pub threads: Option<NonZeroUsize>,
}

impl Default for ResampleOptions {
    fn default() -> Self {
        Self { draws: 1000, seed: 0, scatter: Scatter::default(), threads: None }
    }
}

impl ResampleOptions {
    /// With so many sweeps to draw.
    #[must_use]
    pub fn draws(mut self, draws: usize) -> Self {
        self.draws = draws;
        self
    }

    /// With another seed.
    #[must_use]
    pub fn seed(mut self, seed: u64) -> Self {
        self.seed = seed;
        self
    }

    /// With the place that the scatter comes from.
    #[must_use]
    pub fn scatter(mut self, scatter: Scatter) -> Self {
        self.scatter = scatter;
        self
    }

    /// With so many threads.
    #[must_use]
    pub fn threads(mut self, threads: NonZeroUsize) -> Self {
        self.threads = Some(threads);
        self
    }
}

/// Parameters and key points of every drawn sweep.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, Parameter, ResampleOptions, fit_single_diode};
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-5)))?;
/// let fit = fit_single_diode(&sweep, &Options::default())?;
/// let drawn = fit.resample(ResampleOptions::default().draws(200).seed(1), |_| true)?.unwrap();
/// let n = drawn.column(Parameter::N).unwrap();
/// assert_eq!(n.len(), 200);
/// let mean = n.iter().sum::<f64>() / 200.0;
/// assert!((mean - 1.3).abs() < 4.0 * fit.parameter(Parameter::N).unwrap().u.unwrap() / 200f64.sqrt());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Resample {
    /// The columns: all parameters of the model, then the key points (not in the dark).
    pub names: Vec<Figure>,
    /// One row a draw, in SI units; rows of failed fits are left out.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub values: Vec<f64>,
    /// Draws whose fit did not converge.
    pub failed: usize,
}

impl Resample {
    /// The values of one figure, draw by draw.
    pub fn column(&self, figure: impl Into<Figure>) -> Option<Vec<f64>> {
        let figure = figure.into();
        let k = self.names.iter().position(|n| *n == figure)?;
        Some(self.values.iter().skip(k).step_by(self.names.len()).copied().collect())
    }

    /// The interval between the quantiles (1 ± level)/2 of the draws.
    pub fn interval(&self, figure: impl Into<Figure>, level: f64) -> Option<Interval> {
        let mut column = self.column(figure)?;
        if let Some(refused) = Interval::refused(level) {
            return Some(refused);
        }
        if column.len() < 2 {
            return Some(Interval::absent(level, Reason::FewDraws));
        }
        column.sort_by(f64::total_cmp);
        let failed = (self.failed > 0).then_some(Reason::FailedDraws { failed: self.failed });
        let notes = failed.into_iter().collect();
        let at = |p: f64| Some(quantile(&column, p));
        Some(Interval { low: at(0.5 - 0.5 * level), high: at(0.5 + 0.5 * level), level, notes })
    }
}

/// Linear between order statistics at (N − 1)·p.
fn quantile(sorted: &[f64], p: f64) -> f64 {
    let x = (sorted.len() - 1) as f64 * p;
    let (below, above) = (sorted[x.floor() as usize], sorted[x.ceil() as usize]);
    if below == above { below } else { below + (x - x.floor()) * (above - below) }
}

impl<const K: usize> Fit<K> {
    /// Repeats the fit on drawn sweeps; `watch` as in [`threads::rows`], `None` where it stopped the work.
    ///
    /// # Errors
    /// The reason where the fit has no scatter to draw from.
    pub fn resample(
        &self,
        options: ResampleOptions,
        watch: impl FnMut(usize) -> bool,
    ) -> Result<Option<Resample>, Reason> {
        let source = Source::new(self, options)?;
        let draw = |k: usize| source.draw(k as u64);
        let Some(rows) = threads::rows(options.draws, options.threads, draw, watch) else { return Ok(None) };
        let names = source.names();
        let failed = rows.iter().filter(|r| r.is_none()).count();
        Ok(Some(Resample { names, values: rows.into_iter().flatten().flatten().collect(), failed }))
    }
}

/// What a draw starts from.
struct Source<'a, const K: usize> {
    fit: &'a Fit<K>,
    options: ResampleOptions,
    /// The points of the curve that the readings belong to, with the scatter of each axis.
    on_curve: Points,
    /// How one unit of residual moves a reading.
    direction: Vec<(f64, f64)>,
    /// Weighted residuals that have the variance of the noise, and mean 0.
    residuals: Vec<f64>,
}

impl<'a, const K: usize> Source<'a, K> {
    fn new(fit: &'a Fit<K>, options: ResampleOptions) -> Result<Self, Reason> {
        if !(fit.weights.s2.is_finite() && fit.weights.s2 > 0.0) {
            return Err(Reason::NoDegreesOfFreedom);
        }
        let problem = fit.problem();
        let circuit = Circuit::<K>::from_theta(&fit.theta);
        let feet: Vec<_> = (0..problem.len()).filter_map(|i| problem.foot_point(&circuit, i)).collect();
        if feet.len() < problem.len() {
            return Err(Reason::Unreached);
        }
        let size = fit.weights.s2.sqrt();
        let scaled = |s: &[f64]| s.iter().map(|s| s * size).collect();
        let on_curve = Points {
            voltage_v: feet.iter().map(|f| f.voltage_v).collect(),
            current_a: feet.iter().map(|f| f.current_a).collect(),
            sigma_v: scaled(&problem.points.sigma_v),
            sigma_a: scaled(&problem.points.sigma_a),
        };
        let direction = feet.iter().map(|f| f.direction).collect();
        Ok(Self { fit, options, on_curve, direction, residuals: noise_like(fit, &problem) })
    }

    fn names(&self) -> Vec<Figure> {
        let parameters = names(K).iter().map(|p| (*p).into());
        let count = if self.is_dark() { 0 } else { NAMES.len() };
        parameters.chain(KeyPoint::ALL.into_iter().take(count).map(Figure::KeyPoint)).collect()
    }

    fn is_dark(&self) -> bool {
        self.fit.model.parameters().iph_a == 0.0
    }

    /// Parameters and key points of draw `k`; `None` where its fit fails.
    fn draw(&self, k: u64) -> Option<Vec<f64>> {
        let mut random = ChaCha8Rng::seed_from_u64(self.options.seed);
        random.set_stream(k);
        let points = self.points(&mut random);
        let (solution, _) =
            descend::<K>(&points, self.fit.residual, &self.fit.bounds, &self.fit.theta, Effort::SHORT);
        if !solution.stop.converged() {
            return None;
        }
        let a_per_n = self.fit.a_per_n();
        let mut row: Vec<f64> =
            (0..solution.x.len()).map(|k| names(K)[k].kind().value(solution.x[k], a_per_n)).collect();
        if !self.is_dark() {
            let circuit = Circuit::<K>::from_theta(&solution.x);
            row.extend(derived_quantity::values(&circuit)?);
        }
        Some(row)
    }

    fn points(&self, random: &mut ChaCha8Rng) -> Points {
        let mut points = self.on_curve.clone();
        points.sigma_v.clone_from(&self.fit.weights.points.sigma_v);
        points.sigma_a.clone_from(&self.fit.weights.points.sigma_a);
        for i in 0..self.direction.len() {
            let (dv, da) = match self.options.scatter {
                Scatter::Parametric => {
                    (self.on_curve.sigma_v[i] * normal(random), self.on_curve.sigma_a[i] * normal(random))
                }
                Scatter::Residual => {
                    let z = self.residuals[below(random, self.residuals.len())];
                    (-z * self.direction[i].0, -z * self.direction[i].1)
                }
            };
            points.voltage_v[i] += dv;
            points.current_a[i] += da;
        }
        shift(&mut points, self.fit.sweep.options(), random);
        points
    }
}

/// rᵢ/√(1 − hᵢ), centred.
fn noise_like<const K: usize>(fit: &Fit<K>, problem: &Problem<K>) -> Vec<f64> {
    let (rows, n) = (problem.len(), fit.theta.len());
    let (mut r, mut jacobian) = (vec![0.0; rows], vec![0.0; rows * n]);
    problem.evaluate(&fit.theta, &mut r, Some(&mut jacobian));
    let (linear, _) = Linear::new(problem, &fit.theta, fit.free.clone());
    if let Some(p) = &linear.pseudo_inverse() {
        for i in 0..rows {
            let leverage: f64 =
                fit.free.iter().enumerate().map(|(a, &k)| jacobian[k * rows + i] * p[a * rows + i]).sum();
            r[i] /= (1.0 - leverage).max(0.05).sqrt();
        }
    }
    let mean = r.iter().sum::<f64>() / rows as f64;
    r.iter_mut().for_each(|r| *r -= mean);
    r
}

/// One draw of every common error.
fn shift(points: &mut Points, options: &SweepOptions, random: &mut ChaCha8Rng) {
    for source in points.common_effects(options) {
        let z = normal(random);
        points.voltage_v.iter_mut().zip(source.voltage_v).for_each(|(x, by)| *x += z * by);
        points.current_a.iter_mut().zip(source.current_a).for_each(|(x, by)| *x += z * by);
    }
}

fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
}

/// An index below `n`; the bias of the product is below n/2⁶⁴.
fn below(random: &mut ChaCha8Rng, n: usize) -> usize {
    ((u128::from(random.next_u64()) * n as u128) >> 64) as usize
}

/// A line a figure with the interval of its draws.
impl fmt::Display for Resample {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let draws = self.values.len() / self.names.len().max(1);
        write!(f, "{draws} draws, {} failed", self.failed)?;
        for name in &self.names {
            if let Some(interval) = self.interval(*name, 0.95) {
                write!(f, "\n{name:<11}{interval}")?;
            }
        }
        Ok(())
    }
}
