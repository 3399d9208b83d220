//! What is asked wrongly is told, and what was planned comes back from JSON.

use crate::support::planned::dye;
use litdiode::cancel::{Cancelled, Token};
use litdiode::code::Coded;
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::fit::{Figure, Parameter};
use litdiode::key_points::KeyPoint;
use litdiode::plan::{Expected, Limits, Method, PlanError, PlanNote, PlanOptions, plan_sweep, points_needed};
use litdiode::sweep::{Noise, Swept};

fn expected() -> Expected {
    Expected::one_diode(&[dye().model]).unwrap()
}

fn options() -> PlanOptions {
    PlanOptions::default().noise(Noise::default().current_a(6e-6))
}

#[test]
fn what_is_wrong_is_told() {
    let refused = |options: PlanOptions, code: u16, word: &str| {
        let error = plan_sweep(&expected(), &options).unwrap_err();
        assert_eq!(error.code(), code, "{error}");
        assert!(error.to_string().contains(word), "{error}");
    };
    assert_eq!(Expected::one_diode(&[]), Err(PlanError::NoDevice));
    refused(PlanOptions::default(), 782, "noise");
    refused(options().noise(Noise::default()), 782, "scatter");
    refused(options().noise(Noise::default().current_rel(0.01)), 783, "floor");
    refused(options().step(-1.0), 784, "step");
    refused(options().spread(0.5), 784, "spread");
    refused(options().limits(Limits { voltage_v: (1.0, 0.0), ..Limits::default() }), 784, "voltage_v");
    refused(options().limits(Limits { power_w: 0.0, ..Limits::default() }), 784, "power_w");
    refused(options().points(4), 785, "5 to 1000");
    refused(options().points(2000), 785, "5 to 1000");
    refused(options().fix(vec![Parameter::N1]), 786, "iph, i0, n, rs, rsh");
    refused(options().fix(Parameter::OF_ONE.to_vec()), 787, "free");
    refused(options().target(Parameter::I01), 788, "expected[0] has no i01");
    refused(options().target(Parameter::N).fix(vec![Parameter::N]), 788, "n");
    refused(options().target(KeyPoint::Jsc), 789, "give isc");
    refused(options().target(Parameter::Rs).method(Method::Local), 790, "key point");
    refused(
        options().limits(Limits { voltage_v: (0.1, 0.2), ..Limits::default() }).step(0.5),
        792,
        "0 different",
    );
    refused(options().method(Method::Local).points(7), 785, "8 to 1000");
    let wanted = points_needed(&expected(), 2.0, &options()).unwrap_err();
    assert!(wanted.to_string().contains("wanted = 2"), "{wanted}");
}

#[test]
fn a_dark_device_needs_limits_and_gives_parameters() {
    let p = dye().model.parameters().to_owned();
    let dark = SingleDiode::new(Parameters { iph_a: 0.0, ..p }).unwrap();
    let dark = Expected::one_diode(&[dark]).unwrap();
    assert_eq!(plan_sweep(&dark, &options()).unwrap_err().code(), 788);
    let of_n = options().target(Parameter::N);
    assert_eq!(plan_sweep(&dark, &of_n).unwrap_err().code(), 791);
    let limits = Limits { voltage_v: (-0.2, 0.7), ..Limits::default() };
    let plan = plan_sweep(&dark, &of_n.limits(limits)).unwrap();
    assert!(plan.target().u.unwrap() < plan.target().u_equal_voltage.unwrap());
}

/// On the bounds Rs = 0 and g = 0 a plan is made, and says so; Rsh has no ±.
#[test]
fn a_device_on_its_bounds_is_planned_for() {
    let p = dye().model.parameters().to_owned();
    let ideal = SingleDiode::new(Parameters { rs_ohm: 0.0, rsh_ohm: f64::INFINITY, ..p }).unwrap();
    let ideal = Expected::one_diode(&[ideal]).unwrap();
    for swept in [Swept::Voltage, Swept::Current] {
        let noise = Noise::default().current_a(3e-6).voltage_v(1e-3);
        let plan = plan_sweep(&ideal, &options().noise(noise).swept(swept)).unwrap();
        assert!(plan.notes.contains(&PlanNote::OnBound { parameter: Parameter::Rs }));
        assert!(plan.notes.contains(&PlanNote::OnBound { parameter: Parameter::Rsh }));
        assert!(plan.target().u.is_some() && plan.figures.iter().all(|f| f.figure != Parameter::Rsh.into()));
    }
    assert_eq!(plan_sweep(&ideal, &options().target(Parameter::Rsh)).unwrap_err().code(), 788);
}

/// The units that the names of figures and the fields of parameters state.
#[test]
fn every_figure_has_its_unit() {
    let points = ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc", "efficiency"];
    let units = ["A", "V", "W", "V", "A", "", "A/cm²", ""];
    let parameters = [("iph", "A"), ("i0", "A"), ("n", ""), ("rs", "Ω"), ("rsh", "Ω")];
    for (name, unit) in points.into_iter().zip(units).chain(parameters) {
        let figure: Figure = name.parse().unwrap();
        assert_eq!(figure.unit().symbol(), unit, "{name}");
    }
}

#[test]
fn a_token_stops_a_plan() {
    let token = Token::new();
    token.cancel();
    let local = options().method(Method::Local);
    for options in [options(), local] {
        assert_eq!(token.run(|| plan_sweep(&expected(), &options)).map(|_| ()), Err(Cancelled));
        assert_eq!(token.run(|| points_needed(&expected(), 0.01, &options)).map(|_| ()), Err(Cancelled));
    }
}

#[test]
fn high_voltages_are_warned_of() {
    let p = dye().model.parameters().to_owned();
    let (rs_ohm, rsh_ohm) = (144.0 * p.rs_ohm, 144.0 * p.rsh_ohm);
    let string = SingleDiode::new(Parameters { cells: 144, rs_ohm, rsh_ohm, ..p }).unwrap();
    let plan = plan_sweep(&Expected::one_diode(&[string]).unwrap(), &options()).unwrap();
    assert!(plan.notes.iter().any(|n| matches!(n, PlanNote::HighVoltage { .. })), "{plan}");
}

#[cfg(feature = "serde")]
#[test]
fn a_plan_comes_back_from_json() {
    let plan = plan_sweep(&expected(), &options()).unwrap();
    let text = serde_json::to_string(&plan).unwrap();
    assert_eq!(serde_json::from_str::<litdiode::plan::Plan>(&text).unwrap(), plan);
    let broken = text.replacen("\"set_points\":[", "\"set_points\":[1.0,", 1);
    assert!(serde_json::from_str::<litdiode::plan::Plan>(&broken).is_err());
}
