//! Isc: the current of a local polynomial I(V) at V = 0.
//!
//! The window grows while that lowers the error to be expected: where the noise is small against what the curve does from
//! point to point, it is the line or parabola through the nearest readings. On request the polynomial is continued to
//! V = 0; the variance of a continued polynomial, and what one degree more would change, are the cost.

use super::choice::{Choice, Points, Trial};
use super::figure::Figure;
use super::guide::Guide;
use super::readings::Readings;
use super::scatter::Scatter;

/// Highest degree of a polynomial that is continued beyond the readings.
const CONTINUED: usize = 2;

/// Part of the range by which a figure may lie outside it.
const FARTHEST: f64 = 0.25;

/// Isc of readings that reach V = 0, or are continued there on request; else the reason why there is none.
pub fn isc(
    readings: &Readings,
    guide: &Guide,
    scatter: &Scatter,
    extrapolate: bool,
) -> Result<Figure, String> {
    let missing = gap(readings, scatter);
    if let Some(volts) = missing {
        allowed("Isc", readings, volts.abs(), extrapolate).map_err(|why| refusal(readings, volts, &why))?;
    }
    let points = Points::of_currents(readings, guide, scatter);
    let bend = guide.bend_at(0.0);
    let truncation = |choice: &Choice| choice.truncation(0.0, bend).value;
    let degree = if missing.is_some() { CONTINUED } else { 3 };
    let choice = points
        .best(0.0, bend, 1..=degree, Trial::shape)
        .ok_or("Isc: the readings allow no line through V = 0")?;
    let wrong = match missing {
        Some(_) => truncation(&choice).hypot(choice.next_degree(0.0)),
        None => truncation(&choice),
    };
    let (row, slopes) = (choice.rows(0.0).value, choice.slopes(&readings.voltage));
    Ok(Figure::of_currents(choice.at(0.0).value, &row, &slopes, (&choice.span, readings.len()), wrong))
}

/// How far V = 0 lies before (above 0) or behind the readings, in their units; `None` where they reach it. A stated
/// scatter of the voltage lets a reading within 2σ of 0 V count as 0 V.
pub fn gap(readings: &Readings, scatter: &Scatter) -> Option<f64> {
    let (low, high) = readings.range();
    let last = readings.len() - 1;
    let slack = |k: usize| if scatter.dof.is_infinite() { 2.0 * scatter.voltage[k] } else { 0.0 };
    if low > slack(0) {
        Some(low)
    } else if high < -slack(last) {
        Some(high)
    } else {
        None
    }
}

fn refusal(readings: &Readings, end: f64, why: &str) -> String {
    let what = if end > 0.0 { "begins at" } else { "ends at" };
    let volts = crate::quantity_format::quantity(end * readings.unit_v, "V");
    format!("Isc is the current at V = 0, and the sweep {what} {volts}: measure across 0 V{why}")
}

/// Whether a figure may be continued over `gap` beyond the readings; else what to add to the refusal.
pub(super) fn allowed(what: &str, readings: &Readings, gap: f64, asked: bool) -> Result<(), String> {
    let (low, high) = readings.range();
    if !asked {
        return Err(String::new());
    }
    if gap > FARTHEST * (high - low) {
        return Err(format!("; {what} lies too far from the readings to be extrapolated"));
    }
    Ok(())
}
