//! Simulated sweeps of many kinds of tracer, and how often the stated intervals of their key points hold. Invented devices.

use super::device;
use super::measured::Reading;
use super::random::normal;
use litdiode::curve::key_points;
use litdiode::diode::{Circuit, thermal_voltage_v};
use litdiode::sweep::{Sweep, Swept};
use litdiode::threads;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

pub const FIGURES: [&str; 5] = ["isc", "voc", "pmax", "ff", "v_pmax"];

/// A device and its name.
#[derive(Clone, Copy)]
pub struct Device {
    pub name: &'static str,
    pub cells: u32,
    device: device::Device,
}

/// A single diode: Isc, Voc per cell, n, Rs and Rsh in units of Voc/Isc.
fn single(name: &'static str, cells: u32, isc: f64, voc: f64, n: f64, rs: f64, rsh: f64) -> Device {
    let (a, string) = (thermal_voltage_v(n, cells, 25.0), voc * f64::from(cells));
    let i0 = device::saturation_a(isc * (1.0 - 1.0 / rsh), string, n, cells);
    let iph = isc * (1.0 + rs / rsh);
    let device = device::Device::single(iph, i0, a, rs * string / isc, isc / (rsh * string));
    Device { name, cells, device }
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
    Device { name, device: of.device.barrier(barrier_v, barrier_a), ..of }
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
    Device { name: "two diodes", cells: 1, device: device::Device::new(circuit) }
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
    /// I at the voltage `v`.
    pub fn current(&self, v: f64) -> f64 {
        self.device.current_at(v)
    }

    /// Isc, Voc, Pmax, FF, V_Pmax.
    pub fn truth(&self) -> [f64; 5] {
        self.device.figures()
    }

    /// A noisy sweep.
    pub fn sweep(&self, rig: &Rig, truth: &[f64; 5], seed: u64) -> Sweep {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let from = match rig.start {
            Start::Before => -0.05,
            Start::At => 0.0,
            Start::Beyond => 0.03,
        };
        let stepped = rig.swept == Swept::Current;
        let (to, full, read) = if stepped { (1.03, truth[0], truth[1]) } else { (1.05, truth[1], truth[0]) };
        let step = (to - from) * full / (rig.points - 1) as f64;
        let set: Vec<f64> = (0..rig.points).map(|k| from * full + step * k as f64).collect();
        let reading =
            Reading { swept: rig.swept, sigma: rig.noise * read, stated: rig.stated, cells: self.cells };
        reading.sweep(&self.device, &set, || normal(&mut random))
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
