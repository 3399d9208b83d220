//! The point of a curve nearest to a reading (v, i) with standard uncertainties (σV, σI).
//!
//! ```text
//! h(u) = (V − v)·V′/σV² + (J − i)·J′/σI² = 0        half the derivative of the squared distance
//! ```
//!
//! h is negative at the one of {V(u) = v, J(u) = i} that lies lower and positive at the other, so the foot lies
//! between them; Newton's method inside that bracket. Where h has several roots the one found is between the readings.

use super::circuit::Circuit;
use super::elementary::exp_pair;
use super::junction::Junction;
use super::roots::{BLOCK, Roots};
use multiversion::multiversion;

const MOST_STEPS: usize = 100;
/// A Newton step of this many thermal voltages leaves an error of its square: the distance, flat at its foot, has
/// all its digits.
const SHORT: f64 = 1e-8;
/// Exponents between which `exp_pair` holds with room to spare.
const LARGEST: f64 = 690.0;

impl<const K: usize> Circuit<K> {
    /// Junction voltage of the point nearest to (v, i), weighed by (σV, σI); either σ may be 0.
    pub fn nearest(&self, v: f64, i: f64, sigma_v: f64, sigma_i: f64) -> f64 {
        if sigma_v == 0.0 {
            return self.at_voltage(v);
        }
        let u_i = self.at_current(i);
        if sigma_i == 0.0 {
            return u_i;
        }
        let u_v = self.at_voltage(v);
        let slope = |u: f64| {
            let (j, d) = self.current_and_drop(u);
            let (dv, v1, v2) = (u - d.value - v, 1.0 - d.slope * j.slope, -d.slope * j.curvature);
            let di = j.value - i;
            let (by_v, by_i) = (1.0 / (sigma_v * sigma_v), 1.0 / (sigma_i * sigma_i));
            let first = dv * v1 * by_v + di * j.slope * by_i;
            let second = (v1 * v1 + dv * v2) * by_v + (j.slope * j.slope + di * j.curvature) * by_i;
            (first, second)
        };
        let mut u_i = u_i;
        if !u_i.is_finite() {
            // No point of the curve carries that current: widen until the voltage term turns the sign.
            let mut width = self.bend();
            while slope(u_v - width).0 > 0.0 && width < 1e300 {
                width *= 2.0;
            }
            u_i = u_v - width;
        }
        rising_root(u_i.min(u_v), u_i.max(u_v), SHORT * self.bend(), slope)
    }

    /// The junction states nearest to up to [`BLOCK`] readings; `sigma` are the σV and the σI.
    pub fn roots_nearest(
        &self,
        voltage_v: &[f64],
        current_a: &[f64],
        sigma: (&[f64], &[f64]),
        roots: &mut Roots<K>,
    ) {
        let count = voltage_v.len().min(BLOCK);
        let careful = |k: usize| self.nearest(voltage_v[k], current_a[k], sigma.0[k], sigma.1[k]);
        let Some(one) = self.as_one() else {
            (0..count).for_each(|k| roots.set(k, self, careful(k)));
            return;
        };
        let (mut low, mut high) = ([0.0; BLOCK], [0.0; BLOCK]);
        for (k, (low, high)) in low.iter_mut().zip(&mut high).enumerate().take(count) {
            // NaN where one axis counts as exact: the careful way answers.
            let both = sigma.0[k] > 0.0 && sigma.1[k] > 0.0;
            (*low, *high) = if both { (0.0, 0.0) } else { (f64::NAN, f64::NAN) };
        }
        self.roots_at_currents(current_a, roots);
        roots.u.iter().zip(&mut low).for_each(|(u, low)| *low += u);
        self.roots_at_voltages(voltage_v, roots);
        roots.u.iter().zip(&mut high).for_each(|(u, high)| *high += u);
        let mut u = [0.0; BLOCK];
        between(&one, voltage_v, current_a, sigma, (&mut low, &mut high), &mut u);
        for k in 0..count {
            roots.set(k, self, if u[k].is_finite() { u[k] } else { careful(k) });
        }
    }
}

/// Root of a function that rises through 0 between `low` and `high`, by Newton's method in a bracket.
fn rising_root(mut low: f64, mut high: f64, short: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut u = 0.5 * (low + high);
    for _ in 0..MOST_STEPS {
        let (value, slope) = f(u);
        if value > 0.0 {
            high = u
        } else {
            low = u
        }
        let newton = u - value / slope;
        let inside = slope > 0.0 && newton >= low && newton <= high;
        let next = if inside { newton } else { 0.5 * (low + high) };
        let step = (next - u).abs();
        u = next;
        if inside && step <= short || high - low <= 4.0 * f64::EPSILON * u.abs() {
            break;
        }
    }
    u
}

/// [`rising_root`] for one diode and up to a block of readings; `u` is not finite where it does not answer.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn between(
    c: &Circuit<1>,
    voltage_v: &[f64],
    current_a: &[f64],
    sigma: (&[f64], &[f64]),
    ends: (&mut [f64; BLOCK], &mut [f64; BLOCK]),
    u: &mut [f64; BLOCK],
) {
    let n = voltage_v.len().min(BLOCK);
    let (by_a, short) = (1.0 / c.a[0], SHORT * c.a[0]);
    let (mut v, mut i, mut by_v, mut by_i) = ([0.0; BLOCK], [0.0; BLOCK], [1.0; BLOCK], [1.0; BLOCK]);
    let mut moving = [0.0; BLOCK];
    let (low, high) = ends;
    for k in 0..n {
        (v[k], i[k]) = (voltage_v[k], current_a[k]);
        (by_v[k], by_i[k]) = (1.0 / (sigma.0[k] * sigma.0[k]), 1.0 / (sigma.1[k] * sigma.1[k]));
        (low[k], high[k]) = (low[k].min(high[k]), low[k].max(high[k]));
        u[k] = 0.5 * (low[k] + high[k]);
        moving[k] = if u[k].is_finite() { 1.0 } else { 0.0 };
    }
    for _ in 0..MOST_STEPS {
        let mut any = 0.0;
        for k in 0..BLOCK {
            let x = u[k];
            let (minus_one, whole) = exp_pair((x * by_a).clamp(-LARGEST, LARGEST));
            let e1 = c.i0[0] * whole * by_a;
            let j = c.g.mul_add(-x, c.i0[0].mul_add(-minus_one, c.iph));
            let (j1, j2) = (-e1 - c.g, -e1 * by_a);
            let (dv, v1, v2) = (c.rs.mul_add(-j, x) - v[k], 1.0 - c.rs * j1, -c.rs * j2);
            let di = j - i[k];
            let first = (dv * v1).mul_add(by_v[k], di * j1 * by_i[k]);
            let second = v1.mul_add(v1, dv * v2).mul_add(by_v[k], j1.mul_add(j1, di * j2) * by_i[k]);
            let (lower, higher) = if first > 0.0 { (low[k], x) } else { (x, high[k]) };
            let newton = x - first / second;
            let inside = (second > 0.0) & (newton >= lower) & (newton <= higher);
            let next = if inside { newton } else { 0.5 * (lower + higher) };
            let done =
                inside & ((next - x).abs() <= short) | (higher - lower <= 4.0 * f64::EPSILON * next.abs());
            let going = moving[k] > 0.0;
            u[k] = if going { next } else { x };
            low[k] = if going { lower } else { low[k] };
            high[k] = if going { higher } else { high[k] };
            moving[k] = if going & !done { 1.0 } else { 0.0 };
            any += moving[k];
        }
        if any == 0.0 {
            break;
        }
    }
    for k in 0..n {
        // Beyond the exponents, or still on its way: the careful way answers.
        let ordinary = (u[k] * by_a).abs() < LARGEST && moving[k] == 0.0;
        u[k] = if ordinary { u[k] } else { f64::NAN };
    }
}
