//! What comes of the readings so far: running figures, what is missing, the sweep, the whole fit.

use super::error::LiveError;
use super::live_sweep::LiveSweep;
use super::running_figures::{Span, key_points, relative_u};
use crate::diode::{Junction, thermal_voltage_v};
use crate::fit::{Fit, Options, Parameter, Wishes, fit_single_diode};
use crate::quantity::key_points::{Absence, KeyPoint, KeyPoints};
use crate::quantity::reason::Reason;
use crate::sweep::{Change, Leads, Sign, Sweep};
use std::time::Duration;

impl LiveSweep {
    /// Key points of a single diode fitted to the readings so far; what they do not give is absent, with the reason.
    pub fn key_points(&mut self) -> KeyPoints {
        self.settle();
        let span = Span::of(&self.readings);
        key_points(&self.fit, &span, &self.options.sweep)
    }

    /// The figures that have no ± yet, and what they wait for.
    pub fn missing(&mut self) -> Vec<Absence> {
        let points = self.key_points();
        let six = KeyPoint::ALL.into_iter().take(6);
        six.filter_map(|point| {
            let why = match points.get(point.name()) {
                Some(estimate) if estimate.u.is_some() => return None,
                Some(estimate) => estimate.notes.first().cloned().unwrap_or(Reason::NoCovariance),
                None => points.why_absent(point.name())?.clone(),
            };
            Some(Absence { figure: point.name().into(), why })
        })
        .collect()
    }

    /// Relative standard uncertainty of the target, as the stop compares it with what is wanted.
    pub fn relative_u(&mut self) -> Option<f64> {
        self.settle();
        relative_u(&self.fit, self.options.target).map(|r| r.whole())
    }

    /// The running curve at voltages in V, in A, both in generator sign; `None` before there is one.
    pub fn curve(&mut self, voltage_v: &[f64]) -> Option<Vec<f64>> {
        self.settle();
        let circuit = self.fit.circuit()?;
        Some(voltage_v.iter().map(|v| circuit.current_at(*v)).collect())
    }

    /// The sweep of the readings so far, without those that are flagged.
    ///
    /// # Errors
    /// [`LiveError::Sweep`] for readings that are no sweep: fewer than two, or all at one voltage.
    pub fn sweep(&self) -> Result<Sweep, LiveError> {
        let kept: Vec<usize> = (0..self.len()).filter(|&k| self.readings.is_fitted(k)).collect();
        let host = |k: &usize| self.axes.turned(self.readings.voltage_v[*k], self.readings.current_a[*k]);
        let (voltage_v, current_a): (Vec<f64>, Vec<f64>) = kept.iter().map(host).unzip();
        let mut options = self.options.sweep.clone();
        options.sign = if options.sign == Sign::Auto { Sign::Generator } else { options.sign };
        options.leads = if options.leads == Leads::Auto { Leads::AsGiven } else { options.leads };
        let time_s: Vec<f64> = kept.iter().map(|&k| self.readings.time_s[k]).collect();
        options.time_s = Some(time_s).filter(|t| t.iter().all(|t| !t.is_nan()));
        let flagged = self.len() - kept.len();
        if flagged > 0 {
            let what = format!("flagged readings left out: {flagged}");
            let why = "wild, outside the limits or off their set point, and no second reading confirmed them";
            options.changes.push(Change::asked_for(what, why));
        }
        Ok(Sweep::new(&voltage_v, &current_a, options)?)
    }

    /// The fit of the readings so far, with intervals and notes, from the running one; one that is still at work at the
    /// deadline comes back as it is, with its status.
    ///
    /// # Errors
    /// [`LiveError`] for readings that are no sweep, or too few to fit.
    pub fn fit(&mut self, deadline: Duration) -> Result<Fit<1>, LiveError> {
        self.settle();
        let sweep = self.sweep()?;
        let mut wishes = Wishes::default();
        if let Some(c) = self.fit.circuit().filter(|c| c.iph > 0.0) {
            let n =
                c.a[0] / thermal_voltage_v(1.0, self.options.sweep.cells, self.options.sweep.temperature_c);
            for (parameter, value) in Parameter::OF_ONE.into_iter().zip([c.iph, c.i0[0], n, c.rs, 1.0 / c.g])
            {
                // What lies on a limit in θ may be beyond it by rounding.
                let (low, high) = parameter.kind().limits(1);
                wishes = wishes.start(parameter, value.clamp(low, high));
            }
        }
        Ok(fit_single_diode(&sweep, &Options::default().wishes(wishes).deadline(deadline))?)
    }
}
