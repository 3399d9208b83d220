//! Every method for Rs and Rsh on devices that nothing was chosen by: how often its figure carries no doubt, and how
//! often the 95 % interval of such a figure holds the truth: printed as the tables of docs/resistances.md.
//!
//! `cargo run --release --example resistances -- [sets of sweeps] [first seed] [chosen]`
//! (100 sets if not said; `chosen`: the devices that constants were chosen by)
//!
//! Each device is measured as `tests/support/kinds.rs` says: lit, at two lower irradiances, in the dark, and its
//! open-circuit voltages over irradiance; voltage and current stepped, noise stated and not.

#[path = "../support/mod.rs"]
mod support;

use litdiode::resistance::Quantity;
use litdiode::sweep::Swept;
use support::kinds::{self, Bench, Tally, chosen_by, kept_aside};

const COLUMNS: [(Swept, bool, &str); 4] = [
    (Swept::Voltage, true, "V, stated"),
    (Swept::Voltage, false, "V, not stated"),
    (Swept::Current, true, "I, stated"),
    (Swept::Current, false, "I, not stated"),
];

const RIGS: [(usize, f64); 2] = [(30, 0.005), (100, 0.001)];

/// Figures without a doubt in fewer sets than this say nothing of their intervals.
const FEWEST: f64 = 0.2;

/// One cell: a device, a rig, a column, a method.
struct Cell {
    device: &'static str,
    rig: (usize, f64),
    column: usize,
    tally: Tally,
}

fn main() {
    let text = |k: usize| std::env::args().nth(k);
    let number = |k: usize, default: u64| text(k).map_or(default, |n| n.parse().expect("a number"));
    let (sets, seed) = (number(1, 100) as usize, number(2, 0));
    let mut cells = Vec::new();
    for kind in if text(3).is_some() { chosen_by() } else { kept_aside() } {
        for rig in RIGS {
            for (column, (swept, stated, _)) in COLUMNS.into_iter().enumerate() {
                let bench = Bench { swept, stated, points: rig.0, noise: rig.1 };
                let tallies = kind.tally(&bench, sets, seed);
                cells.extend(tallies.into_iter().map(|tally| Cell { device: kind.name, rig, column, tally }));
            }
        }
        eprintln!("{} done", kind.name);
    }
    by_method(&cells);
    by_device(&cells);
    misses(&cells, sets);
}

fn symbol(quantity: Quantity) -> &'static str {
    if quantity == Quantity::Series { "Rs" } else { "Rsh" }
}

/// Sums over the cells that `wanted` picks: share without a doubt, and share of these that hold.
fn pooled<'a>(cells: impl Iterator<Item = &'a Cell>, count: f64) -> String {
    let (mut clear, mut held) = (0.0, 0.0);
    for cell in cells {
        (clear, held) = (clear + cell.tally.clear, held + cell.tally.held);
    }
    if clear == 0.0 {
        "–".into()
    } else {
        format!("{:.0} / {:.1}", 100.0 * clear / count, 100.0 * held / clear)
    }
}

fn heading(first: &str) {
    let names: Vec<&str> = COLUMNS.iter().map(|c| c.2).collect();
    println!("| {first} | {} |", names.join(" | "));
    println!("|---|---|{}", "---|".repeat(COLUMNS.len()));
}

fn by_method(cells: &[Cell]) {
    heading("quantity | method");
    let mut rows: Vec<(Quantity, &str)> = Vec::new();
    cells.iter().map(|c| (c.tally.quantity, c.tally.method)).for_each(|row| {
        if !rows.contains(&row) {
            rows.push(row);
        }
    });
    rows.sort_by_key(|row| (row.0 == Quantity::Shunt, row.1));
    let devices = kept_aside().len() as f64;
    for (quantity, method) in rows {
        let own = |c: &&Cell| c.tally.quantity == quantity && c.tally.method == method;
        let shown: Vec<String> = (0..COLUMNS.len())
            .map(|k| pooled(cells.iter().filter(own).filter(|c| c.column == k), devices * RIGS.len() as f64))
            .collect();
        println!("| {} | {method} | {} |", symbol(quantity), shown.join(" | "));
    }
    println!();
}

/// All methods but what is quoted, and what is quoted.
fn by_device(cells: &[Cell]) {
    heading("device | figures");
    let mut devices: Vec<&str> = cells.iter().map(|c| c.device).collect();
    devices.dedup();
    for device in devices {
        for quoted in [false, true] {
            let own = |c: &&Cell| c.device == device && (c.tally.method == kinds::QUOTED) == quoted;
            let shown: Vec<String> = (0..COLUMNS.len())
                .map(|k| {
                    let all = cells.iter().filter(own).filter(|c| c.column == k);
                    let count =
                        if quoted { 2.0 * RIGS.len() as f64 } else { all.clone().count().max(1) as f64 };
                    pooled(all, count)
                })
                .collect();
            println!(
                "| {device} | {} | {} |",
                if quoted { "quoted" } else { "all methods" },
                shown.join(" | ")
            );
        }
    }
    println!();
}

/// Cells that lie outside 93 to 97 % by more than two standard deviations of the count.
fn misses(cells: &[Cell], sets: usize) {
    let counted: Vec<&Cell> =
        cells.iter().filter(|c| c.tally.clear >= FEWEST && c.tally.method != kinds::QUOTED).collect();
    let slack = |t: &Tally| 2.0 * (0.95 * 0.05 / (t.clear * sets as f64)).sqrt();
    let (low, high): (Vec<&Cell>, Vec<&Cell>) = counted
        .iter()
        .copied()
        .filter(|c| (c.tally.holds() - 0.95).abs() > 0.02 + slack(&c.tally))
        .partition(|c| c.tally.holds() < 0.95);
    println!(
        "Of {} cells (device, points, column, method) with a figure without a doubt in at least {:.0} % of the sets, {} hold \
         in fewer than 93 % by more than two standard deviations of the count, {} in more than 97 %. The former:\n",
        counted.len(),
        100.0 * FEWEST,
        low.len(),
        high.len()
    );
    println!(
        "| device | points, noise | swept, noise | quantity | method | no doubt/% | holds/% | mean error/u |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    for c in low {
        let t = &c.tally;
        println!(
            "| {} | {}, {} % | {} | {} | {} | {:.0} | {:.1} | {:+.2} |",
            c.device,
            c.rig.0,
            100.0 * c.rig.1,
            COLUMNS[c.column].2,
            symbol(t.quantity),
            t.method,
            100.0 * t.clear,
            100.0 * t.holds(),
            t.bias()
        );
    }
}
