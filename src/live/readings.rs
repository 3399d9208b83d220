//! The readings in the order in which they were taken, in room made at the start, in generator sign.

use crate::quantity::estimate::Amount;
use crate::sweep::Swept;
use std::fmt;

/// Share of the largest reading that stands for its noise where none is stated.
pub(super) const UNSTATED: f64 = 0.01;

/// What is odd about a reading.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Flag {
    /// So many standard deviations off the running curve; left out of the running figures until a reading at the same place
    /// confirms it.
    Wild {
        /// Standard deviations of the reading and the curve together.
        deviations: f64,
    },
    /// The axis that is set was read elsewhere; left out of the running figures. A second one walls its side off.
    NotFollowed {
        /// What was set.
        set: Amount,
        /// What was read.
        read: Amount,
    },
    /// Outside the limits, or so near to that of what is read that it may be the compliance of the source; left out of the running figures. The next set point goes half of the way back, and a second one walls
    /// its side off.
    BeyondLimits,
}

impl fmt::Display for Flag {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Wild { deviations } => {
                write!(f, "{deviations:.1} standard deviations off the running curve")
            }
            Self::NotFollowed { set, read } => write!(f, "{set} was set, {read} was read"),
            Self::BeyondLimits => f.write_str("at a limit or beyond it"),
        }
    }
}

/// Readings in generator sign.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Readings {
    pub voltage_v: Vec<f64>,
    pub current_a: Vec<f64>,
    /// NaN where the host gave none.
    pub time_s: Vec<f64>,
    pub flags: Vec<Option<Flag>>,
    capacity: usize,
}

impl Readings {
    pub fn with_capacity(capacity: usize) -> Self {
        let room = || Vec::with_capacity(capacity);
        Self {
            voltage_v: room(),
            current_a: room(),
            time_s: room(),
            flags: Vec::with_capacity(capacity),
            capacity,
        }
    }

    pub fn len(&self) -> usize {
        self.voltage_v.len()
    }

    pub fn is_full(&self) -> bool {
        self.len() >= self.capacity
    }

    /// Adds a reading; there is room.
    pub fn push(&mut self, voltage_v: f64, current_a: f64, time_s: Option<f64>, flag: Option<Flag>) {
        self.voltage_v.push(voltage_v);
        self.current_a.push(current_a);
        self.time_s.push(time_s.unwrap_or(f64::NAN));
        self.flags.push(flag);
    }

    /// The readings of the axis that is set.
    pub fn set(&self, swept: Swept) -> &[f64] {
        match swept {
            Swept::Voltage => &self.voltage_v,
            Swept::Current => &self.current_a,
        }
    }

    /// Whether reading `k` counts in the running fit and in the sweep: it has no flag. Readings beyond the limits or off their set
    /// point may show the compliance of the source in place of the device.
    pub fn is_fitted(&self, k: usize) -> bool {
        self.flags[k].is_none()
    }

    /// Time from the first reading to the last, where both have one.
    pub fn elapsed_s(&self) -> Option<f64> {
        let known = |t: &&f64| !t.is_nan();
        Some(self.time_s.iter().rfind(known)? - self.time_s.iter().find(known)?)
    }
}
