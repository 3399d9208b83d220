//! Key points of very many readings: right within their ±, which falls as the readings grow, in memory of their own size.

use crate::support::device::{Device, saturation_a};
use crate::support::measured::Reading;
use crate::support::random::Rng;
use litdiode::curve::key_points;
use litdiode::key_points::KeyPoints;
use litdiode::sweep::Swept;

const ISC: f64 = 0.035;
const VOC: f64 = 0.61;

fn device() -> Device {
    let n = 1.25;
    Device::single(ISC, saturation_a(ISC, VOC, n, 1), n * 0.025_692_579, 0.6, 1.0 / 3500.0)
}

fn even(low: f64, high: f64, count: usize) -> Vec<f64> {
    (0..count).map(|k| low + (high - low) * k as f64 / (count - 1) as f64).collect()
}

/// (figure, true value) of Isc, Voc, Pmax, FF.
fn figures(points: &KeyPoints, device: &Device) -> [(f64, f64, f64); 4] {
    let truth = device.figures();
    let of = [&points.isc, &points.voc, &points.pmax, &points.ff];
    std::array::from_fn(|k| {
        let figure = of[k].as_ref().expect("a figure");
        (figure.value, figure.u.expect("a standard uncertainty"), truth[k])
    })
}

fn sweep(swept: Swept, stated: bool, set: &[f64], seed: u64) -> KeyPoints {
    let sigma = if swept == Swept::Voltage { 3e-4 * ISC } else { 1e-3 * VOC };
    let mut rng = Rng(seed);
    let reading = Reading { swept, sigma, stated, cells: 1 };
    key_points(&reading.sweep(&device(), set, || rng.normal()))
}

fn set_points(swept: Swept, count: usize) -> Vec<f64> {
    match swept {
        Swept::Voltage => even(0.0, 1.05 * VOC, count),
        Swept::Current => even(0.0, 1.01 * ISC, count),
    }
}

/// The ends of the first sweeps lie on the axes: a mean of the first readings would lie beside.
#[test]
fn figures_of_many_readings_hold_and_their_uncertainty_falls() {
    let (mut squares, mut count) = (0.0, 0);
    for swept in [Swept::Voltage, Swept::Current] {
        for stated in [false, true] {
            let of = |points| figures(&sweep(swept, stated, &set_points(swept, points), 7), &device());
            let few = of(1_000);
            for points in [20_000, 150_000, 400_000] {
                let expected = (1_000.0 / points as f64).sqrt();
                for (k, ((value, u, truth), few)) in of(points).into_iter().zip(few).enumerate() {
                    let case = format!("{swept:?} {stated} {points} figure {k}: {value} ± {u}, {truth}");
                    println!(
                        "{case}, {:.2} u, falls to {:.2} of √n",
                        (value - truth) / u,
                        u / few.1 / expected
                    );
                    assert!((value - truth).abs() < 4.5 * u, "{case}");
                    assert!(u < 2.0 * few.1 * expected, "{case}");
                    squares += ((value - truth) / u).powi(2);
                    count += 1;
                }
            }
        }
    }
    assert_eq!(count, 48);
    // Figures of one sweep are correlated: 12 sweeps make some thirty independent ones.
    assert!((0.4..2.0).contains(&(squares / f64::from(count))), "{}", squares / f64::from(count));
}

/// Many readings at few set points, and many at one place of an ordinary sweep, are not taken for one reading between them.
#[test]
fn repeats_are_not_averaged_across_set_points() {
    let repeated: Vec<f64> = even(0.0, 1.05 * VOC, 25).into_iter().flat_map(|v| vec![v; 6_000]).collect();
    let crowded: Vec<f64> =
        even(0.0, 1.05 * VOC, 400).into_iter().chain(even(0.2, 0.2001, 120_000)).collect();
    for (name, set) in [("repeated", repeated), ("crowded", crowded)] {
        for stated in [false, true] {
            for (k, (value, u, truth)) in
                figures(&sweep(Swept::Voltage, stated, &set, 11), &device()).into_iter().enumerate()
            {
                assert!((value - truth).abs() < 4.5 * u, "{name} {stated} {k}: {value} ± {u}, {truth}");
            }
        }
    }
}

/// A coarse converter makes readings of one code alike: averages of them are not so much better.
#[test]
fn codes_of_a_coarse_converter_do_not_average_away() {
    let (device, step) = (device(), 2e-3 * ISC);
    let set = even(0.0, 1.05 * VOC, 150_000);
    let current: Vec<f64> = set.iter().map(|v| (device.current_at(*v) / step).round() * step).collect();
    let reading = Reading { swept: Swept::Voltage, sigma: 0.0, stated: false, cells: 1 };
    let points = key_points(&reading.try_sweep(&set, &current).expect("a valid sweep"));
    for (k, (value, u, truth)) in figures(&points, &device).into_iter().enumerate() {
        assert!((value - truth).abs() < 3.0 * u, "{k}: {value} ± {u}, {truth}");
    }
}
