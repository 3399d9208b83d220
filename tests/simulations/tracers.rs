//! How often the intervals of the key points hold, over kinds of tracer and device: one line a cell of the table.
//!
//! `cargo run --release --example tracers -- [sweeps] [tuning|aside] [part of the line]`

#[path = "../support/mod.rs"]
mod support;

use litdiode::sweep::Swept;
use support::tracers::{Device, Rig, Start, kept_aside, s_shapes, tally, tuning, two_diodes};

const POINTS: [usize; 4] = [10, 15, 25, 50];
const NOISE: [f64; 4] = [0.001, 0.003, 0.01, 0.03];

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let sweeps = arguments.first().map_or(1000, |n| n.parse().expect("a number of sweeps"));
    let aside = arguments.get(1).is_none_or(|which| which == "aside");
    let wanted = arguments.get(2).cloned().unwrap_or_default();
    let seed = if aside { 5_000_000_000 } else { 1_000_000 };
    let diodes = if aside { kept_aside() } else { tuning() };
    let extra = if aside { Vec::new() } else { vec![two_diodes()] };
    println!("device,swept,start,points,noise_percent,stated,figure,given,bias,spread,core,u,holds");
    for device in diodes.iter().chain(&extra) {
        for swept in [Swept::Voltage, Swept::Current] {
            run(device, swept, &POINTS, (sweeps, seed), &wanted);
        }
    }
    for device in &s_shapes()[usize::from(aside)] {
        run(device, Swept::Voltage, &POINTS[1..], (sweeps, seed), &wanted);
    }
}

fn run(device: &Device, swept: Swept, points: &[usize], (sweeps, seed): (usize, u64), wanted: &str) {
    for start in [Start::Before, Start::At, Start::Beyond] {
        for &points in points {
            for noise in NOISE {
                for stated in [true, false] {
                    let rig = Rig { swept, start, points, noise, stated };
                    let axis = if swept == Swept::Current { "current" } else { "voltage" };
                    let state = if stated { "stated" } else { "found" };
                    let line = format!("{},{axis},{start:?},{points},{},{state}", device.name, 100.0 * noise);
                    if !wanted.split(';').all(|part| line.contains(part)) {
                        continue;
                    }
                    // Each line has sweeps of its own.
                    let own =
                        line.bytes().fold(0u64, |sum, b| sum.wrapping_mul(31).wrapping_add(u64::from(b)))
                            % 1_000_000;
                    for t in tally(device, &rig, seed + own * 1000, sweeps) {
                        println!(
                            "{line},{},{:.4},{:.6},{:.6},{:.6},{:.6},{:.4}",
                            t.figure, t.given, t.bias, t.spread, t.core, t.u, t.holds
                        );
                    }
                }
            }
        }
    }
}
