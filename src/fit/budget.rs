//! What the uncertainty of a figure of a fit is made of: the scatter of the readings, gains and offsets, every effect of the
//! sweep; area and irradiance where they enter.

use super::derived_quantity::Derived;
use super::parameters::{Figure, names};
use super::result::Fit;
use crate::quantity::budget::{Budget, of_surroundings};
use crate::quantity::reason::Reason;

impl<const K: usize> Fit<K> {
    /// The sources of the uncertainty of a [`Parameter`](super::Parameter) or [`KeyPoint`](crate::key_points::KeyPoint), to first order.
    ///
    /// # Errors
    /// The reason why the figure, or its ±, is absent.
    pub fn budget(&self, figure: impl Into<Figure>) -> Result<Budget, Reason> {
        let figure = figure.into();
        let (estimate, by) = match figure {
            Figure::Parameter(parameter) => {
                let mut by = vec![0.0; self.theta.len()];
                if let Some(k) = names(K).iter().position(|p| *p == parameter) {
                    by[k] = 1.0;
                }
                (self.parameter(parameter).cloned(), by)
            }
            Figure::KeyPoint(point) => {
                let mut by = vec![0.0; self.theta.len()];
                Derived::behind(point).evaluate(self.model.circuit(), &mut by);
                (self.present_key_points().get(point.name()).cloned(), by)
            }
        };
        let estimate = estimate.ok_or(Reason::Unrecorded)?;
        let Some(u) = estimate.u else {
            return Err(estimate.notes.first().cloned().unwrap_or(Reason::NoCovariance));
        };
        let options = self.sweep.options();
        let around = match figure {
            Figure::KeyPoint(point) => {
                let of = (options.area_cm2.as_ref(), options.irradiance_w_m2.as_ref());
                of_surroundings(point, estimate.value, of)
            }
            Figure::Parameter(_) => Vec::new(),
        };
        let electrical = u * u - around.iter().map(|a| a.1).sum::<f64>();
        let all = self.variance_of(&by).ok_or(Reason::NoCovariance)?;
        // Shares on the scale of the coordinates, where they are of first order.
        let mut named = around;
        for (source, shift) in
            self.weights.points.common_effects(options).into_iter().zip(&self.weights.common)
        {
            let moved: f64 = self.free.iter().zip(shift).map(|(&k, s)| by[k] * s).sum();
            named.push((source.name, electrical * moved * moved / all));
        }
        Ok(Budget::new(figure.name(), estimate, named))
    }
}
