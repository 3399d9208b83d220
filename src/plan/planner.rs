//! What a plan needs of whatever it is made for: set points, and the uncertainty that they give.

use super::error::PlanError;
use super::figures::all_figures;
use super::information::Reading;
use super::note::PlanNote;
use super::of_model::Knowledge;
use super::options::MOST_POINTS;
use super::setting::{Setting, WIDER, determined, figure_of};
use crate::diode::Device;
use crate::fit::Figure;

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

    /// Their standard uncertainties from readings at the set points; `None` where those leave a figure open.
    fn u(&self, set: &[f64]) -> Vec<Option<f64>>;

    /// The same where every set point is read `times` times and the mean taken.
    fn u_repeated(&self, set: &[f64], times: usize) -> Vec<Option<f64>>;

    /// An error for the first of the given devices whose target the set points leave open.
    fn serve(&self, set: &[f64]) -> Result<(), PlanError>;

    /// What must be known of the setting.
    fn notes(&self) -> Vec<PlanNote>;

    /// An error for a number of points that cannot be planned.
    fn allows(&self, points: usize) -> Result<(), PlanError> {
        let fewest = self.fewest();
        if (fewest..=MOST_POINTS).contains(&points) {
            Ok(())
        } else {
            Err(PlanError::Points { given: points, fewest, most: MOST_POINTS })
        }
    }

    /// The place of a figure among `figures`, and its value in SI units.
    fn place_of(&self, figure: Figure) -> Option<(usize, f64)> {
        self.figures().into_iter().enumerate().find(|(_, f)| f.0 == figure).map(|(k, f)| (k, f.1))
    }
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
        self.in_equal_voltages(points)
    }

    fn equal_currents(&self, points: usize) -> Option<Vec<f64>> {
        self.in_equal_currents(points)
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
            let (value, by) = figure_of(self.first(), figure, &self.held)?;
            known.as_ref()?.u(&by).filter(|u| determined(figure, value, *u))
        };
        self.figures().into_iter().map(of).collect()
    }

    fn u_repeated(&self, set: &[f64], times: usize) -> Vec<Option<f64>> {
        self.u(&set.repeat(times))
    }

    fn serve(&self, set: &[f64]) -> Result<(), PlanError> {
        let open = |device: &Device<K>| {
            let u = || {
                let (value, by) = figure_of(device, self.target, &self.held)?;
                self.knowledge(device, set)?.u(&by).filter(|u| determined(self.target, value, *u))
            };
            u().is_none()
        };
        self.given()
            .iter()
            .position(open)
            .map_or(Ok(()), |index| Err(self.not_determined_error(index, WIDER)))
    }

    fn notes(&self) -> Vec<PlanNote> {
        let [from, to] = self.ends();
        let narrowed = self.narrowed.then_some(PlanNote::Narrowed { from, to });
        let one_sided = self.one_sided.then_some(PlanNote::OneSided { highest_a: to.1 });
        narrowed.into_iter().chain(one_sided).collect()
    }
}
