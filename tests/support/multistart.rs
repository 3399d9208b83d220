//! Random sweeps of one and of two diodes, and the lowest Σr² that descents from many starts find on them.

use super::Rng;
use litdiode::diode::{Circuit, DoubleDiode, Junction, Parameters, thermal_voltage_v};
use litdiode::fit::{
    Bounds, Fit, FitError, Options, Parameter, Points, Problem, Residual, Wishes, extract, minimise,
};
use litdiode::sweep::{Noise, Sign, Sweep, SweepOptions, Swept};

/// Descents from random starts on each sweep, and steps of each.
const RANDOM_STARTS: usize = 24;
const STEPS: usize = 1000;

/// A simulated sweep, the residual to fit it with, and the θ of its device.
pub struct Trial {
    pub sweep: Sweep,
    pub residual: Residual,
    pub truth: Vec<f64>,
    pub stepped: Swept,
    pub stated: &'static str,
}

/// Isc, Voc and the resistances of an invented device; every other one has two diodes.
fn device(rng: &mut Rng, two: bool) -> DoubleDiode {
    let (isc, voc) = (rng.decades(1e-5, 1.0), rng.between(0.4, 0.8));
    let n = if two { [rng.between(1.0, 1.2), rng.between(1.7, 2.0)] } else { [rng.between(1.0, 2.0), 2.0] };
    // Share of the second diode in the dark current at Voc.
    let share = if two { rng.decades(0.003, 0.7) } else { 1e-200 };
    let i0 = |n: f64, share: f64| share * isc / (voc / thermal_voltage_v(n, 1, 25.0)).exp_m1();
    DoubleDiode::new(Parameters {
        iph_a: isc,
        i0_a: [i0(n[0], 1.0 - share), i0(n[1], share)],
        n,
        rs_ohm: rng.decades(5e-3, 0.12) * voc / isc,
        rsh_ohm: rng.decades(6.0, 300.0) * voc / isc,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap()
}

/// The sweep number `case`: kinds of device, stepping, residual and statement take turns.
pub fn trial(case: u64) -> Trial {
    let mut rng = Rng(0x71a1 ^ case << 20);
    let device = device(&mut rng, case % 2 == 1);
    let points = 15 + (rng.next() % 26) as usize;
    let along = |k: usize| k as f64 / (points - 1) as f64;
    let (isc, voc) = (device.key_points().isc.unwrap().value, device.key_points().voc.unwrap().value);
    let stepped = if (case / 2).is_multiple_of(2) { Swept::Voltage } else { Swept::Current };
    let (mut v, mut i) = (vec![0.0; points], vec![0.0; points]);
    if stepped == Swept::Voltage {
        let (low, high) = (-0.15 * rng.unit() * voc, rng.between(1.0, 1.15) * voc);
        v.iter_mut().enumerate().for_each(|(k, v)| *v = low + (high - low) * along(k));
        device.current(&v, &mut i).unwrap();
    } else {
        let (low, high) = (-0.3 * rng.unit() * isc, rng.between(0.95, 1.02) * isc);
        i.iter_mut().enumerate().for_each(|(k, i)| *i = low + (high - low) * along(k));
        device.voltage(&i, &mut v).unwrap();
    }
    let size = rng.decades(1e-4, 1e-2);
    let (floor_v, floor_a) = (size * voc, size * isc);
    let residuals = [Residual::Current, Residual::Voltage, Residual::Nearest, Residual::Implicit];
    let mut residual = residuals[(case / 4 % 4) as usize];
    // A current in the flat part has no voltage of its own to speak of: its reading is the voltage.
    if stepped == Swept::Voltage && residual == Residual::Voltage {
        residual = Residual::Current;
    } else if stepped == Swept::Current && residual == Residual::Current {
        residual = Residual::Voltage;
    }
    let on_v = matches!(
        (residual, stepped),
        (Residual::Voltage | Residual::Nearest, _) | (Residual::Implicit, Swept::Current)
    );
    let on_a = matches!(
        (residual, stepped),
        (Residual::Current | Residual::Nearest, _) | (Residual::Implicit, Swept::Voltage)
    );
    let (stated, rel) =
        [("floor", 0.0), ("floor and share", 0.01), ("nothing", 0.0)][(case / 16 % 3) as usize];
    let stated = if residual == Residual::Nearest && stated == "nothing" { "floor" } else { stated };
    let noise = Noise::default()
        .voltage_v(if on_v { floor_v } else { 0.0 })
        .voltage_rel(if on_v { rel } else { 0.0 })
        .current_a(if on_a { floor_a } else { 0.0 })
        .current_rel(if on_a { rel } else { 0.0 });
    v.iter_mut().for_each(|v| *v += noise.sigma_voltage(*v) * rng.normal());
    i.iter_mut().for_each(|i| *i += noise.sigma_current(*i) * rng.normal());
    let noise = (stated != "nothing").then_some(noise);
    let options = SweepOptions::default().noise(noise).swept(stepped).sign(Sign::Generator);
    Trial {
        sweep: Sweep::new(&v, &i, options).unwrap(),
        residual,
        truth: device.circuit().theta(),
        stepped,
        stated,
    }
}

impl Trial {
    /// The fit of K diodes, one with n between 1 and 2 as each of two has it.
    pub fn fit<const K: usize>(&self) -> Result<Fit<K>, FitError> {
        let wishes = Wishes::default();
        let wishes = if K == 1 { wishes.bounds(Parameter::N, 1.0, 2.0) } else { wishes };
        extract::<K>(&self.sweep, &Options::default().residual(self.residual).wishes(wishes))
    }

    /// The readings with the weights that the stated noise has on the curve of `theta`.
    fn points<const K: usize>(&self, theta: &[f64]) -> Points {
        let circuit = Circuit::<K>::of_coordinates(theta).unwrap();
        let (v, i) = (self.sweep.voltage_v(), self.sweep.current_a());
        let ones = |xs: &[f64]| vec![xs.iter().fold(0.0f64, |m, x| m.max(x.abs())); xs.len()];
        let none = vec![0.0; v.len()];
        let noise = self.sweep.options().noise.as_ref();
        let sigma_v = || match noise {
            Some(noise) if noise.states_voltage() => {
                let at = |(v, i): (&f64, &f64)| {
                    if self.residual == Residual::Voltage { circuit.voltage_at(*i) } else { *v }
                };
                v.iter().zip(i).map(|at_| noise.sigma_voltage(at(at_))).collect()
            }
            _ => ones(v),
        };
        let sigma_a = || match noise {
            Some(noise) if noise.states_current() => {
                v.iter().map(|v| noise.sigma_current(circuit.current_at(*v))).collect()
            }
            _ => ones(i),
        };
        let (sigma_v, sigma_a) = match self.residual {
            Residual::Voltage => (sigma_v(), none),
            Residual::Nearest => (sigma_v(), sigma_a()),
            _ => (none, sigma_a()),
        };
        Points::new(v.to_vec(), i.to_vec(), sigma_v, sigma_a).unwrap()
    }

    /// Σr² of `fit` and the lowest that descents from the truth, from the one diode `one`, and from random places find with the
    /// weights of `fit`.
    pub fn lowest(&self, fit: &Fit<2>, one: &Fit<1>, case: u64) -> (f64, f64) {
        let points = self.points::<2>(&fit.theta);
        let problem = Problem::<2> { points: &points, residual: self.residual };
        let a = thermal_voltage_v(1.0, 1, 25.0);
        let (ln_low, ln_high) = (a.ln(), (2.0 * a).ln());
        let low = vec![0.0, -690.7, ln_low, -690.7, ln_low, 0.0, 0.0];
        let bounds = Bounds::new(low, vec![1e9, 13.8, ln_high, 13.8, ln_high, 1e12, 1e12]).unwrap();
        let descent = |start: &[f64], steps| minimise(&problem, start, &bounds, steps, |_| {}).unwrap().cost;
        let own = descent(&fit.theta, 0);
        let mut rng = Rng(case ^ 0xfeed);
        let mut starts = vec![self.truth.clone(), fit.theta.clone()];
        let t = &one.theta;
        let top = points.highest_junction_v(t[3]);
        for (ln_a, share) in [(ln_low, 1e-6f64), (ln_low, 1e-2), (ln_high, 1e-6), (ln_high, 1e-2)] {
            let ln_i0 = (share * t[0]).ln() - top / ln_a.exp();
            starts.push(vec![t[0], t[1], t[2], ln_i0, ln_a, t[3], t[4]]);
        }
        for _ in 0..RANDOM_STARTS {
            let (one, two) = (rng.between(ln_low, ln_high), rng.between(ln_low, ln_high));
            let rs = self.truth[5] * rng.decades(0.1, 3.0);
            let top = points.highest_junction_v(rs);
            let share = rng.decades(1e-4, 0.9);
            let ln_i0 = |ln_a: f64, share: f64| (share * self.truth[0]).ln() - top / ln_a.exp();
            let g = self.truth[6] * rng.decades(0.1, 3.0);
            let iph = self.truth[0] * rng.between(1.0, 1.05);
            starts.push(vec![iph, ln_i0(one, 1.0 - share), one, ln_i0(two, share), two, rs, g]);
        }
        let least = starts.iter().map(|s| descent(s, STEPS)).fold(own, f64::min);
        (own, least)
    }
}
