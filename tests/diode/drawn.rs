//! The points of a drawn curve lie at equal steps of length and of turning: measured on a dense curve of its own.

use litdiode::diode::{Circuit, Junction};

/// Length plus turning of the curve up to each of `count` even junction voltages, each as a share of its whole, in axes scaled to
/// the ranges of V and I; with the voltages.
fn measured(c: &Circuit<1>, low: f64, high: f64, count: usize) -> (Vec<f64>, Vec<f64>) {
    let (from, to) = (c.at_voltage(low), c.at_voltage(high));
    let place = |k: usize| {
        let u = from + (to - from) * k as f64 / (count - 1) as f64;
        let i = c.current(u).value;
        (u - c.rs * i, i)
    };
    let points: Vec<(f64, f64)> = (0..count).map(place).collect();
    let (first, last) = (points[0], points[count - 1]);
    let step = |w: &[(f64, f64)]| {
        ((w[1].0 - w[0].0) / (last.0 - first.0).abs(), (w[1].1 - w[0].1) / (last.1 - first.1).abs())
    };
    let steps: Vec<(f64, f64)> = points.windows(2).map(step).collect();
    let angle = |s: &(f64, f64)| s.1.atan2(s.0);
    let length: Vec<f64> = steps.iter().map(|s| s.0.hypot(s.1)).collect();
    let turning: Vec<f64> =
        steps.windows(2).map(|w| (angle(&w[1]) - angle(&w[0])).abs()).chain([0.0]).collect();
    let (whole, all) = (length.iter().sum::<f64>(), turning.iter().sum::<f64>());
    let mut sum = 0.0;
    let progress = length.iter().zip(&turning).map(|(l, t)| {
        sum += l / whole + t / all;
        sum
    });
    (std::iter::once(0.0).chain(progress).collect(), points.iter().map(|p| p.0).collect())
}

/// The points of a device drawn over three ranges lie at steps that are off the mean by no more than a tenth, which the fine steps
/// of the drawing leave.
fn evenly_drawn(rs: f64, n: f64, g: f64) {
    let a = 0.0257 * n;
    let c = Circuit::<1>::new(0.03, [0.03 / (0.6f64 / a).exp()], [a], rs, g);
    for (low, high) in [(0.0, c.voc()), (-0.3, 1.05 * c.voc()), (0.5 * c.voc(), 1.2 * c.voc())] {
        let (progress, at) = measured(&c, low, high, 200_001);
        for points in [5, 20, 60] {
            let (v, i) = c.trace(low, high, points);
            assert_eq!((v.len(), v[0], v[points - 1]), (points, low, high));
            let place = |v: &f64| progress[at.partition_point(|x| x < v).min(progress.len() - 1)];
            let reached: Vec<f64> = v.iter().map(place).collect();
            let mean = 2.0 / (points - 1) as f64;
            for w in reached.windows(2) {
                assert!((w[1] - w[0] - mean).abs() < 0.1 * mean, "{c:?} {low} {points}: {reached:?}");
            }
            v.iter().zip(&i).for_each(|(v, i)| assert_eq!(*i, c.current_at(*v)));
        }
    }
}

/// Devices with a sharp and with a soft knee.
#[test]
fn points_lie_at_equal_steps_of_length_and_turning() {
    for (rs, n, g) in [(1.5, 1.3, 1e-3), (0.5, 2.0, 1e-2), (4.0, 1.1, 0.0)] {
        evenly_drawn(rs, n, g);
    }
}

/// Without a series resistance the junction voltages of the drawing, half of them even in u and half in V, coincide.
#[test]
fn points_lie_at_equal_steps_without_a_series_resistance() {
    evenly_drawn(0.0, 1.0, 1e-5);
}

/// One point and none; and a curve drawn backwards has the points of the one drawn forwards.
#[test]
fn few_points_and_backwards() {
    let c = Circuit::<1>::new(0.03, [1e-9], [0.035], 0.5, 1e-3);
    assert_eq!(c.trace(0.2, 0.6, 0), (vec![], vec![]));
    assert_eq!(c.trace(0.2, 0.6, 1), (vec![0.2], vec![c.current_at(0.2)]));
    assert_eq!(c.trace(0.2, 0.6, 2).0, [0.2, 0.6]);
}
