//! Smooths of simulated sweeps against the best constant penalty, and how often their bands hold the curve. Invented
//! devices: those of even number may be looked at while constants are chosen, those of odd number only afterwards.

use super::{Rng, as_given, device};
use litdiode::diode::thermal_voltage_v;
use litdiode::estimate::Interval;
use litdiode::interpolant::{Penalty, Points, Smooth, smooth_sweep, smoothing};
use litdiode::sweep::{Noise, Sweep, Swept};

/// Kinds of device.
pub const KINDS: [&str; 3] = ["dye-like", "silicon", "S-shaped"];

/// Kinds of device, by name and number, whose sweeps stepped in current are judged place by place.
pub const STEPPED: [(usize, &str); 6] =
    [(0, "dye-like"), (1, "silicon"), (3, "high Rs"), (4, "leaky"), (5, "36 cells"), (6, "perovskite-like")];

/// A diode of Isc ≈ 1 A, the S-shaped kind with a barrier in series.
pub struct Device {
    device: device::Device,
    pub voc: f64,
}

impl Device {
    /// Device `number` of a kind (its place in [`KINDS`]).
    pub fn new(kind: usize, number: u64) -> Self {
        let mut rng = Rng(1_000_003 * (kind as u64 + 1) + number);
        // Lowest and highest Voc, n, Rs·Isc/Voc and Rsh·Isc/Voc.
        let [voc, n, series, shunt] = [
            [[0.60, 0.75], [1.5, 2.2], [0.03, 0.12], [6.0, 40.0]],
            [[0.55, 0.70], [1.0, 1.4], [0.01, 0.06], [30.0, 500.0]],
            [[0.60, 0.90], [1.2, 1.8], [0.01, 0.06], [15.0, 100.0]],
            [[0.55, 0.70], [1.0, 1.6], [0.15, 0.35], [20.0, 200.0]],
            [[0.50, 0.65], [1.0, 1.6], [0.01, 0.06], [2.0, 5.0]],
            [[20.0, 23.0], [1.0, 1.4], [0.01, 0.06], [30.0, 300.0]],
            [[1.00, 1.20], [1.3, 2.0], [0.03, 0.10], [10.0, 100.0]],
        ][kind];
        let (voc, n) = (rng.between(voc[0], voc[1]), rng.between(n[0], n[1]));
        let (series, shunt) = (rng.between(series[0], series[1]), rng.decades(shunt[0], shunt[1]));
        let (barrier_v, barrier_a) =
            if kind == 2 { (rng.between(0.03, 0.1), rng.decades(0.03, 0.3)) } else { (0.0, 1.0) };
        let cells = if kind == 5 { 36 } else { 1 };
        let a = thermal_voltage_v(n, cells, 25.0);
        let i0 = device::saturation_a(1.0 - 1.0 / shunt, voc, n, cells);
        let device = device::Device::single(1.0, i0, a, series * voc, 1.0 / (shunt * voc));
        Self { device: device.barrier(barrier_v, barrier_a), voc }
    }

    pub fn voltage(&self, i: f64) -> f64 {
        self.device.voltage_at(i)
    }

    pub fn current(&self, v: f64) -> f64 {
        self.device.current_at(v)
    }
}

/// One kind of sweep: even steps of voltage from −0.05 to 1.05 Voc, shifted by chance up to half a step either way; or even
/// steps of current from 0 to 1.03 Isc.
#[derive(Clone, Copy)]
pub struct Case {
    pub kind: usize,
    pub points: usize,
    /// Whether the current is stepped and the voltage read.
    pub current_stepped: bool,
    /// Standard deviation of what is read as a share of Isc, or of Voc.
    pub noise: f64,
    /// Whether the sweep states it.
    pub stated: bool,
}

/// What became of many sweeps of one kind.
pub struct Tally {
    /// Median and 90th percentile of the rms error over that of the best constant penalty.
    pub error: [f64; 2],
    /// The same of plain generalised cross-validation with a constant penalty.
    pub constant: [f64; 2],
    /// How often in % the 95 % band holds the curve, averaged over it; the same of the band that counts with the bias.
    pub holds: [f64; 2],
}

const PLACES: usize = 221;
/// Decades of the constant penalties, in units of σ²·V³, and their number.
const DECADES: [f64; 2] = [-9.0, 3.0];
const PENALTIES: usize = 97;

fn rms(a: &[f64], b: &[f64]) -> f64 {
    (a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum::<f64>() / a.len() as f64).sqrt()
}

/// In order: the median and the 90th percentile.
fn quantiles(mut x: Vec<f64>) -> [f64; 2] {
    x.sort_by(f64::total_cmp);
    [0.5, 0.9].map(|q| x[(q * (x.len() - 1) as f64).round() as usize])
}

/// `sweeps` sweeps of devices of even (`kept` false) or odd number, each with its own device.
pub fn tally(case: Case, kept: bool, sweeps: u64) -> Tally {
    let (mut error, mut constant, mut holds) = (Vec::new(), Vec::new(), [0.0; 2]);
    for k in 0..sweeps {
        let number = 2 * k + u64::from(kept);
        let device = Device::new(case.kind, number);
        let mut rng = Rng(77_000_000 + 1000 * number + (1e5 * case.noise) as u64);
        let (v, i) = if case.current_stepped {
            of_current(&device, case, &mut rng)
        } else {
            of_voltage(&device, case, &mut rng)
        };
        let (low, high) =
            v.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
        let x: Vec<f64> =
            (0..PLACES).map(|k| (low + (high - low) * k as f64 / (PLACES - 1) as f64).min(high)).collect();
        let truth: Vec<f64> = x.iter().map(|v| device.current(*v)).collect();
        let voltage = if case.current_stepped { case.noise * device.voc } else { 0.0 };
        let current = if case.current_stepped { 0.0 } else { case.noise };
        let noise = case.stated.then(|| Noise::default().current_a(current).voltage_v(voltage));
        let swept = if case.current_stepped { Swept::Current } else { Swept::Voltage };
        let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise).swept(swept)).unwrap();
        let smooth = smooth_sweep(&sweep, Penalty::CrossValidation).unwrap();
        let off = |smooth: &Smooth| rms(&smooth.curve().current(&x, false).unwrap().values, &truth);
        let [best, crossed] = if case.current_stepped {
            // The error of V(I) at even currents, against constant penalties of the same.
            let at: Vec<f64> = (0..PLACES).map(|k| i[i.len() - 1] * k as f64 / (PLACES - 1) as f64).collect();
            let truth: Vec<f64> = at.iter().map(|i| device.voltage(*i)).collect();
            let off = |curve: &Smooth| rms(&curve.curve().current(&at, true).unwrap().values, &truth);
            let found = constants(&Points::new(&i, &v).unwrap(), off);
            let of_current = smooth.curve().voltage(&at, true).unwrap();
            let range = smooth.curve().range_v();
            let voltage: Vec<f64> = of_current.iter().map(|v| v.within_or_nearest(range)[0]).collect();
            error.push(rms(&voltage, &truth) / found[0]);
            found
        } else {
            let found = constants(&Points::new(&v, &i).unwrap(), off);
            error.push(off(&smooth) / found[0]);
            found
        };
        constant.push(crossed / best);
        let inside = |band: Vec<Interval>| {
            let one = |(b, y): (&Interval, &f64)| f64::from(b.low.unwrap() <= *y && *y <= b.high.unwrap());
            100.0 * band.iter().zip(&truth).map(one).sum::<f64>() / (PLACES as f64 * sweeps as f64)
        };
        holds[0] += inside(smooth.band(&x, 0.95).unwrap());
        holds[1] += inside(smooth.band_with_bias(&x, 0.95).unwrap());
    }
    Tally { error: quantiles(error), constant: quantiles(constant), holds }
}

type Readings = (Vec<f64>, Vec<f64>);

fn of_voltage(device: &Device, case: Case, rng: &mut Rng) -> Readings {
    let step = 1.1 * device.voc / (case.points - 1) as f64;
    let from = -0.05 * device.voc + step * rng.between(-0.5, 0.5);
    let v: Vec<f64> = (0..case.points).map(|k| from + step * k as f64).collect();
    let i = v.iter().map(|v| device.current(*v) + case.noise * rng.normal()).collect();
    (v, i)
}

fn of_current(device: &Device, case: Case, rng: &mut Rng) -> Readings {
    let most = 1.03 * device.current(0.0);
    let i: Vec<f64> = (0..case.points).map(|k| most * k as f64 / (case.points - 1) as f64).collect();
    let read = |i: &f64| device.voltage(*i) + case.noise * device.voc * rng.normal();
    let v = i.iter().map(read).collect();
    (v, i)
}

/// The least rms error of all constant penalties, and that of generalised cross-validation among them.
fn constants(points: &Points, off: impl Fn(&Smooth) -> f64) -> [f64; 2] {
    let n = points.len() as f64;
    let (mut best, mut least, mut crossed) = (f64::INFINITY, f64::INFINITY, f64::NAN);
    for k in 0..PENALTIES {
        let share = k as f64 / (PENALTIES - 1) as f64;
        let lambda = 10f64.powf(DECADES[0] + (DECADES[1] - DECADES[0]) * share);
        let smooth = smoothing(points, Penalty::Lambda(lambda)).unwrap();
        let error = off(&smooth);
        best = best.min(error);
        let score = smooth.chi2() / smooth.residual_dof().powi(2);
        if smooth.edf() < 2.0 + 0.95 * (n - 2.0) && score < least {
            (least, crossed) = (score, error);
        }
    }
    [best, crossed]
}

/// Even voltages from 0 to a share of Voc at which a sweep stepped in current is judged: readings of 2 % noise nearly
/// always reach as far.
pub const EVEN: usize = 25;
const REACH: f64 = 0.92;

/// What became of many sweeps of one device stepped in current.
#[derive(Clone, Debug)]
pub struct Held {
    /// How often in % the 95 % band with bias, and the 95 % interval of the slope, hold the truth at each of the voltages.
    pub band: [f64; EVEN],
    pub slope: [f64; EVEN],
    /// How often a smooth lay outside its own band, at all places of all sweeps.
    pub outside: usize,
    /// Mean width of the band in Isc.
    pub width: f64,
}

/// `sweeps` sweeps of device `number`, which differ by their noise alone.
pub fn held(case: Case, number: u64, sweeps: u64) -> Held {
    let device = Device::new(case.kind, number);
    let x: [f64; EVEN] = std::array::from_fn(|k| REACH * device.voc * k as f64 / (EVEN - 1) as f64);
    let current = x.map(|v| device.current(v));
    let step = 1e-5 * device.voc;
    let slope = x.map(|v| (device.current(v + step) - device.current(v - step)) / (2.0 * step));
    let mut held = Held { band: [0.0; EVEN], slope: [0.0; EVEN], outside: 0, width: 0.0 };
    let each = 100.0 / sweeps as f64;
    for k in 0..sweeps {
        let mut rng = Rng(91_000_000 + 7919 * number + 104_729 * k + case.points as u64);
        let smooth = stepped(&device, case, &mut rng);
        let within = |b: &Interval, y: f64| b.low.unwrap() <= y && y <= b.high.unwrap();
        let band = smooth.band_with_bias(&x, 0.95).unwrap();
        let slopes = smooth.slope(&x).unwrap();
        for j in 0..EVEN {
            held.band[j] += if within(&band[j], current[j]) { each } else { 0.0 };
            held.slope[j] += if within(&slopes[j].interval(0.95), slope[j]) { each } else { 0.0 };
            held.width += (band[j].high.unwrap() - band[j].low.unwrap()) / (EVEN as f64 * sweeps as f64);
        }
        held.outside += outside(&smooth);
    }
    held
}

/// A smooth of a sweep stepped in current; where there is no noise, or less than 0.1 %, 0.1 % is stated.
pub fn stepped(device: &Device, case: Case, rng: &mut Rng) -> Smooth {
    let (v, i) = of_current(device, case, rng);
    let noise = case.stated.then(|| Noise::default().voltage_v(case.noise.max(0.001) * device.voc));
    let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise).swept(Swept::Current)).unwrap();
    smooth_sweep(&sweep, Penalty::CrossValidation).unwrap()
}

/// At how many of many places, over the whole range and between 0 and its upper end, a smooth lies outside its own bands.
pub fn outside(smooth: &Smooth) -> usize {
    let (low, high) = smooth.curve().range_v();
    let from = |low: f64| (0..=100).map(move |k| (low + (high - low) * f64::from(k) / 100.0).min(high));
    let x: Vec<f64> = from(low).chain(from(low.max(0.0))).collect();
    let value = smooth.curve().current(&x, false).unwrap().values;
    let count = |band: Vec<Interval>| {
        band.iter().zip(&value).filter(|(b, y)| !(b.low.unwrap() <= **y && **y <= b.high.unwrap())).count()
    };
    count(smooth.band(&x, 0.95).unwrap())
        + count(smooth.band(&x, 0.5).unwrap())
        + count(smooth.band_with_bias(&x, 0.95).unwrap())
}
