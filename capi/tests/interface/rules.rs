//! The calling rules: statuses, texts, buffers, handles, JSON, what settings do.

use crate::host::{Text, call, done, list, made, one, out, words};
use litdiode::code::Coded;
use litdiode::estimate::{Estimate, Unit};
use litdiode::sweep::{Correction, Noise, Sign, Sweep, SweepOptions};
use litdiode_capi::choices::*;
use litdiode_capi::misuse::*;
use litdiode_capi::objects::*;
use litdiode_capi::pointers::{In, Out};
use litdiode_capi::{
    fit, fit_settings, general, key_points, live, model, models, plan, resistances, sweep, sweep_settings,
};
use std::ffi::CString;

const PARAMETERS: [f64; 5] = [0.03, 1e-9, 1.3, 0.5, 900.0];

fn readings() -> (Vec<f64>, Vec<f64>) {
    let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.025 * f64::from(k)).collect();
    let i = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0).collect();
    (v, i)
}

fn new_sweep(settings: u64) -> u64 {
    let (v, i) = readings();
    made!(sweep::litdiode_sweep_new, settings, list(&v), 25, list(&i), 25)
}

/// At every capacity: whole characters, a 0 byte, nothing behind it, and the same `needed`.
#[test]
fn texts_are_cut_at_a_character() {
    let handle = made!(model::litdiode_model_new, 1, list(&PARAMETERS), 5, 1, 25.0);
    let whole = done!(general::litdiode_text, handle);
    assert!(whole.contains('Ω') && whole.ends_with("1 cell, 25 °C"), "{whole}");
    for capacity in 0..whole.len() + 3 {
        let (mut text, mut needed) = (Text::new(capacity), 0);
        let status = general::litdiode_text(handle, text.pointer(), capacity, one(&mut needed));
        assert_eq!(needed, whole.len() + 1);
        assert_eq!(status, if capacity >= needed { LITDIODE_OK } else { LITDIODE_SHORT_BUFFER });
        if capacity > 0 {
            assert!(whole.starts_with(text.read()));
            assert!(text.read().len() + 4 >= capacity.min(whole.len() + 1), "{capacity}");
            assert!(text.rest().iter().all(|b| *b == 0xAA));
        }
    }
    // Without a buffer, and without a place for the length.
    let mut needed = 0;
    // SAFETY: null is allowed.
    let (nowhere, no_length) = unsafe { (Out::new(std::ptr::null_mut()), Out::new(std::ptr::null_mut())) };
    assert_eq!(general::litdiode_text(handle, nowhere, 1000, one(&mut needed)), LITDIODE_SHORT_BUFFER);
    assert_eq!(needed, whole.len() + 1);
    assert_eq!(general::litdiode_free(handle, nowhere, 0, no_length), LITDIODE_OK);
    let absurd = general::litdiode_free(0, nowhere, usize::MAX, no_length);
    assert_eq!(absurd, LITDIODE_TOO_LONG);
    // Remarks that do not fit are no fault of the call.
    let mut text = Text::new(10);
    assert_eq!(general::litdiode_free(handle, text.pointer(), 10, no_length), LITDIODE_BAD_HANDLE);
    assert_eq!(text.read(), "handle = ");
}

/// Errors of the library keep their number and text; those of the border name argument, value and cure.
#[test]
fn statuses_are_the_numbers_of_the_library() {
    let (v, mut i) = readings();
    i[3] = f64::NAN;
    let own = Sweep::new(&v, &i, SweepOptions::default()).unwrap_err();
    let mut handle = 77;
    let found = call!(sweep::litdiode_sweep_new, 0, list(&v), 25, list(&i), 25, one(&mut handle));
    assert_eq!(found, (own.code().into(), own.to_string()));
    assert_eq!(handle, 77, "a call that fails writes no handle");
    // SAFETY: null is allowed.
    let null: In<f64> = unsafe { In::new(std::ptr::null()) };
    let (status, text) = call!(sweep::litdiode_sweep_new, 0, null, 25, list(&i), 25, one(&mut handle));
    assert_eq!(status, LITDIODE_NULL_POINTER);
    assert_eq!(text, "voltage_v is a null pointer; pass the address of what is to be read or written");
    let wanted = "pass the address of what is to be read or written";
    // SAFETY: null is allowed.
    let (no_list, no_indices) = unsafe { (Out::new(std::ptr::null_mut()), Out::new(std::ptr::null_mut())) };
    let (own_sweep, mut room) = (new_sweep(0), [0.0; 49]);
    let nowhere = call!(sweep::litdiode_sweep_points, own_sweep, no_list, 25, out(&mut room), 25);
    assert_eq!(nowhere, (LITDIODE_NULL_POINTER, format!("voltage_v is a null pointer; {wanted}")));
    // Rs is at its bound of 0, and so not among the four of the covariance.
    let fitted = made!(fit::litdiode_fit_new, own_sweep, 1, 0, 0);
    let (mut numbers, mut count) = ([0; 7], 0usize);
    let nowhere =
        call!(fit::litdiode_fit_covariance, fitted, no_indices, 5, out(&mut room), 25, one(&mut count));
    assert_eq!(nowhere, (LITDIODE_NULL_POINTER, format!("parameters is a null pointer; {wanted}")));
    let (n, m) = (out(&mut numbers), out(&mut room));
    let small = call!(fit::litdiode_fit_covariance, fitted, n, 2, m, 25, one(&mut count));
    assert_eq!(small.1, "parameters_capacity = 2 is too small; 4 are needed");
    let small = call!(fit::litdiode_fit_covariance, fitted, n, 5, m, 15, one(&mut count));
    assert_eq!(small.1, "covariance_capacity = 15 is too small; 16 are needed");
    let nowhere = call!(fit::litdiode_fit_residuals, fitted, no_list, 25);
    assert_eq!(nowhere.1, format!("residuals is a null pointer; {wanted}"));
    let absurd = call!(sweep::litdiode_sweep_new, 0, list(&v), usize::MAX, list(&i), 25, one(&mut handle));
    assert_eq!(absurd.0, LITDIODE_TOO_LONG);
    assert!(absurd.1.contains("voltage_v") && absurd.1.contains("100000000"), "{}", absurd.1);
    let model = made!(model::litdiode_model_new, 1, list(&PARAMETERS), 5, 1, 25.0);
    let wrong = call!(key_points::litdiode_key_points_new, model, 0, 0, 0, one(&mut handle));
    assert_eq!(wrong.0, LITDIODE_WRONG_KIND);
    assert!(wrong.1.ends_with("is the handle of a model; pass that of a sweep"), "{}", wrong.1);
    let choice = call!(fit_settings::litdiode_fit_settings_new, one(&mut handle));
    assert_eq!(choice.0, 0);
    let choice = call!(fit_settings::litdiode_fit_settings_fix, handle, 42, 1.0);
    assert_eq!(choice.0, LITDIODE_NO_CHOICE);
    assert!(choice.1.contains("parameter = 42") && choice.1.contains("LITDIODE_RSH (104)"), "{}", choice.1);
    let mut small = [0.0; 24];
    let short = call!(sweep::litdiode_sweep_points, new_sweep(0), out(&mut small), 24, out(&mut small), 24);
    assert_eq!(short, (LITDIODE_SHORT_BUFFER, "voltage_capacity = 24 is too small; 25 are needed".into()));
    let bad = b"\xff\0";
    // SAFETY: the text ends with a 0 byte.
    let bad = unsafe { In::new(bad.as_ptr().cast()) };
    let settings = made!(sweep_settings::litdiode_sweep_settings_new);
    assert_eq!(call!(sweep_settings::litdiode_sweep_settings_label, settings, bad).0, LITDIODE_NOT_UTF8);
    let deadline = call!(general::litdiode_cancel_new, -1.0, one(&mut handle));
    assert_eq!(deadline.0, LITDIODE_NUMBER);
    let points = made!(key_points::litdiode_key_points_new, own_sweep, 0, 0, 0);
    let (mut low, mut high) = (7.0, 7.0);
    for level in [95.0, 1.0, 0.0, -1.0, f64::NAN] {
        let ends = (one(&mut low), one(&mut high));
        let (status, text) =
            call!(key_points::litdiode_key_points_interval, points, LITDIODE_FF, level, ends.0, ends.1);
        assert_eq!(status, 2, "{text}");
        let ends = (one(&mut low), one(&mut high));
        let found = call!(fit::litdiode_fit_interval, fitted, LITDIODE_N, level, 0, 0, ends.0, ends.1);
        assert_eq!(found.0, 2, "{}", found.1);
    }
    assert_eq!((low, high), (7.0, 7.0));
    let thorough = call!(sweep::litdiode_findings_new, own_sweep, 7, 0, one(&mut handle));
    assert!(thorough.1.starts_with("thorough = 7"), "{}", thorough.1);
    let measurements = made!(resistances::litdiode_measurements_new);
    for u in [-0.1, f64::INFINITY] {
        let wrong = call!(resistances::litdiode_measurements_ideality, measurements, 1.3, u);
        assert_eq!(wrong.0, LITDIODE_NUMBER, "{}", wrong.1);
    }
}

/// Changes are told by index, with what decided them; a text stands for the whole sweep.
#[test]
fn changes_of_a_sweep_are_told() {
    let settings = made!(sweep_settings::litdiode_sweep_settings_new);
    let load = LITDIODE_SIGN_LOAD;
    done!(sweep_settings::litdiode_sweep_settings_convention, settings, 0, load, LITDIODE_LEADS_AUTO);
    let label = CString::new("Zelle 7 · Ω").unwrap();
    done!(sweep_settings::litdiode_sweep_settings_label, settings, words(&label));
    let gain = LITDIODE_CORRECTION_CURRENT_GAIN;
    done!(sweep_settings::litdiode_sweep_settings_correct, settings, gain, 1.25, 0.01);
    let leads = LITDIODE_CORRECTION_LEAD_RESISTANCE;
    done!(sweep_settings::litdiode_sweep_settings_correct, settings, leads, 0.1, f64::NAN);
    let (v, i) = readings();
    let i: Vec<f64> = i.iter().map(|i| -i).collect();
    let handle = made!(sweep::litdiode_sweep_new, settings, list(&v), 25, list(&i), 25);
    let reason = litdiode::reason::Reason::Given;
    let options = SweepOptions::default().sign(Sign::Load).label("Zelle 7 · Ω".to_owned()).corrections(vec![
        Correction::Gain { voltage: None, current: Some(Estimate::new(1.25, 0.01, Unit::One)) },
        Correction::LeadResistance { ohm: Estimate::without_u(0.1, Unit::Ohm, reason) },
    ]);
    let own = Sweep::new(&v, &i, options).unwrap();
    let stored: Sweep = serde_json::from_str(&done!(general::litdiode_to_json, handle)).unwrap();
    assert_eq!(stored, own);
    let (mut points, mut changes) = (0, 0);
    done!(sweep::litdiode_sweep_counts, handle, one(&mut points), one(&mut changes));
    assert_eq!((points, changes), (25, own.changes().len()));
    assert_eq!(changes, 3);
    for (k, change) in own.changes().iter().enumerate() {
        let mut automatic = 7;
        let text = done!(sweep::litdiode_sweep_change, handle, k, one(&mut automatic));
        assert_eq!((text, automatic), (change.to_string(), change.automatic.into()));
    }
    let mut automatic = 0;
    let beyond = call!(sweep::litdiode_sweep_change, handle, 3, one(&mut automatic));
    assert_eq!(beyond, (LITDIODE_NO_PLACE, "index = 3 is not below 3, the number of changes".into()));
    assert_eq!(done!(general::litdiode_text, handle), own.to_string());
    assert!(own.to_string().starts_with("Zelle 7 · Ω: 25 points, "), "{own}");
}

/// JSON comes back as the same bits; another text or another kind is a fault.
#[test]
fn json_comes_back() {
    let handle = new_sweep(0);
    let fit = made!(fit::litdiode_fit_new, handle, 1, 0, 0);
    let two = made!(fit::litdiode_fit_new, handle, 2, 0, 0);
    let of_plan = made!(plan::litdiode_plan_settings_new);
    done!(plan::litdiode_plan_settings_points, of_plan, 9, LITDIODE_SWEPT_VOLTAGE, 0.0);
    let stored = [
        (LITDIODE_KIND_SWEEP_SETTINGS, made!(sweep_settings::litdiode_sweep_settings_new)),
        (LITDIODE_KIND_SWEEP, handle),
        (LITDIODE_KIND_FINDINGS, made!(sweep::litdiode_findings_new, handle, 1, 0)),
        (LITDIODE_KIND_KEY_POINTS, made!(key_points::litdiode_key_points_new, handle, 0, 0, 0)),
        (LITDIODE_KIND_FIT, fit),
        (LITDIODE_KIND_FIT, two),
        (LITDIODE_KIND_MODEL, made!(fit::litdiode_fit_model, fit)),
        (LITDIODE_KIND_MODEL, made!(fit::litdiode_fit_model, two)),
        (LITDIODE_KIND_LIVE_SETTINGS, made!(live::litdiode_live_settings_new, -0.1, 0.8, -0.06, 0.06)),
        (LITDIODE_KIND_PLAN_SETTINGS, of_plan),
        (LITDIODE_KIND_PLAN, made!(plan::litdiode_plan_new, fit, of_plan, 0)),
    ];
    for (kind, handle) in stored {
        let mut found = 0;
        done!(general::litdiode_kind, handle, one(&mut found));
        assert_eq!(found, kind);
        let json = CString::new(done!(general::litdiode_to_json, handle)).unwrap();
        let back = made!(general::litdiode_from_json, kind, words(&json));
        assert_eq!(done!(general::litdiode_to_json, back), json.to_str().unwrap());
        let mut none = 0;
        let other = if kind == LITDIODE_KIND_FIT { LITDIODE_KIND_SWEEP } else { LITDIODE_KIND_FIT };
        let (status, text) = call!(general::litdiode_from_json, other, words(&json), one(&mut none));
        assert_eq!(status, LITDIODE_NOT_JSON, "{text}");
        let name = if kind == LITDIODE_KIND_FIT { "a sweep" } else { "a fit" };
        assert!(text.starts_with(&format!("json is not {name} in JSON (")), "{text}");
    }
    let (json, mut none) = (CString::new("{}").unwrap(), 0);
    let status = |kind, none: &mut u64| call!(general::litdiode_from_json, kind, words(&json), one(none)).0;
    assert_eq!(status(LITDIODE_KIND_RESISTANCES, &mut none), LITDIODE_NO_CHOICE);
    assert_eq!(status(99, &mut none), LITDIODE_NO_CHOICE);
    let cancel = made!(general::litdiode_cancel_new, f64::NAN);
    assert_eq!(call!(general::litdiode_to_json, cancel).0, LITDIODE_WITHOUT);
}

/// Lists at any alignment; input and output in the same memory.
#[test]
fn memory_may_be_anywhere() {
    let handle = made!(model::litdiode_model_new, 1, list(&PARAMETERS), 5, 1, 25.0);
    let (v, _) = readings();
    let mut i = vec![0.0; 25];
    done!(model::litdiode_model_current, handle, list(&v), 25, out(&mut i), 25);
    let mut bytes = vec![0u8; 25 * 8 + 1];
    for (k, v) in v.iter().enumerate() {
        bytes[1 + 8 * k..9 + 8 * k].copy_from_slice(&v.to_ne_bytes());
    }
    let place: *mut f64 = bytes[1..].as_mut_ptr().cast();
    // SAFETY: 25 values at an odd address, which live on.
    let (read, write) = unsafe { (In::new(place), Out::new(place)) };
    done!(model::litdiode_model_current, handle, read, 25, write, 25);
    for (k, i) in i.iter().enumerate() {
        assert_eq!(bytes[1 + 8 * k..9 + 8 * k], i.to_ne_bytes());
    }
    // No values need no memory.
    // SAFETY: null is allowed.
    let (read, write) = unsafe { (In::new(std::ptr::null()), Out::new(std::ptr::null_mut())) };
    done!(model::litdiode_model_current, handle, read, 0, write, 0);
}

/// Many devices give what each of them gives.
#[test]
fn many_models_are_many_of_one() {
    let table: Vec<f64> = (0..7).flat_map(|k| [0.03 + 0.001 * f64::from(k), 1e-9, 1.3, 0.5, 900.0]).collect();
    let all = made!(models::litdiode_models_new, 1, list(&table), table.len(), 1, 25.0);
    let (v, _) = readings();
    let (mut rows, mut points) = (vec![0.0; 7 * 25], vec![0.0; 7 * 6]);
    done!(models::litdiode_models_current, all, list(&v), 25, 1, out(&mut rows), 7 * 25);
    done!(models::litdiode_models_key_points, all, 1, out(&mut points), 7 * 6);
    for k in 0..7 {
        let one_model = made!(model::litdiode_model_new, 1, list(&table[5 * k..]), 5, 1, 25.0);
        let mut own = vec![0.0; 25];
        done!(model::litdiode_model_current, one_model, list(&v), 25, out(&mut own), 25);
        assert_eq!(own, rows[25 * k..25 * (k + 1)]);
        let of_one = made!(model::litdiode_model_key_points, one_model);
        for figure in 0..6 {
            let (mut value, mut u, mut dof) = (0.0, 0.0, 0.0);
            let outs = (one(&mut value), one(&mut u), one(&mut dof));
            done!(key_points::litdiode_key_points_figure, of_one, figure as i32, outs.0, outs.1, outs.2);
            assert!(u.is_nan() && dof == f64::INFINITY);
            approx(points[6 * k + figure], value);
        }
    }
    let uneven = call!(models::litdiode_models_new, 1, list(&table), 34, 1, 25.0, one(&mut 0));
    assert_eq!(uneven.0, LITDIODE_LENGTH, "{}", uneven.1);
    let none = call!(models::litdiode_models_new, 1, list(&table), 0, 1, 25.0, one(&mut 0));
    assert_eq!(none.0, LITDIODE_LENGTH, "{}", none.1);
    let short = call!(models::litdiode_models_current, all, list(&v), 25, 1, out(&mut rows), 174);
    assert_eq!(short, (LITDIODE_SHORT_BUFFER, "current_capacity = 174 is too small; 175 are needed".into()));
}

/// Vector code and plain code end a few roundings apart.
fn approx(a: f64, b: f64) {
    assert!((a - b).abs() <= 1e-14 * b.abs(), "{a} {b}");
}

/// A budget is a status of the fit; a fixed parameter has no ±; an absent figure has its reason as status.
#[test]
fn fits_obey_their_settings() {
    let handle = new_sweep(0);
    let settings = made!(fit_settings::litdiode_fit_settings_new);
    done!(fit_settings::litdiode_fit_settings_fix, settings, LITDIODE_N, 1.3);
    done!(fit_settings::litdiode_fit_settings_bounds, settings, LITDIODE_RS, 0.0, 2.0);
    done!(fit_settings::litdiode_fit_settings_residual, settings, LITDIODE_RESIDUAL_IMPLICIT);
    let fit = made!(fit::litdiode_fit_new, handle, 1, settings, 0);
    let (mut value, mut u, mut dof) = (0.0, 0.0, 0.0);
    let outs = (one(&mut value), one(&mut u), one(&mut dof));
    let text = done!(fit::litdiode_fit_parameter, fit, LITDIODE_N, outs.0, outs.1, outs.2);
    assert!((value - 1.3).abs() < 1e-12 && u.is_nan() && !text.is_empty(), "{value} {u} {text}");
    let absent =
        call!(fit::litdiode_fit_parameter, fit, LITDIODE_N1, one(&mut value), one(&mut u), one(&mut dof));
    assert_eq!(absent.0, 862, "{}", absent.1);
    assert!(done!(general::litdiode_text, fit).contains("implicit residual"));
    done!(fit_settings::litdiode_fit_settings_budget, settings, 3, f64::NAN);
    let short = made!(fit::litdiode_fit_new, handle, 1, settings, 0);
    let (mut status, mut stated, mut notes) = (0, 0, 0usize);
    let (mut rms, mut chi2, mut free) = (0.0, 0.0, 0usize);
    done!(
        fit::litdiode_fit_quality,
        short,
        one(&mut status),
        one(&mut rms),
        one(&mut chi2),
        one(&mut free),
        one(&mut stated),
        one(&mut notes)
    );
    assert_eq!(status, 3, "LITDIODE_FIT_NOT_CONVERGED");
    // Of 25 points; n is fixed, and Rs at its bound.
    assert_eq!((notes > 0, free), (true, 22));
    let crossed = {
        done!(fit_settings::litdiode_fit_settings_bounds, settings, LITDIODE_RSH, 5.0, 1.0);
        call!(fit::litdiode_fit_new, handle, 1, settings, 0, one(&mut 0))
    };
    assert_eq!(crossed.0, 304, "{}", crossed.1);
}

/// A finding tells its number, its severity and its points; every resistance that is quoted is one of the list.
#[test]
fn findings_and_resistances_are_told() {
    let (v, mut i) = readings();
    i[7] = 0.0;
    let handle = made!(sweep::litdiode_sweep_new, 0, list(&v), 25, list(&i), 25);
    let findings = made!(sweep::litdiode_findings_new, handle, 1, 0);
    let mut count = 0usize;
    done!(sweep::litdiode_findings_count, findings, one(&mut count));
    let mut seen = Vec::new();
    for k in 0..count {
        let (mut kind, mut severity, mut points) = (0, 0, 0usize);
        let outs = (one(&mut kind), one(&mut severity), one(&mut points));
        let text = done!(sweep::litdiode_finding, findings, k, outs.0, outs.1, outs.2);
        let mut list = vec![99usize; points];
        done!(sweep::litdiode_finding_points, findings, k, out(&mut list), points);
        seen.push((kind, severity, list, text));
    }
    let outlier = seen.iter().find(|(kind, ..)| *kind == 129).expect("the outlier is found");
    assert_eq!((outlier.1, outlier.2.as_slice()), (LITDIODE_SEVERITY_WARNING, &[7][..]));
    let measurements = made!(resistances::litdiode_measurements_new);
    done!(resistances::litdiode_measurements_lit, measurements, new_sweep(0));
    done!(resistances::litdiode_measurements_ideality, measurements, 1.3, 0.05);
    let bad = call!(resistances::litdiode_measurements_ideality, measurements, 0.0, 0.05);
    assert_eq!(bad.0, LITDIODE_NUMBER);
    let all = made!(resistances::litdiode_resistances_new, measurements, 0);
    let (mut index, mut reason) = (-7, 0);
    let why =
        done!(resistances::litdiode_resistance_quote, all, LITDIODE_SHUNT, one(&mut index), one(&mut reason));
    assert!(index >= 0 && (541..=544).contains(&reason), "{why}");
    let (mut quantity, mut value, mut u, mut dof) = (0, 0.0, 0.0, 0.0);
    let outs = (one(&mut quantity), one(&mut value), one(&mut u), one(&mut dof));
    let k = index as usize;
    done!(resistances::litdiode_resistance, all, k, outs.0, outs.1, outs.2, outs.3);
    assert!(quantity == LITDIODE_SHUNT && (value - 500.0).abs() < 1.0, "{value}");
    let (mut low, mut high, mut doubts) = (0.0, 0.0, 9usize);
    done!(resistances::litdiode_resistance_interval, all, k, one(&mut low), one(&mut high));
    assert!(low <= value && value <= high);
    assert_eq!(done!(resistances::litdiode_resistance_doubts, all, k, one(&mut doubts)), "");
    assert_eq!(doubts, 0);
}

/// Readings of constant noise about a straight line leave the shunt resistance without a ±: said once.
#[test]
fn a_remark_is_told_once() {
    let (v, i) = ([0.0, 0.1, 0.2, 0.3, 0.4], [0.03, 0.03, 0.03, 0.03, 0.0299]);
    let measurements = made!(resistances::litdiode_measurements_new);
    let handle = made!(sweep::litdiode_sweep_new, 0, list(&v), 5, list(&i), 5);
    done!(resistances::litdiode_measurements_lit, measurements, handle);
    let all = made!(resistances::litdiode_resistances_new, measurements, 0);
    let (mut found, mut absent, mut remarks) = (0usize, 0usize, 0);
    done!(resistances::litdiode_resistances_counts, all, one(&mut found), one(&mut absent));
    for k in 0..found {
        let (mut low, mut high) = (0.0, 0.0);
        let text = done!(resistances::litdiode_resistance_interval, all, k, one(&mut low), one(&mut high));
        let mut parts: Vec<&str> = text.split("; ").filter(|part| !part.is_empty()).collect();
        remarks += parts.len();
        let all = parts.len();
        parts.sort_unstable();
        parts.dedup();
        assert_eq!(parts.len(), all, "{text}");
    }
    assert!(remarks > 0, "{found} resistances without a remark");
}

/// What a live sweep says through C is what it says to Rust, and it goes on from its JSON.
#[test]
fn a_live_sweep_is_driven() {
    use litdiode::live::{LiveOptions, LiveSweep};
    let settings = made!(live::litdiode_live_settings_new, -0.1, 0.9, -0.1, 0.1);
    let of_sweep = made!(sweep_settings::litdiode_sweep_settings_new);
    done!(sweep_settings::litdiode_sweep_settings_noise, of_sweep, LITDIODE_NOISE_CURRENT_A, 1e-4);
    done!(live::litdiode_live_settings_sweep, settings, of_sweep);
    done!(live::litdiode_live_settings_target, settings, LITDIODE_VOC, 0.002);
    let mut handle = made!(live::litdiode_live_new, settings);
    let stated = SweepOptions::default().noise(Noise::default().current_a(1e-4));
    let options = LiveOptions::within((-0.1, 0.9), (-0.1, 0.1)).sweep(stated);
    let options = options.target(litdiode::key_points::KeyPoint::Voc).wanted(0.002);
    let mut own = LiveSweep::new(options).unwrap();
    let cell = made!(model::litdiode_model_new, 1, list(&PARAMETERS), 5, 1, 25.0);
    for k in 0..200 {
        let (mut more, mut purpose, mut flag) = (0, 0, 9);
        let (mut set, mut dwell, mut i) = (0.0, 0.0, 0.0);
        let outs = (one(&mut more), one(&mut set), one(&mut dwell), one(&mut purpose));
        done!(live::litdiode_live_next, handle, 0, outs.0, outs.1, outs.2, outs.3);
        let next = own.next_set_point();
        assert_eq!(more == 1, next.is_some());
        let Some(next) = next else { break };
        assert_eq!((set.to_bits(), purpose), (next.value.to_bits(), PURPOSE.number(next.purpose)));
        done!(model::litdiode_model_current, cell, list(&[set]), 1, one(&mut i), 1);
        i += 1e-4 * ((k * 7919 % 101) as f64 / 50.0 - 1.0);
        done!(live::litdiode_live_push, handle, set, i, f64::NAN, one(&mut flag));
        own.push(set, i).unwrap();
        if k == 6 {
            let json = CString::new(done!(general::litdiode_to_json, handle)).unwrap();
            handle = made!(general::litdiode_from_json, LITDIODE_KIND_LIVE, words(&json));
            own = serde_json::from_str(json.to_str().unwrap()).unwrap();
        }
    }
    let (mut reason, mut count, mut u) = (0, 0usize, 0.0);
    let text = done!(live::litdiode_live_reason, handle, one(&mut reason));
    assert_eq!((text, reason), (own.reason().unwrap().to_string(), own.reason().unwrap().code().into()));
    for _ in 0..2 {
        done!(live::litdiode_live_progress, handle, one(&mut count), one(&mut u));
        assert_eq!((count, u.to_bits()), (own.len(), own.relative_u().unwrap().to_bits()));
    }
    assert!(count > 7 && own.reason().unwrap().is_reached());
    let sweep = made!(live::litdiode_live_sweep, handle);
    let (mut points, mut changes) = (0usize, 0usize);
    done!(sweep::litdiode_sweep_counts, sweep, one(&mut points), one(&mut changes));
    assert_eq!(points, own.sweep().unwrap().len());
    let refused = call!(live::litdiode_live_push, handle, 0.1, f64::NAN, f64::NAN, one(&mut reason));
    assert_eq!(refused.0, 955, "{}", refused.1);
}

/// The constants of the reasons to stop are the numbers of the library.
#[test]
fn stops_are_numbered_as_in_the_library() {
    use litdiode::live::StopReason as S;
    assert_eq!(LITDIODE_STOP_NO_POWER, i32::from(S::NoPower { points: 6 }.code()));
    assert_eq!(LITDIODE_STOP_NO_NUMBERS, i32::from(S::NoNumbers { times: 8 }.code()));
    assert_eq!(LITDIODE_STOP_CANCELLED, i32::from(S::Cancelled.code()));
    assert_eq!(LITDIODE_STOP_BEYOND_LIMITS, i32::from(S::BeyondLimits { times: 2 }.code()));
    assert_eq!(STOP_REASON.len(), 10);
}

/// A plan through C is the plan of Rust.
#[test]
fn a_plan_is_made() {
    use litdiode::diode::Device;
    use litdiode::fit::Parameter;
    use litdiode::plan::{Expected, PlanOptions, plan_sweep, points_needed};
    let settings = made!(plan::litdiode_plan_settings_new);
    done!(plan::litdiode_plan_settings_points, settings, 15, LITDIODE_SWEPT_VOLTAGE, 0.001);
    done!(plan::litdiode_plan_settings_noise, settings, LITDIODE_NOISE_CURRENT_A, 3e-5);
    done!(plan::litdiode_plan_settings_target, settings, LITDIODE_RS, LITDIODE_PLAN_MODEL);
    let open = f64::INFINITY;
    done!(plan::litdiode_plan_settings_limits, settings, -0.1, 0.7, -open, open, open);
    let model = made!(model::litdiode_model_new, 1, list(&PARAMETERS), 5, 1, 25.0);
    let handle = made!(plan::litdiode_plan_new, model, settings, 0);
    let device = Device::<1>::new(litdiode_capi::model::parameters(&PARAMETERS, 1, 25.0)).unwrap();
    let mut options = PlanOptions::default().points(15).step(0.001).target(Parameter::Rs);
    options = options.noise(Noise::default().current_a(3e-5));
    options.limits.voltage_v = (-0.1, 0.7);
    let expected = Expected::one_diode(&[device]).unwrap();
    let own = plan_sweep(&expected, &options).unwrap();
    let (mut points, mut notes) = (0usize, 0usize);
    done!(plan::litdiode_plan_counts, handle, one(&mut points), one(&mut notes));
    assert_eq!((points, notes), (15, own.notes.len()));
    let (mut set, mut v, mut i) = ([0.0; 15], [0.0; 15], [0.0; 15]);
    let (s, vs, is) = (out(&mut set), out(&mut v), out(&mut i));
    done!(plan::litdiode_plan_points, handle, s, 15, vs, 15, is, 15);
    assert_eq!((&set[..], &v[..], &i[..]), (&own.set_points[..], &own.voltage_v[..], &own.current_a[..]));
    let (mut value, mut u, mut uv, mut ui) = (0.0, 0.0, 0.0, 0.0);
    let outs = (one(&mut value), one(&mut u), one(&mut uv), one(&mut ui));
    done!(plan::litdiode_plan_figure, handle, LITDIODE_RS, outs.0, outs.1, outs.2, outs.3);
    assert_eq!((value, Some(u), Some(uv)), (0.5, own.target().u, own.target().u_equal_voltage));
    assert!(u < uv);
    let mut number = 0;
    for (k, note) in own.notes.iter().enumerate() {
        assert_eq!(done!(plan::litdiode_plan_note, handle, k, one(&mut number)), note.to_string());
        assert_eq!(number, i32::from(note.code()));
    }
    assert_eq!(done!(general::litdiode_text, handle), own.to_string());
    let (mut planned, mut equal_v, mut equal_i, mut repeats) = (0usize, 0usize, 0usize, 0usize);
    let outs = (one(&mut planned), one(&mut equal_v), one(&mut equal_i), one(&mut repeats));
    done!(plan::litdiode_points_needed, model, 0.05, settings, 0, outs.0, outs.1, outs.2, outs.3);
    let needed = points_needed(&expected, 0.05, &options).unwrap();
    let own = [needed.planned, needed.equal_voltage, needed.equal_current, needed.repeats];
    assert_eq!([planned, equal_v, equal_i, repeats], own.map(Option::unwrap_or_default));
    let sweep = new_sweep(0);
    assert_eq!(call!(plan::litdiode_plan_new, sweep, 0, 0, one(&mut 0)).0, LITDIODE_WRONG_KIND);
}
