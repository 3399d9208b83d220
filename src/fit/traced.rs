//! Figures of a fit with the sources of their uncertainty, so that they compute with those of other fits and sweeps.
//!
//! ```text
//! C = Σ δₛ·δₛᵀ + L·Lᵀ over the free coordinates        δₛ: shift by a source that other sweeps may share
//! ```

use super::parameters::{Kind, Parameter, names};
use super::result::Fit;
use crate::numerics::linear_algebra::semidefinite_factor;
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::KeyPoints;
use crate::quantity::source::{Aside, Identity, Source};

/// A source and its shift of the free coordinates.
struct Shift {
    identity: Identity,
    name: String,
    dof: f64,
    by: Vec<f64>,
}

impl<const K: usize> Fit<K> {
    /// A parameter with the sources of its uncertainty, to first order; `None` where the model does not have it.
    pub fn traced_parameter(&self, parameter: Parameter) -> Option<Estimate> {
        let estimate = self.parameter(parameter)?.clone();
        let place = names(K).iter().position(|p| *p == parameter);
        let at = place.and_then(|k| self.free.iter().position(|f| *f == k));
        let (Some(u), Some(at)) = (estimate.u.filter(|u| *u > 0.0), at) else { return Some(estimate) };
        let shifts = self.shifts();
        let all: f64 = shifts.iter().map(|s| s.by[at].powi(2)).sum();
        // g falls where Rsh rises.
        let sense = if parameter.kind() == Kind::Rsh { -1.0 } else { 1.0 };
        let factor = sense * u / all.sqrt();
        if !factor.is_finite() {
            return Some(estimate);
        }
        let sources = shifts.into_iter().filter(|s| s.by[at] != 0.0);
        let sources = sources.map(|s| Source::new(s.identity, s.name, factor * s.by[at], s.dof)).collect();
        let (dof, scale) = (estimate.dof, estimate.scale);
        Some(Estimate { u: Some(u), dof, scale, ..estimate.with_sources(sources) })
    }

    /// [`Fit::key_points`], their correlations with the parameters and with figures of other sweeps recorded.
    pub fn traced_key_points(&self) -> KeyPoints {
        let mut points = self.key_points();
        points.readings = Aside(self.sweep.digest());
        if points.names.is_empty() {
            return points;
        }
        let jacobian = self.model.circuit().key_point_jacobian();
        for shift in self.shifts() {
            let along = |row: &Vec<f64>| self.free.iter().zip(&shift.by).map(|(&k, s)| row[k] * s).sum();
            let five: [f64; 5] = std::array::from_fn(|k| along(&jacobian.rows[k]));
            points.attribute(shift.identity, &shift.name, shift.dof, &five);
        }
        points
    }

    /// The common sources, and the columns of what is left.
    fn shifts(&self) -> Vec<Shift> {
        let m = self.free.len();
        if self.theta_covariance.len() != m * m {
            return Vec::new();
        }
        let common = self.weights.points.common_effects(self.sweep.options());
        let mut rest = self.theta_covariance.clone();
        let mut shifts = Vec::new();
        for (effect, by) in common.into_iter().zip(&self.weights.common) {
            let Some(identity) = effect.identity else { continue };
            (0..m * m).for_each(|k| rest[k] -= by[k / m] * by[k % m]);
            shifts.push(Shift { identity, name: effect.name, dof: effect.dof, by: by.clone() });
        }
        let numbers: Vec<f64> = self.theta.iter().copied().chain([self.weights.cost]).collect();
        let origin = Identity::of_sweep(self.sweep.digest(), "fit", &numbers);
        let factor = semidefinite_factor(&rest, m);
        for k in 0..m {
            let by: Vec<f64> = (0..m).map(|j| factor[j * m + k]).collect();
            let (identity, name) = (origin.part(k), "readings".to_owned());
            shifts.push(Shift { identity, name, dof: self.effective_dof(), by });
        }
        shifts
    }
}
