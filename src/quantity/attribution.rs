//! Which sources move the figures of one sweep, so that they can be combined with those of another.
//!
//! ```text
//! C = Σ hₛ·hₛᵀ + L·Lᵀ        hₛ: change of the figures by a source s that other sweeps may share; L·Lᵀ: what is left
//! ```
//!
//! The columns of L (Cholesky) are sources of the sweep's own. They are worked out when a figure is asked for.

use crate::numerics::linear_algebra::semidefinite_factor;
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::{KeyPoint, KeyPoints, Surroundings};
use crate::quantity::source::{CommonSource, Identity, Source};

/// Name of what is the sweep's own.
const OWN: &str = "readings";

impl KeyPoints {
    /// Records a source that changes Isc, Voc, Pmax, V_Pmax and I_Pmax by `five`.
    pub(crate) fn attribute(&mut self, identity: Identity, name: &str, dof: f64, five: &[f64; 5]) {
        let by = KeyPoint::ALL.map(|figure| dot(&self.gradient(figure), five));
        let by = by.map(|x| if x.is_finite() { x } else { 0.0 });
        self.common.push(CommonSource { identity, name: name.to_owned(), dof, by });
    }

    /// Records what is known of area and irradiance, which Jsc and η follow from.
    pub(crate) fn attribute_surroundings(&mut self, around: Surroundings) {
        for (of, name, touches_jsc) in
            [(around.area_cm2, "area", true), (around.irradiance_w_m2, "irradiance", false)]
        {
            let Some(of) = of.filter(|e| e.is_identified() && e.value != 0.0) else { continue };
            let value = |e: &Option<Estimate>| e.as_ref().map_or(0.0, |e| e.value);
            let (jsc, efficiency) =
                (if touches_jsc { value(&self.jsc) } else { 0.0 }, value(&self.efficiency));
            for source in of.known_sources() {
                let share = -source.u / of.value;
                let by = [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, share * jsc, share * efficiency];
                // A name that a user gave says more.
                let name = if source.identity.is_named() { &source.name } else { name };
                let (name, identity, dof) = (name.to_owned(), source.identity, source.dof);
                self.common.push(CommonSource { identity, name, dof, by });
            }
        }
    }

    /// A figure with the sources of its uncertainty, so that it computes with other figures of this and of other sweeps;
    /// `None` where it is absent.
    pub fn traced(&self, figure: KeyPoint) -> Option<Estimate> {
        let estimate = self.get(figure.name())?.clone();
        let Some(u) = estimate.u.filter(|u| *u > 0.0) else { return Some(estimate) };
        let mut sources: Vec<Source> = Vec::new();
        let place = KeyPoint::ALL.iter().position(|f| *f == figure).unwrap_or(0);
        for c in self.common.iter().filter(|c| c.by[place] != 0.0) {
            match sources.iter_mut().find(|s| s.identity == c.identity) {
                Some(known) => known.u += c.by[place],
                None => sources.push(Source::new(c.identity.clone(), c.name.clone(), c.by[place], c.dof)),
            }
        }
        let named: f64 = sources.iter().map(|s| s.u * s.u).sum();
        let own = (u * u - named).max(0.0);
        // Welch–Satterthwaite, solved for what is left.
        let spread = u.powi(4) / estimate.dof - sources.iter().map(|s| s.u.powi(4) / s.dof).sum::<f64>();
        let dof = if spread > 0.0 { own * own / spread } else { f64::INFINITY };
        sources.extend(self.own_sources(figure, own, dof));
        let (dof, scale) = (estimate.dof, estimate.scale);
        let traced = Estimate { u: None, ..estimate }.with_sources(sources);
        Some(Estimate { u: Some(u), dof, scale, ..traced })
    }

    /// The sources that are the sweep's own, whose squares make `variance`.
    fn own_sources(&self, figure: KeyPoint, variance: f64, dof: f64) -> Vec<Source> {
        if variance == 0.0 {
            return Vec::new();
        }
        let (columns, n) = self.own_factor();
        let gradient = self.gradient(figure);
        let of = |k: usize| {
            (0..5).filter(|j| gradient[*j] != 0.0).map(|j| gradient[j] * columns[j * n + k]).sum::<f64>()
        };
        let mut changes: Vec<f64> = (0..n).map(of).collect();
        let found: f64 = changes.iter().map(|x| x * x).sum();
        // What a profile or a bound made of u has the correlations of the covariance.
        let factor = (variance / found).sqrt();
        if factor.is_finite() {
            changes.iter_mut().for_each(|x| *x *= factor);
        } else {
            changes = vec![variance.sqrt()];
        }
        let origin = self.origin();
        let parts = changes.into_iter().enumerate().filter(|(_, u)| *u != 0.0);
        parts.map(|(k, u)| Source::new(origin.part(k), OWN, u, dof)).collect()
    }

    /// L over the five figures, rows of absent ones being 0, and its width.
    fn own_factor(&self) -> (Vec<f64>, usize) {
        let m = self.names.len();
        let place = |figure: KeyPoint| self.names.iter().position(|n| *n == figure.name());
        let at: [Option<usize>; 5] = std::array::from_fn(|k| place(KeyPoint::ALL[k]));
        let mut rest = vec![0.0; 25];
        for j in 0..5 {
            for k in 0..5 {
                let (Some(a), Some(b)) = (at[j], at[k]) else { continue };
                let named: f64 = self.common.iter().map(|c| c.by[j] * c.by[k]).sum();
                rest[5 * j + k] = self.covariance[a * m + b] - named;
            }
        }
        (semidefinite_factor(&rest, 5), 5)
    }

    fn origin(&self) -> Identity {
        let values = KeyPoint::ALL.iter().filter_map(|f| self.get(f.name())).map(|e| e.value);
        let numbers: Vec<f64> = values.chain(self.covariance.iter().copied()).collect();
        Identity::of_sweep(self.readings.0, "figures", &numbers)
    }

    /// Derivatives of a figure by Isc, Voc, Pmax, V_Pmax and I_Pmax; NaN where one that enters is absent.
    pub(crate) fn gradient(&self, figure: KeyPoint) -> [f64; 5] {
        let value = |e: &Option<Estimate>| e.as_ref().map_or(f64::NAN, |e| e.value);
        let mut by = [0.0; 5];
        match figure {
            KeyPoint::Isc => by[0] = 1.0,
            KeyPoint::Voc => by[1] = 1.0,
            KeyPoint::Pmax => by[2] = 1.0,
            KeyPoint::VPmax => by[3] = 1.0,
            KeyPoint::IPmax => by[4] = 1.0,
            KeyPoint::Ff => {
                let ff = value(&self.ff);
                by[0] = -ff / value(&self.isc);
                by[1] = -ff / value(&self.voc);
                by[2] = ff / value(&self.pmax);
            }
            KeyPoint::Jsc => by[0] = value(&self.jsc) / value(&self.isc),
            KeyPoint::Efficiency => by[2] = value(&self.efficiency) / value(&self.pmax),
        }
        by
    }
}

/// Those that do not enter must not spoil the sum with the NaN of their absence.
pub(crate) fn dot(gradient: &[f64; 5], change: &[f64; 5]) -> f64 {
    gradient.iter().zip(change).filter(|(g, _)| **g != 0.0).map(|(g, c)| g * c).sum()
}
