//! From the readings of an instrument to those of the device: offsets, a sense resistor, gains, leads, leakage.
//!
//! ```text
//! offset            x = x_read − x0                     sense resistor   I = U_read/R
//! gain              x = x_read/g                        calibration      x = table(x_read), linear between its points
//! lead resistance   V = V_read + I·R                    leakage          I = I_read + V/R
//! dark sweep        I = I_read − I_dark(V)              monitor          I = I_read·m̄/m
//! ```
//!
//! V and I of the leads and the leakage are in generator sign. The corrections are applied in the order given. Each that has an
//! uncertainty moves all points by one source (JCGM 100:2008, 5.2.2): it becomes an [`Effect`] of the sweep, and those before
//! it are carried through it to first order.

use super::effect::{Effect, Reach};
use super::error::SweepError;
use super::{Change, Sweep, SweepOptions, by_voltage, sign_convention, validate};
use crate::quantity::estimate::{Estimate, Unit};
use crate::quantity::format::quoted;
use std::fmt;
use std::sync::Arc;

/// How deep dark sweeps may nest within the dark sweep of a correction.
const MOST_NESTED: usize = 8;

/// An axis of the readings.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Axis {
    /// The voltage, in V.
    Voltage,
    /// The current, in A.
    Current,
}

/// One step from what an instrument read to what the device did.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Correction {
    /// What the instrument reads of nothing: true = reading − offset, in V and A.
    Offset {
        /// Offset of the voltage in V.
        voltage_v: Option<Estimate>,
        /// Offset of the current in A.
        current_a: Option<Estimate>,
    },
    /// The currents are voltages in V over a resistor.
    SenseResistor {
        /// Its resistance in Ω.
        ohm: Estimate,
    },
    /// True = reading/gain.
    Gain {
        /// Gain of the voltage.
        voltage: Option<Estimate>,
        /// Gain of the current.
        current: Option<Estimate>,
    },
    /// A table of readings and what they stand for, linear between its points.
    Calibration {
        /// The axis.
        axis: Axis,
        /// Readings, rising.
        read: Vec<f64>,
        /// What they stand for, in V or A.
        actual: Vec<f64>,
        /// Standard uncertainty common to all, in V or A.
        u: f64,
    },
    /// Leads and contacts between the device and where the voltage is read.
    LeadResistance {
        /// Of both leads together, in Ω.
        ohm: Estimate,
    },
    /// A path beside the device: an insulation, the input of a meter.
    Leakage {
        /// Its resistance in Ω.
        ohm: Estimate,
    },
    /// The currents of a sweep in the dark are subtracted at the same voltages.
    Dark {
        /// That sweep.
        sweep: Box<Sweep>,
    },
    /// A reading of the light beside every point, which takes its drift out.
    Monitor {
        /// One above 0 for each point, in any unit.
        readings: Vec<f64>,
    },
}

/// Readings under way, and what moves them.
pub(super) struct Corrected {
    pub voltage_v: Vec<f64>,
    pub current_a: Vec<f64>,
    pub effects: Vec<Effect>,
    pub changes: Vec<Change>,
}

/// ∂(V, I)/∂(V_read, I_read) at a point.
struct Derivatives {
    v_by_v: f64,
    v_by_i: f64,
    i_by_v: f64,
    i_by_i: f64,
}

const UNCHANGED: Derivatives = Derivatives { v_by_v: 1.0, v_by_i: 0.0, i_by_v: 0.0, i_by_i: 1.0 };

/// The readings after all corrections of `options`, which are taken out of it with the effects.
pub(super) fn corrected(
    voltage_v: &[f64],
    current_a: &[f64],
    options: &mut SweepOptions,
) -> Result<Corrected, SweepError> {
    let corrections = std::mem::take(&mut options.corrections);
    let effects = std::mem::take(&mut options.effects);
    let (voltage_v, current_a) = (voltage_v.to_vec(), current_a.to_vec());
    let mut state = Corrected { voltage_v, current_a, effects, changes: Vec::new() };
    in_order(&corrections)?;
    for correction in &corrections {
        correction.validate()?;
        correction.validate_length(state.voltage_v.len())?;
        correction.apply(&mut state, options)?;
        state.changes.push(Change::asked_for(correction.to_string(), "a correction that was asked for"));
    }
    Ok(state)
}

/// A sense resistor turns volts into amperes: once, and before whatever needs a current.
pub(super) fn in_order(corrections: &[Correction]) -> Result<(), SweepError> {
    let needs_current = |c: &&Correction| {
        matches!(
            c,
            Correction::SenseResistor { .. }
                | Correction::LeadResistance { .. }
                | Correction::Leakage { .. }
                | Correction::Dark { .. }
        )
    };
    for (index, _) in
        corrections.iter().enumerate().filter(|(_, c)| matches!(c, Correction::SenseResistor { .. }))
    {
        if let Some(before) = corrections[..index].iter().find(needs_current) {
            return Err(SweepError::CorrectionOrder { index, before: before.to_string() });
        }
    }
    Ok(())
}

impl Corrected {
    /// Moves every point, and what moved it before through the derivatives.
    fn map(&mut self, at: impl Fn(usize, f64, f64) -> (f64, f64, Derivatives)) {
        for k in 0..self.voltage_v.len() {
            let (v, i, by) = at(k, self.voltage_v[k], self.current_a[k]);
            (self.voltage_v[k], self.current_a[k]) = (v, i);
            for e in &mut self.effects {
                let (dv, di) = (e.voltage_v[k], e.current_a[k]);
                e.voltage_v[k] = by.v_by_v * dv + by.v_by_i * di;
                e.current_a[k] = by.i_by_v * dv + by.i_by_i * di;
            }
        }
    }

    /// The sources of `of`, which moves the points by `by` for one unit of it; none without a u.
    fn source(&mut self, name: &str, of: &Estimate, by: impl Fn(f64, f64) -> (f64, f64)) {
        for source in of.known_sources() {
            let moved = self.voltage_v.iter().zip(&self.current_a).map(|(v, i)| by(*v, *i));
            let (voltage_v, current_a) = moved.map(|(dv, di)| (source.u * dv, source.u * di)).unzip();
            let mut effect = Effect::new(name, Reach::Common, voltage_v, current_a);
            effect.dof = source.dof;
            effect.identity = of.is_identified().then_some(source.identity);
            self.effects.push(effect);
        }
    }

    /// +1 where the readings are in generator sign, −1 where one axis is turned.
    fn sense(&self, options: &SweepOptions) -> Result<f64, SweepError> {
        let turn = sign_convention::turn(&self.voltage_v, &self.current_a, options)?;
        Ok(turn.voltage * turn.current)
    }
}

/// What is done, in one line: `voltage less an offset of 1.5000 ± 0.0020 V`.
impl fmt::Display for Correction {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let pair = |f: &mut fmt::Formatter, words: [&str; 2], of: [(&Option<Estimate>, &str); 2]| {
            let told = |(words, (of, unit)): (&str, (&Option<Estimate>, &str))| {
                of.as_ref().map(|of| format!("{words} {}", quoted(of.value, of.u, unit)))
            };
            let told: Vec<String> = words.into_iter().zip(of).filter_map(told).collect();
            f.write_str(&if told.is_empty() { "nothing".into() } else { told.join(", ") })
        };
        let number = |of: &Estimate| quoted(of.value, of.u, "Ω");
        match self {
            Self::Offset { voltage_v, current_a } => {
                let words = ["voltage less an offset of", "current less an offset of"];
                let of_current = current_a.as_ref().filter(|e| e.unit == Unit::Volt).map_or("A", |_| "V");
                pair(f, words, [(voltage_v, "V"), (current_a, of_current)])
            }
            Self::Gain { voltage, current } => {
                pair(f, ["voltage divided by", "current divided by"], [(voltage, ""), (current, "")])
            }
            Self::SenseResistor { ohm } => write!(f, "current from the voltage over {}", number(ohm)),
            Self::LeadResistance { ohm } => write!(f, "voltage corrected for leads of {}", number(ohm)),
            Self::Leakage { ohm } => write!(f, "current corrected for a parallel path of {}", number(ohm)),
            Self::Calibration { axis, read, .. } => {
                let axis = if *axis == Axis::Voltage { "voltage" } else { "current" };
                write!(f, "{axis} by a calibration table of {} points", read.len())
            }
            Self::Dark { sweep } => {
                write!(f, "currents of a dark sweep of {} readings subtracted", sweep.len())
            }
            Self::Monitor { .. } => f.write_str("currents scaled to the mean of the monitor of the light"),
        }
    }
}

impl Correction {
    fn apply(&self, state: &mut Corrected, options: &SweepOptions) -> Result<(), SweepError> {
        match self {
            Self::Offset { voltage_v, current_a } => {
                offset(state, voltage_v.as_ref(), current_a.as_ref());
            }
            Self::Gain { voltage, current } => gain(state, voltage.as_ref(), current.as_ref()),
            Self::SenseResistor { ohm } => {
                let r = ohm.value;
                state.map(|_, v, i| (v, i / r, Derivatives { i_by_i: 1.0 / r, ..UNCHANGED }));
                state.source("sense resistor", ohm, |_, i| (0.0, -i / r));
            }
            Self::LeadResistance { ohm } => {
                let (r, sense) = (ohm.value, state.sense(options)?);
                let by = sense * r;
                state.map(|_, v, i| (v + by * i, i, Derivatives { v_by_i: by, ..UNCHANGED }));
                state.source("lead resistance", ohm, |_, i| (sense * i, 0.0));
            }
            Self::Leakage { ohm } => {
                let (r, sense) = (ohm.value, state.sense(options)?);
                let by = sense / r;
                state.map(|_, v, i| (v, i + by * v, Derivatives { i_by_v: by, ..UNCHANGED }));
                state.source("leakage", ohm, |v, _| (0.0, -by * v / r));
            }
            Self::Calibration { axis, read, actual, u } => calibrate(state, *axis, (read, actual), *u)?,
            Self::Dark { sweep } => subtract_dark(state, sweep, options)?,
            Self::Monitor { readings } => {
                let mean = readings.iter().sum::<f64>() / readings.len() as f64;
                let factor = |k: usize| mean / readings[k];
                state.map(|k, v, i| (v, i * factor(k), Derivatives { i_by_i: factor(k), ..UNCHANGED }));
            }
        }
        Ok(())
    }

    /// One reading of a monitor for each of the `points`.
    fn validate_length(&self, points: usize) -> Result<(), SweepError> {
        match self {
            Self::Monitor { readings } if readings.len() != points => Err(SweepError::Lengths {
                name: "corrections: monitor",
                voltage: points,
                given: readings.len(),
            }),
            _ => Ok(()),
        }
    }

    /// What one unit of the readings' scatter becomes: factors of the voltage and of the current.
    pub(super) fn scale(&self) -> (f64, f64) {
        let by = |gain: &Option<Estimate>| gain.as_ref().map_or(1.0, |g| 1.0 / g.value);
        match self {
            Self::SenseResistor { ohm } => (1.0, 1.0 / ohm.value),
            Self::Gain { voltage, current } => (by(voltage), by(current)),
            Self::Calibration { axis, read, actual, .. } => {
                let last = read.len() - 1;
                let slope = ((actual[last] - actual[0]) / (read[last] - read[0])).abs();
                if *axis == Axis::Voltage { (slope, 1.0) } else { (1.0, slope) }
            }
            _ => (1.0, 1.0),
        }
    }

    /// Whether its numbers are within their domain.
    ///
    /// # Errors
    /// [`SweepError`] naming the number and the cure.
    pub fn validate(&self) -> Result<(), SweepError> {
        let above_zero = |name, of: Option<&Estimate>| validate::positive(name, of, "give a number above 0");
        match self {
            Self::Offset { voltage_v, current_a } => {
                finite("corrections: voltage_v", voltage_v.as_ref())?;
                finite("corrections: current_a", current_a.as_ref())
            }
            Self::Gain { voltage, current } => {
                above_zero("corrections: voltage gain", voltage.as_ref())?;
                above_zero("corrections: current gain", current.as_ref())
            }
            Self::SenseResistor { ohm } | Self::Leakage { ohm } => above_zero("corrections: ohm", Some(ohm)),
            Self::LeadResistance { ohm } if ohm.value < 0.0 => {
                let cure = "give a resistance, 0 or more";
                Err(SweepError::Option { name: "corrections: ohm", value: ohm.value, cure })
            }
            Self::LeadResistance { ohm } => finite("corrections: ohm", Some(ohm)),
            Self::Calibration { read, actual, u, .. } => table(read, actual, *u),
            Self::Monitor { readings } => monitor(readings),
            Self::Dark { sweep } => nested(sweep),
        }
    }
}

/// That dark sweeps nest within a dark sweep no deeper than allowed: a chain of any length would take the stack of who
/// frees it.
fn nested(dark: &Sweep) -> Result<(), SweepError> {
    let mut level = vec![dark];
    for _ in 0..=MOST_NESTED {
        level = level.iter().flat_map(|sweep| sweep.corrections().iter().filter_map(dark_sweep)).collect();
        // Clones share their record: each is followed once.
        level.sort_unstable_by_key(|sweep| Arc::as_ptr(&sweep.record));
        level.dedup_by_key(|sweep| Arc::as_ptr(&sweep.record));
        if level.is_empty() {
            return Ok(());
        }
    }
    Err(SweepError::NestedDark { most: MOST_NESTED })
}

fn dark_sweep(correction: &Correction) -> Option<&Sweep> {
    match correction {
        Correction::Dark { sweep } => Some(sweep),
        _ => None,
    }
}

fn finite(name: &'static str, of: Option<&Estimate>) -> Result<(), SweepError> {
    let Some(of) = of else { return Ok(()) };
    if !of.value.is_finite() {
        return Err(SweepError::Option { name, value: of.value, cure: "give a finite number" });
    }
    validate::uncertainty(name, of.u.unwrap_or(0.0))
}

fn offset(state: &mut Corrected, voltage_v: Option<&Estimate>, current_a: Option<&Estimate>) {
    let value = |of: Option<&Estimate>| of.map_or(0.0, |e| e.value);
    let (v0, i0) = (value(voltage_v), value(current_a));
    state.map(|_, v, i| (v - v0, i - i0, UNCHANGED));
    if let Some(of) = voltage_v {
        state.source("voltage offset", of, |_, _| (-1.0, 0.0));
    }
    if let Some(of) = current_a {
        state.source("current offset", of, |_, _| (0.0, -1.0));
    }
}

fn gain(state: &mut Corrected, voltage: Option<&Estimate>, current: Option<&Estimate>) {
    let value = |of: Option<&Estimate>| of.map_or(1.0, |e| e.value);
    let (gv, gi) = (value(voltage), value(current));
    let by = || Derivatives { v_by_v: 1.0 / gv, i_by_i: 1.0 / gi, ..UNCHANGED };
    state.map(|_, v, i| (v / gv, i / gi, by()));
    if let Some(of) = voltage {
        state.source("voltage gain", of, |v, _| (-v / gv, 0.0));
    }
    if let Some(of) = current {
        state.source("current gain", of, |_, i| (0.0, -i / gi));
    }
}

/// The scatter of readings that the leads carry from the current into the voltage, point by point: (δV, δI) = (R·δI, δI). It
/// stands in place of the stated scatter; nothing where none is stated, no leads are corrected, or it is there already.
///
/// The readings are in generator sign.
pub(super) fn noise_through_leads(
    (voltage_v, current_a): (&[f64], &[f64]),
    options: &SweepOptions,
    corrections: &[Correction],
) -> Vec<Effect> {
    let of_leads = |c: &Correction| if let Correction::LeadResistance { ohm } = c { ohm.value } else { 0.0 };
    let leads: f64 = corrections.iter().map(of_leads).sum();
    let Some(noise) = options.noise.filter(|n| n.states_current()) else { return Vec::new() };
    if leads == 0.0 || options.effects.iter().any(|e| e.reach == Reach::Each) {
        return Vec::new();
    }
    let current: Vec<f64> = current_a.iter().map(|i| noise.sigma_current(*i)).collect();
    let through: Vec<f64> = current.iter().map(|s| leads * s).collect();
    let none = || vec![0.0; current_a.len()];
    let mut effects = vec![Effect::new("scatter of the current", Reach::Each, through, current)];
    if noise.states_voltage() {
        let voltage = voltage_v.iter().map(|v| noise.sigma_voltage(*v)).collect();
        effects.push(Effect::new("scatter of the voltage", Reach::Each, voltage, none()));
    }
    effects.iter_mut().for_each(|e| e.dof = noise.dof());
    effects
}

impl Sweep {
    /// Whether corrected leads carry the noise of the current into the voltage.
    pub(crate) fn carries_noise_through_leads(&self) -> bool {
        self.through_leads().is_some()
    }

    /// δV/δI of the noise of each reading, in Ω; `None` where nothing carries it.
    pub(crate) fn noise_through_leads_ohm(&self) -> Option<Vec<f64>> {
        let effect = self.through_leads()?;
        let ratio = |(v, i): (&f64, &f64)| Some(v / i).filter(|ohm| ohm.is_finite()).unwrap_or(0.0);
        Some(effect.voltage_v.iter().zip(&effect.current_a).map(ratio).collect())
    }

    /// The scatter of the current that [`noise_through_leads`] made.
    fn through_leads(&self) -> Option<&Effect> {
        self.options().noise.filter(|n| n.states_current())?;
        let both = |e: &&Effect| {
            e.reach == Reach::Each && e.voltage_v.iter().zip(&e.current_a).any(|(v, i)| v * i != 0.0)
        };
        self.options().effects.iter().find(both)
    }
}

/// A table of rising readings.
fn table(read: &[f64], actual: &[f64], u: f64) -> Result<(), SweepError> {
    let name = "corrections: actual";
    if read.len() != actual.len() || read.len() < 2 {
        let cure = "a table has two readings or more, and one actual value for each";
        return Err(SweepError::Table { read: read.len(), actual: actual.len(), cure });
    }
    validate::readings("corrections: read", read)?;
    validate::readings(name, actual)?;
    if let Some(pair) = read.windows(2).find(|w| w[1] <= w[0]) {
        let cure = "give the readings of the table in rising order";
        return Err(SweepError::Option { name: "corrections: read", value: pair[1], cure });
    }
    validate::uncertainty("corrections: u", u)
}

fn monitor(readings: &[f64]) -> Result<(), SweepError> {
    let name = "corrections: monitor";
    validate::readings(name, readings)?;
    match readings.iter().find(|m| **m <= 0.0) {
        Some(value) => Err(SweepError::Option { name, value: *value, cure: "give readings above 0" }),
        None => Ok(()),
    }
}

/// Value and slope of the line through the points beside `x`; `None` outside the table.
fn interpolated(x: f64, (from, to): (&[f64], &[f64])) -> Option<(f64, f64)> {
    let last = from.len() - 1;
    if !(from[0]..=from[last]).contains(&x) {
        return None;
    }
    let k = from.partition_point(|f| *f <= x).clamp(1, last);
    let slope = (to[k] - to[k - 1]) / (from[k] - from[k - 1]);
    Some((to[k - 1] + slope * (x - from[k - 1]), slope))
}

fn calibrate(
    state: &mut Corrected,
    axis: Axis,
    (read, actual): (&[f64], &[f64]),
    u: f64,
) -> Result<(), SweepError> {
    let (name, readings) = match axis {
        Axis::Voltage => ("voltage_v", &state.voltage_v),
        Axis::Current => ("current_a", &state.current_a),
    };
    if let Some(index) = readings.iter().position(|x| interpolated(*x, (read, actual)).is_none()) {
        let (low, high) = (read[0], read[read.len() - 1]);
        let table = "calibration";
        return Err(SweepError::OutsideTable { name, index, value: readings[index], table, low, high });
    }
    let at = |x: f64| interpolated(x, (read, actual)).unwrap_or((x, 1.0));
    let of = Estimate::new(0.0, u, Unit::One);
    match axis {
        Axis::Voltage => {
            state.map(|_, v, i| (at(v).0, i, Derivatives { v_by_v: at(v).1, ..UNCHANGED }));
            state.source("voltage calibration", &of, |_, _| (1.0, 0.0));
        }
        Axis::Current => {
            state.map(|_, v, i| (v, at(i).0, Derivatives { i_by_i: at(i).1, ..UNCHANGED }));
            state.source("current calibration", &of, |_, _| (0.0, 1.0));
        }
    }
    Ok(())
}

/// The dark currents between their readings; each of these is a source, by what it states of its noise or else its scatter.
fn subtract_dark(state: &mut Corrected, dark: &Sweep, options: &SweepOptions) -> Result<(), SweepError> {
    // The dark sweep is in generator sign; the readings are, but for the axes that are still to be turned.
    let turn = sign_convention::turn(&state.voltage_v, &state.current_a, options)?;
    let sense = turn.voltage * turn.current;
    let order = by_voltage(dark.voltage_v());
    let mut from: Vec<f64> = Vec::new();
    let (mut to, mut sigma): (Vec<f64>, Vec<f64>) = (Vec::new(), Vec::new());
    let own = sign_convention::scatter(dark.voltage_v(), dark.current_a());
    for k in order {
        let (v, i) = (dark.voltage_v()[k], dark.current_a()[k]);
        if from.last() != Some(&v) {
            from.push(v);
            to.push(i);
            sigma.push(dark.options().noise.map_or(own, |n| n.sigma_current(i)));
        }
    }
    let at = |v: f64| interpolated(turn.voltage * v, (&from, &to));
    if let Some(index) = state.voltage_v.iter().position(|v| at(*v).is_none()) {
        let (low, high) = (from[0], from[from.len() - 1]);
        let value = state.voltage_v[index];
        let (name, table) = ("voltage_v", "dark sweep");
        return Err(SweepError::OutsideTable { name, index, value, table, low, high });
    }
    let places: Vec<f64> = state.voltage_v.iter().map(|v| turn.voltage * v).collect();
    state.map(|_, v, i| {
        let (dark, slope) = at(v).unwrap_or((0.0, 0.0));
        (v, i - turn.current * dark, Derivatives { i_by_v: -sense * slope, ..UNCHANGED })
    });
    for (k, sigma) in sigma.iter().enumerate().filter(|(_, s)| **s > 0.0) {
        let mut unit = vec![0.0; from.len()];
        unit[k] = -turn.current * sigma;
        let moved: Vec<f64> =
            places.iter().map(|v| interpolated(*v, (&from, &unit)).map_or(0.0, |p| p.0)).collect();
        if moved.iter().any(|x| *x != 0.0) {
            let none = vec![0.0; moved.len()];
            state.effects.push(Effect::new(format!("dark sweep ({k})"), Reach::Common, none, moved));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::estimate::Unit;
    use crate::sweep::{Noise, Sign};

    /// V of the device = V + R·I, so that δI of a reading moves it by R·δI as well; nothing without leads or a stated scatter.
    #[test]
    fn leads_carry_the_noise_of_the_current() {
        let leads = |ohm: f64| vec![Correction::LeadResistance { ohm: Estimate::new(ohm, 0.0, Unit::Ohm) }];
        let carried = |noise: Noise, ohm: f64| {
            let options = SweepOptions::default().sign(Sign::Generator).noise(noise).corrections(leads(ohm));
            let sweep = Sweep::new(&[0.0, 0.2, 0.4], &[3e-3, 2e-3, 1e-3], options).unwrap();
            assert_eq!(sweep.carries_noise_through_leads(), sweep.noise_through_leads_ohm().is_some());
            sweep.noise_through_leads_ohm()
        };
        let stated = Noise::default().current_a(1e-6).current_rel(0.01).voltage_v(1e-4);
        let found = carried(stated, 2.0).unwrap();
        assert!(found.len() == 3 && found.iter().all(|ohm| (ohm - 2.0).abs() < 1e-12), "{found:?}");
        assert_eq!(carried(stated, 0.0), None);
        assert_eq!(carried(Noise::default().voltage_v(1e-4), 2.0), None);
    }
}
