//! Simulated sweeps of three shapes of curve, and what every method for Pmax makes of them. Shared by the example that
//! prints the table of the documentation and by the reduced test.

use litdiode::analysis::{PowerEstimate, maximum_powers};
use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::parallel;
use litdiode::sweep::{Leads, Sign, Sweep, SweepOptions};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// A diode with a barrier in series, V = u − Rs·J − b·asinh(J/Ib), which bends the curve near Voc into an S.
pub struct Shape {
    pub name: &'static str,
    circuit: Circuit<1>,
    barrier_v: f64,
    barrier_a: f64,
}

/// Figures of one method over many sweeps, as shares of the true Pmax.
pub struct Tally {
    pub method: &'static str,
    /// How often the method gave a figure.
    pub given: f64,
    pub bias: f64,
    pub spread: f64,
    pub rms: f64,
    /// Mean stated standard uncertainty; 0 where the method states none.
    pub u: f64,
    /// How often the stated 95 % interval held the truth.
    pub holds: f64,
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

/// Every method on `sweeps` sweeps of `points` points with current noise of `noise`·Isc.
pub fn tally(shape: &Shape, points: usize, noise: f64, sweeps: usize) -> Vec<Tally> {
    let (voc, truth, isc) = (shape.circuit.voc(), shape.pmax(), shape.current(0.0));
    let v: Vec<f64> = (0..points).map(|k| voc * (-0.05 + 1.1 * k as f64 / (points - 1) as f64)).collect();
    let i: Vec<f64> = v.iter().map(|v| shape.current(*v)).collect();
    let job = |seed: usize| {
        let mut random = ChaCha8Rng::seed_from_u64(seed as u64);
        let noisy: Vec<f64> = i
            .iter()
            .map(|i| {
                let z: f64 = StandardNormal.sample(&mut random);
                i + noise * isc * z
            })
            .collect();
        let options =
            SweepOptions { sign: Sign::Generator, leads: Leads::AsGiven, ..SweepOptions::default() };
        let sweep = Sweep::new(&v, &noisy, options).expect("a valid sweep");
        let mut found = maximum_powers(&sweep);
        // The one to quote stands in the table as a method of its own.
        if let Some(quote) = found.quote {
            found.estimates.push(PowerEstimate { method: "recommended", ..quote });
        }
        found.estimates
    };
    let all = parallel::rows(sweeps, None, job, |_| true).expect("not stopped");
    let mut methods: Vec<&'static str> = Vec::new();
    for estimate in all.iter().flatten() {
        if !methods.contains(&estimate.method) {
            methods.push(estimate.method);
        }
    }
    methods.into_iter().map(|method| of_method(method, &all, truth)).collect()
}

fn of_method(method: &'static str, all: &[Vec<PowerEstimate>], truth: f64) -> Tally {
    let own: Vec<_> = all.iter().flatten().filter(|e| e.method == method).collect();
    let n = own.len() as f64;
    let error = |e: &&PowerEstimate| e.pmax.value / truth - 1.0;
    let bias = own.iter().map(error).sum::<f64>() / n;
    let rms = (own.iter().map(|e| error(e).powi(2)).sum::<f64>() / n).sqrt();
    let u = own.iter().filter_map(|e| e.pmax.u).sum::<f64>() / n / truth;
    let inside = |e: &&&PowerEstimate| {
        let interval = e.pmax.interval(0.95);
        interval.low.is_some_and(|l| l <= truth) && interval.high.is_some_and(|h| truth <= h)
    };
    let holds = own.iter().filter(inside).count() as f64 / n;
    let given = n / all.len() as f64;
    Tally { method, given, bias, spread: (rms * rms - bias * bias).max(0.0).sqrt(), rms, u, holds }
}
