//! Key points without a model: against published data, against simulated truth, against broken input.
//!
//! The simulation here is its own: the single-diode equations solved by bisection. It shares no code with the library.

use crate::support::Rng;
use litdiode::curve::{self, Common, Stated};
use litdiode::estimate::{Estimate, Unit, coverage_factor};
use litdiode::key_points::{KeyPoints, Surroundings};
use litdiode::sweep::{Correction, Noise, Sweep, SweepOptions, Swept};

const THERMAL_V: f64 = 0.025693; // kT/q at 25 °C

/// A single diode with series and shunt resistance, a = n·kT/q.
#[derive(Clone, Copy)]
struct Device {
    iph: f64,
    i0: f64,
    a: f64,
    rs: f64,
    g: f64,
}

const SILICON: Device = Device { iph: 0.035, i0: 2e-12, a: THERMAL_V, rs: 0.5, g: 1e-4 };
const DYE: Device = Device { iph: 0.010, i0: 1e-8, a: 2.0 * THERMAL_V, rs: 10.0, g: 1e-4 };
const LEAKY: Device = Device { iph: 0.010, i0: 1e-8, a: 1.7 * THERMAL_V, rs: 5.0, g: 4e-3 };

fn bisect(mut low: f64, mut high: f64, positive_above: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if positive_above(middle) > 0.0 { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

impl Device {
    fn junction(&self, u: f64) -> f64 {
        self.iph - self.i0 * (u / self.a).exp_m1() - self.g * u
    }

    fn current(&self, v: f64) -> f64 {
        self.junction(bisect(v - 5.0, v + 2.0, |u| u - self.rs * self.junction(u) - v))
    }

    /// Isc, Voc, Pmax, FF.
    fn truth(&self) -> [f64; 4] {
        let isc = self.current(0.0);
        let voc = bisect(-1.0, 3.0, |u| -self.junction(u));
        let slope = |v: f64| v * self.current(v) - (v - 1e-6) * self.current(v - 1e-6);
        let v = bisect(0.0, voc, |v| -slope(v)) - 0.5e-6;
        let pmax = v * self.current(v);
        [isc, voc, pmax, pmax / (isc * voc)]
    }

    fn sweep(&self, points: usize, from: f64, to: f64) -> (Vec<f64>, Vec<f64>) {
        let v: Vec<f64> = (0..points).map(|k| from + (to - from) * k as f64 / (points - 1) as f64).collect();
        let i = v.iter().map(|&v| self.current(v)).collect();
        (v, i)
    }
}

fn key_points(v: &[f64], i: &[f64], options: SweepOptions) -> KeyPoints {
    curve::key_points(&Sweep::new(v, i, options).expect("a valid sweep"))
}

fn current_noise(current_a: f64) -> SweepOptions {
    SweepOptions::default().noise(Noise::default().current_a(current_a))
}

fn table(name: &str) -> (Vec<f64>, Vec<f64>) {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{path}: {e}"));
    let rows = text.lines().filter(|l| !l.starts_with('#')).skip(1);
    rows.map(|l| l.split_once(',').expect("two columns"))
        .map(|(v, i)| (v.trim().parse::<f64>().unwrap(), i.trim().parse::<f64>().unwrap()))
        .unzip()
}

fn within(estimate: &Option<Estimate>, truth: f64, times_u: f64) {
    let e = estimate.as_ref().expect("a figure");
    let u = e.u.expect("a standard uncertainty");
    assert!((e.value - truth).abs() <= times_u * u, "{} ± {u} against {truth}", e.value);
}

/// Easwarakhanthan et al., Int. J. Solar Energy 4 (1986) 1–12, cell. Expected: key points of the
/// least-squares single diode on the same table (current residual), recomputed independently.
#[test]
fn published_cell_agrees_with_its_fitted_diode() {
    let (v, i) = table("easwarakhanthan_1986_cell.csv");
    let points = key_points(&v, &i, SweepOptions::default().temperature_c(33.0));
    within(&points.isc, 0.7602623008, 3.0);
    within(&points.voc, 0.5727804046, 3.0);
    within(&points.pmax, 0.3106947012, 3.0);
    within(&points.v_pmax, 0.4506853151, 3.0);
    within(&points.i_pmax, 0.6893827928, 3.0);
    within(&points.ff, 0.7134807153, 3.0);
    for figure in ["isc", "voc", "pmax", "ff"] {
        assert!(points.get(figure).unwrap().relative_u().unwrap() < 0.005, "{figure} too uncertain");
    }
}

/// The readings within a fifth of Voc of the point of maximum power, by hand.
#[test]
fn the_window_of_the_maximum_holds_the_readings_about_it() {
    let device = DYE;
    let [_, voc, pmax, _] = device.truth();
    let (v, i) = device.sweep(60, -0.05, 1.12 * voc);
    let sweep = Sweep::new(&v, &i, SweepOptions::default()).unwrap();
    let at = (0..v.len()).max_by(|a, b| (v[*a] * i[*a]).total_cmp(&(v[*b] * i[*b]))).unwrap();
    assert!((v[at] * i[at] / pmax - 1.0).abs() < 0.01);
    let (low, high) = litdiode::curve::window_of_maximum(&sweep).unwrap();
    let step = v[1] - v[0];
    assert!((low - (v[at] - 0.2 * voc)).abs() < 2.0 * step, "{low} {}", v[at] - 0.2 * voc);
    assert!((high - (v[at] + 0.2 * voc)).abs() < 2.0 * step, "{high} {}", v[at] + 0.2 * voc);
    assert!(v.contains(&low) && v.contains(&high));
}

/// The module's table begins at 0.1248 V: Isc and what needs it are absent, the rest is there.
#[test]
fn nothing_is_extrapolated_to_zero_volts() {
    let (v, i) = table("easwarakhanthan_1986_module.csv");
    let points = key_points(&v, &i, SweepOptions::default().cells(36));
    assert!(points.isc.is_none() && points.ff.is_none() && points.jsc.is_none());
    assert!(points.why_absent("isc").unwrap().to_string().contains("0.1248 V"), "{:?}", points.absent);
    assert!(points.voc.as_ref().unwrap().relative_u().unwrap() < 0.002);
    // By hand from the table: the best sample is 12.4929 V · 0.9255 A = 11.5622 W.
    assert!((points.pmax.unwrap().value / 11.5622 - 1.0).abs() < 0.01);
}

#[test]
fn nothing_is_extrapolated_to_zero_amperes_or_beyond_the_maximum() {
    let voc = SILICON.truth()[1];
    let (v, i) = SILICON.sweep(25, -0.05, 0.97 * voc);
    let points = key_points(&v, &i, current_noise(1e-6));
    assert!(points.voc.is_none() && points.ff.is_none());
    assert!(points.isc.is_some() && points.pmax.is_some());
    let (v, i) = SILICON.sweep(25, -0.05, 0.75 * voc);
    let points = key_points(&v, &i, current_noise(1e-6));
    assert!(points.isc.is_some() && points.pmax.is_none() && points.v_pmax.is_none());
    assert!(points.why_absent("pmax").unwrap().to_string().contains("end of the sweep"));
}

/// 95 % intervals of Isc, Voc, Pmax and FF over devices, noise levels, noise stated and unknown.
///
/// 400 sweeps of 25 points a case: the count of a true 95 % has a standard deviation of 1.1 %. A case
/// must cover 91.5 to 99 %, a figure over all cases 93.5 to 97 %.
#[test]
fn intervals_cover_the_truth() {
    const DRAWS: usize = 400;
    let mut total = [0usize; 4];
    let mut cases = 0;
    for (name, device) in [("silicon", SILICON), ("dye", DYE), ("leaky", LEAKY)] {
        let truth = device.truth();
        for level in [0.001, 0.003, 0.01] {
            for stated in [true, false] {
                let hits = covered(&device, &truth, level, stated, DRAWS);
                for (k, figure) in ["isc", "voc", "pmax", "ff"].iter().enumerate() {
                    let share = hits[k] as f64 / DRAWS as f64;
                    assert!(
                        (0.915..=0.99).contains(&share),
                        "{name} {level} stated {stated}: {figure} {share}"
                    );
                    total[k] += hits[k];
                }
                cases += 1;
            }
        }
    }
    for hits in total {
        let share = hits as f64 / (cases * DRAWS) as f64;
        assert!((0.935..=0.97).contains(&share), "over all cases: {total:?}");
    }
}

fn covered(device: &Device, truth: &[f64; 4], level: f64, stated: bool, draws: usize) -> [usize; 4] {
    let mut random = Rng(0x9E37_79B9_7F4A_7C15);
    let mut hits = [0; 4];
    let step = 1.11 * truth[1] / 25.0;
    for _ in 0..draws {
        // The phase of the grid against the knee is part of what must be covered.
        let from = -0.05 * truth[1] + step * random.unit();
        let (v, clean) = device.sweep(25, from.min(0.0), from + 24.0 * step);
        let sigma = level * truth[0];
        let i: Vec<f64> = clean.iter().map(|i| i + sigma * random.normal()).collect();
        let options = if stated { current_noise(sigma) } else { SweepOptions::default() };
        let points = key_points(&v, &i, options);
        for (k, figure) in ["isc", "voc", "pmax", "ff"].iter().enumerate() {
            let e = points.get(figure).unwrap_or_else(|| panic!("{figure}: {:?}", points.absent));
            let half = coverage_factor(0.95, e.dof).unwrap() * e.u.expect("u");
            hits[k] += usize::from((e.value - truth[k]).abs() <= half);
        }
    }
    hits
}

/// Without noise all that is left is truncation, and the stated ± must hold it.
#[test]
fn truncation_alone_is_within_the_stated_uncertainty() {
    for device in [SILICON, DYE, LEAKY] {
        let truth = device.truth();
        for points in [12, 25, 60] {
            let (v, i) = device.sweep(points, -0.03, 1.07 * truth[1]);
            let found = key_points(&v, &i, current_noise(1e-9 * truth[0]));
            for (k, figure) in ["isc", "voc", "pmax", "ff"].iter().enumerate() {
                within(&found.get(figure).cloned(), truth[k], 4.0);
            }
        }
    }
}

/// A current-stepped sweep has its scatter on the voltage: found there, it is near the true 1 mV.
#[test]
fn current_stepped_sweeps_scatter_along_the_voltage() {
    let [isc, voc, ..] = DYE.truth();
    let mut random = Rng(11);
    let (mut hits, mut mean_u2) = (0, 0.0);
    for _ in 0..200 {
        let i: Vec<f64> = (0..25).map(|k| isc * (0.999 - 1.2 * k as f64 / 24.0)).collect();
        let at = |i: f64| bisect(-1.0, 1.0, |v| i - DYE.current(v));
        let v: Vec<f64> = i.iter().map(|&i| at(i) + 1e-3 * random.normal()).collect();
        let points = key_points(&v, &i, SweepOptions::default().swept(Swept::Current));
        let e = points.voc.expect("Voc");
        hits += usize::from((e.value - voc).abs() <= coverage_factor(0.95, e.dof).unwrap() * e.u.unwrap());
        mean_u2 += e.u.unwrap().powi(2) / 200.0;
    }
    assert!((180..=200).contains(&hits), "{hits} of 200");
    // Some five readings near Voc share the fit: between a third and two thirds of a millivolt.
    assert!((3.3e-4..6.7e-4).contains(&mean_u2.sqrt()), "{}", mean_u2.sqrt());
}

/// A gain is common to all readings: it appears in full in Isc and Pmax, in Voc and FF not at all.
#[test]
fn common_gain_does_not_average_down() {
    let [_, voc, ..] = SILICON.truth();
    let (v, i) = SILICON.sweep(40, -0.05, 1.05 * voc);
    let with = |current_gain_u: f64, voltage_offset_u: f64| {
        let noise = Noise::default()
            .current_a(1e-8)
            .current_gain_u(current_gain_u)
            .voltage_offset_u(voltage_offset_u);
        key_points(&v, &i, SweepOptions::default().noise(noise))
    };
    let (gain, offset, none) = (with(0.02, 0.0), with(0.0, 1e-3), with(0.0, 0.0));
    let extra = |a: &KeyPoints, name: &str| {
        let (u, u0) = (a.get(name).unwrap().u.unwrap(), none.get(name).unwrap().u.unwrap());
        (u * u - u0 * u0).max(0.0).sqrt() / none.get(name).unwrap().value
    };
    assert!((extra(&gain, "isc") - 0.02).abs() < 1e-4);
    assert!((extra(&gain, "pmax") - 0.02).abs() < 1e-4);
    assert!(extra(&gain, "voc") < 1e-4 && extra(&gain, "ff") < 1e-3);
    // An offset of the voltage moves Voc by itself and Isc by g times it.
    assert!((extra(&offset, "voc") * voc - 1e-3).abs() < 1e-5);
    assert!(extra(&offset, "isc") < 1e-4);
}

#[test]
fn order_of_entry_and_size_of_the_device_do_not_matter() {
    let [isc, voc, ..] = DYE.truth();
    let (v, clean) = DYE.sweep(25, -0.03, 1.05 * voc);
    let mut random = Rng(5);
    let i: Vec<f64> = clean.iter().map(|i| i + 0.003 * isc * random.normal()).collect();
    let plain = key_points(&v, &i, SweepOptions::default());
    let mixed: Vec<usize> = (0..25).map(|k| (k * 7 + 3) % 25).collect();
    let of = |x: &[f64]| mixed.iter().map(|&k| x[k]).collect::<Vec<f64>>();
    assert_eq!(plain, key_points(&of(&v), &of(&i), SweepOptions::default()));
    for factor in [1e-9, 1e6] {
        let scaled: Vec<f64> = i.iter().map(|i| factor * i).collect();
        let other = key_points(&v, &scaled, SweepOptions::default());
        for (name, power) in [("isc", 1), ("voc", 0), ("pmax", 1), ("ff", 0)] {
            let (a, b) = (plain.get(name).unwrap(), other.get(name).unwrap());
            let by = factor.powi(power);
            assert!((b.value / (by * a.value) - 1.0).abs() < 1e-9, "{name} × {factor}");
            assert!((b.u.unwrap() / (by * a.u.unwrap()) - 1.0).abs() < 1e-6, "{name} × {factor}");
        }
    }
}

/// A dark diode: Isc and Voc are zero within their ±, there is no Pmax and no FF, and the reasons say so.
#[test]
fn dark_curve_delivers_nothing() {
    let dark = Device { iph: 0.0, i0: 1e-9, a: 1.5 * THERMAL_V, rs: 1.0, g: 1e-4 };
    let (v, clean) = dark.sweep(40, -0.3, 0.6);
    let mut with_voc = 0;
    for sigma in [1e-12, 1e-6] {
        let mut random = Rng(3);
        let i: Vec<f64> = clean.iter().map(|i| i + sigma * random.normal()).collect();
        let points = key_points(&v, &i, current_noise(sigma));
        within(&points.isc, 0.0, 3.0);
        if points.voc.is_some() {
            within(&points.voc, 0.0, 3.0);
            with_voc += 1;
        }
        assert!(points.ff.is_none() && points.pmax.is_none(), "{points:?}");
        assert!(points.why_absent("pmax").unwrap().to_string().contains("power"), "{:?}", points.absent);
    }
    assert_eq!(with_voc, 2);
}

/// Two opposed exponentials make the S; the truth comes from a fine grid of the same formula.
#[test]
fn s_shaped_curve_keeps_its_interval() {
    let current = |v: f64| {
        let knee = 0.01 - 1e-6 * ((v / 0.06).exp() - 1.0);
        // A barrier that opens with forward bias: a dip before Voc.
        knee - 0.004 / (1.0 + (-(v - 0.35) / 0.05).exp())
    };
    let voc = bisect(0.0, 1.0, |v| -current(v));
    let truth = (0..200_000).map(|k| voc * k as f64 / 2e5).map(|v| v * current(v)).fold(0.0, f64::max);
    let v: Vec<f64> = (0..30).map(|k| -0.02 + 0.62 * k as f64 / 29.0).collect();
    let mut random = Rng(17);
    let mut hits = 0;
    for _ in 0..200 {
        let i: Vec<f64> = v.iter().map(|&v| current(v) + 3e-5 * random.normal()).collect();
        let points = key_points(&v, &i, current_noise(3e-5));
        hits += points.pmax.map_or(0, |p| usize::from((p.value - truth).abs() <= 1.96 * p.u.unwrap()));
    }
    assert!(hits >= 174, "{hits} of 200");
}

/// With fewer than seven readings and no noise stated there is no ±, and the reason says what to pass.
#[test]
fn few_readings_have_no_uncertainty_of_their_own() {
    let (v, i) = DYE.sweep(5, 0.0, 0.75);
    let points = key_points(&v, &i, SweepOptions::default());
    let isc = points.isc.expect("Isc");
    assert_eq!(isc.u, None);
    assert!(isc.note().unwrap().contains("state the noise"));
    let points = key_points(&v, &i, current_noise(1e-5));
    assert!(points.isc.unwrap().u.is_some());
    let (v, i) = DYE.sweep(3, 0.0, 0.75);
    let points = key_points(&v, &i, current_noise(1e-5));
    assert!(points.pmax.is_none() && points.why_absent("pmax").unwrap().to_string().contains("3 different"));
}

/// Stated noise that the readings belie is named, and the figures stay.
#[test]
fn scatter_beyond_the_stated_noise_is_said() {
    let [isc, voc, ..] = DYE.truth();
    let (v, clean) = DYE.sweep(40, -0.03, 1.05 * voc);
    let mut random = Rng(23);
    let i: Vec<f64> = clean.iter().map(|i| i + 0.01 * isc * random.normal()).collect();
    let note = |sigma: f64| key_points(&v, &i, current_noise(sigma)).isc.unwrap().note();
    assert!(note(0.001 * isc).expect("a remark").contains("times the stated noise"));
    assert_eq!(note(0.01 * isc), None);
}

/// Random and degenerate readings: figures are finite, Pmax lies within the sweep, FF is at most 1.
#[test]
fn broken_readings_never_panic_nor_leave_the_range() {
    let mut random = Rng(99);
    let mut checked = [0usize; 4];
    for round in 0..20_000 {
        let n = 1 + (random.unit() * 30.0) as usize;
        let coarse = 1.0 + (random.unit() * 20.0).floor();
        let size = 10f64.powf(60.0 * random.unit() - 30.0);
        let v: Vec<f64> = (0..n).map(|_| (coarse * random.normal()).round() / coarse).collect();
        let i: Vec<f64> = match round % 4 {
            0 => v.iter().map(|_| size * random.normal()).collect(),
            1 => v.iter().map(|v| size * (1.0 - v.exp())).collect(),
            2 => v
                .iter()
                .map(|v| size * (1.0 - (v * 4.0).exp() * 1e-2) + 0.1 * size * random.normal())
                .collect(),
            _ => v.iter().map(|v| size * (0.5 - v).signum()).collect(),
        };
        let (zero, flat) = (|_: f64| 0.0, |_: f64| 0.05 * size);
        let (along_v, always) = (|_: f64| 0.01, |_: f64| f64::MAX);
        for stated in [
            Stated::ReadCurrent,
            Stated::ReadVoltage,
            Stated::Known(&zero, &flat),
            Stated::Known(&along_v, &zero),
            Stated::Known(&zero, &always),
        ] {
            sound(&v, &i, &stated, &mut checked);
        }
    }
    println!("{checked:?} of 100000 with a maximum, its current, FF, and a ± of a figure");
    assert!(checked.iter().zip(FLOORS).all(|(n, floor)| *n >= floor), "{checked:?}");
    for odd in [f64::NAN, f64::INFINITY, f64::MAX, f64::MIN_POSITIVE, 0.0, -0.0, 5e-324] {
        for n in 0..12 {
            let mut v: Vec<f64> = (0..n).map(|k| 0.1 * k as f64).collect();
            let mut i: Vec<f64> = v.iter().map(|v| 1.0 - v * v).collect();
            sound(&v, &vec![odd; n], &Stated::ReadCurrent, &mut checked);
            sound(&vec![odd; n], &i, &Stated::ReadCurrent, &mut checked);
            if n > 2 {
                i[n / 2] = odd;
                sound(&v, &i, &Stated::ReadCurrent, &mut checked);
                sound(&v, &i, &Stated::ReadVoltage, &mut checked);
                v[n / 2] = odd;
                sound(&v, &i, &Stated::ReadCurrent, &mut checked);
            }
        }
    }
}

/// Figures of the broken readings that are there to be looked at, at least.
const FLOORS: [usize; 4] = [10_000, 10_000, 6_000, 100_000];

fn sound(v: &[f64], i: &[f64], stated: &Stated, checked: &mut [usize; 4]) {
    let found = curve::found(v, i, stated, &Common::default());
    let span =
        |x: &[f64]| x.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &x| (l.min(x), h.max(x)));
    let ((low, high), (least, most)) = (span(v), span(i));
    for value in found.values.iter().flatten() {
        assert!(value.is_finite(), "{found:?} from {v:?} {i:?}");
    }
    if let Ok(v_pmax) = found.values[3] {
        assert!(low <= v_pmax && v_pmax <= high, "{found:?} from {v:?} {i:?}");
        checked[0] += 1;
    }
    if let Ok(i_pmax) = found.values[4] {
        assert!(least <= i_pmax && i_pmax <= most, "{found:?} from {v:?} {i:?}");
        checked[1] += 1;
    }
    let points = KeyPoints::new(&found, Surroundings::default());
    if let Some(ff) = &points.ff {
        assert!((0.0..=1.0).contains(&ff.value), "{found:?} from {v:?} {i:?}");
        checked[2] += 1;
    }
    for figure in ["isc", "voc", "pmax", "v_pmax", "i_pmax"] {
        if let Some(u) = points.get(figure).and_then(|e| e.u) {
            assert!(u >= 0.0 && u.is_finite(), "{figure}: {found:?} from {v:?} {i:?}");
            checked[3] += 1;
        }
    }
}

/// A device left with swapped leads has the same figures with the signs of both axes turned.
#[test]
fn swapped_leads_as_given_mirror_the_figures() {
    let (v, i) = DYE.sweep(30, -0.03, 0.75);
    let turn = |x: &[f64]| x.iter().map(|x| -x).collect::<Vec<f64>>();
    let right = key_points(&v, &i, current_noise(1e-5));
    let options = current_noise(1e-5).leads(litdiode::sweep::Leads::AsGiven);
    let wrong = key_points(&turn(&v), &turn(&i), options);
    for (figure, sign) in [("isc", -1.0), ("voc", -1.0), ("pmax", 1.0), ("v_pmax", -1.0), ("i_pmax", -1.0)] {
        let (a, b) = (right.get(figure).unwrap(), wrong.get(figure).unwrap());
        assert!((a.value - sign * b.value).abs() <= 1e-12 * a.value.abs(), "{figure}");
        assert!((a.u.unwrap() / b.u.unwrap() - 1.0).abs() < 1e-9, "{figure}");
    }
    assert!(wrong.ff.is_none());
}

/// A sweep from 0.15 Voc to 0.96 Voc: nothing without a request; on request Isc and Voc with intervals that hold the
/// truth, a note that says so, and more u than the same readings on the far side would leave.
#[test]
fn extrapolation_is_asked_for_and_paid_for() {
    const DRAWS: usize = 500;
    let both = curve::Beyond::default().isc(true).voc(true);
    for (name, device) in [("silicon", SILICON), ("dye", DYE), ("leaky", LEAKY)] {
        let truth = device.truth();
        for level in [0.003, 0.01] {
            let (mut random, mut hits) = (Rng(0x5DEE_CE66D), [0; 4]);
            let (v, clean) = device.sweep(25, 0.15 * truth[1], 0.96 * truth[1]);
            let mut given = 0;
            for _ in 0..DRAWS {
                let i: Vec<f64> = clean.iter().map(|i| i + level * truth[0] * random.normal()).collect();
                let sweep = Sweep::new(&v, &i, SweepOptions::default()).unwrap();
                let (plain, points) = (curve::key_points(&sweep), curve::key_points_beyond(&sweep, both));
                assert!(plain.isc.is_none() && plain.voc.is_none() && plain.ff.is_none());
                assert_eq!(plain.pmax, points.pmax);
                let (Some(voc), Some(ff)) = (&points.voc, &points.ff) else { continue };
                given += 1;
                assert!(voc.note().unwrap().contains("extrapolated"));
                assert!(ff.note().unwrap().contains("extrapolated to V = 0"));
                for (k, figure) in ["isc", "voc", "pmax", "ff"].iter().enumerate() {
                    let e = points.get(figure).unwrap_or_else(|| panic!("{figure}: {:?}", points.absent));
                    let half = coverage_factor(0.95, e.dof).unwrap() * e.u.expect("u");
                    hits[k] += usize::from((e.value - truth[k]).abs() <= half);
                }
            }
            println!("{name} {level}: {given} given, held {hits:?}");
            assert!(given > 490, "{name} {level}: {given}");
            for k in [0, 1, 3] {
                assert!(hits[k] as f64 > 0.90 * f64::from(given), "{name} {level}: {hits:?} of {given}");
            }
        }
    }
    // Too far: half of the range is missing.
    let voc = DYE.truth()[1];
    let (v, i) = DYE.sweep(25, 0.45 * voc, 1.05 * voc);
    let far = Sweep::new(&v, &i, current_noise(1e-5)).unwrap();
    let far = curve::key_points_beyond(&far, both);
    assert!(far.why_absent("isc").unwrap().to_string().contains("too far"), "{:?}", far.absent);
}

/// An offset that is corrected with a ± is that of an instrument whose offset is known with the same ±: also where Isc, or
/// Voc, is read beyond the sweep.
#[test]
fn a_correction_keeps_the_uncertainty_of_what_is_extrapolated() {
    let voc = DYE.truth()[1];
    let both = curve::Beyond::default().isc(true).voc(true);
    for (low, high) in [(0.12 * voc, 1.05 * voc), (-0.05 * voc, 0.97 * voc)] {
        let (v, clean) = DYE.sweep(25, low, high);
        let mut random = Rng(31);
        let i: Vec<f64> = clean.iter().map(|i| i + 2e-6 * random.normal()).collect();
        let noise = Noise::default().current_a(2e-6);
        let offset = |u: f64| Correction::Offset {
            voltage_v: Some(Estimate::new(0.0, u, Unit::Volt)),
            current_a: None,
        };
        for u in [1e-6, 1e-3] {
            let corrected = SweepOptions::default().noise(noise).corrections(vec![offset(u)]);
            let stated = SweepOptions::default().noise(noise.voltage_offset_u(u));
            let [a, b] = [corrected, stated]
                .map(|options| curve::key_points_beyond(&Sweep::new(&v, &i, options).unwrap(), both));
            for figure in ["isc", "voc", "pmax", "ff"] {
                let [a, b] = [&a, &b].map(|points| points.get(figure).unwrap());
                let [ua, ub] = [a.u.unwrap_or(f64::NAN), b.u.unwrap_or(f64::NAN)];
                assert!((ua / ub - 1.0).abs() < 0.05, "{figure} from {low}, {u}: {a} and {b}");
            }
        }
    }
}
