//! A smooth of V(I) as a curve I(V): of a sweep whose current was set, and whose voltages carry the noise.
//!
//! ```text
//! V̂(I): the smoothing spline, within the bracket [b, B] of its gap; falling, by rearrangement      I(V) = V̂⁻¹(V)
//! band of I at V: all I with V̂ − √((t·u)² + d²) ≤ V ≤ V̂ + √((t·u)² + D²)
//! d = V̂ − b + q·t·u(b)      q = (V̂ − b)/√((t·u)² + (V̂ − b)²)      D from B alike; t: Student's factor of the level
//! ```
//!
//! Where the steps of current are coarse against the bend, above all about Isc, no spline knows the curve between two
//! readings. A falling curve of one bend lies between the chord of its neighbours and the lines that continue it from
//! either side, and never leaves the two voltages: that is the bracket. The band holds it whole, since the straight branch
//! beyond Isc runs along its edge, and the noise u(b) of the edge as far as the bracket is wide against the noise of the
//! spline. Where the steps are fine it is far narrower than that. With the bias u² also holds that of each place, from what a
//! second smoothing bends away: most voltages lie in the few gaps about Isc, where V̂ bends hardest and a bias that is counted
//! on average over the currents is too small (300 readings of 2 % noise: the band held in 78 to 85 % of silicon).
//!
//! Curve and band are inverted on one mesh of currents, dense in voltage as well and with every bend of the bracket on it,
//! so that the curve lies in its band. A curve that falls is put in order where the spline does not: V. Chernozhukov, I.
//! Fernández-Val, A. Galichon, Biometrika 96 (2009) 559 (from memory), for curves and for bands.

use super::covariance::Counted;
use super::error::InterpolantError;
use super::monotone_cubic::monotone_cubic;
use super::open_slope::open_slope;
use super::piecewise::Piecewise;
use super::points::Points;
use super::smooth::{Row, Smooth};
use crate::quantity::estimate::{Estimate, Interval, Unit, student_t};

/// Parts of a gap on the mesh, and of all gaps together: a gap is cut into fewer where there are many.
const PARTS: usize = 8;
const PLACES: usize = 2000;
/// Further parts, spread over the gaps as the voltages are: one current step may span most of them.
const OF_VOLTAGE: f64 = 400.0;

/// How many times what a second smoothing bends away counts as a standard deviation of the bias. It is itself smoothed, and
/// where a bend takes a few readings less than the first bent away. With 2 the worst of 25 voltages held in 80 % (devices of
/// even number, 20 sweeps each), with 3 in 85 %, and the band of 300 readings was 13 % wider.
const BENT_AWAY: f64 = 2.5;

/// An edge of a bracket, with the variance of what it is made of.
#[derive(Clone, Copy, PartialEq)]
struct Edge {
    value: f64,
    variance: f64,
}

/// The spline on a mesh of currents.
struct Mesh {
    current_a: Vec<f64>,
    /// V̂ within its bracket.
    voltage_v: Vec<f64>,
    /// Lower and upper edge of the bracket.
    edges: [Vec<Edge>; 2],
    /// dV/dI by which the curve goes on at its first and at its last current: below 0.
    ends: [f64; 2],
}

impl Mesh {
    /// `variance` of the spline at its knots, if it is wanted.
    fn new(smooth: &Smooth, variance: &[f64]) -> Self {
        let (x, spline) = (smooth.points.places(), &smooth.spline);
        let y: Vec<f64> = knots(spline);
        let parts = (PLACES / x.len()).clamp(1, PARTS);
        let whole = (y[0] - y[y.len() - 1]).abs().max(f64::MIN_POSITIVE);
        let empty = Vec::new;
        let mut mesh = Self {
            current_a: empty(),
            voltage_v: empty(),
            edges: [Vec::new(), Vec::new()],
            ends: continued(x, &y),
        };
        for k in 0..x.len() - 1 {
            let of_voltage =
                ((OF_VOLTAGE * (y[k] - y[k + 1]).abs() / whole) as usize).min(OF_VOLTAGE as usize);
            let parts = parts + of_voltage;
            let mut shares: Vec<f64> = (0..parts).map(|part| part as f64 / parts as f64).collect();
            shares.extend(kinks(x, &y, k));
            shares.sort_by(f64::total_cmp);
            shares.dedup();
            shares.into_iter().for_each(|s| mesh.push(smooth, [&y, variance], k, s));
        }
        mesh.push(smooth, [&y, variance], x.len() - 2, 1.0);
        mesh
    }

    fn push(&mut self, smooth: &Smooth, y: [&[f64]; 2], k: usize, s: f64) {
        let (low, high) = bracket(smooth.points.places(), y, k, s);
        let place = smooth.spline.place(k, s);
        self.current_a.push(place);
        self.voltage_v.push(smooth.spline.jet(place)[0].clamp(low.value, high.value));
        self.edges[0].push(low);
        self.edges[1].push(high);
    }

    /// The current at which voltages on the mesh, rearranged to fall, are `voltage_v`.
    fn inverse(&self, falling: &[f64], voltage_v: f64) -> f64 {
        let (i, last) = (&self.current_a, falling.len() - 1);
        if voltage_v >= falling[0] {
            return i[0] + (voltage_v - falling[0]) / self.ends[0];
        }
        if voltage_v <= falling[last] {
            return i[last] + (voltage_v - falling[last]) / self.ends[1];
        }
        let k = falling.partition_point(|v| *v >= voltage_v) - 1;
        let share = (falling[k] - voltage_v) / (falling[k] - falling[k + 1]);
        i[k] + share * (i[k + 1] - i[k])
    }

    /// The currents between which the band of V holds each voltage, `noise` the half width of the band by the noise and
    /// `times` what a standard deviation of the spline is multiplied with in it.
    fn held(&self, voltage_v: &[f64], noise: &[f64], times: f64) -> Vec<[f64; 2]> {
        let reach = |k: usize, edge: Edge| {
            let open = (edge.value - self.voltage_v[k]).abs();
            let share = if open > 0.0 { open / open.hypot(noise[k]) } else { 0.0 };
            noise[k].hypot(open + share * times * edge.variance.sqrt())
        };
        let side = |edges: &[Edge], sign: f64| {
            let one = |(k, edge): (usize, &Edge)| self.voltage_v[k] + sign * reach(k, *edge);
            falling(edges.iter().enumerate().map(one).collect())
        };
        let (low, high) = (side(&self.edges[0], -1.0), side(&self.edges[1], 1.0));
        voltage_v.iter().map(|v| [self.inverse(&low, *v), self.inverse(&high, *v)]).collect()
    }
}

/// Values at the breaks.
fn knots(spline: &Piecewise) -> Vec<f64> {
    spline.breaks_v().iter().map(|x| spline.jet(*x)[0]).collect()
}

/// Rearranged to fall.
fn falling(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(|a, b| b.total_cmp(a));
    values
}

/// dy/dx of the first and of the last gap, that of the whole where one does not fall.
fn continued(x: &[f64], y: &[f64]) -> [f64; 2] {
    let last = x.len() - 1;
    let secant = |a: usize, b: usize| (y[b] - y[a]) / (x[b] - x[a]);
    let whole = secant(0, last);
    let whole = if whole < 0.0 { whole } else { -f64::MIN_POSITIVE.max(whole) };
    [secant(0, 1), secant(last - 1, last)].map(|d| if d < 0.0 { d } else { whole })
}

/// Where the edges of the bracket of gap `k` bend: where its lines meet each other and the values at the other end.
fn kinks(x: &[f64], y: &[f64], k: usize) -> impl Iterator<Item = f64> {
    let (h, secant) = (x[k + 1] - x[k], |k: usize| (y[k + 1] - y[k]) / (x[k + 1] - x[k]));
    // By how much each line rises over the gap: the one before goes through the first knot, the one after through the second.
    let rise = h * secant(k);
    let before = if k > 0 { h * secant(k - 1) } else { f64::NAN };
    let after = if k + 2 < x.len() { h * secant(k + 1) } else { f64::NAN };
    let places = [rise / before, 1.0 - rise / after, (rise - after) / (before - after)];
    places.into_iter().filter(|s| *s > 0.0 && *s < 1.0)
}

/// The least and the greatest value in gap `k` at `s` of a falling curve through values of given variances that bends one
/// way.
fn bracket(x: &[f64], [y, variance]: [&[f64]; 2], k: usize, s: f64) -> (Edge, Edge) {
    let at = x[k] + s * (x[k + 1] - x[k]);
    // The line through two knots; at places far from both their errors count more.
    let line = |a: usize, b: usize| {
        let share = (at - x[a]) / (x[b] - x[a]);
        let of = |k: usize| variance.get(k).copied().unwrap_or(0.0);
        Edge {
            value: y[a] + share * (y[b] - y[a]),
            variance: (1.0 - share) * (1.0 - share) * of(a) + share * share * of(b),
        }
    };
    let chord = line(k, k + 1);
    let before = (k > 0).then(|| line(k - 1, k));
    let after = (k + 2 < x.len()).then(|| line(k + 1, k + 2));
    let least = |a: Edge, b: Edge| if a.value <= b.value { a } else { b };
    let most = |a: Edge, b: Edge| if a.value <= b.value { b } else { a };
    let (low, high) = match (before, after) {
        (Some(a), Some(b)) if least(a, b).value >= chord.value => (chord, least(a, b)),
        (Some(a), Some(b)) if most(a, b).value <= chord.value => (most(a, b), chord),
        (Some(a), Some(b)) => (least(a, b), most(a, b)),
        (Some(a), None) | (None, Some(a)) => (least(a, chord), most(a, chord)),
        (None, None) => (chord, chord),
    };
    let knot = |k: usize| Edge { value: y[k], variance: variance.get(k).copied().unwrap_or(0.0) };
    let (left, right) = (knot(k), knot(k + 1));
    let within = |edge: Edge| most(least(left, right), least(most(left, right), edge));
    (within(low), within(high))
}

/// I(V), continued straight to the voltages read.
pub(super) fn curve(smooth: &Smooth) -> Result<Piecewise, InterpolantError> {
    let mesh = Mesh::new(smooth, &[]);
    let (mut v, mut i) = (falling(mesh.voltage_v.clone()), mesh.current_a.clone());
    let (first, last) = (v[0], v[v.len() - 1]);
    for read in smooth.points.values() {
        if *read > first || *read < last {
            let (end, from) = if *read > first { (0, 0) } else { (1, mesh.current_a.len() - 1) };
            v.push(*read);
            i.push(mesh.current_a[from] + (read - if end == 0 { first } else { last }) / mesh.ends[end]);
        }
    }
    monotone_cubic(&Points::new(&v, &i)?)
}

/// The row at a current.
pub(super) fn row(smooth: &Smooth, current_a: f64) -> Row {
    let (low, high) = smooth.spline.range_v();
    let place = current_a.clamp(low, high);
    let [_, slope, bend] = smooth.spline.jet(place);
    let of_voltage = smooth.spline_row(place);
    // V̂(I) = V: δI = −δV̂/V̂′, and 1/V̂′ changes by −(δV̂′ + V̂″·δI)/V̂′².
    let current: Vec<f64> = of_voltage.current.iter().map(|l| -l / slope).collect();
    let both = of_voltage.slope.iter().zip(&current);
    let slope = both.map(|(d, l)| -(d + bend * l) / (slope * slope)).collect();
    Row { current, slope }
}

/// The mesh with standard deviations of the spline on it, `None` where the noise is not known.
fn spread(smooth: &Smooth, counted: Counted) -> Option<(Mesh, Vec<f64>)> {
    let deviations = |places: &[f64]| -> Option<Vec<f64>> {
        let variances = smooth.variances(places, counted);
        let one = |v: &[f64; 2]| smooth.scattering(0.0, v[0].max(0.0).sqrt(), Unit::Volt).u;
        variances.iter().map(one).collect()
    };
    let points = &smooth.points;
    let bias: Vec<f64> = match counted {
        Counted::Noise => vec![0.0; points.len()],
        Counted::NoiseAndBias => smooth.bent_away().iter().map(|b| BENT_AWAY * b).collect(),
    };
    let knots = deviations(points.places())?;
    let squares: Vec<f64> = knots.iter().zip(&bias).map(|(u, b)| u * u + b * b).collect();
    let mesh = Mesh::new(smooth, &squares);
    let u = deviations(&mesh.current_a)?;
    let off = |i: &f64| {
        let k = smooth.spline.locate(*i).0;
        bias[k].abs().max(bias[k + 1].abs())
    };
    let u = u.iter().zip(&mesh.current_a).map(|(u, i)| u.hypot(off(i))).collect();
    Some((mesh, u))
}

/// At each voltage the interval that holds the current, whose value on the curve lies within it.
pub(super) fn band(
    smooth: &Smooth,
    voltage_v: &[f64],
    values: &[f64],
    level: f64,
    counted: Counted,
) -> Result<Vec<Interval>, InterpolantError> {
    let unit = smooth.scattering(0.0, 1.0, Unit::Ampere);
    let Some((mesh, u)) = spread(smooth, counted) else {
        return Ok(vec![unit.interval(level); voltage_v.len()]);
    };
    let times = student_t(level, unit.dof);
    let noise: Vec<f64> = u.iter().map(|u| times * u).collect();
    let held = mesh.held(voltage_v, &noise, times);
    let one = |([low, high], i): ([f64; 2], &f64)| Interval {
        low: Some(low.min(*i)),
        high: Some(high.max(*i)),
        level,
        notes: Vec::new(),
    };
    Ok(held.into_iter().zip(values).map(one).collect())
}

/// Currents with half the width of the band of one standard deviation.
pub(super) fn estimates(
    smooth: &Smooth,
    voltage_v: &[f64],
    values: &[f64],
) -> Result<Vec<Estimate>, InterpolantError> {
    let unit = smooth.scattering(0.0, 1.0, Unit::Ampere);
    let Some((mesh, u)) = spread(smooth, Counted::Noise) else {
        return Ok(values.iter().map(|i| smooth.scattering(*i, 0.0, Unit::Ampere)).collect());
    };
    let held = mesh.held(voltage_v, &u, 1.0);
    let one = |(i, [low, high]): (&f64, &[f64; 2])| {
        Estimate::new(*i, 0.5 * (high - low), Unit::Ampere).with_dof(unit.dof)
    };
    Ok(values.iter().zip(&held).map(one).collect())
}

/// Slopes D: u² = (D²·u(V̂′))² + w²/3 + (m − D)², u(V̂′) with the bias, m ± w what the neighbours leave open of the slope
/// ([`super::open_slope`]), its ends q out by q²·u(V̂′) of the gaps about, as rectangular; D need not lie in the middle.
pub(super) fn slopes(
    smooth: &Smooth,
    voltage_v: &[f64],
    values: &[f64],
) -> Result<Vec<Estimate>, InterpolantError> {
    let (x, y) = (smooth.points.places(), knots(&smooth.spline));
    let (low, high) = smooth.spline.range_v();
    let places = smooth.curve().current(voltage_v, false)?.values;
    let places: Vec<f64> = places.iter().map(|i| i.clamp(low, high)).collect();
    let middles: Vec<f64> = x.windows(2).map(|x| 0.5 * (x[0] + x[1])).collect();
    let deviations = |places: &[f64]| -> Vec<f64> {
        let variances = smooth.variances(places, Counted::NoiseAndBias);
        variances.iter().map(|v| v[1].max(0.0).sqrt()).collect()
    };
    let (own, gaps) = (deviations(&places), deviations(&middles));
    let one = |k: usize| {
        let (value, gap) = (values[k], smooth.spline.locate(places[k]).0);
        let unit = smooth.scattering(value, 1.0, Unit::Siemens);
        let Some(scatter) = unit.u else { return unit };
        let around = gap.saturating_sub(1)..(gap + 2).min(gaps.len());
        let of_line = scatter * gaps[around].iter().copied().fold(own[k], f64::max);
        let [least, most] = open_slope(x, &y, gap, voltage_v[k]);
        let (least, most) = (least - least * least * of_line, most + most * most * of_line);
        let (half, off) = (0.5 * (most - least), 0.5 * (most + least) - value);
        let noise = value * value * scatter * own[k];
        Estimate { u: Some(noise.hypot(half / 3f64.sqrt()).hypot(off)), ..unit }
    };
    Ok((0..values.len()).map(one).collect())
}
