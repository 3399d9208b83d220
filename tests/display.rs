//! Every result tells itself in words.
#![cfg(feature = "methods")]

use litdiode::detection::{Rig, smallest_cell};
use litdiode::diode::{Condition, Device, Devices, DevicesParameters, Parameters};
use litdiode::estimate::{Amount, Estimate, Unit};
use litdiode::fit::{self, Options, ResampleOptions, ThreePoints};
use litdiode::interpolant::{Points, linear, shape_constrained};
use litdiode::key_points::KeyPoint;
use litdiode::live::{Flag, LiveOptions, LiveSweep};
use litdiode::plan::{Expected, PlanOptions, plan_sweep};
use litdiode::resistance::{self, Measured, Quantity};
use litdiode::sweep::{Kind, Noise, Severity, Sweep, SweepOptions};
use litdiode::translate::{Procedure1, Procedure2, Range, Target};
use litdiode::{maximum_power, remarks, translate};
use std::fmt::Display;

fn device() -> Device<1> {
    let parameters = Parameters {
        iph_a: 0.030,
        i0_a: [1e-9],
        n: [1.3],
        rs_ohm: 0.5,
        rsh_ohm: 900.0,
        cells: 1,
        temperature_c: 25.0,
    };
    Device::new(parameters).unwrap()
}

/// A sweep of the device with a scatter of some 1e-5 A that is the same in every run.
fn sweep() -> Sweep {
    let v: Vec<f64> = (0..30).map(|k| -0.05 + 0.022 * f64::from(k)).collect();
    let mut i = vec![0.0; v.len()];
    device().current(&v, &mut i).unwrap();
    i.iter_mut().enumerate().for_each(|(k, i)| *i += 2e-5 * ((k * 7919 % 101) as f64 / 50.0 - 1.0));
    let options = SweepOptions::default().irradiance_w_m2(Estimate::new(1000.0, 10.0, Unit::WattPerM2));
    Sweep::new(&v, &i, options.label("cell 1".to_owned())).unwrap()
}

/// The text, which is neither empty nor a dump of fields.
fn told(result: &impl Display) -> String {
    let text = result.to_string();
    assert!(
        !text.is_empty() && !text.contains(" { ") && !text.contains("NaN") && !text.ends_with('\n'),
        "{text}"
    );
    // By `-- --nocapture`: all of them.
    println!("{text}\n");
    text
}

#[test]
fn models_and_sweeps() {
    let device = device();
    assert_eq!(
        told(&device),
        "1 diode: Iph 30.00 mA, I0 1.000 nA, n 1.300, Rs 500.0 mΩ, Rsh 900.0 Ω; 1 cell, 25 °C"
    );
    let best = told(&device.maximum_power());
    assert_eq!(best, "12.93 mW at 0.4704 V, 27.49 mA");
    let number = |x: f64| litdiode::diode::ndarray::arr0(x).into_dyn();
    let many = Devices::<1>::new(DevicesParameters {
        iph_a: litdiode::diode::ndarray::arr1(&[0.030, 0.031]).into_dyn(),
        i0_a: vec![number(1e-9)],
        n: vec![number(1.3)],
        rs_ohm: number(0.5),
        rsh_ohm: number(900.0),
        cells: number(1.0),
        temperature_c: number(25.0),
    })
    .unwrap();
    let all = told(&many.key_points(None));
    assert_eq!(
        all,
        "2 devices\nisc        29.98 to 30.98 mA\nvoc        0.5743 to 0.5754 V\npmax       12.93 to 13.39 mW\n\
         v_pmax     0.4704 to 0.4711 V\ni_pmax     27.49 to 28.42 mA\nff         0.7509 to 0.7509"
    );
    assert_eq!(told(&sweep()), "cell 1: 30 points, −0.0500 to 0.5880 V, −9.17 to 30.02 mA");
    assert_eq!((told(&Kind::SShape), told(&Severity::Fault)), ("s_shape".into(), "fault".into()));
    assert_eq!(format!("{:>8}|{:<4}|", Unit::Volt, Unit::Ohm), "       V|Ω   |");
}

#[test]
fn fits() {
    let fit = fit::fit_single_diode(&sweep(), &Options::default()).unwrap();
    let text = told(&fit);
    let mut lines = text.lines();
    let head = lines.next().unwrap();
    assert_eq!(
        head,
        "converged, current residual, rms 11.35 µA, 25 degrees of freedom, ± from the scatter about the curve"
    );
    for name in ["iph ", "i0  ", "n   ", "rs  ", "rsh "] {
        let line = lines.next().unwrap();
        assert!(line.starts_with(name) && line.contains('±'), "{line}");
    }
    assert_eq!((told(&fit.status), told(&fit.residual)), ("converged".into(), "current".into()));
    assert_eq!(told(&fit.stop), fit.stop.reason());
    let joint = told(&fit.joint().unwrap());
    assert!(joint.starts_with("iph        29.9951 ± 0.0047 mA\ni0         1.009 ± 0.048 nA\n"), "{joint}");
    let two = fit::fit_double_diode(&sweep(), &Options::default()).unwrap();
    assert!(told(&two.support.unwrap()).contains("two diodes beside one"));
    let drawn = fit.resample(ResampleOptions::default().draws(20), |_| true).unwrap().unwrap();
    let text = told(&drawn);
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("20 draws, 0 failed"));
    assert!(lines.next().is_some_and(|line| line.starts_with("iph        ")), "{text}");
    let points = ThreePoints {
        isc_a: 0.030,
        voc_v: 0.57,
        v_pmax_v: 0.46,
        i_pmax_a: 0.0275,
        cells: 1,
        temperature_c: 25.0,
    };
    assert!(told(&fit::from_key_points(&points, 1.3).unwrap()).starts_with("1 diode: Iph 30.0"));
}

#[test]
fn methods_side_by_side() {
    let sweep = sweep();
    let all = resistance::resistances(&Measured::default().lit(&sweep));
    let text = told(&all);
    assert!(text.contains("\nto quote: series ") && text.contains("shunt "), "{text}");
    assert!(text.contains(" by diode fit, lit"), "{text}");
    assert!(told(&all.absent[0]).starts_with(&format!("{} by ", all.absent[0].quantity)));
    assert_eq!((told(&Quantity::Series), told(&Quantity::Shunt)), ("series".into(), "shunt".into()));
    let powers = told(&maximum_power::maximum_powers(&sweep));
    assert!(powers.contains(" by guided curve") && powers.contains("\nto quote: "), "{powers}");
    assert_eq!(told(&maximum_power::highest_of(&[1.0], &[0.1]).unwrap()), "1.00 ± 0.10");
    let losses = told(&resistance::fill_factor_losses(&device()).unwrap().unwrap());
    assert_eq!(
        losses,
        "FF 75.09 %: 78.66 % less 3.57 by both resistances, 2.27 by Rs alone, 1.41 by Rsh alone"
    );
    let dark = Device::new(Parameters { iph_a: 0.0, ..*device().parameters() }).unwrap();
    let v: Vec<f64> = (0..40).map(|k| 0.018 * f64::from(k)).collect();
    let mut i = vec![0.0; v.len()];
    dark.current(&v, &mut i).unwrap();
    i.iter_mut().enumerate().for_each(|(k, i)| *i *= 1.0 + 1e-3 * ((k * 7919 % 101) as f64 / 50.0 - 1.0));
    let options = SweepOptions::default().noise(Noise::default().current_a(1e-9).current_rel(6e-4));
    let dark = Sweep::new(&v, &i, options).unwrap();
    let ideality = told(&resistance::dark_ideality(&dark).unwrap());
    assert_eq!(ideality, "series 492.4 ± 6.3 mΩ by dark regression (Cheung)\nn 1.335 ± 0.028");
    assert_eq!(told(&resistance::local_ideality(&dark).unwrap()[3]), "n 4.0642 ± 0.0045 at 0.1080 V");
}

#[test]
fn what_is_said_of_sweeps() {
    let (sweep, device) = (sweep(), device());
    let mut i = sweep.current_a().to_vec();
    i[7] = 0.0;
    let wild = Sweep::new(sweep.voltage_v(), &i, SweepOptions::default()).unwrap();
    let outlier = told(&remarks::outliers(&wild)[0]);
    assert_eq!(outlier, "reading 7 lies 2389.2 standard deviations off the curve through the others");
    let turned: Vec<f64> = sweep.current_a().iter().map(|i| -i).collect();
    let turned = Sweep::new(sweep.voltage_v(), &turned, SweepOptions::default()).unwrap();
    assert!(told(&turned.changes()[0]).starts_with("current turned from load sign to generator sign: "));
    let none = |unit| Estimate::new(0.0, 0.0, unit);
    let parameters = Procedure1 {
        alpha: none(Unit::AmperePerKelvin),
        beta: Estimate::new(-2e-3, 1e-4, Unit::VoltPerKelvin),
        rs: none(Unit::Ohm),
        kappa: none(Unit::OhmPerKelvin),
        range: Range::UNLIMITED,
    };
    let text = told(&parameters);
    assert!(text.ends_with("without limits"), "{text}");
    assert!(text.contains("\nbeta −2.00 ± 0.10 mV/K"), "{text}");
    let target = Target { irradiance_w_m2: 800.0, temperature_c: 25.0 };
    assert_eq!(told(&target), "800 W/m², 25 °C");
    let moved = translate::procedure_1(&sweep, &target, &parameters).unwrap();
    assert!(told(&moved).starts_with("cell 1: 30 points, "));
    let rig = Rig::new(Noise::default().current_a(1e-6));
    let cell = told(&smallest_cell(&device, &rig, KeyPoint::Isc, 0.01).unwrap());
    assert_eq!(cell, "Isc 43.38 µA, 0.001447 times the size of the device, 1.00 % uncertainty");
}

#[test]
fn translations_and_their_limits() {
    let (one, kelvin) = (|x: f64, u: f64| Estimate::new(x, u, Unit::One), Unit::PerKelvin);
    let range = Range { irradiance_w_m2: (200.0, 1000.0), temperature_c: (-10.1, 65.0) };
    assert_eq!(told(&range), "200 to 1000 W/m², −10.1 to 65 °C");
    let cold = Target { irradiance_w_m2: 1000.0, temperature_c: -40.0 };
    assert_eq!(told(&cold), "1000 W/m², −40 °C");
    let parameters = Procedure2 {
        alpha_rel: Estimate::new(5e-4, 1e-5, kelvin),
        beta_rel: Estimate::new(-3.4e-3, 1e-4, kelvin),
        a: one(0.06, 0.002),
        rs: Estimate::new(0.5, 0.02, Unit::Ohm),
        kappa: Estimate::new(0.0, 1e-3, Unit::OhmPerKelvin),
        range,
    };
    assert_eq!(
        told(&parameters),
        "alpha_rel (5.00e−4 ± 1.0e−5) 1/K\nbeta_rel −0.00340 ± 0.00010 1/K\na 0.0600 ± 0.0020\nrs 500 ± 20 mΩ\n\
         kappa 0.0 ± 1.0 mΩ/K\n200 to 1000 W/m², −10.1 to 65 °C"
    );
    let moved = translate::procedure_2(&sweep(), &cold, &parameters).unwrap();
    assert_eq!(
        moved.warnings.iter().map(told).collect::<Vec<_>>(),
        ["the target's temperature of −40 °C lies outside −10.1 to 65 °C, where the parameters were found"]
    );
    let sweeps: Vec<Sweep> = [25.0, 35.0, 45.0]
        .map(|temperature_c| {
            let condition = Condition::default().temperature_c(temperature_c).isc_per_k(5e-4);
            let moved = device().at(&condition).unwrap();
            let mut i = vec![0.0; 30];
            moved.current(sweep().voltage_v(), &mut i).unwrap();
            let light = Estimate::new(1000.0, 10.0, Unit::WattPerM2);
            let options = SweepOptions::default().temperature_c(temperature_c).irradiance_w_m2(light);
            Sweep::new(sweep().voltage_v(), &i, options.noise(Noise::default().current_a(1e-6))).unwrap()
        })
        .to_vec();
    let text = told(&translate::temperature_coefficients(&sweeps, 25.0).unwrap());
    // dIsc/dT is 5e-4/K of Isc.
    assert!(text.starts_with("alpha 14.9914") && text.contains(" µA/K\nbeta −2.076"), "{text}");
    assert!(text.ends_with(" 1/K\n1000 to 1000 W/m², 25 to 45 °C"), "{text}");
}

#[test]
fn curves_through_readings_and_live_flags() {
    let points = Points::of_sweep(&sweep()).unwrap();
    assert_eq!(told(&linear(&points).unwrap().maximum_power().unwrap()), "12.91 mW at 0.4780 V, 27.00 mA");
    let shape = shape_constrained(&points).unwrap();
    assert_eq!(told(&shape.fits_the_shape(0.95).unwrap()), "p 1.000: nothing speaks against the shape");
    assert_eq!(told(&Flag::Wild { deviations: 7.25 }), "7.2 standard deviations off the running curve");
    let (set, read) = (Amount::volts(-0.2), Amount::volts(0.0003));
    assert_eq!(told(&Flag::NotFollowed { set, read }), "−0.2000 V was set, 300.0 µV was read");
    assert_eq!(told(&Flag::BeyondLimits), "at a limit or beyond it");
}

#[test]
fn plans_and_live_sweeps() {
    let stated = || SweepOptions::default().noise(Noise::default().current_a(1e-4));
    let mut live = LiveSweep::new(LiveOptions::within((-0.1, 0.9), (-0.1, 0.1)).sweep(stated())).unwrap();
    assert_eq!(told(&live.next_set_point().unwrap()), "0.000 after 0.000 s: bracket");
    let options = PlanOptions::default().noise(Noise::default().current_a(1e-5));
    let plan = plan_sweep(&Expected::one_diode(&[device()]).unwrap(), &options).unwrap();
    assert!(told(&plan).starts_with("25 voltages of −0.0287 to 0.6317 V for ff\n"), "{plan}");
    assert_eq!(told(&plan.target()), "ff 0.75090 ± 0.00012");
    let with_20 = told(&plan.at_points(&[20]).unwrap()[0]);
    assert_eq!(with_20, "20 points: u 0.0001368, equal voltage 0.0001934, equal current 0.0002766");
}
