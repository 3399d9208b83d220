//! The step of a converter in the readings of the quantity that was set.
//!
//! Even steps that are read back by a converter are m or m + 1 of its codes apart. Such readings count as set exactly, unless
//! the noise states the step: the rounding then is in no ±, and moves the parameters of a fit by more than they say.

use crate::quantity::format::quantity;
use crate::sweep::{Finding, Kind, Sweep, Swept, range};

/// Part of the range by which equal gaps may differ: the digits of a file.
const DIGITS: f64 = 1e-5;
/// Part by which a number of codes may miss a whole one.
const WHOLE: f64 = 1e-2;
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
    let step = step_of_even_steps(set)?;
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

/// The step s of readings that are m·s or (m + 1)·s apart, both at least twice; `None` for others.
fn step_of_even_steps(readings: &[f64]) -> Option<f64> {
    let mut sorted = readings.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let digits = DIGITS * (sorted.last()? - sorted.first()?);
    let gaps: Vec<f64> = sorted.windows(2).map(|w| w[1] - w[0]).filter(|gap| *gap > digits).collect();
    let least = gaps.iter().copied().fold(f64::INFINITY, f64::min);
    let most = gaps.iter().copied().fold(0.0, f64::max);
    let of = |size: f64| gaps.iter().filter(|gap| (**gap - size).abs() <= digits).count();
    let step = most - least;
    let codes = least / step;
    let whole = (codes - codes.round()).abs() <= WHOLE * codes && codes >= 0.5;
    (step > digits && whole && of(least) >= 2 && of(most) >= 2 && of(least) + of(most) == gaps.len())
        .then_some(step)
}
