//! Voc: the voltage at I = 0.
//!
//! ```text
//! V = Voc + c₁x + c₂x² + …,   x = ln(1 − I/S),   S ≈ Isc − g·V
//! ```
//!
//! In x the steep part of any rectifying curve is nearly straight (a series resistance adds a term in
//! eˣ), so that few points determine Voc without truncation worth naming, where a polynomial I(V) would need a
//! spacing well below the thermal voltage. A device without photocurrent has no S, and an S-shape is not straight: there Voc is the
//! root of a local polynomial I(V).

use super::choice::{Choice, Points, Trial};
use super::figure::Figure;
use super::guide::Guide;
use super::isc::allowed;
use super::local::{Jet, Local};
use super::readings::Readings;
use super::scatter::Scatter;

/// Readings closer to S than this have no logarithm worth using.
const CLOSEST: f64 = 0.05;

/// Where the flat part has fallen to this part of Isc, the device is a resistor rather than a diode.
const LEAST: f64 = 0.1;

/// A photocurrent is believed when it exceeds this many standard deviations of a reading.
const LIT: f64 = 4.0;

/// Share of dV/dx at Voc that a series resistance may cause, for the truncation.
const RESISTIVE: f64 = 0.5;

/// A slope is believed when it exceeds this many of its standard deviations.
const STEEP: f64 = 3.0;

/// Rounds of placing the window about the root that the last one gave.
const ROUNDS: usize = 4;

/// Steps of Newton's method on one polynomial.
const NEWTON: usize = 50;

/// Voc of readings that reach I = 0, or are continued there on request; else the reason why there is none.
pub fn voc(
    readings: &Readings,
    guide: &Guide,
    scatter: &Scatter,
    extrapolate: bool,
) -> Result<Figure, String> {
    if let Some(current) = gap(readings, scatter) {
        return continued(readings, guide, scatter, extrapolate)
            .map_err(|why| refusal(readings, current, &why));
    }
    let straight = if guide.bends_often() { None } else { logarithmic(readings, guide, scatter, false) };
    let figure = straight.map_or_else(|| root(readings, guide, scatter), Ok)?;
    let u = figure.scatter_covariance(&figure, scatter).sqrt().hypot(figure.truncation);
    let (low, high) = readings.range();
    if figure.value < low - 2.0 * u || figure.value > high + 2.0 * u {
        return Err(
            "Voc: the readings near I = 0 contradict each other, no crossing within the sweep; measure more points there"
                .into(),
        );
    }
    Ok(figure)
}

/// The current nearest to 0, in units of the readings, where they do not reach it.
pub fn gap(readings: &Readings, scatter: &Scatter) -> Option<f64> {
    let slack = |k: usize| if scatter.dof.is_infinite() { 2.0 * scatter.current[k] } else { 0.0 };
    let any = |sense: f64| (0..readings.len()).any(|k| sense * readings.current[k] <= slack(k));
    if any(1.0) && any(-1.0) {
        return None;
    }
    readings.current.iter().copied().min_by(|a, b| a.abs().total_cmp(&b.abs()))
}

fn refusal(readings: &Readings, nearest: f64, why: &str) -> String {
    let amperes = crate::quantity_format::quantity(nearest * readings.unit_a, "A");
    format!(
        "Voc is the voltage at I = 0, and the sweep comes no nearer than {amperes}: measure across it{why}"
    )
}

/// The logarithmic polynomial continued to I = 0, on request.
fn continued(readings: &Readings, guide: &Guide, scatter: &Scatter, asked: bool) -> Result<Figure, String> {
    allowed("Voc", readings, 0.0, asked)?;
    let figure = logarithmic(readings, guide, scatter, true)
        .ok_or("; the readings show too little of the bend for an extrapolation")?;
    let (low, high) = readings.range();
    allowed("Voc", readings, (figure.value - high).max(low - figure.value), asked)?;
    Ok(figure)
}

/// A reading in the coordinate x = ln(1 − I/S).
struct Place {
    k: usize,
    x: f64,
    /// 1 − I/S = eˣ.
    rest: f64,
    /// ∂x/∂I.
    by_current: f64,
    /// ∂x/∂V.
    by_voltage: f64,
}

/// The readings far enough below S, by rising x.
fn places(readings: &Readings, guide: &Guide) -> Vec<Place> {
    let place = |k: usize| {
        let (v, i) = (readings.voltage[k], readings.current[k]);
        let s = guide.flat(v);
        let below = s - i;
        let usable = s > LEAST * guide.short && below > CLOSEST * s;
        usable.then(|| Place {
            k,
            x: (below / s).ln(),
            rest: below / s,
            by_current: -1.0 / below,
            by_voltage: -guide.leak * i / (s * below),
        })
    };
    let mut all: Vec<Place> = (0..readings.len()).filter_map(place).collect();
    all.sort_by(|a, b| a.x.total_cmp(&b.x));
    all
}

/// From V as a polynomial in x; `None` without a photocurrent or with too few readings.
fn logarithmic(readings: &Readings, guide: &Guide, scatter: &Scatter, continued: bool) -> Option<Figure> {
    let (flat, _) = readings.voltage.iter().enumerate().min_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    if guide.short <= LIT * scatter.effective[flat] {
        return None;
    }
    let places = places(readings, guide);
    let x: Vec<f64> = places.iter().map(|p| p.x).collect();
    let y: Vec<f64> = places.iter().map(|p| readings.voltage[p.k]).collect();
    // dV/dI = −(dV/dx)/(S eˣ): an even scatter of the current gives the weight e²ˣ.
    let even: Vec<f64> = places.iter().map(|p| p.rest.min(1.0).powi(2)).collect();
    let steepness = Local::fit(&x, &y, &even, 1).filter(|fit| fit.degree() == 1)?.at(0.0, 1).slope;
    let through_current = |p: &Place| steepness * p.by_current * scatter.current[p.k];
    let sigma: Vec<f64> = places.iter().map(|p| scatter.voltage[p.k].hypot(through_current(p))).collect();
    let stretch: Vec<f64> = places.iter().map(|p| RESISTIVE * steepness * p.rest).collect();
    let points = Points { x: &x, y: &y, sigma: &sigma, dof: scatter.dof, guide: &stretch };
    let at_zero = Jet { value: RESISTIVE * steepness, ..Jet::default() };
    let truncation = |choice: &Choice| choice.truncation(0.0, at_zero).value;
    let degrees = if continued { 1..=2 } else { 1..=4 };
    let choice = points.best(0.0, at_zero, degrees, Trial::shape)?;
    let (mut by_current, mut by_voltage) = (vec![0.0; readings.len()], vec![0.0; readings.len()]);
    for (l, p) in choice.rows(0.0).value.iter().zip(&places[choice.span.clone()]) {
        let slope = choice.at(p.x).slope;
        by_current[p.k] = -l * slope * p.by_current;
        by_voltage[p.k] = l * (1.0 - slope * p.by_voltage);
    }
    let wrong = truncation(&choice).hypot(if continued { choice.next_degree(0.0) } else { 0.0 });
    let truncation = if continued { wrong } else { truncation(&choice) };
    Some(Figure { value: choice.at(0.0).value, by_current, by_voltage, truncation })
}

/// The root of a local polynomial I(V).
fn root(readings: &Readings, guide: &Guide, scatter: &Scatter) -> Result<Figure, String> {
    let points = Points::of_currents(readings, guide, scatter);
    let mut place = crossing(readings);
    let mut found = None;
    for _ in 0..ROUNDS {
        let (bend, steepness) = (guide.bend_at(place), guide.at(place).slope);
        let guess =
            |trial: &Trial| trial.shape() + second_order(trial.variance, trial.slope_variance, steepness);
        let Some(choice) = points.best(place, bend, 1..=3, guess) else { break };
        let Some(next) = zero(&choice, place) else { break };
        let moved = (next - place).abs();
        place = next;
        found = Some(choice);
        if moved <= 1e-3 * place.abs() {
            break;
        }
    }
    let choice = found.ok_or("Voc: the readings near I = 0 give no single crossing")?;
    let (slope, rows) = (choice.at(place).slope, choice.rows(place));
    let [variance, slope_variance] = [&rows.value, &rows.slope].map(|row| points.variance(row, &choice.span));
    let slope_u = slope_variance.sqrt();
    if slope.abs() <= STEEP * slope_u || !slope_u.is_finite() {
        return Err("Voc: the curve runs along I = 0 within its scatter, any voltage would do".into());
    }
    let by_current: Vec<f64> = rows.value.iter().map(|l| -l / slope).collect();
    let wrong = choice.truncation(place, guide.bend_at(place)).value;
    let second = second_order(variance, slope_variance, slope).sqrt();
    let wrong = -wrong.hypot(second) / slope;
    let slopes = choice.slopes(&readings.voltage);
    Ok(Figure::of_currents(place, &by_current, &slopes, (&choice.span, readings.len()), wrong))
}

/// What the noise of the slope adds to that of the current, squared: to second order 3·(u(slope)/slope)² of its variance.
fn second_order(variance: f64, slope_variance: f64, slope: f64) -> f64 {
    3.0 * variance * slope_variance / (slope * slope)
}

/// The zero of a local polynomial that Newton's steps from `near` lead to within its window.
fn zero(choice: &Choice, near: f64) -> Option<f64> {
    let (low, high) = choice.fit.bounds();
    let mut v = near.clamp(low, high);
    for _ in 0..NEWTON {
        let jet = choice.at(v);
        let next = (v - jet.value / jet.slope).clamp(low, high);
        if (next - v).abs() <= 4.0 * f64::EPSILON * v.abs() {
            return (jet.value.abs() <= (4.0 * f64::EPSILON * v * jet.slope).abs().max(1e-12))
                .then_some(next);
        }
        // A NaN of a flat polynomial ends here too.
        if !next.is_finite() {
            return None;
        }
        v = next;
    }
    None
}

/// The midpoint of where the current is last above and first below zero.
fn crossing(readings: &Readings) -> f64 {
    let last_above = readings.current.iter().rposition(|i| *i > 0.0);
    let first_below = readings.current.iter().position(|i| *i <= 0.0);
    let at = |k: Option<usize>| k.map_or(0.0, |k| readings.voltage[k]);
    0.5 * (at(last_above) + at(first_below))
}
