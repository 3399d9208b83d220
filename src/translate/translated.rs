//! A translated sweep and what the uncertain inputs of the translation do to it.
//!
//! ```text
//! e_k = u(x_k)·(∂I/∂x_k, ∂V/∂x_k) at every point          Cov(point i, point j) = Σk e_k(i)·e_k(j)ᵀ
//! ```
//!
//! Each input x_k (a parameter, the irradiance, Isc1, Voc1) moves all points together, which is why its
//! effect is kept whole and not as one ± a point (JCGM 100:2008, 5.2.2): the new sweep carries it as an effect. The
//! inputs count as independent of each other and of the scatter of the readings, but for Isc1 and Voc1, which come from
//! those readings and say what they share with them. The scatter of each reading moves the current of its point and,
//! through the series resistance and the curve correction, the voltage with it,
//!
//! ```text
//! dI2 = f·dI1      dV2 = dV1 − b·dI1
//! ```
//!
//! which is an effect of its own at every point.

use super::condition::{Measured, Target};
use super::error::TranslateError;
use super::warning::Warning;
use crate::curve::{self, Beyond};
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::{KeyPoints, NAMES};
use crate::sweep::{Change, Effect, Leads, Noise, Reach, Shared, Sign, Sweep, SweepOptions};
use std::fmt;

/// A sweep at another condition.
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{Procedure1, Range, Target, procedure_1};
/// let exact = |value, unit| Estimate::new(value, 0.0, unit);
/// let with = Procedure1 {
///     alpha: exact(1.5e-5, Unit::AmperePerKelvin), beta: exact(-2.1e-3, Unit::VoltPerKelvin),
///     rs: Estimate::new(0.4, 0.1, Unit::Ohm), kappa: exact(2e-3, Unit::OhmPerKelvin), range: Range::UNLIMITED,
/// }; // invented
/// let (v, i) = ([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(exact(900.0, Unit::WattPerM2)))?;
/// let there = procedure_1(&sweep, &Target { irradiance_w_m2: 1000.0, temperature_c: 25.0 }, &with)?;
/// let u = 0.1 * 0.030 * (1000.0 / 900.0 - 1.0); // u(Rs)·(I2 − I1) at every point
/// assert!(there.u_voltage_v().iter().all(|u_v| (u_v - u).abs() < 1e-6));
/// assert!((there.covariance(0, 3).unwrap()[0][0] - u * u).abs() < 1e-9);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Translated {
    /// The points at the target condition; the translation is the last of its changes. Its effects are what the
    /// scatter of the readings and the uncertain inputs do to the points, so that its key points hold them.
    pub sweep: Sweep,
    /// What must be known before the points are believed.
    pub warnings: Vec<Warning>,
}

impl Translated {
    /// What each uncertain input does to the points.
    pub fn effects(&self) -> impl Iterator<Item = &Effect> {
        self.sweep.options().effects.iter().filter(|e| e.reach == Reach::Common)
    }

    /// Standard uncertainty in A that the inputs add to the current of each point.
    pub fn u_current_a(&self) -> Vec<f64> {
        self.root_sum(|e| &e.current_a)
    }

    /// Standard uncertainty in V that the inputs add to the voltage of each point.
    pub fn u_voltage_v(&self) -> Vec<f64> {
        self.root_sum(|e| &e.voltage_v)
    }

    fn root_sum(&self, axis: impl Fn(&Effect) -> &Vec<f64>) -> Vec<f64> {
        let at = |k: usize| self.effects().map(|e| axis(e)[k].powi(2)).sum::<f64>().sqrt();
        (0..self.sweep.len()).map(at).collect()
    }

    /// Covariance that the inputs add between point `i` and point `j`, in SI units: (V, I) by (V, I), row by
    /// row; `None` where there is no such point.
    pub fn covariance(&self, i: usize, j: usize) -> Option<[[f64; 2]; 2]> {
        let points = self.sweep.len();
        (i < points && j < points).then(|| {
            let mut sum = [[0.0; 2]; 2];
            for e in self.effects() {
                let (first, second) = ([e.voltage_v[i], e.current_a[i]], [e.voltage_v[j], e.current_a[j]]);
                (0..2).for_each(|r| (0..2).for_each(|c| sum[r][c] += first[r] * second[c]));
            }
            sum
        })
    }

    /// Key points at the target condition with everything in their uncertainties: those of [`Translated::sweep`].
    pub fn key_points(&self) -> KeyPoints {
        curve::key_points(&self.sweep)
    }
}

/// The new points, and the derivatives of (I, V) of each by every input.
pub(super) struct Points {
    pub current_a: Vec<f64>,
    pub voltage_v: Vec<f64>,
    /// Sources at every point first: what is shared with them refers to their order.
    pub effects: Vec<Effect>,
    pub warnings: Vec<Warning>,
}

impl Points {
    pub fn new(current_a: Vec<f64>, voltage_v: Vec<f64>) -> Self {
        Self { current_a, voltage_v, effects: Vec::new(), warnings: Vec::new() }
    }

    /// Carries over what moved the points of `from`: a source that moves a point by (dV, dI) moves the new one by
    /// `map(k, dV, dI)`, and a common one in addition by its change of the `figure` (0 Isc, 1 Voc) times
    /// `by(k)` = (∂I, ∂V), where the translation uses one.
    pub fn scatter(
        &mut self,
        from: &Measured,
        map: impl Fn(usize, f64, f64) -> (f64, f64),
        figure: Option<usize>,
        by: impl Fn(usize) -> (f64, f64),
    ) {
        let moved = |e: &Effect, change: f64| {
            let (voltage_v, current_a) = (0..self.current_a.len())
                .map(|k| {
                    let (v, i) = map(k, e.voltage_v[k], e.current_a[k]);
                    let (by_i, by_v) = by(k);
                    (v + by_v * change, i + by_i * change)
                })
                .unzip();
            Effect { voltage_v, current_a, ..e.clone() }
        };
        let each: Vec<Effect> = from.sources().iter().map(|e| moved(e, 0.0)).collect();
        let values = from.values();
        let options = from.sweep.options();
        let common = options.effects.iter().filter(|e| e.reach == Reach::Common).map(|e| {
            let change =
                figure.and_then(|f| Some(curve::change(from.sweep, e, &values, Beyond::default()).ok()?[f]));
            let mut e = moved(e, change.unwrap_or(0.0));
            // The new figures have fits of their own.
            e.shared.iter_mut().for_each(|shared| shared.truncation = None);
            e
        });
        let all: Vec<Effect> = each.into_iter().chain(common).collect();
        self.effects.extend(all);
    }

    /// Adds the input `x` with its derivatives (∂I, ∂V) at point k; one that changes nothing is left out, one
    /// whose uncertainty is unknown gives a warning.
    pub fn input(&mut self, name: &'static str, x: &Estimate, by: impl Fn(usize) -> (f64, f64)) {
        self.add(name, (x.u, x.dof), None, by);
    }

    /// Adds Isc or Voc of the sweep that is translated.
    pub fn figure(&mut self, figure: usize, x: &Estimate, from: &Measured, by: impl Fn(usize) -> (f64, f64)) {
        let own = from.contribution(figure).map(|mut contribution| {
            // The gain of its own axis: of the current for Isc, of the voltage for Voc. It multiplies the points, this
            // figure among them, and is in the ± of the points already.
            contribution.common[1 - figure] = 0.0;
            let each = curve::shares(&contribution, from.sources());
            let squares = |x: &[f64]| x.iter().map(|x| x * x).sum::<f64>();
            let scatter: f64 = each.iter().map(|row| squares(row)).sum();
            let u = (scatter + squares(&contribution.common) + contribution.truncation.powi(2)).sqrt();
            let part = |x: &[f64]| x.iter().map(|x| x / u).collect::<Vec<f64>>();
            let shared = Shared {
                each: each.iter().map(|row| part(row)).collect(),
                common: contribution.common.map(|x| x / u),
                truncation: Some((figure, contribution.truncation / u)),
            };
            (u, shared)
        });
        match own {
            Some((u, shared)) if u > 0.0 => self.add(NAMES[figure], (Some(u), x.dof), Some(shared), by),
            _ => self.add(NAMES[figure], (x.u, x.dof), None, by),
        }
    }

    fn add(
        &mut self,
        name: &'static str,
        (u, dof): (Option<f64>, f64),
        shared: Option<Shared>,
        by: impl Fn(usize) -> (f64, f64),
    ) {
        let slopes: Vec<(f64, f64)> = (0..self.current_a.len()).map(by).collect();
        if slopes.iter().all(|s| *s == (0.0, 0.0)) {
            return;
        }
        match u {
            None => self.warnings.push(Warning::NoUncertainty { input: name.into() }),
            Some(0.0) => {}
            Some(u) => {
                let (current_a, voltage_v) = slopes.into_iter().map(|(i, v)| (u * i, u * v)).unzip();
                let reach = Reach::Common;
                // A name that an earlier translation used is another source.
                let again = self.effects.iter().filter(|e| e.name.split(" (").next() == Some(name)).count();
                let name = if again > 0 { format!("{name} ({})", again + 1) } else { name.to_owned() };
                let identity = None;
                self.effects.push(Effect { name, reach, current_a, voltage_v, identity, dof, shared });
            }
        }
    }

    /// The sweep of the points, with all that `from` carries.
    pub fn at(
        self,
        target: &Target,
        from: &Measured,
        time_s: Option<Vec<f64>>,
        noise: Option<Noise>,
        change: Change,
    ) -> Result<Translated, TranslateError> {
        let old = from.sweep.options();
        let mut changes = from.sweep.changes().to_vec();
        changes.push(change);
        let options = SweepOptions {
            sign: Sign::Generator,
            leads: Leads::AsGiven,
            noise,
            // The target is exact; what was not known of the light lies on the points.
            irradiance_w_m2: Some(Estimate::new(target.irradiance_w_m2, 0.0, from.irradiance.unit)),
            temperature_c: target.temperature_c,
            time_s,
            changes,
            effects: self.effects,
            ..old.clone()
        };
        let sweep = Sweep::new(&self.voltage_v, &self.current_a, options)?;
        Ok(Translated { sweep, warnings: self.warnings })
    }
}

/// The record of a translation.
pub(super) fn change(procedure: u8, from: &Target, to: &Target, why: String) -> Change {
    let what = format!(
        "translated by procedure {procedure} of IEC 60891 from {} W/m², {} °C to {} W/m², {} °C",
        from.irradiance_w_m2, from.temperature_c, to.irradiance_w_m2, to.temperature_c
    );
    Change { what, why, automatic: false }
}

/// The sweep, then a line a warning.
impl fmt::Display for Translated {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.sweep)?;
        self.warnings.iter().try_for_each(|warning| write!(f, "\nwarning: {warning}"))
    }
}
