//! The noise of an instrument, and readings that contradict each other beyond it: by hand.

use crate::support::as_given;
use litdiode::sweep::{Noise, Sweep, SweepError, Swept};

/// floor 3, 4 % of 100, a step of 12·√12: √(9 + 16 + 144) = 13 on either axis, also of a negative reading.
#[test]
fn scatter_by_hand_on_both_axes() {
    let step = 12.0 * 12f64.sqrt();
    let noise = Noise::default()
        .voltage_v(3.0)
        .voltage_rel(0.04)
        .voltage_step_v(step)
        .current_a(6.0)
        .current_rel(0.08)
        .current_step_a(2.0 * step);
    for x in [100.0, -100.0] {
        assert!((noise.sigma_voltage(x) - 13.0).abs() < 1e-12, "{}", noise.sigma_voltage(x));
        assert!((noise.sigma_current(x) - 26.0).abs() < 1e-12, "{}", noise.sigma_current(x));
    }
    assert_eq!((noise.dof(), noise.scatter_dof(7.0).dof()), (f64::INFINITY, 7.0));
}

/// Each part by itself states its axis and not the other; what is common to all points states none.
#[test]
fn each_part_of_a_scatter_states_its_axis() {
    let none = Noise::default();
    assert!(!none.states_voltage() && !none.states_current());
    for noise in [none.voltage_v(1.0), none.voltage_rel(1.0), none.voltage_step_v(1.0)] {
        assert!(noise.states_voltage() && !noise.states_current(), "{noise:?}");
    }
    for noise in [none.current_a(1.0), none.current_rel(1.0), none.current_step_a(1.0)] {
        assert!(!noise.states_voltage() && noise.states_current(), "{noise:?}");
    }
    let common = none.voltage_gain_u(1.0).current_gain_u(1.0).voltage_offset_u(1.0).current_offset_u(1.0);
    assert!(!common.states_voltage() && !common.states_current());
}

type Setter = fn(Noise, f64) -> Noise;

/// Each part that is negative, no number or infinite is named; 0 is none and allowed.
#[test]
fn a_part_that_is_no_uncertainty_is_named() {
    let none = Noise::default();
    let parts: [(&str, Setter); 11] = [
        ("voltage_v", Noise::voltage_v),
        ("current_a", Noise::current_a),
        ("voltage_rel", Noise::voltage_rel),
        ("current_rel", Noise::current_rel),
        ("voltage_step_v", Noise::voltage_step_v),
        ("current_step_a", Noise::current_step_a),
        ("voltage_gain_u", Noise::voltage_gain_u),
        ("current_gain_u", Noise::current_gain_u),
        ("voltage_offset_u", Noise::voltage_offset_u),
        ("current_offset_u", Noise::current_offset_u),
        ("scatter_dof", Noise::scatter_dof),
    ];
    for (name, set) in parts {
        for bad in [-1e-3, f64::NAN, f64::INFINITY] {
            let text = set(none, bad).validate().unwrap_err().to_string();
            assert!(text.starts_with(&format!("noise: {name} = ")), "{text}");
        }
        assert_eq!(set(none, 0.0).validate(), Ok(()));
    }
    // A step is a floor as well.
    for good in [
        none.voltage_rel(0.1).voltage_v(1.0),
        none.voltage_rel(0.1).voltage_step_v(1.0),
        none.current_rel(0.1).current_a(1.0),
        none.current_rel(0.1).current_step_a(1.0),
    ] {
        assert_eq!(good.validate(), Ok(()), "{good:?}");
    }
    let axis = |noise: Noise| match noise.validate() {
        Err(SweepError::NoFloor { axis, unit, value }) => (axis, unit, value),
        other => panic!("{other:?}"),
    };
    assert_eq!(axis(none.voltage_rel(0.1).current_a(1.0)), ("voltage", "v", 0.1));
    assert_eq!(axis(none.current_rel(0.2).voltage_v(1.0)), ("current", "a", 0.2));
}

/// Readings at 0.2 V that are `apart` amperes from each other in a falling line of slope −1 S.
fn apart(apart: f64, noise: Option<Noise>, swept: Swept) -> Result<Sweep, SweepError> {
    let v = [0.0, 0.1, 0.2, 0.2, 0.3, 0.4, 0.5, 0.6];
    let mut i: Vec<f64> = v.iter().map(|v| 0.5 - v).collect();
    i[2] += 0.5 * apart;
    i[3] -= 0.5 * apart;
    Sweep::new(&v, &i, as_given(25.0, 1).noise(noise).swept(swept))
}

/// Eight combined standard uncertainties, √2·8 = 11.31 of one, are scatter and more is not; without a stated noise a fifth of
/// the span of 0.6 A. Where the current is stepped nothing contradicts.
#[test]
fn readings_of_one_voltage_contradict_beyond_their_scatter() {
    for (noise, limit) in [
        (Some(Noise::default().current_a(0.01)), 0.1131),
        (Some(Noise::default().current_a(1e-9).current_rel(0.02)), 0.0679),
        (None, 0.12),
    ] {
        assert!(apart(0.98 * limit, noise, Swept::Voltage).is_ok(), "{limit}");
        let error = apart(1.02 * limit, noise, Swept::Voltage).unwrap_err();
        assert!(
            matches!(error, SweepError::Contradiction { first: 2, second: 3, voltage_v: 0.2, .. }),
            "{error:?}"
        );
        assert!(apart(10.0 * limit, noise, Swept::Current).is_ok());
    }
    // A scatter of the voltage counts by the steepest slope to the neighbours, here (0.1 − x/2)/0.1 for readings that are x apart:
    // with 0.01 V the limit is the root of x = 8·√2·0.01·(1 − 5x), 0.1131/1.5657.
    let noise = Some(Noise::default().voltage_v(0.01));
    assert!(apart(0.0715, noise, Swept::Voltage).is_ok());
    assert!(apart(0.0730, noise, Swept::Voltage).is_err());
}

/// The pair may lie at either end of the sweep, where one neighbour alone shows the slope: at the last voltage the 1 S of the
/// line, a limit of 0.1131 A; at the first the slope from the later reading, x above the line, 1 + 10·x: up to any x above, and
/// below to y = 0.1131·(1 − 10·y), 0.1131/2.1314.
#[test]
fn readings_of_one_voltage_at_an_end() {
    let with = |end: usize, apart: f64| {
        let on_line = |k: usize| (0.1 * k as f64, 0.35 - 0.1 * k as f64);
        let mut points: Vec<(f64, f64)> = (0..8).map(on_line).collect();
        points.push((points[end].0, points[end].1 + apart));
        let (v, i): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        Sweep::new(&v, &i, as_given(25.0, 1).noise(Noise::default().voltage_v(0.01))).is_ok()
    };
    assert!(with(7, 0.112) && with(7, -0.112) && !with(7, 0.1145) && !with(7, -0.1145));
    assert!(with(0, 0.3) && with(0, -0.0525) && !with(0, -0.0537));
}
