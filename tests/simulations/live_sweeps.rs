//! The tables of docs/live.md: `cargo run --release --example live_sweeps -- 400 [tuning]`.

#[path = "../support/mod.rs"]
mod support;

use litdiode::sweep::Swept;
use litdiode::threads;
use support::live::{Cell, EQUAL, Rig, Run, equal_steps, quantile, run};
use support::random::Rng;

fn table(name: &str, rig: &Rig, cells: &[Cell], first_seed: u64) {
    let rows: Vec<Run> = threads::rows(
        cells.len(),
        None,
        |k| run(&cells[k], rig, equal_steps(&cells[k], rig, EQUAL), first_seed + k as u64),
        |_| true,
    )
    .expect("not stopped");
    let of = |f: &dyn Fn(&Run) -> f64, p: f64| quantile(&mut rows.iter().map(f).collect::<Vec<f64>>(), p);
    let share = |f: &dyn Fn(&Run) -> bool| rows.iter().filter(|r| f(r)).count() as f64 / rows.len() as f64;
    let per = 100.0 / EQUAL as f64;
    println!(
        "{name:34} truth {:5.1} {:5.1}  stop {:5.1} {:5.1}  holds {:.3}  reached {:.3}  z {:.2}  wild {}  outside {} bracket {}",
        per * of(&|r| r.in_truth as f64, 0.5),
        per * of(&|r| r.in_truth as f64, 0.95),
        per * of(&|r| r.stopped as f64, 0.5),
        per * of(&|r| r.stopped as f64, 0.95),
        share(&|r| r.holds),
        share(&|r| r.reached),
        (rows.iter().map(|r| r.off * r.off).sum::<f64>() / rows.len() as f64).sqrt(),
        rows.iter().map(|r| r.wild).sum::<usize>(),
        rows.iter().map(|r| r.outside).sum::<usize>(),
        of(&|r| r.bracket as f64, 0.5),
    );
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let count = arguments.next().and_then(|n| n.parse().ok()).unwrap_or(400);
    let tuning = arguments.next().is_some();
    let mut rng = Rng(if tuning { 1 } else { 2 });
    let cells: Vec<Cell> = (0..count).map(|_| Cell::random(&mut rng)).collect();
    let seed = if tuning { 1_000_000 } else { 2_000_000 };
    for (name, swept, noise) in [
        ("voltage set, 1 % of Isc", Swept::Voltage, 0.01),
        ("voltage set, 0.1 % of Isc", Swept::Voltage, 0.001),
        ("current set, 3 mV", Swept::Current, 0.003),
        ("current set, 1 mV", Swept::Current, 0.001),
    ] {
        for stated in [true, false] {
            let name = format!("{name}, {}", if stated { "stated" } else { "not stated" });
            table(&name, &Rig { swept, noise, stated }, &cells, seed);
        }
    }
}
