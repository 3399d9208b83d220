//! Currie's limits: the chances that they promise, by simulation.
//!
//! `LITDIODE_RUNS=1000000 cargo test --release --test quantity chances -- --nocapture`.

use super::support::random::Rng;
use litdiode::detection::limits_of_blank;
use litdiode::estimate::Unit;
use litdiode::threads::rows;

/// Of a blank, so many signals are found; of a signal at the true detection limit, so many are missed: 5 % each.
#[test]
fn chances_are_those_that_are_stated() {
    let runs: usize = std::env::var("LITDIODE_RUNS").ok().map_or(20_000, |n| n.parse().unwrap());
    let chances = |k: usize| {
        let blanks = [3, 5, 10, 30][k];
        let mut random = Rng(blanks as u64);
        let (mut found, mut missed) = (0, 0);
        // δ(ν)·√(1 + 1/n) of the true scatter, which is 1: the same for all blanks of this number.
        let readings: Vec<f64> = (0..blanks).map(|_| random.normal()).collect();
        let one = limits_of_blank(&readings, Unit::Ampere, 0.05, 0.05).unwrap();
        let detection = one.detection.value / one.scatter.value;
        for _ in 0..runs {
            let readings: Vec<f64> = (0..blanks).map(|_| random.normal()).collect();
            let limits = limits_of_blank(&readings, Unit::Ampere, 0.05, 0.05).unwrap();
            let net = |signal: f64, random: &mut Rng| signal + random.normal() - limits.blank.value;
            found += usize::from(net(0.0, &mut random) > limits.critical.value);
            missed += usize::from(net(detection, &mut random) <= limits.critical.value);
        }
        (blanks, [found, missed].map(|n| 100.0 * n as f64 / runs as f64))
    };
    for (blanks, [found, missed]) in rows(4, None, chances, |_| true).unwrap() {
        println!("{blanks} blanks: {found:.2} % found where nothing is, {missed:.2} % missed");
        for percent in [found, missed] {
            assert!((percent - 5.0).abs() < 0.7, "{blanks}: {percent}");
        }
    }
}
