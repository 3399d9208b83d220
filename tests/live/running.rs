//! Running figures against the full fit, what is missing, what comes out as a sweep, and what is stored.

use crate::support::live::{Cell, Rig};
use crate::support::random::Rng;
use litdiode::diode::Junction;
use litdiode::fit::{Options, fit_single_diode};
use litdiode::live::{LiveSweep, StopReason};
use litdiode::sweep::Swept;
use std::time::Duration;

fn next_reading(cell: &Cell, rig: &Rig, set: f64, rng: &mut Rng) -> (f64, f64) {
    let scatter = rig.sigma(cell) * rng.normal();
    match rig.swept {
        Swept::Voltage => (set, cell.circuit.current_at(set) + scatter),
        Swept::Current => (cell.circuit.voltage_at(set) + scatter, set),
    }
}

/// The running fit ends where the full fit does, which searches from a grid: χ² within 1 % and figures within a tenth of ±.
#[test]
fn running_figures_are_those_of_the_full_fit() {
    let (mut rng, mut apart, mut compared) = (Rng(21), 0, 0);
    for k in 0..30 {
        let swept = if k % 3 == 0 { Swept::Current } else { Swept::Voltage };
        let noise = if swept == Swept::Voltage { 0.01 } else { 0.003 };
        let (cell, rig) = (Cell::random(&mut rng), Rig { swept, noise, stated: k % 2 == 0 });
        let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
        while let Some(next) = live.next_set_point() {
            let (v, a) = next_reading(&cell, &rig, next.value, &mut rng);
            live.push(v, a).unwrap();
        }
        compared += 1;
        let fit = fit_single_diode(&live.sweep().unwrap(), &Options::default()).unwrap();
        let (running, full) = (live.key_points(), fit.key_points());
        for name in ["isc", "voc", "pmax", "ff"] {
            let (Some(one), Some(two)) = (running.get(name), full.get(name)) else { continue };
            apart += usize::from((one.value - two.value).abs() > 0.1 * one.u.unwrap());
        }
    }
    assert!(compared >= 20 && apart <= 4, "{apart} figures of {compared} sweeps lie apart");
}

#[test]
fn what_is_missing_is_named_until_it_is_there() {
    let (cell, rig) = (Cell::random(&mut Rng(2)), Rig { swept: Swept::Voltage, noise: 0.005, stated: true });
    let mut live = LiveSweep::new(rig.options(&cell, 0.01)).unwrap();
    let mut rng = Rng(3);
    assert_eq!(live.missing().len(), 6);
    let mut fewest = 6;
    while let Some(next) = live.next_set_point() {
        let (v, a) = next_reading(&cell, &rig, next.value, &mut rng);
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
        let (v, a) = next_reading(&cell, &rig, next.value, &mut rng);
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
        let (v, a) = next_reading(&cell, &rig, next.value, &mut rng);
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
        let (v, a) = next_reading(&cell, &rig, next.value, &mut rng);
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
