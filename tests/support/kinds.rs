//! Devices of many kinds, measured in the light, in the dark and at several irradiances, with every method for their
//! resistances counted: how often it gives a figure, how often without a doubt, how often that interval holds the truth.

use super::random::normal;
use litdiode::diode::{Device, Parameters, thermal_voltage_v};
use litdiode::estimate::{Estimate, Unit};
use litdiode::resistance::{Implied, Measured, Quantity, Resistance, resistances};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;

/// A device with a second diode that may be none (1e-40 A). Parameters are invented.
pub struct Kind {
    pub name: &'static str,
    pub device: Parameters<2>,
}

/// By its open-circuit voltage without series resistance, of which the second diode takes `share` of the current.
fn kind(
    name: &'static str,
    (iph_a, voc_v, n, share): (f64, f64, f64, f64),
    (rs_ohm, rsh_ohm): (f64, f64),
    cells: u32,
) -> Kind {
    let current = iph_a - voc_v / rsh_ohm;
    let i0 = |n: f64, part: f64| {
        (current * part / (voc_v / thermal_voltage_v(n, cells, 25.0)).exp_m1()).max(1e-40)
    };
    let i0_a = [i0(n, 1.0 - share), i0(2.0, share)];
    let n = [n, 2.0];
    Kind { name, device: Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c: 25.0 } }
}

/// The kinds that anything was chosen by.
pub fn chosen_by() -> Vec<Kind> {
    vec![
        kind("dye-like", (600e-6, 0.60, 1.9, 0.0), (57.6, 9e3), 1),
        kind("silicon", (35e-3, 0.62, 1.25, 0.0), (0.5, 3.5e3), 1),
        kind("module of 36", (1.03, 19.0, 1.32, 0.0), (1.2, 820.0), 36),
        kind("leaky", (5e-3, 0.55, 1.6, 0.0), (8.0, 300.0), 1),
        kind("high Rs", (2e-3, 0.75, 1.7, 0.0), (60.0, 6e3), 1),
        kind("perovskite", (22e-3, 1.10, 1.5, 0.0), (3.0, 2e3), 1),
        kind("thin film", (32e-3, 0.68, 1.5, 0.0), (1.0, 600.0), 1),
        kind("amorphous", (12e-3, 0.88, 1.8, 0.0), (6.0, 900.0), 1),
        kind("gallium arsenide", (28e-3, 1.03, 1.1, 0.0), (0.6, 1e4), 1),
        kind("photodiode", (3e-6, 0.40, 1.3, 0.0), (8e3, 5e6), 1),
        kind("two diodes", (35e-3, 0.61, 1.0, 0.3), (0.6, 2e3), 1),
        kind("concentrator", (2.0, 0.70, 1.2, 0.0), (0.01, 60.0), 1),
    ]
}

/// The kinds that nothing was chosen by; every quoted figure is theirs.
pub fn kept_aside() -> Vec<Kind> {
    vec![
        kind("dye, large", (12e-3, 0.72, 1.7, 0.0), (4.0, 700.0), 1),
        kind("silicon, large", (5.0, 0.64, 1.1, 0.0), (0.006, 15.0), 1),
        kind("module of 60", (8.8, 37.5, 1.15, 0.0), (0.3, 300.0), 60),
        kind("shunted silicon", (30e-3, 0.57, 1.4, 0.0), (0.9, 80.0), 1),
        kind("resistive dye", (900e-6, 0.68, 2.1, 0.0), (120.0, 12e3), 1),
        kind("wide gap perovskite", (15e-3, 1.25, 1.8, 0.0), (5.0, 3e3), 1),
        kind("telluride", (26e-3, 0.83, 1.6, 0.0), (2.0, 1.2e3), 1),
        kind("string of 3", (9e-3, 2.1, 1.7, 0.0), (15.0, 5e3), 3),
        kind("indoor organic", (40e-6, 0.60, 1.5, 0.0), (900.0, 150e3), 1),
        kind("germanium", (40e-3, 0.25, 1.2, 0.0), (0.4, 60.0), 1),
        kind("two diodes, thin", (33e-3, 0.66, 1.2, 0.2), (1.1, 1e3), 1),
        kind("organic", (11e-3, 0.82, 1.4, 0.0), (7.0, 1.5e3), 1),
    ]
}

/// How the sweeps of a device are measured.
#[derive(Clone, Copy)]
pub struct Bench {
    pub swept: Swept,
    pub stated: bool,
    pub points: usize,
    /// Standard deviation of the reading: a share of Isc or of Voc.
    pub noise: f64,
}

/// All that was measured.
struct Sweeps {
    lit: Sweep,
    more: Vec<Sweep>,
    dark: Sweep,
    implied: Implied,
}

impl Kind {
    fn device(&self, suns: f64) -> Device<2> {
        Device::new(Parameters { iph_a: self.device.iph_a * suns, ..self.device }).expect("in the domain")
    }

    fn measure(&self, bench: &Bench, random: &mut ChaCha8Rng) -> Sweeps {
        let points = self.device(1.0).key_points();
        let (isc, voc) = (points.isc.expect("lit").value, points.voc.expect("lit").value);
        let axis = Axis { bench: *bench, isc, voc, cells: self.device.cells };
        Sweeps {
            lit: axis.lit(&self.device(1.0), 1.0, random),
            more: [0.5, 0.25].map(|s| axis.lit(&self.device(s), s, random)).into(),
            dark: axis.dark(&self.device(0.0), self.device.rsh_ohm, random),
            implied: self.implied(bench.stated, random),
        }
    }

    /// 30 voltages at open circuit from 0.02 to 1.2 suns, each with 0.5 mV a cell of noise.
    fn implied(&self, stated: bool, random: &mut ChaCha8Rng) -> Implied {
        let sigma = 5e-4 * f64::from(self.device.cells);
        let suns: Vec<f64> = (0..30).map(|k| 0.02 * 60f64.powf(f64::from(k) / 29.0)).collect();
        let voltage = |s: &f64| self.device(*s).key_points().voc.expect("lit").value + sigma * normal(random);
        let voltage: Vec<f64> = suns.iter().map(voltage).collect();
        Implied::new(&voltage, &suns, stated.then_some(sigma)).expect("sound")
    }

    /// Every method on `sweeps` sets of sweeps.
    pub fn tally(&self, bench: &Bench, sweeps: usize, seed: u64) -> Vec<Tally> {
        let one = |k: usize| {
            let seed = seed.wrapping_add(k as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15);
            let random = &mut ChaCha8Rng::seed_from_u64(seed);
            let measured = self.measure(bench, random);
            // Of two diodes no n is known.
            let single = self.device.i0_a[1] <= 1e-40;
            let n = Estimate::new(self.device.n[0], 0.0, Unit::One);
            resistances(
                &Measured::default()
                    .lit(&measured.lit)
                    .more_lit(&measured.more)
                    .dark(&measured.dark)
                    .implied(&measured.implied)
                    .n(single.then_some(&n)),
            )
        };
        let all = litdiode::threads::rows(sweeps, None, one, |_| true).expect("no limit");
        let mut tallies: Vec<Tally> = Vec::new();
        let truth =
            |q: Quantity| if q == Quantity::Series { self.device.rs_ohm } else { self.device.rsh_ohm };
        let mut count = |method: &'static str, r: &Resistance| {
            let known = tallies.iter().position(|t| t.quantity == r.quantity && t.method == method);
            let at = known.unwrap_or_else(|| {
                tallies.push(Tally::new(r.quantity, method));
                tallies.len() - 1
            });
            tallies[at].count(r, truth(r.quantity), sweeps);
        };
        for found in &all {
            found.found.iter().for_each(|r| count(r.method, r));
            [&found.series, &found.shunt]
                .into_iter()
                .filter_map(|q| q.resistance.as_ref())
                .for_each(|r| count(QUOTED, r));
        }
        tallies.sort_by(|a, b| {
            (a.quantity == Quantity::Shunt, a.method).cmp(&(b.quantity == Quantity::Shunt, b.method))
        });
        tallies
    }
}

/// What is quoted, as if it were a method.
pub const QUOTED: &str = "quoted";

/// What a method made of many sweeps, as shares of all of them.
#[derive(Clone)]
pub struct Tally {
    pub quantity: Quantity,
    pub method: &'static str,
    /// With a figure.
    pub given: f64,
    /// With a figure and no doubt.
    pub clear: f64,
    /// … whose interval holds the truth.
    pub held: f64,
    /// Sum of (value − truth)/u of those.
    off: f64,
}

impl Tally {
    fn new(quantity: Quantity, method: &'static str) -> Self {
        Self { quantity, method, given: 0.0, clear: 0.0, held: 0.0, off: 0.0 }
    }

    fn count(&mut self, r: &Resistance, truth: f64, sweeps: usize) {
        let part = 1.0 / sweeps as f64;
        self.given += part;
        let (low, high) = (r.interval.low, r.interval.high);
        // A figure whose ± is not known claims nothing.
        if !r.holds() || low.or(high).is_none() {
            return;
        }
        self.clear += part;
        let held = low.is_none_or(|low| low <= truth) && high.is_none_or(|high| truth <= high);
        self.held += if held { part } else { 0.0 };
        self.off += r.estimate.u.map_or(0.0, |u| part * (r.estimate.value - truth) / u);
    }

    /// Share of the figures without a doubt whose interval holds the truth.
    pub fn holds(&self) -> f64 {
        self.held / self.clear
    }

    /// Mean of (value − truth)/u of them.
    pub fn bias(&self) -> f64 {
        self.off / self.clear
    }
}

/// Readings of one axis as a function of the other.
struct Axis {
    bench: Bench,
    isc: f64,
    voc: f64,
    cells: u32,
}

impl Axis {
    /// Equal steps: of V from −0.2 Voc to 1.06 Voc, or of I from −0.1 Isc to 1.03 Isc.
    fn lit(&self, device: &Device<2>, suns: f64, random: &mut ChaCha8Rng) -> Sweep {
        let step = |k: usize| k as f64 / (self.bench.points - 1) as f64;
        if self.bench.swept == Swept::Voltage {
            let v: Vec<f64> = (0..self.bench.points).map(|k| self.voc * (-0.2 + 1.26 * step(k))).collect();
            let noise = Noise::default().current_a(self.bench.noise * self.isc);
            self.read_current(device, v, noise, random)
        } else {
            let isc = suns * self.isc;
            let i: Vec<f64> = (0..self.bench.points).map(|k| isc * (-0.1 + 1.13 * step(k))).collect();
            let noise = Noise::default().voltage_v(self.bench.noise * self.voc);
            self.read_voltage(device, i, noise, random)
        }
    }

    /// Of V from −0.3 Voc to where Isc flows, with 1 % and a floor or, not stated, with an even scatter; of I in
    /// equal ratios forward, eight readings in reverse.
    fn dark(&self, device: &Device<2>, shunt: f64, random: &mut ChaCha8Rng) -> Sweep {
        let points = self.bench.points;
        if self.bench.swept == Swept::Voltage {
            let mut top = [0.0];
            device.voltage(&[-1.1 * self.isc], &mut top).expect("finite");
            let from = -0.3 * self.voc;
            let v = (0..points).map(|k| from + (top[0] - from) * k as f64 / (points - 1) as f64).collect();
            let stated = Noise::default().current_rel(0.01).current_a(1e-5 * self.isc);
            let even = Noise::default().current_a(self.bench.noise * self.isc);
            self.read_current(device, v, if self.bench.stated { stated } else { even }, random)
        } else {
            let reverse = 8;
            let ratio = |k: usize| k as f64 / (points - reverse - 1) as f64;
            let backward = (0..reverse).map(|k| 0.3 * self.voc / shunt * (1.0 - k as f64 / reverse as f64));
            let forward = (0..points - reverse).map(|k| -self.isc * 1e-3 * 1100f64.powf(ratio(k)));
            let noise = Noise::default().voltage_v(1e-3 * f64::from(self.cells));
            self.read_voltage(device, backward.chain(forward).collect(), noise, random)
        }
    }

    fn read_current(&self, device: &Device<2>, v: Vec<f64>, noise: Noise, random: &mut ChaCha8Rng) -> Sweep {
        let mut i = vec![0.0; v.len()];
        device.current(&v, &mut i).expect("finite");
        i.iter_mut().for_each(|i| *i += noise.sigma_current(*i) * normal(random));
        self.sweep(&v, &i, noise)
    }

    fn read_voltage(&self, device: &Device<2>, i: Vec<f64>, noise: Noise, random: &mut ChaCha8Rng) -> Sweep {
        let mut v = vec![0.0; i.len()];
        device.voltage(&i, &mut v).expect("finite");
        v.iter_mut().for_each(|v| *v += noise.sigma_voltage(*v) * normal(random));
        self.sweep(&v, &i, noise)
    }

    fn sweep(&self, v: &[f64], i: &[f64], noise: Noise) -> Sweep {
        let options = SweepOptions::default()
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .swept(self.bench.swept)
            .noise(self.bench.stated.then_some(noise))
            .cells(self.cells);
        Sweep::new(v, i, options).expect("a sweep")
    }
}
