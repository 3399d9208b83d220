//! A [`Fit`] as plain data: what comes back is whole, or an error.

use super::parameters::names;
use super::residuals::Points;
use super::result::Fit;
use crate::numerics::least_squares::problem::Bounds;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

impl<const K: usize> Serialize for Fit<K> {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        Self::serialize(self, s)
    }
}

impl<'de, const K: usize> Deserialize<'de> for Fit<K> {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let fit = Self::deserialize(d)?;
        if let Some((what, has, wanted)) = fit.first_wrong_length() {
            return Err(D::Error::custom(format!("{what} has {has} entries where {wanted} are needed")));
        }
        match fit.contradiction() {
            Some(why) => Err(D::Error::custom(why)),
            None => Ok(fit),
        }
    }
}

/// [`Bounds`] before they are checked.
#[derive(Deserialize)]
#[serde(rename = "Bounds")]
struct RawBounds {
    #[serde(with = "crate::numerics::serde_float::list")]
    low: Vec<f64>,
    #[serde(with = "crate::numerics::serde_float::list")]
    high: Vec<f64>,
}

impl<'de> Deserialize<'de> for Bounds {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let RawBounds { low, high } = RawBounds::deserialize(d)?;
        Bounds::new(low, high).map_err(D::Error::custom)
    }
}

/// [`Points`] before they are checked.
#[derive(Deserialize)]
#[serde(rename = "Points")]
struct RawPoints {
    #[serde(with = "crate::numerics::serde_float::list")]
    voltage_v: Vec<f64>,
    #[serde(with = "crate::numerics::serde_float::list")]
    current_a: Vec<f64>,
    #[serde(with = "crate::numerics::serde_float::list")]
    sigma_v: Vec<f64>,
    #[serde(with = "crate::numerics::serde_float::list")]
    sigma_a: Vec<f64>,
}

impl<'de> Deserialize<'de> for Points {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let RawPoints { voltage_v, current_a, sigma_v, sigma_a } = RawPoints::deserialize(d)?;
        Points::new(voltage_v, current_a, sigma_v, sigma_a).map_err(D::Error::custom)
    }
}

impl<const K: usize> Fit<K> {
    /// What numbers of the right length contradict.
    fn contradiction(&self) -> Option<String> {
        let names = names(K);
        for (k, x) in self.theta.iter().enumerate() {
            let (low, high) = (self.bounds.low[k], self.bounds.high[k]);
            if !(low..=high).contains(x) {
                return Some(format!("theta[{k}] = {x} lies outside its bounds {low} to {high}"));
            }
            let (value, u) = (self.parameters[k].1.value, self.parameters[k].1.u);
            if value.is_nan() || u.is_some_and(|u| !(u.is_finite() && u >= 0.0)) {
                return Some(format!(
                    "parameter {} = {value} with u = {u:?} is no estimate",
                    names[k].name()
                ));
            }
            if self.parameters[k].0 != names[k] {
                return Some(format!("parameter {k} is {}, not {}", self.parameters[k].0, names[k]));
            }
        }
        if !self.free.is_sorted_by(|a, b| a < b) {
            return Some("free holds a position twice, or out of order".into());
        }
        let finite = |list: &[f64]| list.iter().all(|x| x.is_finite());
        let whole = finite(&self.theta_covariance) && finite(&self.covariance);
        let variances = (0..self.free.len()).all(|p| {
            let at = p * (self.free.len() + 1);
            self.theta_covariance.get(at).is_none_or(|v| *v >= 0.0)
                && self.covariance.get(at).is_none_or(|v| *v >= 0.0)
        });
        if !whole || !variances {
            return Some("covariance holds what no variance or covariance can be".into());
        }
        let common = self.weights.common.iter().all(|shift| finite(shift));
        let sums = [self.weights.cost, self.chi2, self.rms];
        let sound = sums.iter().all(|x| *x >= 0.0 && x.is_finite());
        if !(common && finite(&self.residuals) && sound) {
            return Some("residuals, rms, chi2, weights.cost and weights.common must be finite, the sums of squares 0 or more".into());
        }
        None
    }

    /// The first list that does not fit the others: its name, its length, and the one that it should have.
    fn first_wrong_length(&self) -> Option<(&'static str, usize, usize)> {
        let (points, all, free) = (self.sweep.len(), names(K).len(), self.free.len());
        let Points { voltage_v, current_a, sigma_v, sigma_a } = &self.weights.points;
        let or_none = |list: &[f64]| if list.is_empty() { 0 } else { free * free };
        let positions = self.free.iter().filter(|k| **k < all).count();
        let mut lists = vec![
            ("weights.points.voltage_v", voltage_v.len(), points),
            ("weights.points.current_a", current_a.len(), points),
            ("weights.points.sigma_v", sigma_v.len(), points),
            ("weights.points.sigma_a", sigma_a.len(), points),
            ("residuals", self.residuals.len(), points),
            ("theta", self.theta.len(), all),
            ("parameters", self.parameters.len(), all),
            ("bounds.low", self.bounds.low.len(), all),
            ("bounds.high", self.bounds.high.len(), all),
            ("free", positions, free),
            ("names", self.names.len(), free),
            ("covariance", self.covariance.len(), or_none(&self.covariance)),
            ("theta_covariance", self.theta_covariance.len(), or_none(&self.theta_covariance)),
        ];
        lists.extend(self.weights.common.iter().map(|shift| ("weights.common", shift.len(), free)));
        lists.extend(self.trace.iter().map(|step| ("trace", step.x.len(), all)));
        lists.into_iter().find(|(_, has, wanted)| has != wanted)
    }
}
