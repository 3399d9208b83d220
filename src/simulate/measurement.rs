//! The readings themselves.
//!
//! The device sits behind its leads, so that the instrument sees V − I·R_lead. A step is followed with one
//! time constant τ from the state before: after the dwell time t the quantity that is read has come
//!
//! ```text
//! x(t) = x_static + (x_before − x_static)·exp(−t/τ)
//! ```
//!
//! towards its static value, starting at rest at the first set point, so that a sweep upwards and one
//! downwards part.

use super::error::SimulationError;
use super::instrument::Instrument;
use crate::diode::{Circuit, Device, Junction};
use crate::sweep::{Leads, Sign, Sweep, SweepOptions, Swept};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// The sweep that `instrument` takes of `model`; the same seed gives the same readings.
///
/// The sweep carries the times of its readings, cells and temperature of the model, and no noise statement:
/// [`Instrument::noise`] gives what an owner could state.
///
/// # Errors
/// [`SimulationError`] for an instrument outside its domain, or a set point without a finite reading.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::simulate::{Instrument, simulate_sweep};
/// use litdiode::sweep::Swept;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let tracer = Instrument::default().swept(Swept::Current).start(0.0).stop(0.029).points(20);
/// let tracer = tracer.noise_voltage_v(1e-3);
/// let sweep = simulate_sweep(&cell, &tracer, 1)?;
/// let mut exact = vec![0.0; 20];
/// cell.voltage(sweep.current_a(), &mut exact)?;
/// let square: f64 = sweep.voltage_v().iter().zip(&exact).map(|(read, v)| (read - v).powi(2)).sum();
/// assert!(((square / 20.0).sqrt() - 1e-3).abs() < 5e-4);
/// assert_eq!(simulate_sweep(&cell, &tracer, 1)?, sweep);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn simulate_sweep<const K: usize>(
    model: &Device<K>,
    instrument: &Instrument,
    seed: u64,
) -> Result<Sweep, SimulationError> {
    instrument.validate()?;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let (mut voltage_v, mut current_a) = (Vec::new(), Vec::new());
    for (v, i) in truth(model, instrument)? {
        let scatter_a = instrument.noise_current_a.hypot(instrument.noise_current_rel * i);
        voltage_v.push(read(
            v,
            instrument.voltage_offset_v,
            instrument.noise_voltage_v,
            instrument.voltage_step_v,
            &mut random,
        ));
        current_a.push(read(
            i,
            instrument.current_offset_a,
            scatter_a,
            instrument.current_step_a,
            &mut random,
        ));
    }
    let parameters = model.parameters();
    let options = SweepOptions {
        swept: instrument.swept,
        sign: Sign::Generator,
        leads: Leads::AsGiven,
        temperature_c: parameters.temperature_c,
        cells: parameters.cells,
        time_s: Some((1..=instrument.points).map(|k| k as f64 * instrument.dwell_s).collect()),
        ..SweepOptions::default()
    };
    Ok(Sweep::new(&voltage_v, &current_a, options)?)
}

/// One reading: offset, noise, then the nearest step.
fn read(x: f64, offset: f64, sigma: f64, step: f64, random: &mut ChaCha8Rng) -> f64 {
    // The deviate is drawn even where it is not used, so that switching one fault leaves the others alone.
    let deviate: f64 = StandardNormal.sample(random);
    let reading = x + offset + sigma * deviate;
    if step > 0.0 { (reading / step).round() * step } else { reading }
}

/// What an ideal meter at the terminals would show at each set point.
fn truth<const K: usize>(
    model: &Device<K>,
    instrument: &Instrument,
) -> Result<Vec<(f64, f64)>, SimulationError> {
    let mut circuit = *model.circuit();
    circuit.rs += instrument.lead_resistance_ohm;
    let kept = if instrument.time_constant_s > 0.0 {
        (-instrument.dwell_s / instrument.time_constant_s).exp()
    } else {
        0.0
    };
    let mut before = f64::NAN;
    (0..instrument.points)
        .map(|index| {
            let value = instrument.set_point(index);
            let (set, still) = at_rest(&circuit, instrument, value);
            before = if before.is_nan() { still } else { still + (before - still) * kept };
            let point = if instrument.swept == Swept::Voltage { (set, before) } else { (before, set) };
            if point.0.is_finite() && point.1.is_finite() {
                Ok(point)
            } else {
                Err(SimulationError::Unreachable { index, value })
            }
        })
        .collect()
}

/// The quantity that is set, within the compliance, and the static value of the one that is read.
fn at_rest<const K: usize>(circuit: &Circuit<K>, instrument: &Instrument, value: f64) -> (f64, f64) {
    match instrument.swept {
        Swept::Voltage => {
            let v = value.clamp(-instrument.compliance_v, instrument.compliance_v);
            let i = circuit.current_at(v);
            let limited = i.clamp(-instrument.compliance_a, instrument.compliance_a);
            // In compliance the instrument holds the current, and the voltage follows.
            if limited == i { (v, i) } else { (circuit.voltage_at(limited), limited) }
        }
        Swept::Current => {
            let i = value.clamp(-instrument.compliance_a, instrument.compliance_a);
            let v = circuit.voltage_at(i);
            let limited = v.clamp(-instrument.compliance_v, instrument.compliance_v);
            if limited == v { (i, v) } else { (circuit.current_at(limited), limited) }
        }
    }
}
