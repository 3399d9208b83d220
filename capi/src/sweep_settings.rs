//! Everything that a sweep carries beside its points: stepped quantity, noise, area, irradiance, corrections.

use crate::choices::{AXIS, CORRECTION, CorrectionKind, LEADS, NOISE_PART, REACH, SIGN, SWEPT};
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault, Outcome};
use crate::pointers::{In, Out};
use crate::work::{edit, estimate, give};
use litdiode::estimate::Unit;
use litdiode::sweep::{Correction, Effect, Noise, Sweep, SweepOptions};
use std::ffi::c_char;
use std::sync::Arc;

fn with_noise(settings: u64, by: impl FnOnce(Noise) -> Noise) -> Outcome {
    edit("settings", settings, |options: SweepOptions| {
        let noise = by(options.noise.unwrap_or_default());
        options.noise(noise)
    })
}

/// Adds a correction, which is looked at first.
fn correct(settings: u64, correction: Correction) -> Outcome {
    correction.validate().map_err(Fault::from)?;
    edit("settings", settings, |mut options: SweepOptions| {
        options.corrections.push(correction);
        options
    })
}

fn one_number(kind: CorrectionKind, value: f64, u: f64) -> Correction {
    let of = |unit| Some(estimate(value, u, unit));
    let ohm = estimate(value, u, Unit::Ohm);
    match kind {
        CorrectionKind::VoltageOffset => Correction::Offset { voltage_v: of(Unit::Volt), current_a: None },
        CorrectionKind::CurrentOffset => Correction::Offset { voltage_v: None, current_a: of(Unit::Ampere) },
        CorrectionKind::SenseResistor => Correction::SenseResistor { ohm },
        CorrectionKind::VoltageGain => Correction::Gain { voltage: of(Unit::One), current: None },
        CorrectionKind::CurrentGain => Correction::Gain { voltage: None, current: of(Unit::One) },
        CorrectionKind::LeadResistance => Correction::LeadResistance { ohm },
        CorrectionKind::Leakage => Correction::Leakage { ohm },
    }
}

interface! {
    /// Settings as they are where nothing is said: voltage stepped, sign and leads recognised, noise unknown, one cell at
    /// 25 °C. What they hold is checked by `litdiode_sweep_new`, corrections when they are added.
    fn litdiode_sweep_settings_new(settings: Out<u64>) {
        give("settings", settings, || Ok(Arc::new(SweepOptions::default())))?;
        Ok(Answer::Done)
    }

    /// Which quantity was stepped, the sign convention, and which lead went where.
    fn litdiode_sweep_settings_convention(settings: u64, swept: i32, sign: i32, leads: i32) {
        let (swept, sign, leads) = (SWEPT.of(swept)?, SIGN.of(sign)?, LEADS.of(leads)?);
        edit("settings", settings, |options: SweepOptions| options.swept(swept).sign(sign).leads(leads))
    }

    /// A part of the noise of the instrument, a standard uncertainty; 0 for one that is not stated.
    fn litdiode_sweep_settings_noise(settings: u64, part: i32, value: f64) {
        let set = NOISE_PART.of(part)?;
        with_noise(settings, |noise| set(noise, value))
    }

    /// The name of the instrument: gains and offsets of sweeps by the same one are the same error.
    fn litdiode_sweep_settings_instrument(settings: u64, name: In<c_char>) {
        let name = name.text("name")?;
        with_noise(settings, |noise| noise.of_instrument(&name))
    }

    /// The illuminated area in cm² with its standard uncertainty in cm², NaN where that is not known.
    fn litdiode_sweep_settings_area(settings: u64, area_cm2: f64, u: f64) {
        edit("settings", settings, |options: SweepOptions| options.area_cm2(estimate(area_cm2, u, Unit::Cm2)))
    }

    /// The irradiance in W/m² with its standard uncertainty in W/m², NaN where that is not known.
    fn litdiode_sweep_settings_irradiance(settings: u64, irradiance_w_m2: f64, u: f64) {
        let irradiance = estimate(irradiance_w_m2, u, Unit::WattPerM2);
        edit("settings", settings, |options: SweepOptions| options.irradiance_w_m2(irradiance))
    }

    /// The temperature of the device in °C, and its cells in series.
    fn litdiode_sweep_settings_device(settings: u64, temperature_c: f64, cells: u32) {
        edit("settings", settings, |options: SweepOptions| options.temperature_c(temperature_c).cells(cells))
    }

    /// The time of each point in s; none for a length of 0.
    fn litdiode_sweep_settings_times(settings: u64, time_s: In<f64>, time_length: usize) {
        let times = time_s.list("time_s", time_length)?;
        edit("settings", settings, |options: SweepOptions| options.time_s((!times.is_empty()).then_some(times)))
    }

    /// A name for the sweep.
    fn litdiode_sweep_settings_label(settings: u64, label: In<c_char>) {
        let label = label.text("label")?;
        edit("settings", settings, |options: SweepOptions| options.label(label))
    }

    /// Adds a correction by one number, with its standard uncertainty, NaN where that is not known. Corrections are applied
    /// in the order in which they were added.
    fn litdiode_sweep_settings_correct(settings: u64, correction: i32, value: f64, u: f64) {
        let kind = CORRECTION.of(correction)?;
        correct(settings, one_number(kind, value, u))
    }

    /// Adds a calibration table: readings in rising order and what they stand for, in V or A, linear between its points;
    /// `u` is the standard uncertainty that is common to all.
    fn litdiode_sweep_settings_calibrate(
        settings: u64,
        axis: i32,
        read: In<f64>,
        read_length: usize,
        actual: In<f64>,
        actual_length: usize,
        u: f64,
    ) {
        let axis = AXIS.of(axis)?;
        let (read, actual) = (read.list("read", read_length)?, actual.list("actual", actual_length)?);
        correct(settings, Correction::Calibration { axis, read, actual, u })
    }

    /// Adds the subtraction of the currents of a sweep in the dark.
    fn litdiode_sweep_settings_dark(settings: u64, dark: u64) {
        let sweep = Box::new(handles::get::<Sweep>("dark", dark)?);
        correct(settings, Correction::Dark { sweep })
    }

    /// Adds a reading of the light beside every point, above 0 in any unit, which takes its drift out.
    fn litdiode_sweep_settings_monitor(settings: u64, readings: In<f64>, readings_length: usize) {
        let readings = readings.list("readings", readings_length)?;
        correct(settings, Correction::Monitor { readings })
    }

    /// Adds a source of uncertainty: what one standard uncertainty of it does to every voltage in V and every current in A.
    fn litdiode_sweep_settings_effect(
        settings: u64,
        name: In<c_char>,
        reach: i32,
        voltage_v: In<f64>,
        voltage_length: usize,
        current_a: In<f64>,
        current_length: usize,
    ) {
        let (name, reach) = (name.text("name")?, REACH.of(reach)?);
        let voltage_v = voltage_v.list("voltage_v", voltage_length)?;
        let effect = Effect::new(name, reach, voltage_v, current_a.list("current_a", current_length)?);
        edit("settings", settings, |mut options: SweepOptions| {
            options.effects.push(effect);
            options
        })
    }
}
