//! No sweep, however broken, panics, hangs or gives a NaN.
//!
//! `LITDIODE_HOSTILE=1000000 cargo test --release --test hostile -- --nocapture` runs the long version;
//! `LITDIODE_HOSTILE_FROM=500000` leaves the first half million out; `LITDIODE_HOSTILE_POINTS=200` gives every sweep so
//! many readings instead of up to 40.
#![cfg(feature = "methods")]

mod support;

use std::collections::BTreeMap;
use std::time::Duration;
use support::{Rng, hostile};

/// Cases that broke something once: an end of the interval of a Voc of 0 was NaN.
const FOUND: [usize; 1] = [358_497];

#[test]
fn hostile_sweeps_end_in_a_fit_or_an_error() {
    let number = |name: &str, or: usize| std::env::var(name).map_or(or, |n| n.parse().unwrap());
    let from = number("LITDIODE_HOSTILE_FROM", 0);
    let count = number("LITDIODE_HOSTILE", 3000) - from;
    let points = std::env::var("LITDIODE_HOSTILE_POINTS").ok().map(|n| n.parse().unwrap());
    let job = |k: usize| {
        let case = FOUND.get(k).copied().unwrap_or_else(|| k - FOUND.len() + from);
        let mut rng = Rng(case as u64 ^ 0x5eed);
        let words = 60 + points.map_or(0, |points| 2 * points);
        let bytes: Vec<u8> = (0..words).flat_map(|_| rng.next().to_le_bytes()).collect();
        let start = hostile::busy();
        let run = std::panic::catch_unwind(|| hostile::run(&bytes, points))
            .unwrap_or_else(|_| panic!("case {case}"));
        (run.end, run.fit, hostile::busy().saturating_sub(start), run.looked_at)
    };
    let ends = litdiode::threads::rows(FOUND.len() + count, None, job, |_| true).unwrap();
    let mut counts = BTreeMap::new();
    ends.iter().for_each(|e| *counts.entry(e.0).or_insert(0) += 1);
    let slowest = ends.iter().map(|e| e.2).max().unwrap_or_default();
    let looked_at: usize = ends.iter().map(|e| e.3).sum();
    println!("{counts:?}, {looked_at} figures and intervals, slowest {slowest:?}");
    let mut by_time: Vec<_> = ends.iter().enumerate().map(|(k, e)| (e.1, e.2, k)).collect();
    by_time.sort();
    by_time.iter().rev().take(5).for_each(|(fit, whole, k)| {
        let case = FOUND.get(*k).copied().unwrap_or_else(|| k - FOUND.len() + from);
        println!("case {case}: the fit {fit:?} of {whole:?}")
    });
    // A hang is not a matter of speed: a case takes milliseconds, and searches have budgets.
    assert!(slowest < Duration::from_secs(20), "{slowest:?}");
    // What there was to look at: a few sweeps alone say nothing of these shares.
    let converged = counts.get(&hostile::End::Fit("converged")).copied().unwrap_or(0);
    assert!(count < 1000 || 100 * converged >= count && looked_at >= count, "{counts:?} {looked_at}");
}
