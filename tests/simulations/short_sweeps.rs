//! How often what a fit says of a key point beyond the readings holds the truth: a simulation, printed as a table.
//!
//! `cargo run --release --example short_sweeps -- [sweeps] [seed]` (500 sweeps, seed 1 if not said)
//!
//! Percentages of the sweeps: the interval of `fit.interval(figure, 0.95)`, of the estimate in `fit.key_points()`, and the
//! linear one; then how often the first is open on a side; `*` where the figure lies beyond the readings in most of the
//! sweeps. An absent end is no limit.

#[path = "../support/mod.rs"]
mod support;

use support::short::{CELLS, FIGURES, STOPS, run};

fn main() {
    let argument = |k: usize| std::env::args().nth(k).map(|n| n.parse::<u64>().expect("a number"));
    let (runs, seed) = (argument(1).unwrap_or(500) as usize, argument(2).unwrap_or(1));
    println!("| cell | swept | noise/% | size | {} | at bound, n open |", FIGURES.join(" | "));
    println!("|---|---|---|---|{}---|", "---|".repeat(FIGURES.len()));
    let cases: Vec<_> = CELLS
        .iter()
        .flat_map(|cell| STOPS.map(|stop| (cell, stop)))
        .flat_map(|(cell, stop)| {
            [(0.001, true), (0.001, false), (0.01, true), (0.01, false)]
                .map(|(size, stated)| (cell, stop, size, stated))
        })
        .collect();
    let job = |k: usize| {
        let (cell, stop, size, stated) = cases[k];
        run(cell, stop, size, stated, runs, seed << 32 | k as u64)
    };
    let tallies = litdiode::threads::rows(cases.len(), None, job, |_| true).expect("nothing stops it");
    for ((cell, stop, size, stated), tally) in cases.iter().zip(tallies) {
        let percent = |n: usize| 100.0 * n as f64 / tally.runs as f64;
        let figures: Vec<String> = (0..FIGURES.len())
            .map(|f| {
                let [own, shown, linear] = tally.held[f].map(percent);
                let mark = if 2 * tally.named[f] > tally.runs { "*" } else { "" };
                format!("{mark}{own:.1} {shown:.1} ({linear:.1}) {:.0}", percent(tally.open[f]))
            })
            .collect();
        let size = 100.0 * size;
        let given = if *stated { "given" } else { "unknown" };
        let [bound, open] = tally.at_bound;
        println!(
            "| {} | {stop:?} | {size:.1} | {given} | {} | {bound}, {open} |",
            cell.name,
            figures.join(" | ")
        );
    }
}
