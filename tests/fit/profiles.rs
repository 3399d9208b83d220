//! Profile intervals: of key points, against least squares in coordinates of which the key point is one, and so can be held; of
//! parameters, against fits that hold them.

use crate::support::{Rng, as_given};
use litdiode::diode::{Circuit, Junction, Parameters, SingleDiode};
use litdiode::fit::{Bounds, Fit, Options, Residuals, Wishes, fit_single_diode, minimise};
use litdiode::key_points::KeyPoint;
use litdiode::sweep::{Noise, Sweep};

/// Square of the normal quantile of 95 %.
const T2: f64 = 1.959964 * 1.959964;

/// Residuals in (Iph, ln a, Rs, g), I0 such that Voc is `voc_v`: Iph = I0·(e^(Voc/a) − 1) + g·Voc. Derivatives by differences.
struct OfVoc<'a> {
    sweep: &'a Sweep,
    voc_v: f64,
    sigma_a: f64,
}

impl OfVoc<'_> {
    fn residuals(&self, x: &[f64], r: &mut [f64]) -> bool {
        let a = x[1].exp();
        let i0 = (x[0] - x[3] * self.voc_v) / (self.voc_v / a).exp_m1();
        let circuit = Circuit::new(x[0], [i0], [a], x[2], x[3]);
        for ((r, v), i) in r.iter_mut().zip(self.sweep.voltage_v()).zip(self.sweep.current_a()) {
            *r = (circuit.current_at(*v) - i) / self.sigma_a;
        }
        i0 > 0.0 && r.iter().all(|r| r.is_finite())
    }
}

impl Residuals for OfVoc<'_> {
    fn len(&self) -> usize {
        self.sweep.len()
    }

    fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
        let n = r.len();
        if let Some(jacobian) = jacobian {
            let (mut up, mut down) = (vec![0.0; n], vec![0.0; n]);
            for k in 0..4 {
                let step = 1e-6 * [0.03, 1.0, 1.0, 1e-3][k];
                let at = |sign: f64, out: &mut [f64]| {
                    let mut x = x.to_vec();
                    x[k] += sign * step;
                    self.residuals(&x, out)
                };
                if !(at(1.0, &mut up) && at(-1.0, &mut down)) {
                    return false;
                }
                (0..n).for_each(|j| jacobian[k * n + j] = (up[j] - down[j]) / (2.0 * step));
            }
        }
        self.residuals(x, r)
    }
}

/// The least χ² with Voc held.
fn least_chi2(fit: &Fit<1>, voc_v: f64, sigma_a: f64) -> f64 {
    let p = fit.model.parameters();
    let start = [p.iph_a, fit.theta[2], p.rs_ohm, 1.0 / p.rsh_ohm];
    let bounds = Bounds::new(vec![0.0, -9.0, 0.0, 0.0], vec![1.0, 2.0, 50.0, 1.0]).unwrap();
    minimise(&OfVoc { sweep: &fit.sweep, voc_v, sigma_a }, &start, &bounds, 500, |_| {}).unwrap().cost
}

/// At both ends the least χ² is above the least of all by t².
#[test]
fn ends_are_where_chi2_has_risen_by_t2() {
    let (mut rng, mut ends) = (Rng(16), 0);
    // The last is so noisy that χ² is no parabola any more.
    for (n, rs_ohm, rsh_ohm, sigma_a) in
        [(1.2, 0.8, 300.0, 2e-4), (1.8, 2.0, 120.0, 2e-4), (1.5, 0.3, 60.0, 2e-4), (1.8, 2.0, 120.0, 1.2e-3)]
    {
        let parameters =
            Parameters { iph_a: 0.03, i0_a: [1e-8], n: [n], rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 };
        let (v, mut i) = SingleDiode::new(parameters).unwrap().curve(25);
        i.iter_mut().for_each(|i| *i += sigma_a * rng.normal());
        let noise = Noise::default().current_a(sigma_a);
        let sweep = Sweep::new(&v, &i, as_given(25.0, 1).noise(noise)).unwrap();
        let fit = fit_single_diode(&sweep, &Options::default()).unwrap();
        let interval = fit.profile_interval(KeyPoint::Voc, 0.95);
        let voc = fit.key_points().voc.unwrap();
        let (low, high) = (interval.low.unwrap(), interval.high.unwrap());
        assert!(low < voc.value && voc.value < high);
        assert!((least_chi2(&fit, voc.value, sigma_a) - fit.chi2).abs() < 1e-6 * fit.chi2);
        for end in [low, high] {
            let rise = least_chi2(&fit, end, sigma_a) - fit.chi2;
            println!("n = {n}: Voc = {end:.6} V, rise {rise:.6}");
            assert!((rise / T2 - 1.0).abs() < 2e-3, "{rise}");
        }
        // A bound of nature, 0 or no shunt, is no end of χ².
        for &parameter in &fit.names {
            let interval = fit.profile_interval(parameter, 0.95);
            for end in [interval.low, interval.high]
                .into_iter()
                .flatten()
                .filter(|end| *end > 0.0 && end.is_finite())
            {
                let held = Options::default().wishes(Wishes::default().fix(parameter, end));
                let rise = fit_single_diode(&sweep, &held).unwrap().chi2 - fit.chi2;
                println!("n = {n}: {} = {end:e}, rise {rise:.6}", parameter.name());
                assert!((rise / T2 - 1.0).abs() < 5e-4, "{} {rise}", parameter.name());
                ends += 1;
            }
        }
    }
    assert!(ends >= 24, "{ends}");
}
