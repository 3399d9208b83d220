//! No set point leaves the limits, whatever the device is; and of one or two diodes no reading does either.

use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::live::{LiveOptions, LiveSweep, Order};
use litdiode::sweep::{Leads, Noise, Sign, SweepOptions, Swept};
use proptest::prelude::*;

use crate::support::random::Rng;

/// A device that a host might hang on its source, and what its instrument makes of it.
#[derive(Clone, Copy, Debug)]
enum Hostile {
    Shorted,
    Open,
    Dark,
    Negative,
    SShaped,
    Compliance,
    NoNumbers,
    DoesNotFollow,
    Random,
    Stuck,
}

const HOSTILE: [Hostile; 10] = [
    Hostile::Shorted,
    Hostile::Open,
    Hostile::Dark,
    Hostile::Negative,
    Hostile::SShaped,
    Hostile::Compliance,
    Hostile::NoNumbers,
    Hostile::DoesNotFollow,
    Hostile::Random,
    Hostile::Stuck,
];

fn circuit(isc: f64, voc: f64, n: f64, rs: f64, rsh: f64) -> Circuit<1> {
    let a = thermal_voltage_v(n, 1, 25.0);
    Circuit::new(isc, [isc / (voc / a).exp_m1()], [a], rs * voc / isc, isc / (rsh * voc))
}

/// What the instrument reads at a set point.
fn reads(device: Hostile, c: &Circuit<1>, swept: Swept, set: f64, rng: &mut Rng) -> (f64, f64) {
    let isc = c.iph;
    let of = |set: f64| match swept {
        Swept::Voltage => (set, c.current_at(set)),
        Swept::Current => (c.voltage_at(set).max(-20.0), set),
    };
    let (v, a) = of(set);
    match (device, swept) {
        (Hostile::Shorted, Swept::Voltage) => (v, -1e3 * isc * v),
        (Hostile::Shorted, Swept::Current) => (1e-4 * rng.normal(), a),
        (Hostile::Open, Swept::Voltage) => (v, 1e-4 * isc * rng.normal()),
        (Hostile::Open, Swept::Current) => (-20.0 * a.signum(), a),
        (Hostile::Dark, Swept::Voltage) => (v, c.current_at(v) - isc),
        (Hostile::Dark, Swept::Current) => (c.voltage_at((set + isc).min(0.999 * isc)) - 0.5, a),
        (Hostile::Negative, _) => (v, -a),
        (Hostile::SShaped, Swept::Voltage) => (v, a * (1.0 - 0.8 * (-((v - 0.4) / 0.1).powi(2)).exp())),
        (Hostile::SShaped, Swept::Current) => (v - 0.1 * (a / (0.2 * isc)).asinh(), a),
        (Hostile::Compliance, Swept::Voltage) => (v.min(0.3), c.current_at(v.min(0.3))),
        (Hostile::Compliance, Swept::Current) => (v.max(0.4), a.min(0.5 * isc)),
        (Hostile::NoNumbers, _) if rng.unit() < 0.5 => (f64::NAN, a),
        (Hostile::DoesNotFollow, _) => {
            of(set * 0.5 + 0.1 * rng.normal() * if swept == Swept::Voltage { 1.0 } else { isc })
        }
        (Hostile::Random, _) => (1e3 * rng.normal(), 1e3 * rng.normal()),
        (Hostile::Stuck, _) => (0.123, 0.5 * isc),
        _ => (v, a),
    }
}

/// Drives the sweep to its end; every set point within the limits.
fn drive(device: Hostile, c: &Circuit<1>, options: LiveOptions, seed: u64) -> Result<(), TestCaseError> {
    let (mut rng, swept) = (Rng(seed), options.sweep.swept);
    let (low, high) = if swept == Swept::Voltage { options.limits_v } else { options.limits_a };
    let capacity = options.capacity;
    let mut live = LiveSweep::new(options).unwrap();
    let mut turns = 0;
    while let Some(next) = live.next_set_point() {
        prop_assert!(
            next.value >= low && next.value <= high,
            "{device:?}: {} of {low} to {high}",
            next.value
        );
        let (v, a) = reads(device, c, swept, next.value, &mut rng);
        let _ = live.push(v, a);
        turns += 1;
        prop_assert!(turns <= 10 * capacity, "{device:?} does not end");
    }
    prop_assert!(live.reason().is_some());
    for (point, estimate) in [("ff", live.key_points().ff), ("isc", live.key_points().isc)] {
        if let Some(estimate) = estimate {
            prop_assert!(estimate.value.is_finite() && estimate.u.is_none_or(f64::is_finite), "{point}");
        }
    }
    let _ = live.sweep();
    Ok(())
}

prop_compose! {
    fn devices()(isc in -6.0..0.5f64, voc in 0.4..1.2f64, n in 1.0..2.3f64, rs in 0.0..0.3f64, rsh in 2.0..500.0f64)
        -> Circuit<1> {
        circuit(10f64.powf(isc), voc, n, rs, rsh)
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, ..ProptestConfig::default() })]

    #[test]
    fn no_set_point_leaves_the_limits(
        c in devices(),
        device in 0..HOSTILE.len(),
        (by_current, load, swapped, ordered, stated) in any::<(bool, bool, bool, bool, bool)>(),
        (low, high, amps, watts) in (-0.5..0.0f64, 0.05..1.5f64, 0.1..5.0f64, 0.05..3.0f64),
        seed in any::<u64>(),
    ) {
        let swept = if by_current { Swept::Current } else { Swept::Voltage };
        let noise = Noise::default().current_a(0.005 * c.iph).voltage_v(if by_current { 2e-3 } else { 0.0 });
        let stated = SweepOptions::default()
            .swept(swept)
            .sign(if load { Sign::Load } else { Sign::Generator })
            .leads(if swapped { Leads::Swapped } else { Leads::AsGiven })
            .noise(stated.then_some(noise));
        let options = LiveOptions::within((low, high), (-amps * c.iph, 0.7 * amps * c.iph))
            .limit_w(watts * c.iph * 0.6)
            .order(if ordered { Order::UpAndDown } else { Order::Free })
            .capacity(40)
            .sweep(stated);
        drive(HOSTILE[device], &c, options, seed)?;
    }

    /// Diodes from n = 1 on, a voltage that is set where it should be, 0.5 % of noise: every reading within the limits of
    /// current, and of power but for a hundredth, which the noise of the readings before may cost.
    #[test]
    fn no_reading_of_a_diode_leaves_the_limits(
        c in devices(),
        (high, amps, watts) in (0.3..1.5f64, 0.02..4.0f64, 0.3..3.0f64),
        seed in any::<u64>(),
    ) {
        let mut rng = Rng(seed);
        let sigma = 0.005 * c.iph;
        let stated = SweepOptions::default().noise(Noise::default().current_a(sigma));
        let (low_a, high_a) = (-(amps + 0.05) * c.iph, 1.2 * c.iph);
        let limit_w = watts * c.isc() * c.voc();
        let options = LiveOptions::within((-0.2, high), (low_a, high_a)).limit_w(limit_w).capacity(40).sweep(stated);
        let mut live = LiveSweep::new(options).unwrap();
        while let Some(next) = live.next_set_point() {
            let true_a = c.current_at(next.value);
            prop_assert!(true_a >= low_a && true_a <= high_a, "{true_a} at {} of {low_a} to {high_a}", next.value);
            prop_assert!((next.value * true_a).abs() <= limit_w * 1.01, "{} W of {limit_w}", next.value * true_a);
            let _ = live.push(next.value, true_a + sigma * rng.normal());
        }
    }
}
