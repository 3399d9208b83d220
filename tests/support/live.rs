//! Live sweeps of invented cells, and what equal steps would have given: by the Fisher information at the truth.
//!
//! ```text
//! u²(FF) = tᵀ·(JᵀJ)⁻¹·t        J = ∂r/∂θ, t = ∂FF/∂θ, both at the true θ
//! ```

use super::random::Rng;
use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::fit::{Points, Problem, Residual, Residuals};
use litdiode::live::{Flag, LiveOptions, LiveSweep, Purpose, StopReason};
use litdiode::sweep::{Noise, SweepOptions, Swept};

/// Points of the sweep by equal steps.
pub const EQUAL: usize = 40;

/// An invented cell.
#[derive(Clone, Copy)]
pub struct Cell {
    pub circuit: Circuit<1>,
    pub isc: f64,
    pub voc: f64,
    pub ff: f64,
}

impl Cell {
    fn new(circuit: Circuit<1>) -> Self {
        let (isc, voc) = (circuit.isc(), circuit.voc());
        Self { circuit, isc, voc, ff: circuit.maximum_power().pmax / (isc * voc) }
    }

    /// Isc 1 µA to 3 A, Voc 0.45 to 1.1 V, n 1.2 to 2.2, Rs 0.5 to 15 % of Voc/Isc, Rsh 3 to 300 times it.
    pub fn random(rng: &mut Rng) -> Self {
        let (isc, voc, n) = (rng.decades(1e-6, 3.0), rng.between(0.45, 1.1), rng.between(1.2, 2.2));
        let (rs, rsh) = (rng.decades(0.005, 0.15) * voc / isc, rng.decades(3.0, 300.0) * voc / isc);
        let a = thermal_voltage_v(n, 1, 25.0);
        let i0 = (isc - voc / rsh).max(0.1 * isc) / (voc / a).exp_m1();
        Self::new(Circuit::new(isc * (1.0 + rs / rsh), [i0], [a], rs, 1.0 / rsh))
    }
}

/// How a cell is measured.
#[derive(Clone, Copy)]
pub struct Rig {
    pub swept: Swept,
    /// Standard deviation of what is read: of the current as a share of Isc, of the voltage in V.
    pub noise: f64,
    pub stated: bool,
}

impl Rig {
    /// In A or V.
    pub fn sigma(&self, cell: &Cell) -> f64 {
        if self.swept == Swept::Voltage { self.noise * cell.isc } else { self.noise }
    }

    /// What is read, in V and A, where `set` is set and the noise is `deviate` standard deviations.
    pub fn reads(&self, cell: &Cell, set: f64, deviate: f64) -> (f64, f64) {
        let sigma = self.sigma(cell);
        match self.swept {
            Swept::Voltage => (set, cell.circuit.current_at(set) + sigma * deviate),
            Swept::Current => (cell.circuit.voltage_at(set) + sigma * deviate, set),
        }
    }

    /// Limits that fit many cells: −0.2 to 1.5 V, and three times Isc either way. Where the voltage is set, 0.3 V are known
    /// to be below Voc.
    pub fn options(&self, cell: &Cell, wanted: f64) -> LiveOptions {
        let noise = Noise::default();
        let noise = match self.swept {
            Swept::Voltage => noise.current_a(self.sigma(cell)),
            Swept::Current => noise.voltage_v(self.sigma(cell)),
        };
        let stated = SweepOptions::default().swept(self.swept).noise(self.stated.then_some(noise));
        let safe = if self.swept == Swept::Voltage { 0.3 } else { 0.0 };
        let options = LiveOptions::within((-0.2, 1.5), (-3.0 * cell.isc, 3.0 * cell.isc));
        options.safe(safe).wanted(wanted).sweep(stated)
    }
}

/// Relative u(FF) at the truth of readings at the points (V, I) of the curve.
pub fn true_relative_u(cell: &Cell, rig: &Rig, at: &[(f64, f64)]) -> f64 {
    let sigma = rig.sigma(cell);
    let all = |x: f64| vec![x; at.len()];
    let (residual, sv, sa) = match rig.swept {
        Swept::Voltage => (Residual::Current, 0.0, sigma),
        Swept::Current => (Residual::Voltage, sigma, 0.0),
    };
    let (v, a) = at.iter().copied().unzip();
    let points = Points::new(v, a, all(sv), all(sa)).expect("points of a curve");
    let (mut r, mut jacobian) = (all(0.0), vec![0.0; 5 * at.len()]);
    let theta = cell.circuit.theta();
    let problem = Problem::<1> { points: &points, residual };
    assert!(problem.evaluate(&theta, &mut r, Some(&mut jacobian)));
    let key = cell.circuit.key_point_jacobian();
    let [isc, voc, pmax, ..] = key.values;
    let t: Vec<f64> =
        (0..5).map(|k| key.rows[2][k] / pmax - key.rows[0][k] / isc - key.rows[1][k] / voc).collect();
    variance(&jacobian, at.len(), &t).sqrt()
}

/// tᵀ·(JᵀJ)⁻¹·t by Gauss's elimination of the scaled normal equations; infinite where they are singular.
fn variance(jacobian: &[f64], rows: usize, t: &[f64]) -> f64 {
    let n = t.len();
    let column = |k: usize| &jacobian[k * rows..(k + 1) * rows];
    let scale: Vec<f64> = (0..n).map(|k| column(k).iter().map(|x| x * x).sum::<f64>().sqrt()).collect();
    let dot = |i: usize, j: usize| column(i).iter().zip(column(j)).map(|(a, b)| a * b).sum::<f64>();
    let mut m: Vec<Vec<f64>> =
        (0..n).map(|i| (0..n).map(|j| dot(i, j) / (scale[i] * scale[j])).collect()).collect();
    let b: Vec<f64> = (0..n).map(|k| t[k] / scale[k]).collect();
    let mut x = b.clone();
    for k in 0..n {
        if m[k][k] < 1e-13 {
            return f64::INFINITY;
        }
        for i in k + 1..n {
            let factor = m[i][k] / m[k][k];
            for j in k..n {
                m[i][j] -= factor * m[k][j];
            }
            x[i] -= factor * x[k];
        }
    }
    for k in (0..n).rev() {
        for j in k + 1..n {
            x[k] -= m[k][j] * x[j];
        }
        x[k] /= m[k][k];
    }
    b.iter().zip(&x).map(|(b, x)| b * x).sum()
}

/// What equal steps reach in truth, by a tracer whose owner knows Voc and Isc beforehand: from −5 to 105 % of Voc, as those of
/// docs/key_points.md, or from 0 to 99.9 % of Isc.
pub fn equal_steps(cell: &Cell, rig: &Rig, points: usize) -> f64 {
    let (low, high) = match rig.swept {
        Swept::Voltage => (-0.05 * cell.voc, 1.05 * cell.voc),
        Swept::Current => (0.0, 0.999 * cell.isc),
    };
    let set = (0..points).map(|k| low + (high - low) * k as f64 / (points - 1) as f64);
    let at: Vec<(f64, f64)> = set.map(|x| rig.reads(cell, x, 0.0)).collect();
    true_relative_u(cell, rig, &at)
}

/// How a live sweep went.
#[derive(Clone, Copy, Debug)]
pub struct Run {
    /// Readings after which the wanted u was reached in truth, whatever the sweep knew of it.
    pub in_truth: usize,
    /// Readings at which it stopped by its rule.
    pub stopped: usize,
    /// FF less the truth in units of the stated u, there.
    pub off: f64,
    /// Whether the 95 % interval held the truth there.
    pub holds: bool,
    pub reached: bool,
    /// Wild readings that were none.
    pub wild: usize,
    /// Readings outside the limits.
    pub outside: usize,
    /// Readings of the bracket.
    pub bracket: usize,
}

/// A live sweep of a cell until its u(FF) is that of equal steps: until it stops, and another until that is reached in truth.
pub fn run(cell: &Cell, rig: &Rig, wanted: f64, seed: u64) -> Run {
    let mut rng = Rng(seed);
    let mut live = LiveSweep::new(rig.options(cell, wanted)).expect("options in their domain");
    let (mut wild, mut outside, mut bracket) = (0, 0, 0);
    while let Some(next) = live.next_set_point() {
        let (v, a) = rig.reads(cell, next.value, rng.normal());
        bracket += usize::from(next.purpose == Purpose::Bracket);
        let flag = live.push(v, a).expect("a finite reading");
        wild += usize::from(matches!(flag, Some(Flag::Wild { .. })));
        outside += usize::from(matches!(flag, Some(Flag::BeyondLimits)));
    }
    let points = live.key_points();
    let ff = points.ff.as_ref();
    let holds = ff.map(|e| e.interval(0.95)).is_some_and(|i| {
        i.low.is_some_and(|low| low <= cell.ff) && i.high.is_some_and(|high| high >= cell.ff)
    });
    let off = ff.map_or(f64::NAN, |e| (e.value - cell.ff) / e.u.unwrap_or(f64::NAN));
    let reached = live.reason().is_some_and(StopReason::is_reached);
    let in_truth = until_true(cell, rig, wanted, seed);
    Run { in_truth, stopped: live.len(), off, holds, reached, wild, outside, bracket }
}

/// Readings of a sweep that does not stop until its true u is the wanted one; the capacity where that is never.
fn until_true(cell: &Cell, rig: &Rig, wanted: f64, seed: u64) -> usize {
    let mut rng = Rng(seed);
    let mut live = LiveSweep::new(rig.options(cell, 1e-9)).expect("options in their domain");
    let mut at: Vec<(f64, f64)> = Vec::new();
    while let Some(next) = live.next_set_point() {
        let (v, a) = rig.reads(cell, next.value, rng.normal());
        live.push(v, a).expect("a finite reading");
        at.push(rig.reads(cell, next.value, 0.0));
        if true_relative_u(cell, rig, &at) <= wanted {
            return at.len();
        }
    }
    live.options().capacity
}

/// The share `p` of a list.
pub fn quantile(list: &mut [f64], p: f64) -> f64 {
    list.sort_by(f64::total_cmp);
    list[((list.len() - 1) as f64 * p).round() as usize]
}
