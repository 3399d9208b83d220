//! Translation to other conditions: against hand computation, against simulated truth, against Monte Carlo.

use crate::support::{Rng, as_given};
use approx::assert_relative_eq;
use litdiode::curve::key_points;
use litdiode::diode::{Condition, Parameters, SingleDiode};
use litdiode::estimate::{Estimate, Unit};
use litdiode::sweep::{Effect, Noise, Reach, Sweep, SweepOptions, Swept};
use litdiode::threads::rows;
use litdiode::translate::*;

const ANYWHERE: Range = Range { irradiance_w_m2: (100.0, 1100.0), temperature_c: (10.0, 70.0) };

fn options(irradiance_w_m2: f64, u: f64, temperature_c: f64) -> SweepOptions {
    as_given(temperature_c, 1).irradiance_w_m2(Estimate::new(irradiance_w_m2, u, Unit::WattPerM2))
}

fn target(irradiance_w_m2: f64, temperature_c: f64) -> Target {
    Target { irradiance_w_m2, temperature_c }
}

/// An invented silicon cell: 1 A in full light.
fn cell() -> SingleDiode {
    SingleDiode::new(Parameters {
        iph_a: 1.0,
        i0_a: [1e-9],
        n: [1.1],
        rs_ohm: 0.04,
        rsh_ohm: 60.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap()
}

fn condition(irradiance_w_m2: f64, temperature_c: f64, shunt_follows_light: bool) -> Condition {
    Condition::default()
        .irradiance_w_m2(irradiance_w_m2)
        .temperature_c(temperature_c)
        .isc_per_k(5e-4)
        .shunt_follows_light(shunt_follows_light)
}

fn measured(model: &SingleDiode, points: usize, noise_a: f64, with: SweepOptions, seed: u64) -> Sweep {
    let mut random = Rng(seed);
    let high = model.key_points().voc.unwrap().value + 0.05;
    let v: Vec<f64> = (0..points).map(|k| -0.1 + (high + 0.1) * k as f64 / (points - 1) as f64).collect();
    let mut i = vec![0.0; points];
    model.current(&v, &mut i).unwrap();
    i.iter_mut().for_each(|i| *i += noise_a * random.normal());
    Sweep::new(&v, &i, with).unwrap()
}

/// The cell at a condition, without noise, densely swept.
fn dense(g: f64, t: f64, shunt_follows_light: bool) -> Sweep {
    let model = cell().at(&condition(g, t, shunt_follows_light)).unwrap();
    measured(&model, 801, 0.0, options(g, 0.0, t), 0)
}

fn pmax_of(g: f64, t: f64, shunt_follows_light: bool) -> f64 {
    cell().at(&condition(g, t, shunt_follows_light)).unwrap().maximum_power().pmax
}

fn pmax(sweep: &Sweep) -> f64 {
    key_points(sweep).pmax.unwrap().value
}

fn parameters_1(u: f64) -> Procedure1 {
    Procedure1 {
        alpha: Estimate::new(0.001, 0.1 * 0.001 * u, Unit::AmperePerKelvin),
        beta: Estimate::new(-0.002, 0.05 * 0.002 * u, Unit::VoltPerKelvin),
        rs: Estimate::new(0.05, 0.2 * 0.05 * u, Unit::Ohm),
        kappa: Estimate::new(0.001, 0.3 * 0.001 * u, Unit::OhmPerKelvin),
        range: ANYWHERE,
    }
}

fn parameters_2(u: f64) -> Procedure2 {
    Procedure2 {
        alpha_rel: Estimate::new(0.001, 0.1 * 0.001 * u, Unit::PerKelvin),
        beta_rel: Estimate::new(-0.004, 0.05 * 0.004 * u, Unit::PerKelvin),
        a: Estimate::new(0.05, 0.1 * 0.05 * u, Unit::One),
        rs: Estimate::new(0.05, 0.2 * 0.05 * u, Unit::Ohm),
        kappa: Estimate::new(0.001, 0.3 * 0.001 * u, Unit::OhmPerKelvin),
        range: ANYWHERE,
    }
}

/// I = 1.2 − 2·V: Isc 1.2 A and Voc 0.6 V by construction; V = 0 is point 2 and V = 0.5 point 12.
fn ramp() -> Sweep {
    let v: Vec<f64> = (0..16).map(|k| f64::from(k - 2) * 0.05).collect();
    let i: Vec<f64> = v.iter().map(|v| 1.2 - 2.0 * v).collect();
    Sweep::new(&v, &i, options(800.0, 0.0, 25.0)).unwrap()
}

/// Sweeps at four irradiances, and at four temperatures.
fn sets() -> (Vec<Sweep>, Vec<Sweep>) {
    let light = [400.0, 600.0, 800.0, 1000.0].map(|g| dense(g, 25.0, true));
    let warmth = [20.0, 30.0, 40.0, 50.0].map(|t| dense(1000.0, t, true));
    (light.to_vec(), warmth.to_vec())
}

/// A translation to where a sweep was measured leaves the figures of stepped currents alone. The sources at its points were taken
/// for a scatter of the current: there were no figures, or some that held in 44 to 80 %.
#[test]
fn a_current_stepped_sweep_translated_to_its_own_condition_keeps_its_figures() {
    let (model, sigma) = (cell(), 1e-3);
    for points in [15, 25, 50] {
        let i: Vec<f64> = (0..points).map(|k| 1.02 * k as f64 / (points - 1) as f64 - 0.02).collect();
        let mut exact = vec![0.0; points];
        model.voltage(&i, &mut exact).unwrap();
        for seed in 0..10 {
            let mut random = Rng(seed);
            let v: Vec<f64> = exact.iter().map(|v| v + sigma * random.normal()).collect();
            let with =
                options(1000.0, 0.0, 25.0).swept(Swept::Current).noise(Noise::default().voltage_v(sigma));
            let sweep = Sweep::new(&v, &i, with).unwrap();
            let nothing = |unit| Estimate::new(0.0, 0.0, unit);
            let same = Procedure1 {
                alpha: nothing(Unit::AmperePerKelvin),
                beta: nothing(Unit::VoltPerKelvin),
                rs: nothing(Unit::Ohm),
                kappa: nothing(Unit::OhmPerKelvin),
                range: ANYWHERE,
            };
            let translated = procedure_1(&sweep, &target(1000.0, 25.0), &same).unwrap();
            let (own, found) = (key_points(&sweep), key_points(&translated.sweep));
            for name in ["isc", "voc", "pmax", "ff"] {
                let (a, b) = (
                    own.get(name).unwrap(),
                    found
                        .get(name)
                        .unwrap_or_else(|| panic!("{points} {name}: {:?}", found.why_absent(name))),
                );
                let (u, other) = (a.u.unwrap(), b.u.unwrap());
                assert!((a.value - b.value).abs() < 0.5 * u, "{points} {name}: {a} {b}");
                assert!((0.7..1.6).contains(&(other / u)), "{points} {name}: {a} {b}");
            }
        }
    }
}

/// Parameters from two sets carry 800 W/m², 25 °C to 1000 W/m², 45 °C: Pmax is that of the model there, to 1 %.
#[test]
fn parameters_of_two_sets() {
    let (light, warmth) = sets();
    let one = Procedure1::from_sweeps(&light, &warmth).unwrap();
    let two = Procedure2::from_sweeps(&light, &warmth, &light[2]).unwrap();
    for range in [one.range, two.range] {
        assert_eq!((range.irradiance_w_m2, range.temperature_c), ((400.0, 1000.0), (20.0, 50.0)));
    }
    let to = target(1000.0, 45.0);
    for moved in [procedure_1(&light[2], &to, &one), procedure_2(&light[2], &to, &two)] {
        assert_relative_eq!(pmax(&moved.unwrap().sweep), pmax_of(1000.0, 45.0, true), max_relative = 0.01);
    }
    let dark = Sweep::new(&[0.0, 0.3, 0.6], &[1.0, 0.9, 0.1], as_given(25.0, 1)).unwrap();
    let why = Procedure2::from_sweeps(&light, &warmth, &dark).unwrap_err();
    assert_eq!(why, TranslateError::NoIrradiance { index: 0 });
}

/// Half way from 500 to 1000 W/m² is 750; from 25 to 35 °C by hand 0.25 is 27.5.
#[test]
fn the_share_of_a_way() {
    let (first, second) = (dense(500.0, 25.0, true), dense(1000.0, 35.0, true));
    assert_eq!(share_for_irradiance(&first, &second, 750.0), Ok(0.5));
    assert_eq!(share_for_temperature(&first, &second, 27.5), Ok(0.25));
    assert!(
        share_for_irradiance(&first, &first, 600.0).unwrap_err().to_string().contains("the same in both")
    );
    assert!(share_for_temperature(&first, &second, f64::NAN).is_err());
}

#[cfg(feature = "serde")]
#[test]
fn a_range_without_limits_comes_back_from_json() {
    let mut with = parameters_1(1.0);
    with.range = Range::UNLIMITED;
    let text = serde_json::to_string(&with).unwrap();
    assert_eq!(serde_json::from_str::<Procedure1>(&text).unwrap(), with);
}

/// By hand, G 800 → 1000, T 25 → 35: step = 1.2·0.25 + 0.001·10 = 0.31 A.
/// (0, 1.2): I2 = 1.51; V2 = −0.05·0.31 − 0.001·1.51·10 − 0.002·10 = −0.0155 − 0.0151 − 0.02 = −0.0506.
/// (0.5, 0.2): I2 = 0.51; V2 = 0.5 − 0.0155 − 0.0051 − 0.02 = 0.4594.
#[test]
fn procedure_1_by_hand() {
    let result = procedure_1(&ramp(), &target(1000.0, 35.0), &parameters_1(0.0)).unwrap();
    for (k, v, i) in [(2, -0.0506, 1.51), (12, 0.4594, 0.51)] {
        assert_relative_eq!(result.sweep.voltage_v()[k], v, epsilon = 1e-9);
        assert_relative_eq!(result.sweep.current_a()[k], i, epsilon = 1e-9);
    }
    let options = result.sweep.options();
    assert_eq!((options.temperature_c, options.irradiance_w_m2.as_ref().unwrap().value), (35.0, 1000.0));
    let change = result.sweep.changes().last().unwrap();
    assert!(change.what.contains("procedure 1") && change.what.contains("800 W/m²"), "{change:?}");
    assert!(result.warnings.is_empty());
    // Exact parameters leave what the sweep itself says of Isc.
    assert!(result.effects().all(|e| e.name == "isc"));
}

/// By hand, G 800 → 1000, T 25 → 35: factor = 1.01·1.25 = 1.2625; shift = 0.6·(−0.04 + 0.05·ln 1.25) = −0.0173056934.
/// (0, 1.2): I2 = 1.515; V2 = −0.0173056934 − 0.05·0.315 − 0.001·1.515·10 = −0.0482056934.
/// (0.5, 0.2): I2 = 0.2525; V2 = 0.5 − 0.0173056934 − 0.05·0.0525 − 0.002525 = 0.4775443066.
#[test]
fn procedure_2_by_hand() {
    let result = procedure_2(&ramp(), &target(1000.0, 35.0), &parameters_2(0.0)).unwrap();
    for (k, v, i) in [(2, -0.0482056934, 1.515), (12, 0.4775443066, 0.2525)] {
        assert_relative_eq!(result.sweep.voltage_v()[k], v, epsilon = 1e-9);
        assert_relative_eq!(result.sweep.current_a()[k], i, epsilon = 1e-9);
    }
}

/// There and back at one temperature: exact where the curve is flat at V = 0, so that the Isc that is read again
/// is the one that was made. On the ramp it is not: V2 = V1 − 0.05·0.3 makes I2 = 1.5 − 2·(V2 + 0.015), so that
/// Isc2 = 1.47 A and the step back is 1.47·(800/1000 − 1) = −0.294 A after one of 0.3 A.
#[test]
fn procedure_1_comes_back_exactly() {
    let there = procedure_1(&ramp(), &target(1000.0, 25.0), &parameters_1(0.0)).unwrap().sweep;
    let back = procedure_1(&there, &target(800.0, 25.0), &parameters_1(0.0)).unwrap().sweep;
    assert_relative_eq!(there.current_a()[2], 1.5, epsilon = 1e-9);
    assert_relative_eq!(back.current_a()[2], 1.206, epsilon = 1e-9);
    let flat = |k: i32| if k < 12 { 1.0 } else { 1.0 - 0.25 * f64::from(k - 11) };
    let v: Vec<f64> = (0..18).map(|k| f64::from(k - 4) * 0.05).collect();
    let i: Vec<f64> = (0..18).map(flat).collect();
    let start = Sweep::new(&v, &i, options(800.0, 0.0, 25.0)).unwrap();
    let there = procedure_1(&start, &target(1000.0, 25.0), &parameters_1(0.0)).unwrap().sweep;
    let back = procedure_1(&there, &target(800.0, 25.0), &parameters_1(0.0)).unwrap().sweep;
    for k in 0..v.len() {
        // The Isc that the way back starts from is estimated: of a curve with a sharp bend to some 1e-3.
        assert_relative_eq!(back.voltage_v()[k], v[k], epsilon = 2e-3);
        assert_relative_eq!(back.current_a()[k], i[k], epsilon = 2e-3);
    }
    assert_eq!(back.changes().len(), 2);
}

/// Truth: the model itself at 900 W/m². With a constant Rsh the pairs are exact but for gsh·Rs; with Rsh
/// proportional to 1/G the interpolation is of two different shunts.
#[test]
fn procedure_3_between_simulated_sweeps() {
    for (follows, allowed) in [(false, 1e-4), (true, 1e-3)] {
        let (low, high) = (dense(800.0, 25.0, follows), dense(1000.0, 25.0, follows));
        let result = procedure_3(&low, &high, 0.5, 1.0).unwrap();
        let off = pmax(&result.sweep) / pmax_of(900.0, 25.0, follows) - 1.0;
        println!("procedure 3, shunt follows light {follows}: Pmax off by {:.5} %", 100.0 * off);
        assert!(off.abs() < allowed, "{off}");
        assert_eq!(result.sweep.options().irradiance_w_m2.as_ref().unwrap().value, 900.0);
    }
    // Both condition axes at once, and beyond the second sweep.
    let result = procedure_3(&dense(800.0, 25.0, false), &dense(900.0, 25.0, false), 2.0, 1.0).unwrap();
    assert!(
        result.warnings.iter().any(|w| matches!(w, Warning::Extrapolated { .. })),
        "{:?}",
        result.warnings
    );
    assert_relative_eq!(pmax(&result.sweep), pmax_of(1000.0, 25.0, false), max_relative = 1e-3);
}

/// 30 points with 0.5 % of noise on each sweep: the mean over many runs shows what pairing through noise costs,
/// the ± of Pmax must hold the truth.
#[test]
fn procedure_3_through_noise() {
    let (truth, runs) = (pmax_of(900.0, 25.0, false), 300);
    let (mut sum, mut held) = (0.0, 0);
    for run in 0..runs {
        let at = |g: f64, seed: u64| {
            let model = cell().at(&condition(g, 25.0, false)).unwrap();
            measured(&model, 30, 0.005 * g / 1000.0, options(g, 0.0, 25.0), seed)
        };
        let result = procedure_3(&at(800.0, 2 * run + 1), &at(1000.0, 2 * run + 2), 0.5, 1.0).unwrap();
        assert!(result.sweep.len() >= 26, "{} points left", result.sweep.len());
        let found = result.key_points().pmax.unwrap();
        sum += found.value / truth - 1.0;
        let interval = found.interval(0.95);
        held += u32::from(interval.low.unwrap() <= truth && truth <= interval.high.unwrap());
    }
    let bias = sum / runs as f64;
    println!(
        "procedure 3, 30 noisy points: mean Pmax off by {:.3} %, 95 % held {held} of {runs}",
        100.0 * bias
    );
    assert!(bias.abs() < 2e-3, "{bias}");
    assert!(held > 264, "{held} of {runs}");
}

#[test]
fn series_resistance_and_irradiance_factor_bring_curves_together() {
    for (follows, allowed_1, allowed_2) in [(false, 1e-4, 2e-3), (true, 1e-3, 3e-4)] {
        let set: Vec<Sweep> = [400.0, 600.0, 800.0, 1000.0].map(|g| dense(g, 25.0, follows)).into();
        let rs = series_resistance(&set).unwrap();
        let relative = relative_series_resistance(&set).unwrap();
        let (a, range) = irradiance_factor(&set, 600.0).unwrap();
        let zero = |unit| Estimate::new(0.0, 0.0, unit);
        let one = Procedure1 {
            alpha: zero(Unit::AmperePerKelvin),
            beta: zero(Unit::VoltPerKelvin),
            rs: rs.clone(),
            kappa: zero(Unit::OhmPerKelvin),
            range,
        };
        let two = Procedure2 {
            alpha_rel: zero(Unit::PerKelvin),
            beta_rel: zero(Unit::PerKelvin),
            a: a.clone(),
            rs: relative.clone(),
            kappa: zero(Unit::OhmPerKelvin),
            range,
        };
        let truth = pmax_of(1000.0, 25.0, follows);
        let by_1 = procedure_1(&set[1], &target(1000.0, 25.0), &one).unwrap();
        let by_2 = procedure_2(&set[1], &target(1000.0, 25.0), &two).unwrap();
        let (off_1, off_2) = (pmax(&by_1.sweep) / truth - 1.0, pmax(&by_2.sweep) / truth - 1.0);
        println!(
            "shunt follows light {follows}: Rs {} ± {:?}, R's {} ± {:?}, a {} ± {:?}; 600 to 1000 W/m²: Pmax off by {:.4} % and {:.4} %",
            rs.value,
            rs.u,
            relative.value,
            relative.u,
            a.value,
            a.u,
            100.0 * off_1,
            100.0 * off_2
        );
        // What the form of a procedure cannot hold: procedure 2 multiplies a constant shunt's current by the light.
        assert!(off_1.abs() < allowed_1 && off_2.abs() < allowed_2, "{off_1} {off_2}");
        assert_eq!((rs.dof, rs.unit, by_1.warnings.len()), (2.0, Unit::Ohm, 0));
        if !follows {
            // At 0.5 Ω of slope Isc, which is short of Iph by Rs/Rsh, stands for 1 % of Rs.
            assert_relative_eq!(rs.value, 0.04, max_relative = 0.015);
        } else {
            assert_relative_eq!(relative.value, 0.04, max_relative = 0.015);
        }
    }
}

/// Noisy sets: Rs ± its Student interval holds the truth about as often as it says.
#[test]
fn intervals_of_the_series_resistance_cover() {
    let (mut held, runs) = (0, 200);
    for run in 0..runs {
        let sweep = |n: u64| {
            let g = 400.0 + 150.0 * n as f64;
            let model = cell().at(&condition(g, 25.0, false)).unwrap();
            measured(&model, 60, 0.002, options(g, 0.0, 25.0), 1 + run * 10 + n)
        };
        let set: Vec<Sweep> = (0..5).map(sweep).collect();
        let interval = series_resistance(&set).unwrap().interval(0.95);
        held += u64::from(interval.low.unwrap() <= 0.04 && interval.high.unwrap() >= 0.04);
    }
    println!("95 % interval of Rs: {held} of {runs}");
    assert!((176..=200).contains(&held), "{held} of {runs}");
}

/// α = 5e-4·Iph/K by construction of the model; β and κ judged by what they do to a curve: 60 °C brought to 25 °C.
#[test]
fn temperature_coefficients_and_curve_correction() {
    let set: Vec<Sweep> = [25.0, 35.0, 45.0, 60.0].map(|t| dense(1000.0, t, false)).into();
    let at = temperature_coefficients(&set, 60.0).unwrap();
    assert_relative_eq!(at.alpha.value, 5e-4, max_relative = 2e-3);
    assert_relative_eq!(at.alpha_rel.value, 5e-4 / (1.0 + 35.0 * 5e-4), max_relative = 2e-3);
    assert!(at.beta.value < -0.0015 && at.beta.value > -0.0025, "{:?}", at.beta);
    let rs = Estimate::new(0.04, 0.001, Unit::Ohm);
    let kappa = curve_correction(&set, &at.beta, &rs).unwrap();
    let kappa_2 = relative_curve_correction(&set, &rs).unwrap();
    let zero = Estimate::new(0.0, 0.0, Unit::One);
    let (alpha, beta) = (at.alpha.clone(), at.beta.clone());
    let one = Procedure1 { alpha, beta, rs: rs.clone(), kappa: kappa.clone(), range: at.range };
    let (alpha_rel, beta_rel) = (at.alpha_rel.clone(), at.beta_rel.clone());
    let two = Procedure2 { alpha_rel, beta_rel, a: zero, rs, kappa: kappa_2.clone(), range: at.range };
    let truth = pmax_of(1000.0, 25.0, false);
    let off_1 = pmax(&procedure_1(&set[3], &target(1000.0, 25.0), &one).unwrap().sweep) / truth - 1.0;
    let off_2 = pmax(&procedure_2(&set[3], &target(1000.0, 25.0), &two).unwrap().sweep) / truth - 1.0;
    println!(
        "kappa {} ± {:?}, kappa' {} ± {:?}; 60 to 25 °C: Pmax off by {:.4} % and {:.4} %",
        kappa.value,
        kappa.u,
        kappa_2.value,
        kappa_2.u,
        100.0 * off_1,
        100.0 * off_2
    );
    assert!(off_1.abs() < 2e-3 && off_2.abs() < 2e-3, "{off_1} {off_2}");
}

fn deviation(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    (values.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / (values.len() - 1) as f64).sqrt()
}

fn drawn(estimate: &Estimate, random: &mut Rng) -> Estimate {
    let u = estimate.u.unwrap();
    Estimate::new(estimate.value + u * random.normal(), 0.0, estimate.unit)
}

/// One sweep with the irradiance drawn from its uncertainty.
fn redrawn(sweep: &Sweep, random: &mut Rng) -> Sweep {
    let light = drawn(sweep.options().irradiance_w_m2.as_ref().unwrap(), random);
    let with = sweep.options().clone().irradiance_w_m2(light);
    Sweep::new(sweep.voltage_v(), sweep.current_a(), with).unwrap()
}

/// The points alone.
fn without_effects(sweep: &Sweep) -> Sweep {
    let with = sweep.options().clone().effects(Vec::new());
    Sweep::new(sweep.voltage_v(), sweep.current_a(), with).unwrap()
}

/// Against drawn translations: the ± of two points and of Pmax, the covariance of V and I.
fn agrees_with_draws(result: &Translated, draws: &[Sweep]) {
    let points = [result.sweep.len() / 10, result.sweep.len() * 3 / 4];
    for k in points {
        let i: Vec<f64> = draws.iter().map(|s| s.current_a()[k]).collect();
        let v: Vec<f64> = draws.iter().map(|s| s.voltage_v()[k]).collect();
        assert_relative_eq!(result.u_current_a()[k], deviation(&i), max_relative = 0.1);
        assert_relative_eq!(result.u_voltage_v()[k], deviation(&v), max_relative = 0.1);
        // Var(V + I) − Var(V) − Var(I) = 2·Cov, with I in units that make both alike.
        let sum: Vec<f64> = i.iter().zip(&v).map(|(i, v)| i + v).collect();
        let c = result.covariance(k, k).unwrap();
        let by_covariance = (c[0][0] + 2.0 * c[0][1] + c[1][1]).sqrt();
        assert_relative_eq!(by_covariance, deviation(&sum), max_relative = 0.1);
    }
    let powers: Vec<f64> = draws.iter().map(pmax).collect();
    let u = result.key_points().pmax.unwrap().u.unwrap();
    let scatter = key_points(&without_effects(&result.sweep)).pmax.unwrap().u.unwrap();
    let added = (u * u - scatter * scatter).sqrt();
    println!("u(Pmax) {added} against {} drawn", deviation(&powers));
    assert_relative_eq!(added, deviation(&powers), max_relative = 0.1);
}

#[test]
fn uncertainties_agree_with_monte_carlo() {
    let model = cell().at(&condition(800.0, 45.0, false)).unwrap();
    let sweep = measured(&model, 60, 0.0, options(800.0, 8.0, 45.0), 0);
    let to = target(1000.0, 25.0);
    let mut random = Rng(7);
    let p = parameters_1(1.0);
    let draws: Vec<Sweep> = (0..2000)
        .map(|_| {
            let with = Procedure1 {
                alpha: drawn(&p.alpha, &mut random),
                beta: drawn(&p.beta, &mut random),
                rs: drawn(&p.rs, &mut random),
                kappa: drawn(&p.kappa, &mut random),
                range: p.range,
            };
            procedure_1(&redrawn(&sweep, &mut random), &to, &with).unwrap().sweep
        })
        .collect();
    agrees_with_draws(&procedure_1(&sweep, &to, &p).unwrap(), &draws);
    let p = parameters_2(1.0);
    let draws: Vec<Sweep> = (0..2000)
        .map(|_| {
            let with = Procedure2 {
                alpha_rel: drawn(&p.alpha_rel, &mut random),
                beta_rel: drawn(&p.beta_rel, &mut random),
                a: drawn(&p.a, &mut random),
                rs: drawn(&p.rs, &mut random),
                kappa: drawn(&p.kappa, &mut random),
                range: p.range,
            };
            procedure_2(&redrawn(&sweep, &mut random), &to, &with).unwrap().sweep
        })
        .collect();
    agrees_with_draws(&procedure_2(&sweep, &to, &p).unwrap(), &draws);
}

/// Isc1 comes from the readings that it moves: the scatter of both adds up with its sign, to more light and to less.
/// Spread of simulated sweeps against the mean stated u.
#[test]
fn scatter_of_the_readings_enters_isc_once() {
    for (from, to) in [(500.0, 1000.0), (1000.0, 600.0)] {
        let model = cell().at(&condition(from, 25.0, false)).unwrap();
        let noise_a = 2e-3 * from / 1000.0;
        let noise = Noise::default().current_a(noise_a);
        let with = options(from, 0.0, 25.0).noise(noise);
        let found: Vec<Estimate> = (0..600)
            .map(|seed| {
                let sweep = measured(&model, 40, noise_a, with.clone(), seed);
                let moved = procedure_1(&sweep, &target(to, 25.0), &parameters_1(0.0)).unwrap();
                moved.key_points().isc.expect("Isc")
            })
            .collect();
        let values: Vec<f64> = found.iter().map(|isc| isc.value).collect();
        let u = found.iter().map(|isc| isc.u.unwrap()).sum::<f64>() / found.len() as f64;
        println!("{from} to {to}: spread {:.3e}, u {u:.3e}", deviation(&values));
        assert_relative_eq!(u, deviation(&values), max_relative = 0.1);
    }
}

/// A gain of the ammeter multiplies Isc2 as it does Isc1: 1 % stays 1 %.
#[test]
fn a_gain_stays_the_share_that_it_is() {
    let model = cell().at(&condition(500.0, 25.0, false)).unwrap();
    let noise = Noise::default().current_a(1e-7).current_gain_u(0.01);
    let sweep = measured(&model, 60, 0.0, options(500.0, 0.0, 25.0).noise(noise), 0);
    let isc =
        procedure_1(&sweep, &target(1000.0, 25.0), &parameters_1(0.0)).unwrap().key_points().isc.unwrap();
    assert_relative_eq!(isc.u.unwrap() / isc.value, 0.01, max_relative = 0.01);
}

/// Procedure 3 to a fixed G3 = 900: each draw of both irradiances asks for its own c.
#[test]
fn uncertainty_of_procedure_3_agrees_with_monte_carlo() {
    let at = |g: f64| {
        let model = cell().at(&condition(g, 25.0, false)).unwrap();
        measured(&model, 101, 0.0, options(g, 0.005 * g, 25.0), 0)
    };
    let (one, two) = (at(800.0), at(1000.0));
    let spread = |k: usize| {
        let correlation = [0.0, 0.6, 1.0f64][k];
        let mut random = Rng(11);
        let draws: Vec<f64> = (0..1000)
            .map(|_| {
                let (x, y) = (random.normal(), random.normal());
                let y = correlation * x + (1.0 - correlation * correlation).sqrt() * y;
                let (g1, g2) = (800.0 + 4.0 * x, 1000.0 + 5.0 * y);
                pmax(&procedure_3(&one, &two, (900.0 - g1) / (g2 - g1), 0.0).unwrap().sweep)
            })
            .collect();
        let result = procedure_3(&one, &two, 0.5, correlation).unwrap();
        let (u, u_plain) = (
            result.key_points().pmax.unwrap().u.unwrap(),
            key_points(&without_effects(&result.sweep)).pmax.unwrap().u.unwrap(),
        );
        (correlation, (u * u - u_plain * u_plain).sqrt(), deviation(&draws))
    };
    for (correlation, added, drawn) in rows(3, None, spread, |_| true).unwrap() {
        println!("procedure 3, r = {correlation}: u(Pmax) {added} against {drawn} drawn");
        assert_relative_eq!(added, drawn, max_relative = 0.1);
    }
}

/// Spread of a figure over simulated sweeps against the root mean square of its u, and the share of intervals that hold.
fn u_over_spread(found: &[Estimate], truth: f64) -> (f64, f64) {
    let values: Vec<f64> = found.iter().map(|e| e.value).collect();
    let u = (found.iter().map(|e| e.u.unwrap().powi(2)).sum::<f64>() / found.len() as f64).sqrt();
    let holds = |e: &&Estimate| {
        let interval = e.interval(0.95);
        interval.low.unwrap() <= truth && truth <= interval.high.unwrap()
    };
    (u / deviation(&values), found.iter().filter(holds).count() as f64 / found.len() as f64)
}

/// The scatter of a current moves the voltage of its point through κ′·I2·ΔT: at open circuit, where the correction
/// itself is 0, nothing is left of it. Spread over simulated sweeps.
#[test]
fn procedure_2_far_from_the_measured_temperature() {
    for stated in [true, false] {
        let noise = stated.then(|| Noise::default().current_a(5e-3));
        let with = options(1000.0, 0.0, 25.0).noise(noise);
        let exact = Procedure2 { kappa: Estimate::new(0.001, 0.0, Unit::OhmPerKelvin), ..parameters_2(0.0) };
        for figure in ["voc", "pmax", "ff"] {
            let found: Vec<Estimate> = (0..300)
                .map(|seed| {
                    let sweep = measured(&cell(), 40, 5e-3, with.clone(), seed);
                    let moved = procedure_2(&sweep, &target(1000.0, 65.0), &exact).unwrap();
                    moved.key_points().get(figure).unwrap().clone()
                })
                .collect();
            let (ratio, _) = u_over_spread(&found, 0.0);
            println!("procedure 2 to 65 °C, stated {stated}: u/spread of {figure} {ratio:.3}");
            // The spread of 300 is known to 4 %.
            assert!((0.85..1.15).contains(&ratio), "{figure}: {ratio}");
        }
    }
}

/// Beyond both sweeps each point carries (1 − c) times one scatter and c times the other.
#[test]
fn procedure_3_beyond_both_sweeps() {
    for (c, stated) in [(-2.0, true), (-1.0, false), (2.0, true), (3.0, false)] {
        let at = |g: f64, seed: u64| {
            let noise = stated.then(|| Noise::default().current_a(4e-3));
            let with = options(g, 0.0, 25.0).noise(noise);
            measured(&cell().at(&condition(g, 25.0, false)).unwrap(), 30, 4e-3, with, seed)
        };
        let truth = cell().at(&condition(700.0 + 100.0 * c, 25.0, false)).unwrap().key_points();
        let results: Vec<_> = (0..200)
            .map(|run| {
                procedure_3(&at(700.0, 2 * run + 1), &at(800.0, 2 * run + 2), c, 0.0).unwrap().key_points()
            })
            .collect();
        for figure in ["isc", "voc", "pmax", "ff"] {
            let found: Vec<Estimate> = results.iter().filter_map(|p| p.get(figure).cloned()).collect();
            let (ratio, held) = u_over_spread(&found, truth.get(figure).unwrap().value);
            println!(
                "procedure 3, c = {c}, stated {stated}: u/spread of {figure} {ratio:.3}, held {held:.3}"
            );
            assert_eq!(found.len(), 200, "{figure} at c = {c}");
            // The spread of 200 is known to 5 %, and u of Isc is 0.9 of its spread in the measured sweeps already; pairs
            // that scatter chose gave 0.1 to 0.4 and 2 to 9.
            assert!((0.75..1.25).contains(&ratio), "{figure} at c = {c}: {ratio}");
            // 95 % with three and a half standard deviations of 200.
            assert!((0.895..=1.0).contains(&held), "{figure} at c = {c}: {held}");
        }
    }
}

/// What the translation made uncertain stays with the sweep: its own key points hold η in 95 of 100 draws of the light and
/// of the parameters, and they survive storage.
#[test]
fn a_translated_sweep_remembers() {
    let model = cell().at(&condition(800.0, 25.0, false)).unwrap();
    let (to, p) = (target(1000.0, 25.0), parameters_1(1.0));
    let truth = |area: f64| pmax_of(1000.0, 25.0, false) / (area * 1e-4 * 1000.0);
    let mut held = 0;
    for seed in 0..300 {
        let mut random = Rng(900 + seed);
        // The cell was in 800 W/m²; what the reference device read is off by 1 %.
        let read = 800.0 * (1.0 + 0.01 * random.normal());
        let area_cm2 = Some(Estimate::new(50.0, 0.0, Unit::Cm2));
        let with = options(read, 8.0, 25.0).area_cm2(area_cm2);
        let sweep = measured(&model, 30, 0.002, with, seed);
        let rs = Estimate::new(0.04 + 0.01 * random.normal(), 0.01, Unit::Ohm);
        let moved = procedure_1(&sweep, &to, &Procedure1 { rs, ..p.clone() }).unwrap();
        let points = key_points(&moved.sweep);
        assert_eq!(points, moved.key_points());
        let eta = points.efficiency.clone().expect("area and light are known");
        // Chance makes the scatter of one sweep in some hundred look correlated, which is said.
        assert!(eta.note().is_none_or(|note| note.contains("correlated")), "{:?}", eta.notes);
        let interval = eta.interval(0.95);
        held += u32::from(interval.low.unwrap() <= truth(50.0) && truth(50.0) <= interval.high.unwrap());
        #[cfg(feature = "serde")]
        if seed == 0 {
            let text = serde_json::to_string(&moved.sweep).unwrap();
            assert_eq!(key_points(&serde_json::from_str::<Sweep>(&text).unwrap()), points);
        }
    }
    println!("η of translated sweeps: held {held} of 300");
    assert!((272..=298).contains(&held), "{held}");
}

/// There and back at one temperature: 1 % of irradiance is 1 % of Isc on the way, and again at the end.
#[test]
fn effects_go_through_a_second_translation() {
    let model = cell().at(&condition(800.0, 25.0, false)).unwrap();
    let noise = Noise::default().current_a(1e-3);
    let sweep = measured(&model, 40, 1e-3, options(800.0, 8.0, 25.0).noise(noise), 1);
    let there = procedure_1(&sweep, &target(1000.0, 25.0), &parameters_1(0.0)).unwrap();
    let back = procedure_1(&there.sweep, &target(800.0, 25.0), &parameters_1(0.0)).unwrap();
    let scatter = key_points(&sweep).isc.unwrap().relative_u().unwrap();
    for (name, points) in [("there", there.key_points()), ("back", back.key_points())] {
        let isc = points.isc.unwrap();
        println!("{name}: u(Isc)/Isc {:?}, from scatter {scatter}", isc.relative_u());
        assert_relative_eq!(isc.relative_u().unwrap(), 0.01f64.hypot(scatter), max_relative = 0.03);
    }
    let between = procedure_3(&there.sweep, &back.sweep, 0.5, 0.0).unwrap();
    assert!(between.effects().any(|e| e.name.contains("irradiance_w_m2 (own sweep)")));
    // Effects of another length are named.
    let short = Effect::new("lamp", Reach::Common, vec![0.0; 3], vec![0.0; 3]);
    let with = options(800.0, 0.0, 25.0).effects(vec![short]);
    let why = Sweep::new(sweep.voltage_v(), sweep.current_a(), with).unwrap_err().to_string();
    assert!(why.contains("effects: voltage_v"), "{why}");
}

#[test]
fn warnings_name_what_is_outside() {
    let range = Range { irradiance_w_m2: (700.0, 1100.0), temperature_c: (20.0, 30.0) };
    let with = Procedure1 { range, ..parameters_1(1.0) };
    let result = procedure_1(&ramp(), &target(500.0, 50.0), &with).unwrap();
    assert_eq!(result.warnings.len(), 2, "{:?}", result.warnings);
    assert!(result.warnings[0].to_string().contains("irradiance of 500 W/m²"), "{:?}", result.warnings);
    assert!(result.warnings[1].to_string().contains("temperature of 50 °C"), "{:?}", result.warnings);
    assert!(procedure_1(&ramp(), &target(1000.0, 30.0), &with).unwrap().warnings.is_empty());
    let with = Procedure2 { range, ..parameters_2(1.0) };
    assert_eq!(procedure_2(&ramp(), &target(500.0, 25.0), &with).unwrap().warnings.len(), 1);
    let without = Estimate::without_u(0.05, Unit::Ohm, "a guess");
    let with = Procedure1 { rs: without, ..parameters_1(1.0) };
    let warnings = procedure_1(&ramp(), &target(1000.0, 25.0), &with).unwrap().warnings;
    assert!(warnings[0].to_string().contains("rs has no uncertainty"), "{warnings:?}");
}

#[test]
fn errors_say_what_is_missing() {
    let dark = Sweep::new(ramp().voltage_v(), ramp().current_a(), as_given(25.0, 1)).unwrap();
    let to = target(1000.0, 25.0);
    let error = procedure_1(&dark, &to, &parameters_1(0.0)).unwrap_err();
    assert_eq!(error, TranslateError::NoIrradiance { index: 0 });
    assert!(matches!(procedure_3(&ramp(), &dark, 0.5, 0.0), Err(TranslateError::NoIrradiance { index: 1 })));
    let relative = Estimate::new(0.0005, 0.0, Unit::PerKelvin);
    let error = procedure_1(&ramp(), &to, &Procedure1 { alpha: relative, ..parameters_1(0.0) }).unwrap_err();
    assert_eq!(error.to_string(), "alpha is given in 1/K, and A/K is needed: convert it");
    for bad in [target(0.0, 25.0), target(f64::NAN, 25.0), target(1000.0, -300.0)] {
        assert!(matches!(procedure_2(&ramp(), &bad, &parameters_2(0.0)), Err(TranslateError::Number { .. })));
    }
    let short = Sweep::new(&[0.3, 0.4, 0.5], &[0.6, 0.4, 0.2], options(800.0, 0.0, 25.0)).unwrap();
    assert!(matches!(
        procedure_1(&short, &to, &parameters_1(0.0)),
        Err(TranslateError::KeyPoint { figure: "isc", .. })
    ));
    let once = [ramp(), ramp()];
    assert!(matches!(
        series_resistance(&once),
        Err(TranslateError::TooFew { what: "irradiances", given: 1, needed: 2 })
    ));
    assert!(matches!(temperature_coefficients(&once, 25.0), Err(TranslateError::TooFew { .. })));
    assert!(matches!(series_resistance(&[]), Err(TranslateError::TooFew { given: 0, .. })));
    let mixed = [dense(600.0, 25.0, false), dense(1000.0, 45.0, false)];
    assert!(matches!(series_resistance(&mixed), Err(TranslateError::Mixed { what: "temperature_c", .. })));
    assert!(matches!(
        temperature_coefficients(&mixed, 25.0),
        Err(TranslateError::Mixed { what: "irradiance_w_m2", .. })
    ));
    let drift = [dense(1000.0, 25.0, false), dense(1003.0, 25.4, false)];
    assert!(matches!(series_resistance(&drift), Err(TranslateError::TooFew { given: 1, .. })));
    assert!(matches!(temperature_coefficients(&drift, 25.0), Err(TranslateError::TooFew { given: 1, .. })));
    let pair = [dense(600.0, 25.0, false), dense(1000.0, 25.0, false)];
    let rs = series_resistance(&pair).unwrap();
    assert!(rs.u.is_none() && rs.note().unwrap().contains("third"));
}

/// S-shaped, noisy, short, upside-down curves: a result without a NaN, or an error.
#[test]
fn broken_sweeps_never_panic() {
    let mut random = Rng(3);
    let (mut results, mut powers, mut found) = (0, 0, 0);
    for run in 0..400 {
        let points = 2 + (random.next() % 30) as usize;
        let mut sweep = |g: f64, t: f64| {
            let (isc, noise) = (random.decades(1e-6, 10.0), random.decades(1e-6, 1.0));
            let bend = random.between(0.02, 0.2);
            let v: Vec<f64> = (0..points).map(|_| random.between(-0.3, 0.9)).collect();
            let i: Vec<f64> = v
                .iter()
                .map(|v| {
                    let kink = if run % 2 == 0 { 0.4 * (1.0 + ((v - 0.3) / 0.05).tanh()) } else { 0.0 };
                    let diode = ((v - 0.6) / bend).exp();
                    isc * (1.0 - kink - diode + noise * random.normal())
                })
                .collect();
            Sweep::new(&v, &i, options(g, 0.01 * g, t))
        };
        let (Ok(one), Ok(two), Ok(three)) = (sweep(600.0, 25.0), sweep(1000.0, 27.0), sweep(1000.0, 60.0))
        else {
            continue;
        };
        let translated = [
            procedure_1(&one, &target(1000.0, 40.0), &parameters_1(1.0)),
            procedure_2(&one, &target(1000.0, 40.0), &parameters_2(1.0)),
            procedure_3(&one, &two, random.between(-0.5, 1.5), 0.5),
        ];
        for result in translated.into_iter().flatten() {
            results += 1;
            let all = [result.u_current_a(), result.u_voltage_v()].concat();
            assert!(all.iter().all(|u| u.is_finite()));
            if let Some(pmax) = result.key_points().pmax {
                assert!(pmax.value.is_finite() && pmax.u.is_none_or(f64::is_finite));
                powers += 1;
            }
        }
        let (set, warm) = ([one, two.clone()], [two, three]);
        let (beta, rs) = (parameters_1(1.0).beta, parameters_1(1.0).rs);
        let estimates = [
            series_resistance(&set),
            relative_series_resistance(&set),
            irradiance_factor(&set, 600.0).map(|a| a.0),
            temperature_coefficients(&warm, 25.0).map(|c| c.beta),
            curve_correction(&warm, &beta, &rs),
            relative_curve_correction(&warm, &rs),
        ];
        assert!(estimates.iter().flatten().all(|e| e.value.is_finite()));
        found += estimates.iter().flatten().count();
    }
    println!("{results} translations, {powers} with Pmax, {found} parameters");
    assert!(results > 700 && powers >= 400 && found >= 1000, "{results} {powers} {found}");
}
