//! A [`Fit`] as plain data: what comes back is whole, or an error.

use super::names::names;
use super::problem::Points;
use super::result::Fit;
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
        match fit.first_wrong_length() {
            None => Ok(fit),
            Some((what, has, wanted)) => {
                Err(D::Error::custom(format!("{what} has {has} entries where {wanted} are needed")))
            }
        }
    }
}

impl<const K: usize> Fit<K> {
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
