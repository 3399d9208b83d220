//! Ways of a sweep: they part where they should, and a first-order lag is found with its uncertainty.

use super::support::random::Rng;
use litdiode::diode::{Device, Junction, Parameters};
use litdiode::estimate::{Estimate, Unit};
use litdiode::hysteresis::{Hysteresis, HysteresisError, hysteresis};
use litdiode::reason::Reason;
use litdiode::source::Identity;
use litdiode::sweep::{Correction, Leads, Noise, Sign, Sweep, SweepOptions, Swept};

/// An invented cell that follows slowly.
fn cell() -> Device<1> {
    Device::new(Parameters {
        iph_a: 20e-3,
        i0_a: [1e-10],
        n: [1.6],
        rs_ohm: 1.5,
        rsh_ohm: 2000.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap()
}

/// The readings at `set`, of which the part `left` of each step is missing, at rest in the beginning.
fn lagging(set: &[f64], left: f64, sigma: f64, swept: Swept, random: &mut Rng) -> Vec<f64> {
    let still = |x: f64| match swept {
        Swept::Voltage => cell().circuit().current_at(x),
        Swept::Current => {
            let mut v = [0.0];
            cell().voltage(&[x], &mut v).unwrap();
            v[0]
        }
    };
    let mut before = still(set[0]);
    let one = |x: &f64| {
        before = still(*x) + left * (before - still(*x));
        before + sigma * random.normal()
    };
    set.iter().map(one).collect()
}

fn set_points(swept: Swept, points: usize) -> Vec<f64> {
    let (from, to) = match swept {
        Swept::Voltage => (-0.05, 0.82),
        Swept::Current => (-0.5e-3, 19.8e-3),
    };
    (0..points).map(|k| from + (to - from) * k as f64 / (points - 1) as f64).collect()
}

fn sweep(set: &[f64], read: &[f64], swept: Swept, dwell: f64) -> Sweep {
    let (v, i) = if swept == Swept::Current { (read, set) } else { (set, read) };
    let time: Vec<f64> = (1..=set.len()).map(|k| dwell * k as f64).collect();
    let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven).swept(swept);
    Sweep::new(v, i, options.time_s(time)).unwrap()
}

fn compared(left: f64, sigma: f64, swept: Swept, random: &mut Rng) -> Hysteresis {
    let up = set_points(swept, 40);
    let down: Vec<f64> = up.iter().rev().copied().collect();
    let one =
        |set: &[f64], random: &mut Rng| sweep(set, &lagging(set, left, sigma, swept, random), swept, 0.1);
    let (first, second) = (one(&up, random), one(&down, random));
    hysteresis(&first, &second).unwrap()
}

/// Without noise the lag, the time constant and the settled curve are exact.
#[test]
fn an_exact_lag_is_found_exactly() {
    for swept in [Swept::Voltage, Swept::Current] {
        let found = compared(0.4, 0.0, swept, &mut Rng(1));
        let left = found.left.unwrap();
        assert!((left.value - 0.4).abs() < 1e-9, "{left}");
        let tau = found.time_constant_s.unwrap().value;
        assert!((tau - -0.1 / 0.4f64.ln()).abs() < 1e-9, "{tau}");
        let settled = found.settled.unwrap();
        for (v, i) in settled.voltage_v().iter().zip(settled.current_a()) {
            let truth = cell().circuit().current_at(*v);
            assert!((i - truth).abs() < 1e-6 * 20e-3 * (1.0 + (truth / 20e-3).abs()), "{v} {i} {truth}");
        }
    }
}

/// `LITDIODE_RUNS=4000 cargo test --release --test sweep time_constants -- --nocapture`.
#[test]
fn time_constants_hold_as_often_as_they_say() {
    let runs: usize = std::env::var("LITDIODE_RUNS").ok().map_or(400, |n| n.parse().unwrap());
    for (swept, left, sigma) in [
        (Swept::Voltage, 0.3, 5e-5),
        (Swept::Voltage, 0.6, 1e-4),
        (Swept::Voltage, 0.15, 2e-5),
        (Swept::Current, 0.4, 1e-3),
    ] {
        let mut random = Rng(7 + (1000.0 * left) as u64);
        let (mut held, mut settled) = (0, 0);
        let truth = -0.1 / f64::ln(left);
        let voc = cell().key_points().voc.unwrap().value;
        for _ in 0..runs {
            let found = compared(left, sigma, swept, &mut random);
            let interval = found.time_constant_s.unwrap().interval(0.95);
            held += usize::from((interval.low.unwrap()..=interval.high.unwrap()).contains(&truth));
            let points = litdiode::curve::key_points(&found.settled.unwrap());
            let interval = points.voc.unwrap().interval(0.95);
            settled += usize::from((interval.low.unwrap()..=interval.high.unwrap()).contains(&voc));
        }
        let share = |n: usize| 100.0 * n as f64 / runs as f64;
        println!(
            "{swept:?}, {left} left: time constant {:.1} %, Voc of the settled curve {:.1} % of {runs}",
            share(held),
            share(settled)
        );
        let chance = 3.0 * 100.0 * (0.95 * 0.05 / runs as f64).sqrt();
        assert!((share(held) - 95.0).abs() < 2.0 + chance, "{swept:?} {left}: {}", share(held));
    }
}

/// A dwell time of `dwell_for` leaves the error that was asked for.
#[test]
fn the_dwell_time_bounds_the_error() {
    let found = compared(0.5, 0.0, Swept::Voltage, &mut Rng(1));
    let (tau, bound) = (found.time_constant_s.clone().unwrap().value, 1e-4);
    let dwell = found.dwell_for(bound).unwrap().value;
    let set = set_points(Swept::Voltage, 40);
    let read = lagging(&set, (-dwell / tau).exp(), 0.0, Swept::Voltage, &mut Rng(1));
    let worst =
        set.iter().zip(&read).map(|(v, i)| (i - cell().circuit().current_at(*v)).abs()).fold(0.0, f64::max);
    assert!(worst <= bound && worst > 0.3 * bound, "{worst}");
}

#[test]
fn a_device_that_follows_has_no_time_constant() {
    let found = compared(0.0, 1e-4, Swept::Voltage, &mut Rng(5));
    assert!(matches!(found.time_constant_s, Err(Reason::NoLag { .. })), "{:?}", found.time_constant_s);
    let index = found.index.unwrap();
    assert!(index.value.abs() < 3.0 * index.u.unwrap());
}

/// One file that goes and returns is two sweeps, also where a stated noise calls the ways contradictory.
#[test]
fn a_sweep_that_returns_is_parted() {
    let up = set_points(Swept::Voltage, 20);
    let set: Vec<f64> = up.iter().chain(up.iter().rev()).copied().collect();
    let read = lagging(&set, 0.5, 1e-6, Swept::Voltage, &mut Rng(3));
    let noise = Noise::default().current_a(1e-6);
    let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven).noise(noise);
    let options = options.label(String::from("cell 3"));
    let whole = Sweep::new(&set, &read, options).unwrap();
    let ways = whole.branches().unwrap();
    assert_eq!(ways.iter().map(Sweep::len).collect::<Vec<_>>(), [20, 20]);
    assert_eq!(ways[1].options().label.as_deref(), Some("cell 3, down"));
    assert_eq!(ways[0].options().noise, Some(noise));
    assert_eq!(hysteresis(&ways[0], &ways[0]), Err(HysteresisError::SameWay));
    let one_way = sweep(&up, &lagging(&up, 0.0, 0.0, Swept::Voltage, &mut Rng(3)), Swept::Voltage, 0.1);
    assert_eq!(one_way.branches().unwrap().len(), 1);
}

/// Half of the step with one time constant and half with another, and steps of different length: no time constant, and why.
#[test]
fn what_is_no_lag_of_the_first_order_is_told() {
    let up = set_points(Swept::Voltage, 40);
    let down: Vec<f64> = up.iter().rev().copied().collect();
    let mut random = Rng(11);
    let mut mixed = |set: &[f64]| -> Sweep {
        let [quick, slow] = [0.02, 0.75].map(|left| lagging(set, left, 0.0, Swept::Voltage, &mut Rng(1)));
        let read: Vec<f64> =
            quick.iter().zip(&slow).map(|(q, s)| 0.5 * (q + s) + 2e-5 * random.normal()).collect();
        sweep(set, &read, Swept::Voltage, 0.1)
    };
    let found = hysteresis(&mixed(&up), &mixed(&down)).unwrap();
    assert!(matches!(found.left, Err(Reason::NotFirstOrder { times }) if times > 2.0), "{:?}", found.left);
    assert!(found.settled.is_none() && found.index.is_ok());
    let uneven = |set: &[f64]| {
        let read = lagging(set, 0.4, 0.0, Swept::Voltage, &mut Rng(1));
        let time: Vec<f64> = (0..40).map(|k| f64::from(k * k)).collect();
        let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
        Sweep::new(set, &read, options.time_s(time)).unwrap()
    };
    let found = hysteresis(&uneven(&up), &uneven(&down)).unwrap();
    let expected = Reason::UnevenDwell { shortest_s: 1.0, longest_s: 77.0 };
    assert_eq!(found.time_constant_s, Err(expected));
}

/// A gain that both ways carry is in the figures of the settled curve.
#[test]
fn the_settled_curve_keeps_what_is_common_to_the_points() {
    let up = set_points(Swept::Voltage, 40);
    let down: Vec<f64> = up.iter().rev().copied().collect();
    let gain = Estimate::new(1.0, 0.02, Unit::One).identified(Identity::distinct(), "meter");
    let way = |set: &[f64], seed: u64| {
        let plain = sweep(set, &lagging(set, 0.3, 1e-6, Swept::Voltage, &mut Rng(seed)), Swept::Voltage, 0.1);
        plain.correct(vec![Correction::Gain { voltage: None, current: Some(gain.clone()) }]).unwrap()
    };
    let settled = hysteresis(&way(&up, 1), &way(&down, 2)).unwrap().settled.unwrap();
    let share = litdiode::curve::key_points(&settled).isc.unwrap().relative_u().unwrap();
    assert!((share / 0.02 - 1.0).abs() < 0.05, "{share}");
}
