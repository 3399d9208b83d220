//! A diode fit of some readings of a sweep that asks for no uncertainty: optimum and residuals, nothing else.

use super::multistart::{Effort, descend, search_with};
use super::residuals::{Points, Problem, Residual};
use super::weights::{Place, automatic_residual, is_absolute, weigh};
use super::wishes::Wishes;
use crate::diode::{Circuit, Junction, thermal_voltage_v};
use crate::numerics::least_squares::problem::Residuals;
use crate::sweep::Sweep;

/// Free parameters of one diode.
const FREE: usize = 5;

/// The optimum of one diode on some of the readings.
pub(crate) struct Pilot {
    theta: Vec<f64>,
    /// Residuals in units of σ; where none is stated, of the largest reading.
    pub residuals: Vec<f64>,
    /// Their sum of squares.
    pub chi2: f64,
    /// Readings less parameters.
    pub dof: usize,
    /// Whether σ is the stated noise.
    pub absolute: bool,
    /// Whether the voltage is what was read.
    pub on_voltage: bool,
    /// σ of every reading of the sweep, kept or not, on the axis that was read.
    sigma: Vec<f64>,
}

impl Pilot {
    /// The fit of the readings `kept` by the automatic residual, from a start of its own or the optimum of `from`;
    /// `None` where there are no degrees of freedom or no weights.
    pub fn of(sweep: &Sweep, kept: &[usize], from: Option<&Self>) -> Option<Self> {
        Self::with(sweep, kept, from, Effort::SHORT)
    }

    /// The same by as many descents as a fit makes.
    pub fn thorough(sweep: &Sweep, kept: &[usize]) -> Option<Self> {
        Self::with(sweep, kept, None, Effort::whole(1))
    }

    fn with(sweep: &Sweep, kept: &[usize], from: Option<&Self>, effort: Effort) -> Option<Self> {
        let place = Place::of_readings(sweep);
        let found = Self::weighed_at(sweep, kept, &place, (from, effort))?;
        if !sweep.carries_noise_through_leads() {
            return Some(found);
        }
        let place = Place::on_curve::<1>(&found.theta, sweep, automatic_residual(sweep));
        Self::weighed_at(sweep, kept, &place, (Some(&found), effort))
    }

    fn weighed_at(
        sweep: &Sweep,
        kept: &[usize],
        place: &Place,
        (from, effort): (Option<&Self>, Effort),
    ) -> Option<Self> {
        let dof = kept.len().checked_sub(FREE).filter(|dof| *dof > 0)?;
        let residual = automatic_residual(sweep);
        let all = weigh(sweep, residual, place).ok()?;
        let of = |xs: &[f64]| kept.iter().map(|&k| xs[k]).collect();
        let points = Points {
            voltage_v: of(&all.voltage_v),
            current_a: of(&all.current_a),
            sigma_v: of(&all.sigma_v),
            sigma_a: of(&all.sigma_a),
        };
        let a_per_n = thermal_voltage_v(1.0, sweep.options().cells, sweep.options().temperature_c);
        let bounds = Wishes::default().limits(1, a_per_n).ok()?;
        let (solution, _) = match from {
            Some(from) => descend::<1>(&points, residual, &bounds, &from.theta, effort),
            None => search_with::<1>(&points, residual, &bounds, None, effort),
        };
        let mut residuals = vec![0.0; points.voltage_v.len()];
        let problem = Problem::<1> { points: &points, residual };
        let good = solution.cost.is_finite() && problem.evaluate(&solution.x, &mut residuals, None);
        good.then(|| Self {
            theta: solution.x,
            chi2: residuals.iter().map(|r| r * r).sum(),
            residuals,
            dof,
            absolute: is_absolute(sweep, residual),
            on_voltage: residual == Residual::Voltage,
            sigma: all
                .sigma_v
                .iter()
                .zip(&all.sigma_a)
                .map(|(v, a)| if *a > 0.0 { *a } else { *v })
                .collect(),
        })
    }

    /// σ of reading `k` on the axis that was read.
    pub fn sigma(&self, k: usize) -> f64 {
        self.sigma[k]
    }

    /// How far a reading lies from the curve along the voltage and along the current.
    pub fn distances(&self, voltage_v: f64, current_a: f64) -> (f64, f64) {
        let circuit = Circuit::<1>::from_theta(&self.theta);
        (voltage_v - circuit.voltage_at(current_a), current_a - circuit.current_at(voltage_v))
    }
}
