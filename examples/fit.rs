//! One diode fitted to a sweep, and what the data say of its parameters. The data are simulated.

use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::fit::{Options, Parameter, fit_single_diode};
use litdiode::sweep::{Sweep, SweepOptions};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    let a = thermal_voltage_v(1.4, 1, 25.0);
    let cell = Circuit::new(30e-3, [2e-10], [a], 0.8, 1.0 / 900.0);
    let voltage_v: Vec<f64> = (0..30).map(|k| -0.03 + 0.024 * f64::from(k)).collect();
    // A converter's step of 20 µA stands for noise.
    let current_a: Vec<f64> =
        voltage_v.iter().map(|v| (cell.current_at(*v) / 20e-6).round() * 20e-6).collect();
    let sweep = Sweep::new(&voltage_v, &current_a, SweepOptions::default())?;

    let fit = fit_single_diode(&sweep, &Options::default())?;
    println!("{:?}", fit.status);
    for parameter in [Parameter::Iph, Parameter::I0, Parameter::N, Parameter::Rs, Parameter::Rsh] {
        if let (Some(found), Some(interval)) = (fit.parameter(parameter), fit.interval(parameter, 0.95)) {
            println!("{parameter:?}: {found}, 95 %: {:?} to {:?}", interval.low, interval.high);
        }
    }
    for note in &fit.notes {
        println!("note: {note}");
    }
    Ok(())
}
