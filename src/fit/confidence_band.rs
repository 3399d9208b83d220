//! The confidence band of the fitted curve, point by point, and figures with their joint covariance.

use super::derived_quantity::Derived;
use super::parameters::{Figure, names};
use super::result::{Fit, bilinear, open_ends};
use crate::numerics::cancel;
use crate::numerics::threads;
use crate::quantity::estimate::{Interval, student_t};
use crate::quantity::format::quoted;
use crate::quantity::key_points::{KeyPoint, NAMES};
use crate::quantity::reason::Reason;
use crate::sweep::range;
use std::fmt;

/// Parameters and key points with the covariance of them all.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Joint {
    /// Free parameters, then key points.
    pub names: Vec<Figure>,
    /// Their values in SI units.
    pub values: Vec<f64>,
    /// Their covariance, row by row; of no higher rank than there are free parameters.
    pub covariance: Vec<f64>,
}

impl<const K: usize> Fit<K> {
    /// At each voltage in V the interval in A that holds the true curve with probability `level`.
    ///
    /// First order, or by profile likelihood where a parameter needs it (see [`Fit::interval`]) and beyond the readings. Each interval
    /// holds at its own voltage; that the whole curve lies in the band is less probable.
    pub fn band(&self, voltage_v: &[f64], level: f64) -> Vec<Interval> {
        let stopped = || Interval::absent(level, Reason::Stopped);
        let at = |&v: &f64| if cancel::requested_now() { stopped() } else { self.band_at(v, level) };
        voltage_v.iter().map(at).collect()
    }

    /// [`Fit::band`] on all threads, where `watch` is told how many voltages are done, as in [`threads::rows`]; `None`
    /// where it stopped the work.
    pub fn band_watched(
        &self,
        voltage_v: &[f64],
        level: f64,
        watch: impl FnMut(usize) -> bool,
    ) -> Option<Vec<Interval>> {
        threads::rows(voltage_v.len(), None, |k| self.band_at(voltage_v[k], level), watch)
    }

    fn band_at(&self, v: f64, level: f64) -> Interval {
        if !v.is_finite() {
            return Interval::absent(level, Reason::NotFinite { argument: "voltage_v".into(), value: v });
        }
        if let Some(refused) = Interval::refused(level) {
            return refused;
        }
        let (low, high) = range(self.sweep.voltage_v());
        if self.by_profile || v < low || v > high {
            return match self.figure_interval(Derived::Current(v), level) {
                Ok((_, (low, high))) => {
                    let notes = open_ends("the current", (low, high)).into_iter().collect();
                    Interval { low, high, level, notes }
                }
                Err(why) => Interval::absent(level, why),
            };
        }
        let m = self.free.len();
        let mut by = vec![0.0; self.theta.len()];
        let best = Derived::Current(v).evaluate(self.model.circuit(), &mut by);
        match best {
            Some(i) if m > 0 && self.theta_covariance.len() == m * m => {
                let u = bilinear(&self.theta_covariance, &self.free, &by, &by).max(0.0).sqrt();
                let half = student_t(level, self.effective_dof()) * u;
                Interval { low: Some(i - half), high: Some(i + half), level, notes: Vec::new() }
            }
            _ => Interval::absent(level, Reason::NoCovariance),
        }
    }

    /// Free parameters and key points with the covariance of them all; `None` where the fit has none.
    pub fn joint(&self) -> Option<Joint> {
        let (m, n) = (self.free.len(), self.theta.len());
        if m == 0 || self.theta_covariance.len() != m * m {
            return None;
        }
        let mut joint = Joint { names: Vec::new(), values: Vec::new(), covariance: Vec::new() };
        let mut rows = Vec::new();
        for &k in &self.free {
            let kind = names(K)[k].kind();
            let value = kind.value(self.theta[k], self.a_per_n());
            let mut by = vec![0.0; n];
            by[k] = kind.derivative(value);
            joint.names.push(names(K)[k].into());
            joint.values.push(value);
            rows.push(by);
        }
        for point in KeyPoint::ALL.into_iter().take(NAMES.len()) {
            let mut by = vec![0.0; n];
            let value = Derived::behind(point).evaluate(self.model.circuit(), &mut by);
            if let Some(value) = value {
                joint.names.push(point.into());
                joint.values.push(value);
                rows.push(by);
            }
        }
        let c = |a: &Vec<f64>, b: &Vec<f64>| bilinear(&self.theta_covariance, &self.free, a, b);
        joint.covariance = rows.iter().flat_map(|a| rows.iter().map(move |b| c(a, b))).collect();
        Some(joint)
    }

    /// Correlation of the free parameters, row by row; empty where the fit has no covariance.
    pub fn correlation(&self) -> Vec<f64> {
        let (m, c) = (self.names.len(), &self.covariance);
        let entry = |k: usize| c[k] / (c[k / m * (m + 1)] * c[k % m * (m + 1)]).sqrt();
        if c.len() == m * m { (0..m * m).map(entry).collect() } else { Vec::new() }
    }
}

/// A line a figure: `value ± u` with its unit.
impl fmt::Display for Joint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let n = self.names.len();
        for (k, (name, value)) in self.names.iter().zip(&self.values).enumerate() {
            let u = self.covariance.get(k * (n + 1)).map(|variance| variance.sqrt());
            write!(
                f,
                "{}{name:<11}{}",
                if k > 0 { "\n" } else { "" },
                quoted(*value, u, name.unit().symbol())
            )?;
        }
        Ok(())
    }
}
