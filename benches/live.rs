//! A live sweep between two readings: push, and the next set point after 10, 40 and 150 readings.
//!
//! `cargo bench --bench live`; besides, median and longest of all calls of whole sweeps.

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use litdiode::diode::{Circuit, Junction};
use litdiode::live::{LiveOptions, LiveSweep};
use litdiode::sweep::{Noise, SweepOptions};
use std::hint::black_box;
use std::time::{Duration, Instant};

const SIGMA: f64 = 3e-4;

fn cell() -> Circuit<1> {
    Circuit::new(0.03, [1e-9], [0.035], 0.8, 1e-3)
}

/// Normal deviates to a good degree: the sum of twelve even ones.
fn deviate(seed: &mut u64) -> f64 {
    let mut even = || {
        *seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (*seed >> 11) as f64 / (1u64 << 53) as f64
    };
    (0..12).map(|_| even()).sum::<f64>() - 6.0
}

fn live() -> LiveSweep {
    let stated = SweepOptions::default().noise(Noise::default().current_a(SIGMA));
    let options = LiveOptions::within((-0.1, 0.9), (-0.1, 0.1)).wanted(1e-9).sweep(stated);
    LiveSweep::new(options).expect("options in their domain")
}

/// A sweep with so many readings, and the reading that it asked for.
fn after(points: usize, seed: &mut u64) -> (LiveSweep, f64, f64) {
    let (mut live, cell) = (live(), cell());
    loop {
        let next = live.next_set_point().expect("goes on");
        let (v, a) = (next.value, cell.current_at(next.value) + SIGMA * deviate(seed));
        if live.len() == points {
            return (live, v, a);
        }
        live.push(v, a).expect("a reading");
    }
}

fn calls(c: &mut Criterion) {
    let mut seed = 1;
    for points in [10, 40, 150] {
        c.bench_function(&format!("live/push/{points}"), |b| {
            b.iter_batched_ref(
                || after(points, &mut seed),
                |(live, v, a)| black_box(live.push(*v, *a)),
                BatchSize::LargeInput,
            );
        });
        c.bench_function(&format!("live/next_set_point/{points}"), |b| {
            b.iter_batched_ref(
                || {
                    let (mut live, v, a) = after(points, &mut seed);
                    live.push(v, a).expect("a reading");
                    live
                },
                |live| black_box(live.next_set_point()),
                BatchSize::LargeInput,
            );
        });
    }
}

/// Sweeps, the times each is driven again with the same readings, and readings of each.
const SWEEPS: u64 = 12;
const AGAIN: usize = 15;
const READINGS: usize = 150;

/// Median and longest of the calls of whole sweeps. Every sweep is driven several times with the same readings, and a call counts
/// by its shortest time: what other work of the machine took of one is not that of the call.
fn longest(_: &mut Criterion) {
    let (mut pushes, mut asks) = (Vec::new(), Vec::new());
    for seed in 1..=SWEEPS {
        let runs: Vec<_> = (0..AGAIN).map(|_| driven(seed)).collect();
        let shortest = |k: usize, of: usize| runs.iter().map(|run| run[k][of]).min();
        pushes.extend((0..READINGS).filter_map(|k| shortest(k, 0)));
        asks.extend((0..READINGS).filter_map(|k| shortest(k, 1)));
    }
    for (name, mut times) in [("push", pushes), ("next_set_point", asks)] {
        times.sort();
        let (median, longest) = (times[times.len() / 2], times[times.len() - 1]);
        println!("live/{name}: {} calls, median {median:?}, longest {longest:?}", times.len());
    }
}

/// The times of push and of the next set point after it, for every reading of a sweep.
fn driven(mut seed: u64) -> Vec<[Duration; 2]> {
    let (mut live, cell) = (live(), cell());
    let mut next = live.next_set_point();
    let mut times = Vec::with_capacity(READINGS);
    while let (Some(point), true) = (next, times.len() < READINGS) {
        let a = cell.current_at(point.value) + SIGMA * deviate(&mut seed);
        let begun = Instant::now();
        let _ = black_box(live.push(point.value, a));
        let pushed = begun.elapsed();
        let begun = Instant::now();
        next = black_box(live.next_set_point());
        times.push([pushed, begun.elapsed()]);
    }
    times
}

criterion_group!(benches, calls, longest);
criterion_main!(benches);
