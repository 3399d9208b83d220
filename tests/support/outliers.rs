//! Simulated sweeps with and without a reading far off: how often it is found, and how often one is seen where none is.
#![allow(dead_code)]

use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::remarks::outliers;
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use litdiode::threads;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

/// A device; a barrier in series, V = u − Rs·J − b·asinh(J/Ib), bends it into an S. Invented.
pub struct Device {
    pub name: &'static str,
    circuit: Circuit<1>,
    cells: u32,
    barrier_v: f64,
    barrier_a: f64,
}

/// Devices by Isc in A, Voc in V, n, cells, series and shunt resistance in parts of Voc/Isc, barrier in V and A.
/// `aside` are those that no constant was chosen by.
pub fn devices(aside: bool) -> Vec<Device> {
    let make = |name, [isc, voc, n, cells, rs, rsh, b, ib]: [f64; 8]| {
        let a = thermal_voltage_v(n, cells as u32, 25.0);
        let i0 = isc * (1.0 - 1.0 / rsh) / (voc / a).exp_m1();
        let circuit = Circuit::new(isc, [i0], [a], rs * voc / isc, isc / (rsh * voc));
        Device { name, circuit, cells: cells as u32, barrier_v: b, barrier_a: ib }
    };
    if aside {
        return vec![
            make("dye-like", [600e-6, 0.65, 1.7, 1.0, 0.09, 25.0, 0.0, 1.0]),
            make("silicon", [30e-3, 0.70, 1.05, 1.0, 0.012, 800.0, 0.0, 1.0]),
            make("leaky", [2e-3, 0.48, 1.8, 1.0, 0.08, 2.2, 0.0, 1.0]),
            make("high Rs", [8e-3, 0.75, 1.4, 1.0, 0.45, 60.0, 0.0, 1.0]),
            make("module", [5.0, 42.0, 1.1, 60.0, 0.03, 300.0, 0.0, 1.0]),
            make("S-shaped", [10e-3, 0.9, 1.4, 1.0, 0.03, 40.0, 0.07, 1e-3]),
        ];
    }
    vec![
        make("dye-like", [20e-6, 0.62, 1.9, 1.0, 0.06, 15.0, 0.0, 1.0]),
        make("silicon", [35e-3, 0.62, 1.2, 1.0, 0.025, 150.0, 0.0, 1.0]),
        make("leaky", [5e-3, 0.55, 1.6, 1.0, 0.05, 3.0, 0.0, 1.0]),
        make("high Rs", [5e-3, 0.70, 1.5, 1.0, 0.35, 30.0, 0.0, 1.0]),
        make("module", [3.0, 22.0, 1.3, 36.0, 0.04, 100.0, 0.0, 1.0]),
        make("S-shaped", [5e-3, 0.8, 1.5, 1.0, 0.02, 30.0, 0.05, 2e-4]),
        make("soft S", [5e-3, 0.8, 1.5, 1.0, 0.02, 30.0, 0.03, 1e-3]),
        make("strong S", [35e-3, 0.62, 1.2, 1.0, 0.025, 150.0, 0.1, 7e-3]),
    ]
}

/// How the sweeps are taken.
#[derive(Clone, Copy, Debug)]
pub struct Tracer {
    pub current_stepped: bool,
    pub points: usize,
    /// Standard deviation of a reading in parts of Isc or Voc.
    pub noise: f64,
    pub stated: bool,
    /// Readings at each set point.
    pub repeats: usize,
    /// Step of the converter in parts of Isc or Voc; 0 for none.
    pub step: f64,
}

/// Shares of sweeps, in which an outlier was seen where none is, one of 15 to 40 σ was found, one of 0 was found; NaN
/// where no `Sweep` takes such readings, such as a 0 beside repetitions that are not.
pub struct Rates {
    pub false_alarms: f64,
    pub found: f64,
    pub zero_found: f64,
}

impl Device {
    pub fn is_diode(&self) -> bool {
        self.barrier_v == 0.0
    }

    fn voltage(&self, u: f64) -> f64 {
        let j = self.circuit.current(u).value;
        u - self.circuit.rs * j - self.barrier_v * (j / self.barrier_a).asinh()
    }

    /// I at V by bisection in u, in which V rises.
    fn current_at(&self, v: f64) -> f64 {
        if self.is_diode() {
            return self.circuit.current_at(v);
        }
        let (mut low, mut high) = (-5.0, 5.0);
        for _ in 0..80 {
            let middle = 0.5 * (low + high);
            if self.voltage(middle) < v { low = middle } else { high = middle }
        }
        self.circuit.current(0.5 * (low + high)).value
    }

    fn voltage_at(&self, i: f64) -> f64 {
        self.circuit.voltage_at(i)
    }

    /// Set points and true readings.
    fn truth(&self, tracer: &Tracer, random: &mut ChaCha8Rng) -> (Vec<f64>, Vec<f64>) {
        let shift: f64 = StandardUniform.sample(random);
        let n = tracer.points;
        let steps = (n - 1) as f64;
        let (x, y): (Vec<f64>, Vec<f64>) = (0..n)
            .map(|k| k as f64)
            .map(|k| {
                if tracer.current_stepped {
                    let x = self.current_at(0.0) * (-0.05 * shift + (1.03 + 0.05 * shift) * k / steps);
                    (x, self.voltage_at(x))
                } else {
                    let x = 1.1 * self.circuit.voc() * (k - shift) / steps;
                    (x, self.current_at(x))
                }
            })
            .unzip();
        let repeated = |xs: &[f64]| xs.iter().flat_map(|x| vec![*x; tracer.repeats]).collect();
        (repeated(&x), repeated(&y))
    }

    fn sweep(&self, tracer: &Tracer, sigma: f64, x: &[f64], y: &[f64]) -> Option<Sweep> {
        let noise = tracer.stated.then(|| {
            if tracer.current_stepped {
                Noise::default().voltage_v(sigma)
            } else {
                Noise::default().current_a(sigma)
            }
        });
        let swept = if tracer.current_stepped { Swept::Current } else { Swept::Voltage };
        let options = SweepOptions::default()
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .noise(noise)
            .swept(swept)
            .cells(self.cells);
        let (v, a) = if tracer.current_stepped { (y, x) } else { (x, y) };
        Sweep::new(v, a, options).ok()
    }

    /// The rates over `sweeps` sweeps with seeds from `first_seed` on.
    pub fn rates(&self, tracer: &Tracer, first_seed: u64, sweeps: usize) -> Rates {
        let job = |seed: usize| self.one(tracer, first_seed + seed as u64);
        let all = threads::rows(sweeps, None, job, |_| true).expect("not stopped");
        let share = |k: usize| {
            let asked: Vec<bool> = all.iter().filter_map(|row| row[k]).collect();
            asked.iter().filter(|hit| **hit).count() as f64 / asked.len() as f64
        };
        Rates { false_alarms: share(0), found: share(1), zero_found: share(2) }
    }

    /// One sweep without a reading far off.
    pub fn noisy(&self, tracer: &Tracer, seed: u64) -> Option<Sweep> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (x, y) = self.truth(tracer, &mut random);
        let size = if tracer.current_stepped { self.circuit.voc() } else { self.current_at(0.0) };
        let sigma = tracer.noise * size;
        let noisy: Vec<f64> = y
            .iter()
            .map(|y| {
                let z: f64 = StandardNormal.sample(&mut random);
                y + sigma * z
            })
            .collect();
        self.sweep(tracer, sigma, &x, &noisy)
    }

    fn one(&self, tracer: &Tracer, seed: u64) -> [Option<bool>; 3] {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (x, y) = self.truth(tracer, &mut random);
        let size = if tracer.current_stepped { self.circuit.voc() } else { self.current_at(0.0) };
        let sigma = tracer.noise * size;
        let coarse = |y: f64| {
            if tracer.step > 0.0 { (y / (tracer.step * size)).round() * tracer.step * size } else { y }
        };
        let noisy: Vec<f64> = y
            .iter()
            .map(|y| {
                let z: f64 = StandardNormal.sample(&mut random);
                coarse(y + sigma * z)
            })
            .collect();
        let seen = |y: &[f64], k: Option<usize>| {
            let found = outliers(&self.sweep(tracer, sigma, &x, y)?);
            Some(k.map_or(!found.is_empty(), |k| found.iter().any(|o| o.point == k)))
        };
        let uniform = |random: &mut ChaCha8Rng| -> f64 { StandardUniform.sample(random) };
        let k = (uniform(&mut random) * x.len() as f64) as usize;
        let sign = if uniform(&mut random) < 0.5 { -1.0 } else { 1.0 };
        let far = sign
            * (15.0 + 25.0 * uniform(&mut random))
            * sigma.hypot(tracer.step * size / 12f64.sqrt()).max(1e-4 * size);
        let (mut off, mut zero) = (noisy.clone(), noisy.clone());
        off[k] = coarse(off[k] + far);
        zero[k] = 0.0;
        let asks_zero = y[k].abs() > (0.3 * size).max(20.0 * sigma);
        [seen(&noisy, None), seen(&off, Some(k)), if asks_zero { seen(&zero, Some(k)) } else { None }]
    }
}
