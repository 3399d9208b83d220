//! Running figures against the full fit, what is missing, what comes out as a sweep, and what is stored.

use crate::support::live::{Cell, Rig};
use crate::support::random::Rng;
use litdiode::diode::Junction;
use litdiode::fit::{Options, fit_single_diode};
#[cfg(feature = "serde")]
use litdiode::live::Purpose;
use litdiode::live::{LiveSweep, StopReason};
use litdiode::sweep::{Sweep, Swept};
use std::time::Duration;

/// Σ of the squared residuals of a curve I(V): along the current where the voltage was set, else along the voltage, by
/// bisection.
fn squares(sweep: &Sweep, curve: &mut dyn FnMut(f64) -> f64) -> f64 {
    let mut voltage = |a: f64| {
        let (mut low, mut high) = (-2.0, 2.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if curve(middle) > a { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    };
    let readings = sweep.voltage_v().iter().zip(sweep.current_a());
    match sweep.options().swept {
        Swept::Current => readings.map(|(v, a)| (v - voltage(*a)).powi(2)).sum(),
        Swept::Voltage => readings.map(|(v, a)| (a - curve(*v)).powi(2)).sum(),
    }
}

/// The running fit ends where the full fit does, which searches from a grid: χ² within 1 % and figures within a tenth of ±.
#[test]
fn running_figures_are_those_of_the_full_fit() {
    let (mut rng, mut apart, mut compared, mut higher) = (Rng(21), 0, 0, 0);
    for k in 0..30 {
        let swept = if k % 3 == 0 { Swept::Current } else { Swept::Voltage };
        let noise = if swept == Swept::Voltage { 0.01 } else { 0.003 };
        let (cell, rig) = (Cell::random(&mut rng), Rig { swept, noise, stated: k % 2 == 0 });
        let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
        while let Some(next) = live.next_set_point() {
            let (v, a) = rig.reads(&cell, next.value, rng.normal());
            live.push(v, a).unwrap();
        }
        let sweep = live.sweep().unwrap();
        let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
        let (running, full) = (live.key_points(), fit.key_points());
        let circuit = *fit.model.circuit();
        let least = squares(&sweep, &mut |v| circuit.current_at(v));
        let own = squares(&sweep, &mut |v| live.curve(&[v]).unwrap()[0]);
        higher += usize::from(own > 1.01 * least);
        for name in ["isc", "voc", "pmax", "ff"] {
            match (running.get(name), full.get(name)) {
                (Some(one), Some(two)) => {
                    compared += 1;
                    apart += usize::from((one.value - two.value).abs() > 0.1 * one.u.unwrap());
                }
                (one, two) => assert!(one.is_none() && two.is_none(), "{name} of {k}: {one:?}, {two:?}"),
            }
        }
    }
    assert!(compared >= 110 && apart <= 4, "{apart} of {compared} figures lie apart");
    assert_eq!(higher, 0, "of 30 sweeps");
}

#[test]
fn what_is_missing_is_named_until_it_is_there() {
    let (cell, rig) = (Cell::random(&mut Rng(2)), Rig { swept: Swept::Voltage, noise: 0.005, stated: true });
    let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
    let mut rng = Rng(3);
    assert_eq!(live.missing().len(), 6);
    let mut fewest = 6;
    while let Some(next) = live.next_set_point() {
        let (v, a) = rig.reads(&cell, next.value, rng.normal());
        live.push(v, a).unwrap();
        if live.current_a().iter().all(|a| *a > 0.0) {
            let missing = live.missing();
            assert!(missing.iter().any(|m| m.figure == "voc"), "{missing:?}");
        }
        fewest = fewest.min(live.missing().len());
    }
    assert_eq!(fewest, 0);
    assert!(live.reason().is_some_and(StopReason::is_reached), "{:?}", live.reason());
}

/// The noise that is not stated comes from the readings, with their degrees of freedom.
#[test]
fn noise_that_is_not_stated_has_the_degrees_of_freedom_of_the_readings() {
    let (cell, rig) = (Cell::random(&mut Rng(6)), Rig { swept: Swept::Voltage, noise: 0.01, stated: false });
    let mut live = LiveSweep::new(rig.options(&cell, 1e-5).capacity(60)).unwrap();
    let mut rng = Rng(7);
    while let Some(next) = live.next_set_point() {
        let (v, a) = rig.reads(&cell, next.value, rng.normal());
        live.push(v, a).unwrap();
    }
    let left_out = live.flags().iter().filter(|f| f.is_some()).count();
    assert_eq!(live.key_points().isc.unwrap().dof, (60 - left_out - 5) as f64);
}

#[test]
fn a_full_fit_keeps_to_its_deadline_and_tells_its_status() {
    let (cell, rig) = (Cell::random(&mut Rng(9)), Rig { swept: Swept::Voltage, noise: 0.01, stated: true });
    let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
    assert!(live.fit(Duration::from_millis(5)).is_err());
    let mut rng = Rng(10);
    while let Some(next) = live.next_set_point() {
        let (v, a) = rig.reads(&cell, next.value, rng.normal());
        live.push(v, a).unwrap();
    }
    // A deadline that has passed already: the state of the running fit comes back, and is told not to be the end.
    let at_once = live.fit(Duration::ZERO).unwrap();
    assert_eq!(at_once.status, litdiode::fit::Status::NotConverged);
    let in_time = live.fit(Duration::from_secs(60)).unwrap();
    assert!(in_time.status != litdiode::fit::Status::NotConverged);
    let (one, two) = (at_once.key_points().pmax.unwrap().value, in_time.key_points().pmax.unwrap().value);
    assert!((one / two - 1.0).abs() < 0.02, "{one} and {two}");
}

#[cfg(feature = "serde")]
#[test]
fn a_stored_sweep_goes_on_where_it_was() {
    let (cell, rig) = (Cell::random(&mut Rng(12)), Rig { swept: Swept::Voltage, noise: 0.01, stated: true });
    let mut live = LiveSweep::new(rig.options(&cell, 0.001)).unwrap();
    let mut rng = Rng(13);
    for _ in 0..14 {
        let next = live.next_set_point().unwrap();
        let (v, a) = rig.reads(&cell, next.value, rng.normal());
        live.push(v, a).unwrap();
    }
    let text = serde_json::to_string(&live).unwrap();
    let mut back: LiveSweep = serde_json::from_str(&text).unwrap();
    assert_eq!(serde_json::to_string(&back).unwrap(), text);
    let (one, two) = (live.key_points(), back.key_points());
    let (one, two) = (one.pmax.unwrap(), two.pmax.unwrap());
    assert!((one.value - two.value).abs() < 0.01 * one.u.unwrap());
    assert_eq!(live.next_set_point().unwrap().purpose, back.next_set_point().unwrap().purpose);
    assert!(serde_json::from_str::<LiveSweep>(&text.replace("\"flags\":[null,", "\"flags\":[")).is_err());
}

/// Stored before each set point of the bracket and read back, it asks for the same: also with readings that were flagged, and
/// with a wall at the limit itself.
#[cfg(feature = "serde")]
#[test]
fn a_sweep_stored_in_its_bracket_asks_for_the_same() {
    let cell = Cell::random(&mut Rng(12));
    for (swept, flagged, at_limit) in [
        (Swept::Voltage, None, false),
        (Swept::Voltage, Some(2), false),
        (Swept::Current, None, false),
        (Swept::Current, Some(3), false),
        (Swept::Current, None, true),
    ] {
        let rig = Rig { swept, noise: if swept == Swept::Voltage { 0.01 } else { 0.003 }, stated: true };
        let mut options = rig.options(&cell, 0.001);
        if at_limit {
            // Isc is passed by so little that the reading may be noise: the limit itself becomes the wall.
            let most = cell.isc + 1e-3 * rig.noise / cell.voc * cell.isc;
            options.limits_v.0 = 0.0;
            (options.limits_a.1, options.safe) = (most, most);
        }
        let (mut live, mut rng, mut bracket) = (LiveSweep::new(options).unwrap(), Rng(14), 0);
        loop {
            let text = serde_json::to_string(&live).unwrap();
            let mut back: LiveSweep = serde_json::from_str(&text).unwrap();
            assert_eq!(serde_json::to_string(&back).unwrap(), text);
            let next = live.next_set_point().unwrap();
            if next.purpose != Purpose::Bracket {
                break;
            }
            assert_eq!(
                back.next_set_point(),
                Some(next),
                "{swept:?}, {flagged:?}, {at_limit} after {}",
                live.len()
            );
            let asked = serde_json::to_string(&live).unwrap();
            let mut back: LiveSweep = serde_json::from_str(&asked).unwrap();
            assert_eq!(back.next_set_point(), Some(next));
            bracket += 1;
            let deviate = if at_limit { 0.0 } else { rng.normal() };
            let (v, a) =
                if flagged == Some(live.len()) { (-5.0, 0.0) } else { rig.reads(&cell, next.value, deviate) };
            live.push(v, a).unwrap();
        }
        assert!(bracket >= 4, "{swept:?}: {bracket}");
        let expected = usize::from(flagged.is_some() || at_limit);
        assert!(live.flags().iter().flatten().count() >= expected, "{swept:?}: {:?}", live.flags());
    }
}

/// What was asked for lies within the walls, or it is no live sweep.
#[cfg(feature = "serde")]
#[test]
fn a_stored_set_point_beyond_the_walls_is_refused() {
    let (cell, rig) = (Cell::random(&mut Rng(12)), Rig { swept: Swept::Current, noise: 0.003, stated: true });
    let mut live = LiveSweep::new(rig.options(&cell, 0.001)).unwrap();
    let next = live.next_set_point().unwrap();
    let text = serde_json::to_string(&live).unwrap();
    let stored = "\"asked\":[0.0,\"Bracket\"]";
    assert!(next.value == 0.0 && text.contains(stored), "{text}");
    let with = |x: f64| text.replace(stored, &format!("\"asked\":[{x:?},\"Bracket\"]"));
    let limit = 3.0 * cell.isc;
    for good in [-limit, 0.5 * limit, limit] {
        assert!(serde_json::from_str::<LiveSweep>(&with(good)).is_ok(), "{good}");
    }
    for bad in [5.0 + limit, -1.001 * limit, 1.001 * limit] {
        let error = serde_json::from_str::<LiveSweep>(&with(bad)).err().map(|e| e.to_string());
        assert!(error.is_some_and(|e| e.contains("asked")), "{bad}");
    }
}

/// To ask once more changes no answer, though few readings leave the parameters open.
#[test]
fn asking_again_changes_no_answer() {
    let rig = Rig { swept: Swept::Voltage, noise: 0.01, stated: true };
    let mut rng = Rng(44);
    let mut compared = 0;
    for _ in 0..20 {
        let cell = Cell::random(&mut rng);
        let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
        while let Some(next) = live.next_set_point() {
            let (v, a) = rig.reads(&cell, next.value, rng.normal());
            live.push(v, a).unwrap();
            let (first, points) = (live.relative_u(), live.key_points());
            for _ in 0..3 {
                assert_eq!(live.relative_u(), first, "after {}", live.len());
            }
            assert_eq!(live.key_points(), points);
            compared += usize::from(first.is_some());
        }
    }
    assert!(compared >= 120, "{compared}");
}
