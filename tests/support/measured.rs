//! A sweep of a device at set points of one axis, whose other axis is read with scatter.

use super::device::Device;
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};

/// How what is read is read.
#[derive(Clone, Copy)]
pub struct Reading {
    pub swept: Swept,
    /// Standard deviation in A, or in V where the current is set.
    pub sigma: f64,
    /// Whether the sweep states it.
    pub stated: bool,
    pub cells: u32,
}

impl Reading {
    fn options(&self) -> SweepOptions {
        let noise = if self.swept == Swept::Current {
            Noise::default().voltage_v(self.sigma)
        } else {
            Noise::default().current_a(self.sigma)
        };
        SweepOptions::default()
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .swept(self.swept)
            .cells(self.cells)
            .noise(self.stated.then_some(noise))
    }

    /// What the device shows at the set points.
    pub fn exact(&self, device: &Device, set: &[f64]) -> Vec<f64> {
        let at = |x: &f64| {
            if self.swept == Swept::Current { device.voltage_at(*x) } else { device.current_at(*x) }
        };
        set.iter().map(at).collect()
    }

    /// `read` at the points `set`; `None` where no sweep takes it.
    pub fn try_sweep(&self, set: &[f64], read: &[f64]) -> Option<Sweep> {
        let (v, i) = if self.swept == Swept::Current { (read, set) } else { (set, read) };
        Sweep::new(v, i, self.options()).ok()
    }

    /// The device at the points `set`, each reading scattered by a normal deviate.
    pub fn sweep(&self, device: &Device, set: &[f64], mut normal: impl FnMut() -> f64) -> Sweep {
        let mut read = self.exact(device, set);
        read.iter_mut().for_each(|y| *y += self.sigma * normal());
        self.try_sweep(set, &read).expect("a valid sweep")
    }
}
