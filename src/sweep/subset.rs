//! Some of the readings of a sweep as a sweep of their own.

use super::effect::{Effect, Shared};
use super::error::SweepError;
use super::{Change, Leads, Raw, Sign, Sweep};

impl Sweep {
    /// The readings `kept`, in the order of these indices, with everything that goes with them; `changes` says what was done.
    ///
    /// # Errors
    /// [`SweepError`] where they are too few, and as for [`Sweep::new`].
    pub fn subset(&self, kept: &[usize], changes: Vec<Change>) -> Result<Self, SweepError> {
        let (v, i) = self.raw();
        let raw = Raw {
            voltage_v: taken(&v, kept),
            current_a: taken(&i, kept),
            corrections: self.corrections().to_vec(),
        };
        self.reduced(kept, changes, raw)
    }

    /// The sweep without the readings `left_out`; [`Sweep::raw`] has them still.
    ///
    /// # Errors
    /// As [`Sweep::subset`].
    pub fn without(&self, left_out: &[usize], change: Change) -> Result<Self, SweepError> {
        let kept: Vec<usize> = (0..self.len()).filter(|k| !left_out.contains(k)).collect();
        let (voltage_v, current_a) = self.raw();
        let raw = Raw { voltage_v, current_a, corrections: self.corrections().to_vec() };
        self.reduced(&kept, vec![change], raw)
    }

    fn reduced(&self, kept: &[usize], changes: Vec<Change>, raw: Raw) -> Result<Self, SweepError> {
        let mut options = self.options().clone().sign(Sign::Generator).leads(Leads::AsGiven);
        options.changes = self.changes().iter().cloned().chain(changes).collect();
        options.time_s = options.time_s.map(|time| taken(&time, kept));
        options.effects = options.effects.into_iter().map(|e| of_points(e, kept)).collect();
        let (voltage_v, current_a) = (taken(self.voltage_v(), kept), taken(self.current_a(), kept));
        Self::corrected(&voltage_v, &current_a, options, Some(raw))
    }
}

fn taken(x: &[f64], kept: &[usize]) -> Vec<f64> {
    kept.iter().filter_map(|&k| x.get(k).copied()).collect()
}

/// An effect on some of the points.
fn of_points(effect: Effect, kept: &[usize]) -> Effect {
    let (voltage_v, current_a) = (taken(&effect.voltage_v, kept), taken(&effect.current_a, kept));
    let shared = effect.shared.map(|shared| {
        let each = shared.each.iter().map(|row| taken(row, kept)).collect();
        Shared { each, ..shared }
    });
    Effect { voltage_v, current_a, shared, ..effect }
}
