//! Measured points: validated, oriented to generator sign, with their noise and the remarks on them.
//!
//! ```text
//! readings ──validate──▶ ──orient──▶ Sweep { voltage_v, current_a, noise, changes, findings }
//! ```
//!
//! A [`Sweep`] holds the points in the order in which they were given (a later pair of up and down
//! branches needs it) in generator sign: under light I > 0 at V = 0 and V > 0 at I = 0.

mod error;
mod findings;
mod noise;
mod orient;
mod validate;

pub use error::SweepError;
pub use findings::Finding;
pub use noise::Noise;

use crate::estimate::Estimate;
use serde::{Deserialize, Serialize};

/// Which quantity the instrument set; the other one was read and carries the noise when none is stated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Swept {
    /// The voltage was stepped, the current read.
    #[default]
    Voltage,
    /// The current was stepped, the voltage read.
    Current,
}

/// The sign convention of the readings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sign {
    /// Recognised from the data: a passive device has dI/dV < 0 in generator sign.
    #[default]
    Auto,
    /// I > 0 is delivered by the device.
    Generator,
    /// I > 0 flows into the positive lead.
    Load,
}

/// Which lead went where.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Leads {
    /// Recognised from the data.
    #[default]
    Auto,
    /// Taken as they are.
    AsGiven,
    /// The leads were swapped: both axes change sign.
    Swapped,
}

/// What was done to the readings, and why.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Change {
    /// What was done, in one sentence.
    pub what: String,
    /// The evidence, or the option that asked for it.
    pub why: String,
    /// Whether the library decided it (and so warns), or the caller asked for it.
    pub automatic: bool,
}

/// Everything a sweep carries beside its points.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SweepOptions {
    /// The quantity that was stepped.
    pub swept: Swept,
    /// Sign convention.
    pub sign: Sign,
    /// Polarity.
    pub leads: Leads,
    /// Noise of the instrument; `None` where it is not known.
    pub noise: Option<Noise>,
    /// Illuminated area in cm².
    pub area_cm2: Option<Estimate>,
    /// Irradiance in W/m².
    pub irradiance_w_m2: Option<Estimate>,
    /// Temperature of the device in °C.
    pub temperature_c: f64,
    /// Cells in series.
    pub cells: u32,
    /// Time of each point in s.
    pub time_s: Option<Vec<f64>>,
    /// A name.
    pub label: Option<String>,
}

impl Default for SweepOptions {
    fn default() -> Self {
        Self {
            swept: Swept::default(),
            sign: Sign::default(),
            leads: Leads::default(),
            noise: None,
            area_cm2: None,
            irradiance_w_m2: None,
            temperature_c: 25.0,
            cells: 1,
            time_s: None,
            label: None,
        }
    }
}

/// A measured current–voltage sweep in generator sign.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    voltage_v: Vec<f64>,
    current_a: Vec<f64>,
    options: SweepOptions,
    changes: Vec<Change>,
    findings: Vec<Finding>,
}
