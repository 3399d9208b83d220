//! What a file says of a sweep, made a [`Sweep`].

use super::contents::FileSweep;
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::reason::Reason;
use crate::sweep::{Change, Sweep, SweepError, SweepOptions};

impl FileSweep {
    /// The sweep, with `options` for what the file does not say; a caller who wants to overrule the file sets the fields
    /// here.
    ///
    /// # Errors
    /// [`SweepError`] for what no sweep may hold; `None` in place of it where a density has no area.
    pub fn sweep(&self, options: SweepOptions) -> Result<Sweep, Option<SweepError>> {
        let mut options = options;
        let number = |value: f64, unit: Unit| Estimate::without_u(value, unit, Reason::Given);
        if let Some(area) = self.area_cm2 {
            options.area_cm2 = Some(number(area, Unit::Cm2));
        }
        if let Some(irradiance) = self.irradiance_w_m2 {
            options.irradiance_w_m2 = Some(number(irradiance, Unit::WattPerM2));
        }
        options.temperature_c = self.temperature_c.unwrap_or(options.temperature_c);
        options.cells = self.cells.unwrap_or(options.cells);
        options.swept = self.swept.unwrap_or(options.swept);
        options.sign = self.sign.unwrap_or(options.sign);
        options.leads = self.leads.unwrap_or(options.leads);
        options.label = self.label.clone().or(options.label);
        options.time_s = self.time_s.clone().or(options.time_s);
        let record = |text: &String| Change::asked_for(text.clone(), "");
        let said = self.said.iter().map(|(_, text)| text).chain(self.doubts.iter().map(|(_, text)| text));
        options.changes.extend(self.notes.iter().chain(said).chain(&self.warnings).map(record));
        let area = match (self.is_density, &options.area_cm2) {
            (false, _) => 1.0,
            (true, Some(area)) => area.value,
            (true, None) => return Err(None),
        };
        let current: Vec<f64> = self.current_a.iter().map(|j| j * area).collect();
        Sweep::new(&self.voltage_v, &current, options).map_err(Some)
    }
}
