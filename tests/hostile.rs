//! No sweep, however broken, panics, hangs or gives a NaN.
//!
//! `LITDIODE_HOSTILE=1000000 cargo test --release --test hostile -- --nocapture` runs the long version;
//! `LITDIODE_HOSTILE_FROM=500000` leaves the first half million out.

#[path = "support/hostile.rs"]
mod hostile;
mod support;

use std::collections::BTreeMap;
use std::time::{Duration, Instant};
use support::Rng;

/// Cases that broke something once: an end of the interval of a Voc of 0 was NaN.
const FOUND: [usize; 1] = [358_497];

#[test]
fn hostile_sweeps_end_in_a_fit_or_an_error() {
    let number = |name: &str, or: usize| std::env::var(name).map_or(or, |n| n.parse().unwrap());
    let from = number("LITDIODE_HOSTILE_FROM", 0);
    let count = number("LITDIODE_HOSTILE", 3000) - from;
    let job = |k: usize| {
        let case = FOUND.get(k).copied().unwrap_or_else(|| k - FOUND.len() + from);
        let mut rng = Rng(case as u64 ^ 0x5eed);
        let bytes: Vec<u8> = (0..60).flat_map(|_| rng.next().to_le_bytes()).collect();
        let start = Instant::now();
        let end = std::panic::catch_unwind(|| hostile::run(&bytes)).unwrap_or_else(|_| panic!("case {case}"));
        (end, start.elapsed())
    };
    let ends = litdiode::parallel::rows(FOUND.len() + count, None, job, |_| true).unwrap();
    let mut counts = BTreeMap::new();
    ends.iter().for_each(|e| *counts.entry(e.0).or_insert(0) += 1);
    let slowest = ends.iter().map(|e| e.1).max().unwrap_or_default();
    println!("{counts:?}, slowest {slowest:?}");
    // A hang is not a matter of speed: a case takes milliseconds.
    assert!(slowest < Duration::from_secs(60), "{slowest:?}");
    assert!(counts.keys().any(|e| matches!(e, hostile::End::Fit("converged"))), "nothing was ever fitted");
}
