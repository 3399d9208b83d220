//! Readings that lie far from the curve through the others.
//!
//! ```text
//! t² = (χ² − χ²₍ₖ₎)/(χ²₍ₖ₎/ν₍ₖ₎)        χ²₍ₖ₎, ν₍ₖ₎: of the diode fit without reading k
//! ```
//!
//! t is the studentised deleted residual (R. D. Cook, S. Weisberg, Residuals and Influence in Regression (1982),
//! section 2.2; from memory). A reading is an outlier where t is beyond chance, and where it stands clear of every
//! other residual as well: a device that is no diode, or a scatter that differs along the curve, leaves many large
//! residuals, and none of them is called an outlier.
//!
//! Last it is compared with the curve of the key points through the others, whose uncertainty holds what an S-shape and few
//! readings leave open.
//!
//! Few readings tell little: of 15 to 40 σ off at a place drawn by chance, 40 sweeps of each of the devices that constants
//! were chosen by, 94 % are found among 25 readings of diodes stepped in voltage, 79 among 15, 61 among 10; stepped in
//! current 87, 79 and 56 %. What is missed lies where the neighbours allow it, or falls short of Student's t. False ones: none
//! in 80 sweeps of each cell of diodes; of S-shapes with 10 and 15 readings 2 % in the mean, up to 19 % in the worst case (a
//! strong S with little noise). `cargo run --release --example remarks`.

use crate::curve::{deviation, key_points};
use crate::fit::Pilot;
use crate::numerics::cancel;
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use crate::sweep::{Change, Finding, Kind, Sweep, SweepError, Swept, range};
use statrs::distribution::{ContinuousCDF, StudentsT};
use std::fmt;

/// Square of the standard deviations by which χ² of the curve without one reading may be above that without another: 3.
const AS_GOOD: f64 = 9.0;
/// Probability of a false outlier in a sweep of normal scatter.
const CHANCE: f64 = 0.002;
/// Times the largest other residual that an outlier stands out by. `tests/simulations/remarks.rs` chose it.
const CLEAR: f64 = 3.0;
/// The same where the other residuals look like noise: the first-order autocorrelation along the curve is below
/// [`CORRELATED`], which that of a curve of another shape is not.
const CLEAR_OF_NOISE: f64 = 1.8;
const CORRELATED: f64 = 0.3;
/// Residuals of the fit to all readings that are tried, the largest first.
const TRIED: usize = 3;
/// Share of the readings that may be outliers: where more are, none can be told.
const SHARE: usize = 5;
/// Scatter in parts of the largest reading below which nothing is called apart: readings that scatter by their last
/// digit only.
const LEAST: f64 = 1e-6;

/// Times 1/n², the share of the range swept that a reading must be off along the axis that was set: what lies nearer
/// may be a set point that is off, or a bend that no diode has and that few points show in one reading only.
/// `tests/simulations/remarks.rs` chose it.
const SET: f64 = 1.0;

/// Readings below which a bend that no diode has may show in one of them only: then, and where the voltage was read,
/// which falls without end beyond Isc, an outlier must leave what its neighbours allow as well. Without this one soft
/// S-shape in two of 15 readings, and one silicon cell in ten stepped to 1.03 Isc, would have a false one
/// (`tests/simulations/remarks.rs`).
const FEW: usize = 20;

/// A reading apart from the curve through the others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlier {
    /// Its index.
    pub point: usize,
    /// Its distance from the curve through the others on the axis that was read, in V or A.
    pub distance: f64,
    /// Whether that is the voltage.
    pub on_voltage: bool,
    /// The distance in standard deviations of the scatter.
    pub times: f64,
    /// The reading at the end beside it, where without that one the others agree as well: one of both is wild.
    pub or: Option<usize>,
}

/// The sweep without its outliers, and what they are; the same sweep where it has none.
///
/// Each reading that is left out is recorded in the changes, with its place and value; [`Sweep::raw`] has all of them.
///
/// # Errors
/// [`SweepError`] where what is left is no sweep.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::remarks::without_outliers;
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, mut i) = cell.curve(30);
/// i[12] += 1e-3; // a wild reading
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-5)))?;
/// let (clean, left_out) = without_outliers(&sweep)?;
/// assert_eq!((clean.len(), left_out[0].point), (29, 12));
/// assert!(!clean.voltage_v().contains(&v[12]));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn without_outliers(sweep: &Sweep) -> Result<(Sweep, Vec<Outlier>), SweepError> {
    let found = outliers(sweep);
    let mut left_out: Vec<usize> = found.iter().filter(|o| o.or.is_none()).map(|o| o.point).collect();
    if left_out.is_empty() {
        return Ok((sweep.clone(), found));
    }
    left_out.sort_unstable();
    let told: Vec<String> = found.iter().filter(|o| o.or.is_none()).map(|o| o.place(sweep)).collect();
    let what = format!("left out: {}", told.join("; "));
    let change = Change::asked_for(what, "far off the curve through the others");
    Ok((sweep.without(&left_out, change)?, found))
}

/// The figure that moves most, in standard uncertainties, when the outliers are left out: `Pmax moves by −1.2 mW (5 u)`.
fn moved(sweep: &Sweep, point: usize) -> Option<String> {
    let change = Change::asked_for("", "");
    let (with, without) = (key_points(sweep), key_points(&sweep.without(&[point], change).ok()?));
    let shift = |figure: KeyPoint| {
        let (a, b) = (with.get(figure.name())?, without.get(figure.name())?);
        let (by, u) = (b.value - a.value, b.u.filter(|u| *u > 0.0)?);
        Some((by.abs() / u, format!("{} moves by {}", figure.symbol(), quantity(by, a.unit.symbol()))))
    };
    let all = [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax, KeyPoint::Ff].into_iter().filter_map(shift);
    let (times, text) = all.max_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(format!("without it {text} ({times:.1} u)"))
}

impl Outlier {
    /// The reading, in words.
    fn place(&self, sweep: &Sweep) -> String {
        let (v, a) = (sweep.voltage_v()[self.point], sweep.current_a()[self.point]);
        format!("reading {} ({}, {})", self.point, quantity(v, "V"), quantity(a, "A"))
    }

    /// The remark.
    pub(super) fn finding(&self, sweep: &Sweep) -> Finding {
        let unit = if self.on_voltage { "V" } else { "A" };
        let points: Vec<usize> = std::iter::once(self.point).chain(self.or).collect();
        if let Some(end) = self.or {
            let text = format!(
                "{}, or reading {end} beside it at the end of the sweep, lies off the curve through the others, and nothing \
                 shows which: repeat both; the figures rest on them as they are",
                self.place(sweep)
            );
            return Finding { kind: Kind::Outlier, text, points };
        }
        let moves = moved(sweep, self.point).map_or(String::new(), |moves| format!(", and {moves}"));
        let text = format!(
            "{} lies {} off the curve through the others, {:.0} times their scatter: repeat it or leave it out; the figures \
             rest on it as it is{moves}",
            self.place(sweep),
            quantity(self.distance.abs(), unit),
            self.times
        );
        Finding { kind: Kind::Outlier, text, points }
    }
}

/// Readings of `sweep` that lie far from the diode curve through the others, the furthest first.
///
/// None where the readings are too few to tell (fewer than 8), where more than a fifth would be, and where no reading
/// stands clear, for instance on an S-shaped curve. Among fewer than 20 readings, and where the voltage was read, only a
/// reading is told that lies where its neighbours allow no falling curve of one bend.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::remarks::outliers;
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, mut i) = cell.curve(30);
/// i[12] += 1e-3; // a wild reading
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-5)))?;
/// let found = outliers(&sweep);
/// assert_eq!(found.iter().map(|outlier| outlier.point).collect::<Vec<_>>(), [12]);
/// assert!((found[0].distance.abs() - 1e-3).abs() < 5e-5 && !found[0].on_voltage);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn outliers(sweep: &Sweep) -> Vec<Outlier> {
    let mut kept: Vec<usize> = (0..sweep.len()).collect();
    let mut found = Vec::new();
    let mut whole = Pilot::of(sweep, &kept, None);
    while let Some((outlier, rest)) = furthest(sweep, &kept, whole.as_ref()) {
        kept.retain(|&k| k != outlier.point);
        found.push(outlier);
        whole = Some(rest);
        if found.len() > sweep.len() / SHARE {
            return Vec::new();
        }
    }
    found
}

/// The candidate that stands out most among the `kept` readings, and the fit without it.
fn furthest(sweep: &Sweep, kept: &[usize], whole: Option<&Pilot>) -> Option<(Outlier, Pilot)> {
    let tried = candidates(sweep, kept, whole);
    // A reading may keep the search from any curve at all.
    let chi2 = |fit: Option<&Pilot>| fit.map_or(f64::INFINITY, |fit| fit.chi2);
    let first = chi2(whole);
    let apart = tried.into_iter().take_while(|_| !cancel::requested_now()).filter_map(|k| {
        let rest: Vec<usize> = kept.iter().copied().filter(|&j| j != k).collect();
        let fit = Pilot::of(sweep, &rest, None)?;
        // The descent to all readings from here shows whether the first one ended too high.
        let again = chi2(Pilot::of(sweep, kept, Some(&fit)).as_ref());
        let outlier = stands_out(sweep, k, first.min(again), (&fit, &rest))?;
        let (set, read) = axes(sweep, fit.on_voltage);
        if (fit.on_voltage || sweep.len() < FEW) && allowed(set, read, &rest, k) {
            return None;
        }
        if !contradicts(sweep, &rest, k) {
            return None;
        }
        if let Some(end) = end_beside(axes(sweep, fit.on_voltage).0, kept, k) {
            let without_end: Vec<usize> = kept.iter().copied().filter(|&j| j != end).collect();
            let least = if fit.absolute { 1.0 } else { 0.0 };
            let of_one = (fit.chi2 / fit.dof.max(1) as f64).max(least);
            let without_end = chi2(Pilot::of(sweep, &without_end, None).as_ref());
            let as_good = without_end < fit.chi2 + AS_GOOD * of_one;
            // The last reading alone says where the curve goes: either of both may be the wild one.
            if as_good {
                return Some((Outlier { or: Some(end), ..outlier }, fit));
            }
        }
        let most = chi2(Pilot::thorough(sweep, kept).as_ref());
        stands_out(sweep, k, most.min(first), (&fit, &rest)).map(|_| (outlier, fit))
    });
    apart.max_by(|a, b| a.0.times.total_cmp(&b.0.times))
}

/// Whether reading `k` is beyond chance of the curve of the key points through `rest`, which knows of S-shapes and of what
/// few readings leave open.
fn contradicts(sweep: &Sweep, rest: &[usize], k: usize) -> bool {
    let Some(deviation) = deviation(sweep, rest, k) else { return true };
    let beyond = StudentsT::new(0.0, 1.0, deviation.dof.clamp(1.0, 1e6))
        .map_or(f64::INFINITY, |t| t.inverse_cdf(1.0 - CHANCE / (2.0 * sweep.len() as f64)));
    deviation.times.abs() > beyond
}

/// The readings of the largest residuals, and the one that leaves the range of its neighbours most.
fn candidates(sweep: &Sweep, kept: &[usize], whole: Option<&Pilot>) -> Vec<usize> {
    let residuals = whole.map_or(&[][..], |fit| &fit.residuals);
    let mut by_size: Vec<usize> = (0..residuals.len()).collect();
    by_size.sort_by(|&a, &b| residuals[b].abs().total_cmp(&residuals[a].abs()));
    let mut tried: Vec<usize> = by_size.into_iter().take(TRIED).map(|at| kept[at]).collect();
    let on_voltage = whole.map_or(sweep.options().swept == Swept::Current, |fit| fit.on_voltage);
    let (set, read) = axes(sweep, on_voltage);
    let mut order = kept.to_vec();
    order.sort_by(|&a, &b| set[a].total_cmp(&set[b]));
    let beyond = |w: &[usize]| {
        let (a, b, own) = (read[w[0]], read[w[2]], read[w[1]]);
        (a.min(b) - own).max(own - a.max(b)).max(0.0)
    };
    let jump = order.windows(3).max_by(|a, b| beyond(a).total_cmp(&beyond(b))).map(|w| w[1]);
    tried.extend(jump.filter(|k| !tried.contains(k)));
    tried
}

/// The axis that was set and the one that was read.
fn axes(sweep: &Sweep, on_voltage: bool) -> (&[f64], &[f64]) {
    let (v, a) = (sweep.voltage_v(), sweep.current_a());
    if on_voltage { (a, v) } else { (v, a) }
}

/// The step of the converter that readings show by being equal, a fifth of them at least; else 0.
fn converter_step(read: &[f64]) -> f64 {
    let mut sorted = read.to_vec();
    sorted.sort_by(f64::total_cmp);
    let steps = || sorted.windows(2).map(|w| w[1] - w[0]);
    let equal = steps().filter(|step| *step == 0.0).count();
    if equal * SHARE < read.len() {
        return 0.0;
    }
    // Rounded values differ by whole steps but for their own rounding.
    let least = 1e-9 * (sorted[sorted.len() - 1] - sorted[0]);
    steps().filter(|step| *step > least).fold(f64::INFINITY, f64::min)
}

/// Whether reading `k` lies where its neighbours among `rest` allow any falling curve of one bend, however sharp: between
/// their chord and the lines that continue the curve from either side; at an end, where the curve may fall as steeply
/// as it will.
fn allowed(set: &[f64], read: &[f64], rest: &[usize], k: usize) -> bool {
    let (x, y) = (set[k], read[k]);
    let line = |a: usize, b: usize| read[a] + (x - set[a]) * (read[b] - read[a]) / (set[b] - set[a]);
    let (left, right) = (two_nearest(set, rest, x, -1.0), two_nearest(set, rest, x, 1.0));
    let continued = |side: &[Option<usize>; 2]| side[0].zip(side[1]).map(|(a, b)| line(a, b));
    let edges: Vec<f64> = match (left[0], right[0]) {
        (Some(a), Some(b)) => {
            [Some(line(a, b)), continued(&left), continued(&right)].into_iter().flatten().collect()
        }
        (None, Some(b)) => std::iter::once(read[b]).chain(continued(&right)).collect(),
        (Some(_), None) => return continued(&left).is_some_and(|edge| y <= edge),
        (None, None) => return true,
    };
    let (low, high) = range(&edges);
    (low..=high).contains(&y)
}

/// The two readings of different set points nearest to `x` on the side of `sign`.
fn two_nearest(set: &[f64], rest: &[usize], x: f64, sign: f64) -> [Option<usize>; 2] {
    let mut found: [Option<usize>; 2] = [None; 2];
    for &k in rest.iter().filter(|&&k| (set[k] - x) * sign > 0.0) {
        let nearer = |than: Option<usize>| than.is_none_or(|j| (set[k] - set[j]) * sign < 0.0);
        if nearer(found[0]) {
            found = [Some(k), found[0]];
        } else if found[0].is_some_and(|j| set[j] != set[k]) && nearer(found[1]) {
            found[1] = Some(k);
        }
    }
    found
}

/// Reading `k` as an outlier of the curve `rest` through the readings `kept`, which is not among them, if it is one; `whole` is the least χ² with
/// it.
fn stands_out(sweep: &Sweep, k: usize, whole: f64, (rest, kept): (&Pilot, &[usize])) -> Option<Outlier> {
    let free = rest.dof as f64;
    if rest.dof < 2 {
        return None;
    }
    let least = if rest.absolute { 1.0 } else { LEAST };
    let scatter = (rest.chi2 / free).sqrt().max(least);
    let (v, a) = (sweep.voltage_v()[k], sweep.current_a()[k]);
    let (along_v, along_a) = rest.distances(v, a);
    // No fit to all readings does worse than the curve through the others, which leaves this distance.
    let own = if rest.on_voltage { along_v } else { along_a } / rest.sigma(k);
    let deleted = (whole - rest.chi2).max(0.0).sqrt().min(own.abs());
    // A converter rounds by half a step, whether or not the other residuals show it.
    let rounding = 0.5 * converter_step(axes(sweep, rest.on_voltage).1) / rest.sigma(k);
    let others = rest.residuals.iter().fold(rounding, |m, r| m.max(r.abs()));
    let times = deleted / scatter;
    let beyond = StudentsT::new(0.0, 1.0, free).ok()?.inverse_cdf(1.0 - CHANCE / (2.0 * sweep.len() as f64));
    let (distance, set, span) = if rest.on_voltage {
        (along_v, along_a, width(sweep.current_a()))
    } else {
        (along_a, along_v, width(sweep.voltage_v()))
    };
    // Where the curve has no point at the reading, no set point explains it.
    let n = sweep.len() as f64;
    let elsewhere = set.abs() > SET / (n * n) * span || !set.is_finite();
    let factor = if looks_like_noise(sweep, kept, rest) { CLEAR_OF_NOISE } else { CLEAR };
    let clear = times > beyond && deleted > factor * others && distance.is_finite() && elsewhere;
    clear.then_some(Outlier { point: k, distance, on_voltage: rest.on_voltage, times, or: None })
}

/// The last reading of `kept` at either end of the set quantity, where `k` is the one before it.
fn end_beside(set: &[f64], kept: &[usize], k: usize) -> Option<usize> {
    let mut order = kept.to_vec();
    order.sort_by(|&a, &b| set[a].total_cmp(&set[b]));
    let (n, at) = (order.len(), order.iter().position(|j| *j == k)?);
    match at {
        1 => Some(order[0]),
        at if at + 2 == n => Some(order[n - 1]),
        _ => None,
    }
}

/// Whether the residuals of the readings `rest`, along the voltage, do not go together.
fn looks_like_noise(sweep: &Sweep, rest: &[usize], fit: &Pilot) -> bool {
    let mut order: Vec<usize> = (0..rest.len()).collect();
    order.sort_by(|&a, &b| sweep.voltage_v()[rest[a]].total_cmp(&sweep.voltage_v()[rest[b]]));
    let along: Vec<f64> = order.into_iter().filter_map(|j| fit.residuals.get(j).copied()).collect();
    let squares: f64 = along.iter().map(|r| r * r).sum();
    along.windows(2).map(|w| w[0] * w[1]).sum::<f64>() < CORRELATED * squares
}

fn width(values: &[f64]) -> f64 {
    let (low, high) = range(values);
    high - low
}

/// `reading 7 lies 12.0 standard deviations off the curve through the others`.
impl fmt::Display for Outlier {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "reading {} lies {:.1} standard deviations off the curve through the others",
            self.point, self.times
        )?;
        self.or.iter().try_for_each(|other| write!(f, ", or reading {other} does"))
    }
}
