//! Measured points: validated, oriented to generator sign, with their noise and the remarks on them.
//!
//! ```text
//! readings ──validate──▶ ──correct──▶ ──orient──▶ Sweep { voltage_v, current_a, noise, changes, findings }
//! ```
//!
//! A [`Sweep`] holds the points in the order in which they were given (a later pair of up and down
//! branches needs it) in generator sign: under light I > 0 at V = 0 and V > 0 at I = 0.
//!
//! | file | holds |
//! |---|---|
//! | `validate`, `sorting` | what a sweep may hold; the order of readings |
//! | `sign_convention` | generator sign and polarity, recognised and recorded |
//! | `correction` | from the readings of an instrument to those of the device |
//! | `exact_axis` | which axis counts as exact |
//! | `noise`, `effect`, `common_effects` | what scatters the points; what moves them besides; what moves all of them together |
//! | `repeated_readings` | means of repeats and the noise that they show |
//! | `branches`, `subset` | the ways of a sweep that returns; some of its readings |
//! | `findings` | remarks that need no fit |
//! | `serialization` | a sweep as plain data (feature `serde`) |

mod branches;
mod common_effects;
mod correction;
mod effect;
mod error;
mod exact_axis;
mod findings;
mod noise;
mod repeated_readings;
#[cfg(feature = "serde")]
mod serialization;
mod sign_convention;
mod sorting;
mod subset;
mod validate;

pub use crate::numerics::statistics::ranges::range;
pub(crate) use crate::numerics::statistics::ranges::runs;
pub(crate) use common_effects::{common_effects, half_difference, of_one_source};
pub use correction::{Axis, Correction};
pub(crate) use effect::Shared;
pub use effect::{Effect, Reach};
pub use error::SweepError;
pub use findings::{Finding, Kind, Severity};
pub use noise::Noise;
pub use repeated_readings::means_of_repeats;
pub(crate) use sorting::begins_at_zero;
pub use sorting::by_voltage;
pub(crate) use validate::{before_readings as validate_before_readings, is_reading};

use crate::quantity::estimate::Estimate;
use crate::quantity::format::span;
use crate::quantity::source::digest;
use crate::setters::setters;
use std::fmt;
use std::sync::Arc;

/// Which quantity the instrument set; the other one was read and carries the noise when none is stated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Swept {
    /// The voltage was stepped, the current read.
    #[default]
    Voltage,
    /// The current was stepped, the voltage read.
    Current,
}

/// The sign convention of the readings.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Sign {
    /// Recognised from the data: a passive device has dI/dV < 0 in generator sign.
    #[default]
    Auto,
    /// I > 0 is delivered by the device.
    Generator,
    /// I > 0 flows into the positive lead.
    Load,
}

impl Sign {
    /// The word of the public surface for a sign that is forced.
    pub(crate) const fn name(self) -> Option<&'static str> {
        match self {
            Sign::Auto => None,
            Sign::Generator => Some("generator"),
            Sign::Load => Some("load"),
        }
    }

    /// The word for the opposite sign.
    pub(crate) const fn other(self) -> &'static str {
        if matches!(self, Sign::Load) { "generator" } else { "load" }
    }
}

/// Which lead went where.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
///
/// # Examples
/// ```
/// use litdiode::sweep::{Change, Sweep, SweepOptions};
/// let (v, i) = ([0.0, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041]); // invented, in load sign
/// let asked = Change::asked_for("voltages of channel 2", "the log of the day");
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().changes(vec![asked]))?;
/// assert!(!sweep.changes()[0].automatic);
/// assert_eq!(sweep.changes()[1].what, "current turned from load sign to generator sign");
/// assert!(sweep.changes()[1].automatic && sweep.current_a()[0] == 0.030);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Change {
    /// What was done, in one sentence.
    pub what: String,
    /// The evidence, or the option that asked for it.
    pub why: String,
    /// Whether the library decided it (and so warns), or the caller asked for it.
    pub automatic: bool,
}

impl Change {
    /// A change that the caller made or asked for.
    pub fn asked_for(what: impl Into<String>, why: impl Into<String>) -> Self {
        Self { what: what.into(), why: why.into(), automatic: false }
    }
}

/// Everything a sweep carries beside its points.
///
/// # Examples
/// ```
/// use litdiode::sweep::{Noise, SweepOptions, Swept};
/// let module = SweepOptions::default().cells(36).temperature_c(45.0).noise(Noise::default().current_a(2e-4));
/// assert_eq!((module.swept, module.cells), (Swept::Voltage, 36));
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
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
    /// What was done to the readings before, for instance by a reader of files; recorded first.
    pub changes: Vec<Change>,
    /// What moves the points besides the noise of the instrument; key points carry it.
    #[cfg_attr(feature = "serde", serde(default))]
    pub effects: Vec<Effect>,
    /// What is to be done to the readings before their sign is recognised, in order; none are left in the options of a
    /// sweep, which tells them by [`Sweep::corrections`].
    #[cfg_attr(feature = "serde", serde(default))]
    pub corrections: Vec<Correction>,
}

setters!(SweepOptions {
    /// With the quantity that was stepped.
    swept: Swept,
    /// With a sign convention.
    sign: Sign,
    /// With a polarity.
    leads: Leads,
    /// With the noise of the instrument.
    noise: impl Into<Option<Noise>>,
    /// With the illuminated area in cm².
    area_cm2: impl Into<Option<Estimate>>,
    /// With the irradiance in W/m².
    irradiance_w_m2: impl Into<Option<Estimate>>,
    /// With the temperature of the device in °C.
    temperature_c: f64,
    /// With so many cells in series.
    cells: u32,
    /// With the time of each point in s.
    time_s: impl Into<Option<Vec<f64>>>,
    /// With a name.
    label: impl Into<Option<String>>,
    /// With what was done to the readings before.
    changes: Vec<Change>,
    /// With what moves the points besides the noise of the instrument.
    effects: Vec<Effect>,
    /// With what is to be done to the readings, in order.
    corrections: Vec<Correction>,
});

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
            changes: Vec::new(),
            effects: Vec::new(),
            corrections: Vec::new(),
        }
    }
}

/// A measured current–voltage sweep in generator sign. A clone shares the readings.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(remote = "Self", transparent))]
pub struct Sweep {
    record: Arc<Record>,
}

#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
struct Record {
    voltage_v: Vec<f64>,
    current_a: Vec<f64>,
    options: SweepOptions,
    changes: Vec<Change>,
    findings: Vec<Finding>,
    /// What voltages and currents were multiplied by to be in generator sign: 1 or −1.
    #[cfg_attr(feature = "serde", serde(default = "as_given"))]
    turned: (f64, f64),
    #[cfg_attr(feature = "serde", serde(default))]
    corrected: Option<Raw>,
}

#[cfg(feature = "serde")]
const fn as_given() -> (f64, f64) {
    (1.0, 1.0)
}

/// Readings as they came, and what was done to them.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
struct Raw {
    voltage_v: Vec<f64>,
    current_a: Vec<f64>,
    corrections: Vec<Correction>,
}

impl Sweep {
    /// Validates the readings, turns them to generator sign, and records what was done.
    ///
    /// `voltage_v` in V and `current_a` in A, one value a point, in the order of measurement.
    ///
    /// # Errors
    /// [`SweepError`] naming the argument, the index, the value and the cure.
    ///
    /// # Examples
    /// ```
    /// use litdiode::sweep::{Sweep, SweepOptions};
    /// let (v, i) = ([-0.1, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041]);
    /// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
    /// assert_eq!(sweep.current_a()[0], 0.030);
    /// assert_eq!(sweep.changes()[0].what, "current turned from load sign to generator sign");
    /// # Ok::<(), litdiode::sweep::SweepError>(())
    /// ```
    pub fn new(voltage_v: &[f64], current_a: &[f64], options: SweepOptions) -> Result<Self, SweepError> {
        let raw = (!options.corrections.is_empty()).then(|| Raw {
            voltage_v: voltage_v.to_vec(),
            current_a: current_a.to_vec(),
            corrections: options.corrections.clone(),
        });
        Self::corrected(voltage_v, current_a, options, raw)
    }

    /// The sweep of readings that came as `raw`, after the corrections of `options`.
    fn corrected(
        voltage_v: &[f64],
        current_a: &[f64],
        mut options: SweepOptions,
        raw: Option<Raw>,
    ) -> Result<Self, SweepError> {
        validate::points(voltage_v, current_a)?;
        validate::options(&options, voltage_v.len())?;
        if options.corrections.is_empty() {
            return Self::turned(voltage_v, current_a, options, raw);
        }
        let corrected =
            correction::corrected(voltage_v, current_a, &mut options).map_err(after_corrections)?;
        options.effects = corrected.effects;
        options.changes.extend(corrected.changes);
        validate::points(&corrected.voltage_v, &corrected.current_a)?;
        Self::turned(&corrected.voltage_v, &corrected.current_a, options, raw).map_err(after_corrections)
    }

    /// The readings, corrected, in generator sign.
    fn turned(
        voltage_v: &[f64],
        current_a: &[f64],
        mut options: SweepOptions,
        raw: Option<Raw>,
    ) -> Result<Self, SweepError> {
        let turn = sign_convention::turn(voltage_v, current_a, &options)?;
        let mut changes = std::mem::take(&mut options.changes);
        changes.extend(turn.changes);
        let effects = std::mem::take(&mut options.effects).into_iter();
        options.effects = effects.map(|e| e.turned(turn.voltage, turn.current)).collect();
        let voltage_v: Vec<f64> = voltage_v.iter().map(|v| turn.voltage * v).collect();
        let current_a: Vec<f64> = current_a.iter().map(|a| turn.current * a).collect();
        validate::contradictions(&voltage_v, &current_a, options.swept, options.noise.as_ref())?;
        let findings = findings::findings(&voltage_v, &current_a, options.sign, options.swept);
        let corrections = raw.as_ref().map_or(&[][..], |raw| &raw.corrections);
        let of_leads = correction::noise_through_leads((&voltage_v, &current_a), &options, corrections);
        options.effects.extend(of_leads);
        let turned = (turn.voltage, turn.current);
        let record = Record { voltage_v, current_a, options, changes, findings, turned, corrected: raw };
        Ok(Self { record: Arc::new(record) })
    }

    /// The sweep after further corrections of its readings, which are in generator sign; [`Sweep::raw`] stays as it was, a
    /// stated noise goes with the readings.
    ///
    /// # Errors
    /// [`SweepError`] as for [`Sweep::new`].
    pub fn correct(&self, corrections: Vec<Correction>) -> Result<Self, SweepError> {
        let mut options = self.options().clone().sign(Sign::Generator).leads(Leads::AsGiven);
        let all: Vec<Correction> = self.corrections().iter().cloned().chain(corrections.clone()).collect();
        correction::in_order(&all)?;
        for correction in &corrections {
            correction.validate()?;
            let (by_v, by_i) = correction.scale();
            options.noise = options.noise.map(|noise| noise.scaled(by_v, by_i));
        }
        options = options.changes(self.changes().to_vec()).corrections(corrections);
        let (voltage_v, current_a) = self.raw();
        let raw = Raw { voltage_v, current_a, corrections: all };
        Self::corrected(self.voltage_v(), self.current_a(), options, Some(raw))
    }

    /// The same sweep under another name.
    #[must_use]
    pub fn labelled(&self, label: impl Into<String>) -> Self {
        let record = Record { options: self.options().clone().label(label.into()), ..(*self.record).clone() };
        Self { record: Arc::new(record) }
    }

    /// Voltages in V and currents in A as they came, before corrections and before they were turned to generator sign.
    pub fn raw(&self) -> (Vec<f64>, Vec<f64>) {
        match &self.record.corrected {
            Some(raw) => (raw.voltage_v.clone(), raw.current_a.clone()),
            None => {
                let (v, i) = self.record.turned;
                let back = |x: &[f64], by: f64| x.iter().map(|x| by * x).collect();
                (back(self.voltage_v(), v), back(self.current_a(), i))
            }
        }
    }

    /// What was done to the readings before their sign was recognised, in order.
    pub fn corrections(&self) -> &[Correction] {
        self.record.corrected.as_ref().map_or(&[], |raw| &raw.corrections)
    }

    /// Voltages in V, generator sign, in the order of measurement.
    pub fn voltage_v(&self) -> &[f64] {
        &self.record.voltage_v
    }

    /// Currents in A, generator sign, in the order of measurement.
    pub fn current_a(&self) -> &[f64] {
        &self.record.current_a
    }

    /// Everything beside the points.
    pub fn options(&self) -> &SweepOptions {
        &self.record.options
    }

    /// What was done to the readings.
    pub fn changes(&self) -> &[Change] {
        &self.record.changes
    }

    /// Remarks that the readings show at once; `remarks::findings` gives all there are.
    pub fn findings(&self) -> &[Finding] {
        &self.record.findings
    }

    /// A digest of the readings, by which figures of one sweep know each other.
    pub(crate) fn digest(&self) -> u64 {
        digest(self.voltage_v()) ^ digest(self.current_a()).rotate_left(1)
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.record.voltage_v.len()
    }

    /// Never: a sweep has at least two points.
    pub fn is_empty(&self) -> bool {
        self.record.voltage_v.is_empty()
    }

    /// The number of points, and the ranges that they cover.
    pub fn summary(&self) -> String {
        let ((v0, v1), (i0, i1)) = (range(self.voltage_v()), range(self.current_a()));
        format!("{} points, {}, {}", self.len(), span(v0, v1, "V"), span(i0, i1, "A"))
    }

    /// Indices of the points by rising voltage; points of equal voltage in the order of measurement.
    pub fn by_voltage(&self) -> Vec<usize> {
        by_voltage(self.voltage_v())
    }
}

/// What readings do not show after corrections may be the fault of these.
fn after_corrections(error: SweepError) -> SweepError {
    match error {
        SweepError::Undecided { what, why, .. } => {
            let cure = "look at the corrections first, their order, units and size; then set sign and leads";
            SweepError::Undecided { what, why: format!("after the corrections {why}"), cure }
        }
        other => other,
    }
}

/// What was done, and the evidence.
impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.what)?;
        if self.why.is_empty() { Ok(()) } else { write!(f, ": {}", self.why) }
    }
}

/// Its name, the number of points, and the ranges that they cover.
impl fmt::Display for Sweep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(label) = &self.options().label {
            write!(f, "{label}: ")?;
        }
        f.write_str(&self.summary())
    }
}
