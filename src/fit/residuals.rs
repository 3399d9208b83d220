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

use crate::diode::{BLOCK, Circuit, Junction, Roots};
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::error::{ProblemError, all_good, same_length};
use crate::numerics::least_squares::problem::Residuals;
use crate::sweep::{Effect, SweepOptions, common_effects};
use multiversion::multiversion;
use std::borrow::Cow;
use std::fmt;
use std::ops::Range;

/// Which distance a fit makes small.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
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
    /// All there are.
    pub const ALL: [Residual; 4] =
        [Residual::Nearest, Residual::Current, Residual::Voltage, Residual::Implicit];

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
///
/// # Examples
/// ```
/// use litdiode::fit::Points;
/// // σ of the currents: 10 µA.
/// let points = Points::new(vec![0.0, 0.5], vec![0.030, 0.017], vec![0.0; 2], vec![1e-5; 2])?;
/// assert_eq!(points.highest_junction_v(2.0), 0.5 + 2.0 * 0.017);
/// assert!(Points::new(vec![0.0, 0.5], vec![0.030], vec![0.0; 2], vec![1e-5; 2]).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Points {
    /// Voltages in V.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) voltage_v: Vec<f64>,
    /// Currents in A.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) current_a: Vec<f64>,
    /// Standard uncertainty of each voltage in V; 0 where the voltage counts as exact.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) sigma_v: Vec<f64>,
    /// Standard uncertainty of each current in A; 0 where the current counts as exact.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub(crate) sigma_a: Vec<f64>,
}

impl Points {
    /// What one standard uncertainty of each source that is common to all points does to them.
    pub(super) fn common_effects(&self, options: &SweepOptions) -> Vec<Effect> {
        common_effects((&self.voltage_v, &self.current_a), options)
    }

    /// Voltages in V and currents in A with their standard uncertainties, 0 where a reading counts as exact.
    ///
    /// # Errors
    /// [`ProblemError`] for lists that are empty or differ in length, a reading that is not finite, and an uncertainty
    /// that is negative or not finite.
    pub fn new(
        voltage_v: Vec<f64>,
        current_a: Vec<f64>,
        sigma_v: Vec<f64>,
        sigma_a: Vec<f64>,
    ) -> Result<Self, ProblemError> {
        if voltage_v.is_empty() {
            return Err(ProblemError::Empty { what: "voltage_v" });
        }
        for (what, list) in [("current_a", &current_a), ("sigma_v", &sigma_v), ("sigma_a", &sigma_a)] {
            same_length(what, list.len(), voltage_v.len())?;
        }
        let finite = ("not a finite number", "leave the reading out");
        all_good("voltage_v", &voltage_v, f64::is_finite, finite)?;
        all_good("current_a", &current_a, f64::is_finite, finite)?;
        let wrong = ("no uncertainty", "give a finite number, 0 for an exact reading");
        let good = |x: f64| x.is_finite() && x >= 0.0;
        all_good("sigma_v", &sigma_v, good, wrong)?;
        all_good("sigma_a", &sigma_a, good, wrong)?;
        Ok(Self { voltage_v, current_a, sigma_v, sigma_a })
    }

    /// Voltages in V.
    pub fn voltage_v(&self) -> &[f64] {
        &self.voltage_v
    }

    /// Currents in A.
    pub fn current_a(&self) -> &[f64] {
        &self.current_a
    }

    /// Every n-th point, so that at most `most` remain; all of fewer.
    pub(super) fn thinned(&self, most: usize) -> Cow<'_, Self> {
        let stride = self.voltage_v.len().div_ceil(most);
        if stride <= 1 {
            return Cow::Borrowed(self);
        }
        let of = |x: &[f64]| x.iter().step_by(stride).copied().collect();
        Cow::Owned(Self {
            voltage_v: of(&self.voltage_v),
            current_a: of(&self.current_a),
            sigma_v: of(&self.sigma_v),
            sigma_a: of(&self.sigma_a),
        })
    }

    /// The largest |I| in A.
    pub(super) fn largest_current_a(&self) -> f64 {
        self.current_a.iter().fold(0.0, |m, i| m.max(i.abs()))
    }

    /// The highest junction voltage V + I·Rs in V, at least 0.
    pub fn highest_junction_v(&self, rs: f64) -> f64 {
        self.voltage_v.iter().zip(&self.current_a).map(|(v, i)| v + rs * i).fold(0.0, f64::max)
    }

    /// 1/σ of each current; even where only the voltages have uncertainties.
    pub(super) fn current_weights(&self) -> Vec<f64> {
        let scale = self.largest_current_a();
        self.sigma_a.iter().map(|s| 1.0 / if *s > 0.0 { *s } else { scale }).collect()
    }
}

/// The residuals of points to a circuit of K diodes.
///
/// # Examples
/// ```
/// use litdiode::diode::{Circuit, Junction};
/// use litdiode::fit::{Points, Problem, Residual, Residuals};
/// let circuit = Circuit::<1>::new(0.03, [1e-9], [0.0334], 0.5, 1.0 / 900.0); // invented
/// let points = Points::new(vec![0.5], vec![circuit.current_at(0.5) - 1e-4], vec![0.0], vec![1e-5])?;
/// let problem = Problem::<1> { points: &points, residual: Residual::Current };
/// let mut r = [0.0];
/// assert!(problem.evaluate(&circuit.theta(), &mut r, None));
/// assert!((r[0] - 10.0).abs() < 1e-6); // model − measured, in σ
/// assert!((problem.by_readings(&circuit)[0].1 + 1e5).abs() < 1e-3); // ∂r/∂I = −1/σ
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub struct Problem<'a, const K: usize> {
    /// The points.
    pub points: &'a Points,
    /// The distance.
    pub residual: Residual,
}

impl<const K: usize> Problem<'_, K> {
    /// The junction states that the points of a block belong to.
    fn roots(&self, circuit: &Circuit<K>, block: &Range<usize>, roots: &mut Roots<K>) {
        let p = self.points;
        let (v, a) = (&p.voltage_v[block.clone()], &p.current_a[block.clone()]);
        match self.residual {
            Residual::Current => circuit.roots_at_voltages(v, roots),
            Residual::Voltage => circuit.roots_at_currents(a, roots),
            Residual::Implicit => {
                for (k, (v, a)) in v.iter().zip(a).enumerate() {
                    roots.set(k, circuit, circuit.rs * a + v);
                }
            }
            Residual::Nearest => {
                let sigma = (&p.sigma_v[block.clone()], &p.sigma_a[block.clone()]);
                circuit.roots_nearest(v, a, sigma, roots);
            }
        }
    }

    /// Calls `f` with every block of points, their states and feet; `false` where one has none.
    fn each(&self, circuit: &Circuit<K>, mut f: impl FnMut(Range<usize>, &Roots<K>, &Feet)) -> bool {
        let (mut roots, mut feet) = (Roots::default(), Feet::default());
        let points = self.points.voltage_v.len();
        for from in (0..points).step_by(BLOCK) {
            let block = from..points.min(from + BLOCK);
            self.roots(circuit, &block, &mut roots);
            if !feet.set(self.residual, circuit, self.points, &block, &roots) {
                budget::spend_on(roots.hard, points);
                return false;
            }
            f(block, &roots, &feet);
        }
        budget::spend_on(roots.hard, points);
        true
    }

    /// 1/S at θ: what turns the implicit residual into the distance, to first order. `None` where θ has no such
    /// points, and where the currents carry no weight of their own.
    pub(super) fn current_weights_at(&self, theta: &[f64]) -> Option<Vec<f64>> {
        if !matches!(self.residual, Residual::Current | Residual::Nearest) {
            return None;
        }
        let mut weights = vec![0.0; self.points.voltage_v.len()];
        let write = |block: Range<usize>, _: &Roots<K>, feet: &Feet| {
            weights[block].iter_mut().zip(&feet.by_s).for_each(|(w, by_s)| *w = *by_s);
        };
        self.each(&Circuit::from_theta(theta), write).then_some(weights)
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

    /// How many readings of a nearest fit lie about as near to another point of the curve as to their own foot, within one
    /// standard uncertainty, which is `scale` in the unit of the residuals; and the first of them. `None` where there are none.
    pub(super) fn second_feet(&self, circuit: &Circuit<K>, scale: f64) -> Option<(usize, usize)> {
        if self.residual != Residual::Nearest || scale.is_nan() {
            return None;
        }
        let p = self.points;
        let has = |i: &usize| {
            let (sv, sa) = (p.sigma_v[*i], p.sigma_a[*i]);
            sv > 0.0
                && sa > 0.0
                && has_second_foot(circuit, (p.voltage_v[*i], p.current_a[*i]), (sv, sa), scale)
        };
        let found: Vec<usize> = (0..p.voltage_v.len()).filter(has).collect();
        found.first().map(|first| (found.len(), *first))
    }

    /// ∂r/∂(reading of V) and ∂r/∂(reading of I) of every point: how a common error moves the residuals. Zeros
    /// where the curve has no such points.
    pub fn by_readings(&self, circuit: &Circuit<K>) -> Vec<(f64, f64)> {
        let mut by = vec![(0.0, 0.0); self.points.voltage_v.len()];
        self.each(circuit, |block, _, feet| {
            for (k, by) in by[block].iter_mut().enumerate() {
                let (slope, by_s) = (feet.slope[k], feet.by_s[k]);
                *by = (slope * by_s, -(1.0 - circuit.rs * slope) * by_s);
            }
        });
        by
    }
}

/// Thermal voltages between two places where a second foot is looked for, and how far from the first one.
const FOOT_STEP: f64 = 0.25;
const FOOT_STEPS: usize = 400;

/// Whether the distance from a reading to the curve has a second minimum beside that at the foot, less than one standard
/// uncertainty longer.
///
/// The curve is concave: a reading above it has one foot, one below may have two where the knee bends around it. V rises
/// and J falls along the curve, which is searched away from the foot until one axis alone makes the distance too long.
fn has_second_foot<const K: usize>(
    circuit: &Circuit<K>,
    (v, i): (f64, f64),
    (sigma_v, sigma_a): (f64, f64),
    scale: f64,
) -> bool {
    let away = |u: f64| {
        let (j, d) = circuit.current_and_drop(u);
        ((u - d.value - v) / sigma_v, (j.value - i) / sigma_a)
    };
    let foot = circuit.nearest(v, i, sigma_v, sigma_a);
    let (dv, di) = away(foot);
    let least = dv.hypot(di);
    if dv < 0.0 || di < 0.0 {
        return false;
    }
    let most = least + scale;
    [-1.0, 1.0].into_iter().any(|way| {
        let (mut last, mut risen) = (least, false);
        for k in 1..=FOOT_STEPS {
            let (dv, di) = away(foot + way * FOOT_STEP * circuit.bend() * k as f64);
            let distance = dv.hypot(di);
            if !(dv.abs() <= most && di.abs() <= most) {
                return false;
            }
            if risen && distance < last && distance < most {
                return true;
            }
            (risen, last) = (risen || distance > last, distance);
        }
        false
    })
}

/// A point of the curve, and the way to a reading whose residual is −1, in V and A.
pub(super) struct FootPoint {
    pub voltage_v: f64,
    pub current_a: f64,
    pub direction: (f64, f64),
}

/// The foot points of a block: J′, residual, 1/S, ∂r/∂Rs.
struct Feet {
    slope: [f64; BLOCK],
    r: [f64; BLOCK],
    by_s: [f64; BLOCK],
    by_rs: [f64; BLOCK],
}

impl Default for Feet {
    fn default() -> Self {
        let zeros = [0.0; BLOCK];
        Self { slope: zeros, r: zeros, by_s: zeros, by_rs: zeros }
    }
}

impl Feet {
    /// The feet of a block of points; `false` where the curve has no such point.
    fn set<const K: usize>(
        &mut self,
        residual: Residual,
        circuit: &Circuit<K>,
        points: &Points,
        block: &Range<usize>,
        roots: &Roots<K>,
    ) -> bool {
        let part = |list: &'_ [f64]| -> [f64; BLOCK] {
            let mut part = [0.0; BLOCK];
            part[..block.len()].copy_from_slice(&list[block.clone()]);
            part
        };
        let (v, a, sa) = (part(&points.voltage_v), part(&points.current_a), part(&points.sigma_a));
        let count = block.len();
        slopes_and_misfits(circuit, roots, &a, self);
        if residual == Residual::Implicit {
            implicit(self, &a, &sa, count)
        } else if points.sigma_v[block.clone()].iter().all(|s| *s == 0.0) {
            at_voltages(self, circuit, (&v, &sa), &roots.u, &a, count)
        } else {
            nearest(self, circuit, (&v, &part(&points.sigma_v)), (&a, &sa), &roots.u, count)
        }
    }
}

/// J′, and J − I in the place of the residual.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn slopes_and_misfits<const K: usize>(c: &Circuit<K>, roots: &Roots<K>, a: &[f64; BLOCK], feet: &mut Feet) {
    let by_a = c.a.map(f64::recip);
    for k in 0..BLOCK {
        let (mut j, mut slope) = (c.iph, -c.g);
        for d in 0..K {
            j -= roots.diode_a[d][k];
            slope -= roots.whole_a[d][k] * by_a[d];
        }
        feet.slope[k] = slope;
        feet.r[k] = c.g.mul_add(-roots.u[k], j) - a[k];
    }
}

/// Whether all of a list of products with 0 are 0, which those of infinities and NaN are not.
fn none_lost(lost: &[f64]) -> bool {
    lost.iter().fold(true, |all, x| all & (*x == 0.0))
}

/// S = σI, V′ = 1, and u what the readings give.
fn implicit(feet: &mut Feet, a: &[f64; BLOCK], sa: &[f64; BLOCK], count: usize) -> bool {
    let mut lost = [0.0; BLOCK];
    for k in 0..count {
        feet.r[k] /= sa[k];
        feet.by_s[k] = 1.0 / sa[k];
        feet.by_rs[k] = feet.slope[k] * a[k] / sa[k];
        lost[k] = (feet.r[k] + feet.by_rs[k]) * 0.0;
    }
    none_lost(&lost)
}

/// S = V′·σI: the voltages are exact. J − I comes from J or from the series drop, whichever is the better conditioned.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn at_voltages<const K: usize>(
    feet: &mut Feet,
    c: &Circuit<K>,
    (v, sa): (&[f64; BLOCK], &[f64; BLOCK]),
    u: &[f64; BLOCK],
    a: &[f64; BLOCK],
    count: usize,
) -> bool {
    let mut lost = [0.0; BLOCK];
    for k in 0..BLOCK {
        let (slope, sa) = (feet.slope[k], sa[k]);
        let v1 = 1.0 - c.rs * slope;
        let s = v1 * sa;
        let misfit = if v1 > 2.0 { (u[k] - v[k]) / c.rs - a[k] } else { feet.r[k] };
        let j = feet.r[k] + a[k];
        (feet.r[k], feet.by_s[k], feet.by_rs[k]) = (misfit / sa, 1.0 / s, j * slope / s);
        lost[k] = (feet.r[k] + s + feet.by_rs[k]) * 0.0;
    }
    none_lost(&lost[..count])
}

/// S = hypot(J′·σV, V′·σI).
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn nearest<const K: usize>(
    feet: &mut Feet,
    c: &Circuit<K>,
    (v, sv): (&[f64; BLOCK], &[f64; BLOCK]),
    (a, sa): (&[f64; BLOCK], &[f64; BLOCK]),
    u: &[f64; BLOCK],
    count: usize,
) -> bool {
    let mut lost = [0.0; BLOCK];
    for k in 0..BLOCK {
        let slope = feet.slope[k];
        let (misfit, j) = (feet.r[k], feet.r[k] + a[k]);
        let v1 = 1.0 - c.rs * slope;
        let (x, y) = ((slope * sv[k]).abs(), (v1 * sa[k]).abs());
        let (low, high) = if x < y { (x, y) } else { (y, x) };
        let s = high * (low / high).mul_add(low / high, 1.0).sqrt();
        let apart = c.rs.mul_add(-j, u[k]) - v[k];
        feet.r[k] = (v1 * misfit - slope * apart) / s;
        (feet.by_s[k], feet.by_rs[k]) = (1.0 / s, j * slope / s);
        lost[k] = (feet.r[k] + s + feet.by_rs[k]) * 0.0;
    }
    none_lost(&lost[..count])
}

/// ∂r/∂(ln I0) and ∂r/∂(ln a) of diode `d`.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn by_diode<const K: usize>(
    c: &Circuit<K>,
    roots: &Roots<K>,
    feet: &Feet,
    d: usize,
) -> ([f64; BLOCK], [f64; BLOCK]) {
    let (mut by_i0, mut by_a, per_a) = ([0.0; BLOCK], [0.0; BLOCK], 1.0 / c.a[d]);
    for k in 0..BLOCK {
        by_i0[k] = -roots.diode_a[d][k] * feet.by_s[k];
        by_a[k] = roots.whole_a[d][k] * (roots.u[k] * per_a) * feet.by_s[k];
    }
    (by_i0, by_a)
}

/// ∂r/∂g.
fn by_shunt<const K: usize>(roots: &Roots<K>, feet: &Feet) -> [f64; BLOCK] {
    std::array::from_fn(|k| -roots.u[k] * feet.by_s[k])
}

impl<const K: usize> Residuals for Problem<'_, K> {
    fn len(&self) -> usize {
        self.points.voltage_v.len()
    }

    fn evaluate(&self, theta: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
        let (points, n) = (self.len(), Circuit::<K>::PARAMETERS);
        let whole = jacobian.as_ref().is_none_or(|j| j.len() == points * n);
        if theta.len() != n || r.len() != points || !whole {
            return false;
        }
        let circuit = Circuit::<K>::from_theta(theta);
        let Some(jacobian) = jacobian else {
            return self.each(&circuit, |block, _, feet| {
                r[block].iter_mut().zip(&feet.r).for_each(|(r, foot)| *r = *foot);
            });
        };
        self.each(&circuit, |block, roots, feet| {
            r[block.clone()].copy_from_slice(&feet.r[..block.len()]);
            let mut columns = jacobian.chunks_exact_mut(points).map(|column| &mut column[block.clone()]);
            let mut write = |list: &[f64; BLOCK]| {
                if let Some(column) = columns.next() {
                    column.copy_from_slice(&list[..column.len()]);
                }
            };
            write(&feet.by_s);
            for d in 0..K {
                let (by_i0, by_a) = by_diode(&circuit, roots, feet, d);
                write(&by_i0);
                write(&by_a);
            }
            write(&feet.by_rs);
            write(&by_shunt(roots, feet));
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

impl fmt::Display for Residual {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
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

    #[test]
    fn lists_of_a_wrong_length_are_refused() {
        let points = points(2e-3, 3e-3);
        let problem = Problem::<1> { points: &points, residual: Residual::Nearest };
        let (theta, mut r, mut jacobian) = (circuit().theta(), [0.0; 15], [0.0; 15 * 5]);
        for (n, rows, columns) in [(4, 14, 5), (5, 13, 5), (5, 15, 5), (5, 14, 4)] {
            let entries = if rows == 14 { 14 * columns } else { 14 * 5 };
            assert!(!problem.evaluate(&theta[..n], &mut r[..rows], Some(&mut jacobian[..entries])));
        }
        assert!(!problem.evaluate(&theta, &mut r[..13], None));
        assert!(problem.evaluate(&theta, &mut r[..14], Some(&mut jacobian[..70])));
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
                    assert_relative_eq!(j[14 * p + i], difference, max_relative = 2e-4, epsilon = 1e-4);
                }
            }
        }
    }
}
