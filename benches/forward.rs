//! Time of the forward models: I(V), V(I) and key points of one cell and of many.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use litdiode::diode::ndarray::{Array1, ArrayViewMutD, arr0};
use litdiode::diode::{Devices, DevicesParameters, DoubleDiode, Junction, Parameters, SingleDiode};
use std::hint::black_box;
use std::num::NonZeroUsize;

const POINTS: usize = 1000;

fn forward(c: &mut Criterion) {
    let single = SingleDiode::new(Parameters {
        iph_a: 0.76,
        i0_a: [3.1e-7],
        n: [1.48],
        rs_ohm: 0.0365,
        rsh_ohm: 53.0,
        cells: 1,
        temperature_c: 33.0,
    })
    .expect("parameters in their domain");
    let double = DoubleDiode::new(Parameters {
        iph_a: 0.76,
        i0_a: [8.7e-8, 2.2e-6],
        n: [1.37, 2.0],
        rs_ohm: 0.038,
        rsh_ohm: 58.0,
        cells: 1,
        temperature_c: 33.0,
    })
    .expect("parameters in their domain");
    let v: Vec<f64> = (0..POINTS).map(|k| -0.2 + 0.8 * k as f64 / POINTS as f64).collect();
    let i: Vec<f64> = (0..POINTS).map(|k| 0.75 - 1.0 * k as f64 / POINTS as f64).collect();
    let mut out = vec![0.0; POINTS];
    let mut group = c.benchmark_group("forward");
    group.throughput(Throughput::Elements(POINTS as u64));
    group.bench_function("single I(V)", |b| b.iter(|| single.current(black_box(&v), &mut out)));
    group.bench_function("single V(I)", |b| b.iter(|| single.voltage(black_box(&i), &mut out)));
    group.bench_function("double I(V)", |b| b.iter(|| double.current(black_box(&v), &mut out)));
    group.bench_function("double V(I)", |b| b.iter(|| double.voltage(black_box(&i), &mut out)));
    let spread = |middle: f64, seed: usize| {
        let share = |k: usize| 0.9 + 0.2 * ((k * seed) % 997) as f64 / 997.0;
        Array1::from_iter((0..POINTS).map(|k| middle * share(k))).into_dyn()
    };
    let cells = Devices::<1>::new(DevicesParameters {
        iph_a: spread(0.76, 7),
        i0_a: vec![spread(3.1e-7, 11)],
        n: vec![spread(1.48, 13)],
        rs_ohm: spread(0.0365, 17),
        rsh_ohm: spread(53.0, 19),
        cells: arr0(1.0).into_dyn(),
        temperature_c: arr0(33.0).into_dyn(),
    })
    .expect("parameters in their domain");
    let at = arr0(0.45).into_dyn();
    let thread = NonZeroUsize::new(1);
    group.bench_function("many cells I(V)", |b| {
        b.iter(|| {
            let out = ArrayViewMutD::from_shape(vec![POINTS], &mut out).expect("its length");
            cells.current(black_box(at.view()), thread, out)
        })
    });
    group.bench_function("many cells key points", |b| b.iter(|| black_box(&cells).key_points(thread)));
    group.finish();
    // The unit of `baseline.py`.
    c.bench_function("the platform's exp", |b| b.iter(|| black_box(0.45f64).exp()));
    c.bench_function("a single I(V)", |b| b.iter(|| single.circuit().current_at(black_box(0.45))));
    c.bench_function("maximum power", |b| b.iter(|| black_box(single.circuit()).maximum_power()));
}

criterion_group!(benches, forward);
criterion_main!(benches);
