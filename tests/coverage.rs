//! Stated 95 % intervals hold the truth 95 % of the time: a reduced version of `examples/coverage.rs`.

#[path = "support/coverage.rs"]
mod coverage;

use coverage::{Axis, Case, FIGURES, cells, run};

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
    let mut bad = Vec::new();
    for (cell, axis, given, ff_u) in cases {
        let case = Case::new(cell, axis, given, ff_u);
        let tally = run(&case, SWEEPS);
        assert_eq!(tally.runs, SWEEPS);
        let spread = 3.6 * (0.95 * 0.05 / SWEEPS as f64).sqrt();
        let often_at_bound = tally.status[1] + tally.status[2] > SWEEPS / 50;
        for (f, name) in FIGURES.iter().enumerate().filter(|(_, name)| case.identified(name)) {
            let held = tally.held[f][0] as f64 / SWEEPS as f64;
            let high = if often_at_bound { 1.0 } else { 0.95 + spread };
            if held < 0.95 - spread || held > high {
                bad.push(format!("{} {name}, u(FF) = {ff_u}, size given: {given}: {held:.3}", cell.name));
            }
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}
