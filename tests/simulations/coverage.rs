//! How often stated 95 % intervals of a fit hold the truth: a simulation, printed as a table.
//!
//! `cargo run --release --example coverage -- [sweeps] [cell] [axis]` (4000 sweeps, all cells and axes if not said)
//!
//! Three cells (invented parameters), noise on the current, on the voltage or on both, of a size that leaves FF
//! with a relative standard uncertainty of 0.2, 1 and 3 % by linear propagation at the truth, and either stated
//! or taken from the scatter. With both axes the ratio of the two is stated, the size is not. A parameter counts
//! as identified where θ ± 1.96 u at the truth (Fisher information) stays inside its search bounds; `–` where not.

#[path = "../support/mod.rs"]
mod support;

use support::coverage::{Axis, Case, FIGURES, cells, run};

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let sweeps = arguments.first().map_or(4000, |n| n.parse().expect("a number of sweeps"));
    let wanted = |k: usize, name: &str| arguments.get(k).is_none_or(|w| w == "all" || w == name);
    let cells = cells();
    println!("| cell | noise on | size | u(FF)/% | status % c/b/i/n | {} |", FIGURES.join(" | "));
    println!("|---|---|---|---|---|{}", "---|".repeat(FIGURES.len()));
    for cell in cells.iter().filter(|c| wanted(1, c.name)) {
        for (axis, axis_name) in
            [(Axis::Current, "current"), (Axis::Voltage, "voltage"), (Axis::Both, "both")]
        {
            for (given, size) in [(true, "given"), (false, "unknown")] {
                for ff_u in [0.002, 0.01, 0.03] {
                    if wanted(2, axis_name) {
                        row(&Case::new(cell, axis, given, ff_u), axis_name, size, ff_u, sweeps);
                    }
                }
            }
        }
    }
}

fn row(case: &Case, axis: &str, size: &str, ff_u: f64, sweeps: usize) {
    let tally = run(case, sweeps);
    let percent = |n: usize| 100.0 * n as f64 / tally.runs as f64;
    let status: Vec<String> = tally.status.iter().map(|n| format!("{:.1}", percent(*n))).collect();
    let cells: Vec<String> = FIGURES
        .iter()
        .enumerate()
        .map(|(f, name)| {
            let [default, linear] = tally.held[f].map(percent);
            let mark = if case.identified(name) { "" } else { "–" };
            format!("{mark}{default:.1} ({linear:.1})")
        })
        .collect();
    println!(
        "| {} | {axis} | {size} | {:.1} | {} | {} |",
        case.cell.name,
        100.0 * ff_u,
        status.join("/"),
        cells.join(" | ")
    );
}
