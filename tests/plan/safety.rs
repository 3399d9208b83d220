//! How far set points drive the devices, whatever the limits, and what a list leaves open.

use litdiode::code::Coded;
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::key_points::KeyPoint;
use litdiode::plan::{Expected, Limits, Plan, PlanError, PlanNote, PlanOptions, plan_sweep};
use litdiode::sweep::{Noise, Swept};

/// Isc 600 µA, Voc 0.618 V; the photocurrent in proportion to `light`.
pub fn dye(light: f64) -> SingleDiode {
    let (i0_a, n) = ([1.7e-9], [1.9]);
    let p = Parameters {
        iph_a: light * 604e-6,
        i0_a,
        n,
        rs_ohm: 62.0,
        rsh_ohm: 9300.0,
        cells: 1,
        temperature_c: 25.0,
    };
    SingleDiode::new(p).unwrap()
}

fn module() -> SingleDiode {
    let (i0_a, n) = ([1e-9], [1.2]);
    let p = Parameters { iph_a: 5.0, i0_a, n, rs_ohm: 0.3, rsh_ohm: 300.0, cells: 36, temperature_c: 25.0 };
    SingleDiode::new(p).unwrap()
}

pub fn of(list: &[SingleDiode]) -> Expected {
    Expected::one_diode(list).unwrap()
}

pub fn by_voltage() -> PlanOptions {
    PlanOptions::default().noise(Noise::default().current_a(6e-6))
}

pub fn by_current() -> PlanOptions {
    PlanOptions::default().swept(Swept::Current).noise(Noise::default().voltage_v(3e-3))
}

fn voltages(low: f64, high: f64) -> Limits {
    Limits { voltage_v: (low, high), ..Limits::default() }
}

fn currents(low: f64, high: f64) -> Limits {
    Limits { current_a: (low, high), ..Limits::default() }
}

fn is_narrowed(plan: &Plan) -> bool {
    plan.notes.iter().any(|n| matches!(n, PlanNote::Narrowed { .. }))
}

/// Limits in mV, or of a source that is too large, drive the cell no further than it stands, and that is noted.
#[test]
fn limits_far_beyond_the_device_do_not_move_set_points_there() {
    let (isc, voc) = (600e-6, 0.618);
    let wide = [
        by_voltage().limits(voltages(0.0, 700.0)),
        by_voltage().limits(voltages(-0.1, 7.0)),
        by_voltage().limits(voltages(-1000.0, 1000.0)),
        by_current().limits(currents(0.0, 0.6)),
        by_current().limits(currents(-0.6, 0.6)),
    ];
    for options in wide {
        let plan = plan_sweep(&of(&[dye(1.0)]), &options).unwrap();
        for (v, i) in plan.voltage_v.iter().zip(&plan.current_a) {
            assert!(*v > -0.51 * voc && *v < 1.11 * voc && *i > -3.01 * isc, "{v} {i}\n{plan}");
        }
        assert!(is_narrowed(&plan), "{plan}");
    }
    for options in [by_voltage(), by_voltage().limits(voltages(-0.03, 0.66)), by_current()] {
        assert!(!is_narrowed(&plan_sweep(&of(&[dye(1.0)]), &options).unwrap()));
    }
}

/// A cell and a module: what the module needs would destroy the cell.
#[test]
fn devices_that_one_plan_cannot_serve_are_named() {
    for list in [[dye(1.0), module()], [module(), dye(1.0)]] {
        let error = plan_sweep(&of(&list), &by_voltage()).unwrap_err();
        let cell = usize::from(list[0] != dye(1.0));
        let PlanError::Apart { index, other, voltage_v, current_a, .. } = error else { panic!("{error}") };
        assert_eq!((index, other, error.code()), (1 - cell, cell, 773));
        assert!(voltage_v > 20.0 && current_a < -0.3, "{error}");
        assert!(error.to_string().contains(" V") && error.to_string().contains(" mA"), "{error}");
    }
}

/// Half the light: currents up to the Isc of the weaker one leave FF of the stronger open, which is told, not "0 ± 720".
#[test]
fn a_list_with_the_current_set_serves_each_device_or_names_it() {
    for (list, index) in [([dye(1.0), dye(0.5)], 0), ([dye(0.5), dye(1.0)], 1)] {
        let error = plan_sweep(&of(&list), &by_current()).unwrap_err();
        let PlanError::Apart { index: open, other, voltage_v, .. } = error else { panic!("{error}") };
        assert_eq!((open, other), (index, 1 - index));
        assert!(voltage_v < -2.0, "{error}");
    }
    let plan = plan_sweep(&of(&[dye(1.0), dye(0.99)]), &by_current()).unwrap();
    for device in [dye(1.0), dye(0.99)] {
        let figures = plan.figures_of(&of(&[device])).unwrap();
        let ff = figures.iter().find(|f| f.figure == KeyPoint::Ff.into()).unwrap();
        assert!(ff.u.unwrap() < 0.05 * ff.value, "{ff:?}");
    }
}

/// From 0 to 0.1 V nothing determines FF, and what other narrow limits leave open has no ±.
#[test]
fn what_is_not_determined_has_no_uncertainty() {
    let narrow = |high: f64| by_voltage().limits(voltages(0.0, high));
    let error = plan_sweep(&of(&[dye(1.0)]), &narrow(0.1)).unwrap_err();
    assert!(matches!(error, PlanError::NotDetermined { index: 0, .. }), "{error}");
    let mut made = 0;
    for high in [0.1, 0.2, 0.3, 0.4, 0.5, 0.55] {
        for target in [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Ff] {
            let Ok(plan) = plan_sweep(&of(&[dye(1.0)]), &narrow(high).target(target)) else { continue };
            made += 1;
            println!("{high} {target:?}\n{plan}");
            let huge = |f: &&litdiode::plan::PlannedFigure| f.u.is_some_and(|u| u > 10.0 * f.value);
            assert!(plan.figures.iter().find(huge).is_none() && plan.target().u.is_some(), "{plan}");
        }
    }
    assert!(made >= 3, "{made}");
}
