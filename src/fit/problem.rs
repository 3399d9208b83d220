//! The distance of measured points to the curve of a circuit, as residuals of a fit.
//!
//! A point (Vi, Ii) has standard uncertainties (σVi, σIi). At the foot point u* = argmin ((V(u)−Vi)/σVi)² +
//! ((J(u)−Ii)/σIi)², with S = hypot(J′·σV, V′·σI),
//!
//! ```text
//! r = [V′·(J − Ii) − J′·(V − Vi)]/S        ∂r/∂p = (∂J/∂p)/S for p ≠ Rs,  ∂r/∂Rs = J·J′/S
//! ```
//!
//! model − measured, positive where the curve lies above. σV = 0 is the current residual, σI = 0 the
//! voltage residual. The implicit residual Iph − ΣI0·expm1(u/a) − g·u − Ii at u = Vi + Ii·Rs stands beside
//! them because many papers print its root mean square.

use super::solver::Residuals;
use crate::diode::{BLOCK, Circuit, Junction, Root};
use serde::{Deserialize, Serialize};

/// Which distance a fit makes small.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[non_exhaustive]
pub enum Residual {
    /// Weighted distance to the nearest point of the curve.
    Nearest,
    /// Of the current at the measured voltage.
    Current,
    /// Of the voltage at the measured current.
    Voltage,
    /// Of the implicit equation.
    Implicit,
}

impl Residual {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Residual::Nearest => "nearest",
            Residual::Current => "current",
            Residual::Voltage => "voltage",
            Residual::Implicit => "implicit",
        }
    }
}

/// Measured points with the uncertainties that weigh them.
#[derive(Clone, Debug, PartialEq)]
pub struct Points {
    /// Voltages in V.
    pub voltage_v: Vec<f64>,
    /// Currents in A.
    pub current_a: Vec<f64>,
    /// Standard uncertainty of each voltage in V; 0 where the voltage counts as exact.
    pub sigma_v: Vec<f64>,
    /// Standard uncertainty of each current in A; 0 where the current counts as exact.
    pub sigma_a: Vec<f64>,
}

impl Points {
    /// 1/σ of each current; even where only the voltages have uncertainties.
    pub(super) fn current_weights(&self) -> Vec<f64> {
        let scale = self.current_a.iter().fold(0.0f64, |m, x| m.max(x.abs()));
        self.sigma_a.iter().map(|s| 1.0 / if *s > 0.0 { *s } else { scale }).collect()
    }
}

/// The residuals of points to a circuit of K diodes.
pub struct Problem<'a, const K: usize> {
    /// The points.
    pub points: &'a Points,
    /// The distance.
    pub residual: Residual,
}

impl<const K: usize> Problem<'_, K> {
    /// The junction states that points `from`.. belong to, as many as `roots` holds.
    fn roots(&self, circuit: &Circuit<K>, from: usize, roots: &mut [Root<K>]) {
        let p = self.points;
        let (v, a) = (&p.voltage_v[from..from + roots.len()], &p.current_a[from..from + roots.len()]);
        match self.residual {
            Residual::Current => circuit.roots_at_voltages(v, roots),
            Residual::Voltage => circuit.roots_at_currents(a, roots),
            Residual::Implicit => {
                for (k, root) in roots.iter_mut().enumerate() {
                    *root = circuit.root(circuit.rs.mul_add(a[k], v[k]));
                }
            }
            Residual::Nearest => {
                let range = from..from + roots.len();
                circuit.roots_nearest(v, a, (&p.sigma_v[range.clone()], &p.sigma_a[range]), roots);
            }
        }
    }

    /// Residual and S of point `i`, whose junction state is `root`, or `None` where the curve has no such point.
    #[inline(always)]
    fn point(&self, circuit: &Circuit<K>, root: &Root<K>, i: usize) -> Option<Foot> {
        let p = self.points;
        let (v, a, sv, sa) = (p.voltage_v[i], p.current_a[i], p.sigma_v[i], p.sigma_a[i]);
        let (mut j, mut slope) = (circuit.iph, -circuit.g);
        for k in 0..K {
            j -= root.diode_a[k];
            slope -= root.whole_a[k] / circuit.a[k];
        }
        j = circuit.g.mul_add(-root.u, j);
        let foot = if self.residual == Residual::Implicit {
            Foot { slope, v1: 1.0, r: (j - a) / sa, s: sa, by_rs: slope * a / sa }
        } else {
            let v1 = 1.0 - circuit.rs * slope;
            let s = if sv == 0.0 { v1 * sa } else { (slope * sv).hypot(v1 * sa) };
            let r = if sv == 0.0 {
                // From J or from the series drop, whichever is the better conditioned.
                (if v1 > 2.0 { (root.u - v) / circuit.rs - a } else { j - a }) / sa
            } else {
                (v1 * (j - a) - slope * (root.u - circuit.rs * j - v)) / s
            };
            Foot { slope, v1, r, s, by_rs: j * slope / s }
        };
        Some(foot).filter(Foot::is_finite)
    }

    /// Calls `f` with every point's state and foot; `false` where one has none.
    fn each(&self, circuit: &Circuit<K>, mut f: impl FnMut(usize, &Root<K>, &Foot)) -> bool {
        let mut roots = [Root::default(); BLOCK];
        let points = self.points.voltage_v.len();
        for from in (0..points).step_by(BLOCK) {
            let roots = &mut roots[..BLOCK.min(points - from)];
            self.roots(circuit, from, roots);
            for (k, root) in roots.iter().enumerate() {
                let Some(foot) = self.point(circuit, root, from + k) else { return false };
                f(from + k, root, &foot);
            }
        }
        true
    }

    /// 1/S at θ: what turns the implicit residual into the distance, to first order. `None` where θ has no such
    /// points, and where the currents carry no weight of their own.
    pub(super) fn current_weights_at(&self, theta: &[f64]) -> Option<Vec<f64>> {
        if !matches!(self.residual, Residual::Current | Residual::Nearest) {
            return None;
        }
        let mut weights = vec![0.0; self.points.voltage_v.len()];
        self.each(&Circuit::from_theta(theta), |i, _, foot| weights[i] = 1.0 / foot.s).then_some(weights)
    }

    /// The point of the curve that reading `i` belongs to, and how one unit of residual leads away from it; `None`
    /// where the curve has no such point.
    pub(super) fn foot_point(&self, circuit: &Circuit<K>, i: usize) -> Option<FootPoint> {
        let p = self.points;
        let (v, a, sv, sa) = (p.voltage_v[i], p.current_a[i], p.sigma_v[i], p.sigma_a[i]);
        let u = circuit.nearest(v, a, sv, sa);
        let (j, d) = circuit.current_and_drop(u);
        let v1 = 1.0 - d.slope * j.slope;
        let s = (j.slope * sv).hypot(v1 * sa);
        let (voltage_v, current_a) = (if sv == 0.0 { v } else { u - d.value }, j.value);
        let direction = (-j.slope * sv * sv / s, v1 * sa * sa / s);
        let finite = [voltage_v, current_a, direction.0, direction.1].iter().all(|x| x.is_finite());
        finite.then_some(FootPoint { voltage_v, current_a, direction })
    }

    /// ∂r/∂(reading of V) and ∂r/∂(reading of I) of every point: how a common error moves the residuals. Zeros
    /// where the curve has no such points.
    pub fn by_readings(&self, circuit: &Circuit<K>) -> Vec<(f64, f64)> {
        let mut by = vec![(0.0, 0.0); self.points.voltage_v.len()];
        let implicit = self.residual == Residual::Implicit;
        self.each(circuit, |i, _, foot| {
            let v1 = if implicit { 1.0 - circuit.rs * foot.slope } else { foot.v1 };
            by[i] = (foot.slope / foot.s, -v1 / foot.s);
        });
        by
    }
}

/// A point of the curve, and the way to a reading whose residual is −1, in V and A.
pub(super) struct FootPoint {
    pub voltage_v: f64,
    pub current_a: f64,
    pub direction: (f64, f64),
}

/// A foot point: J′, V′, residual, weight, ∂r/∂Rs.
struct Foot {
    slope: f64,
    v1: f64,
    r: f64,
    s: f64,
    by_rs: f64,
}

impl Foot {
    #[inline(always)]
    fn is_finite(&self) -> bool {
        (self.r * 0.0 + self.s * 0.0 + self.by_rs * 0.0) == 0.0
    }
}

impl<const K: usize> Residuals for Problem<'_, K> {
    fn len(&self) -> usize {
        self.points.voltage_v.len()
    }

    fn evaluate(&self, theta: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
        let circuit = Circuit::<K>::from_theta(theta);
        let n = Circuit::<K>::PARAMETERS;
        let Some(jacobian) = jacobian else {
            return self.each(&circuit, |i, _, foot| r[i] = foot.r);
        };
        let by_a = circuit.a.map(f64::recip);
        self.each(&circuit, |i, root, foot| {
            r[i] = foot.r;
            let by_s = 1.0 / foot.s;
            let row = &mut jacobian[i * n..(i + 1) * n];
            row[0] = by_s;
            for k in 0..K {
                row[1 + 2 * k] = -root.diode_a[k] * by_s;
                row[2 + 2 * k] = root.whole_a[k] * (root.u * by_a[k]) * by_s;
            }
            row[n - 2] = foot.by_rs;
            row[n - 1] = -root.u * by_s;
        })
    }

    /// Σ(¼ε·scale)²: half the rounding of a reading that is weighed by its σ. With both axes weighed the one that
    /// is resolved better counts.
    fn rounding(&self) -> f64 {
        let p = self.points;
        let of = |x: f64, s: f64| if s > 0.0 { x.abs() / s } else { 0.0 };
        (0..self.len())
            .map(|i| {
                let (v, a) = (of(p.voltage_v[i], p.sigma_v[i]), of(p.current_a[i], p.sigma_a[i]));
                let scale = if p.sigma_v[i] > 0.0 && p.sigma_a[i] > 0.0 { v.min(a) } else { v.max(a) };
                (0.25 * f64::EPSILON * scale).powi(2)
            })
            .sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn circuit() -> Circuit<1> {
        Circuit::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189)
    }

    fn points(sv: f64, sa: f64) -> Points {
        let voltage_v: Vec<f64> = (0..14).map(|k| -0.1 + 0.05 * f64::from(k)).collect();
        let wave = |v: &f64| circuit().current_at(*v) + 0.01 * (40.0 * v).sin();
        let current_a = voltage_v.iter().map(wave).collect();
        Points { sigma_v: vec![sv; 14], sigma_a: vec![sa; 14], voltage_v, current_a }
    }

    /// The foot point by brute force: the least of 200,001 distances along the curve.
    #[test]
    fn nearest_distance_is_the_least_distance() {
        let points = points(2e-3, 3e-3);
        let problem = Problem::<1> { points: &points, residual: Residual::Nearest };
        let mut r = vec![0.0; 14];
        assert!(problem.evaluate(&circuit().theta(), &mut r, None));
        for (i, r) in r.iter().enumerate() {
            let least = (0..200_001)
                .map(|k| -0.2 + 1e-6 * 4.5 * f64::from(k))
                .map(|u| {
                    let j = circuit().current(u).value;
                    let v = u - circuit().rs * j;
                    ((v - points.voltage_v[i]) / 2e-3).hypot((j - points.current_a[i]) / 3e-3)
                })
                .fold(f64::INFINITY, f64::min);
            // The steps of the search are 1.1e-3 of σV apart, which is what it misses a distance of 0 by.
            assert_relative_eq!(r.abs(), least, epsilon = 1.2e-3, max_relative = 1e-5);
        }
    }

    #[test]
    fn jacobian_agrees_with_differences_for_every_residual() {
        for (residual, sv, sa) in [
            (Residual::Current, 0.0, 1e-3),
            (Residual::Voltage, 1e-3, 0.0),
            (Residual::Nearest, 1e-3, 2e-3),
            (Residual::Implicit, 0.0, 1e-3),
        ] {
            // The voltage residual needs readings that the curve carries.
            let mut points = points(sv, sa);
            points.current_a.iter_mut().for_each(|a| *a -= 0.012);
            let problem = Problem::<1> { points: &points, residual };
            let theta = circuit().theta();
            let (mut r, mut j) = (vec![0.0; 14], vec![0.0; 70]);
            assert!(problem.evaluate(&theta, &mut r, Some(&mut j)));
            for p in 0..5 {
                let h = 1e-6 * theta[p].abs();
                let at = |h: f64| {
                    let mut t = theta.clone();
                    t[p] += h;
                    let mut r = vec![0.0; 14];
                    assert!(problem.evaluate(&t, &mut r, None));
                    r
                };
                let (up, down) = (at(h), at(-h));
                for i in 0..14 {
                    let difference = (up[i] - down[i]) / (2.0 * h);
                    assert_relative_eq!(j[i * 5 + p], difference, max_relative = 2e-4, epsilon = 1e-4);
                }
            }
        }
    }
}
