//! The point of maximum power: where V·I(V) of a local polynomial I(V) is highest.
//!
//! ```text
//! P = V·I    P′ = I + V·I′ = 0    P″ = 2I′ + V·I″ < 0
//! δPmax = V·δI    δV_Pmax = −(δI + V·δI′)/P″    δI_Pmax = δI + I′·δV_Pmax
//! ```
//!
//! The best sample is biased upwards by its scatter, and so is, less, the maximum of any fitted curve:
//! by ½·var(P′)/|P″|, which is taken off.

use super::choice::{Choice, Points, Trial};
use super::figure::Figure;
use super::guide::Guide;
use super::local::{Jet, Rows};
use super::readings::Readings;
use super::scatter::Scatter;

/// Fewest different voltages that show a maximum and its curvature.
const FEWEST: usize = 5;

/// A relative error of V_Pmax counts this much of one of Pmax in the choice of the window.
const PLACE_WEIGHT: f64 = 0.3;

/// A power is believed when it exceeds this many of its standard deviations.
const ABOVE_SCATTER: f64 = 3.0;

/// Steps across a window in the search for a maximum.
const STEPS: u32 = 32;

/// Rounds of placing the window about the maximum that the last one gave.
const ROUNDS: usize = 2;

/// Pmax, V_Pmax and I_Pmax; or the reason why there are none.
pub fn maximum(readings: &Readings, guide: &Guide, scatter: &Scatter) -> Result<[Figure; 3], String> {
    enough(readings)?;
    let points = Points::of_currents(readings, guide, scatter);
    let mut place = start(readings)?;
    let mut found = None;
    for _ in 0..ROUNDS {
        let (whole, bend) = (guide.at(place), guide.bend_at(place));
        let choice = points
            .best(place, bend, 2..=6, |trial| guess(trial, place, &whole))
            .ok_or("Pmax: no window with enough voltages")?;
        let next = peak(&choice, place).ok_or("Pmax: the readings about the best one show no maximum")?;
        let moved = (next - place).abs();
        place = next;
        found = Some(choice);
        if moved <= 1e-3 * place.abs() {
            break;
        }
    }
    let choice = found.ok_or("Pmax: no fit")?;
    inside(readings, place)?;
    let figures = figures(readings, guide, &points, &choice, place);
    believable(readings, scatter, &figures)?;
    Ok(figures)
}

fn enough(readings: &Readings) -> Result<(), String> {
    let different = 1 + readings.voltage.windows(2).filter(|pair| pair[0] < pair[1]).count();
    if different < FEWEST {
        return Err(format!(
            "Pmax: {different} different voltages do not show a maximum (at least {FEWEST}); measure more points"
        ));
    }
    Ok(())
}

/// Voltage of the highest smoothed power.
fn start(readings: &Readings) -> Result<f64, String> {
    let power = |k: usize| readings.voltage[k] * readings.smooth[k];
    let best = (0..readings.len())
        .filter(|&k| readings.voltage[k] > 0.0 && readings.smooth[k] > 0.0)
        .max_by(|&a, &b| power(a).total_cmp(&power(b)))
        .ok_or("Pmax: no reading with V > 0 and I > 0, the device delivers no power in this sweep")?;
    let v = readings.voltage[best];
    let (low, high) = readings.range();
    if v == low || v == high {
        return Err(at_the_end(readings, v));
    }
    Ok(v)
}

fn at_the_end(readings: &Readings, v: f64) -> String {
    let volts = crate::quantity_format::quantity(v * readings.unit_v, "V");
    format!("Pmax: the power is highest at the end of the sweep ({volts}): measure beyond it")
}

fn inside(readings: &Readings, place: f64) -> Result<(), String> {
    let (low, high) = readings.range();
    if place > low && place < high { Ok(()) } else { Err(at_the_end(readings, place.clamp(low, high))) }
}

/// A maximum must stand above its scatter, and lie among the currents that were read.
fn believable(
    readings: &Readings,
    scatter: &Scatter,
    [power, _, current]: &[Figure; 3],
) -> Result<(), String> {
    let u = power.scatter_covariance(power, scatter).sqrt();
    if power.value <= ABOVE_SCATTER * u || !u.is_finite() {
        return Err("Pmax: the power does not stand above its scatter, as with a dark curve".into());
    }
    let (least, most) =
        readings.current.iter().fold((f64::MAX, f64::MIN), |(l, h), i| (l.min(*i), h.max(*i)));
    if current.value < least || current.value > most {
        return Err(
            "Pmax: the fit about the knee leaves the measured currents; measure more points there".into()
        );
    }
    Ok(())
}

/// The square of the error of I(V_Pmax) to be expected beside its noise, where the guide is `whole`.
///
/// The shape, what a wandering V_Pmax adds to the maximum, and a share of the error of V_Pmax itself.
fn guess(trial: &Trial, v: f64, whole: &Jet) -> f64 {
    let second = derivatives(v, whole).1.abs();
    let variance = trial.variance_with_slope(v);
    let optimism = 0.5 * variance / (second * v);
    // The noise of V_Pmax enters with the weight of noise: a quarter of that of shape, squared.
    let place = 0.25 * variance + (trial.wrong + v * trial.wrong_slope).powi(2);
    let share = PLACE_WEIGHT * whole.value / (v * second);
    trial.shape() + optimism * optimism + share * share * place
}

/// Variance of P′.
fn variance_of_slope(points: &Points, choice: &Choice, rows: &Rows, v: f64) -> f64 {
    let sigma = &points.sigma[choice.span.clone()];
    rows.value.iter().zip(&rows.slope).zip(sigma).map(|((e, d), s)| ((e + v * d) * s).powi(2)).sum()
}

/// Weights of the readings in P′.
fn first_derivative(rows: &Rows, v: f64) -> Vec<f64> {
    rows.value.iter().zip(&rows.slope).map(|(e, d)| e + v * d).collect()
}

/// The maximum of V·I(V) nearest to `near` within the window.
fn peak(choice: &Choice, near: f64) -> Option<f64> {
    let (low, high) = choice.fit.bounds();
    let rises = |v: f64| derivatives(v, &choice.at(v)).0 > 0.0;
    let uphill = if rises(near) { 1.0 } else { -1.0 };
    let step = uphill * (high - low) / f64::from(STEPS);
    // Uphill from `near` until the power falls again: the bracket of the nearest maximum.
    let at = |k: u32| near + f64::from(k) * step;
    let inside = |v: f64| v >= low && v <= high;
    let before = (0..STEPS).take_while(|k| inside(at(*k))).find(|k| rises(at(k + 1)) != (uphill > 0.0))?;
    let from = at(before);
    let found = root(choice, from.min(from + step), from.max(from + step));
    (found >= low && found <= high).then_some(found)
}

/// The root of P′ between `left` (P rises) and `right` (P falls): Newton steps, bisection where they leave.
fn root(choice: &Choice, mut left: f64, mut right: f64) -> f64 {
    let mut v = 0.5 * (left + right);
    for _ in 0..60 {
        let (first, second) = derivatives(v, &choice.at(v));
        if first > 0.0 {
            left = v;
        } else {
            right = v;
        }
        let newton = v - first / second;
        let next =
            if second < 0.0 && newton > left && newton < right { newton } else { 0.5 * (left + right) };
        if (next - v).abs() <= 4.0 * f64::EPSILON * v.abs() {
            break;
        }
        v = next;
    }
    v
}

/// P′ and P″.
fn derivatives(v: f64, jet: &Jet) -> (f64, f64) {
    (jet.value + v * jet.slope, 2.0 * jet.slope + v * jet.curvature)
}

fn figures(readings: &Readings, guide: &Guide, points: &Points, choice: &Choice, v: f64) -> [Figure; 3] {
    let span = &choice.span;
    let jet = choice.at(v);
    let (_, second) = derivatives(v, &jet);
    let rows = choice.rows(v);
    let first_row = first_derivative(&rows, v);
    let by_p: Vec<f64> = rows.value.iter().map(|e| v * e).collect();
    // To second order only: where the power is all but flat the correction must not outgrow the ±.
    let optimism = 0.5 * variance_of_slope(points, choice, &rows, v) / second.abs();
    let optimism = optimism.min(points.variance(&by_p, span).sqrt());

    let truncation = choice.truncation(v, guide.bend_at(v));
    let wrong = truncation.value;
    let wrong_v = -derivatives(v, &truncation).0 / second;
    let by_v: Vec<f64> = first_row.iter().map(|l| -l / second).collect();
    let by_i: Vec<f64> = rows.value.iter().zip(&by_v).map(|(e, l)| e + jet.slope * l).collect();
    let slopes = choice.slopes(&readings.voltage);
    let figure = |value: f64, row: &[f64], truncation: f64| {
        Figure::of_currents(value, row, &slopes, (span, readings.len()), truncation)
    };
    [
        figure(v * jet.value - optimism, &by_p, v * wrong),
        figure(v, &by_v, wrong_v),
        figure(jet.value, &by_i, wrong + jet.slope * wrong_v),
    ]
}
