//! Everything that settings hold is what the options of Rust hold.

use crate::host::{call, done, list, made, one, out, words};
use litdiode::code::Coded;
use litdiode::diode::ndarray::{Array1, ArrayD, Axis as Dimension, arr0};
use litdiode::diode::{Condition, Device, Devices, DevicesParameters, Parameters};
use litdiode::estimate::{Estimate, Unit};
use litdiode::fit::{self, NoiseScale, Parameter, Wishes};
use litdiode::live::{LiveOptions, Order};
use litdiode::plan::{Limits, Method, PlanOptions};
use litdiode::reason::Reason;
use litdiode::resistance::{Implied, Measured, resistances as own_resistances};
use litdiode::sweep::{
    Axis, Correction, Effect, Leads, Noise, Reach, Sign, Sweep, SweepError, SweepOptions, Swept,
};
use litdiode_capi::choices::*;
use litdiode_capi::misuse::LITDIODE_NO_CHOICE;
use litdiode_capi::{
    fit as c_fit, fit_settings, general, live, model, models, plan, resistances, sweep, sweep_settings,
};
use serde_json::Value;
use std::ffi::CString;

const PARAMETERS: [f64; 5] = [0.03, 1e-9, 1.3, 0.5, 900.0];
const POINTS: usize = 25;

fn parameters(factor: f64) -> Parameters<1> {
    let [iph_a, i0_a, n, rs_ohm, rsh_ohm] = PARAMETERS;
    Parameters { iph_a: factor * iph_a, i0_a: [i0_a], n: [n], rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 }
}

/// A sweep of the device with `factor` of its photocurrent, with a scatter of 2e-5 A.
fn readings(factor: f64) -> (Vec<f64>, Vec<f64>) {
    let v: Vec<f64> = (0..POINTS).map(|k| -0.05 + 0.0275 * k as f64).collect();
    let mut i = vec![0.0; POINTS];
    Device::<1>::new(parameters(factor)).unwrap().current(&v, &mut i).unwrap();
    i.iter_mut().enumerate().for_each(|(k, i)| *i += 2e-5 * ((k * 7919 % 101) as f64 / 50.0 - 1.0));
    (v, i)
}

fn sweep_of(settings: u64, factor: f64) -> u64 {
    let (v, i) = readings(factor);
    made!(sweep::litdiode_sweep_new, settings, list(&v), POINTS, list(&i), POINTS)
}

fn json(handle: u64) -> Value {
    serde_json::from_str(&done!(general::litdiode_to_json, handle)).unwrap()
}

fn unstated(value: f64, unit: Unit) -> Estimate {
    Estimate::without_u(value, unit, Reason::Given)
}

/// Every part of the noise by a value of its own.
fn noise_parts() -> [(i32, f64); 11] {
    let values = [1e-4, 2e-4, 3e-4, 4e-4, 5e-4, 6e-4, 7e-4, 8e-4, 9e-4, 10e-4, 11e-4];
    std::array::from_fn(|part| (part as i32, values[part]))
}

fn own_noise() -> Noise {
    Noise::default()
        .voltage_v(1e-4)
        .current_a(2e-4)
        .voltage_rel(3e-4)
        .current_rel(4e-4)
        .voltage_step_v(5e-4)
        .current_step_a(6e-4)
        .voltage_gain_u(7e-4)
        .current_gain_u(8e-4)
        .voltage_offset_u(9e-4)
        .current_offset_u(10e-4)
        .scatter_dof(11e-4)
}

#[test]
fn settings_of_a_sweep_hold_what_they_are_given() {
    let settings = made!(sweep_settings::litdiode_sweep_settings_new);
    assert_eq!(json(settings), serde_json::to_value(SweepOptions::default()).unwrap());
    let swept = LITDIODE_SWEPT_CURRENT;
    let (sign, leads) = (LITDIODE_SIGN_LOAD, LITDIODE_LEADS_SWAPPED);
    done!(sweep_settings::litdiode_sweep_settings_convention, settings, swept, sign, leads);
    for (part, value) in noise_parts() {
        done!(sweep_settings::litdiode_sweep_settings_noise, settings, part, value);
    }
    let past = call!(sweep_settings::litdiode_sweep_settings_noise, settings, 11, 1.0);
    assert_eq!(past.0, LITDIODE_NO_CHOICE);
    let (meter, label) = (CString::new("meter 3").unwrap(), CString::new("Zelle 7 · Ω").unwrap());
    done!(sweep_settings::litdiode_sweep_settings_instrument, settings, words(&meter));
    done!(sweep_settings::litdiode_sweep_settings_label, settings, words(&label));
    done!(sweep_settings::litdiode_sweep_settings_area, settings, 1.02, 0.01);
    done!(sweep_settings::litdiode_sweep_settings_irradiance, settings, 800.0, f64::NAN);
    done!(sweep_settings::litdiode_sweep_settings_device, settings, 30.0, 2);
    done!(sweep_settings::litdiode_sweep_settings_times, settings, list(&[0.5, 1.0, 1.5]), 3);
    let (name, volts, amperes) = (CString::new("drift").unwrap(), [1e-3, 0.0, 2e-3], [0.0, 4e-6, 5e-6]);
    let reach = LITDIODE_REACH_EACH;
    done!(
        sweep_settings::litdiode_sweep_settings_effect,
        settings,
        words(&name),
        reach,
        list(&volts),
        3,
        list(&amperes),
        3
    );
    let own = SweepOptions::default()
        .swept(Swept::Current)
        .sign(Sign::Load)
        .leads(Leads::Swapped)
        .noise(own_noise().of_instrument("meter 3"))
        .label("Zelle 7 · Ω".to_owned())
        .area_cm2(Estimate::new(1.02, 0.01, Unit::Cm2))
        .irradiance_w_m2(unstated(800.0, Unit::WattPerM2))
        .temperature_c(30.0)
        .cells(2)
        .time_s(Some(vec![0.5, 1.0, 1.5]))
        .effects(vec![Effect::new("drift", Reach::Each, volts.to_vec(), amperes.to_vec())]);
    assert_eq!(json(settings), serde_json::to_value(own).unwrap());
}

#[test]
fn corrections_are_those_of_rust() {
    let settings = made!(sweep_settings::litdiode_sweep_settings_new);
    for kind in 0..7 {
        let (value, u) = (f64::from(1 + kind), if kind % 2 == 0 { 0.01 } else { f64::NAN });
        done!(sweep_settings::litdiode_sweep_settings_correct, settings, kind, value, u);
    }
    let past = call!(sweep_settings::litdiode_sweep_settings_correct, settings, 7, 1.0, 0.1);
    assert_eq!(past.0, LITDIODE_NO_CHOICE);
    let dark = sweep_of(0, 0.0);
    done!(sweep_settings::litdiode_sweep_settings_dark, settings, dark);
    let (axis, read, actual) = (LITDIODE_AXIS_CURRENT, [0.0, 1.0, 2.0], [0.1, 1.2, 2.4]);
    done!(
        sweep_settings::litdiode_sweep_settings_calibrate,
        settings,
        axis,
        list(&read),
        3,
        list(&actual),
        3,
        0.02
    );
    done!(sweep_settings::litdiode_sweep_settings_monitor, settings, list(&[3.0, 3.1]), 2);
    let of = |value: f64, unit| Some(Estimate::new(value, 0.01, unit));
    let (v, i) = readings(0.0);
    let dark = Sweep::new(&v, &i, SweepOptions::default()).unwrap();
    let own = vec![
        Correction::Offset { voltage_v: of(1.0, Unit::Volt), current_a: None },
        Correction::Offset { voltage_v: None, current_a: Some(unstated(2.0, Unit::Ampere)) },
        Correction::SenseResistor { ohm: Estimate::new(3.0, 0.01, Unit::Ohm) },
        Correction::Gain { voltage: Some(unstated(4.0, Unit::One)), current: None },
        Correction::Gain { voltage: None, current: of(5.0, Unit::One) },
        Correction::LeadResistance { ohm: unstated(6.0, Unit::Ohm) },
        Correction::Leakage { ohm: Estimate::new(7.0, 0.01, Unit::Ohm) },
        Correction::Dark { sweep: Box::new(dark) },
        Correction::Calibration {
            axis: Axis::Current,
            read: read.to_vec(),
            actual: actual.to_vec(),
            u: 0.02,
        },
        Correction::Monitor { readings: vec![3.0, 3.1] },
    ];
    let own = SweepOptions::default().corrections(own);
    assert_eq!(json(settings), serde_json::to_value(own).unwrap());
}

/// A chain of dark sweeps ends before it could take the stack of who frees it; what was made goes to JSON and back.
#[test]
fn dark_sweeps_nest_eight_deep() {
    let (mut handle, mut deepest, mut refused) = (sweep_of(0, 0.0), 0, None);
    for k in 1..12 {
        let settings = made!(sweep_settings::litdiode_sweep_settings_new);
        let (status, text) = call!(sweep_settings::litdiode_sweep_settings_dark, settings, handle);
        if status != 0 {
            refused = Some((status, text));
            break;
        }
        handle = sweep_of(settings, 0.1 * f64::from(k));
        deepest += 1;
    }
    let own = SweepError::NestedDark { most: 8 };
    assert_eq!((deepest, refused), (9, Some((own.code().into(), own.to_string()))));
    let stored = CString::new(done!(general::litdiode_to_json, handle)).unwrap();
    let kind = litdiode_capi::objects::LITDIODE_KIND_SWEEP;
    let back = made!(general::litdiode_from_json, kind, words(&stored));
    assert_eq!(json(back), json(handle));
}

#[test]
fn settings_of_a_live_sweep_hold_what_they_are_given() {
    let settings = made!(live::litdiode_live_settings_new, -0.2, 0.9, -0.03, 0.04);
    let own = LiveOptions::within((-0.2, 0.9), (-0.03, 0.04));
    assert_eq!(json(settings), serde_json::to_value(&own).unwrap());
    done!(live::litdiode_live_settings_target, settings, LITDIODE_VOC, 0.002);
    done!(live::litdiode_live_settings_safety, settings, 0.02, 0.1);
    done!(live::litdiode_live_settings_time, settings, 77, 12.5, 0.25);
    done!(live::litdiode_live_settings_order, settings, LITDIODE_ORDER_UP_AND_DOWN);
    let of_sweep = made!(sweep_settings::litdiode_sweep_settings_new);
    done!(sweep_settings::litdiode_sweep_settings_noise, of_sweep, LITDIODE_NOISE_CURRENT_A, 2e-5);
    done!(live::litdiode_live_settings_sweep, settings, of_sweep);
    let own = own
        .target(litdiode::key_points::KeyPoint::Voc)
        .wanted(0.002)
        .limit_w(Some(0.02))
        .safe(0.1)
        .capacity(77)
        .time_limit_s(Some(12.5))
        .dwell_s(0.25)
        .order(Order::UpAndDown)
        .sweep(SweepOptions::default().noise(Noise::default().current_a(2e-5)));
    assert_eq!(json(settings), serde_json::to_value(&own).unwrap());
    done!(live::litdiode_live_settings_safety, settings, f64::NAN, 0.1);
    done!(live::litdiode_live_settings_time, settings, 77, f64::NAN, 0.25);
    assert_eq!(json(settings), serde_json::to_value(own.limit_w(None).time_limit_s(None)).unwrap());
}

#[test]
fn settings_of_a_plan_hold_what_they_are_given() {
    let settings = made!(plan::litdiode_plan_settings_new);
    assert_eq!(json(settings), serde_json::to_value(PlanOptions::default()).unwrap());
    done!(plan::litdiode_plan_settings_points, settings, 17, LITDIODE_SWEPT_CURRENT, 1e-5);
    for (part, value) in noise_parts() {
        done!(plan::litdiode_plan_settings_noise, settings, part, value);
    }
    done!(plan::litdiode_plan_settings_target, settings, LITDIODE_ISC, LITDIODE_PLAN_LOCAL);
    done!(plan::litdiode_plan_settings_limits, settings, -0.1, 0.7, -0.01, 0.05, 0.02);
    done!(plan::litdiode_plan_settings_spread, settings, 0.2);
    done!(plan::litdiode_plan_settings_fix, settings, LITDIODE_N1);
    done!(plan::litdiode_plan_settings_fix, settings, LITDIODE_N2);
    let mut own = PlanOptions::default()
        .points(17)
        .swept(Swept::Current)
        .step(1e-5)
        .noise(own_noise())
        .target(litdiode::key_points::KeyPoint::Isc)
        .method(Method::Local)
        .limits(Limits { voltage_v: (-0.1, 0.7), current_a: (-0.01, 0.05), power_w: 0.02 })
        .spread(Some(0.2));
    own.fix = vec![Parameter::N1, Parameter::N2];
    assert_eq!(json(settings), serde_json::to_value(&own).unwrap());
    done!(plan::litdiode_plan_settings_spread, settings, f64::NAN);
    assert_eq!(json(settings), serde_json::to_value(own.spread(None)).unwrap());
}

/// Settings of a fit are not written, so that what they do is compared.
#[test]
fn settings_of_a_fit_are_those_of_rust() {
    let settings = made!(fit_settings::litdiode_fit_settings_new);
    done!(fit_settings::litdiode_fit_settings_start, settings, LITDIODE_N, 1.9);
    done!(fit_settings::litdiode_fit_settings_bounds, settings, LITDIODE_RS, 0.1, 0.4);
    done!(fit_settings::litdiode_fit_settings_fix, settings, LITDIODE_RSH, 700.0);
    done!(fit_settings::litdiode_fit_settings_residual, settings, LITDIODE_RESIDUAL_IMPLICIT);
    let scale = LITDIODE_NOISE_SCALE_FROM_SCATTER;
    done!(fit_settings::litdiode_fit_settings_noise_scale, settings, scale);
    let noise = made!(sweep_settings::litdiode_sweep_settings_new);
    done!(sweep_settings::litdiode_sweep_settings_noise, noise, LITDIODE_NOISE_CURRENT_A, 3e-6);
    let handle = sweep_of(noise, 1.0);
    let (v, i) = readings(1.0);
    let own = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(3e-6))).unwrap();
    let wishes =
        Wishes::default().start(Parameter::N, 1.9).bounds(Parameter::Rs, 0.1, 0.4).fix(Parameter::Rsh, 700.0);
    let mut options = fit::Options::default().wishes(wishes).noise_scale(NoiseScale::FromScatter);
    options.residual = Some(fit::Residual::Implicit);
    let bits = |handle: u64| done!(general::litdiode_to_json, handle);
    let found = made!(c_fit::litdiode_fit_new, handle, 1, settings, 0);
    let expected = fit::fit_single_diode(&own, &options).unwrap();
    assert!(!expected.noise_stated && expected.status == fit::Status::AtBound, "{expected}");
    let stored: Value = serde_json::from_str(&bits(found)).unwrap();
    assert_eq!(stored["One"], serde_json::to_value(&expected).unwrap());
    // The start alone counts where nothing may move from it.
    done!(fit_settings::litdiode_fit_settings_budget, settings, 1, f64::NAN);
    options.most_evaluations = Some(1);
    let found = made!(c_fit::litdiode_fit_new, handle, 1, settings, 0);
    let expected = fit::fit_single_diode(&own, &options).unwrap();
    assert_eq!(expected.status, fit::Status::NotConverged);
    assert_eq!(json(found)["One"], serde_json::to_value(&expected).unwrap());
    let other = fit::fit_single_diode(&own, &options.wishes(Wishes::default())).unwrap();
    assert_ne!(serde_json::to_value(&other).unwrap(), serde_json::to_value(&expected).unwrap());
}

#[test]
fn measurements_are_those_of_rust() {
    let sweep = |factor: f64| {
        let (v, i) = readings(factor);
        Sweep::new(&v, &i, SweepOptions::default()).unwrap()
    };
    let measurements = made!(resistances::litdiode_measurements_new);
    done!(resistances::litdiode_measurements_lit, measurements, sweep_of(0, 1.0));
    done!(resistances::litdiode_measurements_more_lit, measurements, sweep_of(0, 0.5));
    done!(resistances::litdiode_measurements_more_lit, measurements, sweep_of(0, 0.25));
    done!(resistances::litdiode_measurements_dark, measurements, sweep_of(0, 0.0));
    done!(resistances::litdiode_measurements_ideality, measurements, 1.3, 0.02);
    let (suns, voc): (Vec<f64>, Vec<f64>) = (1..=12)
        .map(|k| (0.1 * f64::from(k), 1.3 * 0.025_692_6 * (0.1 * f64::from(k) * 3e7f64).ln()))
        .unzip();
    let sigma = 1e-4;
    done!(resistances::litdiode_measurements_implied, measurements, list(&voc), 12, list(&suns), 12, sigma);
    let found = made!(resistances::litdiode_resistances_new, measurements, 0);
    let (lit, more, dark) = (sweep(1.0), vec![sweep(0.5), sweep(0.25)], sweep(0.0));
    let (n, implied) = (Estimate::new(1.3, 0.02, Unit::One), Implied::new(&voc, &suns, Some(sigma)).unwrap());
    let measured = Measured::default().lit(&lit).more_lit(&more).dark(&dark).implied(&implied).n(&n);
    let own = own_resistances(&measured);
    assert_eq!(json(found), serde_json::to_value(&own).unwrap());
    // Each of the measurements tells something that the others do not.
    let all = json(found);
    for (k, less) in [
        Measured::default().lit(&lit).dark(&dark).implied(&implied).n(&n),
        Measured::default().lit(&lit).more_lit(&more).implied(&implied).n(&n),
        Measured::default().lit(&lit).more_lit(&more).dark(&dark).n(&n),
        Measured::default().lit(&lit).more_lit(&more).dark(&dark).implied(&implied),
    ]
    .iter()
    .enumerate()
    {
        assert!(serde_json::to_value(own_resistances(less)).unwrap() != all, "measurement {k}");
    }
}

/// What a model tells of itself, with one diode and with two.
#[test]
fn models_are_those_of_rust() {
    let two = [0.03, 1e-12, 1.0, 2e-8, 2.0, 0.4, 800.0];
    let own = Device::<2>::new(Parameters {
        iph_a: two[0],
        i0_a: [two[1], two[3]],
        n: [two[2], two[4]],
        rs_ohm: two[5],
        rsh_ohm: two[6],
        cells: 3,
        temperature_c: 40.0,
    })
    .unwrap();
    let handle = made!(model::litdiode_model_new, 2, list(&two), 7, 3, 40.0);
    let (mut list_of, mut count, mut cells, mut temperature) = ([0.0; 9], 0usize, 0u32, 0.0);
    let outs = (one(&mut count), one(&mut cells), one(&mut temperature));
    done!(model::litdiode_model_parameters, handle, out(&mut list_of), 9, outs.0, outs.1, outs.2);
    assert_eq!((count, cells, temperature), (7, 3, 40.0));
    assert_eq!(list_of, [0.03, 1e-12, 1.0, 2e-8, 2.0, 0.4, 800.0, 0.0, 0.0]);
    let (mut v, mut i, mut p) = ([0.0; 31], [0.0; 31], [0.0; 31]);
    done!(model::litdiode_model_curve, handle, 31, out(&mut v), out(&mut i));
    let (own_v, own_i) = own.curve(31);
    assert_eq!((&v[..], &i[..]), (&own_v[..], &own_i[..]));
    done!(model::litdiode_model_power, handle, list(&v), 31, out(&mut p), 31);
    let mut own_p = [0.0; 31];
    own.power(&v, &mut own_p).unwrap();
    assert_eq!(p, own_p);
    let condition = Condition::default()
        .irradiance_w_m2(Some(500.0))
        .temperature_c(Some(60.0))
        .reference_irradiance_w_m2(900.0)
        .isc_per_k(5e-4)
        .gap_ev(1.4)
        .shunt_follows_light(true);
    let moved = made!(model::litdiode_model_at, handle, 500.0, 60.0, 900.0, 5e-4, 1.4, LITDIODE_YES);
    assert_eq!(json(moved), serde_json::to_value(own.at(&condition).unwrap()).unwrap());
    let stays = made!(model::litdiode_model_at, handle, f64::NAN, f64::NAN, 900.0, 5e-4, 1.4, LITDIODE_NO);
    let unchanged = condition.irradiance_w_m2(None).temperature_c(None).shunt_follows_light(false);
    assert_eq!(json(stays), serde_json::to_value(own.at(&unchanged).unwrap()).unwrap());
}

/// Many devices of two diodes through C are those of Rust, to the bit.
#[test]
fn many_models_are_those_of_rust() {
    let table: Vec<f64> =
        (0..9).flat_map(|k| [0.03 + 0.001 * f64::from(k), 1e-12, 1.0, 2e-8, 2.0, 0.4, 800.0]).collect();
    let column = |at: usize| {
        let column: Array1<f64> = table.iter().skip(at).step_by(7).copied().collect();
        column.insert_axis(Dimension(1)).into_dyn()
    };
    let number = |x: f64| arr0(x).into_dyn();
    let own = Devices::<2>::new(DevicesParameters {
        iph_a: column(0),
        i0_a: vec![column(1), column(3)],
        n: vec![column(2), column(4)],
        rs_ohm: column(5),
        rsh_ohm: column(6),
        cells: number(1.0),
        temperature_c: number(25.0),
    })
    .unwrap();
    let all = made!(models::litdiode_models_new, 2, list(&table), table.len(), 1, 25.0);
    let (v, i): (Vec<f64>, Vec<f64>) = (0..20).map(|k| (0.03 * f64::from(k), 0.0015 * f64::from(k))).unzip();
    let (mut found, mut expected) = (vec![0.0; 180], ArrayD::zeros(vec![9, 20]));
    done!(models::litdiode_models_current, all, list(&v), 20, 2, out(&mut found), 180);
    own.current(Array1::from(v).into_dyn().view(), None, expected.view_mut()).unwrap();
    assert!(found.iter().zip(&expected).all(|(a, b)| a.to_bits() == b.to_bits()));
    done!(models::litdiode_models_voltage, all, list(&i), 20, 0, out(&mut found), 180);
    own.voltage(Array1::from(i).into_dyn().view(), None, expected.view_mut()).unwrap();
    assert!(found.iter().zip(&expected).all(|(a, b)| a.to_bits() == b.to_bits()));
    let mut points = vec![0.0; 54];
    done!(models::litdiode_models_key_points, all, 1, out(&mut points), 54);
    let own = own.key_points(None);
    for k in 0..9 {
        let row = [&own.isc_a, &own.voc_v, &own.pmax_w, &own.v_pmax_v, &own.i_pmax_a, &own.ff];
        assert_eq!(points[6 * k..6 * (k + 1)], row.map(|of| of.iter().copied().nth(k).unwrap()));
    }
}
