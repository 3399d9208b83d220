//! From the raw readings of a tracer that steps the current to figures with their uncertainties. The data are invented.

use litdiode::curve::key_points;
use litdiode::sweep::{Noise, Sweep, SweepOptions, Swept};
use std::error::Error;

fn main() -> Result<(), Box<dyn Error>> {
    // Steps of 25 µA; the voltage is read with 1 mV.
    let current_a: Vec<f64> = (0..26).map(|k| 25e-6 * f64::from(k)).collect();
    let voltage_v = [
        0.6203, 0.6166, 0.6155, 0.6122, 0.6079, 0.6060, 0.6027, 0.5993, 0.5956, 0.5912, 0.5868, 0.5834,
        0.5789, 0.5733, 0.5690, 0.5626, 0.5566, 0.5488, 0.5407, 0.5306, 0.5184, 0.5020, 0.4780, 0.4300,
        0.2120, -0.913,
    ];
    let options = SweepOptions::default()
        .swept(Swept::Current)
        .noise(Noise::default().voltage_v(1e-3))
        .label("cell 3".to_owned());
    let sweep = Sweep::new(&voltage_v, &current_a, options)?;
    for finding in sweep.findings() {
        println!("note: {finding}");
    }
    let points = key_points(&sweep);
    println!("{points}");
    Ok(())
}
