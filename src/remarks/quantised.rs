//! The step of a converter in the readings of the quantity that was set.
//!
//! Steps that are read back by a converter are whole numbers of its codes apart, now one more, now one less. Such readings count as set exactly, unless
//! the noise states the step: the rounding then is in no ±, and moves the parameters of a fit by more than they say.

use crate::quantity::format::quantity;
use crate::sweep::{Finding, Kind, Sweep, Swept, range};

/// Part of the range by which equal gaps may differ: the digits of a file.
const DIGITS: f64 = 1e-5;
/// At least two of five gaps differ from the next.
const CHANGES: (usize, usize) = (5, 2);
/// Times the digits that a step must be.
const MULTIPLES: f64 = 10.0;
/// Part of the range from which a step matters: of currents, and of voltages, which files write with few digits.
const MATTERS: [f64; 2] = [2e-3, 5e-3];

/// The remark, where the set quantity shows a converter's step that the noise does not state.
pub(super) fn finding(sweep: &Sweep) -> Option<Finding> {
    let noise = sweep.options().noise.unwrap_or_default();
    let (set, states, axis, unit, option, matters) = match sweep.options().swept {
        Swept::Current => {
            (sweep.current_a(), noise.states_current(), "currents", "A", "current_step_a", MATTERS[0])
        }
        Swept::Voltage => {
            (sweep.voltage_v(), noise.states_voltage(), "voltages", "V", "voltage_step_v", MATTERS[1])
        }
    };
    if states {
        return None;
    }
    let step = step_of_converter(set)?;
    let (low, high) = range(set);
    let text = || {
        format!(
            "the {axis} lie on a grid of {}, as a converter makes of even steps: state it as {option} of the noise, else \
             its rounding is in no ±",
            quantity(step, unit)
        )
    };
    (step >= matters * (high - low)).then(|| Finding {
        kind: Kind::Quantised,
        text: text(),
        points: Vec::new(),
    })
}

/// The step of which all gaps between neighbouring readings are multiples, where the gaps change from one to the next as often as
/// rounding makes them: steps that a person chose are even over a while. `None` for others.
fn step_of_converter(readings: &[f64]) -> Option<f64> {
    let mut sorted = readings.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let digits = DIGITS * (sorted.last()? - sorted.first()?);
    let gaps: Vec<f64> = sorted.windows(2).map(|w| w[1] - w[0]).filter(|gap| *gap > digits).collect();
    let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
    let step = gaps.iter().fold(least, |step, gap| common_divisor(*gap, step, digits));
    let changes = gaps.windows(2).filter(|w| (w[0] - w[1]).abs() > digits).count();
    let irregular = changes >= 3 && CHANGES.0 * changes >= CHANGES.1 * gaps.len();
    (step.is_finite() && step > MULTIPLES * digits && irregular).then_some(step)
}

/// Euclid's algorithm on numbers that are known to `digits`.
fn common_divisor(mut a: f64, mut b: f64, digits: f64) -> f64 {
    while b > digits {
        let rest = a - b * (a / b).round();
        (a, b) = (b, rest.abs());
    }
    a
}
