//! The time constant of a device that settles after a step, from simulated readings of known truth.

use crate::support::Rng;
use litdiode::estimate::Unit;
use litdiode::reason::Reason;
use litdiode::step_response::{StepError, StepResponse, step_response};

const SETTLED_A: f64 = 0.018;
const STEP_A: f64 = -4e-3;

fn runs() -> usize {
    std::env::var("LITDIODE_RUNS").map_or(400, |n| n.parse().expect("a number"))
}

fn measured(rng: &mut Rng, points: usize, over: f64, sigma: f64, of: impl Fn(f64) -> f64) -> StepResponse {
    let time: Vec<f64> = (0..points).map(|k| 3.0 + over * k as f64 / (points - 1) as f64).collect();
    let read: Vec<f64> =
        time.iter().map(|t| SETTLED_A + STEP_A * of(t - 3.0) + sigma * rng.normal()).collect();
    step_response(&time, &read, Unit::Ampere).expect("rising times")
}

/// `LITDIODE_RUNS=2000 cargo test --test sweep step_response -- --nocapture`
#[test]
fn time_constants_and_settled_readings_hold() {
    // Readings, time over τ, scatter in parts of the step.
    for (points, over, noise) in
        [(12, 5.0, 0.01), (25, 4.0, 0.02), (25, 8.0, 0.05), (60, 3.0, 0.03), (200, 6.0, 0.1)]
    {
        let (mut taus, mut given, mut settled) = (0, 0, 0);
        let mut rng = Rng(points as u64 + 1000);
        for _ in 0..runs() {
            let tau = 0.05 * rng.decades(1.0, 3.0);
            let found = measured(&mut rng, points, over * tau, noise * STEP_A.abs(), |t| (-t / tau).exp());
            let holds = |e: &litdiode::estimate::Estimate, truth: f64| {
                let i = e.interval(0.95);
                usize::from((i.low.expect("an end")..=i.high.expect("an end")).contains(&truth))
            };
            settled += holds(&found.settled, SETTLED_A);
            if let Ok(e) = &found.time_constant_s {
                (given, taus) = (given + 1, taus + holds(e, tau));
            }
        }
        let share = taus as f64 / given as f64;
        println!(
            "{points} readings over {over} τ, {noise}: τ given {given}, holds {:.1} %, settled {:.1} % of {}",
            100.0 * share,
            100.0 * settled as f64 / runs() as f64,
            runs()
        );
        assert!(given as f64 > 0.98 * runs() as f64, "{given}");
        // 93 to 97 %, and three standard deviations of the simulation beside.
        let beside = 3.0 * (0.95 * 0.05 / given as f64).sqrt();
        assert!((0.93 - beside..=0.97 + beside).contains(&share), "{points} {over} {noise}: {share}");
    }
}

/// 8 τ·ln(100) later a hundredth of the step is left.
#[test]
fn the_dwell_time_leaves_what_it_says() {
    let found = measured(&mut Rng(5), 100, 0.4, 1e-9, |t| (-t / 0.05).exp());
    let dwell = found.dwell_for(0.01 * STEP_A.abs()).expect("a dwell time");
    assert!((dwell.value / (0.05 * 100f64.ln()) - 1.0).abs() < 1e-4, "{dwell:?}");
    assert_eq!(found.dwell_for(1.0).expect("a dwell time").value, 0.0);
}

#[test]
fn what_the_readings_do_not_say_is_told() {
    let mut counts = [0; 4];
    for seed in 0..200 {
        let mut rng = Rng(seed);
        let sigma = 0.02 * STEP_A.abs();
        // Scatter alone.
        let flat = measured(&mut rng, 25, 1.0, sigma, |_| 0.0);
        counts[0] += usize::from(flat.time_constant_s.is_ok());
        // A ramp: τ is long against the readings.
        let slow = measured(&mut rng, 25, 1.0, sigma, |t| (-t / 30.0).exp());
        counts[1] += usize::from(slow.time_constant_s.is_ok());
        // Settled before the second reading.
        let fast = measured(&mut rng, 25, 1.0, sigma, |t| (-t / 0.002).exp());
        counts[2] += usize::from(matches!(fast.time_constant_s, Err(Reason::StepNotFollowed { .. })));
        // Two time constants.
        let two =
            measured(&mut rng, 200, 1.0, 0.1 * sigma, |t| 0.5 * (-t / 0.03).exp() + 0.5 * (-t / 0.3).exp());
        counts[3] += usize::from(matches!(two.time_constant_s, Err(Reason::NotExponential { .. })));
    }
    println!("{counts:?}");
    // At a level of 5 % of either side.
    assert!(counts[0] <= 20 && counts[1] <= 20, "{counts:?}");
    assert!(counts[2] >= 180 && counts[3] >= 195, "{counts:?}");
}

#[test]
fn wrong_readings_are_named() {
    let of = |t: &[f64], y: &[f64]| step_response(t, y, Unit::Volt).unwrap_err();
    let t = [0.0, 1.0, 2.0, 3.0, 4.0];
    assert_eq!(of(&t, &t[..4]), StepError::Lengths { times: 5, readings: 4 });
    assert_eq!(of(&t[..4], &t[..4]), StepError::TooFew { given: 4, fewest: 5 });
    assert_eq!(of(&[0.0, 1.0, 1.0, 2.0, 3.0], &t), StepError::Time { index: 2, value: 1.0 });
    assert!(of(&t, &[0.0, f64::NAN, 1.0, 1.0, 1.0]).to_string().contains("reading[1]"));
    // Readings without any scatter, and all the same.
    let same = step_response(&t, &[0.5; 5], Unit::Volt).expect("readings");
    assert!(matches!(same.time_constant_s, Err(Reason::NoStep { .. })), "{same:?}");
    let exact: Vec<f64> = t.iter().map(|t| 1.0 + (-t / 1.7f64).exp()).collect();
    let found = step_response(&t, &exact, Unit::Volt).expect("readings").time_constant_s.expect("τ");
    assert!((found.value - 1.7).abs() < 1e-9, "{found:?}");
}
