//! Stated 95 % intervals hold the truth 95 % of the time: a reduced version of `examples/coverage.rs` and of
//! `examples/short_sweeps.rs`.
#![cfg(feature = "methods")]

mod support;

use support::coverage::{Axis, Case, FIGURES, cells, run};
use support::short::{self, CELLS, Stop};

const SWEEPS: usize = 300;

/// Seven of the 54 cases, among them the hardest; the bounds are 95 % ± 3.6 standard deviations of 300 runs, which
/// the 63 numbers of a right program pass together with a probability of 98 %. Above, where a parameter sits at its
/// bound, the interval is one-sided and may hold more often.
#[test]
fn intervals_hold_as_often_as_they_say() {
    let cells = cells();
    let [dye, silicon, leaky] = &cells;
    let cases = [
        (dye, Axis::Current, true, 0.01),
        (dye, Axis::Voltage, false, 0.03),
        (silicon, Axis::Current, false, 0.002),
        (silicon, Axis::Both, true, 0.01),
        (leaky, Axis::Current, false, 0.03),
        (leaky, Axis::Voltage, true, 0.01),
        (leaky, Axis::Both, false, 0.03),
    ];
    let (mut bad, mut judged) = (Vec::new(), 0);
    for (cell, axis, given, ff_u) in cases {
        let case = Case::new(cell, axis, given, ff_u);
        let tally = run(&case, SWEEPS);
        assert_eq!(tally.runs, SWEEPS);
        let spread = 3.6 * (0.95 * 0.05 / SWEEPS as f64).sqrt();
        let often_at_bound = tally.status[1] + tally.status[2] > SWEEPS / 50;
        for (f, name) in FIGURES.iter().enumerate().filter(|(_, name)| case.identified(name)) {
            let held = tally.held[f][0] as f64 / SWEEPS as f64;
            judged += 1;
            let high = if often_at_bound { 1.0 } else { 0.95 + spread };
            if held < 0.95 - spread || held > high {
                bad.push(format!("{} {name}, u(FF) = {ff_u}, size given: {given}: {held:.3}", cell.name));
            }
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert_eq!(judged, 63);
}

/// A fit whose sweep ends before Isc, Voc or the maximum says of that figure what holds, in `fit.interval` and in
/// `fit.key_points()`: in 95 % less 3.6 standard deviations of 100 runs or more, since next to a bound an interval holds more
/// often than it says. Such a figure is called extrapolated, and no `at_bound` fit leaves n open.
#[test]
fn figures_beyond_the_readings_hold() {
    const RUNS: usize = 100;
    let [silicon, _, leaky, high_rs, thin_film, wafer] = &CELLS;
    let least = 0.95 - 3.6 * (0.95 * 0.05 / RUNS as f64).sqrt();
    let cases = [
        (silicon, Stop::Current(0.98), 0.001, true, [0, 3]),
        (silicon, Stop::Current(0.98), 0.01, false, [0, 3]),
        (high_rs, Stop::Current(0.9), 0.001, false, [0, 3]),
        (thin_film, Stop::Current(0.9), 0.01, true, [0, 3]),
        (wafer, Stop::Current(0.9), 0.01, true, [0, 3]),
        (leaky, Stop::Voltage(0.85), 0.01, true, [1, 3]),
        (high_rs, Stop::From(0.4), 0.01, true, [0, 3]),
    ];
    let job = |k: usize| {
        let (cell, stop, size, stated, _) = cases[k];
        short::run(cell, stop, size, stated, RUNS, k as u64)
    };
    let tallies = litdiode::threads::rows(cases.len(), None, job, |_| true).unwrap();
    for ((cell, stop, _, _, beyond), tally) in cases.into_iter().zip(tallies) {
        for f in beyond {
            let name = short::FIGURES[f];
            assert_eq!(tally.named[f], RUNS, "{} {stop:?} {name}", cell.name);
            for held in &tally.held[f][..2] {
                let share = *held as f64 / RUNS as f64;
                assert!(share >= least, "{} {stop:?} {name}: {share} {tally:?}", cell.name);
            }
        }
        assert_eq!(tally.at_bound[1], 0, "{} {stop:?}: {tally:?}", cell.name);
    }
}
