//! Twelve devices that sweeps are planned for, and what fits and key points of simulated sweeps scatter by. Invented.

use super::device::saturation_a;
use super::random::Rng;
use litdiode::curve;
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::fit::{Options, fit_single_diode};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use litdiode::threads;

/// A device and its name.
#[derive(Clone, Copy)]
pub struct Planned {
    pub name: &'static str,
    pub model: SingleDiode,
}

impl Planned {
    pub fn isc(&self) -> f64 {
        self.model.key_points().isc.expect("lit").value
    }

    pub fn voc(&self) -> f64 {
        self.model.key_points().voc.expect("lit").value
    }
}

/// Isc, Voc per cell, n, Rs and Rsh in units of Voc/Isc.
pub fn device(cells: u32, isc: f64, voc: f64, n: f64, rs: f64, rsh: f64) -> SingleDiode {
    let string = voc * f64::from(cells);
    let parameters = Parameters {
        iph_a: isc * (1.0 + rs / rsh),
        i0_a: [saturation_a(isc * (1.0 - 1.0 / rsh), string, n, cells)],
        n: [n],
        rs_ohm: rs * string / isc,
        rsh_ohm: rsh * string / isc,
        cells,
        temperature_c: 25.0,
    };
    SingleDiode::new(parameters).expect("a device")
}

/// The dye-like cell of the prototype of this room.
pub fn dye() -> Planned {
    Planned { name: "dye-like", model: device(1, 600e-6, 0.62, 1.9, 0.06, 9.0) }
}

pub fn silicon() -> Planned {
    Planned { name: "silicon", model: device(1, 35e-3, 0.62, 1.25, 0.03, 190.0) }
}

/// The weight of the second term was chosen on four of them: dye-like, silicon, the second dye and high Rs.
pub fn twelve() -> Vec<Planned> {
    let one = |name, model| Planned { name, model };
    vec![
        dye(),
        silicon(),
        one("dye, second", device(1, 4e-3, 0.72, 1.6, 0.1, 20.0)),
        one("dye, small", device(1, 90e-6, 0.55, 2.2, 0.04, 6.0)),
        one("silicon, large", device(1, 0.76, 0.57, 1.45, 0.05, 70.0)),
        one("silicon, good", device(1, 41e-3, 0.7, 1.05, 0.02, 60.0)),
        one("leaky", device(1, 5e-3, 0.55, 1.6, 0.05, 3.0)),
        one("leaky, second", device(1, 200e-6, 0.7, 2.0, 0.02, 2.0)),
        one("high Rs", device(1, 10e-3, 0.65, 1.5, 0.3, 80.0)),
        one("high Rs, second", device(1, 22e-3, 1.05, 1.7, 0.22, 30.0)),
        one("organic", device(1, 5e-3, 0.8, 1.5, 0.08, 15.0)),
        one("module", device(36, 1.03, 0.52, 1.35, 0.065, 45.0)),
    ]
}

/// What was planned for.
pub fn noise_of(device: &Planned, swept: Swept, share: f64) -> Noise {
    match swept {
        Swept::Voltage => Noise::default().current_a(share * device.isc()),
        Swept::Current => Noise::default().voltage_v(share * device.voc()),
    }
}

/// A noisy sweep of a device at set points, its noise stated.
pub fn sweep(model: &SingleDiode, swept: Swept, set: &[f64], noise: Noise, seed: u64) -> Sweep {
    let mut rng = Rng(seed);
    let mut read = vec![0.0; set.len()];
    match swept {
        Swept::Voltage => model.current(set, &mut read).expect("finite"),
        Swept::Current => model.voltage(set, &mut read).expect("finite"),
    }
    let sigma =
        |x: f64| if swept == Swept::Voltage { noise.sigma_current(x) } else { noise.sigma_voltage(x) };
    read.iter_mut().for_each(|y| *y += sigma(*y) * rng.normal());
    let p = model.parameters();
    let options = SweepOptions::default()
        .swept(swept)
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .noise(noise)
        .cells(p.cells)
        .temperature_c(p.temperature_c);
    let (v, i) = if swept == Swept::Voltage { (set, &read[..]) } else { (&read[..], set) };
    Sweep::new(v, i, options).expect("a sweep")
}

/// Mean and standard deviation of FF over many sweeps, of the fitted model or without a model, and the share of sweeps that gave
/// it.
pub fn scatter_of_ff(
    model: &SingleDiode,
    swept: Swept,
    set: &[f64],
    noise: Noise,
    (first, runs): (u64, usize),
    by_model: bool,
) -> (f64, f64, f64) {
    let one = |k: usize| {
        let sweep = sweep(model, swept, set, noise, (first + k as u64).wrapping_mul(0x2545_f491_4f6c_dd1d));
        let points = if by_model {
            fit_single_diode(&sweep, &Options::default()).ok()?.key_points()
        } else {
            curve::key_points(&sweep)
        };
        points.ff.map(|ff| ff.value)
    };
    let all: Vec<f64> =
        threads::rows(runs, None, one, |_| true).expect("not stopped").into_iter().flatten().collect();
    let n = all.len() as f64;
    let mean = all.iter().sum::<f64>() / n;
    let spread = (all.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    (mean, spread, n / runs as f64)
}

/// How many simulated sweeps: of the environment, or as many as there is time for.
pub fn runs(few: usize) -> usize {
    std::env::var("LITDIODE_RUNS").ok().and_then(|n| n.parse().ok()).unwrap_or(few)
}
