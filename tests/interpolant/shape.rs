//! The falling, concave curve against the conditions of the optimum, which no other curve of the shape fulfils.
//!
//! The curves a − b·V − Σ mⱼ·Hⱼ(V) with b, mⱼ ≥ 0 are a convex cone, so that a member s is the nearest to the readings if
//! and only if the weighted residuals r = w·(I − s) are orthogonal to 1 and to s, and no generator of the cone, −V and the
//! −Hⱼ, has a positive product with r (Karush, Kuhn, Tucker). Hⱼ is an integral from its definition: no formula of the
//! library is used.

use crate::support::Rng;
use litdiode::interpolant::{Points, shape_constrained};

/// ∫ (x − t)·hatⱼ(t) dt from the first knot to x, by Simpson's rule in each gap, where the integrand is a parabola.
fn bend(knots: &[f64], j: usize, x: f64) -> f64 {
    let hat = |k: usize, t: f64| {
        let s = (t - knots[k]) / (knots[k + 1] - knots[k]);
        if j == k + 1 {
            s
        } else if j == k {
            1.0 - s
        } else {
            0.0
        }
    };
    let gap = |k: usize| {
        let (low, high) = (knots[k], knots[k + 1].min(x));
        let at = |t: f64| (x - t) * hat(k, t);
        (high - low) / 6.0 * (at(low) + 4.0 * at(0.5 * (low + high)) + at(high))
    };
    (0..knots.len() - 1).filter(|k| knots[*k] < x).map(gap).sum()
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn length(a: &[f64]) -> f64 {
    dot(a, a).sqrt()
}

/// Readings of a diode with noise, of an S-shape and of a rising line, with weights and without: each nearest curve fulfils the
/// conditions to rounding. So few that every voltage is a knot.
#[test]
fn the_nearest_curve_fulfils_the_conditions_of_the_optimum() {
    let mut rng = Rng(31);
    let (mut bent, mut straight) = (0, 0);
    for case in 0..60 {
        let count = 5 + case % 30;
        let v: Vec<f64> =
            (0..count).map(|k| 0.7 * (k as f64 + 0.6 * rng.unit()) / count as f64 - 0.05).collect();
        let truth = |v: f64| match case % 3 {
            0 => 0.03 - 1e-9 * (v / 0.04).exp_m1(),
            1 => 0.03 - 0.01 * ((v - 0.4) / 0.05).tanh() - 0.02 * v,
            _ => 0.01 + 0.02 * v,
        };
        let sigma: Vec<f64> = v.iter().map(|_| rng.decades(1e-4, 2e-3)).collect();
        let i: Vec<f64> = v.iter().zip(&sigma).map(|(v, s)| truth(*v) + s * rng.normal()).collect();
        let points =
            if case % 2 == 0 { Points::with_noise(&v, &i, &sigma) } else { Points::new(&v, &i) }.unwrap();
        let weight: Vec<f64> = sigma.iter().map(|s| if case % 2 == 0 { s.powi(-2) } else { 1.0 }).collect();
        let shape = shape_constrained(&points).unwrap();
        let s = shape.curve().current(&v, false).unwrap().values;
        let r: Vec<f64> = (0..count).map(|k| weight[k] * (i[k] - s[k])).collect();
        let ones = vec![1.0; count];
        let part = |g: &[f64]| dot(&r, g) / (length(&r) * length(g));
        assert!(part(&ones).abs() < 1e-9 && part(&s).abs() < 1e-9, "{case}: {} {}", part(&ones), part(&s));
        let from_first: Vec<f64> = v.iter().map(|x| v[0] - x).collect();
        assert!(part(&from_first) < 1e-9, "{case}: {}", part(&from_first));
        for j in 0..count {
            let generator: Vec<f64> = v.iter().map(|x| -bend(&v, j, *x)).collect();
            if length(&generator) > 0.0 {
                assert!(part(&generator) < 1e-9, "{case} {j}: {}", part(&generator));
            }
        }
        let chi2: f64 = (0..count).map(|k| weight[k] * (i[k] - s[k]).powi(2)).sum();
        assert!((shape.chi2() / chi2 - 1.0).abs() < 1e-9, "{case}: {} {chi2}", shape.chi2());
        bent += usize::from(shape.edf() > 2.5);
        straight += usize::from(shape.edf() < 1.5);
    }
    println!("{bent} bent, {straight} level");
    assert!(bent >= 30 && straight >= 10, "{bent} {straight}");
}
