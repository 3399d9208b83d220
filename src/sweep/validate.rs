//! Readings and options that a sweep may hold.

use super::error::SweepError;
use super::{Correction, Noise, SweepOptions, Swept, by_voltage, range};
use crate::quantity::estimate::Estimate;

/// What instruments write for a reading beyond their range (9.9e37) or for none (9.91e37): common practice.
const OVERFLOW_MARK: f64 = 9.9e37;
/// Combined standard uncertainties beyond which two readings of a voltage contradict each other.
const CONTRADICTION: f64 = 8.0;
/// Share of the current's span that does the same where no noise is stated.
const CONTRADICTION_SHARE: f64 = 0.2;

/// The points themselves.
pub(super) fn points(voltage_v: &[f64], current_a: &[f64]) -> Result<(), SweepError> {
    let (voltage, given) = (voltage_v.len(), current_a.len());
    if voltage != given {
        return Err(SweepError::Lengths { name: "current_a", voltage, given });
    }
    if voltage < 2 {
        return Err(SweepError::TooFewPoints { name: "voltage_v", given: voltage });
    }
    readings("voltage_v", voltage_v)?;
    readings("current_a", current_a)?;
    if voltage_v.iter().all(|v| *v == voltage_v[0]) {
        return Err(SweepError::OneVoltage { value: voltage_v[0] });
    }
    if current_a.iter().all(|a| *a == 0.0) {
        return Err(SweepError::NoCurrent);
    }
    Ok(())
}

pub(super) fn readings(name: &'static str, values: &[f64]) -> Result<(), SweepError> {
    for (index, &value) in values.iter().enumerate() {
        if !value.is_finite() {
            return Err(SweepError::NotFinite { name, index, value });
        }
        if !is_reading(value) {
            return Err(SweepError::Overflow { name, index, value });
        }
    }
    Ok(())
}

/// The options of a sweep whose readings are still to come.
pub(crate) fn before_readings(options: &SweepOptions) -> Result<(), SweepError> {
    options.corrections.iter().try_for_each(Correction::validate)?;
    self::options(options, 0)
}

/// Whether a number is a reading: finite, and no mark of an overflow.
pub(crate) fn is_reading(value: f64) -> bool {
    value.is_finite() && value.abs() < OVERFLOW_MARK
}

/// The options, in the order in which they are documented.
pub(super) fn options(options: &SweepOptions, points: usize) -> Result<(), SweepError> {
    if let Some(noise) = &options.noise {
        noise.validate()?;
    }
    positive("area_cm2", options.area_cm2.as_ref(), "give the illuminated area in cm², above 0")?;
    let light = "give the irradiance in W/m², above 0; leave it out for a dark curve";
    positive("irradiance_w_m2", options.irradiance_w_m2.as_ref(), light)?;
    let t = options.temperature_c;
    if !(t > -273.15 && t.is_finite()) {
        let cure = "give the cell's temperature in °C, above absolute zero (−273.15)";
        return Err(SweepError::Option { name: "temperature_c", value: t, cure });
    }
    if options.cells == 0 {
        let cure = "give the number of cells in series, 1 for a single cell";
        return Err(SweepError::Option { name: "cells", value: 0.0, cure });
    }
    options.effects.iter().try_for_each(|e| e.validate(points))?;
    let Some(time_s) = &options.time_s else { return Ok(()) };
    if time_s.len() != points {
        return Err(SweepError::Lengths { name: "time_s", voltage: points, given: time_s.len() });
    }
    readings("time_s", time_s)
}

pub(super) fn positive(
    name: &'static str,
    estimate: Option<&Estimate>,
    cure: &'static str,
) -> Result<(), SweepError> {
    let Some(estimate) = estimate else { return Ok(()) };
    let value = estimate.value;
    if !(value > 0.0 && value.is_finite()) {
        return Err(SweepError::Option { name, value, cure });
    }
    uncertainty(name, estimate.u.unwrap_or(0.0))
}

pub(super) fn uncertainty(name: &'static str, u: f64) -> Result<(), SweepError> {
    if !(u >= 0.0 && u.is_finite()) {
        let cure = "its standard uncertainty must be a finite number, 0 or more";
        return Err(SweepError::Option { name, value: u, cure });
    }
    Ok(())
}

/// Readings at one voltage that no scatter explains. Where the current was stepped, equal voltages are codes of a converter
/// or neighbours in its noise, and contradict nothing.
pub(super) fn contradictions(
    v: &[f64],
    a: &[f64],
    swept: Swept,
    noise: Option<&Noise>,
) -> Result<(), SweepError> {
    // Two ways of a sweep differ where the device follows slowly.
    if swept == Swept::Current || super::findings::returns(v, a) {
        return Ok(());
    }
    let order = by_voltage(v);
    let (low, high) = range(a);
    for (p, pair) in order.windows(2).enumerate() {
        let (first, second) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
        if v[first] != v[second] {
            continue;
        }
        let allowed = match noise {
            Some(noise) if noise.states_scatter() => {
                let slope = local_slope(v, a, &order, p);
                let one = |a: f64| noise.sigma_current(a).hypot(slope * noise.sigma_voltage(v[first]));
                CONTRADICTION * one(a[first]).hypot(one(a[second]))
            }
            _ => CONTRADICTION_SHARE * (high - low),
        };
        if (a[first] - a[second]).abs() > allowed {
            let (first_a, second_a, voltage_v) = (a[first], a[second], v[first]);
            return Err(SweepError::Contradiction { first, second, first_a, second_a, voltage_v });
        }
    }
    Ok(())
}

/// The steepest |dI/dV| to the neighbours of the pair at position `p` of the order.
fn local_slope(v: &[f64], a: &[f64], order: &[usize], p: usize) -> f64 {
    let chord = |i: usize, j: usize| {
        let dv = v[order[j]] - v[order[i]];
        if dv > 0.0 { ((a[order[j]] - a[order[i]]) / dv).abs() } else { 0.0 }
    };
    let before = if p > 0 { chord(p - 1, p) } else { 0.0 };
    let after = if p + 2 < order.len() { chord(p + 1, p + 2) } else { 0.0 };
    before.max(after)
}
