//! Readings that are lost, garbled, beyond the limits or off their set point: one of them neither ends a sweep nor stays in its
//! figures, and what lies outside the limits is not set again.

use crate::support::random::Rng;
use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::estimate::Amount;
use litdiode::key_points::KeyPoint;
use litdiode::live::{Flag, LiveOptions, LiveSweep, Purpose, StopReason};
use litdiode::sweep::{Leads, Noise, Sign, SweepOptions, Swept};

const SIGMA_V: f64 = 3e-3;
const SIGMA_A: f64 = 6e-6;

/// A voltage in V and a current in A.
type Read = (f64, f64);

/// Invented, much like a dye cell: Voc 0.618 V.
fn cell() -> Circuit<1> {
    Circuit::new(604e-6, [1.7e-9], [thermal_voltage_v(1.9, 1, 25.0)], 62.0, 1.0 / 9300.0)
}

fn options(swept: Swept, amperes: f64) -> LiveOptions {
    let noise = match swept {
        Swept::Voltage => Noise::default().current_a(SIGMA_A),
        Swept::Current => Noise::default().voltage_v(SIGMA_V),
    };
    let stated = SweepOptions::default().swept(swept).noise(noise);
    LiveOptions::within((-0.1, 0.9), (-amperes, amperes)).sweep(stated)
}

/// Drives a sweep to its end; `garbles` makes of reading k, counted from 1, what the host reads.
fn drive(
    options: LiveOptions,
    seed: u64,
    garbles: impl Fn(usize, f64, (f64, f64)) -> (f64, f64),
) -> (LiveSweep, Vec<f64>) {
    let (cell, mut rng, swept) = (cell(), Rng(seed), options.sweep.swept);
    let (mut live, mut set) = (LiveSweep::new(options).unwrap(), Vec::new());
    while let Some(next) = live.next_set_point() {
        let good = match swept {
            Swept::Voltage => (next.value, cell.current_at(next.value) + SIGMA_A * rng.normal()),
            Swept::Current => (cell.voltage_at(next.value).max(-1.0) + SIGMA_V * rng.normal(), next.value),
        };
        set.push(next.value);
        let (v, a) = garbles(set.len(), next.value, good);
        live.push(v, a).unwrap();
    }
    (live, set)
}

fn is_right(live: &mut LiveSweep) {
    let told = live.reason().map(ToString::to_string);
    assert!(live.reason().is_some_and(StopReason::is_reached), "{told:?} after {}", live.len());
    let (cell, ff) = (cell(), live.key_points().ff.unwrap());
    let most = (0..7000).map(|k| f64::from(k) * 1e-4).map(|v| v * cell.current_at(v)).fold(0.0, f64::max);
    let truth = most / (cell.isc() * cell.voc());
    assert!((ff.value - truth).abs() < 4.5 * ff.u.unwrap(), "{ff} and {truth}");
}

/// Isc is 600 µA: what passes it reads −1 V. It is not set again, nor what lies beyond.
#[test]
fn a_set_current_that_read_beyond_the_limits_is_not_set_again() {
    for (safe, amperes) in [(8e-4, 1e-3), (0.0, 0.012), (0.0, 0.036), (0.0, 0.1)] {
        let (mut live, set) = drive(options(Swept::Current, amperes).safe(safe), 5, |_, _, good| good);
        let bad = |k: &usize| live.flags()[*k] == Some(Flag::BeyondLimits);
        for k in (0..set.len()).filter(bad) {
            let again = set[k + 1..].iter().filter(|later| **later >= set[k]).count();
            assert_eq!(again, 0, "{} A of {set:?}", set[k]);
        }
        assert!(set.len() < 60, "{} readings", set.len());
        is_right(&mut live);
    }
}

#[test]
fn one_lost_reading_ends_no_sweep() {
    for at in 1..12 {
        let lost = |k: usize, _: f64, good: (f64, f64)| if k == at { (-0.5, good.1) } else { good };
        let (mut live, _) = drive(options(Swept::Current, 1e-3), 5, lost);
        assert_eq!(live.flags()[at - 1], Some(Flag::BeyondLimits), "reading {at}");
        is_right(&mut live);
        let spike = |k: usize, _: f64, good: (f64, f64)| if k == at { (good.0, -5e-3) } else { good };
        let (mut live, _) = drive(options(Swept::Voltage, 1e-3), 5, spike);
        assert_eq!(live.flags()[at - 1], Some(Flag::BeyondLimits), "reading {at}");
        is_right(&mut live);
    }
}

#[test]
fn one_reading_that_did_not_follow_ends_no_sweep_and_is_in_no_figure() {
    for at in [6, 8, 10] {
        let stuck = |k: usize, _: f64, good: (f64, f64)| if k == at { (0.3, 1e-4) } else { good };
        let (mut live, _) = drive(options(Swept::Current, 1e-3).wanted(0.006), 5, stuck);
        assert!(matches!(live.flags()[at - 1], Some(Flag::NotFollowed { .. })), "{:?}", live.flags());
        is_right(&mut live);
        assert_eq!(live.sweep().unwrap().len(), live.len() - live.flags().iter().flatten().count());
    }
}

#[test]
fn a_source_that_sets_half_is_told() {
    let half = |_: usize, set: f64, _: (f64, f64)| (cell().voltage_at(0.5 * set), 0.5 * set);
    let (live, set) = drive(options(Swept::Current, 1e-3), 5, half);
    assert!(matches!(live.reason(), Some(StopReason::NotFollowed { .. })), "{:?}", live.reason());
    assert!(set.len() < 40, "{}", set.len());
}

/// Millivolts, the other sign, arguments in the other order: the text names them.
#[test]
fn first_readings_outside_the_limits_name_sign_unit_and_order() {
    let wrong: [fn(Read) -> Read; 3] = [|g| (1e3 * g.0, g.1), |g| (-g.0, g.1), |g| (g.1, g.0)];
    for (k, wrong) in wrong.into_iter().enumerate() {
        let (live, set) = drive(options(Swept::Current, 1e-3), 5, |_, _, good| wrong(good));
        let Some(StopReason::BeyondLimits { times: 2 }) = live.reason() else {
            panic!("{k}: {:?}", live.reason())
        };
        let told = live.reason().unwrap().to_string();
        assert!(["sign", "unit", "order", "leads"].iter().all(|word| told.contains(word)), "{told}");
        assert_eq!(set, [0.0, 0.0]);
    }
}

/// A source whose voltage ends at −0.1 V and that reads what current flows.
#[test]
fn a_source_in_compliance_is_not_told_to_be_dark() {
    let compliance = |_: usize, set: f64, good: (f64, f64)| {
        if cell().voltage_at(set) < -0.08 { (-0.08, cell().current_at(-0.08)) } else { good }
    };
    for amperes in [1e-3, 0.012, 0.036] {
        let (live, _) = drive(options(Swept::Current, amperes), 5, compliance);
        assert!(!matches!(live.reason(), Some(StopReason::NoPower { .. })), "{:?}", live.reason());
    }
}

/// χ² contradicts the diode, and one reading explains it: before the curve is known well enough to judge it when it is read.
#[test]
fn one_wild_reading_early_is_found_by_leaving_it_out() {
    for at in 3..13 {
        for volts in [0.2, 0.1, 0.05, -0.2] {
            let wild = |k: usize, _: f64, g: (f64, f64)| if k == at { (g.0 + volts, g.1) } else { g };
            let (mut live, set) = drive(options(Swept::Current, 1e-3).wanted(0.005), at as u64, wild);
            assert!(live.flags()[at - 1].is_some(), "{at}, {volts} V: {:?} {set:?}", live.flags());
            assert!(set.len() < 80, "{at}, {volts} V: {}", set.len());
            is_right(&mut live);
        }
        let wild = |k: usize, _: f64, g: (f64, f64)| if k == at { (g.0, g.1 + 50.0 * SIGMA_A) } else { g };
        let (mut live, set) = drive(options(Swept::Voltage, 1e-3).wanted(0.008), at as u64, wild);
        assert!(matches!(live.flags()[at - 1], Some(Flag::Wild { .. })), "{at}: {:?} {set:?}", live.flags());
        assert!(set.len() < 80, "{at}: {}", set.len());
        is_right(&mut live);
    }
}

/// A source that steps the current holds the voltage at its limit where the device cannot carry what is set, and the host
/// pushes the set point as the current: such a reading tells nothing of the device. Noise, or a compliance up to 0.9 % of the
/// range off the limit, hides none of them.
#[test]
fn readings_at_the_compliance_of_the_source_are_left_out() {
    let (isc, mut at_limit, mut reached) = (cell().isc(), 0, 0);
    for seed in 0..40 {
        let compliance = -0.1 + 0.009 * f64::from(seed % 3) / 2.0;
        let held = |_: usize, set: f64, (v, a): Read| {
            // `drive` stops the fall at −1 V.
            let fallen = cell().voltage_at(set).max(-1.0);
            (v - fallen + fallen.max(compliance), a)
        };
        let options = options(Swept::Current, 3e-3).target(KeyPoint::Isc).wanted(0.003).safe(0.0);
        let mut live = drive(options, seed as u64, held).0;
        for (v, flag) in live.voltage_v().iter().zip(live.flags()) {
            if (v - compliance).abs() < 5.0 * SIGMA_V {
                at_limit += 1;
                assert!(flag.is_some(), "{v} of seed {seed}");
            }
        }
        if live.reason().is_some_and(StopReason::is_reached) {
            reached += 1;
            let found = live.key_points().isc.unwrap();
            assert!((found.value - isc).abs() < 4.5 * found.u.unwrap(), "{found} and {isc} of seed {seed}");
        }
    }
    assert!(at_limit >= 12 && reached >= 30, "{at_limit} readings, {reached} sweeps");
}

/// With a set voltage it is the current that the source holds: half of Isc is not taken for Isc.
#[test]
fn a_current_at_the_compliance_of_the_source_is_no_short_circuit_current() {
    let most = 300e-6;
    for seed in 0..12 {
        let held = |_: usize, set: f64, (v, a): Read| {
            let whole = cell().current_at(set);
            (v, a - whole + whole.min(most))
        };
        let mut options = options(Swept::Voltage, 1e-3).target(KeyPoint::Isc);
        options.limits_a.1 = most;
        let mut live = drive(options, seed, held).0;
        let told = live.reason().unwrap().to_string();
        assert!(matches!(live.reason(), Some(StopReason::BeyondLimits { .. })), "{told}");
        assert!(live.key_points().isc.is_none() && told.contains("compliance"), "{told}");
    }
}

/// At I = 0 no compliance acts: a dark device is dark, though its voltage lies at a limit of 0 and its current is read with an
/// offset.
#[test]
fn a_dark_device_at_a_limit_of_0_is_told_to_be_dark() {
    // What is left of the voltage without the cell is its noise; it cannot be read below 0.
    let dark = |_: usize, set: f64, (v, _): Read| ((v - cell().voltage_at(set).max(-1.0)).abs(), set + 2e-7);
    let mut options = options(Swept::Current, 3e-3);
    options.limits_v.0 = 0.0;
    for seed in 0..12 {
        let live = drive(options.clone(), seed, dark).0;
        let told = live.reason().unwrap().to_string();
        assert!(matches!(live.reason(), Some(StopReason::NoPower { .. })), "{told}");
    }
}

/// The lamp goes out: what was measured before stays, and the reason names the light.
#[test]
fn a_lamp_that_goes_out_ends_the_sweep() {
    for seed in 0..12 {
        let out = 12 + seed as usize;
        let dark = |k: usize, set: f64, (v, a): Read| {
            if k >= out { (v - cell().voltage_at(set).max(-1.0) - 0.1, a) } else { (v, a) }
        };
        let options = options(Swept::Current, 3e-3).wanted(1e-4).capacity(100);
        let mut live = drive(options, seed, dark).0;
        let told = live.reason().unwrap().to_string();
        assert!(matches!(live.reason(), Some(StopReason::BeyondLimits { .. })), "{told}");
        assert!(told.contains("light") && live.len() < out + 20, "{told} after {}", live.len());
        if let Some(isc) = live.key_points().isc {
            assert!((isc.value - cell().isc()).abs() < 5.0 * isc.u.unwrap(), "{isc}");
        }
    }
}

/// Two readings that agree and are both wrong cannot be told from the device; they do not take the readings that are left.
#[test]
fn a_gap_that_no_reading_closes_does_not_take_them_all() {
    let twice = |k: usize, _: f64, (v, a): Read| if k == 5 || k == 6 { (v + 0.15, a) } else { (v, a) };
    let (mut crowded, mut gaps) = (0, 0);
    for seed in 0..12 {
        let (live, set) = drive(options(Swept::Current, 3e-3).wanted(1e-4).capacity(60), seed, twice);
        gaps += live.len();
        let most = set.iter().map(|x| set.iter().filter(|y| (*y - x).abs() < 3e-6).count()).max().unwrap();
        crowded = crowded.max(most);
    }
    assert!(crowded <= 20 && gaps >= 400, "{crowded} of {gaps}");
}

/// The voltages of readings that are not flagged.
fn good_voltages(live: &LiveSweep) -> impl Iterator<Item = f64> {
    live.voltage_v().iter().zip(live.flags()).filter(|(_, flag)| flag.is_none()).map(|(v, _)| *v)
}

/// Those next below and above `v`.
fn neighbours(live: &LiveSweep, v: f64) -> (f64, f64) {
    let below = good_voltages(live).filter(|x| *x <= v).fold(f64::NEG_INFINITY, f64::max);
    (below, good_voltages(live).filter(|x| *x > v).fold(f64::INFINITY, f64::min))
}

/// Three cells in series, stated as one: no single reading explains it, and the text says what may.
#[test]
fn where_one_diode_does_not_describe_the_readings_the_reason_says_so() {
    let stack = Circuit::<1>::new(0.03, [1e-9], [3.0 * thermal_voltage_v(1.2, 1, 25.0)], 0.3, 1e-4);
    let s_shape = |v: f64| stack.current_at(v) * (1.0 - 0.7 * (-((v - 0.6) / 0.2).powi(2)).exp());
    let stated = SweepOptions::default().noise(Noise::default().current_a(1e-4));
    let options = LiveOptions::within((-0.1, 2.5), (-0.06, 0.06)).capacity(60).sweep(stated);
    let (mut live, mut rng) = (LiveSweep::new(options).unwrap(), Rng(3));
    let mut gaps = 0;
    while let Some(next) = live.next_set_point() {
        if next.purpose == Purpose::Gap {
            gaps += 1;
            let (below, above) = neighbours(&live, next.value);
            assert!((next.value - 0.5 * (below + above)).abs() < 1e-12, "{} of {below}, {above}", next.value);
        }
        live.push(next.value, s_shape(next.value) + 1e-4 * rng.normal()).unwrap();
    }
    assert!(gaps >= 20, "{gaps}");
    let told = live.reason().unwrap().to_string();
    assert!(told.contains("one diode does not describe") && told.contains("cells"), "{told}");
    let left_out = live.flags().iter().flatten().count();
    assert!(left_out <= 3, "{left_out}");
}

/// Two readings above 0.4 V that lie far outside the limits: the reason says that they, not the limit, end the way to Voc.
#[test]
fn readings_that_wall_off_the_way_to_voc_are_told() {
    let shorts = |_: usize, set: f64, g: Read| if set > 0.4 { (g.0, -5e-3) } else { g };
    let (live, set) = drive(options(Swept::Voltage, 1e-3), 5, shorts);
    let Some(StopReason::LimitReached { figure: KeyPoint::Voc, at, walled_off: true }) = live.reason() else {
        panic!("{:?} after {set:?}", live.reason())
    };
    let highest = good_voltages(&live).fold(f64::NEG_INFINITY, f64::max);
    assert_eq!(*at, Amount::volts(highest));
    assert!(highest <= 0.4, "{highest}");
    assert_eq!(live.flags().iter().filter(|f| **f == Some(Flag::BeyondLimits)).count(), 2);
    let told = live.reason().unwrap().to_string();
    assert!(told.starts_with("Voc: two readings outside the limits"), "{told}");
}

/// The limit itself ends the way: it is told as the host stated it, with either sign and either leads.
#[test]
fn a_limit_before_voc_or_isc_is_told_as_it_was_stated() {
    let cell = cell();
    for (leads, by) in [(Leads::AsGiven, 1.0), (Leads::Swapped, -1.0)] {
        let stated = SweepOptions::default().leads(leads).noise(Noise::default().current_a(SIGMA_A));
        let limits_v = if by > 0.0 { (-0.1, 0.4) } else { (-0.4, 0.1) };
        let mut live = LiveSweep::new(LiveOptions::within(limits_v, (-1e-3, 1e-3)).sweep(stated)).unwrap();
        while let Some(next) = live.next_set_point() {
            live.push(next.value, by * cell.current_at(by * next.value)).unwrap();
        }
        let at = Amount::volts(0.4 * by);
        let reason = StopReason::LimitReached { figure: KeyPoint::Voc, at, walled_off: false };
        assert_eq!(live.reason(), Some(&reason));
        let told = reason.to_string();
        assert!(told.starts_with(&format!("Voc: the limits end the way to it at {at};")), "{told}");
    }
    for (sign, by) in [(Sign::Generator, 1.0), (Sign::Load, -1.0)] {
        let noise = Noise::default().voltage_v(SIGMA_V);
        let stated = SweepOptions::default().swept(Swept::Current).sign(sign).noise(noise);
        let limits_a = if by > 0.0 { (-1e-4, 3e-4) } else { (-3e-4, 1e-4) };
        let mut live = LiveSweep::new(LiveOptions::within((-0.1, 0.9), limits_a).sweep(stated)).unwrap();
        while let Some(next) = live.next_set_point() {
            live.push(cell.voltage_at(by * next.value), next.value).unwrap();
        }
        let at = Amount::amperes(3e-4 * by);
        let reason = StopReason::LimitReached { figure: KeyPoint::Isc, at, walled_off: false };
        assert_eq!(live.reason(), Some(&reason));
    }
}

/// A device without light or without contact: the bracket ends after six readings, or at the limit where that comes first.
#[test]
fn a_device_without_power_is_told_so() {
    for (swept, seed) in [(Swept::Voltage, 1), (Swept::Current, 2), (Swept::Voltage, 3), (Swept::Current, 4)]
    {
        let mut rng = Rng(seed);
        let mut live = LiveSweep::new(options(swept, 1e-3)).unwrap();
        while let Some(next) = live.next_set_point() {
            match swept {
                Swept::Voltage => live.push(next.value, 0.5 * SIGMA_A * rng.normal()).unwrap(),
                Swept::Current => live.push(0.5 * SIGMA_V * rng.normal(), next.value).unwrap(),
            };
        }
        let Some(&StopReason::NoPower { points }) = live.reason() else {
            panic!("{swept:?}: {:?}", live.reason())
        };
        assert!(points == live.len() && points <= 6, "{swept:?}: {points} of {}", live.len());
        let told = live.reason().unwrap().to_string();
        assert!(told.starts_with(&format!("none of {points} readings shows power")), "{told}");
    }
}
