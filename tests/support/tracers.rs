//! Simulated sweeps of many kinds of tracer, and how often the stated intervals of their key points hold. Invented devices.
#![allow(dead_code)]

use litdiode::curve::key_points;
use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use litdiode::threads;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

pub const FIGURES: [&str; 5] = ["isc", "voc", "pmax", "ff", "v_pmax"];

/// Two diodes and, for an S-shape, a barrier in series: V = u − Rs·J − b·asinh(J/Ib).
#[derive(Clone, Copy)]
pub struct Device {
    pub name: &'static str,
    pub cells: u32,
    circuit: Circuit<2>,
    barrier_v: f64,
    barrier_a: f64,
}

/// A single diode: Isc, Voc per cell, n, Rs and Rsh in units of Voc/Isc.
fn single(name: &'static str, cells: u32, isc: f64, voc: f64, n: f64, rs: f64, rsh: f64) -> Device {
    let (a, string) = (thermal_voltage_v(n, cells, 25.0), voc * f64::from(cells));
    let i0 = isc * (1.0 - 1.0 / rsh) / (string / a).exp_m1();
    let circuit =
        Circuit::new(isc * (1.0 + rs / rsh), [i0, 1e-300], [a, a], rs * string / isc, isc / (rsh * string));
    Device { name, cells, circuit, barrier_v: 0.0, barrier_a: 1.0 }
}

/// The device types: those that constants were chosen by.
pub fn tuning() -> Vec<Device> {
    vec![
        single("dye-like", 1, 600e-6, 0.62, 1.9, 0.06, 9.0),
        single("silicon", 1, 35e-3, 0.62, 1.25, 0.03, 190.0),
        single("leaky", 1, 5e-3, 0.55, 1.6, 0.05, 3.0),
        single("high Rs", 1, 10e-3, 0.65, 1.5, 0.3, 80.0),
        single("module", 36, 1.03, 0.52, 1.35, 0.065, 45.0),
    ]
}

/// The same types with other numbers, on which nothing was tuned.
pub fn kept_aside() -> Vec<Device> {
    vec![
        single("dye-like", 1, 4e-3, 0.72, 1.6, 0.1, 20.0),
        single("silicon", 1, 0.76, 0.57, 1.45, 0.05, 70.0),
        single("leaky", 1, 200e-6, 0.7, 2.0, 0.02, 2.0),
        single("high Rs", 1, 22e-3, 1.05, 1.7, 0.22, 30.0),
        single("module", 20, 5.1, 0.6, 1.1, 0.04, 120.0),
    ]
}

fn s_shape(name: &'static str, of: Device, barrier_v: f64, barrier_a: f64) -> Device {
    Device { name, barrier_v, barrier_a, ..of }
}

/// S-shapes: the first three as for [`tuning`], the others kept aside.
pub fn s_shapes() -> [Vec<Device>; 2] {
    let organic = single("", 1, 5e-3, 0.8, 1.5, 0.02, 30.0);
    let silicon = single("", 1, 35e-3, 0.62, 1.2, 0.025, 150.0);
    let other = single("", 1, 12e-3, 0.95, 1.7, 0.03, 25.0);
    [
        vec![
            s_shape("S", organic, 0.05, 2e-4),
            s_shape("soft S", organic, 0.03, 1e-3),
            s_shape("strong S", silicon, 0.1, 7e-3),
        ],
        vec![
            s_shape("S", other, 0.06, 8e-4),
            s_shape("soft S", silicon, 0.025, 6e-3),
            s_shape("strong S", other, 0.12, 2e-3),
        ],
    ]
}

/// A silicon cell with two diodes: near a single diode, but not one.
pub fn two_diodes() -> Device {
    let a = |n: f64| thermal_voltage_v(n, 1, 25.0);
    let circuit = Circuit::new(35e-3, [1e-12, 2e-7], [a(1.0), a(2.0)], 0.6, 1.0 / 2000.0);
    Device { name: "two diodes", cells: 1, circuit, barrier_v: 0.0, barrier_a: 1.0 }
}

/// Where a sweep begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Start {
    Before,
    At,
    Beyond,
}

/// How a sweep is measured.
#[derive(Clone, Copy, Debug)]
pub struct Rig {
    pub swept: Swept,
    pub start: Start,
    pub points: usize,
    /// Standard deviation as a share of Isc or Voc.
    pub noise: f64,
    pub stated: bool,
}

impl Device {
    fn voltage(&self, u: f64) -> f64 {
        let j = self.circuit.current(u).value;
        u - self.circuit.rs * j - self.barrier_v * (j / self.barrier_a).asinh()
    }

    /// I at the voltage `v`.
    pub fn current(&self, v: f64) -> f64 {
        if self.barrier_v == 0.0 {
            return self.circuit.current_at(v);
        }
        let (mut low, mut high) = (-5.0, 5.0);
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if self.voltage(middle) < v { low = middle } else { high = middle }
        }
        self.circuit.current(0.5 * (low + high)).value
    }

    /// V at the current `i`.
    fn voltage_at(&self, i: f64) -> f64 {
        let u = self.circuit.at_current(i);
        u - self.circuit.rs * i - self.barrier_v * (i / self.barrier_a).asinh()
    }

    /// Isc, Voc, Pmax, FF, V_Pmax.
    pub fn truth(&self) -> [f64; 5] {
        let (isc, voc) = (self.current(0.0), self.circuit.voc());
        let power = |v: f64| v * self.current(v);
        let step = voc / 2000.0;
        let best =
            (0..2000).max_by(|&a, &b| power(a as f64 * step).total_cmp(&power(b as f64 * step))).unwrap_or(0);
        let (mut low, mut high) = ((best as f64 - 1.0) * step, (best as f64 + 1.0) * step);
        for _ in 0..80 {
            let (a, b) = (low + 0.381966 * (high - low), low + 0.618034 * (high - low));
            if power(a) < power(b) { low = a } else { high = b }
        }
        let v = 0.5 * (low + high);
        [isc, voc, power(v), power(v) / (isc * voc), v]
    }

    /// A noisy sweep.
    pub fn sweep(&self, rig: &Rig, truth: &[f64; 5], seed: u64) -> Sweep {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let from = match rig.start {
            Start::Before => -0.05,
            Start::At => 0.0,
            Start::Beyond => 0.03,
        };
        let to = if rig.swept == Swept::Current { 1.03 } else { 1.05 };
        let full = if rig.swept == Swept::Current { truth[0] } else { truth[1] };
        let step = (to - from) * full / (rig.points - 1) as f64;
        let set: Vec<f64> = (0..rig.points).map(|k| from * full + step * k as f64).collect();
        let mut scatter = || -> f64 { StandardNormal.sample(&mut random) };
        let (v, i, noise) = if rig.swept == Swept::Current {
            let sigma = rig.noise * truth[1];
            let v = set.iter().map(|i| self.voltage_at(*i) + sigma * scatter()).collect();
            (v, set, Noise::default().voltage_v(sigma))
        } else {
            let sigma = rig.noise * truth[0];
            let i: Vec<f64> = set.iter().map(|v| self.current(*v) + sigma * scatter()).collect();
            (set, i, Noise::default().current_a(sigma))
        };
        let options = SweepOptions::default()
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .swept(rig.swept)
            .cells(self.cells)
            .noise(rig.stated.then_some(noise));
        Sweep::new(&v, &i, options).expect("a valid sweep")
    }
}

/// One figure over many sweeps, as shares of the truth.
#[derive(Clone, Copy, Debug)]
pub struct Tally {
    pub figure: &'static str,
    pub given: f64,
    pub bias: f64,
    /// Standard deviation of the values.
    pub spread: f64,
    /// Half the distance of the 16th and 84th percentile of the values.
    pub core: f64,
    /// Median stated standard uncertainty.
    pub u: f64,
    pub holds: f64,
}

/// The figures of `sweeps` sweeps with seeds from `first_seed` on.
pub fn tally(device: &Device, rig: &Rig, first_seed: u64, sweeps: usize) -> [Tally; 5] {
    let truth = device.truth();
    let job = |k: usize| {
        let points = key_points(&device.sweep(rig, &truth, first_seed + k as u64));
        FIGURES.map(|figure| {
            points.get(figure).map(|e| {
                let interval = e.interval(0.95);
                let k = FIGURES.iter().position(|f| *f == figure).expect("one of them");
                let inside = interval.low.is_some_and(|l| l <= truth[k])
                    && interval.high.is_some_and(|h| truth[k] <= h);
                (e.value / truth[k] - 1.0, e.u.unwrap_or(0.0) / truth[k], inside)
            })
        })
    };
    let all = threads::rows(sweeps, None, job, |_| true).expect("not stopped");
    std::array::from_fn(|k| {
        let own: Vec<(f64, f64, bool)> = all.iter().filter_map(|row| row[k]).collect();
        let n = own.len() as f64;
        let quantile = |of: &dyn Fn(&(f64, f64, bool)) -> f64, share: f64| {
            let mut sorted: Vec<f64> = own.iter().map(of).collect();
            sorted.sort_by(f64::total_cmp);
            sorted.get(((n - 1.0) * share).round() as usize).copied().unwrap_or(f64::NAN)
        };
        let bias = own.iter().map(|o| o.0).sum::<f64>() / n;
        let spread = (own.iter().map(|o| (o.0 - bias).powi(2)).sum::<f64>() / n).sqrt();
        Tally {
            figure: FIGURES[k],
            given: n / sweeps as f64,
            bias,
            spread,
            core: 0.5 * (quantile(&|o| o.0, 0.84) - quantile(&|o| o.0, 0.16)),
            u: quantile(&|o| o.1, 0.5),
            holds: own.iter().filter(|o| o.2).count() as f64 / n,
        }
    })
}
