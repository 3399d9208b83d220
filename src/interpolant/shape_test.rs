//! Whether readings have the falling, concave shape, or are bent into it.
//!
//! ```text
//! T = χ²(shape) − χ²(smooth)      over χ²(smooth) where the noise is not stated
//! p = (1 + number of T* ≥ T)/(1 + draws)     T*: the same of the fitted shape with fresh noise
//! p = 10/draws                               where T* ≥ T ten times before the last draw
//! ```
//!
//! Neither fit is part of the other, and the shape uses a number of parameters that depends on the readings, so that
//! no table holds for T: its distribution is drawn, with the smooth's λ chosen anew each time by cross-validation
//! (among smooths of at most half the readings' degrees of freedom). The seed is fixed: the
//! same readings get the same verdict. B. Efron, R. J. Tibshirani, An Introduction to the Bootstrap (1993), ch. 16.
//!
//! Drawing stops as soon as it cannot change the verdict: after ten T* ≥ T, which 199 draws allow at the usual levels
//! (J. Besag, P. Clifford, Biometrika 78 (1991) 301), or with none when p is half of 1 − level already (that is 39 draws
//! at 95 %; a p of 0.05 would end so in 14 % of all cases, one of 0.1 in 2 %).
//!
//! Every draw takes some hundred smooths. Of many readings neighbours are averaged beforehand, as what they differ by from
//! the shape; the scatter within the means counts as before, and the draws give its part to it.

use super::checks::level as checked;
use super::error::InterpolantError;
use super::penalised_system::System;
use super::piecewise::Piecewise;
use super::points::Points;
use super::shape_constrained::{Shape, ShapeBasis, shape_constrained};
use super::smooth::Smooth;
use super::smoothing_parameter::for_comparison;
use crate::numerics::cancel;
use crate::numerics::statistics::ranges::runs;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use std::fmt;

/// Fits to simulated readings: p is known to ±0.015 near 0.05.
const DRAWS: usize = 199;
/// So many T* ≥ T settle that nothing speaks against the shape.
const ENOUGH: usize = 10;
/// Points at most: the curves of many readings are compared on means of neighbours. Of 1,000 readings the test on
/// means says the same as that on the readings (`means_say_what_the_readings_say`).
const MOST: usize = 400;
/// An excess below the square of this part of the currents is rounding.
const ROUNDING: f64 = 1e-10;
const SEED: u64 = 0x5ba9e;

/// What the test of the shape says.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct ShapeVerdict {
    /// Whether p is above 1 − level: nothing speaks against the shape.
    pub fits: bool,
    /// Probability of so large a lack of fit were the shape right; at least 1/200. To ±0.3 p where it is large,
    /// as drawing then stops early.
    pub p: f64,
    /// χ² of the falling, concave curve (in A² where the noise is not stated).
    pub chi2_shape: f64,
    /// The same of the smooth without constraints, of at most half the readings' degrees of freedom.
    pub chi2_smooth: f64,
}

impl Shape {
    /// Tests the shape at `level`, for instance 0.95: readings of a falling, concave curve pass with this probability.
    /// Takes some 20 smooths and fits for most curves of the shape, 40 for most of another, 200 in between.
    ///
    /// # Errors
    /// A `level` not between 0 and 1; [`InterpolantError::NoScatter`] for readings too few to tell noise from curve.
    pub fn fits_the_shape(&self, level: f64) -> Result<ShapeVerdict, InterpolantError> {
        checked(level)?;
        if self.points.len() > MOST {
            return shape_constrained(&averaged_about(&self.points, &self.curve, MOST)?)?.tested(level);
        }
        self.tested(level)
    }

    fn tested(&self, level: f64) -> Result<ShapeVerdict, InterpolantError> {
        let smooth = compared(&self.points)?;
        let (chi2_shape, chi2_smooth) = (self.chi2(), smooth.chi2());
        let p =
            if self.is_exact(chi2_shape - chi2_smooth) { 1.0 } else { self.chance(&smooth, 1.0 - level)? };
        Ok(ShapeVerdict { fits: p > 1.0 - level, p, chi2_shape, chi2_smooth })
    }

    fn is_exact(&self, excess: f64) -> bool {
        let weighted = self.points.current_a().iter().zip(self.points.weight());
        excess <= ROUNDING * ROUNDING * weighted.map(|(i, w)| w * i * i).sum::<f64>()
    }

    fn chance(&self, smooth: &Smooth, least: f64) -> Result<f64, InterpolantError> {
        let stated = self.points.noise_stated();
        if !stated && smooth.scatter().is_none() {
            return Err(InterpolantError::NoScatter { readings: self.points.readings(), edf: self.edf() });
        }
        let sigma = self.noise()?;
        let found = statistic(self.chi2(), smooth.chi2(), stated);
        let basis = ShapeBasis::new(&self.points)?;
        let mut random = ChaCha8Rng::seed_from_u64(SEED);
        let mut beyond = 0;
        for draw in 1..=DRAWS {
            if cancel::requested_now() {
                return Err(InterpolantError::Stopped);
            }
            let drawn = self.drawn(sigma, &mut random);
            let shape = basis.fit(drawn.current_a()).chi2 + drawn.within();
            let smooth = compared(&drawn)?;
            beyond += usize::from(statistic(shape, smooth.chi2(), stated) >= found);
            let (settled, p) = (ENOUGH as f64 / draw as f64, 1.0 / (1 + draw) as f64);
            if beyond == ENOUGH && ENOUGH as f64 > least * (1 + DRAWS) as f64 - 1.0 {
                return Ok(settled);
            }
            if beyond == 0 && p <= 0.5 * least {
                return Ok(p);
            }
        }
        Ok((1 + beyond) as f64 / (1 + DRAWS) as f64)
    }

    /// Standard deviation of a reading of weight 1 as it would be were the shape right.
    pub(super) fn noise(&self) -> Result<f64, InterpolantError> {
        if self.points.noise_stated() {
            return Ok(1.0);
        }
        let (readings, edf) = (self.points.readings(), self.edf());
        let dof = readings as f64 - edf;
        if dof < 1.0 {
            Err(InterpolantError::NoScatter { readings, edf })
        } else {
            Ok((self.chi2() / dof).sqrt())
        }
    }

    /// Readings of the fitted shape with noise.
    pub(super) fn drawn(&self, sigma: f64, random: &mut ChaCha8Rng) -> Points {
        let mut normal = || -> f64 { StandardNormal.sample(random) };
        let at = self.fit.values.iter().zip(self.points.weight());
        let current_a = at.map(|(s, w)| s + sigma / w.sqrt() * normal()).collect();
        let repeated = self.points.readings() - self.points.len();
        let within = (0..repeated).map(|_| (sigma * normal()).powi(2)).sum();
        self.points.with_currents(current_a, within)
    }
}

/// The smooth without constraints.
fn compared(points: &Points) -> Result<Smooth, InterpolantError> {
    let system = System::new(points)?;
    let lambda = for_comparison(&system, points)?;
    system.smooth(points, lambda)
}

fn statistic(shape: f64, smooth: f64, stated: bool) -> f64 {
    if stated { shape - smooth } else { (shape - smooth) / smooth.max(f64::MIN_POSITIVE) }
}

/// Means of neighbours, `most` of them at most: each holds the mean of what its readings differ by from `curve`, at its
/// own mean voltage, so that no slope and no bend of `curve` counts as scatter or moves a mean.
fn averaged_about(points: &Points, curve: &Piecewise, most: usize) -> Result<Points, InterpolantError> {
    let values = curve.current(&points.voltage_v, false)?.values;
    let empty = Vec::new;
    let mut means = Points {
        voltage_v: empty(),
        current_a: empty(),
        weight: empty(),
        count: Vec::new(),
        ..points.clone()
    };
    for run in runs(&points.voltage_v, most) {
        let total: f64 = points.weight[run.clone()].iter().sum();
        let mean =
            |of: &dyn Fn(usize) -> f64| run.clone().map(|k| points.weight[k] / total * of(k)).sum::<f64>();
        let v =
            mean(&|k| points.voltage_v[k]).clamp(points.voltage_v[run.start], points.voltage_v[run.end - 1]);
        let off = |k: usize| points.current_a[k] - values[k];
        let rest = mean(&off);
        means.within += run.clone().map(|k| points.weight[k] * (off(k) - rest).powi(2)).sum::<f64>();
        means.voltage_v.push(v);
        means.current_a.push(curve.current(&[v], false)?.values[0] + rest);
        means.weight.push(total);
        means.count.push(points.count[run].iter().sum());
    }
    Ok(means)
}

/// Whether the shape fits, and p.
impl fmt::Display for ShapeVerdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let says =
            if self.fits { "nothing speaks against the shape" } else { "the readings have another shape" };
        write!(f, "p {:.3}: {says}", self.p)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Invented: 1,000 readings with normal noise of a diode's curve, `bulge` of an S on it.
    fn readings(bulge: f64, seed: u64) -> Points {
        let v: Vec<f64> = (0..1000).map(|k| 0.72 * f64::from(k) / 999.0).collect();
        let random = &mut ChaCha8Rng::seed_from_u64(seed);
        let truth = |v: &f64| 0.03 - 1e-9 * (v / 0.042f64).exp_m1() - bulge * (v / 0.05 - 9.0).tanh();
        let mut noisy = |v: &f64| truth(v) + 1e-4 * Distribution::<f64>::sample(&StandardNormal, random);
        let i: Vec<f64> = v.iter().map(&mut noisy).collect();
        Points::new(&v, &i).unwrap()
    }

    /// On both sides: readings of the shape pass on their means as they do by themselves, those of an S do not.
    #[test]
    fn means_say_what_the_readings_say() {
        for (bulge, fits) in [(0.0, true), (1.5e-3, false)] {
            let shape = shape_constrained(&readings(bulge, 3)).unwrap();
            let (means, each) = (shape.fits_the_shape(0.95).unwrap(), shape.tested(0.95).unwrap());
            println!("{bulge}: {means:?} {each:?}");
            assert_eq!((means.fits, each.fits), (fits, fits));
            // A mean takes up what the knots of neither curve could follow.
            assert!((means.chi2_shape / each.chi2_shape - 1.0).abs() < 0.01);
        }
    }

    /// Nothing is lost of the readings but their places within a mean.
    #[test]
    fn means_hold_their_readings() {
        let points = readings(0.0, 4);
        let shape = shape_constrained(&points).unwrap();
        let means = averaged_about(&points, shape.curve(), MOST).unwrap();
        assert!(means.len() <= MOST && means.readings() == 1000);
        let off = |p: &Points| -> f64 {
            let values = shape.curve().current(p.voltage_v(), false).unwrap().values;
            let squares = values.iter().zip(p.current_a()).zip(p.weight());
            squares.map(|((s, i), w)| w * (i - s) * (i - s)).sum::<f64>() + p.within()
        };
        assert!((off(&means) / off(&points) - 1.0).abs() < 1e-12, "{} {}", off(&means), off(&points));
    }
}
