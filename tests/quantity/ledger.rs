//! Differences of figures of two cells: what both share is not counted twice, and the interval holds.
//!
//! `LITDIODE_RUNS=2000 cargo test --release --test quantity differences -- --nocapture`.

use super::support::random::Rng;
use litdiode::curve::key_points;
use litdiode::diode::{Device, Junction, Parameters};
use litdiode::estimate::{Estimate, Unit};
use litdiode::fit::{Options, Parameter, fit_single_diode};
use litdiode::key_points::KeyPoint;
use litdiode::source::Identity;
use litdiode::sweep::{Correction, Leads, Noise, Sign, Sweep, SweepOptions};

fn cell(iph_a: f64, rs_ohm: f64) -> Device<1> {
    Device::new(Parameters {
        iph_a,
        i0_a: [2e-9],
        n: [1.5],
        rs_ohm,
        rsh_ohm: 1500.0,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap()
}

/// Readings of a device by a meter with `gain`, behind `leads`.
fn readings(device: &Device<1>, gain: f64, leads: f64, random: &mut Rng) -> (Vec<f64>, Vec<f64>) {
    (0..30)
        .map(|k| {
            let v = -0.05 + 0.75 * f64::from(k) / 29.0;
            let i = device.circuit().current_at(v);
            (v - leads * i, gain * (i + 2e-5 * random.normal()))
        })
        .unzip()
}

#[test]
fn differences_of_two_cells_hold() {
    let runs: usize = std::env::var("LITDIODE_RUNS").ok().map_or(300, |n| n.parse().unwrap());
    let (a, b) = (cell(20e-3, 2.0), cell(18e-3, 3.0));
    let figures = [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax, KeyPoint::Ff];
    let truth = |d: &Device<1>, f: KeyPoint| d.key_points().get(f.name()).unwrap().value;
    let mut random = Rng(2718);
    let (mut held, mut apart, mut of_fit, mut tighter) = ([0; 4], [0; 4], 0, 0.0);
    for _ in 0..runs {
        // One rig for both cells: a gain known to 2 % and leads known to 0.2 Ω.
        let (gain, leads) = (1.0 + 0.02 * random.normal(), 1.0 + 0.2 * random.normal());
        let rig = Noise::default().current_a(2e-5).current_gain_u(0.02).of_one_instrument();
        let known = Estimate::new(1.0, 0.2, Unit::Ohm).identified(Identity::distinct(), "leads");
        let sweep = |device: &Device<1>, random: &mut Rng| {
            let (v, i) = readings(device, gain, leads, random);
            let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven).noise(rig);
            let corrections = vec![Correction::LeadResistance { ohm: known.clone() }];
            Sweep::new(&v, &i, options.corrections(corrections)).unwrap()
        };
        let (first, second) = (sweep(&a, &mut random), sweep(&b, &mut random));
        let (x, y) = (key_points(&first), key_points(&second));
        for (k, figure) in figures.iter().enumerate() {
            let wanted = truth(&a, *figure) - truth(&b, *figure);
            let (p, q) = (x.traced(*figure).unwrap(), y.traced(*figure).unwrap());
            let hit = |e: &Estimate| {
                let interval = e.interval(0.95);
                (interval.low.unwrap()..=interval.high.unwrap()).contains(&wanted)
            };
            let difference = p.minus(&q).unwrap();
            held[k] += usize::from(hit(&difference));
            // As if nothing were shared.
            let u = p.u.unwrap().hypot(q.u.unwrap());
            apart[k] += usize::from(hit(&Estimate::new(difference.value, u, difference.unit)));
            if *figure == KeyPoint::Isc {
                tighter += u / difference.u.unwrap() / runs as f64;
            }
        }
        let fits = [&first, &second].map(|s| fit_single_diode(s, &Options::default()).unwrap());
        let rs = fits.map(|f| f.traced_parameter(Parameter::Rs).unwrap());
        let interval = rs[0].minus(&rs[1]).unwrap().interval(0.95);
        of_fit += usize::from((interval.low.unwrap()..=interval.high.unwrap()).contains(&-1.0));
    }
    let share = |n: usize| 100.0 * n as f64 / runs as f64;
    println!(
        "Isc, Voc, Pmax, FF: {:?} % of {runs}; as if independent {:?} %; Rs {:.1} %; u(ΔIsc) {tighter:.1} times smaller",
        held.map(share),
        apart.map(share),
        share(of_fit)
    );
    let margin = 1.5 + 300.0 * (0.95 * 0.05 / runs as f64).sqrt();
    for n in held.into_iter().chain([of_fit]) {
        assert!((share(n) - 95.0).abs() < margin, "{:?} {}", held.map(share), share(of_fit));
    }
    assert!(tighter > 5.0 && share(apart[0]) > 99.0, "{tighter} {:?}", apart.map(share));
}

/// The sources of each figure make its u, and those of two figures their covariance.
#[test]
fn sources_add_up_to_the_covariance() {
    let (v, i) = readings(&cell(20e-3, 2.0), 1.0, 0.0, &mut Rng(5));
    let gain = Estimate::new(1.0, 0.01, Unit::One).identified(Identity::distinct(), "meter");
    let light = Estimate::new(1000.0, 20.0, Unit::WattPerM2).identified(Identity::named("lamp"), "lamp");
    let options = SweepOptions::default()
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .area_cm2(Estimate::new(1.0, 0.01, Unit::Cm2).identified(Identity::distinct(), "mask"))
        .irradiance_w_m2(light)
        .corrections(vec![Correction::Gain { voltage: None, current: Some(gain) }]);
    let points = key_points(&Sweep::new(&v, &i, options).unwrap());
    let m = points.names.len();
    for (j, a) in points.names.iter().enumerate() {
        for (k, b) in points.names.iter().enumerate() {
            let of = |name: &str| points.traced(name.parse().unwrap()).unwrap();
            let (found, wanted) = (of(a).covariance(&of(b)), points.covariance[j * m + k]);
            let size = (points.covariance[j * m + j] * points.covariance[k * m + k]).sqrt();
            assert!((found - wanted).abs() < 1e-9 * size, "{a} {b} {found} {wanted}");
        }
    }
    for figure in KeyPoint::ALL {
        let traced = points.traced(figure).unwrap();
        let sum: f64 = traced.known_sources().iter().map(|s| s.u * s.u).sum();
        let u = traced.u.unwrap();
        assert!((sum / (u * u) - 1.0).abs() < 1e-9, "{figure}");
    }
}
