//! The point of a curve nearest to a reading (v, i) with standard uncertainties (σV, σI).
//!
//! ```text
//! h(u) = (V − v)·V′/σV² + (J − i)·J′/σI² = 0        half the derivative of the squared distance
//! ```
//!
//! h is negative at the one of {V(u) = v, J(u) = i} that lies lower and positive at the other, so the foot lies
//! between them; Newton's method inside that bracket, from its middle. Where h has several
//! roots one of those in the bracket is found, which need not be the nearest.
//!
//! On an exponential Newton's method advances by one thermal voltage a step. After [`PATIENT`] steps the bracket is
//! therefore halved wherever a step is more than half as long as the one before (the safeguard of W. H. Press et al.,
//! Numerical Recipes, section 9.4, from memory).

use super::circuit::Circuit;
use super::junction::Junction;
use super::junction_voltages::{BLOCK, Roots};
use crate::numerics::special::exp_ln::exp_pair;
use multiversion::multiversion;

const MOST_STEPS: usize = 100;
/// Steps without that safeguard: 95 % of the blocks of the sweeps of tests/hostile.rs need no more.
const PATIENT: usize = 30;
/// Steps of a block of readings that cost nothing beside an evaluation; each one beyond costs as much as two hard points.
const FREE_STEPS: usize = 8;
const COST_OF_STEP: usize = 2;
/// Cost, in hard points, of a reading that the scalar solver answers.
const COST_OF_SCALAR: usize = 3;
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
        let beyond = beyond_digits(u_i, u_v, sigma_v);
        let mut u_i = u_i;
        if beyond || !u_i.is_finite() {
            // No point of the curve carries that current, or none near: widen until the voltage term turns the sign, from a
            // thermal voltage, or from less where that is itself beyond all digits.
            let side = if u_i > u_v { 1.0 } else { -1.0 };
            let mut width = self.bend().min(sigma_v / f64::EPSILON);
            while side * slope(u_v + side * width).0 < 0.0 && width < 1e300 {
                width *= 2.0;
            }
            u_i = u_v + side * width;
        }
        let start = if beyond { u_v } else { 0.5 * (u_i + u_v) };
        rising_root(u_i.min(u_v), u_i.max(u_v), start, SHORT * self.bend(), slope)
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
        let (mut low, mut high) = ([0.0; BLOCK], [0.0; BLOCK]);
        for (k, (low, high)) in low.iter_mut().zip(&mut high).enumerate().take(count) {
            // NaN where one axis counts as exact: the scalar solver answers.
            let both = sigma.0[k] > 0.0 && sigma.1[k] > 0.0;
            (*low, *high) = if both { (0.0, 0.0) } else { (f64::NAN, f64::NAN) };
        }
        self.roots_at_currents(current_a, roots);
        roots.u.iter().zip(&mut low).for_each(|(u, low)| *low += u);
        self.roots_at_voltages(voltage_v, roots);
        roots.u.iter().zip(&mut high).for_each(|(u, high)| *high += u);
        let mut u = [0.0; BLOCK];
        let turns = block_roots(self, voltage_v, current_a, sigma, (&mut low, &mut high), &mut u);
        roots.hard += COST_OF_STEP * turns.saturating_sub(FREE_STEPS);
        for k in 0..count {
            let answered = u[k].is_finite();
            roots.hard += if answered { 0 } else { COST_OF_SCALAR };
            roots.set(k, self, if answered { u[k] } else { careful(k) });
        }
    }
}

/// Whether the middle of the bracket carries no digit of the end at which the voltage is matched. A current that only so
/// large a voltage would change decides little, and the foot is near this end.
#[inline(always)]
fn beyond_digits(u_i: f64, u_v: f64, sigma_v: f64) -> bool {
    u_i.is_finite() && (u_i - u_v).abs() * f64::EPSILON > u_v.abs() + sigma_v
}

/// Root of a function that rises through 0 between `low` and `high`, by Newton's method in a bracket.
fn rising_root(mut low: f64, mut high: f64, mut u: f64, short: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut before = f64::INFINITY;
    for turn in 0..MOST_STEPS {
        let (value, slope) = f(u);
        if value > 0.0 {
            high = u
        } else {
            low = u
        }
        let newton = u - value / slope;
        let fast = turn < PATIENT || 2.0 * (newton - u).abs() <= before;
        let inside = slope > 0.0 && newton >= low && newton <= high && fast;
        let next = if inside { newton } else { 0.5 * (low + high) };
        let step = (next - u).abs();
        (u, before) = (next, step);
        if inside && step <= short || high - low <= 4.0 * f64::EPSILON * u.abs() {
            break;
        }
    }
    u
}

/// [`rising_root`] for up to a block of readings; `u` is not finite where it does not answer. The steps that
/// the slowest took.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn block_roots<const K: usize>(
    c: &Circuit<K>,
    voltage_v: &[f64],
    current_a: &[f64],
    sigma: (&[f64], &[f64]),
    ends: (&mut [f64; BLOCK], &mut [f64; BLOCK]),
    u: &mut [f64; BLOCK],
) -> usize {
    let n = voltage_v.len().min(BLOCK);
    let mut by_a = [0.0; K];
    let mut least_a = f64::INFINITY;
    for d in 0..K {
        by_a[d] = 1.0 / c.a[d];
        least_a = if c.a[d] < least_a { c.a[d] } else { least_a };
    }
    let (short, steepest) = (SHORT * least_a, 1.0 / least_a);
    let (mut v, mut i, mut by_v, mut by_i) = ([0.0; BLOCK], [0.0; BLOCK], [1.0; BLOCK], [1.0; BLOCK]);
    let (mut moving, mut before) = ([0.0f64; BLOCK], [f64::INFINITY; BLOCK]);
    let (low, high) = ends;
    for k in 0..n {
        (v[k], i[k]) = (voltage_v[k], current_a[k]);
        (by_v[k], by_i[k]) = (1.0 / (sigma.0[k] * sigma.0[k]), 1.0 / (sigma.1[k] * sigma.1[k]));
        let (u_i, u_v) = (low[k], high[k]);
        (low[k], high[k]) = (u_i.min(u_v), u_i.max(u_v));
        u[k] = 0.5 * (low[k] + high[k]);
        if beyond_digits(u_i, u_v, sigma.0[k]) {
            // Newton's method alone; where that needs the bracket the scalar solver answers.
            u[k] = u_v;
            (low[k], high[k]) = if u_i < u_v { (f64::NEG_INFINITY, u_v) } else { (u_v, f64::INFINITY) };
        }
        moving[k] = if u[k].is_finite() { 1.0 } else { 0.0 };
    }
    let mut turns = 0;
    while turns < MOST_STEPS {
        let patient = turns < PATIENT;
        turns += 1;
        // As bits: a sum of floats has to keep its order, so that the loop would not become vector code.
        let mut open = 0u64;
        for k in 0..BLOCK {
            let x = u[k];
            let (mut diodes, mut e1, mut e2) = (c.iph, 0.0, 0.0);
            for d in 0..K {
                let (minus_one, whole) = exp_pair((x * by_a[d]).clamp(-LARGEST, LARGEST));
                let e = c.i0[d] * whole * by_a[d];
                diodes = c.i0[d].mul_add(-minus_one, diodes);
                e1 += e;
                e2 += e * by_a[d];
            }
            let j = c.g.mul_add(-x, diodes);
            let (j1, j2) = (-e1 - c.g, -e2);
            let (dv, v1, v2) = (c.rs.mul_add(-j, x) - v[k], 1.0 - c.rs * j1, -c.rs * j2);
            let di = j - i[k];
            let first = (dv * v1).mul_add(by_v[k], di * j1 * by_i[k]);
            let second = v1.mul_add(v1, dv * v2).mul_add(by_v[k], j1.mul_add(j1, di * j2) * by_i[k]);
            let (lower, higher) = if first > 0.0 { (low[k], x) } else { (x, high[k]) };
            let newton = x - first / second;
            let fast = patient | (2.0 * (newton - x).abs() <= before[k]);
            let inside = (second > 0.0) & (newton >= lower) & (newton <= higher) & fast;
            let next = if inside { newton } else { 0.5 * (lower + higher) };
            let step = (next - x).abs();
            let done = inside & (step <= short) | (higher - lower <= 4.0 * f64::EPSILON * next.abs());
            let going = moving[k] > 0.0;
            before[k] = step;
            u[k] = if going { next } else { x };
            low[k] = if going { lower } else { low[k] };
            high[k] = if going { higher } else { high[k] };
            moving[k] = if going & !done & next.is_finite() { 1.0 } else { 0.0 };
            open |= moving[k].to_bits();
        }
        if open == 0 {
            break;
        }
    }
    for k in 0..n {
        // Beyond the exponents, or still on its way: the scalar solver answers.
        let ordinary = (u[k] * steepest).abs() < LARGEST && moving[k] == 0.0;
        u[k] = if ordinary { u[k] } else { f64::NAN };
    }
    turns
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::quadratic_map::numbers;

    /// The foot of two diodes in vector code is a minimum of the distance that is written down by itself: no point within
    /// half a thermal voltage of it is nearer, on curves and readings of all kinds.
    #[test]
    fn the_foot_of_two_diodes_is_the_nearest_point_about_it() {
        let (mut checked, mut number) = (0, numbers(0.5));
        for _ in 0..200 {
            let a = number(0.02, 0.05);
            let ln_i0 = [number(-32.0, -24.0), number(-22.0, -14.0)];
            let c =
                Circuit::new(0.03, ln_i0.map(f64::exp), [a, 2.0 * a], number(0.0, 3.0), number(0.0, 0.01));
            let v: [f64; BLOCK] = std::array::from_fn(|k| -0.1 + 0.03 * k as f64);
            let i: [f64; BLOCK] = std::array::from_fn(|k| (0.03 - 0.002 * k as f64) * number(0.5, 1.5));
            let (sv, si) = ([number(1e-4, 1e-2); BLOCK], [number(1e-5, 1e-3); BLOCK]);
            let mut roots = Roots::default();
            c.roots_nearest(&v, &i, (&sv, &si), &mut roots);
            for k in 0..BLOCK {
                let distance = |u: f64| {
                    let j = c.iph - c.g * u - (0..2).map(|d| c.i0[d] * (u / c.a[d]).exp_m1()).sum::<f64>();
                    ((u - c.rs * j - v[k]) / sv[k]).hypot((j - i[k]) / si[k])
                };
                let careful = c.nearest(v[k], i[k], sv[k], si[k]);
                assert!((roots.u[k] - careful).abs() <= 1e-7 * a, "{c:?} {k}: {} {careful}", roots.u[k]);
                let least = distance(roots.u[k]);
                for step in -20..=20 {
                    let there = distance(roots.u[k] + 0.025 * f64::from(step) * a);
                    assert!(there >= least * (1.0 - 1e-12), "{c:?} {k} {step}: {there} {least}");
                }
                checked += 1;
            }
        }
        assert_eq!(checked, 200 * BLOCK);
    }

    /// Readings whose foot takes more than [`PATIENT`] steps, and those whose current only a voltage beyond all digits
    /// would give: both ways find it, no point beside it is nearer, and neither end of the bracket.
    #[test]
    fn the_foot_of_far_readings_is_the_nearest_point() {
        let ln_i0 = [f64::ln(1e6), f64::ln(1e-9)];
        let circuit =
            |d: usize, iph: f64, a: f64, rs: f64, g: f64| Circuit::new(iph, [ln_i0[d].exp()], [a], rs, g);
        // Steep exponentials that readings exceed by hundreds of thermal voltages; then slopes of almost nothing.
        let cells = [
            (circuit(0, 5e-4, 0.0077, 0.0, 1.5e-4), 1.0, 2.7e-6, 1e-12),
            (circuit(1, 0.03, 0.03, 0.0, 1e-3), 1e-2, 1e-5, 1e-12),
            (circuit(1, 3.6e-7, 0.05, 0.0, 1e-300), 1.8e-3, 8.6e-11, 1e-12),
            (circuit(1, 0.03, 0.03, 2.0, 1e-30), 1e-3, 1e-5, 1e-12),
            // A step of 1e-8 of such a thermal voltage ends the search in rounding.
            (circuit(1, 0.0, 1.6e158, 31.0, 0.0), 5.5e-2, 1.4e-2, 0.02),
        ];
        let v: [f64; BLOCK] = std::array::from_fn(|k| -1.0 + 0.1 * k as f64);
        let mut far = 0;
        for (c, sigma_v, sigma_i, rounding) in cells {
            let i: [f64; BLOCK] = std::array::from_fn(|k| c.iph + (k as f64 - 10.0) * sigma_i);
            let mut roots = Roots::default();
            c.roots_nearest(&v, &i, (&[sigma_v; BLOCK], &[sigma_i; BLOCK]), &mut roots);
            for k in 0..BLOCK {
                let distance = |u: f64| {
                    let j = c.iph - c.g * u - c.i0[0] * (u / c.a[0]).exp_m1();
                    ((u - c.rs * j - v[k]) / sigma_v).hypot((j - i[k]) / sigma_i)
                };
                let careful = c.nearest(v[k], i[k], sigma_v, sigma_i);
                let (u_v, u_i) = (c.at_voltage(v[k]), c.at_current(i[k]));
                far += usize::from((u_v - u_i).abs() > 2.0 * PATIENT as f64 * c.a[0]);
                for u in [careful, roots.u[k]] {
                    let least = distance(u);
                    let tenth = 0.1 * c.a[0].min(sigma_v);
                    for beside in (-20..=20)
                        .map(|step| u + f64::from(step) * tenth)
                        .chain([u_v, u_i].into_iter().filter(|u| u.is_finite()))
                    {
                        let there = distance(beside);
                        assert!(
                            there >= least * (1.0 - rounding),
                            "{c:?} {k} {u}: {there} at {beside}, {least}"
                        );
                    }
                }
            }
        }
        assert!(far > 60, "{far}");
    }
}
