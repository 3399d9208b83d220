//! Each fault of the simulated instrument, recovered from its sweeps without a look at how it is made.

#![cfg(feature = "simulate")]

use approx::assert_relative_eq;
use litdiode::diode::{Condition, DoubleDiode, Parameters, SaturationLaw, SingleDiode};
use litdiode::estimate::{Estimate, Unit};
use litdiode::fit::{Options, Parameter, fit_single_diode};
use litdiode::key_points::KeyPoints;
use litdiode::simulate::{Instrument, SimulationError, simulate_sweep};
use litdiode::sweep::{Change, Effect, Leads, Noise, Reach, Sign, Sweep, SweepOptions, Swept};

fn cell() -> SingleDiode {
    SingleDiode::new(Parameters {
        iph_a: 0.030,
        i0_a: [2e-9],
        n: [1.45],
        rs_ohm: 1.0,
        rsh_ohm: 800.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap()
}

fn take(instrument: &Instrument, seed: u64) -> Sweep {
    simulate_sweep(&cell(), instrument, seed).unwrap()
}

/// Reading less model at the reading's own voltage.
fn residuals(sweep: &Sweep) -> Vec<f64> {
    let mut model = vec![0.0; sweep.len()];
    cell().current(sweep.voltage_v(), &mut model).unwrap();
    sweep.current_a().iter().zip(&model).map(|(a, m)| a - m).collect()
}

fn mean(x: &[f64]) -> f64 {
    x.iter().sum::<f64>() / x.len() as f64
}

fn spread(x: &[f64]) -> f64 {
    let m = mean(x);
    (x.iter().map(|x| (x - m).powi(2)).sum::<f64>() / (x.len() - 1) as f64).sqrt()
}

#[test]
fn without_faults_the_readings_are_the_model() {
    let sweep = take(&Instrument::default(), 1);
    assert!(residuals(&sweep).iter().all(|r| r.abs() < 1e-16));
    assert_eq!((sweep.len(), sweep.voltage_v()[0], sweep.voltage_v()[24]), (25, -0.1, 0.7));
}

/// 20,000 readings show their standard deviation to 0.5 %; four of that is the bar.
#[test]
fn noise_is_recovered() {
    let base = Instrument::default().points(20_000).stop(0.3);
    let current = take(&base.clone().noise_current_a(2e-5), 3);
    assert_relative_eq!(spread(&residuals(&current)), 2e-5, max_relative = 0.02);
    assert!(mean(&residuals(&current)).abs() < 4.0 * 2e-5 / 20_000f64.sqrt());
    let relative = take(&base.clone().noise_current_rel(0.01).stop(0.1), 4);
    assert_relative_eq!(spread(&residuals(&relative)), 0.01 * 0.030, max_relative = 0.02);
    let voltage = take(&base.noise_voltage_v(1e-3), 5);
    let set = |k: usize| -0.1 + 0.4 * k as f64 / 19_999.0;
    let off: Vec<f64> = voltage.voltage_v().iter().enumerate().map(|(k, v)| v - set(k)).collect();
    assert_relative_eq!(spread(&off), 1e-3, max_relative = 0.02);
}

#[test]
fn steps_are_recovered() {
    let sweep = take(&Instrument::default().current_step_a(1e-4).voltage_step_v(5e-3).points(400), 1);
    for (readings, step) in [(sweep.current_a(), 1e-4), (sweep.voltage_v(), 5e-3)] {
        assert!(readings.iter().all(|x| ((x / step) - (x / step).round()).abs() < 1e-9));
    }
    // The rounding error of a fine slope is even: step/√12.
    let fine = Instrument::default().current_step_a(1e-6).points(5000).start(0.3).stop(0.6);
    assert_relative_eq!(spread(&residuals(&take(&fine, 1))), 1e-6 / 12f64.sqrt(), max_relative = 0.03);
}

#[test]
fn offsets_are_recovered() {
    let flat = Instrument::default().stop(0.2).current_offset_a(-3e-4);
    assert_relative_eq!(mean(&residuals(&take(&flat, 1))), -3e-4, max_relative = 1e-9);
    let shifted = take(&Instrument::default().voltage_offset_v(0.004), 1);
    assert_relative_eq!(shifted.voltage_v()[24], 0.704, max_relative = 1e-12);
    // The current belongs to the voltage before the offset.
    assert_relative_eq!(
        shifted.current_a()[24],
        take(&Instrument::default(), 1).current_a()[24],
        max_relative = 1e-12
    );
}

/// Leads add to the series resistance that a fit finds, and to nothing else.
#[test]
fn lead_resistance_is_recovered() {
    let sweep = take(&Instrument::default().lead_resistance_ohm(0.35).stop(0.65), 1);
    let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
    assert_relative_eq!(fit.parameter(Parameter::Rs).unwrap().value, 1.35, max_relative = 1e-8);
    assert_relative_eq!(fit.parameter(Parameter::N).unwrap().value, 1.45, max_relative = 1e-8);
}

/// Far behind the knee the current falls by a steady slope, and a first-order lag trails it by slope·τ, with
/// the discrete steps' τ_eff = dwell·e/(1 − e), e = exp(−dwell/τ). Up and down part by twice that.
#[test]
fn lag_is_recovered_from_an_up_and_a_down_sweep() {
    let shunted = SingleDiode::new(Parameters { rsh_ohm: 20.0, ..*cell().parameters() }).unwrap();
    let base = Instrument::default().start(-0.5).stop(0.2).points(281).dwell_s(0.02).time_constant_s(0.15);
    let up = simulate_sweep(&shunted, &base, 1).unwrap();
    let down = simulate_sweep(&shunted, &base.start(0.2).stop(-0.5), 1).unwrap();
    let (k, slope) = (140, (1.0 / 21.0) * 0.7 / 280.0);
    assert_relative_eq!(up.voltage_v()[k], down.voltage_v()[280 - k], epsilon = 1e-12);
    let gap = up.current_a()[k] - down.current_a()[280 - k];
    // e/(1 − e) = gap/(2·slope per step) gives e, and e gives τ.
    let x = gap / (2.0 * slope);
    let tau = -0.02 / (x / (1.0 + x)).ln();
    assert_relative_eq!(tau, 0.15, max_relative = 1e-3);
    assert_relative_eq!(up.options().time_s.as_ref().unwrap()[9], 0.2, max_relative = 1e-12);
}

#[test]
fn a_current_stepped_instrument_and_its_limits() {
    let stepped = Instrument::default().swept(Swept::Current).start(0.029).stop(-0.02);
    let sweep = take(&stepped, 1);
    assert_relative_eq!(sweep.current_a()[24], -0.02, max_relative = 1e-12);
    assert!(residuals(&sweep).iter().all(|r| r.abs() < 1e-13));
    let limited = take(&Instrument::default().compliance_a(0.01).stop(0.8).start(0.5), 1);
    assert!(limited.current_a().iter().all(|i| i.abs() <= 0.01));
    assert!(residuals(&limited).iter().all(|r| r.abs() < 1e-13), "in compliance the voltage follows");
    let clipped = take(&stepped.compliance_v(0.55), 1);
    assert!(clipped.voltage_v().iter().all(|v| *v <= 0.55));
}

#[test]
fn the_seed_decides() {
    let noisy = Instrument::default().noise_current_a(1e-5);
    assert_eq!(take(&noisy, 9), take(&noisy, 9));
    assert_ne!(take(&noisy, 9).current_a(), take(&noisy, 10).current_a());
}

#[test]
fn bad_instruments_are_named() {
    let text = |i: Instrument| simulate_sweep(&cell(), &i, 1).unwrap_err().to_string();
    let base = Instrument::default;
    assert!(text(base().noise_current_a(-1.0)).starts_with("noise_current_a = -1"));
    assert!(text(base().points(1)).starts_with("points = 1"));
    assert!(text(base().stop(f64::NAN)).starts_with("stop = NaN"));
    let ideal = SingleDiode::new(Parameters { rsh_ohm: f64::INFINITY, ..*cell().parameters() }).unwrap();
    let beyond = base().swept(Swept::Current).start(0.0).stop(0.04);
    assert!(matches!(
        simulate_sweep(&ideal, &beyond, 1),
        Err(SimulationError::Unreachable { index: 19, .. })
    ));
}

/// At constant light dVoc/dT = −(Eg/q − Voc + γkT/q)/T with γ = 3, about −2 mV/K for silicon (M. A. Green, Solar Cells,
/// 1982, chapter 5; from memory): derived there for n = 1, and for any n with I0 ∝ n_i^(2/n); with two diodes as well, since
/// the voltage of each at its own constant current falls by as much.
#[test]
fn open_circuit_voltage_falls_with_temperature_by_as_much_at_any_ideality() {
    let ideal = Parameters { rs_ohm: 0.0, rsh_ohm: f64::INFINITY, ..*cell().parameters() };
    let kt = 0.025692579;
    let voc = |found: KeyPoints| found.voc.unwrap().value;
    let at = |t: f64| Condition::default().temperature_c(t);
    let check = |[cold, now, hot]: [f64; 3]| {
        assert_relative_eq!(hot - cold, -(1.12 - now + 3.0 * kt) / 298.15, max_relative = 1e-4);
    };
    for (n, i0) in [(1.0, 1e-11), (1.5, 1e-8), (2.0, 1e-7)] {
        let model = SingleDiode::new(Parameters { n: [n], i0_a: [i0], ..ideal }).unwrap();
        check([24.5, 25.0, 25.5].map(|t| voc(model.at(&at(t)).unwrap().key_points())));
    }
    let Parameters { iph_a, rs_ohm, rsh_ohm, cells, temperature_c, .. } = ideal;
    let (n, i0_a) = ([1.0, 2.0], [2e-12, 1e-7]);
    let both = Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c };
    let model = DoubleDiode::new(both).unwrap();
    check([24.5, 25.0, 25.5].map(|t| voc(model.at(&at(t)).unwrap().key_points())));
}

/// With I0 ∝ n_i² at every n the same derivation gives dVoc/dT = (Voc − n·(Eg/q + 3kT/q))/T.
#[test]
fn the_intrinsic_law_is_the_default_at_n_1_and_multiplies_by_n_otherwise() {
    let ideal = Parameters { rs_ohm: 0.0, rsh_ohm: f64::INFINITY, ..*cell().parameters() };
    let condition =
        |t: f64, saturation_law| Condition::default().temperature_c(t).saturation_law(saturation_law);
    let one = SingleDiode::new(Parameters { n: [1.0], i0_a: [1e-11], ..ideal }).unwrap();
    let laws = [SaturationLaw::Ideality, SaturationLaw::Intrinsic];
    let [a, b] = laws.map(|law| one.at(&condition(60.0, law)).unwrap());
    assert_eq!(a, b);
    let two = SingleDiode::new(Parameters { n: [2.0], i0_a: [1e-7], ..ideal }).unwrap();
    let voc = |t: f64| {
        let model = two.at(&condition(t, SaturationLaw::Intrinsic)).unwrap();
        model.key_points().voc.unwrap().value
    };
    let slope = (voc(25.0) - 2.0 * (1.12 + 3.0 * 0.025692579)) / 298.15;
    assert_relative_eq!(voc(25.5) - voc(24.5), slope, max_relative = 1e-4);
}

#[test]
fn light_scales_the_photocurrent_and_where_asked_the_shunt() {
    let half = Condition::default().irradiance_w_m2(500.0).shunt_follows_light(true);
    let model = cell().at(&half).unwrap();
    assert_eq!((model.parameters().iph_a, model.parameters().rsh_ohm), (0.015, 1600.0));
    let warm = Condition::default().temperature_c(35.0).isc_per_k(5e-4);
    assert_relative_eq!(cell().at(&warm).unwrap().parameters().iph_a, 0.030 * 1.005, max_relative = 1e-14);
    let error = cell().at(&Condition::default().irradiance_w_m2(-1.0)).unwrap_err();
    assert!(error.to_string().starts_with("irradiance_w_m2 = -1"));
    assert_eq!(cell().at(&Condition::default()).unwrap(), cell());
}

/// Each setter of an option moves the field of its name and no other.
#[test]
fn setters_move_one_field_each() {
    macro_rules! moves {
        ($type:ident: $($field:ident = $value:expr),+ $(,)?) => {
            $({
                let mut expected = $type::default();
                expected.$field = $value.into();
                assert_ne!(expected, $type::default(), "{}", stringify!($field));
                assert_eq!($type::default().$field($value), expected, "{}", stringify!($field));
            })+
        };
    }
    moves!(Noise: voltage_v = 1.0, current_a = 1.0, voltage_rel = 1.0, current_rel = 1.0, voltage_step_v = 1.0,
        current_step_a = 1.0, voltage_gain_u = 1.0, current_gain_u = 1.0, voltage_offset_u = 1.0,
        current_offset_u = 1.0, scatter_dof = 1.0);
    moves!(Instrument: swept = Swept::Current, start = 1.0, stop = 1.0, points = 7usize, noise_voltage_v = 1.0,
        noise_current_a = 1.0, noise_current_rel = 1.0, voltage_step_v = 1.0, current_step_a = 1.0,
        voltage_offset_v = 1.0, current_offset_a = 1.0, lead_resistance_ohm = 1.0, compliance_a = 1.0,
        compliance_v = 1.0, time_constant_s = 1.0, dwell_s = 1.0);
    moves!(Condition: irradiance_w_m2 = 1.0, temperature_c = Some(1.0), reference_irradiance_w_m2 = 1.0,
        isc_per_k = 1.0, gap_ev = 1.0, saturation_law = SaturationLaw::Intrinsic, shunt_follows_light = true);
    let area = || Estimate::new(4.0, 0.1, Unit::Cm2);
    let light = || Estimate::new(1000.0, 10.0, Unit::WattPerM2);
    let effect = || vec![Effect::new("a shift", Reach::Common, vec![0.0], vec![1.0])];
    moves!(SweepOptions: swept = Swept::Current, sign = Sign::Load, leads = Leads::Swapped, noise = Noise::default(),
        area_cm2 = area(), irradiance_w_m2 = light(), temperature_c = 33.0, cells = 36u32, time_s = vec![0.0],
        label = "a".to_owned(), changes = vec![Change::asked_for("turned", "as asked")], effects = effect());
}
