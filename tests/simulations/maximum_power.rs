//! Bias, spread and coverage of every method for Pmax, over curve shapes, points and noise: printed as a table.
//!
//! `cargo run --release --example maximum_power -- [sweeps] [points] [noise/%] [first seed]` (2000 sweeps of all cases if not said)
//!
//! Three shapes (invented parameters): a dye-like diode, a silicon cell, and an S-shaped curve with a barrier in
//! series. Voltages evenly spaced from −0.05 Voc to 1.05 Voc, normal noise on the current as a share of Isc, not stated.

#[path = "../support/mod.rs"]
mod support;

use support::powers::{Tally, tally};
use support::shapes::shapes;

fn main() {
    let number = |k: usize| std::env::args().nth(k).map(|n| n.parse::<f64>().expect("a number"));
    let sweeps = number(1).unwrap_or(2000.0) as usize;
    let wanted = |k: usize, x: f64| number(k).is_none_or(|w| w == x);
    println!(
        "| shape | points | noise/% | method | given/% | bias/% | spread/% | rms error/% | u/% | holds/% |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    for shape in shapes() {
        for points in [15, 25, 50].into_iter().filter(|p| wanted(2, *p as f64)) {
            for noise in [0.003, 0.01, 0.03].into_iter().filter(|x| wanted(3, 100.0 * x)) {
                for Tally { method, given, bias, spread, rms, u, holds } in
                    tally(&shape, points, noise, number(4).unwrap_or(0.0) as u64, sweeps)
                {
                    let [given, bias, spread, rms, u] = [given, bias, spread, rms, u].map(|x| 100.0 * x);
                    let (u, holds) = if u > 0.0 {
                        (format!("{u:.2}"), format!("{:.1}", 100.0 * holds))
                    } else {
                        ("".into(), "".into())
                    };
                    println!(
                        "| {} | {points} | {:.1} | {method} | {given:.1} | {bias:+.2} | {spread:.2} | {rms:.2} | {u} | {holds} |",
                        shape.name,
                        100.0 * noise
                    );
                }
            }
        }
    }
}
