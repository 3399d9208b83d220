//! Resampled fits: of a problem that is all but linear their spread is what the covariance says.

use crate::support::{Rng, as_given};
use litdiode::diode::{Parameters, SingleDiode};
use litdiode::fit::{Figure, Options, Parameter, ResampleOptions, Scatter, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::sweep::{Noise, Sweep};

/// 500 draws tell a standard deviation to 3 %, and 40 residuals with their leverage taken off theirs to about as much.
#[test]
fn the_spread_of_draws_is_that_of_the_covariance() {
    let parameters = Parameters {
        iph_a: 0.03,
        i0_a: [1e-9],
        n: [1.4],
        rs_ohm: 0.6,
        rsh_ohm: 300.0,
        cells: 1,
        temperature_c: 25.0,
    };
    let (v, mut i) = SingleDiode::new(parameters).unwrap().curve(40);
    let mut rng = Rng(3);
    i.iter_mut().for_each(|i| *i += 1e-6 * rng.normal());
    for noise in [None, Some(Noise::default().current_a(1e-6))] {
        let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
        let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
        let points = fit.key_points();
        for scatter in [Scatter::Parametric, Scatter::Residual] {
            let options = ResampleOptions::default().draws(500).seed(7).scatter(scatter);
            let draws = fit.resample(options, |_| true).unwrap().unwrap();
            assert_eq!((draws.failed, draws.values.len()), (0, 500 * draws.names.len()));
            let spread = |figure: Figure| {
                let x = draws.column(figure).unwrap();
                let mean = x.iter().sum::<f64>() / 500.0;
                (x.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / 499.0).sqrt()
            };
            let u = |parameter| fit.parameter(parameter).unwrap().u.unwrap();
            let figures = [
                (Figure::Parameter(Parameter::N), u(Parameter::N)),
                (Figure::Parameter(Parameter::Rs), u(Parameter::Rs)),
                (Figure::KeyPoint(KeyPoint::Voc), points.voc.as_ref().unwrap().u.unwrap()),
                (Figure::KeyPoint(KeyPoint::Pmax), points.pmax.as_ref().unwrap().u.unwrap()),
            ];
            // Drawn residuals have the scatter that the readings showed, whatever was stated.
            let shown = noise.is_some() && scatter == Scatter::Residual;
            let shown = if shown { (fit.chi2 / fit.dof as f64).sqrt() } else { 1.0 };
            for (figure, u) in figures {
                let ratio = spread(figure) / (shown * u);
                println!("{scatter:?}, stated {}: {figure:?} {ratio:.3}", noise.is_some());
                assert!((0.88..1.14).contains(&ratio), "{scatter:?} {figure:?} {ratio}");
                // Of normal draws 95 % lie within 1.96 standard deviations, where the quantiles of 500 are known to 5 %.
                let interval = draws.interval(figure, 0.95).unwrap();
                let width = (interval.high.unwrap() - interval.low.unwrap()) / (2.0 * 1.96 * spread(figure));
                assert!((0.85..1.15).contains(&width), "{scatter:?} {figure:?} {width}");
            }
        }
    }
}
