//! Whether the data support what the model claims: a signal at all, and a second diode.
//!
//! ```text
//! likelihood ratio   Λ = Δχ² where the noise is stated, N·ln(SS₁/SS₂) where it is not
//! corrected Akaike   AICc = −2·ln L + 2k + 2k(k + 1)/(N − k − 1)
//! ```
//!
//! Λ is compared with χ² on as many degrees of freedom as the second diode has free parameters, which is on the
//! safe side: under one diode I02 lies on its bound. AICc: C. M. Hurvich, C.-L. Tsai, Biometrika 76 (1989) 297.

use super::multistart::search;
use super::nested::Nested;
use super::parameters::Kind;
use super::residuals::{Points, Residual};
use crate::numerics::least_squares::problem::{Bounds, Solution};
use crate::sweep::by_voltage;
use statrs::distribution::{ChiSquared, ContinuousCDF, FisherSnedecor};
use std::fmt;

/// Level at which a sweep must differ from no current at all.
const DETECTED: f64 = 0.999;

/// √ of the Akaike difference by which two diodes must do better than one whose n they cannot take. Curves that differ by d
/// standard uncertainties, each with as many parameters, differ in χ² by N(d², 4d²) where the one diode is true: two seem
/// better by z² with a probability of at most Φ(−z) for any d, here 5 %.
pub(super) const CLEAR: f64 = 1.645;
/// Readings below which F has so few degrees of freedom that [`DETECTED`] would ask for more than a good cell gives;
/// then this level serves, and one sweep of noise in a hundred passes.
const FEW: usize = 8;
const DETECTED_BY_FEW: f64 = 0.99;

/// How much better the data are described with a diode more.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, fit_double_diode};
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30); // of one diode
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-5)))?;
/// let support = fit_double_diode(&sweep, &Options::default())?.support.unwrap();
/// assert!(!support.holds() && support.likelihood_ratio < 1.0 && (support.free_n - 1.3).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Support {
    /// Λ.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub likelihood_ratio: f64,
    /// Free parameters that the further diode adds.
    pub parameters: usize,
    /// P(χ² ≥ Λ) on that many degrees of freedom.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub p: f64,
    /// AICc with the further diode less AICc without; negative speaks for it.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub aicc_difference: f64,
    /// AICc with the further diode less that of one diode whose n is free; negative speaks for the further diode.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub aicc_beside_free_n: f64,
    /// The n of one diode that Λ compares with.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub n_alone: f64,
    /// The n of one diode whose n is free.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub free_n: f64,
    /// Whether two diodes within their bounds can be that one diode, which then needs no margin.
    pub free_n_is_nested: bool,
}

impl Support {
    /// Whether the further diode is worth its parameters: beside one of the two alone, and clearly beside one diode with
    /// a free n.
    pub fn holds(&self) -> bool {
        self.aicc_difference < 0.0 && !self.free_n_explains()
    }

    /// Whether one diode with a free n describes the data about as well, or better.
    pub(super) fn free_n_explains(&self) -> bool {
        let margin = if self.free_n_is_nested { 0.0 } else { CLEAR * CLEAR };
        self.aicc_beside_free_n >= -margin
    }
}

/// A fit with two diodes, to be compared with one diode on the same points.
pub(super) struct OfTwo<'a> {
    pub points: &'a Points,
    pub residual: Residual,
    pub noise_stated: bool,
    pub bounds: &'a Bounds,
    pub a_per_n: f64,
    pub cost: f64,
}

impl OfTwo<'_> {
    /// The support of two diodes over either of them alone, whose optima are `nested`.
    pub fn support(&self, nested: &[Nested]) -> Option<Support> {
        let alone = nested.iter().map(|one| (one.at(self.points, self.residual), one));
        let (one, within) = alone.min_by(|a, b| a.0.cost.total_cmp(&b.0.cost))?;
        let (free, one_free) = (open(self.bounds), open(&within.bounds));
        if !one.cost.is_finite() || free <= one_free {
            return None;
        }
        let likelihood_ratio = self.likelihood_gain(one.cost).max(0.0);
        let parameters = free - one_free;
        let p = ChiSquared::new(parameters as f64).ok()?.sf(likelihood_ratio);
        let of_free_n = with_free_n(&within.bounds, self.a_per_n);
        let with_free = free_n(self.points, self.residual, &of_free_n, &one, &within.bounds);
        let n_of = |s: &Solution| Kind::N.value(s.x[2], self.a_per_n);
        Some(Support {
            likelihood_ratio,
            parameters,
            p,
            aicc_difference: self.aicc_beside(one_free, likelihood_ratio),
            aicc_beside_free_n: self.aicc_beside(open(&of_free_n), self.likelihood_gain(with_free.cost)),
            n_alone: n_of(&one),
            free_n: n_of(&with_free),
            free_n_is_nested: nested.iter().any(|one| holds_diode(&one.bounds, &with_free.x)),
        })
    }

    /// Λ against a fit of the same points with another cost.
    fn likelihood_gain(&self, other: f64) -> f64 {
        let n = self.points.voltage_v.len() as f64;
        if self.noise_stated { other - self.cost } else { n * (other / self.cost).ln() }
    }

    /// AICc less that of a fit with so many free parameters, over which the likelihood gains `gain`.
    fn aicc_beside(&self, other_free: usize, gain: f64) -> f64 {
        let (two, other) = (self.penalty(open(self.bounds)), self.penalty(other_free));
        if two.is_infinite() { f64::INFINITY } else { two - other - gain }
    }

    /// 2k + 2k(k + 1)/(N − k − 1) of so many free parameters; an unknown size of the noise is one more.
    fn penalty(&self, free: usize) -> f64 {
        let k = (free + usize::from(!self.noise_stated)) as f64;
        let left = self.points.voltage_v.len() as f64 - k - 1.0;
        if left > 0.0 { 2.0 * k + 2.0 * k * (k + 1.0) / left } else { f64::INFINITY }
    }
}

/// How many coordinates the box leaves free.
fn open(bounds: &Bounds) -> usize {
    bounds.low.iter().zip(&bounds.high).filter(|(l, h)| l < h).count()
}

/// Whether the box of one of two diodes holds the I0 and n of `x`.
fn holds_diode(bounds: &Bounds, x: &[f64]) -> bool {
    (1..3).all(|k| bounds.low[k] < bounds.high[k] && bounds.low[k] <= x[k] && x[k] <= bounds.high[k])
}

/// The optimum of one diode with a free n: that of the narrower box where this leaves n between its bounds.
fn free_n(
    points: &Points,
    residual: Residual,
    wide: &Bounds,
    narrow: &Solution,
    box_of_narrow: &Bounds,
) -> Solution {
    let same = |k: usize| wide.low[k] == box_of_narrow.low[k] && wide.high[k] == box_of_narrow.high[k];
    let inside = box_of_narrow.low[2] < narrow.x[2] && narrow.x[2] < box_of_narrow.high[2];
    if inside && (0..5).filter(|k| *k != 2).all(same) {
        return narrow.clone();
    }
    search::<1>(points, residual, wide, None).0
}

/// The box of one diode whose I0 and n are as free as those of a single-diode fit.
fn with_free_n(one: &Bounds, a_per_n: f64) -> Bounds {
    let Bounds { mut low, mut high } = one.clone();
    for (k, kind) in [(1, Kind::I0), (2, Kind::N)] {
        let (least, most) = kind.limits(1);
        (low[k], high[k]) = (kind.coordinate(least, a_per_n), kind.coordinate(most, a_per_n));
    }
    Bounds { low, high }
}

/// Whether the readings differ from none at all: Σ(reading/σ)² against χ² where the noise is stated, its
/// reduction by the fit against F where it is not.
pub(super) fn detected(points: &Points, noise_stated: bool, cost: f64, free: usize) -> bool {
    let n = points.voltage_v.len();
    let of = |x: &f64, s: &f64| if *s > 0.0 { (x / s).powi(2) } else { 0.0 };
    let sum = |x: &[f64], s: &[f64]| x.iter().zip(s).map(|(x, s)| of(x, s)).sum::<f64>();
    let by_current = sum(&points.current_a, &points.sigma_a);
    let null = if by_current > 0.0 { by_current } else { sum(&points.voltage_v, &points.sigma_v) };
    if noise_stated {
        return ChiSquared::new(n as f64).is_ok_and(|d| null > d.inverse_cdf(DETECTED));
    }
    // Noise about zero changes from reading to reading by more than it is; a curve does not.
    let order = by_voltage(&points.voltage_v);
    let readings = if by_current > 0.0 { &points.current_a } else { &points.voltage_v };
    let change: f64 = order.windows(2).map(|w| (readings[w[1]] - readings[w[0]]).powi(2)).sum();
    let is_curve = change < smooth_below(n) * readings.iter().map(|x| x * x).sum::<f64>();
    if n <= free || cost <= 0.0 || is_curve {
        return true;
    }
    let ratio = (null - cost) / free as f64 / (cost / (n - free) as f64);
    let level = if n < FEW { DETECTED_BY_FEW } else { DETECTED };
    FisherSnedecor::new(free as f64, (n - free) as f64).is_ok_and(|d| ratio > d.inverse_cdf(level))
}

/// Σ(change)²/Σx² below which readings follow a curve: for fewer than [`FEW`] the 1 % quantile of independent normal
/// readings about zero (4 million draws each).
fn smooth_below(n: usize) -> f64 {
    match n {
        0..=5 => 0.23,
        6 => 0.32,
        7 => 0.40,
        _ => 1.0,
    }
}

/// What it says of the second diode.
impl fmt::Display for Support {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.note().fmt(f)
    }
}
