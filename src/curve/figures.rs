//! Isc, Voc and the point of maximum power of the estimated curve, with their joint uncertainty.
//!
//! ```text
//! Isc = I(0)   Voc = V(0)   P = x·y(x)   P′ = y + x·y′ = 0
//! δPmax = x·δy     δx = −(δy + x·δy′)/P″     δy_Pmax = δy + y′·δx
//! ```
//!
//! Where the voltage was set, Voc is the root of I(V). The maximum of an estimate is biased upwards by ½·var(P′)/|P″|,
//! which is taken off.

use super::analysis::Analysis;
use super::beyond::Beyond;
use super::bracket;
use super::estimated_curve::{Estimated, Value};
use super::ideality_average;
use super::linear_estimator::{COUNT, Figure, Figures};
use super::noise_estimate::Scatter;
use super::observation::{Estimates, Functional};
use super::pilot_fit::Over;
use super::scaled_readings::Readings;
use crate::quantity::estimate::{Amount, Unit};
use crate::quantity::key_points::KeyPoint;
use crate::quantity::reason::Reason;
use crate::sweep::{begins_at_zero, range};

/// Fewest different voltages that show a maximum and its curvature.
const FEWEST: usize = 5;

/// Fewest different set points that a figure of the bend is read from with a ±.
const FEWEST_OF_BEND: usize = 7;

/// Set points further apart than this part of Voc (or Isc) may hide [`HIDDEN`]·h³ of a figure of the bend, where h is that
/// part: the third order of a local polynomial, its factor set by simulation of S-shapes of 7 and 8 readings.
const FAR_APART: f64 = 1.0 / 7.0;
const HIDDEN: f64 = 2.0;

/// A power is believed when it exceeds this many of its standard deviations.
const ABOVE_SCATTER: f64 = 3.0;

/// Part of the range by which a figure may lie outside it.
const FARTHEST: f64 = 0.25;

/// A voltage that is not known to better than this part of the range is none.
const ANYWHERE: f64 = 0.25;

/// Of voltages in units of Voc.
const ROUNDING: f64 = 1e-9;

/// A figure as a combination of functionals.
struct Part {
    value: f64,
    /// (functional, coefficient).
    of: Vec<(usize, f64)>,
}

/// All functionals wanted, and the figures made of them.
struct Parts<'a> {
    analysis: &'a Analysis,
    curve: Estimated<'a>,
    functionals: Vec<Functional>,
    figures: [Result<Part, Reason>; COUNT],
    /// P″ at the maximum.
    second: f64,
}

impl Part {
    /// Covariance with another.
    fn covariance(&self, other: &Self, estimates: &Estimates) -> f64 {
        let with = |(a, c): &(usize, f64)| {
            other.of.iter().map(|(b, d)| c * d * estimates.covariance[*a][*b]).sum::<f64>()
        };
        self.of.iter().map(with).sum()
    }

    fn variance(&self, estimates: &Estimates) -> f64 {
        self.covariance(self, estimates).max(0.0)
    }
}

impl Figures {
    /// Of the estimated curve; figures beyond the readings where `beyond` asks for them.
    pub fn of(analysis: &Analysis, beyond: Beyond) -> Self {
        let mut parts = Parts {
            analysis,
            curve: analysis.curve(),
            functionals: Vec::new(),
            figures: std::array::from_fn(|_| Err(Reason::NoDeviceCurve)),
            second: 0.0,
        };
        parts.figures[0] = parts.isc(beyond.isc);
        parts.figures[1] = parts.voc(beyond.voc);
        match parts.maximum() {
            Ok([p, v, i]) => [parts.figures[2], parts.figures[3], parts.figures[4]] = [Ok(p), Ok(v), Ok(i)],
            Err(why) => (2..COUNT).for_each(|k| parts.figures[k] = Err(why.clone())),
        }
        parts.collect()
    }
}

impl Parts<'_> {
    fn add(&mut self, functional: Functional) -> usize {
        self.functionals.push(functional);
        self.functionals.len() - 1
    }

    fn isc(&mut self, asked: bool) -> Result<Part, Reason> {
        let a = self.analysis;
        if let Some(volts) = gap_of_isc(&a.readings, &a.scatter) {
            let nearest = Amount::volts(volts * a.readings.unit_v);
            allowed(KeyPoint::Isc, nearest, is_far(&a.readings, volts), asked)?;
        }
        self.ordinate(Over::Voltage)
    }

    fn voc(&mut self, asked: bool) -> Result<Part, Reason> {
        let a = self.analysis;
        let figure = KeyPoint::Voc;
        let gap = gap_of_voc(&a.readings, &a.scatter).map(|i| Amount::amperes(i * a.readings.unit_a));
        if let Some(nearest) = gap {
            allowed(figure, nearest, false, asked)?;
        }
        if a.over == Over::Current {
            return self.ordinate(Over::Current);
        }
        self.enough_of_the_bend(figure, a.pilot.voc * a.pilot.v0)?;
        let (low, high) = a.readings.range();
        let more =
            if gap.is_some() { FARTHEST * (high - low) } else { 0.5 * bracket::mean_step(&a.readings) };
        let within = ((low - more) / a.pilot.v0, (high + more) / a.pilot.v0);
        let start = a.pilot.voc;
        let none = gap.map_or(Reason::Contradiction { figure }, |nearest| Reason::TooFar { figure, nearest });
        let root = self
            .curve
            .falls_through(Over::Voltage, within, start, |_, value: &Value| (value.y, value.slope))
            .ok_or(none)?;
        let [value, _] = self.curve.functionals(Over::Voltage, root);
        let slope = self.curve.at(Over::Voltage, root).slope;
        let index = self.add(value);
        Ok(Part { value: root, of: vec![(index, -1.0 / slope)] })
    }

    /// A figure of the bend needs some readings about it.
    fn enough_of_the_bend(&self, figure: KeyPoint, near: f64) -> Result<(), Reason> {
        let a = self.analysis;
        let (different, set) = match a.over {
            Over::Voltage => (distinct(&a.readings.voltage), Unit::Volt),
            Over::Current => (distinct(&a.readings.current), Unit::Ampere),
        };
        if different >= FEWEST_OF_BEND || a.scatter.unknown.is_some() {
            return Ok(());
        }
        Err(Reason::FarApart { figure, different, set, near: Amount::volts(near * a.readings.unit_v) })
    }

    fn ordinate(&mut self, over: Over) -> Result<Part, Reason> {
        let [value, _] = self.curve.functionals(over, 0.0);
        let at = self.curve.at(over, 0.0).y;
        if !at.is_finite() {
            let figure = if over == Over::Voltage { KeyPoint::Isc } else { KeyPoint::Voc };
            return Err(Reason::Contradiction { figure });
        }
        let index = self.add(value);
        Ok(Part { value: at, of: vec![(index, 1.0)] })
    }

    /// The maximum of V·I(V), whichever quantity was set: V(I) has no end where the shunt carries nothing.
    fn maximum(&mut self) -> Result<[Part; 3], Reason> {
        let a = self.analysis;
        enough(&a.readings)?;
        self.enough_of_the_bend(KeyPoint::Pmax, a.pilot.v_pmax * a.pilot.v0)?;
        let best = self.best_reading()?;
        let place = self.steepest(best)?;
        let [value, slope] = self.curve.functionals(Over::Voltage, place);
        let jet = self.curve.at(Over::Voltage, place);
        let second = 2.0 * jet.slope + place * jet.curvature;
        if second.is_nan() || second >= 0.0 {
            return Err(Reason::NoMaximum);
        }
        self.inside(place, jet.y)?;
        self.second = second;
        let (value, slope) = (self.add(value), self.add(slope));
        let by_v = vec![(value, -1.0 / second), (slope, -place / second)];
        let by_i = vec![(value, 1.0 - jet.slope / second), (slope, -jet.slope * place / second)];
        let v = Part { value: place, of: by_v };
        let i = Part { value: jet.y, of: by_i };
        let p = Part { value: place * jet.y, of: vec![(value, place)] };
        Ok([p, v, i])
    }

    /// The point of maximum power lies among the readings.
    fn inside(&self, v: f64, i: f64) -> Result<(), Reason> {
        let a = self.analysis;
        let (low, high) = a.readings.range();
        let (least, most) = range(&a.readings.current);
        let (v, i) = (v * a.pilot.v0, i * a.pilot.i0);
        if v < low || v > high {
            return Err(at_the_end(v.clamp(low, high) * a.readings.unit_v));
        }
        if i < least || i > most {
            return Err(Reason::OutsideReadings);
        }
        Ok(())
    }

    /// Voltage of the reading of highest power, after smoothing.
    fn best_reading(&self) -> Result<f64, Reason> {
        let a = self.analysis;
        let smooth = |k: usize| {
            let c = &a.comparison.readings[k];
            let (v, i) = (a.readings.voltage[k] / a.pilot.v0, a.readings.current[k] / a.pilot.i0);
            let scatter = c.foot.stretch * (c.z - a.posterior.smooth[c.group]);
            if c.over == Over::Voltage { (v, i - scatter) } else { (v - scatter, i) }
        };
        let best = (0..a.readings.len())
            .map(smooth)
            .filter(|(v, i)| *v > 0.0 && *i > 0.0)
            .max_by(|p, q| (p.0 * p.1).total_cmp(&(q.0 * q.1)))
            .ok_or(Reason::NoPower)?;
        Ok(best.0)
    }

    /// Where the power stops to rise, uphill from `best`.
    fn steepest(&self, best: f64) -> Result<f64, Reason> {
        let a = self.analysis;
        let of = |v: f64, value: &Value| (value.y + v * value.slope, 2.0 * value.slope + v * value.curvature);
        let rises = |v: f64| of(v, &self.curve.at(Over::Voltage, v)).0 > 0.0;
        let mut v: Vec<f64> =
            a.readings.voltage.iter().map(|v| v / a.pilot.v0).filter(|v| *v > 0.0).collect();
        v.dedup();
        let at = v.partition_point(|v| *v < best);
        let end = || at_the_end(best * a.pilot.v0 * a.readings.unit_v);
        let (low, high) = if rises(best) {
            let above = (at..v.len()).find(|k| v[*k] > best && !rises(v[*k])).ok_or_else(end)?;
            (if above > 0 { v[above - 1].max(best) } else { best }, v[above])
        } else {
            // Between V = 0 and the first reading behind it the power rises from 0.
            let below = (0..at).rev().find(|k| rises(v[*k]));
            (below.map_or(0.0, |k| v[k]), below.and_then(|k| v.get(k + 1)).map_or(best, |v| v.min(best)))
        };
        // Rounding may have put a maximum at a reading just outside.
        let within = (low - ROUNDING, high + ROUNDING);
        self.curve.falls_through(Over::Voltage, within, a.pilot.v_pmax, of).ok_or(Reason::NoMaximum)
    }

    /// What set points that are far apart may hide of a figure of the bend, as a share of it.
    fn hidden(&self) -> f64 {
        let a = self.analysis;
        let (set, unit) = if a.over == Over::Voltage {
            (&a.readings.voltage, a.pilot.v0)
        } else {
            (&a.readings.current, a.pilot.i0)
        };
        let (low, high) = range(set);
        let apart = (high - low) / unit / (distinct(set) as f64 - 1.0).max(1.0);
        if apart > FAR_APART { HIDDEN * apart.powi(3) } else { 0.0 }
    }

    /// Holds Voc and Pmax to their uncertainties, and takes the bias of the maximum off.
    fn judge(&mut self, estimates: &Estimates) {
        let a = self.analysis;
        let (low, high) = a.readings.range();
        let is_known = |voc: &Part| voc.variance(estimates).sqrt() * a.pilot.v0 < ANYWHERE * (high - low);
        if let Ok(voc) = &self.figures[1]
            && !is_known(voc)
        {
            self.figures[1] = Err(Reason::AlongAxis);
        }
        let (Ok(power), Ok(place)) = (&self.figures[2], &self.figures[3]) else { return };
        let u = power.variance(estimates).sqrt();
        // var(P′) = P″²·var(V_Pmax). To second order only: where the power is all but flat it must not outgrow the ±.
        let optimism = (0.5 * self.second.abs() * place.variance(estimates)).min(u);
        let value = power.value - optimism;
        if value > ABOVE_SCATTER * u {
            if let Ok(power) = &mut self.figures[2] {
                power.value = value;
            }
        } else {
            (2..COUNT).for_each(|k| self.figures[k] = Err(Reason::PowerInScatter));
            // Nor is a crossing of I = 0 known that the noise may have made.
            if a.over == Over::Voltage && self.figures[1].is_ok() {
                self.figures[1] = Err(Reason::AlongAxis);
            }
        }
    }

    fn collect(mut self) -> Figures {
        let a = self.analysis;
        let estimates = &a.posterior.estimates(&self.functionals);
        self.judge(estimates);
        let values = self.by_readings(estimates);
        let shape = self.shape(estimates, &values);
        let mut figures = Figures { values, shape, bracketed: [false; COUNT] };
        bracket::apply(&mut figures, a);
        if gap_of_voc(&a.readings, &a.scatter).is_some() {
            ideality_average::voc(&mut figures, a);
        }
        for k in 0..COUNT {
            let truncation = figures.shape[k][k].max(0.0).sqrt();
            if let Ok(figure) = &mut figures.values[k] {
                figure.truncation = truncation;
            }
        }
        figures
    }

    /// Units of the figures in those of the readings.
    fn units(&self) -> [f64; COUNT] {
        let (v, i) = (self.analysis.pilot.v0, self.analysis.pilot.i0);
        [i, v, v * i, v, i]
    }

    /// The figures with their derivatives by the readings.
    fn by_readings(&self, estimates: &Estimates) -> [Result<Figure, Reason>; COUNT] {
        let (units, v, i) = (self.units(), self.analysis.pilot.v0, self.analysis.pilot.i0);
        let by_readings = self.analysis.comparison.by_readings();
        let count = self.analysis.readings.len();
        let figure = |k: usize, part: &Part| {
            let (mut by_voltage, mut by_current) = (vec![0.0; count], vec![0.0; count]);
            for (f, c) in &part.of {
                let (row, by_v, by_i) = (&estimates.rows[*f], c * units[k] / v, c * units[k] / i);
                let columns = by_voltage.iter_mut().zip(&mut by_current).zip(&by_readings);
                for ((voltage, current), (group, z_by_v, z_by_i)) in columns {
                    *voltage += by_v * row[*group] * z_by_v;
                    *current += by_i * row[*group] * z_by_i;
                }
            }
            Figure { value: part.value * units[k], by_current, by_voltage, truncation: 0.0, held: 1.0 }
        };
        std::array::from_fn(|k| match &self.figures[k] {
            Ok(part) => Ok(figure(k, part)),
            Err(why) => Err(why.clone()),
        })
    }

    /// Covariance of what the discrepancy makes wrong of the figures `values`: the whole less what the readings scatter.
    fn shape(
        &self,
        estimates: &Estimates,
        values: &[Result<Figure, Reason>; COUNT],
    ) -> [[f64; COUNT]; COUNT] {
        let (a, units) = (self.analysis, self.units());
        let mut shape = [[0.0; COUNT]; COUNT];
        for j in 0..COUNT {
            for k in 0..COUNT {
                let (Ok(p), Ok(q), Ok(f), Ok(h)) =
                    (&self.figures[j], &self.figures[k], &values[j], &values[k])
                else {
                    continue;
                };
                let total = p.covariance(q, estimates);
                shape[j][k] = total * units[j] * units[k] - f.scatter_covariance(h, &a.scatter);
                // Figures lie on different codes of the converter: what one hides says nothing of the others.
                if j == k {
                    shape[j][k] += f.hidden(a.hidden).powi(2);
                }
            }
        }
        let hidden = self.hidden();
        for (k, value) in values.iter().enumerate() {
            let unseen = value.as_ref().map_or(0.0, |f| if k > 0 { hidden * f.value } else { 0.0 });
            shape[k][k] = shape[k][k].max(0.0) + unseen * unseen;
        }
        shape
    }
}

fn enough(readings: &Readings) -> Result<(), Reason> {
    let different = 1 + readings.voltage.windows(2).filter(|pair| pair[0] < pair[1]).count();
    if different < FEWEST {
        return Err(Reason::FewVoltages { different, fewest: FEWEST });
    }
    Ok(())
}

/// Number of different values.
fn distinct(values: &[f64]) -> usize {
    let mut values = values.to_vec();
    values.sort_by(f64::total_cmp);
    values.dedup();
    values.len()
}

fn at_the_end(volts: f64) -> Reason {
    Reason::MaximumAtEnd { voltage: Amount::volts(volts) }
}

/// How far V = 0 lies before (above 0) or behind the readings, in their units; `None` where they reach it within two
/// standard deviations.
pub fn gap_of_isc(readings: &Readings, scatter: &Scatter) -> Option<f64> {
    let (low, high) = readings.range();
    let last = readings.len() - 1;
    let gap = if low > 2.0 * scatter.voltage[0] {
        Some(low)
    } else if high < -2.0 * scatter.voltage[last] {
        Some(high)
    } else {
        None
    };
    gap.filter(|_| !begins_at_zero(&readings.voltage))
}

/// The current nearest to 0, in units of the readings, where they do not reach it within two standard deviations.
pub fn gap_of_voc(readings: &Readings, scatter: &Scatter) -> Option<f64> {
    let any =
        |sense: f64| (0..readings.len()).any(|k| sense * readings.current[k] <= 2.0 * scatter.current[k]);
    if any(1.0) && any(-1.0) {
        return None;
    }
    let gap = readings.current.iter().copied().min_by(|a, b| a.abs().total_cmp(&b.abs()));
    gap.filter(|_| !begins_at_zero(&readings.current))
}

/// Whether V = 0 lies too far from the readings to be extrapolated to.
fn is_far(readings: &Readings, gap: f64) -> bool {
    let (low, high) = readings.range();
    gap.abs() > FARTHEST * (high - low)
}

/// Whether a figure that the readings do not reach may be extrapolated.
fn allowed(figure: KeyPoint, nearest: Amount, is_far: bool, asked: bool) -> Result<(), Reason> {
    match (asked, is_far) {
        (true, false) => Ok(()),
        (true, true) => Err(Reason::TooFar { figure, nearest }),
        (false, _) => Err(Reason::NotReached { figure, nearest }),
    }
}
