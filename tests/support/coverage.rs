//! Simulated sweeps of three invented cells, and how often the intervals of their fits hold the truth. Shared by the
//! example that prints the table of the documentation and by the reduced test.

use super::random::normal;
use litdiode::diode::{Device, Parameters, thermal_voltage_v};
use litdiode::fit::{
    Figure, Fit, NoiseScale, Options, Points, Problem, Residual, Status, fit_single_diode,
    unscaled_covariance,
};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Figures whose intervals are counted.
pub const FIGURES: [&str; 9] = ["isc", "voc", "pmax", "ff", "iph", "i0", "n", "rs", "rsh"];
const POINTS: usize = 25;
const LEVEL: f64 = 0.95;

/// What the noise is on.
#[derive(Clone, Copy, PartialEq)]
pub enum Axis {
    Current,
    Voltage,
    Both,
}

/// A cell of invented parameters.
pub struct Cell {
    pub name: &'static str,
    device: Device<1>,
}

/// From Isc, Voc, n and the resistances as shares of Voc/Isc.
fn cell(name: &'static str, isc: f64, voc: f64, n: f64, series: f64, shunt: f64) -> Cell {
    let (rs_ohm, rsh_ohm) = (series * voc / isc, shunt * voc / isc);
    let iph_a = isc * (1.0 + rs_ohm / rsh_ohm);
    let i0 = (iph_a - voc / rsh_ohm) / (voc / thermal_voltage_v(n, 1, 25.0)).exp_m1();
    let parameters = Parameters { iph_a, i0_a: [i0], n: [n], rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 };
    Cell { name, device: Device::new(parameters).expect("inside the domain") }
}

/// One experiment: exact points, σ of each axis, what is stated.
pub struct Case<'a> {
    pub cell: &'a Cell,
    axis: Axis,
    given: bool,
    voltage_v: Vec<f64>,
    current_a: Vec<f64>,
    sigma_v: f64,
    sigma_a: f64,
}

impl<'a> Case<'a> {
    pub fn new(cell: &'a Cell, axis: Axis, given: bool, ff_u: f64) -> Self {
        let points = cell.device.key_points();
        let (isc, voc) = (points.isc.unwrap().value, points.voc.unwrap().value);
        let step = 1.2 / (POINTS - 1) as f64;
        let voltage_v: Vec<f64> = (0..POINTS).map(|k| voc * (-0.1 + step * k as f64)).collect();
        let mut current_a = vec![0.0; POINTS];
        cell.device.current(&voltage_v, &mut current_a).unwrap();
        let mut case = Self {
            cell,
            axis,
            given,
            voltage_v,
            current_a,
            sigma_v: if axis == Axis::Current { 0.0 } else { voc },
            sigma_a: if axis == Axis::Voltage { 0.0 } else { isc },
        };
        let size = ff_u / case.relative_u_of_ff();
        case.sigma_v *= size;
        case.sigma_a *= size;
        case
    }

    fn residual(&self) -> Residual {
        match self.axis {
            Axis::Current => Residual::Current,
            Axis::Voltage => Residual::Voltage,
            Axis::Both => Residual::Nearest,
        }
    }

    /// Covariance of θ at the truth, from the Fisher information.
    fn covariance(&self) -> Vec<f64> {
        let (v, i) = (self.voltage_v.clone(), self.current_a.clone());
        let points =
            Points::new(v, i, vec![self.sigma_v; POINTS], vec![self.sigma_a; POINTS]).expect("readings");
        let problem = Problem::<1> { points: &points, residual: self.residual() };
        unscaled_covariance(&problem, &self.cell.device.circuit().theta()).expect("a regular problem")
    }

    fn relative_u_of_ff(&self) -> f64 {
        let (c, jacobian) = (self.covariance(), self.cell.device.circuit().key_point_jacobian());
        let [isc, voc, pmax, ..] = jacobian.values;
        let row: Vec<f64> = (0..5)
            .map(|k| jacobian.rows[2][k] / pmax - jacobian.rows[0][k] / isc - jacobian.rows[1][k] / voc)
            .collect();
        (0..25).map(|k| row[k / 5] * c[k] * row[k % 5]).sum::<f64>().sqrt()
    }

    /// Whether θ ± 1.96 u stays inside the search bounds; a physical bound does not count.
    pub fn identified(&self, name: &str) -> bool {
        let (c, theta) = (self.covariance(), self.cell.device.circuit().theta());
        let u = |k: usize| 1.96 * c[6 * k].sqrt();
        let a = |n: f64| thermal_voltage_v(n, 1, 25.0).ln();
        match name {
            "n" => theta[2] - u(2) > a(0.3) && theta[2] + u(2) < a(10.0),
            "i0" => theta[1] - u(1) > -690.0 && theta[1] + u(1) < 13.0,
            _ => true,
        }
    }

    fn sweep(&self, seed: u64) -> Sweep {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let mut noisy = |x: &f64, s: f64| x + s * normal(&mut random);
        let v: Vec<f64> = self.voltage_v.iter().map(|v| noisy(v, self.sigma_v)).collect();
        let i: Vec<f64> = self.current_a.iter().map(|i| noisy(i, self.sigma_a)).collect();
        let noise = Noise::default().voltage_v(self.sigma_v).current_a(self.sigma_a);
        let options = SweepOptions::default()
            .swept(if self.axis == Axis::Voltage { Swept::Current } else { Swept::Voltage })
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .noise((self.given || self.axis == Axis::Both).then_some(noise));
        Sweep::new(&v, &i, options).expect("a valid sweep")
    }

    fn fit(&self, seed: u64) -> Fit<1> {
        let noise_scale = if self.given { NoiseScale::Stated } else { NoiseScale::FromScatter };
        fit_single_diode(&self.sweep(seed), &Options::default().noise_scale(noise_scale)).expect("a fit")
    }

    fn truth(&self, name: &str) -> f64 {
        let p = self.cell.device.parameters();
        match name {
            "iph" => p.iph_a,
            "i0" => p.i0_a[0],
            "n" => p.n[0],
            "rs" => p.rs_ohm,
            "rsh" => p.rsh_ohm,
            _ => self.cell.device.key_points().get(name).unwrap().value,
        }
    }
}

/// Counts over the runs of one case.
#[derive(Clone, Default)]
pub struct Tally {
    pub runs: usize,
    /// Converged, at a bound, not identified, not converged.
    pub status: [usize; 4],
    /// Covered by the default and by the linear interval.
    pub held: [[usize; 2]; FIGURES.len()],
}

impl Tally {
    fn add(&mut self, other: &Tally) {
        self.runs += other.runs;
        (0..4).for_each(|k| self.status[k] += other.status[k]);
        (0..FIGURES.len()).for_each(|f| (0..2).for_each(|k| self.held[f][k] += other.held[f][k]));
    }

    fn count(&mut self, case: &Case, fit: &Fit<1>) {
        self.runs += 1;
        let statuses = [Status::Converged, Status::AtBound, Status::NotIdentified, Status::NotConverged];
        self.status[statuses.iter().position(|s| *s == fit.status).unwrap()] += 1;
        for (f, name) in FIGURES.iter().enumerate() {
            let truth = case.truth(name);
            let figure: Figure = name.parse().expect("a figure of a fit");
            let intervals = [fit.interval(figure, LEVEL), fit.linear_interval(figure, LEVEL)];
            for (k, interval) in intervals.iter().enumerate() {
                // An absent end is no limit; an interval without ends says nothing, and holds nothing.
                let holds = interval.as_ref().is_some_and(|i| {
                    (i.low.is_some() || i.high.is_some())
                        && i.low.is_none_or(|low| low <= truth)
                        && i.high.is_none_or(|high| truth <= high)
                });
                self.held[f][k] += usize::from(holds);
            }
        }
    }
}

/// Measures and fits `sweeps` times, on all threads.
pub fn run(case: &Case, sweeps: usize) -> Tally {
    let next = AtomicUsize::new(0);
    let worker = || {
        let mut tally = Tally::default();
        loop {
            let k = next.fetch_add(1, Ordering::Relaxed);
            if k >= sweeps {
                return tally;
            }
            tally.count(case, &case.fit(k as u64));
        }
    };
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(worker)).collect();
        workers.into_iter().fold(Tally::default(), |mut all, w| {
            all.add(&w.join().expect("a worker"));
            all
        })
    })
}

/// The three cells.
pub fn cells() -> [Cell; 3] {
    [
        cell("dye", 20e-6, 0.62, 1.9, 0.06, 15.0),
        cell("silicon", 35e-3, 0.62, 1.2, 0.025, 150.0),
        cell("leaky", 5e-3, 0.55, 1.6, 0.05, 3.0),
    ]
}
