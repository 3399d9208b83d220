//! How many readings the live sweep needs where equal steps need 40, and how often its intervals hold the truth at its stop: on
//! cells that were kept aside when the constants were chosen. A short form of the simulation that made docs/live.md.

use crate::support::live::{Cell, EQUAL, Rig, equal_steps, quantile, run};
use crate::support::random::Rng;
use litdiode::sweep::Swept;
use litdiode::threads;

fn runs(rig: &Rig, count: usize) -> Vec<crate::support::live::Run> {
    let mut rng = Rng(2);
    let cells: Vec<Cell> = (0..count).map(|_| Cell::random(&mut rng)).collect();
    let one = |k: usize| run(&cells[k], rig, equal_steps(&cells[k], rig, EQUAL), 2_000_000 + k as u64);
    threads::rows(count, None, one, |_| true).expect("not stopped")
}

#[test]
fn a_set_voltage_needs_half_of_the_readings() {
    let runs = runs(&Rig { swept: Swept::Voltage, noise: 0.01, stated: true }, 400);
    let mut in_truth: Vec<f64> = runs.iter().map(|r| r.in_truth as f64 / EQUAL as f64).collect();
    let (median, most) = (quantile(&mut in_truth, 0.5), quantile(&mut in_truth, 0.95));
    assert!(median <= 0.5 && most <= 0.6, "{median} and {most}");
    let holds = runs.iter().filter(|r| r.holds).count() as f64 / runs.len() as f64;
    assert!((0.93..=0.97).contains(&holds), "{holds}");
    let reached = runs.iter().filter(|r| r.reached).count();
    assert!(reached >= 396, "{reached} of 400");
    assert_eq!(runs.iter().map(|r| r.outside).sum::<usize>(), 0);
}
