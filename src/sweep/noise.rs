//! The noise of an instrument: what scatters from point to point, and what is common to all.
//!
//! ```text
//! σ² = floor² + (rel·x̂)² + step²/12        scatter of one reading; x̂ from a smooth or a fit
//! ```
//!
//! Floor, proportional part and quantisation step are independent from point to point and average down; a
//! gain or an offset is common to all points, does not, and is added to figures after the fit. The step's
//! 1/√12 is the standard deviation of a rectangular distribution (JCGM 100:2008, 4.3.7).

use super::error::SweepError;
use crate::quantity::source::{Aside, Identity, Instrument};
use crate::setters::setters;

/// Standard uncertainties of an instrument; a part that is 0 is not stated.
///
/// # Examples
/// ```
/// use litdiode::sweep::Noise;
/// let noise = Noise::default().current_a(3e-6).current_rel(0.004);
/// assert!((noise.sigma_current(1e-3) - 5e-6).abs() < 1e-12);
/// ```
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Noise {
    /// Scatter of a voltage reading in V.
    pub voltage_v: f64,
    /// Scatter of a current reading in A.
    pub current_a: f64,
    /// Scatter of a voltage reading as a share of it.
    pub voltage_rel: f64,
    /// Scatter of a current reading as a share of it.
    pub current_rel: f64,
    /// Quantisation step of the voltage in V.
    pub voltage_step_v: f64,
    /// Quantisation step of the current in A.
    pub current_step_a: f64,
    /// Standard uncertainty of the voltage gain, a share.
    pub voltage_gain_u: f64,
    /// Standard uncertainty of the current gain, a share.
    pub current_gain_u: f64,
    /// Standard uncertainty of the voltage offset in V.
    pub voltage_offset_u: f64,
    /// Standard uncertainty of the current offset in A.
    pub current_offset_u: f64,
    /// Degrees of freedom behind the scatter; 0 for a scatter that is known.
    #[cfg_attr(feature = "serde", serde(default))]
    pub scatter_dof: f64,
    /// The instrument whose gains and offsets these are.
    #[cfg_attr(feature = "serde", serde(default))]
    pub(crate) instrument: Aside<Instrument>,
}

setters!(Noise {
    /// With the scatter of a voltage reading in V.
    voltage_v: f64,
    /// With the scatter of a current reading in A.
    current_a: f64,
    /// With the scatter of a voltage reading as a share of it; a floor goes with it.
    voltage_rel: f64,
    /// With the scatter of a current reading as a share of it; a floor goes with it.
    current_rel: f64,
    /// With the quantisation step of the voltage in V.
    voltage_step_v: f64,
    /// With the quantisation step of the current in A.
    current_step_a: f64,
    /// With the standard uncertainty of the voltage gain, a share.
    voltage_gain_u: f64,
    /// With the standard uncertainty of the current gain, a share.
    current_gain_u: f64,
    /// With the standard uncertainty of the voltage offset in V.
    voltage_offset_u: f64,
    /// With the standard uncertainty of the current offset in A.
    current_offset_u: f64,
    /// With the degrees of freedom behind the scatter; 0 for a scatter that is known.
    scatter_dof: f64,
});

impl Noise {
    /// Names of the standard uncertainties that are common to all points, in the order of [`Noise::common`].
    pub(crate) const COMMON: [&'static str; 4] =
        ["voltage gain", "voltage offset", "current gain", "current offset"];

    /// The standard uncertainties that are common to all points; gains are shares, offsets in V and A.
    pub(crate) const fn common(&self) -> [f64; 4] {
        [self.voltage_gain_u, self.voltage_offset_u, self.current_gain_u, self.current_offset_u]
    }

    /// The noise of an instrument of its own: gains and offsets of sweeps that carry copies of it are the same, so that a
    /// difference of two of their figures is free of them. Without it they count as independent.
    #[must_use]
    pub fn of_one_instrument(mut self) -> Self {
        self.instrument = Aside(Instrument::distinct());
        self
    }

    /// The same for the instrument of this name, in every program.
    #[must_use]
    pub fn of_instrument(mut self, name: &str) -> Self {
        self.instrument = Aside(Instrument::named(name));
        self
    }

    /// What each of [`Noise::COMMON`] has in common with other sweeps, where the instrument is known.
    pub(crate) fn identities(&self) -> [Option<Identity>; 4] {
        std::array::from_fn(|k| Some(self.instrument.0.identity()?.part(k)))
    }

    /// That of readings multiplied by factors of the voltage and of the current.
    pub(super) fn scaled(self, voltage: f64, current: f64) -> Self {
        Self {
            voltage_v: self.voltage_v * voltage,
            voltage_step_v: self.voltage_step_v * voltage,
            voltage_offset_u: self.voltage_offset_u * voltage,
            current_a: self.current_a * current,
            current_step_a: self.current_step_a * current,
            current_offset_u: self.current_offset_u * current,
            ..self
        }
    }

    /// Scatter in V of a reading near `voltage_v`.
    pub fn sigma_voltage(&self, voltage_v: f64) -> f64 {
        scatter(self.voltage_v, self.voltage_rel * voltage_v, self.voltage_step_v)
    }

    /// Scatter in A of a reading near `current_a`.
    pub fn sigma_current(&self, current_a: f64) -> f64 {
        scatter(self.current_a, self.current_rel * current_a, self.current_step_a)
    }

    /// Degrees of freedom behind the scatter that is stated.
    pub fn dof(&self) -> f64 {
        if self.scatter_dof > 0.0 { self.scatter_dof } else { f64::INFINITY }
    }

    /// Whether any scatter of the voltage is stated.
    pub fn states_voltage(&self) -> bool {
        self.voltage_v > 0.0 || self.voltage_rel > 0.0 || self.voltage_step_v > 0.0
    }

    /// Whether any scatter of the current is stated.
    pub fn states_current(&self) -> bool {
        self.current_a > 0.0 || self.current_rel > 0.0 || self.current_step_a > 0.0
    }

    /// Whether any scatter is stated, of either axis.
    pub fn states_scatter(&self) -> bool {
        self.states_voltage() || self.states_current()
    }

    /// Whether the scatter of either axis depends on the reading.
    pub(crate) fn is_proportional(&self) -> bool {
        self.voltage_rel > 0.0 || self.current_rel > 0.0
    }

    /// All parts finite and not negative; a proportional part with a floor.
    ///
    /// # Errors
    /// [`SweepError::Option`] naming the part, [`SweepError::NoFloor`].
    pub fn validate(&self) -> Result<(), SweepError> {
        let cure = "give a standard uncertainty, 0 or more";
        for (name, value) in self.parts() {
            if !(value.is_finite() && value >= 0.0) {
                return Err(SweepError::Option { name, value, cure });
            }
        }
        if self.voltage_rel > 0.0 && self.sigma_voltage(0.0) == 0.0 {
            return Err(SweepError::NoFloor { axis: "voltage", unit: "v", value: self.voltage_rel });
        }
        if self.current_rel > 0.0 && self.sigma_current(0.0) == 0.0 {
            return Err(SweepError::NoFloor { axis: "current", unit: "a", value: self.current_rel });
        }
        Ok(())
    }

    fn parts(&self) -> [(&'static str, f64); 11] {
        [
            ("noise: voltage_v", self.voltage_v),
            ("noise: current_a", self.current_a),
            ("noise: voltage_rel", self.voltage_rel),
            ("noise: current_rel", self.current_rel),
            ("noise: voltage_step_v", self.voltage_step_v),
            ("noise: current_step_a", self.current_step_a),
            ("noise: voltage_gain_u", self.voltage_gain_u),
            ("noise: current_gain_u", self.current_gain_u),
            ("noise: voltage_offset_u", self.voltage_offset_u),
            ("noise: current_offset_u", self.current_offset_u),
            ("noise: scatter_dof", self.scatter_dof),
        ]
    }
}

fn scatter(floor: f64, proportional: f64, step: f64) -> f64 {
    floor.hypot(proportional).hypot(step / 12f64.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_of_either_reading_is_proportional() {
        let floor = Noise::default().voltage_v(1e-3).current_a(1e-6);
        assert!(!floor.is_proportional());
        assert!(floor.voltage_rel(0.01).is_proportional() && floor.current_rel(0.01).is_proportional());
    }
}
