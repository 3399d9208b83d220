//! The point of maximum power of a model.
//!
//! ```text
//! P(u) = J·(u − D(J))        P′ = J′·V + J·V′,   V = u − D(J),  V′ = 1 − D′·J′
//! ```
//!
//! P′ is positive at short circuit and negative at open circuit. For diodes and a resistance its root is
//! unique; P is not concave in u, so the root is bracketed. For other models (a reverse diode in
//! series bends the curve twice) the bracket is first narrowed by a scan to the highest of the maxima.

use super::junction::Junction;
use crate::numerics::roots::bracketed_newton::root_between;
use crate::quantity::format::quantity;
use std::fmt;

/// Steps of the scan that finds the highest of several maxima.
const SCAN: usize = 64;

/// The point of maximum power.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct MaximumPower {
    /// Junction voltage in V.
    pub u: f64,
    /// Voltage in V.
    pub v_pmax: f64,
    /// Current in A.
    pub i_pmax: f64,
    /// Power in W.
    pub pmax: f64,
}

/// Of a device under light.
pub(super) fn maximum_power<M: Junction>(model: &M) -> MaximumPower {
    let (low, high) = (model.at_voltage(0.0), model.at_current(0.0));
    let (low, high) = if model.has_one_maximum() { (low, high) } else { highest_interval(model, low, high) };
    let u = root_between(low, high, |u| power_slope(model, u));
    let (j, d) = model.current_and_drop(u);
    if d.curvature == 0.0 && -d.slope * j.slope > 1.0 {
        return series_limited(model);
    }
    let v_pmax = u - d.value;
    let i_pmax = model.current_from(u, v_pmax);
    MaximumPower { u, v_pmax, i_pmax, pmax: v_pmax * i_pmax }
}

/// Where the series drop rules, u holds too few bits for the current: the same maximum as a root in the
/// current j, dP/dj = V + j·(1/J′ − D′), which is unique for an ohmic drop.
fn series_limited<M: Junction>(model: &M) -> MaximumPower {
    let i_pmax = root_between(0.0, model.isc(), |i| {
        let u = model.at_current(i);
        let (j, d) = (model.current(u), model.drop(i));
        let by_i = 1.0 / j.slope - d.slope;
        (u - d.value + i * by_i, 2.0 * by_i - i * j.curvature / j.slope.powi(3))
    });
    let u = model.at_current(i_pmax);
    let v_pmax = u - model.drop(i_pmax).value;
    MaximumPower { u, v_pmax, i_pmax, pmax: v_pmax * i_pmax }
}

/// P′ and P″ at u.
fn power_slope<M: Junction>(model: &M, u: f64) -> (f64, f64) {
    let (j, d) = model.current_and_drop(u);
    let (v, v1) = (u - d.value, 1.0 - d.slope * j.slope);
    let v2 = -(d.curvature * j.slope * j.slope + d.slope * j.curvature);
    (j.slope * v + j.value * v1, j.curvature * v + 2.0 * j.slope * v1 + j.value * v2)
}

/// An interval of [low, high] that holds the highest maximum, P′ falling through zero in it.
fn highest_interval<M: Junction>(model: &M, low: f64, high: f64) -> (f64, f64) {
    let at = |k: usize| low + (high - low) * (k as f64 / SCAN as f64);
    let power = |u: f64| {
        let (j, d) = model.current_and_drop(u);
        j.value * (u - d.value)
    };
    let (mut best, mut highest) = (1, f64::NEG_INFINITY);
    for k in 1..SCAN {
        let p = power(at(k));
        if p > highest {
            (best, highest) = (k, p);
        }
    }
    (at(best - 1), at(best + 1))
}

/// `310.7 mW at 0.4507 V, 689.4 mA`.
impl fmt::Display for MaximumPower {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { pmax, v_pmax, i_pmax, .. } = *self;
        write!(f, "{} at {}, {}", quantity(pmax, "W"), quantity(v_pmax, "V"), quantity(i_pmax, "A"))
    }
}
