//! A value with its standard uncertainty: intervals by the tables of the GUM and by hand, and what is refused, in which words.

use litdiode::estimate::{Estimate, Interval, Scale, Unit, coverage_factor};
use litdiode::key_points::KeyPoint;

/// GUM (JCGM 100:2008), table G.2: t for 3, 10, 50 and infinitely many degrees of freedom at 68.27, 90, 95, 95.45, 99, 99.73 %.
#[test]
fn coverage_factors_at_every_level_of_gum_table_g2() {
    let levels = [0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973];
    for (dof, row) in [
        (3.0, [1.20, 2.35, 3.18, 3.31, 5.84, 9.22]),
        (10.0, [1.05, 1.81, 2.23, 2.28, 3.17, 3.96]),
        (50.0, [1.01, 1.68, 2.01, 2.05, 2.68, 3.16]),
        (1e8, [1.000, 1.645, 1.960, 2.000, 2.576, 3.000]),
        (f64::INFINITY, [1.000, 1.645, 1.960, 2.000, 2.576, 3.000]),
    ] {
        for (level, t) in levels.into_iter().zip(row) {
            let got = coverage_factor(level, dof).unwrap();
            assert!((got - t).abs() < 0.0051, "{level} {dof}: {got} for {t}");
        }
    }
    // Student's t of one degree of freedom is Cauchy's distribution: tan(π·level/2). Of a hundredth it is a number still.
    let cauchy = (std::f64::consts::FRAC_PI_2 * 0.8).tan();
    assert!((coverage_factor(0.8, 1.0).unwrap() / cauchy - 1.0).abs() < 1e-9);
    assert!(coverage_factor(0.5, 1e-2).unwrap().is_finite());
}

fn ends(e: &Estimate, level: f64) -> (f64, f64) {
    let interval = e.interval(level);
    assert_eq!((interval.level, interval.note().as_ref()), (level, None));
    (interval.low.unwrap(), interval.high.unwrap())
}

fn close(got: (f64, f64), want: (f64, f64)) {
    let near = |a: f64, b: f64| (a - b).abs() <= 1e-9 * b.abs();
    assert!(near(got.0, want.0) && near(got.1, want.1), "{got:?} for {want:?}");
}

/// value ± t·u; value·exp(±t·u/value); 1/(1/value ± t·u/value²), by hand with t = 1.959964, and 4.302653 of two degrees of
/// freedom.
#[test]
fn intervals_on_each_scale_by_hand() {
    let t = 1.959_963_984_540_054;
    let e = Estimate::new(2.0, 0.3, Unit::Volt);
    close(ends(&e, 0.95), (2.0 - 0.3 * t, 2.0 + 0.3 * t));
    let few = ends(&e.clone().with_dof(2.0), 0.95);
    assert!((few.1 - 2.0 - 0.3 * 4.302_653).abs() < 1e-6 && (few.0 + few.1 - 4.0).abs() < 1e-12, "{few:?}");
    let factor = (0.15 * t).exp();
    close(ends(&e.clone().on(Scale::Log), 0.95), (2.0 / factor, 2.0 * factor));
    let g = |sign: f64| 1.0 / (0.5 + sign * t * 0.3 / 4.0);
    close(ends(&e.clone().on(Scale::Reciprocal), 0.95), (g(1.0), g(-1.0)));
    let wide = Estimate::new(2.0, 1.03, Unit::Ohm).on(Scale::Reciprocal);
    assert_eq!(ends(&wide, 0.95).1, f64::INFINITY);
    let near = Estimate::new(2.0, 1.01, Unit::Ohm).on(Scale::Reciprocal);
    assert!(ends(&near, 0.95).1 > 50.0 && ends(&near, 0.95).1.is_finite());
    // An exact value is its own interval.
    assert_eq!(ends(&Estimate::new(2.0, 0.0, Unit::One), 0.95), (2.0, 2.0));
}

#[test]
fn a_refused_interval_says_why() {
    let e = Estimate::new(2.0, 0.3, Unit::Volt);
    for level in [0.0, 1.0, -0.5, 1.5, f64::NAN] {
        let interval = e.interval(level);
        assert_eq!((interval.low, interval.high), (None, None));
        let note = interval.note().unwrap();
        assert_eq!(note, format!("level = {level} is not between 0 and 1; pass for instance 0.95"));
        assert_eq!(Interval::refused(level).unwrap().note(), Some(note));
    }
    for level in [1e-9, 0.5, 1.0 - 1e-9] {
        assert_eq!(Interval::refused(level), None);
        assert!(e.interval(level).low.is_some());
    }
    let absent = Interval::absent(0.9, "no readings");
    assert_eq!((absent.low, absent.high, absent.level), (None, None, 0.9));
    assert_eq!(absent.note().as_deref(), Some("no readings"));
}

/// Without u the interval is absent with the note of the value; a value and u that leave no number on the scale are named with
/// what they lack.
#[test]
fn an_absent_interval_says_why() {
    let note = |e: &Estimate| {
        let interval = e.interval(0.95);
        assert_eq!((interval.low, interval.high, interval.level), (None, None, 0.95));
        interval.note().unwrap()
    };
    assert_eq!(note(&Estimate::without_u(1.0, Unit::Volt, "one reading only")), "one reading only");
    let mut silent = Estimate::without_u(1.0, Unit::Volt, "");
    silent.notes.clear();
    assert_eq!(note(&silent), "no standard uncertainty");
    let endless = Estimate::new(f64::INFINITY, f64::INFINITY, Unit::Ohm);
    assert_eq!(note(&endless), "a value of inf with u = inf has no interval on its scale");
    let zero = Estimate::new(0.0, 1.0, Unit::Ampere).on(Scale::Log);
    assert_eq!(note(&zero), "a value of 0 with u = 1 has no interval on its scale");
    let infinite = Estimate::new(f64::INFINITY, f64::INFINITY, Unit::Ohm).on(Scale::Reciprocal);
    assert!(note(&infinite).ends_with("has no interval on its scale"));
}

#[test]
fn relative_uncertainty_is_a_share_of_the_size() {
    assert_eq!(Estimate::new(-4.0, 1.0, Unit::Volt).relative_u(), Some(0.25));
    assert_eq!(Estimate::new(4.0, 1.0, Unit::Volt).relative_u(), Some(0.25));
    assert_eq!(Estimate::new(0.0, 1.0, Unit::Volt).relative_u(), None);
    assert_eq!(Estimate::without_u(4.0, Unit::Volt, "").relative_u(), None);
}

#[test]
fn each_change_of_an_estimate_changes_one_thing() {
    let plain = Estimate::new(2.0, 0.3, Unit::Volt);
    assert_eq!((plain.value, plain.u, plain.dof, plain.unit), (2.0, Some(0.3), f64::INFINITY, Unit::Volt));
    assert_eq!((plain.scale, plain.note().as_ref()), (Scale::Linear, None));
    let expected = |change: &dyn Fn(&mut Estimate)| {
        let mut e = plain.clone();
        change(&mut e);
        e
    };
    assert_eq!(plain.clone().with_dof(7.0), expected(&|e| e.dof = 7.0));
    assert_eq!(plain.clone().in_unit(Unit::Ohm), expected(&|e| e.unit = Unit::Ohm));
    assert_eq!(plain.clone().on(Scale::Log), expected(&|e| e.scale = Scale::Log));
    assert_eq!(plain.clone().noted("a"), expected(&|e| e.notes = vec!["a".into()]));
    assert_eq!(plain.to_string(), "2.00 ± 0.30 V");
}

/// The symbols of the SI and of the units of the trade.
#[test]
fn units_have_their_symbols() {
    for (unit, symbol) in [
        (Unit::One, ""),
        (Unit::Ampere, "A"),
        (Unit::Volt, "V"),
        (Unit::Watt, "W"),
        (Unit::Ohm, "Ω"),
        (Unit::AmperePerCm2, "A/cm²"),
        (Unit::Cm2, "cm²"),
        (Unit::WattPerM2, "W/m²"),
        (Unit::Siemens, "S"),
        (Unit::Kelvin, "K"),
        (Unit::PerKelvin, "1/K"),
        (Unit::AmperePerKelvin, "A/K"),
        (Unit::VoltPerKelvin, "V/K"),
        (Unit::OhmPerKelvin, "Ω/K"),
    ] {
        assert_eq!(unit.symbol(), symbol);
    }
}

#[test]
fn a_name_that_stands_for_nothing_is_told_those_that_do() {
    let error = "uoc".parse::<KeyPoint>().unwrap_err();
    let known = "isc, voc, pmax, v_pmax, i_pmax, ff, jsc, efficiency";
    assert_eq!(error.to_string(), format!("\"uoc\" is no key point; use one of {known}"));
    assert_eq!(format!("{:>6}", KeyPoint::Isc), "   isc");
}

/// What was stored and edited: an interval of ends in order, an estimate whose numbers are some.
#[cfg(feature = "serde")]
#[test]
fn stored_figures_that_cannot_be_are_refused() {
    let interval = Estimate::new(2.0, 0.3, Unit::Volt).interval(0.95);
    let with = |field: &str, value: serde_json::Value| {
        let mut text = serde_json::to_value(&interval).unwrap();
        text[field] = value;
        serde_json::from_value::<Interval>(text).map_err(|e| e.to_string())
    };
    assert_eq!(with("low", interval.low.into()), Ok(interval.clone()));
    assert_eq!(with("low", interval.high.into()).unwrap().low, interval.high);
    assert_eq!(with("low", serde_json::Value::Null).unwrap().low, None);
    assert_eq!(with("high", serde_json::Value::Null).unwrap().high, None);
    for (field, bad) in
        [("low", 3.0.into()), ("high", 1.0.into()), ("low", "nan".into()), ("high", "nan".into())]
    {
        let why = with(field, bad).unwrap_err();
        assert!(why.contains("are not the ends of an interval"), "{why}");
    }
    let estimate = Estimate::new(2.0, 0.3, Unit::Volt).with_dof(3.0);
    let with = |field: &str, value: serde_json::Value| {
        let mut text = serde_json::to_value(&estimate).unwrap();
        text[field] = value;
        serde_json::from_value::<Estimate>(text).map_err(|e| e.to_string())
    };
    for (field, good) in
        [("u", 0.0.into()), ("dof", 0.0.into()), ("dof", "inf".into()), ("value", "inf".into())]
    {
        assert!(with(field, good).is_ok(), "{field}");
    }
    for (field, bad, words) in [
        ("value", serde_json::Value::from("nan"), "value is not a number"),
        ("u", (-0.1).into(), "u = -0.1 is not a standard uncertainty"),
        ("dof", (-1.0).into(), "dof = -1 is not a number of degrees of freedom"),
        ("dof", "nan".into(), "dof = NaN is not a number of degrees of freedom"),
    ] {
        let why = with(field, bad).unwrap_err();
        assert!(why.contains(words), "{why}");
    }
}
