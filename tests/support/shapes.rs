//! Curves of known key points for simulations: diodes with and without a barrier that bends them into an S. Invented.

use super::device::{Device, saturation_a};
use super::measured::Reading;
use super::random::normal;
use litdiode::diode::thermal_voltage_v;
use litdiode::sweep::{Sweep, Swept};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardUniform};

/// A device and its name.
pub struct Shape {
    pub name: &'static str,
    device: Device,
}

/// Isc and Voc without what the resistances take, n, and the resistances as shares of Voc/Isc.
fn diode(isc: f64, voc: f64, n: f64, series: f64, shunt: f64) -> Device {
    let a = thermal_voltage_v(n, 1, 25.0);
    Device::single(isc, saturation_a(isc, voc, n, 1), a, series * voc / isc, isc / (shunt * voc))
}

fn silicon() -> Device {
    diode(35e-3, 0.62, 1.2, 0.025, 150.0)
}

fn organic() -> Device {
    diode(5e-3, 0.8, 1.5, 0.02, 30.0)
}

/// The three shapes.
pub fn shapes() -> [Shape; 3] {
    [
        Shape { name: "dye-like", device: diode(20e-6, 0.62, 1.9, 0.06, 15.0) },
        Shape { name: "silicon", device: silicon() },
        Shape { name: "S-shaped", device: organic().barrier(0.05, 2e-4) },
    ]
}

/// Two more S-shapes, on which nothing was tuned: a soft one and one whose maximum lies on the S itself.
pub fn other_shapes() -> [Shape; 2] {
    [
        Shape { name: "soft S", device: organic().barrier(0.03, 1e-3) },
        Shape { name: "strong S", device: silicon().barrier(0.1, 7e-3) },
    ]
}

/// A cell whose current falls from V = 0 on: its shunt takes a third of Isc at Voc.
pub fn leaky() -> Shape {
    let (isc, voc, n) = (5e-3, 0.55, 1.6);
    let i0 = saturation_a(isc * (1.0 - 1.0 / 3.0), voc, n, 1);
    let a = thermal_voltage_v(n, 1, 25.0);
    Shape { name: "leaky", device: Device::single(isc, i0, a, 0.05 * voc / isc, isc / (3.0 * voc)) }
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
        let voc = self.device.voc();
        let step = 1.1 * voc / (rig.points - 1) as f64;
        let shift: f64 = if rig.shifted { StandardUniform.sample(&mut random) } else { 0.0 };
        // Neither end of a shifted grid comes nearer than a part of a step to what is read there.
        let from = if rig.shifted { -step * shift } else { -0.05 * voc };
        let v: Vec<f64> = (0..rig.points).map(|k| from + step * k as f64).collect();
        let sigma = rig.noise * self.device.isc();
        let reading = Reading { swept: Swept::Voltage, sigma, stated: rig.stated, cells: 1 };
        reading.sweep(&self.device, &v, || normal(&mut random))
    }

    /// The true Isc, Voc, Pmax and FF.
    pub fn truth(&self) -> [f64; 4] {
        let [isc, voc, pmax, ff, _] = self.device.figures();
        [isc, voc, pmax, ff]
    }
}
