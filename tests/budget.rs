//! Searches end: by their budget, by a deadline, by a token; what they hold then is their best state.
#![cfg(feature = "methods")]

mod support;

use litdiode::cancel::{Cancelled, Token};
use litdiode::curve;
use litdiode::fit::{self, Bounds, Options, Points, Problem, ProblemError, Residual, Status, Stop, minimise};
use litdiode::interpolant::{Penalty, shape_sweep, smooth_sweep};
use litdiode::maximum_power::{maximum_powers, maximum_powers_watched};
use litdiode::quantity_format::sentences;
use litdiode::remarks::outliers;
use litdiode::resistance::{Measured, resistances, resistances_watched};
use litdiode::sweep::{Noise, Sweep, Swept};
use std::time::Duration;
use support::{Rng, as_given};

/// A noisy sweep of an invented cell; stated noise on both axes with proportional parts is the dearest kind.
fn sweep(points: usize, seed: u64, swept: Swept, stated: bool) -> Sweep {
    let mut rng = Rng(seed);
    let (iph, i0, a) = (rng.decades(1e-4, 10.0), 1e-9, rng.between(0.026, 0.05));
    let voc = a * (iph / (i0 * iph)).ln();
    let rsh = voc / iph * rng.decades(3.0, 300.0);
    let v: Vec<f64> = (0..points).map(|k| voc * (-0.05 + 1.1 * k as f64 / (points as f64 - 1.0))).collect();
    let i: Vec<f64> = v
        .iter()
        .map(|v| iph - i0 * iph * ((v / a).exp() - 1.0) - v / rsh + 3e-3 * iph * rng.normal())
        .collect();
    let noise =
        Noise::default().voltage_v(1e-3 * voc).voltage_rel(1e-3).current_a(3e-3 * iph).current_rel(1e-3);
    let options = as_given(25.0, 1).swept(swept).noise(stated.then_some(noise));
    Sweep::new(&v, &i, options).unwrap()
}

#[test]
fn a_fit_that_uses_up_its_budget_holds_its_best_state_and_says_so() {
    let sweep = sweep(25, 1, Swept::Voltage, true);
    let whole = fit::fit_single_diode(&sweep, &Options::default()).unwrap();
    assert_ne!(whole.status, Status::NotConverged);
    for evaluations in [0, 1, 3] {
        let options = Options::default().most_evaluations(evaluations);
        let cut = fit::fit_single_diode(&sweep, &options).unwrap();
        assert_eq!((cut.status, cut.stop), (Status::NotConverged, Stop::Budget));
        assert!(sentences(&cut.notes).contains("budget of residual evaluations"), "{:?}", cut.notes);
        assert!(cut.parameters.iter().all(|p| !p.1.value.is_nan()));
        // The starts alone come near the readings.
        assert!(cut.chi2 < 100.0 * whole.chi2, "{} {}", cut.chi2, whole.chi2);
    }
    let deadline = Options::default().deadline(Duration::ZERO);
    let cut = fit::fit_single_diode(&sweep, &deadline).unwrap();
    assert_eq!((cut.status, cut.stop), (Status::NotConverged, Stop::Cancelled));
}

/// Ordinary fits end by themselves: the budget that they have where none is set changes nothing.
#[test]
fn ordinary_fits_end_within_their_budget() {
    let free = Options::default().most_evaluations(usize::MAX);
    let (mut fits, mut twice, mut cut) = (0, 0, 0);
    for (points, seeds) in [(10, 40), (25, 40), (200, 20), (1000, 6), (5000, 1)] {
        for seed in 0..seeds {
            for swept in [Swept::Voltage, Swept::Current] {
                for stated in [false, true] {
                    let (sweep, case) = (
                        sweep(points, seed, swept, stated),
                        format!("{points} points, {seed}, {swept:?}, stated {stated}"),
                    );
                    let one = fit::fit_single_diode(&sweep, &Options::default()).unwrap();
                    let whole = fit::fit_single_diode(&sweep, &free).unwrap();
                    assert!(one == whole, "{case}: {:?}", one.notes);
                    if points <= 200 && seed < 5 {
                        let two = fit::fit_double_diode(&sweep, &Options::default()).unwrap();
                        cut += usize::from(two.status == Status::NotConverged);
                        twice += 1;
                    }
                    fits += 1;
                }
            }
        }
    }
    assert_eq!((fits, twice), (4 * 107, 60));
    // Two diodes on readings of one: the profiles of a few are too long to be followed to their ends.
    assert!(cut <= 2, "{cut} of 60 fits of two diodes");
}

/// A token that is set already stops each long call before it has done its work; nothing of it comes back.
#[test]
fn a_token_stops_every_long_call() {
    let sweep = sweep(200, 3, Swept::Voltage, true);
    let fitted = fit::fit_single_diode(&sweep, &Options::default()).unwrap();
    let shape = shape_sweep(&sweep).unwrap();
    let token = Token::new();
    token.cancel();
    let stopped = |work: &dyn Fn()| assert_eq!(token.run(work), Err(Cancelled));
    stopped(&|| drop(fit::fit_single_diode(&sweep, &Options::default())));
    stopped(&|| drop(fit::fit_double_diode(&sweep, &Options::default())));
    stopped(&|| drop(fitted.profile_interval(fit::Parameter::Rs, 0.95)));
    stopped(&|| drop(fitted.profile_interval(litdiode::key_points::KeyPoint::Pmax, 0.95)));
    stopped(&|| drop(fitted.resample(fit::ResampleOptions::default(), |_| true)));
    stopped(&|| drop(fit::fit_many::<1>(&[&sweep], &Options::default(), None, |_| true)));
    stopped(&|| drop(curve::key_points_many(&[&sweep], None, |_| true)));
    stopped(&|| drop(resistances(&Measured::default().lit(&sweep))));
    stopped(&|| drop(maximum_powers(&sweep)));
    stopped(&|| drop(smooth_sweep(&sweep, Penalty::CrossValidation)));
    stopped(&|| drop(shape.fits_the_shape(0.95)));
    stopped(&|| drop(shape.maximum_power()));
    stopped(&|| drop(outliers(&sweep)));
    let voltages = [0.0, 0.1];
    stopped(&|| drop(fitted.band(&voltages, 0.95)));
}

#[test]
fn numbers_that_make_no_problem_are_refused() {
    let bounds = |low: &[f64], high: &[f64]| Bounds::new(low.to_vec(), high.to_vec());
    assert_eq!(bounds(&[], &[]), Err(ProblemError::Empty { what: "low" }));
    assert_eq!(bounds(&[0.0], &[1.0, 2.0]), Err(ProblemError::Length { what: "high", has: 2, wanted: 1 }));
    assert_eq!(
        bounds(&[0.0, 2.0], &[1.0, 1.0]),
        Err(ProblemError::Crossed { index: 1, low: 2.0, high: 1.0 })
    );
    assert!(matches!(bounds(&[0.0], &[f64::NAN]), Err(ProblemError::Number { what: "high", index: 0, .. })));
    let points =
        |v: &[f64], i: &[f64], s: &[f64]| Points::new(v.to_vec(), i.to_vec(), vec![0.0; v.len()], s.to_vec());
    assert!(matches!(points(&[1.0, 2.0], &[1.0], &[0.1, 0.1]), Err(ProblemError::Length { .. })));
    assert!(matches!(
        points(&[1.0, f64::NAN], &[1.0, 1.0], &[0.1, 0.1]),
        Err(ProblemError::Number { what: "voltage_v", index: 1, .. })
    ));
    assert!(matches!(
        points(&[1.0, 2.0], &[1.0, 1.0], &[0.1, -0.1]),
        Err(ProblemError::Number { what: "sigma_a", index: 1, .. })
    ));
    let good = points(&[0.0, 0.5], &[1.0, 0.0], &[0.1, 0.1]).unwrap();
    let problem = Problem::<1> { points: &good, residual: Residual::Current };
    let free = Bounds::new(vec![0.0; 5], vec![1.0; 5]).unwrap();
    let short = minimise(&problem, &[0.0; 3], &free, 10, |_| {});
    assert_eq!(short, Err(ProblemError::Length { what: "start", has: 3, wanted: 5 }));
    // One coordinate of five: the problem has no residuals there, which is a report.
    let narrow = Bounds::new(vec![0.0], vec![1.0]).unwrap();
    assert_eq!(minimise(&problem, &[0.0], &narrow, 10, |_| {}).unwrap().stop, Stop::NoResiduals);
}

/// What tells its progress rises to the number of its rows, gives the same as without, and ends where it is told to.
#[test]
fn progress_rises_to_all_and_false_ends_the_work() {
    let sweep = sweep(40, 3, Swept::Voltage, true);
    let fitted = fit::fit_single_diode(&sweep, &Options::default()).unwrap();
    let (measured, beyond) = (Measured::default().lit(&sweep), [0.8, 0.9, 1.0]);
    let mut told = Vec::new();
    let mut watch = |done| {
        told.push(done);
        true
    };
    let all = resistances_watched(&measured, &mut watch).unwrap();
    assert_eq!(all, resistances(&measured));
    let powers = maximum_powers_watched(&sweep, &mut watch).unwrap();
    assert_eq!(powers, maximum_powers(&sweep));
    let rows = [all.found.len() + all.absent.len(), powers.estimates.len() + powers.absent.len()];
    assert_eq!(told, (1..=rows[0]).chain(1..=rows[1]).collect::<Vec<_>>());
    let mut last = 0;
    let band = fitted.band_watched(&beyond, 0.95, |done| {
        assert!(done >= last);
        last = done;
        true
    });
    assert_eq!((band, last), (Some(fitted.band(&beyond, 0.95)), beyond.len()));
    let mut calls = 0;
    let third = |done| {
        calls += 1;
        done < 3
    };
    assert_eq!((resistances_watched(&measured, third), calls), (None, 3));
    assert_eq!(maximum_powers_watched(&sweep, |_| false), None);
}
