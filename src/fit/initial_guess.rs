//! A start for the fit without a guess from the user.
//!
//! For given (Rs, a) the implicit equation is linear in (Iph, I0k, g), so a coarse grid over Rs and the a's with a
//! non-negative linear least squares at each knot (`start_costs`) ranks starts, and a descent over (Rs, ln a) from the best
//! of them (`variable_projection`) refines them. Deterministic.

use super::fixed_coefficients::FixedCoefficients;
use super::residuals::{Points, Problem};
use super::start_costs::{Knot, Reduced};
use super::variable_projection::Projected;
use crate::diode::Circuit;
use crate::numerics::least_squares::bounded_step::PerCoordinate;
use crate::numerics::least_squares::levenberg_marquardt::Descent;
use crate::numerics::least_squares::problem::Bounds;
use crate::sweep::by_voltage;

/// Knots over ln a, and over Rs beside Rs = 0, for one diode and for two.
const A_KNOTS: [usize; 2] = [10, 10];
const RS_KNOTS: [usize; 2] = [5, 6];
/// Steps of one descent over (Rs, ln a), and the share of Σr² that a step need not promise any more.
const MOST_STEPS: usize = 100;
const ENOUGH: f64 = 1e-3;
/// Times the least cost up to which another start is followed as well; the sum of squares of two diodes has more
/// valleys.
const RIVAL: [f64; 2] = [3.0, 30.0];
/// Times the largest reading that a diode may carry: beyond Voc it carries the photocurrent as well.
const MOST_CURRENT: f64 = 4.0;
/// Decades of current over which the knots of ln a spread where I0 is held.
const DECADES: f64 = 5.0;
/// Share by which two ends of descents may differ and still be the same.
const SAME: f64 = 1e-2;

/// A cost and its knot.
type Ranked<const K: usize> = (f64, Knot<K>);

/// The `most` best starts within `bounds` (θ as in [`Circuit::from_theta`]), best first.
pub fn starts<const K: usize>(problem: &Problem<K>, bounds: &Bounds, most: usize) -> Vec<Vec<f64>> {
    let n = Circuit::<K>::PARAMETERS;
    let points = problem.points;
    let weights = points.current_weights();
    let series = knots_of_series(points, RS_KNOTS[K - 1], bounds.low[n - 2], bounds.high[n - 2]);
    let (reach, held) = (Reach::new(points, bounds), FixedCoefficients::of(bounds));
    let knots = reach.knots(&series, &held);
    let costs = Reduced::new(points, &weights, held).costs(&knots);
    let plane = plane::<K>(bounds);
    let even = Projected::<K>::new(points, &weights, held);
    let mut seeds: Vec<Ranked<K>> =
        distinct(&costs, &knots, most).into_iter().map(|seed| refine(&even, seed, &plane, &reach)).collect();
    seeds.sort_by(|x, y| x.0.total_cmp(&y.0));
    let least = seeds.first().map_or(0.0, |s| s.0);
    // Readings on a straight line leave nothing but rounding, of either sign.
    seeds.retain(|s| s.0 <= least.max(RIVAL[K - 1] * least));
    forget_repeats(&mut seeds);
    let mut found: Vec<Vec<f64>> = seeds.iter().filter_map(|(_, knot)| even.theta(knot, bounds)).collect();
    // Of two diodes, and where the voltages are uncertain, the best one again with the weights of the distance itself. In
    // a flat part these hang on the start: there the first is followed as well.
    let uncertain = points.sigma_v.iter().any(|s| *s > 0.0);
    if (K > 1 || uncertain)
        && let Some(own) = own_start(problem, bounds, &plane, &seeds, found.first())
    {
        let even = std::mem::replace(&mut found[0], own);
        found.extend(uncertain.then_some(even));
    }
    found
}

/// The readings' largest current, and the bounds: which knots they leave.
struct Reach<'a> {
    points: &'a Points,
    bounds: &'a Bounds,
    ln_largest: f64,
}

impl<'a> Reach<'a> {
    fn new(points: &'a Points, bounds: &'a Bounds) -> Self {
        let largest = points.largest_current_a().max(f64::MIN_POSITIVE);
        Self { points, bounds, ln_largest: (MOST_CURRENT * largest).ln() }
    }

    /// The least ln a at which the least I0 leaves each diode, at the highest junction voltage, a current within reach.
    fn least_ln_a<const K: usize>(&self, rs: f64) -> [f64; K] {
        let top = self.points.highest_junction_v(rs);
        std::array::from_fn(|k| (top / (self.ln_largest - self.bounds.low[1 + 2 * k]).max(0.0)).ln())
    }

    /// All pairs of `series` and ln a but those below that, if there are others.
    fn knots<const K: usize>(&self, series: &[f64], held: &FixedCoefficients<K>) -> Vec<Knot<K>> {
        let mut knots = Vec::with_capacity(series.len() * A_KNOTS[K - 1].pow(K as u32));
        for below in [false, true] {
            for &rs in series {
                let least = self.least_ln_a(rs);
                let near = |knot: &Knot<K>| below || is_above(knot, &least);
                let ln_a = knots_of_a(self.bounds, |k, share| self.ln_a(rs, held.ln_i0[k], k, share));
                knots.extend(ln_a.map(|ln_a| Knot { rs, ln_a }).filter(near));
            }
            if !knots.is_empty() {
                break;
            }
        }
        knots
    }

    /// ln a of diode `k` at a `share` of the way, 0 to 1, between its bounds. Where I0 is held a narrow range remains, in
    /// which the diode carries at the highest junction voltage from some decades less up to the current within reach.
    fn ln_a(&self, rs: f64, ln_i0: Option<f64>, k: usize, share: f64) -> f64 {
        let (low, high) = (self.bounds.low[2 + 2 * k], self.bounds.high[2 + 2 * k]);
        let Some(ln_i0) = ln_i0 else { return low + (high - low) * share };
        let ln_current = self.ln_largest - DECADES * std::f64::consts::LN_10 * share;
        (self.points.highest_junction_v(rs) / (ln_current - ln_i0).max(0.0)).ln().clamp(low, high)
    }
}

fn is_above<const K: usize>(knot: &Knot<K>, least: &[f64; K]) -> bool {
    knot.ln_a.iter().zip(least).all(|(a, least)| a >= least)
}

/// θ of the first of `seeds` refined with the weights that the distance has at `first`.
fn own_start<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    plane: &Bounds,
    seeds: &[Ranked<K>],
    first: Option<&Vec<f64>>,
) -> Option<Vec<f64>> {
    let weights = problem.current_weights_at(first?)?;
    let own = Projected::<K>::new(problem.points, &weights, FixedCoefficients::of(bounds));
    let (_, knot) = refine(&own, *seeds.first()?, plane, &Reach::new(problem.points, bounds));
    own.theta(&knot, bounds)
}

/// Leaves out seeds that ended where one before them did.
fn forget_repeats<const K: usize>(seeds: &mut Vec<Ranked<K>>) {
    let close = |x: f64, y: f64| (x - y).abs() <= SAME * x.abs().max(y.abs());
    let same = |a: &Knot<K>, b: &Knot<K>| {
        close(a.rs, b.rs) && a.ln_a.iter().zip(&b.ln_a).all(|(x, y)| close(*x, *y))
    };
    let mut kept = 0;
    for k in 0..seeds.len() {
        let seed = seeds[k];
        if !seeds[..kept].iter().any(|k| close(k.0, seed.0) && same(&k.1, &seed.1)) {
            seeds[kept] = seed;
            kept += 1;
        }
    }
    seeds.truncate(kept);
}

/// The bounds of (Rs, ln a1, …).
fn plane<const K: usize>(bounds: &Bounds) -> Bounds {
    let of =
        |x: &[f64]| -> Vec<f64> { (0..=K).map(|j| if j == 0 { x[2 * K + 1] } else { x[2 * j] }).collect() };
    Bounds { low: of(&bounds.low), high: of(&bounds.high) }
}

/// The lowest knot within reach that a descent from `seed` finds, and its cost.
fn refine<const K: usize>(
    projected: &Projected<K>,
    seed: Ranked<K>,
    plane: &Bounds,
    reach: &Reach,
) -> Ranked<K> {
    let x: PerCoordinate = [seed.1.rs].into_iter().chain(seed.1.ln_a).collect();
    let mut descent = Descent::begin(projected, &x, plane);
    descent.expect_close();
    let rough = projected.roughness();
    for _ in 0..MOST_STEPS {
        if descent.cost() <= rough || !descent.advance(projected, plane) || descent.has_little_left(ENOUGH) {
            break;
        }
    }
    let x = descent.x();
    let mut knot = Knot { rs: x[0], ln_a: std::array::from_fn(|k| x[1 + k]) };
    knot.ln_a.sort_by(f64::total_cmp);
    if is_above(&knot, &reach.least_ln_a(knot.rs)) { (descent.cost(), knot) } else { seed }
}

/// The `most` lowest that differ in Rs or a by more than one knot, lowest first.
fn distinct<const K: usize>(costs: &[f64], knots: &[Knot<K>], most: usize) -> Vec<Ranked<K>> {
    let mut kept: Vec<Ranked<K>> = Vec::with_capacity(most);
    while kept.len() < most {
        let free = |candidate: &(&f64, &Knot<K>)| !kept.iter().any(|k| are_near(&k.1, candidate.1));
        let Some(next) = costs.iter().zip(knots).filter(free).min_by(|x, y| x.0.total_cmp(y.0)) else {
            break;
        };
        kept.push((*next.0, *next.1));
    }
    kept
}

fn are_near<const K: usize>(a: &Knot<K>, b: &Knot<K>) -> bool {
    a.ln_a.iter().zip(&b.ln_a).all(|(a, b)| (a - b).abs() < 0.3)
        && (a.rs - b.rs).abs() <= 0.5 * a.rs.max(b.rs)
}

/// Rs = 0 and 1.2·R·0.6ᵏ, R the least |ΔV/ΔI| of any longer chord, which bounds Rs from above.
fn knots_of_series(points: &Points, count: usize, low: f64, high: f64) -> Vec<f64> {
    let order = by_voltage(&points.voltage_v);
    let reach = (order.len() / 8).max(3).min(order.len() - 1);
    let chord = |w: &[usize]| {
        let (i, j) = (w[0], w[reach]);
        ((points.voltage_v[j] - points.voltage_v[i]) / (points.current_a[j] - points.current_a[i])).abs()
    };
    let least = order.windows(reach + 1).map(chord).filter(|x| *x > 0.0).fold(f64::INFINITY, f64::min);
    let top = if least.is_finite() { least } else { 0.0 };
    let mut knots: Vec<f64> = (0..count)
        .map(|k| 1.2 * top * 0.6f64.powi(k as i32))
        .chain([0.0])
        .map(|r| r.clamp(low, high))
        .collect();
    knots.dedup();
    knots
}

/// All combinations of knots of ln a, rising for more than one diode; `ln_a` gives that of a diode at a share of its way.
fn knots_of_a<const K: usize>(
    bounds: &Bounds,
    ln_a: impl Fn(usize, f64) -> f64,
) -> impl Iterator<Item = [f64; K]> {
    let is_free = |k: usize| bounds.low[2 + 2 * k] < bounds.high[2 + 2 * k];
    let counts: [usize; K] = std::array::from_fn(|k| if is_free(k) { A_KNOTS[K - 1] } else { 1 });
    let knot = move |mut index: usize| {
        let mut a = [0.0; K];
        for k in (0..K).rev() {
            a[k] = ln_a(k, ((index % counts[k]) as f64 + 0.5) / counts[k] as f64);
            index /= counts[k];
        }
        a
    };
    (0..counts.iter().product()).map(knot).filter(|a| a.windows(2).all(|w| w[0] <= w[1]))
}

#[cfg(test)]
mod tests {
    use super::super::residuals::Residual;
    use super::*;
    use crate::diode::Junction;
    use crate::numerics::least_squares::problem::Residuals;
    use approx::assert_relative_eq;

    /// The cost of a knot by normal equations is Σr² of the implicit residual, evaluated by itself, at the θ that the
    /// QR of the same linear problem gives there.
    #[test]
    fn costs_are_sums_of_squares_of_the_implicit_residual() {
        let circuit = Circuit::new(0.03, [2e-9], [0.037], 1.0, 1.25e-3);
        let voltage_v: Vec<f64> = (0..25).map(|k| -0.05 + 0.027 * f64::from(k)).collect();
        let wave = |v: &f64| circuit.current_at(*v) + 3e-4 * (40.0 * v).sin();
        let current_a = voltage_v.iter().map(wave).collect();
        let sigma_a = (0..25).map(|k| 1e-4 * (1.0 + 0.1 * f64::from(k))).collect();
        let points = Points { sigma_v: vec![0.0; 25], sigma_a, voltage_v, current_a };
        let weights = points.current_weights();
        let bounds = Bounds { low: vec![0.0, -600.0, -9.0, 0.0, 0.0], high: vec![1.0, 0.0, 1.0, 10.0, 1.0] };
        let knots: Vec<Knot<1>> = (0..21)
            .map(|k| Knot { rs: 0.1 * f64::from(k), ln_a: [0.037f64.ln() + 0.02 * f64::from(k % 7 - 3)] })
            .collect();
        let costs = Reduced::new(&points, &weights, FixedCoefficients::none()).costs(&knots);
        let problem = Problem::<1> { points: &points, residual: Residual::Implicit };
        let mut r = vec![0.0; 25];
        for (knot, cost) in knots.iter().zip(costs) {
            let theta = Projected::new(&points, &weights, FixedCoefficients::none())
                .theta(knot, &bounds)
                .expect("coefficients");
            assert!(problem.evaluate(&theta, &mut r, None));
            // The exponentials of the grid are good to 3e-6, and Σr² is least there.
            assert_relative_eq!(cost, r.iter().map(|r| r * r).sum::<f64>(), max_relative = 1e-3);
        }
    }
}
