//! Extraction against published tables and against devices whose parameters are known.

use crate::support::{Rng, as_given, published};
use approx::assert_relative_eq;
use litdiode::diode::{Circuit, Junction, Parameters, SingleDiode, thermal_voltage_v};
use litdiode::fit::{
    Bounds, Descent, Figure, Fit, FitError, Note, Options, Parameter, Points, Problem, Residual, Residuals,
    Status, Wishes, fit_single_diode, minimise, unscaled_covariance,
};
use litdiode::key_points::KeyPoint;
use litdiode::quantity_format::sentences;
use litdiode::sweep::{Effect, Leads, Noise, Reach, Sign, Sweep, SweepOptions, Swept};

fn fit(sweep: &Sweep, residual: Residual) -> Fit<1> {
    fit_single_diode(sweep, &Options::default().residual(residual)).unwrap()
}

fn value(fit: &Fit<1>, parameter: Parameter) -> f64 {
    fit.parameter(parameter).unwrap().value
}

/// T. Easwarakhanthan et al., Int. J. Solar Energy 4 (1986) 1: the tables. The optima are those that many
/// papers print, recomputed with the 2019 SI constants.
#[test]
fn published_cell_and_module() {
    let cell = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let module = published("easwarakhanthan_1986_module.csv", 45.0, 36);
    for (sweep, residual, rms, expected) in [
        (&cell, Residual::Current, 7.73006269e-4, [0.76078797, 3.106846e-7, 1.477269, 0.0365469, 52.8898]),
        (&cell, Residual::Implicit, 9.86021878e-4, [0.76077553, 3.230208e-7, 1.481185, 0.0363771, 53.7185]),
        (&module, Residual::Current, 2.05296064e-3, [1.03143382, 2.638077e-6, 1.322174, 1.235634, 821.641]),
        (&module, Residual::Implicit, 2.42507487e-3, [1.03051430, 3.482263e-6, 1.351191, 1.201271, 981.982]),
    ] {
        let fit = fit(sweep, residual);
        assert_relative_eq!(fit.rms, rms, max_relative = 3e-9);
        for (name, expected) in Parameter::OF_ONE.into_iter().zip(expected) {
            assert_relative_eq!(value(&fit, name), expected, max_relative = 1e-5);
        }
        assert_eq!(fit.status, Status::Converged, "{:?}", fit.notes);
    }
}

/// Key points and standard errors of the current optimum, from the same recomputation.
#[test]
fn published_cell_figures_with_uncertainties() {
    let fit = fit(&published("easwarakhanthan_1986_cell.csv", 33.0, 1), Residual::Current);
    let points = fit.key_points();
    for (name, expected) in [
        ("isc", 0.7602623008),
        ("voc", 0.5727804046),
        ("v_pmax", 0.4506853151),
        ("i_pmax", 0.6893827928),
        ("pmax", 0.3106947012),
        ("ff", 0.7134807153),
    ] {
        assert_relative_eq!(points.get(name).unwrap().value, expected, max_relative = 1e-8);
    }
    let u = |parameter| fit.parameter(parameter).unwrap().u.unwrap();
    assert_relative_eq!(u(Parameter::Iph), 3.2e-4, max_relative = 0.02);
    assert_relative_eq!(u(Parameter::I0) / value(&fit, Parameter::I0), 0.108, max_relative = 0.005);
    assert_relative_eq!(u(Parameter::N), 0.0108, max_relative = 0.005);
    assert_relative_eq!(u(Parameter::Rs), 4.9e-4, max_relative = 0.02);
    assert_relative_eq!(u(Parameter::Rsh), 3.95, max_relative = 0.002);
    assert_eq!(fit.dof, 21);
}

/// Model-free and fitted figures of the cell agree within three of the model-free u.
#[test]
fn model_free_figures_agree_with_the_fitted_ones() {
    let sweep = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let fitted = fit(&sweep, Residual::Current).key_points();
    let free = litdiode::curve::key_points(&sweep);
    for name in ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"] {
        let (a, b) = (free.get(name).unwrap(), fitted.get(name).unwrap());
        assert!(
            (a.value - b.value).abs() <= 3.0 * a.u.unwrap(),
            "{name}: {} ± {:?} and {}",
            a.value,
            a.u,
            b.value
        );
    }
}

/// A random device from a 10 nA dot to a kW string, all of its curve in 40 points, exact to rounding.
fn random_device(rng: &mut Rng) -> (SingleDiode, Sweep) {
    let cells = [1, 1, 1, 4, 36, 72, 720][(rng.next() % 7) as usize];
    let isc = rng.decades(1e-8, 10.0);
    let (n, voc) = (rng.between(1.0, 2.5), rng.between(0.4, 1.1) * f64::from(cells));
    let temperature_c = rng.between(0.0, 70.0);
    let a = litdiode::diode::thermal_voltage_v(n, cells, temperature_c);
    let model = SingleDiode::new(Parameters {
        iph_a: isc,
        i0_a: [isc / (voc / a).exp_m1()],
        n: [n],
        rs_ohm: rng.decades(0.005, 0.15) * voc / isc,
        rsh_ohm: rng.decades(3.0, 300.0) * voc / isc,
        cells,
        temperature_c,
    })
    .unwrap();
    let top = model.key_points().voc.unwrap().value;
    let v: Vec<f64> = (0..40).map(|k| top * (-0.2 + 1.3 * f64::from(k) / 39.0)).collect();
    let mut i = vec![0.0; 40];
    model.current(&v, &mut i).unwrap();
    let sweep = Sweep::new(&v, &i, as_given(temperature_c, cells)).unwrap();
    (model, sweep)
}

fn truth(model: &SingleDiode) -> [(Parameter, f64); 5] {
    let p = model.parameters();
    let values = [p.iph_a, p.i0_a[0], p.n[0], p.rs_ohm, p.rsh_ohm];
    std::array::from_fn(|k| (Parameter::OF_ONE[k], values[k]))
}

#[test]
fn two_hundred_devices_give_their_parameters_back() {
    let mut rng = Rng(1);
    let mut identified = 0;
    for case in 0..200 {
        let (model, sweep) = random_device(&mut rng);
        let fit = fit(&sweep, Residual::Current);
        assert_ne!(fit.status, Status::NotConverged, "{case}: {model:?}");
        if fit.status == Status::Converged {
            identified += 1;
            for (name, truth) in truth(&model) {
                assert_relative_eq!(value(&fit, name), truth, max_relative = 1e-6);
            }
        }
    }
    assert!(identified >= 195, "{identified}");
}

/// 0.1 V to 0.3 V of a silicon-like cell show neither n nor Rs: the fit must say so.
#[test]
fn a_flat_piece_of_a_curve_is_not_identified() {
    let model = SingleDiode::new(Parameters {
        iph_a: 0.03,
        i0_a: [1e-12],
        n: [1.0],
        rs_ohm: 0.5,
        rsh_ohm: 5e3,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let v: Vec<f64> = (0..20).map(|k| 0.1 + 0.01 * f64::from(k)).collect();
    let mut i = vec![0.0; 20];
    model.current(&v, &mut i).unwrap();
    let mut rng = Rng(2);
    i.iter_mut().for_each(|i| *i += 3e-6 * rng.normal());
    let noise = Noise::default().current_a(3e-6);
    let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
    let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
    assert_eq!(fit.status, Status::NotIdentified);
    assert!(fit.notes.iter().any(|n| matches!(n, Note::NotDetermined { .. })), "{:?}", fit.notes);
}

#[test]
fn no_shunt_ends_at_the_bound_with_a_one_sided_interval() {
    let model = SingleDiode::new(Parameters {
        iph_a: 0.03,
        i0_a: [1e-9],
        n: [1.5],
        rs_ohm: 1.0,
        rsh_ohm: f64::INFINITY,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let v: Vec<f64> = (0..30).map(|k| -0.1 + 0.027 * f64::from(k)).collect();
    let mut i = vec![0.0; 30];
    model.current(&v, &mut i).unwrap();
    // A slope the wrong way, which no shunt explains, keeps g at 0.
    i.iter_mut().zip(&v).for_each(|(i, v)| *i += 2e-6 * v.min(0.4));
    let noise = Noise::default().current_a(1e-6);
    let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
    let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
    assert_eq!(fit.status, Status::AtBound, "{:?}", fit.notes);
    let rsh = fit.parameter(Parameter::Rsh).unwrap();
    assert_eq!((rsh.value, rsh.u), (f64::INFINITY, None));
    let interval = fit.interval(Parameter::Rsh, 0.95).unwrap();
    assert!(interval.low.unwrap() > 1e4 && interval.high == Some(f64::INFINITY), "{interval:?}");
}

/// Scaling all currents by c scales Iph and I0 by c and Rs, Rsh by 1/c; n stays.
#[test]
fn microampere_cells_fit_as_well_as_kiloampere_strings() {
    let base = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let reference = fit(&base, Residual::Current);
    for c in [1e-6, 1e3] {
        let i: Vec<f64> = base.current_a().iter().map(|i| c * i).collect();
        let scaled = fit(&Sweep::new(base.voltage_v(), &i, as_given(33.0, 1)).unwrap(), Residual::Current);
        for (name, factor) in Parameter::OF_ONE.into_iter().zip([c, c, 1.0, 1.0 / c, 1.0 / c]) {
            assert_relative_eq!(value(&scaled, name), factor * value(&reference, name), max_relative = 1e-6);
        }
    }
}

#[test]
fn the_order_of_points_does_not_matter() {
    let base = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let (v, i): (Vec<f64>, Vec<f64>) =
        base.voltage_v().iter().copied().zip(base.current_a().iter().copied()).rev().unzip();
    let reversed = fit(&Sweep::new(&v, &i, as_given(33.0, 1)).unwrap(), Residual::Current);
    for name in Parameter::OF_ONE {
        assert_relative_eq!(
            value(&reversed, name),
            value(&fit(&base, Residual::Current), name),
            max_relative = 1e-7
        );
    }
}

/// A current-stepped tracer has its noise on the voltage.
#[test]
fn the_residual_follows_the_instrument() {
    let base = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let swept = as_given(33.0, 1).swept(Swept::Current);
    let sweep = Sweep::new(&base.voltage_v()[12..], &base.current_a()[12..], swept).unwrap();
    let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
    assert_eq!(fit.residual, Residual::Voltage);
    // Residuals of the voltage, in V: V(I) of the model less the reading.
    let (k, i) = (5, sweep.current_a()[5]);
    let mut v = [0.0];
    fit.model.voltage(&[i], &mut v).unwrap();
    assert_relative_eq!(fit.residuals[k], v[0] - sweep.voltage_v()[k], epsilon = 1e-9);
}

#[test]
fn fixed_parameters_stay_and_bounds_hold() {
    let sweep = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let wishes =
        Wishes::default().fix(Parameter::N, 1.5).bounds(Parameter::Rs, 0.0, 0.03).start(Parameter::Iph, 0.7);
    let fit = fit_single_diode(&sweep, &Options::default().wishes(wishes)).unwrap();
    assert_relative_eq!(value(&fit, Parameter::N), 1.5, max_relative = 1e-14);
    assert_eq!(value(&fit, Parameter::Rs), 0.03);
    assert_eq!(fit.status, Status::AtBound);
    assert_eq!(fit.names, [Parameter::Iph, Parameter::I0, Parameter::Rsh]);
}

/// A name is read as what bears it and written the same, also where parameters and key points are mixed; what the model does
/// not have is not there, and says so.
#[test]
fn parameters_are_asked_for_by_what_they_are() {
    let names = ["iph", "i0", "n", "i01", "n1", "i02", "n2", "rs", "rsh"];
    for name in names {
        let parameter: Parameter = name.parse().unwrap();
        assert_eq!((parameter.to_string(), name.parse()), (name.to_owned(), Ok(Figure::from(parameter))));
    }
    for point in KeyPoint::ALL {
        assert_eq!((point.name().parse(), point.name().parse()), (Ok(point), Ok(Figure::from(point))));
    }
    let error = "rshunt".parse::<Parameter>().unwrap_err();
    assert!(error.known.contains("i02, n2, rs, rsh"), "{error}");
    assert_eq!("rshunt".parse::<Figure>().unwrap_err().name, "rshunt");
    let sweep = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let fit = fit(&sweep, Residual::Current);
    assert!(fit.parameter(Parameter::N1).is_none() && fit.interval(Parameter::N1, 0.95).is_none());
    let note = fit.profile_interval(Parameter::N1, 0.95).note().unwrap();
    assert!(note.contains("gives no n1"), "{note}");
    let joint = fit.joint().unwrap();
    assert_eq!(joint.names[4..6], [Figure::from(Parameter::Rsh), KeyPoint::Isc.into()]);
    assert_eq!(joint.values[4], value(&fit, Parameter::Rsh));
}

#[test]
fn contradicting_wishes_are_named() {
    let sweep = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    let text = |wishes: Wishes| {
        fit_single_diode(&sweep, &Options::default().wishes(wishes)).unwrap_err().to_string()
    };
    let unknown = text(Wishes::default().fix(Parameter::N1, 1.0));
    assert!(unknown.contains("\"n1\"") && unknown.contains("iph, i0, n, rs, rsh"), "{unknown}");
    let negative = text(Wishes::default().fix(Parameter::Rs, -1.0));
    assert!(negative.contains("fix: rs = -1"), "{negative}");
    let crossed = text(Wishes::default().bounds(Parameter::N, 2.0, 1.0));
    assert!(crossed.contains("2") && crossed.contains("above"), "{crossed}");
    let few = Sweep::new(&[0.0, 0.3, 0.5], &[0.03, 0.03, 0.0], as_given(25.0, 1)).unwrap();
    let error = fit_single_diode(&few, &Options::default()).unwrap_err();
    assert_eq!(error, FitError::TooFewPoints { points: 3, free: 5 });
}

/// Pearson's data with York's weights (D. York, N. Evensen, M. Martínez, J. Delgado, Am. J. Phys. 72 (2004) 367):
/// a device without a diode is the straight line I = Iph − g·V, and both axes have uncertainties.
#[test]
fn errors_in_both_axes_on_a_straight_line() {
    let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
    let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
    let wx = [1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0];
    let wy = [1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0];
    let sigma = |w: &[f64; 10]| w.iter().map(|w| 1.0 / f64::sqrt(*w)).collect::<Vec<_>>();
    let points = Points::new(x.to_vec(), y.to_vec(), sigma(&wx), sigma(&wy)).unwrap();
    let problem = Problem::<1> { points: &points, residual: Residual::Nearest };
    let start = Circuit::new(5.0, [1e-300], [1.0], 0.0, 0.4).theta();
    let (mut low, mut high) = (start.clone(), start.clone());
    (low[0], low[4], high[0], high[4]) = (0.0, 0.0, 100.0, 100.0);
    let found = minimise(&problem, &start, &Bounds::new(low, high).unwrap(), 100, |_| {}).unwrap();
    assert!(found.stop.converged());
    assert_relative_eq!(found.x[0], 5.47991, epsilon = 5e-6);
    assert_relative_eq!(found.x[4], 0.48053, epsilon = 5e-6);
    assert_relative_eq!(found.cost, 11.866, epsilon = 5e-4);
    // The other coordinates are fixed: only Iph and g have a covariance.
    struct Line<'a>(&'a Problem<'a, 1>, Vec<f64>);
    impl litdiode::fit::Residuals for Line<'_> {
        fn len(&self) -> usize {
            10
        }

        fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
            let mut theta = self.1.clone();
            (theta[0], theta[4]) = (x[0], x[1]);
            let mut whole = vec![0.0; 50];
            let there = self.0.evaluate(&theta, r, Some(&mut whole));
            if let Some(jacobian) = jacobian {
                jacobian[..10].copy_from_slice(&whole[..10]);
                jacobian[10..].copy_from_slice(&whole[40..]);
            }
            there
        }
    }
    let c = unscaled_covariance(&Line(&problem, found.x.clone()), &[found.x[0], found.x[4]]).unwrap();
    assert_relative_eq!(c[0].sqrt(), 0.29497, epsilon = 5e-6);
    assert_relative_eq!(c[3].sqrt(), 0.05799, epsilon = 5e-6);
}

/// Every residual and both kinds of weight give noise-free devices back: none stuck, none with a wrong status.
/// `LITDIODE_DEVICES=10000 cargo test --release --test fit every_residual` runs the long version.
#[test]
fn every_residual_gives_noise_free_devices_back() {
    let mut rng = Rng(11);
    let (mut bad, mut most, mut resolved) = (Vec::new(), 0.0, 0);
    let count = std::env::var("LITDIODE_DEVICES").map_or(150, |n| n.parse().unwrap());
    for case in 0..count {
        let (model, sweep) = random_device(&mut rng);
        let (v, i) = (sweep.voltage_v(), sweep.current_a());
        let isc = model.key_points().isc.unwrap().value;
        let voc = model.key_points().voc.unwrap().value;
        let noise = |n: Noise| Some(n);
        for (name, residual, noise) in [
            ("current", Residual::Current, None),
            ("relative", Residual::Current, noise(Noise::default().current_rel(1e-3).current_a(1e-6 * isc))),
            ("voltage", Residual::Voltage, None),
            (
                "nearest",
                Residual::Nearest,
                noise(Noise::default().current_a(1e-4 * isc).voltage_v(1e-4 * voc)),
            ),
        ] {
            let options = sweep.options().clone().noise(noise);
            let sweep = Sweep::new(v, i, options).unwrap();
            let fit = fit(&sweep, residual);
            let off = |name: &Parameter, truth: f64| (value(&fit, *name) / truth - 1.0).abs();
            let worst = truth(&model).iter().map(|(name, truth)| off(name, *truth)).fold(0.0, f64::max);
            // Ten times what rounding can move a parameter by; Problem and model round a little themselves.
            let resolution = fit.resolution().unwrap_or_default();
            resolved += usize::from(resolution.len() == 5);
            let beyond = truth(&model)
                .iter()
                .zip(&resolution)
                .map(|((name, truth), delta)| off(name, *truth) / (delta + f64::EPSILON))
                .fold(0.0, f64::max);
            most = f64::max(most, beyond);
            if fit.status != Status::Converged || worst > 1e-8 || beyond > 10.0 {
                bad.push(format!(
                    "{case} {name}: {:?}, off by {worst:e} ({beyond:.1} δp), rms {:e}, {:?} {:?}",
                    fit.status,
                    fit.rms,
                    fit.notes,
                    model.parameters()
                ));
            }
        }
    }
    println!("{} of {} bad, at most {most:.2} δp off", bad.len(), 4 * count);
    assert!(bad.is_empty(), "{} bad\n{}", bad.len(), bad[..bad.len().min(12)].join("\n"));
    assert_eq!(resolved, 4 * count, "fits that say what rounding moves");
}

/// Five readings without noise and five free parameters: where the search ends beside the device, the fit must not call
/// itself an optimum. The truth is known; only a fit that gives it back may be `converged`. That takes a stated noise: without
/// one no degree of freedom is left, and none is.
#[test]
fn a_misfit_with_as_many_parameters_as_points_is_no_optimum() {
    let (mut converged, mut others) = (0, 0);
    for k in 0..48 {
        let pick = |list: [f64; 2], bit: usize| list[k >> bit & 1];
        let model = SingleDiode::new(Parameters {
            iph_a: 6.0,
            i0_a: [pick([1e-9, 1e-7], 0)],
            n: [pick([1.3, 1.7], 1)],
            rs_ohm: pick([0.005, 0.01], 2),
            rsh_ohm: pick([10.0, 100.0], 3),
            cells: 1,
            temperature_c: 25.0,
        })
        .unwrap();
        let last = [0.65, 0.7, 0.75][k / 16];
        let voltage_v: Vec<f64> = (0..5).map(|k| last * f64::from(k) / 4.0).collect();
        let mut current_a = vec![0.0; 5];
        model.current(&voltage_v, &mut current_a).unwrap();
        for noise in [None, Some(Noise::default().current_a(6e-6))] {
            let options = as_given(25.0, 1).noise(noise);
            let fit = fit(&Sweep::new(&voltage_v, &current_a, options).unwrap(), Residual::Current);
            assert!(noise.is_some() || fit.status != Status::Converged, "{k}");
            if fit.status == Status::Converged {
                for (name, expected) in truth(&model) {
                    assert_relative_eq!(value(&fit, name), expected, max_relative = 1e-6);
                }
                converged += 1;
            } else {
                others += 1;
            }
        }
    }
    println!("{converged} of 96 converged, {others} not");
    assert!(converged >= 25 && others >= 48, "{converged} {others}");
}

/// Four voltages, each read twice: the Jacobian of five free parameters has four different rows, so its rank is four at
/// most, and JᵀJ has no inverse. A finite ± would be rounding, and no such fit is identified.
#[test]
fn fewer_voltages_than_parameters_give_no_uncertainty() {
    let parameters = Parameters {
        iph_a: 0.075,
        i0_a: [2e-12],
        n: [1.6],
        rs_ohm: 15.0,
        rsh_ohm: 9500.0,
        cells: 36,
        temperature_c: 25.0,
    };
    let model = SingleDiode::new(parameters).unwrap();
    let voltage_v = [-1.0, -1.0, 10.0, 10.0, 25.0, 25.0, 36.0, 36.0];
    let mut exact = [0.0; 8];
    model.current(&voltage_v, &mut exact).unwrap();
    let (mut rng, mut compared) = (Rng(7), 0);
    for k in 0..300 {
        let u = 0.075 * [1e-9, 1e-7, 1e-6][k % 3];
        let current_a = exact.map(|i| i + u * rng.normal());
        let noise = Noise::default().current_a(u);
        let sweep = Sweep::new(&voltage_v, &current_a, as_given(25.0, 36).noise(noise)).unwrap();
        let fit = fit(&sweep, Residual::Current);
        if fit.names.len() == 5 {
            assert!(fit.covariance.is_empty(), "{k}: {:?}", fit.parameters);
            assert_eq!(fit.status, Status::NotIdentified, "{k}");
            compared += 1;
        }
    }
    assert!(compared > 100, "{compared}");
}

/// A straight line is a shunt, one of equal readings a photocurrent: both are curves of the model, and the fit of
/// readings without noise must pass through them. What no reading shows is then not identified.
#[test]
fn straight_lines_have_a_fit() {
    let voltage_v: Vec<f64> = (0..25).map(|k| -0.1 + 0.0325 * f64::from(k)).collect();
    for (iph, g) in [(1e-3, 0.0), (1e-3, 1e-4), (0.0, 1e-3)] {
        let current_a: Vec<f64> = voltage_v.iter().map(|v| iph - g * v).collect();
        let sweep = Sweep::new(&voltage_v, &current_a, as_given(25.0, 1)).unwrap();
        for residual in [Residual::Current, Residual::Implicit, Residual::Voltage] {
            let options = Options::default().residual(residual);
            let fit = fit_single_diode(&sweep, &options).unwrap();
            assert_ne!(fit.status, Status::Converged, "{residual:?}, {iph} A, {g} S");
            if residual != Residual::Voltage {
                assert!(fit.rms < 1e-5, "{residual:?}, {iph} A, {g} S: {}", fit.rms);
            }
        }
    }
}

/// An n at the end of the search is left open by the data; at a bound of the caller it is at a bound.
#[test]
fn an_ideality_factor_at_the_end_of_the_search_is_not_determined() {
    let device = Circuit::new(0.03, [1e-4], [14.0 * thermal_voltage_v(1.0, 1, 25.0)], 0.5, 1e-4);
    let top = device.voc();
    let v: Vec<f64> = (0..30).map(|k| top * (1.1 * f64::from(k) / 29.0)).collect();
    let i: Vec<f64> = v.iter().map(|v| device.current_at(*v)).collect();
    let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(Noise::default().current_a(1e-6))).unwrap();
    let found = fit_single_diode(&sweep, &Options::default()).unwrap();
    let n = found.parameter(Parameter::N).unwrap();
    println!("{:?} n = {n} {:?}", found.status, found.notes);
    assert!((n.value - 10.0).abs() < 1e-9);
    assert_eq!(found.status, Status::NotIdentified);
    let below = Options::default().wishes(Wishes::default().bounds(Parameter::N, 0.5, 8.0));
    assert_eq!(fit_single_diode(&sweep, &below).unwrap().status, Status::AtBound);
}

/// Readings that are level but for their last digits, between which chords are of very many ohms, have a fit that passes
/// through them.
#[test]
fn level_readings_have_a_fit() {
    let v: Vec<f64> = (0..20).map(|k| 0.025 * f64::from(k)).collect();
    for (level, ripple) in [(1e-3, 1e-18), (0.1, 1e-15), (1.0, 1e-14)] {
        let i: Vec<f64> = (0..20).map(|k| level + if k % 2 == 0 { ripple } else { -ripple }).collect();
        let sweep = Sweep::new(&v, &i, as_given(25.0, 1)).unwrap();
        let found = fit_single_diode(&sweep, &Options::default()).unwrap();
        println!("{level}: {:?}, rms {:e}", found.status, found.rms);
        assert!(found.rms <= 10.0 * ripple.max(f64::EPSILON * level), "{level}: {}", found.rms);
    }
}

/// The bounds of the caller say nothing of the device: only Rs = 0 and g = 0 are the absence of a resistance.
#[test]
fn a_bound_of_the_caller_is_no_absent_resistance() {
    let cell = published("easwarakhanthan_1986_cell.csv", 33.0, 1);
    for (name, low, high) in [(Parameter::Rs, 0.05, 1.0), (Parameter::Rsh, 1.0, 40.0)] {
        let wishes = Wishes::default().bounds(name, low, high);
        let fit = fit_single_diode(&cell, &Options::default().wishes(wishes)).unwrap();
        let notes = sentences(&fit.notes);
        assert!(notes.contains(&format!("{name} is at its bound")), "{notes}");
        assert!(!notes.contains("visible"), "{notes}");
    }
}

/// A fit skips the look at its last step. Another descent from where it ended, with every step
/// looked at, moves nothing by 1e-6 of its uncertainty.
#[test]
fn an_optimum_is_where_a_further_descent_stays() {
    let mut rng = Rng(41);
    let mut compared = 0;
    for k in 0..300 {
        let (device, exact) = random_device(&mut rng);
        let share = 10f64.powf(-4.0 + 2.5 * f64::from(k % 6) / 5.0);
        let largest = exact.current_a().iter().fold(0.0f64, |m, i| m.max(i.abs()));
        let current_a: Vec<f64> =
            exact.current_a().iter().map(|i| i + share * largest * rng.normal()).collect();
        let Ok(sweep) = Sweep::new(exact.voltage_v(), &current_a, exact.options().clone()) else { continue };
        let fit = fit(&sweep, Residual::Current);
        if fit.status != Status::Converged {
            continue;
        }
        let n = current_a.len();
        let (v, i) = (sweep.voltage_v().to_vec(), sweep.current_a().to_vec());
        let points = Points::new(v, i, vec![0.0; n], vec![share * largest; n]).unwrap();
        let problem = Problem::<1> { points: &points, residual: Residual::Current };
        let wide = Bounds::new(vec![0.0, -700.0, -20.0, 0.0, 0.0], vec![1e15; 5]).unwrap();
        let further = minimise(&problem, &fit.theta, &wide, 200, |_| {}).unwrap();
        for p in 0..5 {
            let (there, u) = (further.x[p], fit.theta_covariance[6 * p].sqrt());
            assert!((there - fit.theta[p]).abs() <= 1e-6 * u, "{device:?} {p}: {there} {} {u}", fit.theta[p]);
        }
        compared += 1;
    }
    assert!(compared > 100, "{compared}");
}

/// Sweeps of an invented leaky cell that end at 0.8 Voc, where I0 and n are all but free.
fn short_sweeps(count: usize) -> impl Iterator<Item = Sweep> {
    let device = SingleDiode::new(Parameters {
        iph_a: 5e-3,
        i0_a: [1e-9],
        n: [1.6],
        rs_ohm: 5.0,
        rsh_ohm: 390.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let top = 0.8 * device.key_points().voc.unwrap().value;
    let mut rng = Rng(51);
    (0..count).map(move |_| {
        let v: Vec<f64> = (0..25).map(|k| top * (-0.1 + 1.1 * f64::from(k) / 24.0)).collect();
        let mut i = vec![0.0; 25];
        device.current(&v, &mut i).unwrap();
        i.iter_mut().for_each(|i| *i += 5e-5 * rng.normal());
        let noise = Noise::default().current_a(5e-5);
        Sweep::new(&v, &i, SweepOptions::default().noise(noise).sign(Sign::Generator)).unwrap()
    })
}

fn with_i0(sweep: &Sweep, i0: f64) -> Fit<1> {
    let wishes = Wishes::default().fix(Parameter::I0, i0);
    fit_single_diode(sweep, &Options::default().wishes(wishes)).unwrap()
}

/// With I0 fixed far from where the data would have it the fit is as good as the best of 60 others, which start all over
/// (Rs, n) and are descents of their own.
#[test]
fn a_fixed_saturation_current_has_its_own_start() {
    for sweep in short_sweeps(6) {
        for exponent in [-60, -40, -30, -20, -12, -7] {
            let i0 = 10f64.powi(exponent);
            let fit = with_i0(&sweep, i0);
            let mut best = f64::INFINITY;
            for start in 0..60 {
                let (rs, n) = (f64::from(start % 6) * 12.0, 0.4 * 1.35f64.powi(start / 6));
                let wishes =
                    Wishes::default().fix(Parameter::I0, i0).start(Parameter::Rs, rs).start(Parameter::N, n);
                let other = fit_single_diode(&sweep, &Options::default().wishes(wishes)).unwrap();
                best = best.min(other.chi2);
            }
            assert!(fit.chi2 <= best * (1.0 + 1e-6) + 1e-9, "{i0} {} {best}", fit.chi2);
        }
    }
}

/// An interval holds just those values of a parameter with which the fit is worse by no more than t². Truth is the fit
/// with I0 held, which knows nothing of profiles.
#[test]
fn the_interval_of_a_hardly_determined_parameter_is_that_of_fits_with_it_held() {
    let mut sides = [0; 2];
    for sweep in short_sweeps(25) {
        let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
        let interval = fit.interval(Parameter::I0, 0.95).unwrap();
        let within = |x: f64| interval.low.is_none_or(|l| l <= x) && interval.high.is_none_or(|h| x <= h);
        for exponent in [-40, -25, -15, -12, -10, -9, -8, -7, -6] {
            let i0 = 10f64.powi(exponent);
            let worse = with_i0(&sweep, i0).chi2 - fit.chi2;
            if (worse - 3.841_458_8).abs() > 0.05 {
                assert_eq!(within(i0), worse < 3.841_458_8, "{i0} {worse} {interval:?}");
                sides[usize::from(worse < 3.841_458_8)] += 1;
            }
        }
    }
    println!("{sides:?} of 225 outside and inside");
    assert!(sides[0] >= 10 && sides[1] >= 150, "{sides:?}");
}

/// Two coordinates that are told apart by `weak` only, and a misfit of Σr² = 1 that neither changes: the least is at 0.
struct Valley {
    weak: f64,
    rows: usize,
}

impl Residuals for Valley {
    fn len(&self) -> usize {
        self.rows
    }

    fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
        r.fill(1.0 / (self.rows as f64 - 2.0).sqrt());
        (r[0], r[1]) = (x[0] + x[1], self.weak * x[1]);
        if let Some(j) = jacobian {
            j.fill(0.0);
            (j[0], j[self.rows], j[self.rows + 1]) = (1.0, 1.0, self.weak);
        }
        true
    }
}

/// From a start close to it in the strong direction and far in the weak one the optimum is reached to 1e-5 of the
/// uncertainty, 1/(weak·√ν) by hand.
#[test]
fn a_damped_step_is_not_the_last() {
    let bounds = Bounds::new(vec![-1e12; 2], vec![1e12; 2]).unwrap();
    for rows in [22, 5002] {
        for weak in [1e-6, 1e-7, 3e-8] {
            for k in 0..240 {
                let (far, strong) =
                    (10f64.powf(-6.0 + 0.05 * f64::from(k / 3)), [1e-3, 1e-2, 0.1][k as usize % 3]);
                let valley = Valley { weak, rows };
                let mut descent = Descent::new(&valley, &[strong - far / weak, far / weak], &bounds).unwrap();
                descent.expect_close();
                let x = descent.run(&valley, &bounds, 500, |_| {}).x;
                let off = (weak * x[1]).abs() * (rows as f64 - 2.0).sqrt();
                assert!(off <= 1e-5, "{rows} {weak} {far} {strong}: {off} u");
            }
        }
    }
}

/// Currents were stepped and end below Isc, so that the flat part hardly shows, and 1 % of Voc scatters on the voltage. No
/// fit ends higher than the one that starts at the truth.
#[test]
fn scattering_voltages_do_not_hide_the_optimum() {
    let mut rng = Rng(61);
    for case in 0..80 {
        let (isc, voc, n) = (rng.decades(1e-5, 1.0), rng.between(0.4, 1.0), rng.between(1.0, 2.0));
        let a = litdiode::diode::thermal_voltage_v(n, 1, 25.0);
        let truth = Parameters {
            iph_a: isc,
            i0_a: [isc / (voc / a).exp_m1()],
            n: [n],
            rs_ohm: rng.decades(5e-3, 0.12) * voc / isc,
            rsh_ohm: rng.decades(6.0, 200.0) * voc / isc,
            cells: 1,
            temperature_c: 25.0,
        };
        let device = SingleDiode::new(truth).unwrap();
        let i: Vec<f64> = (0..25).map(|k| isc * (0.95 - 1.25 * f64::from(k) / 24.0)).collect();
        let mut v = vec![0.0; 25];
        device.voltage(&i, &mut v).unwrap();
        v.iter_mut().for_each(|v| *v += 0.01 * voc * rng.normal());
        let noise = Noise::default().voltage_v(0.01 * voc);
        let options = as_given(25.0, 1).noise(noise).swept(Swept::Current);
        let sweep = Sweep::new(&v, &i, options).unwrap();
        let known = [isc, truth.i0_a[0], n, truth.rs_ohm, truth.rsh_ohm];
        let start =
            Parameter::OF_ONE.into_iter().zip(known).fold(Wishes::default(), |w, (p, x)| w.start(p, x));
        let from_truth = Options::default().wishes(start);
        let (own, other) = (fit(&sweep, Residual::Voltage), fit_single_diode(&sweep, &from_truth).unwrap());
        assert!(own.chi2 <= 1.001 * other.chi2, "{case}: {} {}", own.chi2, other.chi2);
    }
}

/// Whether the distance from (v, i) to the curve, sampled densely in the voltage, has two minima less than one standard
/// uncertainty apart.
fn has_two_feet(model: &SingleDiode, (v, i): (f64, f64), (sigma_v, sigma_a): (f64, f64)) -> bool {
    let voltage_v: Vec<f64> = (-4_000..7_000).map(|k| f64::from(k) * 2e-4).collect();
    let mut current_a = vec![0.0; voltage_v.len()];
    model.current(&voltage_v, &mut current_a).unwrap();
    let distance = |(x, y): (&f64, &f64)| ((x - v) / sigma_v).hypot((y - i) / sigma_a);
    let d: Vec<f64> = voltage_v.iter().zip(&current_a).map(distance).collect();
    let mut minima: Vec<f64> = d.windows(3).filter(|w| w[1] < w[0] && w[1] <= w[2]).map(|w| w[1]).collect();
    minima.sort_by(f64::total_cmp);
    minima.len() > 1 && minima[1] < minima[0] + 1.0
}

/// Of readings with 10 % noise on both axes some lie about as near to the flat part as to the steep one: the fit says how
/// many, which a dense search of its curve confirms. With 0.3 % none do.
#[test]
fn readings_with_two_feet_are_named() {
    let model = SingleDiode::new(Parameters {
        iph_a: 35e-3,
        i0_a: [1.5e-10],
        n: [1.25],
        rs_ohm: 0.5,
        rsh_ohm: 3500.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let (mut rng, mut named) = (Rng(71), 0);
    for (size, runs) in [(0.1, 40), (0.003, 10)] {
        let (sigma_v, sigma_a) = (size * 0.62, size * 35e-3);
        for case in 0..runs {
            let mut v: Vec<f64> = (0..25).map(|k| -0.06 + 0.03 * f64::from(k)).collect();
            let mut i = vec![0.0; 25];
            model.current(&v, &mut i).unwrap();
            v.iter_mut().for_each(|v| *v += sigma_v * rng.normal());
            i.iter_mut().for_each(|i| *i += sigma_a * rng.normal());
            let noise = Noise::default().voltage_v(sigma_v).current_a(sigma_a);
            let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
            let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
            let readings = || v.iter().zip(&i).map(|(v, i)| (*v, *i));
            let count = readings().filter(|r| has_two_feet(&fit.model, *r, (sigma_v, sigma_a))).count();
            let note = fit.notes.iter().find(|n| matches!(n, Note::SecondFeet { .. }));
            let words = match count {
                0 => None,
                1 => Some("reading ".to_owned()),
                _ => Some(format!("{count} readings lie")),
            };
            assert_eq!(note.is_some(), count > 0, "{case}: {count} {note:?}");
            assert!(
                note.zip(words).is_none_or(|(note, words)| note.to_string().starts_with(&words)),
                "{count} {note:?}"
            );
            assert!(size > 0.05 || count == 0, "{case}");
            named += usize::from(count > 0);
        }
    }
    assert!(named > 7, "{named}");
}

/// A gain said as an effect of the sweep moves the parameters as the same gain of its noise does; both as the scale of the
/// current requires: Iph and I0 with it, Rs and Rsh against it, n not at all.
#[test]
fn an_effect_of_one_source_enters_the_fit() {
    let device = SingleDiode::new(Parameters {
        iph_a: 0.03,
        i0_a: [2e-9],
        n: [1.4],
        rs_ohm: 1.2,
        rsh_ohm: 900.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let (v, i) = device.curve(40);
    let noise = || Noise::default().current_a(1e-6);
    let gain = 0.02;
    let fitted = |options: SweepOptions| {
        let sweep = Sweep::new(&v, &i, options.sign(Sign::Generator).leads(Leads::AsGiven)).unwrap();
        fit_single_diode(&sweep, &Options::default()).unwrap()
    };
    let effect =
        Effect::new("a lamp", Reach::Common, vec![0.0; v.len()], i.iter().map(|i| gain * i).collect());
    let plain = fitted(SweepOptions::default().noise(noise()));
    let by_effect = fitted(SweepOptions::default().noise(noise()).effects(vec![effect]));
    let by_noise = fitted(SweepOptions::default().noise(noise().current_gain_u(gain)));
    let powers = [
        (Parameter::Iph, 1.0),
        (Parameter::I0, 1.0),
        (Parameter::N, 0.0),
        (Parameter::Rs, -1.0),
        (Parameter::Rsh, -1.0),
    ];
    for (parameter, power) in powers {
        let of = |fit: &Fit<1>| fit.parameter(parameter).map(|e| (e.value, e.u.unwrap())).unwrap();
        let ((value, own), (_, with), (_, stated)) = (of(&plain), of(&by_effect), of(&by_noise));
        let expected = own.hypot(gain * f64::abs(power) * value);
        assert!((with / expected - 1.0).abs() < 1e-3, "{parameter:?}: {with} {expected}");
        assert!((with / stated - 1.0).abs() < 1e-9, "{parameter:?}: {with} {stated}");
        let width = |fit: &Fit<1>| {
            let interval = fit.interval(parameter, 0.95).unwrap();
            interval.high.unwrap() - interval.low.unwrap()
        };
        assert!((width(&by_effect) / width(&by_noise) - 1.0).abs() < 1e-9, "{parameter:?}");
    }
}
