//! What plans give beside equal steps, at devices that are off, and within limits.

// Loops over the cases of a table.
#![allow(clippy::excessive_nesting)]

use crate::support::planned::{device, dye, noise_of, silicon, twelve};
use litdiode::diode::{DoubleDiode, Parameters, SingleDiode};
use litdiode::fit::{Figure, Options, Parameter, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::plan::{Expected, Limits, Method, Plan, PlanOptions, plan_sweep, points_needed};
use litdiode::sweep::{Noise, Swept};

fn one(model: SingleDiode) -> Expected {
    Expected::one_diode(&[model]).unwrap()
}

fn options(share: f64) -> PlanOptions {
    PlanOptions::default().noise(Noise::default().current_a(share * dye().isc()))
}

fn ratios(plan: &Plan) -> (f64, f64) {
    let t = plan.target();
    (t.u_equal_voltage.unwrap() / t.u.unwrap(), t.u_equal_current.unwrap() / t.u.unwrap())
}

/// The prototype found 0.0050 planned against 0.0075 and 0.0110.
#[test]
fn a_known_dye_cell_gains_on_equal_steps() {
    let plan = plan_sweep(&one(dye().model), &options(0.01).spread(0.0)).unwrap();
    println!("{plan}\n{:?}", plan.set_points);
    let (voltage, current) = ratios(&plan);
    assert!(voltage > 1.45 && current > 2.1, "{voltage} {current}");
    // Where the device may be off by 10 %.
    let plan = plan_sweep(&one(dye().model), &options(0.01)).unwrap();
    println!("{plan}\n{:?}", plan.set_points);
    let (voltage, current) = ratios(&plan);
    assert!(voltage > 1.35 && current > 1.9, "{voltage} {current}");
    // Every parameter is determined at least as well as by equal steps of voltage.
    for figure in &plan.figures {
        assert!(figure.u.unwrap() < 1.2 * figure.u_equal_voltage.unwrap(), "{figure:?}");
    }
}

/// The loss of u(FF) at a device 10 % off in Isc and Voc, beside the plan that is made for it.
#[test]
fn a_plan_serves_a_device_that_is_off() {
    for of in twelve() {
        let noise = noise_of(&of, Swept::Voltage, 0.01);
        let options = PlanOptions::default().noise(noise);
        let plan = plan_sweep(&one(of.model), &options).unwrap();
        let mut worst: f64 = 0.0;
        for (isc, voc) in [(0.9, 0.9), (0.9, 1.1), (1.1, 0.9), (1.1, 1.1)] {
            let p = of.model.parameters();
            let a = litdiode::diode::thermal_voltage_v(p.n[0], p.cells, p.temperature_c);
            let i0 = p.i0_a[0] * isc * (-(voc - 1.0) * of.voc() / a).exp();
            let other = Parameters {
                iph_a: p.iph_a * isc,
                i0_a: [i0],
                rs_ohm: p.rs_ohm * voc / isc,
                rsh_ohm: p.rsh_ohm * voc / isc,
                ..*p
            };
            let other = one(SingleDiode::new(other).unwrap());
            let own = plan_sweep(&other, &options).unwrap().target().u.unwrap();
            let figures = plan.figures_of(&other).unwrap();
            let there = figures.iter().find(|f| f.figure == plan.options.target).unwrap().u.unwrap();
            worst = worst.max(there / own - 1.0);
        }
        let known = plan_sweep(&one(of.model), &options.clone().spread(0.0)).unwrap();
        let (own, spread) = (ratios(&known), ratios(&plan));
        println!(
            "| {} | {:.5} | {:.2} | {:.2} | {:.2} | {:.2} | {:.1} % |",
            of.name,
            known.target().u.unwrap(),
            own.0,
            own.1,
            spread.0,
            spread.1,
            100.0 * worst
        );
        assert!(worst < 0.15, "{}: {worst}", of.name);
    }
}

#[test]
fn every_figure_can_be_the_target() {
    let mut figures: Vec<Figure> = KeyPoint::ALL.into_iter().take(6).map(Figure::KeyPoint).collect();
    figures.extend(Parameter::OF_ONE.map(Figure::Parameter));
    for swept in [Swept::Voltage, Swept::Current] {
        for target in &figures {
            let noise = noise_of(&dye(), swept, 0.005);
            let options = PlanOptions::default().noise(noise).swept(swept).target(*target).spread(0.0);
            let plan = plan_sweep(&one(dye().model), &options).unwrap();
            let t = plan.target();
            assert_eq!((t.figure, plan.set_points.len()), (*target, 25));
            for equal in [t.u_equal_voltage, t.u_equal_current].into_iter().flatten() {
                assert!(t.u.unwrap() < 1.0001 * equal, "{target} {swept:?}: {t:?}");
            }
            // Another target gets no smaller u of this one.
            let other = plan_sweep(&one(dye().model), &options.target(KeyPoint::Ff)).unwrap();
            let there = other.figures.iter().find(|f| f.figure == *target).unwrap().u.unwrap();
            assert!(t.u.unwrap() < 1.05 * there, "{target}: {t:?} {there}");
        }
    }
}

#[test]
fn limits_and_the_step_of_the_source_are_kept() {
    let limits = Limits { voltage_v: (0.0, 0.7), current_a: (-1e-4, 1.0), power_w: 2e-4 };
    let options = options(0.01).limits(limits).step(0.005);
    let plan = plan_sweep(&one(dye().model), &options).unwrap();
    let points = plan.set_points.iter().zip(plan.voltage_v.iter().zip(&plan.current_a));
    for (set, (v, i)) in points {
        assert!((set / 0.005 - (set / 0.005).round()).abs() < 1e-9, "{set}");
        assert!(limits.hold(*v, *i), "{set} {v} {i}");
    }
    // A coarse step costs, a fine one does not.
    let free = plan_sweep(&one(dye().model), &self::options(0.01).limits(limits)).unwrap();
    let fine = plan_sweep(&one(dye().model), &options.clone().step(1e-4)).unwrap();
    let coarse = plan_sweep(&one(dye().model), &options.clone().step(0.05)).unwrap();
    // Two of 0.1 V about the knee leave n, I0 and Rs open.
    assert!(plan_sweep(&one(dye().model), &options.clone().step(0.1)).is_err());
    let u = |plan: &Plan| plan.target().u.unwrap();
    assert!(u(&fine) < 1.005 * u(&free) && u(&coarse) > u(&free), "{} {} {}", u(&free), u(&fine), u(&coarse));
    // Currents of a source of 10 µA, none of which drives the cell backwards.
    let options =
        PlanOptions::default().swept(Swept::Current).noise(Noise::default().voltage_v(3e-3)).step(1e-5);
    let plan = plan_sweep(&one(dye().model), &options).unwrap();
    assert!(plan.set_points.iter().all(|x| *x >= 0.0 && (x / 1e-5 - (x / 1e-5).round()).abs() < 1e-9));
}

#[test]
fn a_list_is_served_by_one_plan() {
    let list = [dye().model, device(1, 600e-6, 0.7, 1.6, 0.1, 20.0), device(1, 500e-6, 0.52, 1.5, 0.2, 5.0)];
    let together = plan_sweep(&Expected::one_diode(&list).unwrap(), &options(0.01)).unwrap();
    let for_first = plan_sweep(&one(list[0]), &options(0.01).spread(0.0)).unwrap();
    let (mut served, mut alone) = (0.0, 0.0);
    for device in list {
        let ff = |plan: &Plan| {
            let figures = plan.figures_of(&one(device)).unwrap();
            *figures.iter().find(|f| f.figure == Figure::KeyPoint(KeyPoint::Ff)).unwrap()
        };
        let there = ff(&together);
        println!("{there:?}");
        // As many in equal steps over the sweep of this device alone.
        for equal in [there.u_equal_voltage.unwrap(), there.u_equal_current.unwrap()] {
            assert!(there.u.unwrap() < equal, "{there:?}");
        }
        served += there.u.unwrap().ln();
        alone += ff(&for_first).u.unwrap().ln();
    }
    assert!(served < alone, "{served} {alone}");
}

/// A first fit brings its noise and its uncertainty.
#[test]
fn a_first_fit_is_planned_from() {
    let cell = dye();
    let even: Vec<f64> = (0..15).map(|k| 0.045 * f64::from(k)).collect();
    let noise = noise_of(&cell, Swept::Voltage, 0.01);
    let first = crate::support::planned::sweep(&cell.model, Swept::Voltage, &even, noise, 3);
    let fit = fit_single_diode(&first, &Options::default()).unwrap();
    let plan = plan_sweep(&Expected::one_diode_fitted(&fit), &PlanOptions::default()).unwrap();
    assert_eq!(plan.options.noise.unwrap().current_a, noise.current_a);
    let there = plan.figures_of(&one(cell.model)).unwrap();
    let ff = there.iter().find(|f| f.figure == Figure::KeyPoint(KeyPoint::Ff)).unwrap();
    assert!(ff.u_equal_voltage.unwrap() > 1.3 * ff.u.unwrap(), "{ff:?}");
    // Without a stated noise it is that of the residuals.
    let silent =
        litdiode::sweep::Sweep::new(first.voltage_v(), first.current_a(), crate::support::as_given(25.0, 1));
    let fit = fit_single_diode(&silent.unwrap(), &Options::default()).unwrap();
    let plan = plan_sweep(&Expected::one_diode_fitted(&fit), &PlanOptions::default()).unwrap();
    let found = plan.options.noise.unwrap().current_a;
    assert!((found / noise.current_a - 1.0).abs() < 0.6, "{found} {}", noise.current_a);
}

fn double() -> DoubleDiode {
    let (i0_a, n) = ([1e-12, 2e-7], [1.0, 2.0]);
    let p = Parameters { iph_a: 35e-3, i0_a, n, rs_ohm: 0.6, rsh_ohm: 2000.0, cells: 1, temperature_c: 25.0 };
    DoubleDiode::new(p).unwrap()
}

#[test]
fn two_diodes_are_planned_for() {
    let expected = Expected::two_diodes(&[double()]).unwrap();
    let options = PlanOptions::default().noise(Noise::default().current_a(1e-4)).spread(0.0);
    let options = options.fix(vec![Parameter::N1, Parameter::N2]);
    for target in [Figure::KeyPoint(KeyPoint::Ff), Parameter::I02.into()] {
        let plan = plan_sweep(&expected, &options.clone().target(target)).unwrap();
        let (voltage, current) = ratios(&plan);
        println!("{plan}");
        assert!(voltage > 1.2 && current > 1.2, "{target}: {voltage} {current}");
        assert!(plan.figures.iter().all(|f| f.figure != Figure::Parameter(Parameter::N1)));
    }
    // What is free leaves FF less certain than what is held.
    let held = plan_sweep(&expected, &options).unwrap().target().u.unwrap();
    let free = plan_sweep(&expected, &options.fix(Vec::new())).unwrap();
    assert!(free.target().u.unwrap() > held, "{free}");
}

/// What is common to all readings stays however many there are, and is that of the gains: FF has none.
#[test]
fn gains_and_offsets_are_in_the_uncertainty() {
    let with = Noise::default().current_a(1e-9).current_gain_u(0.01).voltage_gain_u(0.02);
    let plan = plan_sweep(&one(dye().model), &PlanOptions::default().noise(with)).unwrap();
    let relative = |name: KeyPoint| {
        let f = plan.figures.iter().find(|f| f.figure == Figure::KeyPoint(name)).unwrap();
        f.u.unwrap() / f.value
    };
    assert!((relative(KeyPoint::Isc) - 0.01).abs() < 1e-4 && (relative(KeyPoint::Voc) - 0.02).abs() < 1e-4);
    assert!((relative(KeyPoint::Pmax) - 0.01f64.hypot(0.02)).abs() < 1e-4);
    assert!(relative(KeyPoint::Ff) < 1e-4);
    let options = PlanOptions::default().noise(with).target(KeyPoint::Isc);
    let needed = points_needed(&one(dye().model), 0.005, &options).unwrap();
    assert_eq!((needed.planned, needed.equal_voltage, needed.repeats), (None, None, None));
}

/// Readings that are all off by δI, or by δV, are exactly those of another device of the model: Isc and Voc shift with the
/// offset of their own axis, and along the slope of the curve with that of the other.
#[test]
fn offsets_shift_key_points_along_the_curve() {
    let (current, voltage, step) = (3e-6, 2e-3, 1e-5);
    let with = Noise::default().current_a(1e-9).current_offset_u(current).voltage_offset_u(voltage);
    let plan = plan_sweep(&one(dye().model), &PlanOptions::default().noise(with)).unwrap();
    let u =
        |name: KeyPoint| plan.figures.iter().find(|f| f.figure == Figure::KeyPoint(name)).unwrap().u.unwrap();
    let slope = |v: f64| {
        let mut about = [0.0; 2];
        dye().model.current(&[v - step, v + step], &mut about).unwrap();
        (about[1] - about[0]) / (2.0 * step)
    };
    let isc = current.hypot(slope(0.0) * voltage);
    let voc = voltage.hypot(current / slope(dye().voc()));
    assert!((u(KeyPoint::Isc) / isc - 1.0).abs() < 1e-4, "{} {isc}", u(KeyPoint::Isc));
    assert!((u(KeyPoint::Voc) / voc - 1.0).abs() < 1e-4, "{} {voc}", u(KeyPoint::Voc));
}

/// u falls as 1/√n: nine times the points of equal steps for a third of u, and fewer where they are planned.
#[test]
fn the_points_of_a_wanted_uncertainty_are_counted() {
    let at = |wanted: f64| points_needed(&one(dye().model), wanted, &options(0.01).spread(0.0)).unwrap();
    let (coarse, fine) = (at(0.009), at(0.003));
    println!("{coarse}\n{fine}");
    let times = fine.equal_voltage.unwrap() as f64 / coarse.equal_voltage.unwrap() as f64;
    assert!((times - 9.0).abs() < 1.5, "{coarse} {fine}");
    let gain = fine.equal_voltage.unwrap() as f64 / fine.planned.unwrap() as f64;
    assert!(gain > 1.45f64.powi(2), "{fine}");
    // What it counts suffices, and one less does not.
    let n = coarse.planned.unwrap();
    let u = |points: usize| {
        let plan = plan_sweep(&one(dye().model), &options(0.01).spread(0.0).points(points)).unwrap();
        plan.target().u.unwrap() / plan.target().value
    };
    assert!(u(n) <= 0.009 && u(n - 1) > 0.009 * 0.999, "{n}: {} {}", u(n), u(n - 1));
    assert_eq!(fine.repeats, Some((fine.relative_u / 0.003).powi(2).ceil() as usize));
}

#[test]
fn without_a_model_clusters_gain_on_equal_steps() {
    for of in [dye(), silicon()] {
        let options = PlanOptions::default().noise(noise_of(&of, Swept::Voltage, 0.01)).method(Method::Local);
        let plan = plan_sweep(&one(of.model), &options).unwrap();
        println!("{plan}\n{:?}", plan.set_points);
        let (voltage, current) = ratios(&plan);
        assert!(voltage > 1.05 && current > 1.05, "{}: {voltage} {current}", of.name);
        assert_eq!(plan.figures.len(), 6);
    }
}

/// Few points: seldom behind equal steps; more of them never tell much less; no fewer places than there are parameters.
#[test]
fn plans_of_few_points_determine_every_parameter() {
    let (mut looked_at, mut worst_step, mut worst_beside) = (0, 0.0f64, 0.0f64);
    let mut fewest_places = usize::MAX;
    for of in [dye(), silicon()] {
        for (swept, share) in [(Swept::Voltage, 0.01), (Swept::Current, 0.003)] {
            for target in [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax, KeyPoint::Ff] {
                for spread in [0.0, 0.1] {
                    let noise = noise_of(&of, swept, share);
                    let options = PlanOptions::default().noise(noise).swept(swept).spread(spread);
                    let options = options.target(Figure::KeyPoint(target));
                    let mut before = f64::INFINITY;
                    for points in [5, 6, 8, 10, 12, 13, 14, 16] {
                        let Ok(plan) = plan_sweep(&one(of.model), &options.clone().points(points)) else {
                            println!("{} {swept:?} {target:?} {spread} {points}: refused", of.name);
                            continue;
                        };
                        let mut places = plan.set_points.clone();
                        places.dedup();
                        // What fewer places than parameters leave open is said.
                        if plan.figures.iter().all(|f| f.u.is_some()) {
                            fewest_places = fewest_places.min(places.len());
                        }
                        let t = plan.target();
                        let u = t.u.unwrap();
                        let least = [t.u_equal_voltage, t.u_equal_current].into_iter().flatten();
                        let beside = u / least.fold(f64::INFINITY, f64::min);
                        if u > 1.02 * before || beside > 1.05 {
                            println!(
                                "{} {swept:?} {target:?} {spread} {points}: {} {beside}",
                                of.name,
                                u / before
                            );
                        }
                        worst_step = worst_step.max(u / before);
                        worst_beside = worst_beside.max(beside);
                        before = before.min(u);
                        looked_at += 1;
                    }
                }
            }
        }
    }
    println!(
        "{looked_at} plans; u over that of fewer points {worst_step}, over the better equal steps {worst_beside}"
    );
    assert!(looked_at >= 240 && worst_step < 1.1 && worst_beside < 1.5);
    assert!(fewest_places >= 5, "{fewest_places}");
}
