//! A measurement point by point: the live sweep says what to set and when to stop, the rig sets and reads. The rig here is
//! simulated, its cell invented.
//!
//! Keep the compliance of the source at the limits as well: a program cannot guard what a loose wire does. Above 60 V d.c., of
//! a string of cells, a hand on a contact is dangerous; a lamp burns and blinds.

use litdiode::diode::{Parameters, SingleDiode};
use litdiode::live::{LiveOptions, LiveSweep, SetPoint};
use litdiode::simulate::{Instrument, simulate_sweep};
use litdiode::sweep::{Noise, SweepOptions};
use std::error::Error;
use std::time::Duration;

/// In place of a source and two meters.
struct Rig {
    cell: SingleDiode,
    readings: u64,
    time_s: f64,
}

impl Rig {
    /// Sets a voltage in V, waits, and reads voltage in V and current in A. Each tenth reading is lost on the way.
    fn set_and_read(&mut self, point: SetPoint) -> Result<(f64, f64), Box<dyn Error>> {
        self.readings += 1;
        self.time_s += point.dwell_s;
        if self.readings.is_multiple_of(10) {
            return Ok((point.value, f64::NAN));
        }
        // Two set points, as a sweep has at least two; the first is the one that was asked for.
        let instrument = Instrument::default()
            .start(point.value)
            .stop(point.value + 1e-3)
            .points(2)
            .noise_current_a(60e-6);
        let sweep = simulate_sweep(&self.cell, &instrument, self.readings)?;
        Ok((sweep.voltage_v()[0], sweep.current_a()[0]))
    }

    /// The source to 0 V and off.
    fn rest(&mut self) {
        println!("source at 0 V and off after {:.1} s", self.time_s);
    }
}

fn measure(live: &mut LiveSweep, rig: &mut Rig) -> Result<(), Box<dyn Error>> {
    while let Some(point) = live.next_set_point() {
        let (voltage_v, current_a) = rig.set_and_read(point)?;
        match live.push_at(voltage_v, current_a, rig.time_s) {
            Ok(None) => {}
            Ok(Some(flag)) => println!("reading {}: {flag}", live.len()),
            // Nothing is lost: the next set point is the same one.
            Err(refused) => println!("refused: {refused}"),
        }
        if let Some(ff) = live.key_points().ff {
            println!("{:3} readings, set {:7.4} V: FF {ff}", live.len(), point.value);
        }
    }
    Ok(())
}

pub fn main() -> Result<(), Box<dyn Error>> {
    let parameters = Parameters {
        iph_a: 0.03,
        i0_a: [1e-9],
        n: [1.4],
        rs_ohm: 0.8,
        rsh_ohm: 900.0,
        cells: 1,
        temperature_c: 25.0,
    };
    let mut rig = Rig { cell: SingleDiode::new(parameters)?, readings: 0, time_s: 0.0 };
    let stated = SweepOptions::default().noise(Noise::default().current_a(60e-6)).label("cell 3".to_owned());
    let options = LiveOptions::within((-0.1, 0.8), (-0.06, 0.06))
        .limit_w(0.05)
        .wanted(0.001)
        .capacity(100)
        .dwell_s(0.2)
        .time_limit_s(60.0)
        .sweep(stated);
    let mut live = LiveSweep::new(options)?;
    let measured = measure(&mut live, &mut rig);
    // Whatever happened, the source goes back to rest.
    rig.rest();
    measured?;
    if let Some(reason) = live.reason() {
        println!("stopped: {reason}");
    }
    println!("{}", live.key_points());
    let fit = live.fit(Duration::from_millis(5))?;
    println!(
        "fit: {:?}, n = {:?}",
        fit.status,
        fit.parameter(litdiode::fit::Parameter::N).map(ToString::to_string)
    );
    println!("{} readings in the sweep", live.sweep()?.len());
    Ok(())
}
