//! What a tracer does to a curve.

use super::error::SimulationError;
use crate::setters::setters;
use crate::sweep::{Noise, Swept};

/// A tracer: its set points, and each of its faults; 0 (or infinity for a limit) switches a fault off.
///
/// # Examples
/// ```
/// use litdiode::simulate::Instrument;
/// use litdiode::sweep::Swept;
/// let tracer = Instrument::default().swept(Swept::Current).start(0.0).stop(0.030).noise_voltage_v(1e-3);
/// assert_eq!((tracer.noise().voltage_v, tracer.noise().current_a), (1e-3, 0.0));
/// assert!(tracer.validate().is_ok() && tracer.noise_voltage_v(-1.0).validate().is_err());
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(remote = "Self"))]
#[non_exhaustive]
pub struct Instrument {
    /// The quantity that is stepped.
    pub swept: Swept,
    /// First set point in V, or in A where the current is stepped.
    pub start: f64,
    /// Last set point; below `start` for a sweep downwards.
    pub stop: f64,
    /// Number of set points, evenly spaced.
    pub points: usize,
    /// Scatter of a voltage reading in V (standard deviation, normal).
    pub noise_voltage_v: f64,
    /// Scatter of a current reading in A.
    pub noise_current_a: f64,
    /// Scatter of a current reading as a share of it.
    pub noise_current_rel: f64,
    /// Quantisation step of the voltage in V.
    pub voltage_step_v: f64,
    /// Quantisation step of the current in A.
    pub current_step_a: f64,
    /// Added to every voltage reading, in V.
    pub voltage_offset_v: f64,
    /// Added to every current reading, in A.
    pub current_offset_a: f64,
    /// Resistance of the leads that the voltage is read across, in Ω: two-wire connection.
    pub lead_resistance_ohm: f64,
    /// Largest |current| that the instrument carries, in A.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub compliance_a: f64,
    /// Largest |voltage| that the instrument sets, in V.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub compliance_v: f64,
    /// Time constant in s with which the device follows a step.
    pub time_constant_s: f64,
    /// Time from one set point to its reading, in s.
    pub dwell_s: f64,
}

setters!(Instrument {
    /// With the quantity that is stepped.
    swept: Swept,
    /// With the first set point in V, or in A where the current is stepped.
    start: f64,
    /// With the last set point; below `start` for a sweep downwards.
    stop: f64,
    /// With so many set points.
    points: usize,
    /// With the scatter of a voltage reading in V.
    noise_voltage_v: f64,
    /// With the scatter of a current reading in A.
    noise_current_a: f64,
    /// With the scatter of a current reading as a share of it.
    noise_current_rel: f64,
    /// With the quantisation step of the voltage in V.
    voltage_step_v: f64,
    /// With the quantisation step of the current in A.
    current_step_a: f64,
    /// With what is added to every voltage reading, in V.
    voltage_offset_v: f64,
    /// With what is added to every current reading, in A.
    current_offset_a: f64,
    /// With the resistance of the leads that the voltage is read across, in Ω.
    lead_resistance_ohm: f64,
    /// With the largest |current| that the instrument carries, in A.
    compliance_a: f64,
    /// With the largest |voltage| that the instrument sets, in V.
    compliance_v: f64,
    /// With the time constant in s with which the device follows a step.
    time_constant_s: f64,
    /// With the time from one set point to its reading, in s.
    dwell_s: f64,
});

#[cfg(feature = "serde")]
crate::numerics::serde_float::checked!(Instrument);

#[cfg(feature = "serde")]
impl Instrument {
    /// What no instrument has.
    fn wrong(&self) -> Option<String> {
        self.validate().err().map(|e| e.to_string())
    }
}

impl Default for Instrument {
    /// 25 points from −0.1 to 0.7 V without a fault, 0.1 s each.
    fn default() -> Self {
        Self {
            swept: Swept::Voltage,
            start: -0.1,
            stop: 0.7,
            points: 25,
            noise_voltage_v: 0.0,
            noise_current_a: 0.0,
            noise_current_rel: 0.0,
            voltage_step_v: 0.0,
            current_step_a: 0.0,
            voltage_offset_v: 0.0,
            current_offset_a: 0.0,
            lead_resistance_ohm: 0.0,
            compliance_a: f64::INFINITY,
            compliance_v: f64::INFINITY,
            time_constant_s: 0.0,
            dwell_s: 0.1,
        }
    }
}

impl Instrument {
    /// All properties in their domains.
    ///
    /// # Errors
    /// [`SimulationError::Property`] naming the first that is not.
    pub fn validate(&self) -> Result<(), SimulationError> {
        let bad = |name, value, cure| Err(SimulationError::Property { name, value, cure });
        for (name, value) in [
            ("start", self.start),
            ("stop", self.stop),
            ("voltage_offset_v", self.voltage_offset_v),
            ("current_offset_a", self.current_offset_a),
        ] {
            if !value.is_finite() {
                return bad(name, value, "give a finite number");
            }
        }
        for (name, value) in [
            ("noise_voltage_v", self.noise_voltage_v),
            ("noise_current_a", self.noise_current_a),
            ("noise_current_rel", self.noise_current_rel),
            ("voltage_step_v", self.voltage_step_v),
            ("current_step_a", self.current_step_a),
            ("lead_resistance_ohm", self.lead_resistance_ohm),
            ("time_constant_s", self.time_constant_s),
        ] {
            if !(value >= 0.0 && value.is_finite()) {
                return bad(name, value, "give a finite number, 0 or more");
            }
        }
        for (name, value) in [("compliance_a", self.compliance_a), ("compliance_v", self.compliance_v)] {
            if value.is_nan() || value <= 0.0 {
                return bad(name, value, "give a limit above 0, infinite for none");
            }
        }
        if !(self.dwell_s > 0.0 && self.dwell_s.is_finite()) {
            return bad("dwell_s", self.dwell_s, "give a time above 0");
        }
        if !(2..=10_000_000).contains(&self.points) {
            return bad("points", self.points as f64, "give 2 to 10 million points");
        }
        Ok(())
    }

    /// The scatter that the owner of such an instrument could state.
    pub fn noise(&self) -> Noise {
        Noise {
            voltage_v: self.noise_voltage_v,
            current_a: self.noise_current_a,
            current_rel: self.noise_current_rel,
            voltage_step_v: self.voltage_step_v,
            current_step_a: self.current_step_a,
            ..Noise::default()
        }
    }

    /// The set point number `k`.
    pub(super) fn set_point(&self, k: usize) -> f64 {
        let t = k as f64 / (self.points - 1) as f64;
        self.start * (1.0 - t) + self.stop * t
    }
}
