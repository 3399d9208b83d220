//! Isc: the current of a local polynomial I(V) at V = 0.

use super::choice::{Choice, Points};
use super::figure::{Figure, spread};
use super::guide::Guide;
use super::readings::Readings;
use super::scatter::Scatter;

/// Isc of readings that reach V = 0; else the reason why there is none.
pub fn isc(readings: &Readings, guide: &Guide, scatter: &Scatter) -> Result<Figure, String> {
    reaches_zero(readings, scatter)?;
    let sigma = scatter.on_current(guide);
    let points = Points::of_currents(readings, guide, &sigma, scatter.dof);
    let bend = guide.bend_at(0.0);
    let truncation = |choice: &Choice| choice.truncation(0.0, bend).value;
    let choice = points
        .best(0.0, 1..=3, |choice, _| choice.shape(truncation(choice)))
        .ok_or("Isc: the readings allow no line through V = 0")?;
    let by_current = spread(&choice.rows(0.0).value, &choice.span, readings.len());
    Ok(Figure::of_currents(choice.at(0.0).value, by_current, readings, &choice, truncation(&choice)))
}

/// A stated scatter of the voltage lets a first reading within 2σ of 0 V count as 0 V.
fn reaches_zero(readings: &Readings, scatter: &Scatter) -> Result<(), String> {
    let (low, high) = readings.range();
    let last = readings.len() - 1;
    let slack = |k: usize| if scatter.dof.is_infinite() { 2.0 * scatter.voltage[k] } else { 0.0 };
    let (what, end) = if low > slack(0) {
        ("begins at", low)
    } else if high < -slack(last) {
        ("ends at", high)
    } else {
        return Ok(());
    };
    let volts = end * readings.unit_v;
    Err(format!("Isc is the current at V = 0, and the sweep {what} {volts:.4} V: measure across 0 V"))
}
