//! Fits that are written down and read back, and figures of a fit with their sources.

use crate::support::as_given;
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::estimate::Estimate;
use litdiode::fit::{Fit, Options, Parameter, fit_single_diode};
use litdiode::sweep::{Noise, Sweep};

/// An invented cell, read with a noise that a generator of its own makes.
fn fitted() -> Fit<1> {
    let parameters = Parameters {
        iph_a: 0.03,
        i0_a: [1e-9],
        n: [1.4],
        rs_ohm: 0.6,
        rsh_ohm: 700.0,
        cells: 1,
        temperature_c: 25.0,
    };
    let (v, mut i) = SingleDiode::new(parameters).unwrap().curve(30);
    i.iter_mut().enumerate().for_each(|(k, i)| *i += 1e-5 * ((7 * k % 11) as f64 - 5.0) / 3.2);
    let noise = Noise::default().current_a(1e-5).current_gain_u(0.002);
    let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
    fit_single_diode(&sweep, &Options::default()).unwrap()
}

#[cfg(feature = "serde")]
#[test]
fn a_stored_fit_comes_back_and_one_with_a_list_cut_short_is_refused() {
    let fit = fitted();
    let stored = serde_json::to_value(&fit).unwrap();
    assert_eq!(serde_json::from_value::<Fit<1>>(stored.clone()).unwrap(), fit);
    // Where the first list of a type is short, the second is said to be long.
    let lists = [
        ("/theta", "theta has 4 entries where 5"),
        ("/theta_covariance", "theta_covariance has 24 entries where 25"),
        ("/covariance", "covariance has 24 entries where 25"),
        ("/residuals", "residuals has 29 entries where 30"),
        ("/parameters", "parameters has 4 entries where 5"),
        ("/names", "names has 4 entries where 5"),
        ("/free", "names has 5 entries where 4"),
        ("/bounds/low", "high has 5 entries where 4"),
        ("/bounds/high", "high has 4 entries where 5"),
        ("/weights/points/voltage_v", "current_a has 30 entries where 29"),
        ("/weights/points/current_a", "current_a has 29 entries where 30"),
        ("/weights/points/sigma_v", "sigma_v has 29 entries where 30"),
        ("/weights/points/sigma_a", "sigma_a has 29 entries where 30"),
        ("/weights/common/0", "weights.common has 4 entries where 5"),
        ("/trace/0/x", "trace has 4 entries where 5"),
    ];
    for (place, named) in lists {
        let mut edited = stored.clone();
        edited.pointer_mut(place).unwrap_or_else(|| panic!("{place}")).as_array_mut().unwrap().pop();
        let error = serde_json::from_value::<Fit<1>>(edited).expect_err(place).to_string();
        assert!(error.contains(named), "{place}: {error}");
    }
}

/// A parameter with its sources is the same figure: they add up to its u, and those of two to the covariance of the fit.
#[test]
fn sources_of_parameters_make_their_covariance() {
    let fit = fitted();
    let m = fit.names.len();
    assert_eq!(m, 5);
    let traced: Vec<Estimate> = fit.names.iter().map(|p| fit.traced_parameter(*p).unwrap()).collect();
    for (j, a) in traced.iter().enumerate() {
        let plain = fit.parameter(fit.names[j]).unwrap();
        assert_eq!((a.value, a.u), (plain.value, plain.u));
        let sum: f64 = a.known_sources().iter().map(|s| s.u * s.u).sum();
        assert!((sum / fit.covariance[j * m + j] - 1.0).abs() < 1e-9, "{:?}", fit.names[j]);
        for (k, b) in traced.iter().enumerate() {
            let size = (fit.covariance[j * m + j] * fit.covariance[k * m + k]).sqrt();
            let off = (a.covariance(b) - fit.covariance[j * m + k]).abs();
            assert!(off < 1e-9 * size, "{:?} {:?}", fit.names[j], fit.names[k]);
        }
    }
    assert!(fit.traced_parameter(Parameter::N2).is_none());
}
