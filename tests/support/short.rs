//! Simulated sweeps that end before a key point, and how often what the fit says of it holds the truth.

use super::Rng;
use litdiode::diode::{Parameters, SingleDiode, thermal_voltage_v};
use litdiode::estimate::Interval;
use litdiode::fit::{Options, Parameter, Status, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::sweep::{Noise, Sign, Sweep, SweepOptions, Swept};

pub const FIGURES: [&str; 4] = ["isc", "voc", "pmax", "ff"];
pub const POINTS: usize = 25;

/// An invented device: Isc, Voc, n, Rs and Rsh as shares of Voc/Isc.
pub struct Cell {
    pub name: &'static str,
    isc: f64,
    voc: f64,
    n: f64,
    series: f64,
    shunt: f64,
}

const fn cell(name: &'static str, isc: f64, voc: f64, n: f64, series: f64, shunt: f64) -> Cell {
    Cell { name, isc, voc, n, series, shunt }
}

pub const CELLS: [Cell; 6] = [
    cell("silicon", 35e-3, 0.62, 1.25, 0.028, 200.0),
    cell("dye", 600e-6, 0.68, 1.9, 0.05, 8.0),
    cell("leaky", 5e-3, 0.55, 1.6, 0.05, 3.0),
    cell("high Rs", 2e-3, 0.8, 1.5, 0.2, 30.0),
    cell("thin film", 20e-3, 0.85, 1.7, 0.08, 12.0),
    cell("wafer", 8.0, 0.66, 1.05, 0.01, 600.0),
];

/// Where a sweep ends.
#[derive(Clone, Copy, Debug)]
pub enum Stop {
    /// Currents from −0.2 Isc up to this share of Isc.
    Current(f64),
    /// Voltages from −0.1 Voc up to this share of Voc.
    Voltage(f64),
    /// Voltages from this share of Voc to 1.1 Voc.
    From(f64),
}

#[allow(dead_code)]
pub const STOPS: [Stop; 6] = [
    Stop::Current(0.98),
    Stop::Current(0.9),
    Stop::Voltage(0.95),
    Stop::Voltage(0.85),
    Stop::From(0.1),
    Stop::From(0.4),
];

/// Counts of one case.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    pub runs: usize,
    /// Held by `fit.interval`, by the interval of `fit.key_points()`, by the linear one.
    pub held: [[usize; 3]; 4],
    /// Open on a side.
    pub open: [usize; 4],
    /// Called extrapolated.
    pub named: [usize; 4],
    /// Fits that are called `at_bound` and leave n open on a side.
    pub at_bound: [usize; 2],
}

fn holds(interval: &Interval, truth: f64) -> bool {
    interval.low.is_none_or(|low| low <= truth) && interval.high.is_none_or(|high| truth <= high)
}

/// `runs` sweeps of `cell` with noise of a `size` as share of Isc or Voc.
pub fn run(cell: &Cell, stop: Stop, size: f64, stated: bool, runs: usize, seed: u64) -> Tally {
    let (rs, rsh) = (cell.series * cell.voc / cell.isc, cell.shunt * cell.voc / cell.isc);
    let iph = cell.isc * (1.0 + rs / rsh);
    let i0 = (iph - cell.voc / rsh) / (cell.voc / thermal_voltage_v(cell.n, 1, 25.0)).exp_m1();
    let (cells, temperature_c) = (1, 25.0);
    let device = SingleDiode::new(Parameters {
        iph_a: iph,
        i0_a: [i0],
        n: [cell.n],
        rs_ohm: rs,
        rsh_ohm: rsh,
        cells,
        temperature_c,
    })
    .unwrap();
    let key_points = device.key_points();
    let truth = FIGURES.map(|name| key_points.get(name).unwrap().value);
    let (mut rng, mut tally) = (Rng(seed), Tally::default());
    let along = |k: usize| k as f64 / (POINTS - 1) as f64;
    for _ in 0..runs {
        let (mut v, mut i) = (vec![0.0; POINTS], vec![0.0; POINTS]);
        let spread = |low: f64, high: f64, by: f64, out: &mut Vec<f64>| {
            out.iter_mut().enumerate().for_each(|(k, x)| *x = by * (low + (high - low) * along(k)));
        };
        let swept = if let Stop::Current(last) = stop {
            spread(-0.2, last, truth[0], &mut i);
            device.voltage(&i, &mut v).unwrap();
            v.iter_mut().for_each(|v| *v += size * truth[1] * rng.normal());
            Swept::Current
        } else {
            let (low, high) = match stop {
                Stop::From(first) => (first, 1.1),
                Stop::Voltage(last) | Stop::Current(last) => (-0.1, last),
            };
            spread(low, high, truth[1], &mut v);
            device.current(&v, &mut i).unwrap();
            i.iter_mut().for_each(|i| *i += size * truth[0] * rng.normal());
            Swept::Voltage
        };
        let noise = match swept {
            Swept::Current => Noise::default().voltage_v(size * truth[1]),
            Swept::Voltage => Noise::default().current_a(size * truth[0]),
        };
        let noise = stated.then_some(noise);
        let options = SweepOptions::default().noise(noise).swept(swept).sign(Sign::Generator);
        let fit = fit_single_diode(&Sweep::new(&v, &i, options).unwrap(), &Options::default()).unwrap();
        tally.runs += 1;
        let points = fit.key_points();
        for (f, name) in FIGURES.iter().enumerate() {
            let figure: KeyPoint = name.parse().unwrap();
            let own = fit.interval(figure, 0.95);
            let shown = points.get(name).map(|e| e.interval(0.95));
            let linear = fit.linear_interval(figure, 0.95);
            for (k, interval) in [&own, &shown, &linear].into_iter().enumerate() {
                tally.held[f][k] += usize::from(interval.as_ref().is_some_and(|i| holds(i, truth[f])));
            }
            let is_open = own.is_none_or(|i| i.low.is_none() || i.high.is_none());
            tally.open[f] += usize::from(is_open);
            let note = points.get(name).and_then(|e| e.note());
            tally.named[f] += usize::from(note.is_some_and(|n| n.contains("extrapolated")));
        }
        if fit.status == Status::AtBound {
            let n = fit.profile_interval(Parameter::N, 0.95);
            tally.at_bound[0] += 1;
            tally.at_bound[1] += usize::from(n.low.is_none() || n.high.is_none());
        }
    }
    tally
}
