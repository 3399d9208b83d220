//! Corrections: what a tracer does to the readings of a device is undone, and every uncertainty moves the points as the number
//! itself does.

use super::support::random::Rng;
use litdiode::curve::key_points;
use litdiode::diode::{Device, Junction, Parameters};
use litdiode::estimate::{Estimate, Unit};
use litdiode::fit::{Options, Parameter, fit_single_diode};
use litdiode::sweep::{Axis, Correction, Effect, Leads, Noise, Reach, Sign, Sweep, SweepOptions, Swept};

/// An invented cell of 6 mA.
fn cell() -> Device<1> {
    let parameters = Parameters {
        iph_a: 6e-3,
        i0_a: [2e-8],
        n: [1.9],
        rs_ohm: 9.0,
        rsh_ohm: 1500.0,
        cells: 1,
        temperature_c: 25.0,
    };
    Device::new(parameters).unwrap()
}

fn curve(points: usize) -> (Vec<f64>, Vec<f64>) {
    let v: Vec<f64> = (0..points).map(|k| -0.05 + 0.68 * k as f64 / (points - 1) as f64).collect();
    let i = v.iter().map(|v| cell().circuit().current_at(*v)).collect();
    (v, i)
}

fn voltage_at(device: &Device<1>, i: f64) -> f64 {
    let mut v = [0.0];
    device.voltage(&[i], &mut v).unwrap();
    v[0]
}

fn of(value: f64, u: f64) -> Estimate {
    Estimate::new(value, u, Unit::One)
}

fn plain() -> SweepOptions {
    SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven)
}

fn close(a: &[f64], b: &[f64], share: f64) {
    let size = b.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
    assert_eq!(a.len(), b.len());
    for (a, b) in a.iter().zip(b) {
        assert!((a - b).abs() <= share * size, "{a} {b}");
    }
}

fn mapped(v: &[f64], i: &[f64], f: impl Fn(f64, f64) -> (f64, f64)) -> (Vec<f64>, Vec<f64>) {
    v.iter().zip(i).map(|(v, i)| f(*v, *i)).unzip()
}

/// One of each kind with what a tracer does to true voltages and currents.
#[test]
fn each_correction_undoes_what_a_tracer_does() {
    let (v, i) = curve(30);
    type Did = Box<dyn Fn(f64, f64) -> (f64, f64)>;
    let kinds: [(Correction, Did); 8] = [
        (
            Correction::Offset { voltage_v: Some(of(1.5, 2e-3)), current_a: Some(of(-1e-5, 1e-6)) },
            Box::new(|v, i| (v + 1.5, i - 1e-5)),
        ),
        (Correction::SenseResistor { ohm: of(100.0, 0.5) }, Box::new(|v, i| (v, 100.0 * i))),
        (
            Correction::Gain { voltage: Some(of(1.02, 1e-3)), current: Some(of(0.9, 2e-3)) },
            Box::new(|v, i| (1.02 * v, 0.9 * i)),
        ),
        (Correction::LeadResistance { ohm: of(2.0, 0.1) }, Box::new(|v, i| (v - 2.0 * i, i))),
        (Correction::Leakage { ohm: of(4e3, 100.0) }, Box::new(|v, i| (v, i - v / 4e3))),
        (
            Correction::Calibration {
                axis: Axis::Voltage,
                read: vec![-1.0, 0.3, 2.0],
                actual: vec![-1.1, 0.2, 2.2],
                u: 1e-3,
            },
            Box::new(|v, i| (if v < 0.2 { v + 0.1 } else { 0.3 + (v - 0.2) / 2.0 * 1.7 }, i)),
        ),
        (
            Correction::Calibration {
                axis: Axis::Current,
                read: vec![-1.0, 1.0],
                actual: vec![-2.0, 2.0],
                u: 1e-6,
            },
            Box::new(|v, i| (v, 0.5 * i)),
        ),
        (
            Correction::Monitor { readings: (0..30).map(|k| 1.0 + 0.1 * (k % 2) as f64).collect() },
            Box::new(|v, i| (v, i)),
        ),
    ];
    for (k, (correction, did)) in kinds.into_iter().enumerate() {
        let (read_v, mut read_i) = mapped(&v, &i, did);
        if let Correction::Monitor { readings } = &correction {
            read_i.iter_mut().zip(readings).for_each(|(i, m)| *i *= m / 1.05);
        }
        let options = plain().corrections(vec![correction.clone()]);
        let sweep = Sweep::new(&read_v, &read_i, options).unwrap();
        close(sweep.voltage_v(), &v, 1e-13);
        close(sweep.current_a(), &i, 1e-13);
        assert_eq!(sweep.raw(), (read_v, read_i), "{k}");
        assert_eq!(sweep.corrections(), [correction]);
        assert!(sweep.options().corrections.is_empty() && !sweep.changes().is_empty());
    }
}

/// The order is kept: an offset before and after a gain are two different things.
#[test]
fn the_order_matters_and_is_kept() {
    let (v, i) = curve(20);
    let offset = || Correction::Offset { voltage_v: Some(of(0.1, 0.0)), current_a: None };
    let gain = || Correction::Gain { voltage: Some(of(2.0, 0.0)), current: None };
    let with = |list| Sweep::new(&v, &i, plain().corrections(list)).unwrap();
    close(with(vec![offset(), gain()]).voltage_v(), &mapped(&v, &i, |v, i| ((v - 0.1) / 2.0, i)).0, 1e-15);
    let other = with(vec![gain(), offset()]);
    close(other.voltage_v(), &mapped(&v, &i, |v, i| (v / 2.0 - 0.1, i)).0, 1e-15);
    let later = with(vec![gain()]).correct(vec![offset()]).unwrap();
    assert_eq!((later.voltage_v(), later.raw()), (other.voltage_v(), other.raw()));
    assert_eq!((later.corrections(), later.changes()), (other.corrections(), other.changes()));
}

/// Load sign and swapped leads: leads and leakage act on the readings as generator sign has them; raw readings stay.
#[test]
fn leads_and_leakage_act_in_generator_sign() {
    let (v, i) = curve(30);
    let list =
        || vec![Correction::LeadResistance { ohm: of(2.0, 0.1) }, Correction::Leakage { ohm: of(4e3, 0.0) }];
    let read = mapped(&v, &i, |v, i| {
        let outside = i - v / 4e3;
        (v - 2.0 * outside, outside)
    });
    let right = Sweep::new(&read.0, &read.1, SweepOptions::default().corrections(list())).unwrap();
    for (by_v, by_i) in [(1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0)] {
        let turned = mapped(&read.0, &read.1, |v, i| (by_v * v, by_i * i));
        let sweep = Sweep::new(&turned.0, &turned.1, SweepOptions::default().corrections(list())).unwrap();
        assert_eq!((sweep.voltage_v(), sweep.current_a()), (right.voltage_v(), right.current_a()));
        assert_eq!(sweep.raw(), turned);
        assert_eq!(sweep.options().effects, right.options().effects);
    }
    // A sweep that was only turned gives back what came.
    let turned = mapped(&v, &i, |v, i| (-v, i));
    assert_eq!(Sweep::new(&turned.0, &turned.1, SweepOptions::default()).unwrap().raw(), turned);
}

/// What one standard uncertainty does to the points is the difference that the number itself makes, through all that
/// follows.
#[test]
fn effects_are_the_differences_that_the_numbers_make() {
    let (v, i) = curve(25);
    let dark = Sweep::new(&[-0.5, 0.2, 0.5, 0.9], &[1e-6, -1e-6, -3e-6, -9e-6], plain()).unwrap();
    let list = |values: [f64; 7]| {
        let known = |k: usize, u: f64| Some(of(values[k], u));
        vec![
            Correction::Offset { voltage_v: known(0, 2e-3), current_a: known(1, 3e-7) },
            Correction::Gain { voltage: known(2, 1e-3), current: None },
            Correction::SenseResistor { ohm: of(values[5], 1e-3) },
            Correction::LeadResistance { ohm: of(values[3], 0.1) },
            Correction::Leakage { ohm: of(values[4], 50.0) },
            Correction::Dark { sweep: Box::new(dark.clone()) },
            Correction::Gain { voltage: None, current: known(6, 2e-3) },
        ]
    };
    let values = [0.01, 1e-6, 1.01, 2.0, 5e3, 1.1, 0.98];
    let made = |values| Sweep::new(&v, &i, plain().corrections(list(values))).unwrap();
    let sweep = made(values);
    let names = [
        "voltage offset",
        "current offset",
        "voltage gain",
        "lead resistance",
        "leakage",
        "sense resistor",
        "current gain",
    ];
    let u = [2e-3, 3e-7, 1e-3, 0.1, 50.0, 1e-3, 2e-3];
    for (k, name) in names.into_iter().enumerate() {
        let step = 1e-4 * u[k];
        let at = |sign: f64| {
            let mut values = values;
            values[k] += sign * step;
            made(values)
        };
        let (up, down) = (at(1.0), at(-1.0));
        let slope = |a: &[f64], b: &[f64]| -> Vec<f64> {
            a.iter().zip(b).map(|(a, b)| (a - b) / (2.0 * step) * u[k]).collect()
        };
        let effect: &Effect = sweep.options().effects.iter().find(|e| e.name == name).unwrap();
        let (dv, di) = (slope(up.voltage_v(), down.voltage_v()), slope(up.current_a(), down.current_a()));
        for (got, expected) in [(&effect.voltage_v, &dv), (&effect.current_a, &di)] {
            let size = expected.iter().fold(1e-9_f64, |m, x| m.max(x.abs()));
            got.iter()
                .zip(expected)
                .for_each(|(g, e)| assert!((g - e).abs() < 2e-3 * size, "{name}: {g} {e}"));
        }
    }
}

/// The noise of a dark reading moves the currents about it: by −σ there, by a share that falls along straight lines to its
/// neighbours, whichever way the lit readings came.
#[test]
fn the_noise_of_a_dark_sweep_moves_the_currents_about_each_of_its_readings() {
    let dark_v = [-0.5, 0.2, 0.9];
    let noise = Noise::default().current_a(2e-7).current_rel(0.1);
    let dark = Sweep::new(&dark_v, &[1e-6, -1e-6, -9e-6], plain().noise(noise)).unwrap();
    let sigma = [1e-6, 1e-6, 9e-6].map(|i: f64| f64::hypot(2e-7, 0.1 * i));
    let (v, i) = curve(25);
    let hat = |k: usize, v: f64| match k {
        0 => ((0.2 - v) / 0.7).clamp(0.0, 1.0),
        1 => 1.0 - (v - 0.2).abs() / 0.7,
        _ => ((v - 0.2) / 0.7).clamp(0.0, 1.0),
    };
    for (by_v, by_i) in [(1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)] {
        let read = mapped(&v, &i, |v, i| (by_v * v, by_i * i));
        let list = vec![Correction::Dark { sweep: Box::new(dark.clone()) }];
        let sweep = Sweep::new(&read.0, &read.1, SweepOptions::default().corrections(list)).unwrap();
        let effects = &sweep.options().effects;
        assert_eq!(effects.len(), 3);
        for (k, effect) in effects.iter().enumerate() {
            assert!(effect.reach == Reach::Common && effect.voltage_v.iter().all(|v| *v == 0.0));
            let wanted: Vec<f64> = v.iter().map(|v| -sigma[k] * hat(k, *v)).collect();
            close(&effect.current_a, &wanted, 1e-12);
        }
    }
}

/// What a sweep states is scaled when it is corrected later: x/g has 1/g times the scatter, step and offset of x, whatever its
/// gain; a table scales by its slope.
#[test]
fn the_stated_noise_is_scaled_as_the_readings_are() {
    let (v, i) = curve(25);
    let noise = Noise::default()
        .voltage_v(1e-3)
        .voltage_rel(0.01)
        .voltage_step_v(2e-3)
        .voltage_offset_u(3e-3)
        .current_a(1e-6)
        .current_rel(0.02)
        .current_step_a(2e-6)
        .current_offset_u(3e-6);
    let after = |correction| {
        let sweep = Sweep::new(&v, &i, plain().noise(noise)).unwrap();
        sweep.correct(vec![correction]).unwrap().options().noise.unwrap()
    };
    let scaled = |found: Noise, (by_v, by_i): (f64, f64)| {
        let parts = |n: Noise| {
            [
                n.voltage_v,
                n.voltage_step_v,
                n.voltage_offset_u,
                n.current_a,
                n.current_step_a,
                n.current_offset_u,
            ]
        };
        let by = [by_v, by_v, by_v, by_i, by_i, by_i];
        for ((found, before), by) in parts(found).into_iter().zip(parts(noise)).zip(by) {
            assert!((found / (by * before) - 1.0).abs() < 1e-14, "{found:e} of {before:e}");
        }
        assert_eq!((found.voltage_rel, found.current_rel), (0.01, 0.02));
    };
    let gain = Correction::Gain { voltage: Some(of(1.25, 0.0)), current: Some(of(0.5, 0.0)) };
    scaled(after(gain), (0.8, 2.0));
    for (axis, by) in [(Axis::Voltage, (0.25, 1.0)), (Axis::Current, (1.0, 0.25))] {
        let table = Correction::Calibration { axis, read: vec![-2.0, 2.0], actual: vec![-0.4, 0.6], u: 0.0 };
        scaled(after(table), by);
    }
}

/// A number outside of its domain, and a reading beyond a table, are named.
#[test]
fn wrong_corrections_are_named() {
    let (v, i) = curve(20);
    let refused = |c: Correction| Sweep::new(&v, &i, plain().corrections(vec![c])).unwrap_err().to_string();
    let table = |read: Vec<f64>, actual: Vec<f64>, u| Correction::Calibration {
        axis: Axis::Voltage,
        read,
        actual,
        u,
    };
    for (correction, words) in [
        (
            Correction::SenseResistor { ohm: of(0.0, 0.0) },
            "corrections: ohm = 0 is not allowed; give a number above 0",
        ),
        (Correction::Leakage { ohm: of(f64::NAN, 0.0) }, "corrections: ohm = NaN"),
        (Correction::Gain { voltage: None, current: Some(of(-1.0, 0.0)) }, "corrections: current gain = -1"),
        (Correction::Offset { voltage_v: Some(of(0.0, -1.0)), current_a: None }, "standard uncertainty"),
        (
            Correction::Monitor { readings: vec![1.0; 3] },
            "has 3; pass one corrections: monitor value for each voltage",
        ),
        (Correction::Monitor { readings: vec![0.0; 20] }, "give readings above 0"),
        (
            table(vec![0.0, 0.1], vec![0.0, 0.1], 0.0),
            "voltage_v[0] = -0.05 lies outside the calibration that corrects it, 0 to 0.1",
        ),
        (table(vec![0.0, 0.0], vec![0.0, 0.1], 0.0), "rising order"),
        (Correction::LeadResistance { ohm: of(-2.0, 0.0) }, "give a resistance, 0 or more"),
        (table(vec![0.0], vec![0.0], 0.0), "the table has 1 readings and 1 actual values"),
    ] {
        let text = refused(correction);
        assert!(text.contains(words), "{text}");
    }
}

/// A tracer with a bias of 1.5 V (2 mV), a sense resistor of 100 Ω (0.5 %), leads of 2 Ω (0.1 Ω), a converter step of 5 µA and
/// a noise of 3 µA: the figures and Rs hold the truth as often as they say. `LITDIODE_RUNS=2000` runs the long version.
#[test]
fn figures_of_a_corrected_tracer_hold() {
    let runs: usize = std::env::var("LITDIODE_RUNS").ok().map_or(300, |n| n.parse().unwrap());
    let device = cell();
    let truth = device.key_points();
    let value = |e: Option<Estimate>| e.expect("a figure").value;
    let expected = [value(truth.isc), value(truth.voc), value(truth.pmax), value(truth.ff), 9.0];
    for swept in [Swept::Voltage, Swept::Current] {
        let mut random = Rng(1861 + swept as u64);
        let mut held = [0_usize; 5];
        for _ in 0..runs {
            let (bias, sense, leads) =
                (1.5 + 2e-3 * random.normal(), 100.0 + 0.5 * random.normal(), 2.0 + 0.1 * random.normal());
            let points = 40;
            let at = |k: usize| k as f64 / (points - 1) as f64;
            let (v, i): (Vec<f64>, Vec<f64>) = (0..points)
                .map(|k| {
                    let (v, i) = match swept {
                        Swept::Voltage => {
                            let v = -0.04 + 0.66 * at(k);
                            (v, device.circuit().current_at(v))
                        }
                        Swept::Current => {
                            let i = expected[0] * (-0.05 + 1.08 * at(k));
                            (voltage_at(&device, i), i)
                        }
                    };
                    let read = 5e-6 * ((i + 3e-6 * random.normal()) / 5e-6).round();
                    (v - leads * i + bias, sense * read)
                })
                .unzip();
            let corrections = vec![
                Correction::Offset { voltage_v: Some(of(1.5, 2e-3)), current_a: None },
                Correction::SenseResistor { ohm: of(100.0, 0.5) },
                Correction::LeadResistance { ohm: of(2.0, 0.1) },
            ];
            let noise = Noise::default().current_a(3e-6).current_step_a(5e-6);
            let sweep =
                Sweep::new(&v, &i, plain().swept(swept).noise(noise).corrections(corrections)).unwrap();
            let figures = key_points(&sweep);
            let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
            let rs = fit.parameter(Parameter::Rs).cloned();
            let found = [figures.isc, figures.voc, figures.pmax, figures.ff, rs];
            for ((held, found), truth) in held.iter_mut().zip(found).zip(expected) {
                let interval = found.expect("a figure").interval(0.95);
                let (low, high) = (interval.low.unwrap(), interval.high.unwrap());
                *held += usize::from((low..=high).contains(&truth));
            }
        }
        let shares = held.map(|n| 100.0 * n as f64 / runs as f64);
        println!("{swept:?}: Isc, Voc, Pmax, FF, Rs hold in {shares:?} % of {runs}");
        let margin = 1.5 + 3.0 * 100.0 * (0.95 * 0.05 / runs as f64).sqrt();
        assert!(shares.iter().all(|s| (s - 95.0).abs() < margin), "{swept:?}: {shares:?}");
    }
}

/// A sense resistor stands once, and before what needs a current; a stated noise goes with later corrections.
#[test]
fn a_sense_resistor_comes_first() {
    let (v, i) = curve(20);
    let sense = || Correction::SenseResistor { ohm: of(100.0, 0.5) };
    let others = [
        sense(),
        Correction::LeadResistance { ohm: of(2.0, 0.0) },
        Correction::Leakage { ohm: of(1e5, 0.0) },
    ];
    let volts: Vec<f64> = i.iter().map(|i| 100.0 * i).collect();
    for other in others {
        let list =
            vec![Correction::Gain { voltage: None, current: Some(of(1.0, 0.0)) }, other.clone(), sense()];
        let error = Sweep::new(&v, &volts, plain().corrections(list)).unwrap_err();
        assert!(error.to_string().starts_with("corrections[2] is a sense resistor"), "{error}");
        assert!(
            Sweep::new(&v, &volts, plain().corrections(vec![sense()]))
                .unwrap()
                .correct(vec![sense()])
                .is_err()
        );
    }
    let noise = Noise::default().current_a(1e-4).voltage_v(1e-3);
    let later = Sweep::new(&v, &volts, plain().noise(noise)).unwrap().correct(vec![sense()]).unwrap();
    let scaled = later.options().noise.unwrap();
    assert!((scaled.current_a - 1e-6).abs() < 1e-18 && scaled.voltage_v == 1e-3, "{scaled:?}");
}

/// An interval of contributions: they add up to u², and the largest are those that were put in.
#[test]
fn the_budget_of_a_corrected_sweep_adds_up() {
    use litdiode::curve::budget;
    use litdiode::key_points::KeyPoint;
    let (v, i) = curve(30);
    let read = mapped(&v, &i, |v, i| (v - 2.0 * i + 1.5, 100.0 * i));
    let corrections = vec![
        Correction::Offset { voltage_v: Some(of(1.5, 2e-3)), current_a: None },
        Correction::SenseResistor { ohm: of(100.0, 0.5) },
        Correction::LeadResistance { ohm: of(2.0, 0.1) },
    ];
    let options = plain()
        .noise(Noise::default().current_a(3e-6).current_gain_u(1e-3))
        .area_cm2(Estimate::new(0.25, 0.005, Unit::Cm2))
        .irradiance_w_m2(Estimate::new(1000.0, 30.0, Unit::WattPerM2))
        .corrections(corrections);
    let sweep = Sweep::new(&read.0, &read.1, options).unwrap();
    let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
    for point in KeyPoint::ALL {
        for table in [budget(&sweep, point).unwrap(), fit.budget(point).unwrap()] {
            let sum: f64 = table.contributions.iter().map(|c| c.u * c.u).sum();
            let u = table.estimate.u.unwrap();
            assert!((sum / (u * u) - 1.0).abs() < 1e-9, "{point:?}: {sum} {u} {table}");
            let of = |name: &str| table.contributions.iter().find(|c| c.source == name).map_or(0.0, |c| c.u);
            // By hand: a share of every current, a shift of every voltage.
            let value = table.estimate.value;
            match point {
                KeyPoint::Isc | KeyPoint::Jsc => {
                    assert!((of("sense resistor") / value / 5e-3 - 1.0).abs() < 0.01)
                }
                KeyPoint::Voc => assert!((of("voltage offset") / 2e-3 - 1.0).abs() < 0.01, "{table}"),
                KeyPoint::Efficiency => assert!((of("irradiance") / value / 0.03 - 1.0).abs() < 1e-9),
                // It cancels but for what it does to the drop over the leads.
                KeyPoint::Ff => assert!(of("sense resistor") < 0.1 * u, "{table}"),
                _ => {}
            }
        }
    }
    let rs = fit.budget(Parameter::Rs).unwrap();
    assert_eq!(rs.contributions[0].source, "lead resistance", "{rs}");
    assert!((rs.contributions[0].u / 0.1 - 1.0).abs() < 0.02, "{rs}");
}
