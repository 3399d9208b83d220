//! Curves of known key points for simulations: diodes with and without a barrier that bends them into an S. Invented.
#![allow(dead_code)]

use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

/// A diode with a barrier in series, V = u − Rs·J − b·asinh(J/Ib), which bends the curve near Voc into an S.
pub struct Shape {
    pub name: &'static str,
    circuit: Circuit<1>,
    barrier_v: f64,
    barrier_a: f64,
}

/// The three shapes.
pub fn shapes() -> [Shape; 3] {
    let circuit = |isc: f64, voc: f64, n: f64, series: f64, shunt: f64| {
        let a = thermal_voltage_v(n, 1, 25.0);
        let i0 = isc / (voc / a).exp_m1();
        Circuit::new(isc, [i0], [a], series * voc / isc, isc / (shunt * voc))
    };
    [
        Shape {
            name: "dye-like",
            circuit: circuit(20e-6, 0.62, 1.9, 0.06, 15.0),
            barrier_v: 0.0,
            barrier_a: 1.0,
        },
        Shape {
            name: "silicon",
            circuit: circuit(35e-3, 0.62, 1.2, 0.025, 150.0),
            barrier_v: 0.0,
            barrier_a: 1.0,
        },
        Shape {
            name: "S-shaped",
            circuit: circuit(5e-3, 0.8, 1.5, 0.02, 30.0),
            barrier_v: 0.05,
            barrier_a: 2e-4,
        },
    ]
}

impl Shape {
    fn voltage(&self, u: f64) -> f64 {
        let j = self.circuit.current(u).value;
        u - self.circuit.rs * j - self.barrier_v * (j / self.barrier_a).asinh()
    }

    /// I at V by bisection in u, in which V rises.
    fn current(&self, v: f64) -> f64 {
        let (mut low, mut high) = (-5.0, 5.0);
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if self.voltage(middle) < v { low = middle } else { high = middle }
        }
        self.circuit.current(0.5 * (low + high)).value
    }

    /// The true Pmax by golden section about the best of a fine grid.
    fn pmax(&self) -> f64 {
        let voc = self.circuit.voc();
        let power = |v: f64| v * self.current(v);
        let step = voc / 2000.0;
        let best =
            (0..2000).max_by(|&a, &b| power(a as f64 * step).total_cmp(&power(b as f64 * step))).unwrap_or(0);
        let (mut low, mut high) = ((best as f64 - 1.0) * step, (best as f64 + 1.0) * step);
        for _ in 0..80 {
            let (a, b) = (low + 0.381966 * (high - low), low + 0.618034 * (high - low));
            if power(a) < power(b) { low = a } else { high = b }
        }
        power(0.5 * (low + high))
    }
}

/// Two more S-shapes, on which nothing was tuned: a soft one and one whose maximum lies on the S itself.
pub fn other_shapes() -> [Shape; 2] {
    let [_, silicon, ess] = shapes();
    [
        Shape { name: "soft S", barrier_v: 0.03, barrier_a: 1e-3, ..ess },
        Shape { name: "strong S", barrier_v: 0.1, barrier_a: 7e-3, ..silicon },
    ]
}

/// A cell whose current falls from V = 0 on: its shunt takes a third of Isc at Voc.
pub fn leaky() -> Shape {
    let [silicon, ..] = shapes();
    let (isc, voc, a) = (5e-3, 0.55, thermal_voltage_v(1.6, 1, 25.0));
    let i0 = isc * (1.0 - 1.0 / 3.0) / (voc / a).exp_m1();
    let circuit = Circuit::new(isc, [i0], [a], 0.05 * voc / isc, isc / (3.0 * voc));
    Shape { name: "leaky", circuit, ..silicon }
}

/// How a simulated sweep is measured.
#[derive(Clone, Copy)]
pub struct Rig {
    pub points: usize,
    /// Standard deviation of the current as a share of Isc.
    pub noise: f64,
    /// Whether the sweep states it.
    pub stated: bool,
    /// Whether the grid lies by chance against the curve, by up to one step; else it begins at −0.05 Voc.
    pub shifted: bool,
}

impl Shape {
    /// A noisy sweep of even steps over 1.1 Voc.
    pub fn sweep(&self, rig: &Rig, seed: u64) -> Sweep {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let voc = self.circuit.voc();
        let step = 1.1 * voc / (rig.points - 1) as f64;
        let shift: f64 = if rig.shifted { StandardUniform.sample(&mut random) } else { 0.0 };
        // Neither end of a shifted grid comes nearer than a part of a step to what is read there.
        let from = if rig.shifted { -step * shift } else { -0.05 * voc };
        let v: Vec<f64> = (0..rig.points).map(|k| from + step * k as f64).collect();
        let sigma = rig.noise * self.current(0.0);
        let i: Vec<f64> = v
            .iter()
            .map(|v| {
                let z: f64 = StandardNormal.sample(&mut random);
                self.current(*v) + sigma * z
            })
            .collect();
        let noise = rig.stated.then(|| Noise::default().current_a(sigma));
        let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven).noise(noise);
        Sweep::new(&v, &i, options).expect("a valid sweep")
    }

    /// The true Isc, Voc, Pmax and FF.
    pub fn truth(&self) -> [f64; 4] {
        let (isc, voc, pmax) = (self.current(0.0), self.circuit.voc(), self.pmax());
        [isc, voc, pmax, pmax / (isc * voc)]
    }
}
