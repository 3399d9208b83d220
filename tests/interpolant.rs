//! Interpolants and smooths of a sweep: against SciPy's, against polynomials, against what must always hold.
//!
//! `tests/data/interpolants.csv` is made by `tests/data/make_interpolants.py`.

mod support;

use litdiode::interpolant::{
    InterpolantError, Penalty, Piecewise, Points, linear, monotone_cubic, natural_cubic, smoothing,
};
use std::collections::BTreeMap;
use support::Rng;

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
