//! Sweeps: what is refused and in which words, what is turned, and that it is recorded.

use crate::support::{Rng, as_given};
use litdiode::diode::{Circuit, Junction};
use litdiode::estimate::{Estimate, Unit};
use litdiode::sweep::{Leads, Noise, Sign, Sweep, SweepError, SweepOptions};

const V: [f64; 5] = [-0.1, 0.2, 0.4, 0.5, 0.6];
const I: [f64; 5] = [0.030, 0.030, 0.028, 0.017, -0.041];

fn refused(v: &[f64], i: &[f64]) -> String {
    Sweep::new(v, i, SweepOptions::default()).unwrap_err().to_string()
}

fn refused_with(options: SweepOptions) -> String {
    Sweep::new(&V, &I, options).unwrap_err().to_string()
}

#[test]
fn bad_readings_are_named_with_index_value_and_cure() {
    for (v, i, parts) in [
        (vec![], vec![], ["voltage_v has 0 point(s)", "at least 2"]),
        (vec![0.1], vec![0.1], ["voltage_v has 1 point(s)", "at least 2"]),
        (vec![0.1, 0.2], vec![0.1], ["voltage_v has 2 values and current_a has 1", "pass one"]),
        (vec![0.1, f64::NAN], vec![0.1, 0.0], ["voltage_v[1] = NaN", "remove the point"]),
        (vec![0.1, 0.2], vec![f64::INFINITY, 0.0], ["current_a[0] = inf", "remove the point"]),
        (vec![0.1, 0.2], vec![0.0, f64::NEG_INFINITY], ["current_a[1] = -inf", "remove the point"]),
        (vec![0.1, 9.9e37], vec![0.1, 0.0], ["voltage_v[1] = 9.9e37", "higher range"]),
        (vec![0.1, 0.2], vec![0.1, -9.9e37], ["current_a[1] = -9.9e37", "higher range"]),
        (vec![0.3, 0.3], vec![0.1, 0.0], ["all voltage_v are 0.3", "different voltages"]),
        (vec![0.1, 0.2], vec![0.0, 0.0], ["all current_a are 0", "check the wiring"]),
    ] {
        let text = refused(&v, &i);
        assert!(parts.iter().all(|p| text.contains(p)), "{text}");
    }
}

#[test]
fn contradicting_duplicates_are_named() {
    let text = refused(&[0.0, 0.2, 0.2, 0.5], &[0.03, 0.03, 0.01, -0.01]);
    assert!(
        text.contains("current_a[1] = 0.03 and current_a[2] = 0.01")
            && text.contains("state the scatter in the noise"),
        "{text}"
    );
    // The same pair is scatter where the noise says so, and a repeated reading is no contradiction.
    let noise = Noise::default().current_a(0.01);
    Sweep::new(&[0.0, 0.2, 0.2, 0.5], &[0.03, 0.03, 0.01, -0.01], SweepOptions::default().noise(noise))
        .unwrap();
    Sweep::new(&[0.0, 0.2, 0.2, 0.5], &[0.03, 0.0299, 0.03, -0.01], SweepOptions::default()).unwrap();
}

#[test]
fn bad_options_are_named() {
    let area = |x| Some(Estimate::new(x, 0.1, Unit::Cm2));
    let base = SweepOptions::default;
    assert!(refused_with(base().area_cm2(area(0.0))).starts_with("area_cm2 = 0 is not"));
    assert!(refused_with(base().area_cm2(area(-1.0))).starts_with("area_cm2 = -1 is not"));
    assert!(refused_with(base().irradiance_w_m2(area(0.0))).starts_with("irradiance_w_m2 = 0"));
    assert!(refused_with(base().temperature_c(-274.0)).starts_with("temperature_c = -274"));
    assert!(refused_with(base().cells(0)).starts_with("cells = 0"));
    assert!(refused_with(base().time_s(vec![0.0])).starts_with("voltage_v has 5 values and time_s has 1"));
    let noise = Noise::default().current_rel(0.1);
    assert!(refused_with(base().noise(noise)).contains("add current_a, the scatter"));
    let noise = Noise::default().voltage_v(-1.0);
    assert!(refused_with(base().noise(noise)).starts_with("noise: voltage_v = -1"));
}

/// σ by hand: floor 3, proportional 4 of 100·0.04, step √12·12 give √(9 + 16 + 144) = 13.
#[test]
fn scatter_adds_in_squares() {
    let noise = Noise::default().current_a(3.0).current_rel(0.04).current_step_a(12.0 * 12f64.sqrt());
    assert!((noise.sigma_current(100.0) - 13.0).abs() < 1e-12);
}

/// Every device in each of the four ways to connect it: what comes back is the device in generator sign.
#[test]
fn orientation_is_never_wrong() {
    let mut rng = Rng(7);
    let (mut undecided, mut turned_back) = (0, 0);
    for case in 0..2000 {
        let scale = rng.decades(1e-6, 1.0);
        let a = rng.between(0.025, 0.07);
        let leak = [1e-3, 0.3, 1.2][case % 3];
        let lit = case % 4 != 0;
        let iph = if lit { scale } else { 0.0 };
        let c = Circuit::new(
            iph,
            [scale * (-rng.between(9.0, 18.0)).exp()],
            [a],
            0.2 * a / scale,
            leak * scale / (20.0 * a),
        );
        let top = Circuit::new(scale, c.i0, c.a, c.rs, c.g).voc();
        let noise = rng.between(0.0, 0.01) * scale;
        let v: Vec<f64> = (0..25).map(|k| top * (-0.3 + 1.4 * f64::from(k) / 24.0)).collect();
        let i: Vec<f64> = v.iter().map(|v| c.current_at(*v) + noise * rng.normal()).collect();
        for (sv, si) in [(1.0, 1.0), (1.0, -1.0), (-1.0, -1.0), (-1.0, 1.0)] {
            let turned = |xs: &[f64], s: f64| xs.iter().map(|x| s * x).collect::<Vec<_>>();
            match Sweep::new(&turned(&v, sv), &turned(&i, si), SweepOptions::default()) {
                Ok(sweep) => {
                    assert_eq!((sweep.voltage_v(), sweep.current_a()), (&v[..], &i[..]), "{case} {c:?}");
                    let turns = usize::from(sv * si < 0.0) + usize::from(sv < 0.0);
                    assert_eq!(sweep.changes().len(), turns, "{:?}", sweep.changes());
                    turned_back += 1;
                }
                Err(error) => {
                    assert!(!lit, "{case}: {error} {c:?}");
                    let text = error.to_string();
                    assert!(text.contains("set sign to") || text.contains("set leads to"), "{error}");
                    undecided += 1;
                }
            }
        }
    }
    assert!(undecided < 800, "{undecided} of 2000 dark curves undecided");
    // 6000 lit and at least 1200 dark ones.
    assert!(turned_back > 7200, "{turned_back}");
}

#[test]
fn forced_options_decide_and_are_recorded() {
    let options = SweepOptions::default().sign(Sign::Load).leads(Leads::Swapped);
    let sweep = Sweep::new(&V, &I, options).unwrap();
    assert_eq!((sweep.voltage_v()[0], sweep.current_a()[0]), (0.1, 0.030));
    assert!(sweep.changes().iter().all(|c| !c.automatic) && sweep.changes().len() == 2);
    let v = V.map(|v| -v);
    let i = I.map(|i| -i);
    let as_given = Sweep::new(&v, &i, as_given(25.0, 1)).unwrap();
    assert!(as_given.changes().is_empty());
    assert!(
        as_given.findings().iter().any(|f| f.text.contains("negative voltage")),
        "{:?}",
        as_given.findings()
    );
}

#[test]
fn what_the_range_does_not_hold_is_said() {
    let sweep = Sweep::new(&V[1..4], &I[1..4], as_given(25.0, 1)).unwrap();
    let texts: Vec<&str> = sweep.findings().iter().map(|f| f.text.as_str()).collect();
    assert!(texts.iter().any(|t| t.contains("does not reach V = 0")), "{texts:?}");
    assert!(texts.iter().any(|t| t.contains("without reaching I = 0")), "{texts:?}");
}

#[cfg(feature = "serde")]
#[test]
fn a_sweep_survives_json_to_the_bit() {
    let noise = Noise::default().current_a(0.1 + 0.2);
    let sweep = Sweep::new(&V, &I, SweepOptions::default().noise(noise)).unwrap();
    let back: Sweep = serde_json::from_str(&serde_json::to_string(&sweep).unwrap()).unwrap();
    assert_eq!(back, sweep);
}

/// A resistor has no polarity, and noise about 0 no direction: both are told that they decide nothing.
#[test]
fn a_resistor_and_noise_decide_nothing() {
    let even: Vec<f64> = (0..41).map(|k| -0.3 + 0.015 * f64::from(k)).collect();
    let ohmic: Vec<f64> = even.iter().map(|v| -v / 50.0).collect();
    let above: Vec<f64> = (1..=40).map(|k| 0.02 * f64::from(k)).collect();
    let noise: Vec<f64> = (0..40).map(|k| if k % 2 == 0 { 1e-6 } else { -1e-6 }).collect();
    for (v, i) in [(&even, &ohmic), (&above, &noise)] {
        for options in [SweepOptions::default(), SweepOptions::default().sign(Sign::Generator)] {
            let error = Sweep::new(v, i, options).unwrap_err();
            assert!(matches!(error, SweepError::Undecided { .. }), "{error}");
        }
    }
}

/// A dark device that conducts four times as well one way as the other, along straight lines: the better way is forward,
/// however it was connected and of whatever size it is.
#[test]
fn the_side_that_conducts_better_is_forward() {
    let even: Vec<f64> = (0..41).map(|k| -0.3 + 0.015 * f64::from(k)).collect();
    for size in [1e-9, 1e-3, 10.0] {
        let forward: Vec<f64> = even.iter().map(|v| size * v * if *v > 0.0 { -4.0 } else { -1.0 }).collect();
        for (by_v, by_i) in [(1.0, 1.0), (1.0, -1.0), (-1.0, 1.0), (-1.0, -1.0)] {
            let turned = |x: &[f64], by: f64| x.iter().map(|x| by * x).collect::<Vec<_>>();
            let sweep =
                Sweep::new(&turned(&even, by_v), &turned(&forward, by_i), SweepOptions::default()).unwrap();
            assert_eq!(
                (sweep.voltage_v(), sweep.current_a()),
                (&even[..], &forward[..]),
                "{size} {by_v} {by_i}"
            );
        }
    }
}

/// A sweep that was written down before its turns were is read as one that was not turned.
#[cfg(feature = "serde")]
#[test]
fn a_stored_sweep_without_its_turns_was_not_turned() {
    fn without_turns(value: &mut serde_json::Value) -> usize {
        match value {
            serde_json::Value::Object(map) => {
                usize::from(map.remove("turned").is_some())
                    + map.values_mut().map(without_turns).sum::<usize>()
            }
            _ => 0,
        }
    }
    let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
    let sweep = Sweep::new(&[0.0, 0.3, 0.5], &[3e-3, 2.9e-3, 1e-3], options).unwrap();
    let mut stored = serde_json::to_value(&sweep).unwrap();
    assert_eq!(without_turns(&mut stored), 1);
    let back: Sweep = serde_json::from_value(stored).unwrap();
    assert_eq!(back.raw(), sweep.raw());
}
