//! Bias, spread, uncertainty and coverage of the key points over curve shapes, points and noise: printed as a table.
//!
//! `cargo run --release --example key_points -- [sweeps] [points] [noise/%] [first seed]` (2000 sweeps, all cases, seed 0
//! if not said; fewer than 15 points only where asked for, with the noise stated, and with a leaky cell beside)

#[path = "../tests/support/figures.rs"]
mod figures;
#[path = "../tests/support/shapes.rs"]
mod shapes;

use figures::{Tally, tally};
use shapes::{Rig, leaky, other_shapes, shapes};

fn main() {
    let number = |k: usize| std::env::args().nth(k).map(|n| n.parse::<f64>().expect("a number"));
    let sweeps = number(1).unwrap_or(2000.0) as usize;
    let seed = number(4).unwrap_or(0.0) as u64;
    println!(
        "| shape | points | noise/% | stated | figure | given/% | bias/% | spread/% | u/% | bias/u | holds/% |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|");
    let few = number(2).is_some_and(|points| points < 15.0);
    let points: Vec<usize> = number(2).map_or(vec![15, 25, 50], |points| vec![points as usize]);
    let noises = number(3).map_or(vec![0.003, 0.01, 0.03], |percent| vec![percent / 100.0]);
    for shape in shapes().into_iter().chain(other_shapes()).chain(few.then(leaky)) {
        for &points in &points {
            for &noise in &noises {
                // Fewer than seven readings say nothing of their scatter.
                for stated in [false, true].into_iter().filter(|stated| *stated || !few) {
                    let rig = Rig { points, noise, stated, shifted: true };
                    let start = format!("| {} | {points} | {:.1} | {stated}", shape.name, 100.0 * noise);
                    tally(&shape, &rig, seed, sweeps).iter().for_each(|row| print(&start, row));
                }
            }
        }
    }
}

fn print(start: &str, Tally { figure, given, bias, spread, u, holds }: &Tally) {
    let [given, rate, spread, held, part] = [given, bias, spread, holds, u].map(|x| 100.0 * x);
    println!(
        "{start} | {figure} | {given:.1} | {rate:+.2} | {spread:.2} | {part:.2} | {:+.2} | {held:.1} |",
        bias / u
    );
}
