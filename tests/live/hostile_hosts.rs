//! What hosts do beside driving a sweep as they should.

use crate::support::live::{Cell, Rig};
use crate::support::random::Rng;
use litdiode::cancel::Token;
use litdiode::diode::Junction;
use litdiode::key_points::KeyPoint;
use litdiode::live::{Flag, LiveError, LiveOptions, LiveSweep, Order, Purpose, StopReason};
use litdiode::sweep::{Leads, Noise, Sign, SweepOptions, Swept};

const RIG: Rig = Rig { swept: Swept::Voltage, noise: 0.005, stated: true };

fn cell() -> Cell {
    Cell::random(&mut Rng(5))
}

#[test]
fn options_outside_their_domain_name_themselves() {
    let good = || LiveOptions::within((-0.1, 0.9), (-1.0, 1.0));
    let text = |options| LiveSweep::new(options).err().map(|e| e.to_string()).unwrap_or_default();
    assert!(text(LiveOptions::within((0.1, 0.9), (-1.0, 1.0))).starts_with("limits_v = 0.1 to 0.9"));
    assert!(text(LiveOptions::within((-0.1, 0.9), (1.0, -1.0))).starts_with("limits_a = 1 to -1"));
    assert!(text(good().wanted(0.0)).starts_with("wanted = 0"));
    assert!(text(good().capacity(3)).starts_with("capacity = 3"));
    assert!(text(good().limit_w(-1.0)).starts_with("limit_w = -1"));
    assert!(text(good().dwell_s(f64::NAN)).starts_with("dwell_s = NaN"));
    assert!(text(good().time_limit_s(0.0)).starts_with("time_limit_s = 0"));
    assert!(text(good().target(KeyPoint::Efficiency)).starts_with("target = efficiency"));
    assert!(text(good().sweep(SweepOptions::default().cells(0))).contains("cells"));
    assert!(text(good().sweep(SweepOptions::default().time_s(vec![1.0]))).starts_with("time_s"));
}

#[test]
fn a_reading_that_is_no_number_changes_nothing_and_ends_in_a_stop() {
    let mut live = LiveSweep::new(RIG.options(&cell(), 0.01)).unwrap();
    let first = live.next_set_point().unwrap();
    for _ in 0..8 {
        assert_eq!(live.next_set_point(), Some(first));
        let error = live.push(0.0, f64::NAN).unwrap_err();
        assert!(matches!(error, LiveError::NotFinite { name: "current_a", index: 0, .. }), "{error}");
    }
    assert_eq!(live.next_set_point(), None);
    assert_eq!(live.reason(), Some(&StopReason::NoNumbers { times: 8 }));
    assert!(live.is_empty());
}

#[test]
fn readings_points_and_time_are_used_up() {
    let cell = cell();
    let mut rng = Rng(1);
    let mut drive = |options: LiveOptions, step_s: f64| {
        let mut live = LiveSweep::new(options).unwrap();
        let mut time_s = 0.0;
        while let Some(next) = live.next_set_point() {
            let a = cell.circuit.current_at(next.value) + RIG.noise * cell.isc * rng.normal();
            live.push_at(next.value, a, time_s).unwrap();
            time_s += step_s;
        }
        live
    };
    let live = drive(RIG.options(&cell, 1e-6).capacity(25), 0.1);
    assert!(
        matches!(live.reason(), Some(StopReason::PointsUsedUp { points: 25, .. })),
        "{:?}",
        live.reason()
    );
    let live = drive(RIG.options(&cell, 1e-6).time_limit_s(1.0), 0.1);
    assert!(matches!(live.reason(), Some(StopReason::TimeUsedUp { .. })), "{:?}", live.reason());
    assert_eq!(live.len(), 12);
    let mut full = drive(RIG.options(&cell, 1e-6).capacity(8), 0.1);
    assert!(matches!(full.push(0.1, 0.1), Err(LiveError::Full { capacity: 8 })));
    assert!(live.sweep().unwrap().options().time_s.is_some());
}

#[test]
fn times_must_rise() {
    let mut live = LiveSweep::new(RIG.options(&cell(), 0.01)).unwrap();
    live.push_at(0.0, 0.5 * cell().isc, 2.0).unwrap();
    assert!(matches!(live.push_at(0.0, 0.1, 1.0), Err(LiveError::Time { index: 1, .. })));
}

/// Generator sign within, the host's sign at the border: the same set points but for the sign.
#[test]
fn sign_and_leads_are_those_of_the_host() {
    let cell = cell();
    for (sign, leads, by_v, by_a) in [
        (Sign::Load, Leads::AsGiven, 1.0, -1.0),
        (Sign::Generator, Leads::Swapped, -1.0, -1.0),
        (Sign::Load, Leads::Swapped, -1.0, 1.0),
    ] {
        let mut plain = LiveSweep::new(RIG.options(&cell, 0.01)).unwrap();
        let mut options = RIG.options(&cell, 0.01);
        options.sweep = options.sweep.sign(sign).leads(leads);
        if by_v < 0.0 {
            options.limits_v = (-options.limits_v.1, -options.limits_v.0);
            options.safe = -options.safe;
        }
        let mut turned = LiveSweep::new(options).unwrap();
        while let Some(next) = plain.next_set_point() {
            let other = turned.next_set_point().unwrap();
            assert_eq!(other.value, by_v * next.value);
            let a = cell.circuit.current_at(next.value);
            plain.push(next.value, a).unwrap();
            turned.push(by_v * next.value, by_a * a).unwrap();
        }
        assert_eq!(plain.key_points(), turned.key_points());
        let (one, two) = (plain.sweep().unwrap(), turned.sweep().unwrap());
        assert_eq!((one.voltage_v(), one.current_a()), (two.voltage_v(), two.current_a()));
        assert!(!two.changes().is_empty());
    }
}

/// A spike is flagged, asked for again, and left out; a step of the device is confirmed and kept.
#[test]
fn wild_readings_are_flagged_and_asked_for_again() {
    let cell = cell();
    let mut rng = Rng(3);
    let mut live = LiveSweep::new(RIG.options(&cell, 1e-3)).unwrap();
    let mut spiked = None;
    let mut confirmed = 0;
    while let Some(next) = live.next_set_point() {
        let a = cell.circuit.current_at(next.value) + RIG.noise * cell.isc * rng.normal();
        if let Some((at, _)) = spiked.filter(|_| next.purpose == Purpose::Confirmation) {
            assert_eq!(next.value, at);
            confirmed += 1;
        }
        let spike = if live.len() == 20 { 0.3 * cell.isc } else { 0.0 };
        let flag = live.push(next.value, a + spike).unwrap();
        if spike > 0.0 {
            assert!(matches!(flag, Some(Flag::Wild { deviations }) if deviations > 20.0), "{flag:?}");
            spiked = Some((next.value, a));
        }
    }
    assert_eq!(confirmed, 1);
    assert!(matches!(live.flags()[20], Some(Flag::Wild { .. })));
    assert_eq!(live.sweep().unwrap().len(), live.len() - 1);
    let ff = live.key_points().ff.unwrap();
    assert!((ff.value / cell.ff - 1.0).abs() < 4.0 * 1e-3, "{ff}");
}

#[test]
fn a_device_that_changes_confirms_its_readings() {
    let cell = cell();
    let mut live = LiveSweep::new(RIG.options(&cell, 1e-4).capacity(60)).unwrap();
    let mut rng = Rng(4);
    while let Some(next) = live.next_set_point() {
        let light = if live.len() >= 20 { 0.6 * cell.isc } else { cell.isc } - cell.isc;
        let a = cell.circuit.current_at(next.value) + light + RIG.noise * cell.isc * rng.normal();
        live.push(next.value, a).unwrap();
    }
    let left_out = live.flags().iter().filter(|f| matches!(f, Some(Flag::Wild { .. }))).count();
    assert!(left_out < 10, "{left_out} of {}", live.len());
}

#[test]
fn a_token_stops_it_and_it_goes_on_after() {
    let mut live = LiveSweep::new(RIG.options(&cell(), 0.01)).unwrap();
    let token = Token::new();
    token.cancel();
    let _ = token.run(|| assert_eq!(live.next_set_point(), None));
    assert_eq!(live.reason(), Some(&StopReason::Cancelled));
    assert!(live.next_set_point().is_some());
    assert_eq!(live.reason(), None);
}

/// In an ordered sweep the set points turn round seldom; in a free one often.
#[test]
fn up_and_down_turns_seldom() {
    let cell = cell();
    let turns = |order: Order| {
        let mut live =
            LiveSweep::new(RIG.options(&cell, 1e-5).capacity(60).order(order).dwell_s(0.25)).unwrap();
        let mut rng = Rng(8);
        let mut set = Vec::new();
        while let Some(next) = live.next_set_point() {
            assert_eq!(next.dwell_s, 0.25);
            set.push(next.value);
            live.push(next.value, cell.circuit.current_at(next.value) + RIG.noise * cell.isc * rng.normal())
                .unwrap();
        }
        set.windows(3).filter(|w| (w[1] - w[0]) * (w[2] - w[1]) < 0.0).count()
    };
    let (free, ordered) = (turns(Order::Free), turns(Order::UpAndDown));
    assert!(2 * ordered < free, "{ordered} and {free}");
}

/// What gains and offsets leave uncertain is in the ±, whether scatter is stated beside them or not, and no reading helps
/// against it.
#[test]
fn a_gain_that_is_uncertain_ends_the_sweep() {
    let cell = cell();
    let gain = Noise::default().current_gain_u(0.02);
    let mut with_ff = 0;
    for (noise, scatter) in [(gain.current_a(RIG.sigma(&cell)), 0.0), (gain, 1e-3 * cell.isc)] {
        let mut options = RIG.options(&cell, 0.01).target(KeyPoint::Pmax);
        options.sweep = options.sweep.noise(noise);
        let (mut live, mut rng) = (LiveSweep::new(options).unwrap(), Rng(17));
        while let Some(next) = live.next_set_point() {
            let a = cell.circuit.current_at(next.value) + scatter * rng.normal();
            live.push(next.value, a).unwrap();
        }
        let Some(StopReason::CommonToAll { common, .. }) = live.reason() else {
            panic!("{:?}", live.reason())
        };
        assert!((common - 0.02).abs() < 1e-3, "{common}");
        let points = live.key_points();
        assert!((points.isc.unwrap().relative_u().unwrap() - 0.02).abs() < 2e-3);
        // A sweep for Pmax need not reach Voc.
        if let Some(ff) = points.ff {
            with_ff += 1;
            assert!(ff.relative_u().unwrap() < 0.01);
        }
    }
    assert!(with_ff >= 1);
}

/// A gain of the current moves Isc in proportion, an offset of the voltage moves Voc as it is; the other figure stays.
#[test]
fn gains_and_offsets_without_scatter_are_in_the_running_figures() {
    let cell = cell();
    for swept in [Swept::Voltage, Swept::Current] {
        let rig = Rig { swept, noise: if swept == Swept::Voltage { 5e-4 } else { 2e-4 }, stated: false };
        let u = |noise: Noise| {
            let mut options = rig.options(&cell, 1e-9).capacity(40);
            options.sweep = options.sweep.noise(noise);
            let (mut live, mut rng) = (LiveSweep::new(options).unwrap(), Rng(18));
            while let Some(next) = live.next_set_point() {
                let (v, a) = rig.reads(&cell, next.value, rng.normal());
                live.push(v, a).unwrap();
            }
            let points = live.key_points();
            (points.isc.unwrap().relative_u().unwrap(), points.voc.unwrap().u.unwrap())
        };
        let none = u(Noise::default());
        let (isc, voc) = u(Noise::default().current_gain_u(0.05));
        assert!((isc - 0.05).abs() < 2e-3 && voc < 1.001 * none.1, "{swept:?}: {isc}, {voc}");
        let (isc, voc) = u(Noise::default().voltage_offset_u(0.02));
        assert!((voc - 0.02).abs() < 1e-3 && isc < 0.02, "{swept:?}: {isc}, {voc}");
    }
}

/// A share far below a thousandth of a per cent is written with its digits.
#[test]
fn small_shares_are_told_with_their_digits() {
    let cell = cell();
    let mut live = LiveSweep::new(RIG.options(&cell, 1e-6).capacity(20)).unwrap();
    while let Some(next) = live.next_set_point() {
        live.push(next.value, cell.circuit.current_at(next.value)).unwrap();
    }
    let told = live.reason().unwrap().to_string();
    assert!(told.ends_with("0.0001 % was wanted"), "{told}");
}
