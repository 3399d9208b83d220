//! Counts of readings without a model, what no number of readings takes away, and what a first fit brings.

use crate::safety::{by_current, by_voltage, dye, of};
use crate::support::planned::sweep;
use litdiode::fit::{Options, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::plan::{Expected, Limits, Method, PlanNote, PlanOptions, plan_sweep, points_needed};
use litdiode::sweep::{Noise, Sweep, SweepOptions, Swept};

fn local() -> PlanOptions {
    by_voltage().method(Method::Local)
}

/// Repeats lower u of key points without a model, and a number that is named suffices.
#[test]
fn readings_without_a_model_are_counted() {
    let cell = of(&[dye(1.0)]);
    let needed = points_needed(&cell, 0.005, &local()).unwrap();
    println!("{needed}");
    let repeats = needed.repeats.expect("repeats suffice");
    assert!((2..=4).contains(&repeats), "{needed}");
    let plan = plan_sweep(&cell, &local().points(needed.planned.expect("a number suffices"))).unwrap();
    assert!(plan.target().u.unwrap() <= 0.005 * plan.target().value, "{needed}");
    // Plans of 150 and 200 points reach 0.3 %, and so do repeats of that of 100.
    let needed = points_needed(&cell, 0.003, &local()).unwrap();
    println!("{needed}");
    assert!(needed.planned.is_some_and(|n| n <= 300), "{needed}");
    assert!(needed.planned <= needed.repeats.map(|n| n * needed.points), "{needed}");
    assert!(needed.left.unwrap() < 0.003, "{needed}");
}

/// A home-made tracer sets the current, and knows its device to 10 %.
#[test]
fn set_currents_without_a_model_are_planned_by_default() {
    let cell = of(&[dye(1.0)]);
    let options = by_current().method(Method::Local);
    for options in [options.clone(), options.clone().step(5e-6)] {
        let plan = plan_sweep(&cell, &options).unwrap();
        println!("{plan}");
        let target = plan.target();
        assert!(target.u.unwrap() < 0.02 * target.value, "{plan}");
        // None drives the cell backwards by more than 0.05·Voc.
        assert!(plan.voltage_v.iter().all(|v| *v > -0.032), "{plan}");
        assert!(plan.notes.iter().any(|n| matches!(n, PlanNote::OneSided { .. })), "{plan}");
        assert!(plan.notes.iter().any(|n| n.to_string().contains("up to 60")), "{plan}");
    }
    let short = Limits { current_a: (0.0, 3e-4), ..Limits::default() };
    let error = plan_sweep(&cell, &options.limits(short)).unwrap_err().to_string();
    assert!(error.contains("without a model") && !error.contains("fix"), "{error}");
}

/// A gain of 1 % is in Isc whatever the number of readings.
#[test]
fn what_gains_leave_is_told() {
    let noise = Noise::default().current_a(6e-6).current_gain_u(0.01);
    let options = PlanOptions::default().noise(noise).target(KeyPoint::Isc);
    let needed = points_needed(&of(&[dye(1.0)]), 0.005, &options).unwrap();
    assert!((needed.left.unwrap() - 0.01).abs() < 1e-4, "{needed}");
    assert!(
        needed.to_string().contains("gains and offsets, which no number of readings takes away"),
        "{needed}"
    );
    // Too few of them is something else.
    let needed = points_needed(&of(&[dye(1.0)]), 1e-6, &by_voltage()).unwrap().to_string();
    assert!(needed.contains("of 0.0001 %") && !needed.contains("gains"), "{needed}");
    let once = points_needed(&of(&[dye(1.0)]), 0.009, &by_voltage()).unwrap();
    assert!(once.to_string().contains("taken once"), "{once}");
}

/// The plan sets what the first sweep set, and says that five degrees of freedom are few.
#[test]
fn a_fit_brings_the_quantity_that_was_set() {
    let noise = Noise::default().voltage_v(3e-3);
    let set: Vec<f64> = (0..10).map(|k| 600e-6 * f64::from(k) / 9.0).collect();
    let first = sweep(&dye(1.0), Swept::Current, &set, noise, 4);
    let silent = SweepOptions::default().swept(Swept::Current).cells(1).temperature_c(25.0);
    let silent = Sweep::new(first.voltage_v(), first.current_a(), silent).unwrap();
    let few = |n: &PlanNote| matches!(n, PlanNote::FewDegrees { .. });
    for (sweep, noted) in [(silent, true), (first, false)] {
        let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
        let expected = Expected::one_diode_fitted(&fit);
        let plan = plan_sweep(&expected, &PlanOptions::default()).unwrap();
        assert_eq!(plan.options.swept, Some(Swept::Current));
        assert!(plan.set_points.iter().all(|i| (-1e-6..1e-3).contains(i)), "{plan}");
        assert_eq!(plan.notes.iter().any(few), noted, "{plan}");
        let other =
            plan_sweep(&expected, &PlanOptions::default().swept(Swept::Voltage).noise(noise.current_a(6e-6)));
        assert_eq!(other.unwrap().options.swept, Some(Swept::Voltage));
    }
}
