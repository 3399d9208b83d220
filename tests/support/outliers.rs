//! Simulated sweeps with and without a reading far off: how often it is found, and how often one is seen where none is.

use super::device;
use super::measured::Reading;
use super::random::normal;
use litdiode::diode::thermal_voltage_v;
use litdiode::remarks::outliers;
use litdiode::sweep::{Sweep, Swept};
use litdiode::threads;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardUniform};

/// A device and its name.
pub struct Device {
    pub name: &'static str,
    device: device::Device,
    cells: u32,
}

/// Devices by Isc in A, Voc in V, n, cells, series and shunt resistance in parts of Voc/Isc, barrier in V and A.
/// `aside` are those that no constant was chosen by.
pub fn devices(aside: bool) -> Vec<Device> {
    let make = |name, [isc, voc, n, cells, rs, rsh, b, ib]: [f64; 8]| {
        let cells = cells as u32;
        let a = thermal_voltage_v(n, cells, 25.0);
        let i0 = device::saturation_a(isc * (1.0 - 1.0 / rsh), voc, n, cells);
        let device = device::Device::single(isc, i0, a, rs * voc / isc, isc / (rsh * voc));
        Device { name, device: device.barrier(b, ib), cells }
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
        self.device.is_diode()
    }

    /// Isc, Voc, Pmax and FF of the device, and the voltage of maximum power, by ternary search.
    pub fn truths(&self) -> ([f64; 4], f64) {
        let (isc, voc) = (self.device.isc(), self.device.voc());
        let power = |v: f64| v * self.device.current_at(v);
        let (mut low, mut high) = (0.0, voc);
        while high - low > 1e-9 * voc {
            let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
            if power(a) < power(b) { low = a } else { high = b }
        }
        let pmax = power(low);
        ([isc, voc, pmax, pmax / (isc * voc)], low)
    }

    /// How it is read, and what Isc or Voc is read by.
    fn reading(&self, tracer: &Tracer) -> (Reading, f64) {
        let (swept, size) = if tracer.current_stepped {
            (Swept::Current, self.device.voc())
        } else {
            (Swept::Voltage, self.device.isc())
        };
        (Reading { swept, sigma: tracer.noise * size, stated: tracer.stated, cells: self.cells }, size)
    }

    /// Set points and true readings.
    fn truth(&self, tracer: &Tracer, reading: &Reading, random: &mut ChaCha8Rng) -> (Vec<f64>, Vec<f64>) {
        let shift: f64 = StandardUniform.sample(random);
        let steps = (tracer.points - 1) as f64;
        let at = |k: f64| {
            if tracer.current_stepped {
                self.device.isc() * (-0.05 * shift + (1.03 + 0.05 * shift) * k / steps)
            } else {
                1.1 * self.device.voc() * (k - shift) / steps
            }
        };
        let x: Vec<f64> = (0..tracer.points).flat_map(|k| vec![at(k as f64); tracer.repeats]).collect();
        let y = reading.exact(&self.device, &x);
        (x, y)
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
        let (reading, _) = self.reading(tracer);
        let (x, y) = self.truth(tracer, &reading, &mut random);
        let noisy: Vec<f64> = y.iter().map(|y| y + reading.sigma * normal(&mut random)).collect();
        reading.try_sweep(&x, &noisy)
    }

    fn one(&self, tracer: &Tracer, seed: u64) -> [Option<bool>; 3] {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let (reading, size) = self.reading(tracer);
        let sigma = reading.sigma;
        let (x, y) = self.truth(tracer, &reading, &mut random);
        let coarse = |y: f64| {
            if tracer.step > 0.0 { (y / (tracer.step * size)).round() * tracer.step * size } else { y }
        };
        let noisy: Vec<f64> = y.iter().map(|y| coarse(y + sigma * normal(&mut random))).collect();
        let seen = |y: &[f64], k: Option<usize>| {
            let found = outliers(&reading.try_sweep(&x, y)?);
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
