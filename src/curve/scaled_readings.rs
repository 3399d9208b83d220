//! Readings made ready for local fits: ordered by voltage, scaled to 1, with a first smooth.
//!
//! The smooth is a local cubic. It serves where a raw reading must not: for the noise that a reading should
//! have, for the place where a fit begins. No figure is read from it.

use crate::numerics::local_polynomial::scalar::nearest;
use crate::numerics::local_polynomial::simd::{Abreast, Columns, LANES, Windows};
use std::ops::Range;
use std::sync::OnceLock;

/// Fewest points of a local cubic that still averages.
const SMOOTH_POINTS: usize = 7;

/// A dense sweep is smoothed over one part in this many of its points.
const SMOOTH_PART: usize = 6;

/// A window serves the places that it is off-centre for by up to one part in this many of its points.
const SHIFT_PART: usize = 16;

/// Points by rising voltage in units of the largest |V| and the largest |I|.
#[derive(Clone, Debug)]
pub struct Readings {
    /// Voltages in units of `unit_v`.
    pub voltage: Vec<f64>,
    /// Currents in units of `unit_a`.
    pub current: Vec<f64>,
    /// Largest |V| in V.
    pub unit_v: f64,
    /// Largest |I| in A.
    pub unit_a: f64,
    /// How many readings each is the mean of; empty where each is one.
    count: Vec<f64>,
    smooth: OnceLock<Vec<f64>>,
}

impl Readings {
    /// Orders and scales; `sense` is −1 to turn the device round (both axes change sign), else 1.
    ///
    /// `None` when there are fewer than two different voltages, no current at all, or a reading that is
    /// not finite: such a curve has no slope anywhere.
    pub fn new(voltage_v: &[f64], current_a: &[f64], sense: f64) -> Option<Self> {
        let (unit_v, unit_a) = units(voltage_v, current_a)?;
        let mut points: Vec<(f64, f64)> =
            voltage_v.iter().zip(current_a).map(|(v, i)| (sense * v / unit_v, sense * i / unit_a)).collect();
        // Equal voltages are ordered by current, so that the order of entry does not matter at all.
        points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        // The same reading twice says nothing of the noise: taken as two it would say that there is none.
        points.dedup();
        let (voltage, current): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        Self { voltage, current, unit_v, unit_a, count: Vec::new(), smooth: OnceLock::new() }.with_a_range()
    }

    /// The same of means of `count` readings each.
    pub fn of_means(voltage_v: &[f64], current_a: &[f64], count: &[f64], sense: f64) -> Option<Self> {
        let (unit_v, unit_a) = units(voltage_v, current_a)?;
        let (voltage, current, none) = (Vec::new(), Vec::new(), Vec::new());
        let mut made = Self { voltage, current, unit_v, unit_a, count: none, smooth: OnceLock::new() };
        // Means lie at different places: none is there twice.
        let order = made.order(voltage_v, current_a, sense);
        made.voltage = order.iter().map(|k| sense * voltage_v[*k] / unit_v).collect();
        made.current = order.iter().map(|k| sense * current_a[*k] / unit_a).collect();
        made.count = order.iter().map(|k| count[*k]).collect();
        made.with_a_range()
    }

    /// Standard deviation of reading `k` in those of a single one: 1/√m of a mean of m.
    pub fn share(&self, k: usize) -> f64 {
        self.count.get(k).map_or(1.0, |m| m.sqrt().recip())
    }

    fn with_a_range(self) -> Option<Self> {
        (self.voltage.first() != self.voltage.last()).then_some(self)
    }

    /// Which of the readings that it was made of, in the order in which they were given, each reading is.
    pub fn order(&self, voltage_v: &[f64], current_a: &[f64], sense: f64) -> Vec<usize> {
        let at = |k: usize| (sense * voltage_v[k] / self.unit_v, sense * current_a[k] / self.unit_a);
        let mut order: Vec<usize> = (0..voltage_v.len()).collect();
        order.sort_by(|&j, &k| at(j).0.total_cmp(&at(k).0).then(at(j).1.total_cmp(&at(k).1)));
        order.dedup_by(|j, k| at(*j) == at(*k));
        order
    }

    /// Smoothed currents, made when they are first asked for.
    pub fn smooth(&self) -> &[f64] {
        self.smooth.get_or_init(|| smoothed(&self.voltage, &self.current))
    }

    /// Number of points.
    pub fn len(&self) -> usize {
        self.voltage.len()
    }

    /// Lowest and highest voltage.
    pub fn range(&self) -> (f64, f64) {
        (self.voltage[0], self.voltage[self.len() - 1])
    }
}

/// Largest |V| and largest |I|, if any.
fn units(voltage_v: &[f64], current_a: &[f64]) -> Option<(f64, f64)> {
    if voltage_v.len() != current_a.len() || !voltage_v.iter().chain(current_a).all(|x| x.is_finite()) {
        return None;
    }
    let largest = |x: &[f64]| x.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    let units = (largest(voltage_v), largest(current_a));
    (units.0 > 0.0 && units.1 > 0.0).then_some(units)
}

fn smoothed(x: &[f64], y: &[f64]) -> Vec<f64> {
    let count = SMOOTH_POINTS.max(x.len() / SMOOTH_PART).min(x.len());
    // As many coefficients as points would be the raw readings again.
    let degree = 3.min(x.len().saturating_sub(2)).max(1);
    let columns = Columns { x, y, other: y };
    let mut smooth = Vec::with_capacity(x.len());
    let (mut abreast, mut served) = (Abreast::default(), 0);
    while served < x.len() {
        let (spans, ends) = next_windows(x, count, served);
        abreast.even(columns, &Windows::new(&spans), degree);
        for (l, end) in ends.into_iter().enumerate() {
            smooth.extend(
                (served..end)
                    .map(|k| abreast.at(l, degree, x[k]).filter(|value| value.is_finite()).unwrap_or(y[k])),
            );
            served = end;
        }
    }
    smooth
}

/// Windows for the places from `from` on, and behind which place each of them ends to serve.
fn next_windows(x: &[f64], count: usize, from: usize) -> ([Range<usize>; LANES], [usize; LANES]) {
    let mut place = from;
    let (mut spans, mut ends) = ([0; LANES].map(|_| 0..0), [x.len(); LANES]);
    for (span, end) in spans.iter_mut().zip(&mut ends) {
        if place == x.len() {
            break;
        }
        *span = nearest(x, x[place], count);
        let near = |k: &usize| nearest(x, x[*k], count).start.abs_diff(span.start) <= count / SHIFT_PART;
        place = (place..x.len()).find(|k| !near(k)).unwrap_or(x.len());
        *end = place;
    }
    (spans, ends)
}
