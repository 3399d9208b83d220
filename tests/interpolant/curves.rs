//! Interpolants and smooths of a sweep: against SciPy's, against polynomials, against what must always hold.
//!
//! `tests/data/interpolants.csv` is made by `tests/data/make_interpolants.py`.

use crate::support::Rng;
use litdiode::interpolant::{
    InterpolantError, Penalty, Piecewise, Points, linear, monotone_cubic, natural_cubic, shape_constrained,
    smoothing,
};
use std::collections::BTreeMap;

type Builder = fn(&Points) -> Result<Piecewise, InterpolantError>;

/// Every builder, with the choices of penalty that need no noise.
const BUILDERS: [(&str, Builder); 6] = [
    ("linear", linear),
    ("monotone", monotone_cubic),
    ("natural", natural_cubic),
    ("smoothing", |p| Ok(smoothing(p, Penalty::CrossValidation)?.curve().clone())),
    ("stiff", |p| Ok(smoothing(p, Penalty::Lambda(1e-6))?.curve().clone())),
    ("shape", |p| Ok(shape_constrained(p)?.curve().clone())),
];

/// Uneven, unsorted voltages in a range, with a repeated one.
fn voltages(rng: &mut Rng, count: usize, low: f64, high: f64) -> Vec<f64> {
    let mut v: Vec<f64> = (0..count).map(|_| rng.between(low, high)).collect();
    v[1] = v[count - 1];
    v
}

fn grid(low: f64, high: f64, count: usize) -> Vec<f64> {
    (0..=count).map(|k| (low + (high - low) * k as f64 / count as f64).clamp(low, high)).collect()
}

/// (x, value) of one sweep, method and quantity.
type Table = BTreeMap<(String, String, String), Vec<(f64, f64)>>;

fn table() -> Table {
    let path = format!("{}/tests/data/interpolants.csv", env!("CARGO_MANIFEST_DIR"));
    let mut table = Table::new();
    for line in std::fs::read_to_string(path).unwrap().lines().skip(2) {
        let cells: Vec<&str> = line.split(',').collect();
        let key = (cells[0].to_owned(), cells[1].to_owned(), cells[2].to_owned());
        table.entry(key).or_default().push((cells[3].parse().unwrap(), cells[4].parse().unwrap()));
    }
    table
}

fn build(table: &Table, sweep: &str, method: &str) -> Piecewise {
    let rows = |method: &str, what: &str| table.get(&(sweep.to_owned(), method.to_owned(), what.to_owned()));
    let (v, i): (Vec<f64>, Vec<f64>) = rows("data", "point").unwrap().iter().copied().unzip();
    let points = match rows("data", "weight") {
        Some(w) => Points::with_noise(&v, &i, &w.iter().map(|w| w.1.sqrt().recip()).collect::<Vec<_>>()),
        None => Points::new(&v, &i),
    };
    let points = points.unwrap();
    match method {
        "monotone" => monotone_cubic(&points).unwrap(),
        "natural" => natural_cubic(&points).unwrap(),
        _ => {
            let lambda = rows(method, "lambda").unwrap()[0].1;
            smoothing(&points, Penalty::Lambda(lambda)).unwrap().curve().clone()
        }
    }
}

/// Largest differences over the largest size in each column: current, slope, power; and of the voltage of the maximum
/// over the range.
#[test]
fn curves_agree_with_scipy() {
    let table = table();
    let mut compared = 0;
    for ((sweep, method, what), rows) in &table {
        if method == "data" || what == "lambda" {
            continue;
        }
        let curve = build(&table, sweep, method);
        let (x, want): (Vec<f64>, Vec<f64>) = rows.iter().copied().unzip();
        let got = match what.as_str() {
            "current" => curve.current(&x, false).unwrap().values,
            "slope" => curve.slope(&x, false).unwrap().values,
            _ => {
                let maximum = curve.maximum_power().unwrap();
                let (low, high) = curve.range_v();
                // A flat top fixes the voltage to the root of the rounding only.
                assert!((maximum.v_pmax - x[0]).abs() < 1e-8 * (high - low), "{sweep} {method} {maximum:?}");
                vec![maximum.pmax_w]
            }
        };
        let scale = want.iter().fold(0.0f64, |m, y| m.max(y.abs()));
        let worst = got.iter().zip(&want).map(|(g, w)| (g - w).abs() / scale).fold(0.0, f64::max);
        println!("{sweep:9} {method:10} {what:8} {worst:.1e}");
        assert!(worst < 1e-10, "{sweep} {method} {what}: {worst:e}");
        compared += got.len();
    }
    assert!(compared > 3000, "{compared}");
}

/// A line is every builder's own; a falling concave parabola the shape's; a straight fall is what an infinite penalty
/// leaves of it.
#[test]
fn polynomials_of_their_order_are_reproduced() {
    let mut rng = Rng(11);
    for _ in 0..50 {
        let v = voltages(&mut rng, 12, -0.3, 0.9);
        let (a, b) = (rng.between(-1.0, 1.0), -rng.between(0.1, 2.0));
        let line: Vec<f64> = v.iter().map(|v| a + b * v).collect();
        let points = Points::new(&v, &line).unwrap();
        for (name, build) in BUILDERS {
            let curve = build(&points).unwrap();
            let x = grid(curve.range_v().0, curve.range_v().1, 200);
            let (i, d) = (curve.current(&x, false).unwrap().values, curve.slope(&x, false).unwrap().values);
            for ((x, i), d) in x.iter().zip(i).zip(d) {
                assert!((i - (a + b * x)).abs() < 1e-12 && (d - b).abs() < 1e-9, "{name} {x} {i} {d}");
            }
        }
        let curved: Vec<f64> = v.iter().map(|v| a + b * (v + 0.4).powi(2)).collect();
        let curve = shape_constrained(&Points::new(&v, &curved).unwrap()).unwrap();
        let at = curve.curve().current(&v, false).unwrap().values;
        let worst = at.iter().zip(&curved).map(|(g, w)| (g - w).abs()).fold(0.0, f64::max);
        assert!(worst < 1e-12, "shape: {worst:e}");
    }
}

/// The cubic V³ − V given as one piece: turns, values and voltages by hand. I = 0 at −1, 0, 1; dI/dV = 0 at ±1/√3
/// with I = ∓2/(3√3); (V·I)′ = 4V³ − 2V = 0 at ±1/√2 where V·I = −1/4, so that the maximum lies at an end.
#[test]
fn one_cubic_by_hand() {
    // V = −2 + 4s: V³ − V = −6 + 44s − 96s² + 64s³.
    let cubic = Piecewise::new(vec![-2.0, 2.0], vec![[-6.0, 44.0, -96.0, 64.0]]).unwrap();
    let found = cubic.voltage(&[0.0, 2.0, 6.0, -2.0 / 27f64.sqrt()], false).unwrap();
    for (got, want) in found[0].voltage_v.iter().zip([-1.0, 0.0, 1.0]) {
        assert!((got - want).abs() < 1e-14, "{got}");
    }
    assert_eq!(found.iter().map(|f| f.voltage_v.len()).collect::<Vec<_>>()[..3], [3, 1, 1]);
    assert_eq!(found[2].voltage_v, [2.0]);
    // The current of a turn, met within rounding: the crossing at −2/√3 and the turn at 1/√3.
    let v = &found[3].voltage_v;
    assert!(
        (v[0] + 2.0 / 3f64.sqrt()).abs() < 1e-14 && (v[v.len() - 1] - 1.0 / 3f64.sqrt()).abs() < 1e-7,
        "{v:?}"
    );
    let maximum = cubic.maximum_power().unwrap();
    assert_eq!((maximum.pmax_w, maximum.v_pmax, maximum.at_end), (12.0, -2.0, true));
    let refused = cubic.voltage(&[0.0, 24.0], false).unwrap_err();
    assert_eq!(refused, InterpolantError::NotReached { index: 1, current_a: 24.0, low_a: -6.0, high_a: 6.0 });
    let continued = &cubic.voltage(&[24.0], true).unwrap()[0];
    assert!(
        continued.extrapolated
            && continued.voltage_v.len() == 1
            && (continued.voltage_v[0] - 3.0).abs() < 1e-14
    );
    let further = cubic.current(&[0.0, 3.0], true).unwrap();
    assert_eq!((further.values, further.extrapolated), (vec![0.0, 24.0], vec![1]));
    let outside = InterpolantError::Outside { index: 1, voltage_v: 3.0, low_v: -2.0, high_v: 2.0 };
    assert_eq!(cubic.slope(&[0.0, 3.0], false).unwrap_err(), outside);
}

/// −V·(V − 2) over 0 to 2 as two pieces: P = 2V² − V³ has its maximum 32/27 at V = 4/3.
#[test]
fn the_maximum_of_a_parabola_is_exact() {
    let curve =
        Piecewise::new(vec![0.0, 1.0, 2.0], vec![[0.0, 2.0, -1.0, 0.0], [1.0, 0.0, -1.0, 0.0]]).unwrap();
    let m = curve.maximum_power().unwrap();
    assert!(
        (m.pmax_w - 32.0 / 27.0).abs() < 4e-16 && (m.v_pmax - 4.0 / 3.0).abs() < 1e-15 && !m.at_end,
        "{m:?}"
    );
    assert!((m.i_pmax - 8.0 / 9.0).abs() < 1e-15);
}

#[test]
fn a_flat_stretch_is_said_to_be_one() {
    let curve = monotone_cubic(&Points::new(&[0.0, 1.0, 2.0, 3.0], &[2.0, 2.0, 2.0, 0.0]).unwrap()).unwrap();
    let found = &curve.voltage(&[2.0], false).unwrap()[0];
    assert_eq!(
        (&found.voltage_v[..], &found.flat_v[..]),
        (&[0.0, 1.0, 2.0][..], &[(0.0, 1.0), (1.0, 2.0)][..])
    );
    let level = linear(&Points::new(&[0.0, 1.0, 2.0], &[2.0, 2.0, 1.0]).unwrap()).unwrap();
    let continued = level.voltage(&[2.0, 0.0], true).unwrap();
    assert_eq!((&continued[0].voltage_v[..], continued[0].extrapolated), (&[0.0, 1.0][..], false));
    assert_eq!((&continued[1].voltage_v[..], continued[1].extrapolated), (&[3.0][..], true));
    let peak = linear(&Points::new(&[0.0, 1.0, 2.0], &[0.0, 1.0, 0.0]).unwrap()).unwrap();
    assert_eq!(peak.voltage(&[1.0, 0.5], false).unwrap()[0].voltage_v, [1.0]);
    assert_eq!(peak.voltage(&[0.5], false).unwrap()[0].voltage_v, [0.5, 1.5]);
}

/// On wild readings: the monotone cubic stays between neighbours; the maximum is inside and no grid point beats it; every
/// voltage found has the current asked for, and none is missed that a fine grid shows.
#[test]
fn what_must_always_hold() {
    let mut rng = Rng(5);
    let (mut reached, mut crossed) = (0, 0);
    for case in 0..150 {
        let count = 3 + case % 20;
        let v = voltages(&mut rng, count, -0.5, 1.0);
        let i: Vec<f64> = v.iter().map(|_| (rng.normal() * 4.0).round() / 4.0).collect();
        let points = Points::new(&v, &i).unwrap();
        for (name, build) in BUILDERS {
            let curve = build(&points).unwrap();
            let (low, high) = curve.range_v();
            let x = grid(low, high, 2000);
            let (at, power) =
                (curve.current(&x, false).unwrap().values, curve.power(&x, false).unwrap().values);
            let m = curve.maximum_power().unwrap();
            let best = power.iter().copied().fold(f64::MIN, f64::max);
            assert!(
                m.v_pmax >= low && m.v_pmax <= high && m.pmax_w >= best - 1e-14 * best.abs().max(1.0),
                "{name} {m:?}"
            );
            assert_eq!(m.pmax_w, m.v_pmax * m.i_pmax);
            let i0 = at[977] + 1e-9;
            let crossings = at.windows(2).filter(|w| (w[0] < i0) != (w[1] < i0)).count();
            match curve.voltage(&[i0], false) {
                Ok(found) => {
                    reached += 1;
                    crossed += crossings;
                    let found = &found[0].voltage_v;
                    assert!(found.windows(2).all(|w| w[0] < w[1]), "{name} {found:?}");
                    assert!(found.len() >= crossings, "{name} {found:?}");
                    let back = curve.current(found, false).unwrap().values;
                    let steep = curve.slope(found, false).unwrap().values;
                    let rounding = |d: &f64| 1e-14 * (10.0 + d.abs());
                    assert!(
                        back.iter().zip(&steep).all(|(b, d)| (b - i0).abs() < rounding(d)),
                        "{name} {back:?}"
                    );
                }
                Err(_) => assert_eq!(crossings, 0, "{name}"),
            }
            if name == "monotone" || name == "linear" {
                let (b, y) = (points.voltage_v(), points.current_a());
                for (x, i) in x.iter().zip(&at) {
                    let k = b.partition_point(|b| b <= x).clamp(1, b.len() - 1);
                    let (l, h) = (y[k - 1].min(y[k]), y[k - 1].max(y[k]));
                    assert!(*i >= l - 1e-14 && *i <= h + 1e-14, "{name}: {i} at {x} not within {l} to {h}");
                }
            }
            if name == "shape" {
                assert!(at.windows(2).all(|w| w[1] <= w[0] + 1e-13), "rises");
                assert!(at.windows(3).all(|w| w[2] - 2.0 * w[1] + w[0] <= 1e-13), "bends upwards");
            }
        }
    }
    println!("{reached} of 900 reach the current, {crossed} crossings");
    assert!(reached >= 700 && crossed >= 2000, "{reached} {crossed}");
}

/// Nothing panics, hangs or gives a NaN on repeated, tiny and huge values, in any mixture.
#[test]
fn hostile_readings_give_a_curve_or_an_error() {
    let mut rng = Rng(77);
    let odd = [
        0.0,
        -0.0,
        5e-324,
        1e-310,
        1e-160,
        1e-9,
        1.0,
        1.0 + f64::EPSILON,
        1e9,
        1e160,
        1e300,
        1.7e308,
        -1.7e308,
        f64::NAN,
        f64::INFINITY,
    ];
    let (mut curves, mut errors) = (0, 0);
    let (mut maxima, mut verdicts, mut smooths) = (0, 0, 0);
    for case in 0..3000u64 {
        let count = (rng.next() % 9) as usize;
        let scale = [1e-300, 1e-100, 1e-6, 1.0, 1e100, 1e300][(rng.next() % 6) as usize];
        let mut pick = || match rng.next() % 6 {
            0 if case % 3 == 0 => odd[(rng.next() % odd.len() as u64) as usize],
            1 => (rng.normal() * 2.0).round() * scale,
            _ => rng.normal() * scale,
        };
        let v: Vec<f64> = (0..count).map(|_| pick()).collect();
        let i: Vec<f64> = (0..count).map(|_| pick()).collect();
        let sigma: Vec<f64> = (0..count).map(|_| pick().abs()).collect();
        for points in [Points::new(&v, &i), Points::with_noise(&v, &i, &sigma)] {
            let Ok(points) = points else { continue };
            assert!(points.current_a().iter().all(|i| i.is_finite()), "{points:?}");
            for (name, build) in BUILDERS {
                let Ok(curve) = build(&points) else {
                    errors += 1;
                    continue;
                };
                curves += 1;
                let (low, high) = curve.range_v();
                let inside = [low, high, 0.5 * low + 0.5 * high];
                let mut values = Vec::new();
                for extrapolate in [false, true] {
                    let more = if extrapolate { vec![low - 1.0, high * 3.0 + 1.0] } else { vec![] };
                    let x: Vec<f64> = inside.iter().chain(&more).copied().filter(|x| x.is_finite()).collect();
                    values.extend(curve.current(&x, extrapolate).map(|e| e.values).unwrap_or_default());
                    values.extend(curve.slope(&x, extrapolate).map(|e| e.values).unwrap_or_default());
                    for found in curve.voltage(&[0.0, points.current_a()[0]], extrapolate).unwrap_or_default()
                    {
                        values.extend(found.voltage_v);
                    }
                }
                if let Ok(m) = curve.maximum_power() {
                    values.extend([m.pmax_w, m.v_pmax, m.i_pmax]);
                    maxima += 1;
                }
                assert!(values.iter().all(|x| x.is_finite()), "{name} {points:?} {values:?}");
            }
            if case % 50 == 0
                && let Ok(verdict) = shape_constrained(&points).and_then(|s| s.fits_the_shape(0.95))
            {
                assert!(verdict.p > 0.0 && verdict.p <= 1.0, "{points:?} {verdict:?}");
                assert!(!verdict.chi2_shape.is_nan() && !verdict.chi2_smooth.is_nan());
                verdicts += 1;
            }
            for penalty in [Penalty::StatedNoise, Penalty::Lambda(0.0)] {
                if let Ok(smooth) = smoothing(&points, penalty) {
                    let at = points.voltage_v()[0];
                    let estimate = &smooth.current(&[at]).unwrap()[0];
                    assert!(!estimate.value.is_nan() && estimate.u.is_none_or(|u| !u.is_nan()), "{points:?}");
                    smooths += 1;
                }
            }
        }
    }
    println!("{curves} curves, {errors} errors, {maxima} maxima, {verdicts} verdicts, {smooths} smooths");
    assert!(curves > 12_000 && maxima >= 12_000, "{curves} {maxima}");
    assert!(verdicts >= 30 && smooths >= 2500, "{verdicts} {smooths}");
}

#[test]
fn errors_name_what_is_wrong() {
    let few = Points::new(&[1.0, 1.0], &[2.0, 3.0]).unwrap_err();
    assert_eq!(few, InterpolantError::TooFewVoltages { needed: 2, given: 1 });
    let nan = Points::new(&[1.0, f64::NAN], &[2.0, 3.0]).unwrap_err();
    assert!(matches!(nan, InterpolantError::NotFinite { name: "voltage_v", index: 1, .. }));
    let short = Points::new(&[1.0, 2.0], &[2.0]).unwrap_err();
    assert_eq!(short, InterpolantError::Lengths { name: "current_a", needed: 2, given: 1 });
    let zero = Points::with_noise(&[1.0, 2.0], &[2.0, 1.0], &[1.0, 0.0]).unwrap_err();
    assert!(matches!(zero, InterpolantError::Value { name: "sigma_a", index: 1, .. }));
    let points = Points::new(&[1.0, 2.0], &[2.0, 1.0]).unwrap();
    let negative = smoothing(&points, Penalty::Lambda(-1.0)).unwrap_err();
    assert!(matches!(negative, InterpolantError::Value { name: "penalty", .. }));
    assert!(smoothing(&points, Penalty::StatedNoise).unwrap_err().to_string().contains("noise"));
    let breaks = Piecewise::new(vec![0.0, 0.0], vec![[0.0; 4]]).unwrap_err();
    assert_eq!(breaks, InterpolantError::Breaks { index: 1, value: 0.0 });
}
