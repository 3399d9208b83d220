//! How often a reading far off is found, and how often one is seen where none is: printed as a table.
//!
//! `cargo run --release --example remarks -- [sweeps] [first seed] [aside]` (500 sweeps a cell, seed 0, the devices that
//! constants were chosen by; `aside` takes the others). Columns: a false alarm; a reading off by 15 to 40 σ found; a
//! reading of 0 among others found; each in % of the sweeps.

#[path = "../support/mod.rs"]
mod support;

use support::outliers::{Device, Tracer, devices};

fn main() {
    let word = |k: usize| std::env::args().nth(k);
    let number = |k: usize, or: u64| word(k).map_or(or, |n| n.parse().expect("a whole number"));
    let (sweeps, seed) = (number(1, 500) as usize, number(2, 0));
    let plain =
        Tracer { current_stepped: false, points: 25, noise: 0.0, stated: false, repeats: 1, step: 0.0 };
    println!("| device | swept | points | noise/% | stated | false/% | found/% | zero found/% |");
    println!("|---|---|---|---|---|---|---|---|");
    for device in devices(word(3).is_some_and(|w| w == "aside")) {
        for current_stepped in [false, true].into_iter().filter(|stepped| !stepped || device.is_diode()) {
            for points in [10, 15, 25, 50] {
                for (noise, stated) in
                    [(0.0, false), (0.001, false), (0.01, false), (0.03, false), (0.01, true)]
                {
                    let tracer = Tracer { current_stepped, points, noise, stated, ..plain };
                    print(&device, &tracer, seed, sweeps, "");
                }
            }
            let repeated = Tracer { current_stepped, points: 14, noise: 0.01, repeats: 3, ..plain };
            print(&device, &repeated, seed, sweeps, ", three times each");
            let coarse = Tracer { current_stepped, noise: 0.001, step: 0.01, ..plain };
            print(&device, &coarse, seed, sweeps, ", converter step of 1 %");
        }
    }
}

fn print(device: &Device, tracer: &Tracer, seed: u64, sweeps: usize, remark: &str) {
    let rates = device.rates(tracer, seed, sweeps);
    let swept = if tracer.current_stepped { "current" } else { "voltage" };
    let [alarms, found, zero] = [rates.false_alarms, rates.found, rates.zero_found].map(|x| 100.0 * x);
    println!(
        "| {} | {swept} | {}{remark} | {:.1} | {} | {alarms:.2} | {found:.1} | {zero:.1} |",
        device.name,
        tracer.points,
        100.0 * tracer.noise,
        tracer.stated
    );
}
