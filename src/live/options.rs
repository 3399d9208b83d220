//! What is fixed before the first reading.

use super::error::LiveError;
use crate::quantity::key_points::KeyPoint;
use crate::setters::setters;
use crate::sweep::{Correction, SweepOptions, Swept};

/// Fewest readings that there must be room for: those of the bracket and a fit.
const FEWEST: usize = 8;
/// Most of them.
const MOST: usize = 100_000;

/// In which order set points are given once the curve is bracketed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Order {
    /// Each where it tells most.
    #[default]
    Free,
    /// Rising, then falling, and so on, for a device that follows slowly: no long jumps, and both ways are measured.
    UpAndDown,
}

/// What is fixed before the first reading. Limits, set points and readings are those of the host's instrument, in its sign.
///
/// # Examples
/// ```
/// use litdiode::live::LiveOptions;
/// use litdiode::sweep::{Noise, SweepOptions};
/// let stated = SweepOptions::default().noise(Noise::default().current_a(2e-6));
/// let options = LiveOptions::within((-0.1, 0.9), (-1e-3, 1e-3)).limit_w(1e-3).wanted(0.005).sweep(stated);
/// assert_eq!(options.capacity, 200);
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct LiveOptions {
    /// Lowest and highest voltage in V; the lower one limits the reverse bias.
    pub limits_v: (f64, f64),
    /// Lowest and highest current in A.
    pub limits_a: (f64, f64),
    /// Most power in W, delivered or taken up.
    pub limit_w: Option<f64>,
    /// A set point in V or A that is known to be below Voc, or Isc where the current is set: the bracket goes there from 0 at
    /// once.
    pub safe: f64,
    /// The figure of the curve that is to be known.
    pub target: KeyPoint,
    /// Its relative standard uncertainty that is wanted.
    pub wanted: f64,
    /// Most readings.
    pub capacity: usize,
    /// Time in s that the sweep may take, by the times that come with the readings.
    pub time_limit_s: Option<f64>,
    /// How long the host is to wait between setting and reading, in s.
    pub dwell_s: f64,
    /// Order of the set points.
    pub order: Order,
    /// What the sweep is to carry beside its readings. A sign or polarity that is to be recognised counts as generator sign
    /// and as given: a few readings do not show it.
    pub sweep: SweepOptions,
}

setters!(LiveOptions {
    /// With a most power in W, delivered or taken up.
    limit_w: impl Into<Option<f64>>,
    /// With a set point that is known to be below Voc, or Isc.
    safe: f64,
    /// With the figure that is to be known.
    target: KeyPoint,
    /// With its relative standard uncertainty that is wanted.
    wanted: f64,
    /// With the most readings.
    capacity: usize,
    /// With the time in s that the sweep may take.
    time_limit_s: impl Into<Option<f64>>,
    /// With the time in s between setting and reading.
    dwell_s: f64,
    /// With an order of the set points.
    order: Order,
    /// With what the sweep is to carry.
    sweep: SweepOptions,
});

impl LiveOptions {
    /// Within voltages in V and currents in A, the lower limit first: FF to 1 % in at most 200 readings.
    pub fn within(limits_v: (f64, f64), limits_a: (f64, f64)) -> Self {
        Self {
            limits_v,
            limits_a,
            limit_w: None,
            safe: 0.0,
            target: KeyPoint::Ff,
            wanted: 0.01,
            capacity: 200,
            time_limit_s: None,
            dwell_s: 0.0,
            order: Order::Free,
            sweep: SweepOptions::default(),
        }
    }

    /// Whether all is in its domain.
    pub(super) fn validate(&self) -> Result<(), LiveError> {
        for (name, (low, high)) in [("limits_v", self.limits_v), ("limits_a", self.limits_a)] {
            if !(low.is_finite() && high.is_finite() && low <= 0.0 && high >= 0.0 && low < high) {
                return Err(LiveError::Limits { name, low, high });
            }
        }
        if matches!(self.target, KeyPoint::Jsc | KeyPoint::Efficiency) {
            return Err(LiveError::Target { figure: self.target });
        }
        let (low, high) = if self.sweep.swept == Swept::Voltage { self.limits_v } else { self.limits_a };
        let positive = |x: f64| x > 0.0 && x.is_finite();
        let optional = |x: Option<f64>| x.is_none_or(positive);
        let checks = [
            ("limit_w", optional(self.limit_w), self.limit_w, "give a power in W above 0, or none"),
            (
                "safe",
                self.safe >= low && self.safe <= high,
                Some(self.safe),
                "give a set point within the limits, 0 where none is known",
            ),
            ("wanted", positive(self.wanted), Some(self.wanted), "give a share above 0, 0.01 for 1 %"),
            (
                "capacity",
                (FEWEST..=MOST).contains(&self.capacity),
                Some(self.capacity as f64),
                "give a number of readings from 8 to 100000",
            ),
            (
                "time_limit_s",
                optional(self.time_limit_s),
                self.time_limit_s,
                "give a time in s above 0, or none",
            ),
            (
                "dwell_s",
                self.dwell_s >= 0.0 && self.dwell_s.is_finite(),
                Some(self.dwell_s),
                "give a time in s, 0 or more",
            ),
        ];
        if let Some((name, _, value, cure)) = checks.into_iter().find(|check| !check.1) {
            return Err(LiveError::Option { name, value: value.unwrap_or(f64::NAN), cure });
        }
        self.validate_sweep()
    }

    fn validate_sweep(&self) -> Result<(), LiveError> {
        if self.sweep.time_s.is_some() {
            let cure = "pass the time of each reading with it";
            return Err(LiveError::BeforeReadings { name: "time_s", cure });
        }
        if !self.sweep.effects.is_empty() {
            let cure = "state effects on the sweep that is made of the readings";
            return Err(LiveError::BeforeReadings { name: "effects", cure });
        }
        for correction in &self.sweep.corrections {
            let name = match correction {
                Correction::SenseResistor { .. } => "a sense resistor",
                Correction::Monitor { .. } => "a monitor of the light",
                _ => continue,
            };
            let cure = "divide by it before the reading is passed";
            return Err(LiveError::BeforeReadings { name, cure });
        }
        crate::sweep::validate_before_readings(&self.sweep)?;
        Ok(())
    }
}
