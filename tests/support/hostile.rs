//! From arbitrary bytes to a sweep and a request, and what must hold whatever they are.
//!
//! Shared by the seeded test and the fuzz target. The bytes choose between plausible curves with damage, and numbers
//! of any size; an error is a good end, a panic or a NaN is not.

use litdiode::curve;
use litdiode::estimate::{Estimate, Interval};
use litdiode::fit::{NoiseScale, Options, Parameter, Residual, Wishes, extract};
use litdiode::key_points::KeyPoint;
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use std::time::{Duration, Instant};

/// What became of the bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    /// The readings were refused.
    Sweep,
    /// The request was refused.
    Request,
    /// A fit, by its status.
    Fit(&'static str),
}

/// What became of them, the time that the fit took of its thread, and how many figures and intervals were looked at.
pub struct Run {
    pub end: End,
    pub fit: Duration,
    pub looked_at: usize,
}

/// Time that this thread has been at work, where the system tells it; else since the first call.
pub fn busy() -> Duration {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_whitespace().next()?.parse().ok());
    static FIRST: std::sync::OnceLock<Instant> = std::sync::OnceLock::new();
    nanoseconds.map_or_else(|| FIRST.get_or_init(Instant::now).elapsed(), Duration::from_nanos)
}

/// Bytes read one after the other; zeros when they are used up.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn byte(&mut self) -> u8 {
        let Some((first, rest)) = self.0.split_first() else { return 0 };
        self.0 = rest;
        *first
    }

    fn below(&mut self, n: u8) -> u8 {
        self.byte() % n
    }

    /// 0 to 1.
    fn share(&mut self) -> f64 {
        f64::from(u16::from_le_bytes([self.byte(), self.byte()])) / 65535.0
    }

    /// A number of any kind.
    fn any(&mut self) -> f64 {
        let wild =
            [0.0, -0.0, 1e300, -1e300, 5e-324, f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 9.9e37, 1.0];
        match self.below(4) {
            0 => wild[usize::from(self.below(10))],
            1 => f64::from_bits(u64::from_le_bytes(std::array::from_fn(|_| self.byte()))),
            2 => 10f64.powf(60.0 * (self.share() - 0.5)),
            _ => self.share() - 0.5,
        }
    }

    /// A positive number over `decades` decades around `x`.
    fn around(&mut self, x: f64, decades: f64) -> f64 {
        x * 10f64.powf(decades * (self.share() - 0.5))
    }
}

/// Builds, measures and fits what `bytes` say; panics where something came out that may not. Up to 40 readings, or so
/// many as are given.
pub fn run(bytes: &[u8], points: Option<usize>) -> Run {
    let mut b = Bytes(bytes);
    let kind = b.below(8);
    let few = usize::from(b.below(41));
    let points = points.unwrap_or(few);
    let (voltage_v, current_a) = readings(&mut b, kind, points);
    let options = sweep_options(&mut b, &current_a);
    let Ok(sweep) = Sweep::new(&voltage_v, &current_a, options) else {
        return Run { end: End::Sweep, fit: Duration::ZERO, looked_at: 0 };
    };
    let (free, mut looked_at) = (curve::key_points(&sweep), 0);
    for name in ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc", "efficiency"] {
        match free.get(name) {
            Some(figure) => {
                check(figure, name, false);
                looked_at += 1;
            }
            None => assert!(free.why_absent(name).is_some(), "{name} is absent without a reason"),
        }
    }
    let run = if b.below(8) == 0 { fit::<2>(&sweep, &mut b) } else { fit::<1>(&sweep, &mut b) };
    Run { looked_at: looked_at + run.looked_at, ..run }
}

fn readings(b: &mut Bytes, kind: u8, points: usize) -> (Vec<f64>, Vec<f64>) {
    if kind == 0 {
        return (0..points).map(|_| (b.any(), b.any())).unzip();
    }
    // A curve of some kind, with scatter, steps and damage.
    let (isc, voc) = (b.around(1e-2, 12.0), b.around(0.6, 3.0));
    let (bend, leak) = (voc * b.around(0.06, 0.8), b.share().powi(4));
    let noise = 0.3 * b.share().powi(6);
    let (from, to) = (-b.share(), 0.5 + b.share());
    let step = if kind < 6 { b.share().powi(6) } else { 0.0 };
    let mut readings: Vec<(f64, f64)> = (0..points)
        .map(|k| {
            let v = voc * (from + (to - from) * k as f64 / points.max(2) as f64);
            let diode = ((v - voc) / bend).exp() - (-voc / bend).exp();
            // An instrument in compliance cuts the curve off.
            let diode = if kind < 5 { diode.min(3.0) } else { diode };
            let level = if kind == 1 { 0.0 } else { 1.0 };
            let i = isc * (level - diode - leak * v / voc + noise * (b.share() - 0.5));
            (v, if step > 0.0 { (i / (step * isc)).round() * step * isc } else { i })
        })
        .collect();
    if kind == 2 || kind == 3 {
        for _ in 0..b.below(4) {
            let k = usize::from(b.byte());
            if let Some(reading) = readings.get_mut(k % points.max(1)) {
                *reading = if b.below(2) == 0 { (reading.0, b.any()) } else { (b.any(), reading.1) };
            }
        }
    }
    readings.into_iter().unzip()
}

fn sweep_options(b: &mut Bytes, current_a: &[f64]) -> SweepOptions {
    let largest = current_a.iter().fold(0.0f64, |m, a| m.max(a.abs()));
    let mut part = |scale: f64| if b.below(2) == 0 { 0.0 } else { scale * b.share() };
    let mut noise = Noise::default()
        .voltage_v(part(1e-2))
        .current_a(part(1e-2 * largest))
        .current_step_a(part(1e-3 * largest))
        .voltage_gain_u(part(1e-2))
        .current_offset_u(part(1e-3 * largest));
    // A proportional part without a floor is refused: once in a while is enough.
    if noise.voltage_v > 0.0 || b.below(16) == 0 {
        noise.voltage_rel = 1e-2 * b.share();
    }
    if noise.current_a > 0.0 || b.below(16) == 0 {
        noise.current_rel = 1e-1 * b.share();
    }
    SweepOptions::default()
        .swept(if b.below(2) == 0 { Swept::Voltage } else { Swept::Current })
        .sign([Sign::Auto, Sign::Generator, Sign::Generator, Sign::Load][usize::from(b.below(4))])
        .leads([Leads::Auto, Leads::AsGiven, Leads::AsGiven, Leads::Swapped][usize::from(b.below(4))])
        .noise((b.below(2) == 0).then_some(noise))
        .temperature_c(if b.below(16) == 0 { b.any() } else { 25.0 })
        .cells(if b.below(16) == 0 { u32::from(b.byte()) } else { 1 })
}

fn fit<const K: usize>(sweep: &Sweep, b: &mut Bytes) -> Run {
    let residuals = [
        None,
        Some(Residual::Nearest),
        Some(Residual::Current),
        Some(Residual::Voltage),
        Some(Residual::Implicit),
    ];
    let names: &[Parameter] = if K == 1 { &Parameter::OF_ONE } else { &Parameter::OF_TWO };
    let mut wishes = Wishes::default();
    if b.below(8) == 0 {
        wishes = wishes.fix(names[usize::from(b.below(names.len() as u8))], b.any());
    }
    if b.below(16) == 0 {
        wishes = wishes.start(names[usize::from(b.below(names.len() as u8))], b.any());
    }
    let noise_scale = if b.below(4) == 0 { NoiseScale::FromScatter } else { NoiseScale::Stated };
    let mut options = Options::default().wishes(wishes).noise_scale(noise_scale);
    options.residual = residuals[usize::from(b.below(5))];
    let start = busy();
    let fit = extract::<K>(sweep, &options);
    let took = busy().saturating_sub(start);
    let Ok(fit) = fit else { return Run { end: End::Request, fit: took, looked_at: 0 } };
    let mut looked_at = fit.parameters.len() + 1;
    for (name, estimate) in &fit.parameters {
        check(estimate, name.name(), *name == Parameter::Rsh);
    }
    // One interval of a parameter and one of a key point: all of them would take the test's time.
    let name = names[usize::from(b.below(names.len() as u8))];
    check_interval(&fit.interval(name, 0.95).expect("a parameter has an interval"), name.name());
    let figure = [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax, KeyPoint::Ff][usize::from(b.below(4))];
    if let Some(interval) = fit.interval(figure, 0.95) {
        check_interval(&interval, figure.name());
        looked_at += 1;
    }
    let points = fit.key_points();
    for name in ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"] {
        if let Some(figure) = points.get(name) {
            check(figure, name, false);
            looked_at += 1;
        }
    }
    assert!(fit.status.name() == "converged" || !fit.notes.is_empty(), "a status without a note");
    Run { end: End::Fit(fit.status.name()), fit: took, looked_at }
}

/// Finite, or infinite where that is legal; never NaN.
fn check(estimate: &Estimate, name: &str, may_be_infinite: bool) {
    let value = estimate.value;
    assert!(value.is_finite() || may_be_infinite && value == f64::INFINITY, "{name} = {value}");
    match estimate.u {
        Some(u) => assert!(u.is_finite() && u >= 0.0, "u of {name} = {u}"),
        None => assert!(!estimate.notes.is_empty(), "{name} has no u and no reason"),
    }
}

fn check_interval(interval: &Interval, name: &str) {
    let (low, high) = (interval.low, interval.high);
    assert!(!low.is_some_and(f64::is_nan) && !high.is_some_and(f64::is_nan), "{name}: {interval:?}");
    assert!(
        low.is_some() && high.is_some() || !interval.notes.is_empty(),
        "{name}: an end is missing without a reason"
    );
    if let (Some(low), Some(high)) = (low, high) {
        assert!(low <= high, "{name}: {interval:?}");
    }
}
