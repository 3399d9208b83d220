//! What a plan needs of whatever it is made for: set points, and the uncertainty that they give.

use super::error::PlanError;
use super::information::Reading;
use super::of_model::Knowledge;
use super::setting::{Setting, figure_of};
use crate::fit::{Figure, names};
use crate::quantity::key_points::{KeyPoint, NAMES};

/// Makes plans, and says what set points would give of the first of the expected devices.
pub(super) trait Planner {
    /// Fewest set points that can be planned.
    fn fewest(&self) -> usize;

    /// The set points that make the uncertainty of the target least, rising.
    fn plan(&self, points: usize) -> Result<Vec<f64>, PlanError>;

    /// Set points in equal steps of the voltage.
    fn equal_voltages(&self, points: usize) -> Option<Vec<f64>>;

    /// Set points in equal steps of the current.
    fn equal_currents(&self, points: usize) -> Option<Vec<f64>>;

    /// Voltage in V and current in A of a set point.
    fn shown(&self, x: f64) -> Option<(f64, f64)>;

    /// The figures that the method gives, with their values in SI units.
    fn figures(&self) -> Vec<(Figure, f64)>;

    /// Their standard uncertainties from readings at the set points.
    fn u(&self, set: &[f64]) -> Vec<Option<f64>>;
}

/// Key points of a model, then its parameters; those that the device has.
pub(super) fn all_figures(diodes: usize) -> impl Iterator<Item = Figure> {
    let points = KeyPoint::ALL.into_iter().take(NAMES.len()).map(Figure::KeyPoint);
    points.chain(names(diodes).iter().map(|p| Figure::Parameter(*p)))
}

/// By the fitted model.
impl<const K: usize, const N: usize> Planner for Setting<K, N> {
    fn fewest(&self) -> usize {
        self.free()
    }

    fn plan(&self, points: usize) -> Result<Vec<f64>, PlanError> {
        self.best_set_points(points)
    }

    fn equal_voltages(&self, points: usize) -> Option<Vec<f64>> {
        self.in_equal_voltages(&self.candidates(), points)
    }

    fn equal_currents(&self, points: usize) -> Option<Vec<f64>> {
        self.in_equal_currents(&self.candidates(), points)
    }

    fn shown(&self, x: f64) -> Option<(f64, f64)> {
        self.reading(self.first(), x).map(|r: Reading<N>| (r.voltage_v, r.current_a))
    }

    fn figures(&self) -> Vec<(Figure, f64)> {
        let value = |figure| {
            let (value, by) = figure_of(self.first(), figure, &self.held)?;
            by.iter().any(|d| *d != 0.0).then_some((figure, value))
        };
        all_figures(K).filter_map(value).collect()
    }

    fn u(&self, set: &[f64]) -> Vec<Option<f64>> {
        let known: Option<Knowledge<N>> = self.knowledge(self.first(), set);
        let of = |(figure, _): (Figure, f64)| {
            let (_, by) = figure_of(self.first(), figure, &self.held)?;
            known.as_ref()?.u(&by)
        };
        self.figures().into_iter().map(of).collect()
    }
}
