//! Time of what a sweep of thousands of readings is asked for: invented sweeps of 500 and 5,000 readings, lit and dark. Rows
//! of one name differ by the number of readings alone: ten times the readings take about ten times as long, or less.

use criterion::{Criterion, criterion_group, criterion_main};
use litdiode::curve::key_points;
use litdiode::diode::{Device, Parameters};
use litdiode::interpolant::{Penalty, shape_constrained, smooth_sweep};
use litdiode::maximum_power::maximum_powers;
use litdiode::remarks::findings;
use litdiode::resistance::{Implied, Measured, resistances};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use std::hint::black_box;

/// Two incommensurate waves stand for noise.
fn wave(k: usize) -> f64 {
    (2.4 * k as f64).sin() + (5.1 * k as f64).cos()
}

fn device(suns: f64) -> Device<1> {
    let (iph_a, i0_a, n, rs_ohm, rsh_ohm) = (0.035 * suns, [1.5e-10], [1.25], 0.5, 3.5e3);
    Device::new(Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 })
        .expect("a device")
}

fn even(low: f64, high: f64, count: usize) -> Vec<f64> {
    (0..count).map(|k| low + (high - low) * k as f64 / (count - 1) as f64).collect()
}

fn sweep(suns: f64, count: usize, swept: Swept) -> Sweep {
    let (mut v, mut i) = (even(-0.05, 0.66, count), even(0.035 * suns, 0.035 * suns - 0.05, count));
    let noise = if swept == Swept::Voltage {
        device(suns).current(&v, &mut i).expect("finite");
        i.iter_mut().enumerate().for_each(|(k, i)| *i += 1e-4 * wave(k));
        Noise::default().current_a(1e-4)
    } else {
        device(suns).voltage(&i, &mut v).expect("finite");
        v.iter_mut().enumerate().for_each(|(k, v)| *v += 1e-3 * wave(k));
        Noise::default().voltage_v(1e-3)
    };
    let (sign, leads) = (Sign::Generator, Leads::AsGiven);
    Sweep::new(&v, &i, SweepOptions::default().sign(sign).leads(leads).swept(swept).noise(noise))
        .expect("a good sweep")
}

fn large(c: &mut Criterion) {
    for count in [500, 5000] {
        let [lit, half, dark] = [1.0, 0.5, 0.0].map(|suns| sweep(suns, count, Swept::Voltage));
        let stepped = sweep(0.0, count, Swept::Current);
        let suns: Vec<f64> = even(-4.0, 0.1, count).into_iter().map(f64::exp).collect();
        let voltage: Vec<f64> =
            suns.iter().enumerate().map(|(k, s)| 0.62 + 0.032 * s.ln() + 5e-4 * wave(k)).collect();
        let implied = Implied::new(&voltage, &suns, None).expect("sound");
        let more = [half];
        let id = |name: &str| format!("{name}, {count}");
        c.bench_function(&id("key points of many readings"), |b| b.iter(|| key_points(black_box(&lit))));
        c.bench_function(&id("implied voltages of many readings"), |b| {
            b.iter(|| Implied::new(black_box(&voltage), &suns, None))
        });
        let measured = Measured::default().lit(&lit).more_lit(&more).dark(&dark).implied(&implied);
        c.bench_function(&id("resistances of many readings"), |b| {
            b.iter(|| resistances(black_box(&measured)))
        });
        let measured = Measured::default().dark(&stepped);
        c.bench_function(&id("resistances of many set currents"), |b| {
            b.iter(|| resistances(black_box(&measured)))
        });
        c.bench_function(&id("maximum powers of many readings"), |b| {
            b.iter(|| maximum_powers(black_box(&lit)))
        });
        let smooth = || smooth_sweep(black_box(&lit), Penalty::CrossValidation);
        c.bench_function(&id("smooth of many readings"), |b| b.iter(smooth));
        let points = smooth().expect("a smooth").points().clone();
        c.bench_function(&id("shape of many readings"), |b| {
            b.iter(|| shape_constrained(&points).and_then(|shape| shape.fits_the_shape(0.95)))
        });
        c.bench_function(&id("remarks on many readings"), |b| b.iter(|| findings(black_box(&lit))));
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10);
    targets = large
}
criterion_main!(benches);
