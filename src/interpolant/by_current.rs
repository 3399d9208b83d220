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
//! spline. Where the steps are fine it is far narrower than that. A curve that falls is put in order where the spline does not: V. Chernozhukov, I.
//! Fernández-Val, A. Galichon, Biometrika 96 (2009) 559 (from memory), for curves and for bands.

use super::covariance::Counted;
use super::error::InterpolantError;
use super::monotone_cubic::monotone_cubic;
use super::piecewise::Piecewise;
use super::points::Points;
use super::smooth::{Row, Smooth};
use crate::quantity::estimate::{Estimate, Interval, Unit, student_t};

/// Places of the mesh in each gap, and in all: a gap is cut into fewer where there are many.
const PARTS: usize = 8;
const PLACES: usize = 2000;
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
        let empty = Vec::new;
        let mut mesh = Self {
            current_a: empty(),
            voltage_v: empty(),
            edges: [Vec::new(), Vec::new()],
            ends: continued(x, &y),
        };
        for k in 0..x.len() - 1 {
            for part in 0..parts {
                mesh.push(smooth, [&y, variance], k, part as f64 / parts as f64);
            }
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
    let knots = deviations(smooth.points.places())?;
    let squares: Vec<f64> = knots.iter().map(|u| u * u).collect();
    let mesh = Mesh::new(smooth, &squares);
    deviations(&mesh.current_a).map(|u| (mesh, u))
}

/// At each voltage the interval that holds the current.
pub(super) fn band(
    smooth: &Smooth,
    voltage_v: &[f64],
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
    let one = |[low, high]: [f64; 2]| Interval { low: Some(low), high: Some(high), level, note: None };
    Ok(held.into_iter().map(one).collect())
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

/// Slopes D = 1/V̂′ with u = D²·u(V̂′); to u(V̂′) comes what a bracket of half width w leaves open, 2·w/h on average over a
/// gap of width h for a parabola between its edges, as rectangular.
pub(super) fn slopes(
    smooth: &Smooth,
    voltage_v: &[f64],
    values: &[f64],
) -> Result<Vec<Estimate>, InterpolantError> {
    let (low, high) = smooth.spline.range_v();
    let places = smooth.curve().current(voltage_v, false)?.values;
    let places: Vec<f64> = places.iter().map(|i| i.clamp(low, high)).collect();
    let (variances, y) = (smooth.variances(&places, Counted::Noise), knots(&smooth.spline));
    let one = |((place, value), variance): ((&f64, &f64), &[f64; 2])| {
        let k = smooth.spline.locate(*place).0;
        let (b, upper) = bracket(smooth.points.places(), [&y, &[]], k, 0.5);
        let open = (upper.value - b.value) / smooth.spline.width(k) / 3f64.sqrt();
        let noise = smooth.scattering(*value, value * value * variance[1].max(0.0).sqrt(), Unit::Siemens);
        match noise.u {
            Some(u) => Estimate { u: Some(u.hypot(value * value * open)), ..noise },
            None => noise,
        }
    };
    Ok(places.iter().zip(values).zip(&variances).map(one).collect())
}
