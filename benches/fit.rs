//! Time of a fit without a start, of the model-free key points and of plans, on 25 invented points.

use criterion::{Criterion, criterion_group, criterion_main};
use litdiode::curve::key_points;
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::fit::{Options, extract, fit_single_diode};
use litdiode::plan::{Expected, Method, Plan, PlanError, PlanOptions, plan_sweep};
use litdiode::sweep::{Noise, Sweep, SweepOptions};
use std::hint::black_box;

fn sweep() -> Sweep {
    let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.027 * f64::from(k)).collect();
    // Two incommensurate waves stand for noise.
    let wave = |k: usize| 3e-5 * ((2.4 * k as f64).sin() + (5.1 * k as f64).cos());
    let i: Vec<f64> = v
        .iter()
        .enumerate()
        .map(|(k, v)| 0.030 - 2e-9 * (v / 0.037f64).exp_m1() - v / 800.0 + wave(k))
        .collect();
    Sweep::new(&v, &i, SweepOptions::default()).expect("a good sweep")
}

fn plan_of(method: Method) -> Result<Plan, PlanError> {
    let (n, cells, temperature_c) = ([1.44], 1, 25.0);
    let (iph_a, i0_a, rs_ohm, rsh_ohm) = (0.030, [2e-9], 0.5, 800.0);
    let cell = SingleDiode::new(Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c });
    let expected = Expected::one_diode(&[cell.expect("a good device")])?;
    plan_sweep(&expected, &PlanOptions::default().noise(Noise::default().current_a(1e-4)).method(method))
}

fn fit(c: &mut Criterion) {
    let sweep = sweep();
    let options = Options::default();
    c.bench_function("fit one diode", |b| b.iter(|| fit_single_diode(black_box(&sweep), &options)));
    c.bench_function("fit two diodes", |b| b.iter(|| extract::<2>(black_box(&sweep), &options)));
    c.bench_function("plan of 25 points by the model", |b| b.iter(|| plan_of(black_box(Method::Model))));
    c.bench_function("plan of 25 points without a model", |b| b.iter(|| plan_of(black_box(Method::Local))));
    c.bench_function("key points of the curve", |b| b.iter(|| key_points(black_box(&sweep))));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(30);
    targets = fit
}
criterion_main!(benches);
