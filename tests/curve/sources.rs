//! Sources that err at every point for themselves: a noise under another name.

use crate::support::Rng;
use litdiode::curve::{estimate_noise, key_points};
use litdiode::diode::{Circuit, Junction};
use litdiode::key_points::KeyPoints;
use litdiode::sweep::{Effect, Leads, Noise, Reach, Sign, Sweep, SweepOptions, Swept};

const COUNT: usize = 41;

/// An invented cell of 30 mA.
fn cell() -> Circuit<1> {
    Circuit::new(0.03, [1e-9], [0.036], 0.5, 1e-3)
}

fn options(swept: Swept) -> SweepOptions {
    SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven).swept(swept)
}

fn u_of(points: &KeyPoints) -> Vec<f64> {
    let figures = [&points.isc, &points.voc, &points.pmax, &points.ff];
    figures.into_iter().map(|figure| figure.as_ref().unwrap().u.unwrap()).collect()
}

/// Whether it is stated as a noise of the instrument or as a source that reaches each reading, the same scatter gives the same u;
/// also a proportional one.
#[test]
fn a_source_at_every_point_counts_as_a_noise() {
    let mut rng = Rng(11);
    let u: Vec<f64> = (0..COUNT).map(|k| -0.05 + 0.7 * k as f64 / (COUNT - 1) as f64).collect();
    let (v, i): (Vec<f64>, Vec<f64>) = u.iter().map(|u| (*u, cell().current_at(*u))).unzip();
    let noises = [
        (Swept::Voltage, Noise::default().current_a(1e-5)),
        (Swept::Voltage, Noise::default().current_a(3e-6).current_rel(2e-3)),
        (Swept::Current, Noise::default().voltage_v(2e-4)),
        (Swept::Current, Noise::default().voltage_v(1e-4).voltage_rel(1e-3)),
    ];
    for (swept, noise) in noises {
        let (of_v, of_i): (Vec<f64>, Vec<f64>) =
            v.iter().zip(&i).map(|(v, i)| (noise.sigma_voltage(*v), noise.sigma_current(*i))).unzip();
        let read = |x: &[f64], sigma: &[f64], rng: &mut Rng| -> Vec<f64> {
            x.iter().zip(sigma).map(|(x, s)| x + s * rng.normal()).collect()
        };
        let (v, i) = (read(&v, &of_v, &mut rng), read(&i, &of_i, &mut rng));
        let stated = key_points(&Sweep::new(&v, &i, options(swept).noise(noise)).unwrap());
        let source = Effect::new("scatter", Reach::Each, of_v, of_i);
        let with_source = options(swept).noise(noise).effects(vec![source]);
        let of_source = key_points(&Sweep::new(&v, &i, with_source).unwrap());
        for (wanted, found) in u_of(&stated).into_iter().zip(u_of(&of_source)) {
            println!("{swept:?}: u {found:.4e} of the source, {wanted:.4e} of the noise");
            assert!((found / wanted - 1.0).abs() < 0.02);
        }
    }
}

/// Nothing stated: what was not set is what scatters, and the ± are about those of the noise stated as it is.
#[test]
fn a_scatter_that_nobody_stated_is_that_of_what_was_read() {
    let mut rng = Rng(12);
    let v: Vec<f64> = (0..COUNT).map(|k| -0.05 + 0.7 * k as f64 / (COUNT - 1) as f64).collect();
    let i: Vec<f64> = v.iter().map(|v| cell().current_at(*v)).collect();
    for (swept, noise) in [
        (Swept::Voltage, Noise::default().current_a(1e-5)),
        (Swept::Current, Noise::default().voltage_v(3e-4)),
    ] {
        let mut ratios: Vec<f64> = Vec::new();
        for _ in 0..20 {
            let read_v: Vec<f64> = v.iter().map(|v| v + noise.voltage_v * rng.normal()).collect();
            let read_i: Vec<f64> = i.iter().map(|i| i + noise.current_a * rng.normal()).collect();
            let stated = key_points(&Sweep::new(&read_v, &read_i, options(swept).noise(noise)).unwrap());
            let unstated = Sweep::new(&read_v, &read_i, options(swept)).unwrap();
            let (found, estimated) = (key_points(&unstated), estimate_noise(&unstated).unwrap());
            let (own, truth, other) = match swept {
                Swept::Voltage => (estimated.current_a, noise.current_a, estimated.voltage_v),
                Swept::Current => (estimated.voltage_v, noise.voltage_v, estimated.current_a),
            };
            assert!((own / truth - 1.0).abs() < 5.0 / (2.0 * estimated.scatter_dof).sqrt(), "{estimated:?}");
            assert_eq!(other, 0.0);
            ratios.extend(u_of(&found).into_iter().zip(u_of(&stated)).map(|(a, b)| a / b));
        }
        ratios.sort_by(f64::total_cmp);
        let [low, half, high] = [0.05, 0.5, 0.95].map(|p| ratios[(p * ratios.len() as f64) as usize]);
        println!("{swept:?}: u found to u stated {low:.2} {half:.2} {high:.2}");
        assert!(low > 0.4 && (0.75..1.35).contains(&half) && high < 2.5, "{swept:?} {low} {half} {high}");
    }
}

/// ν of a figure with a common source of its own degrees of freedom, by Welch and Satterthwaite from that without the source:
/// u⁴/ν = u₁⁴/ν₁ + u₂⁴/ν₂.
#[test]
fn degrees_of_freedom_with_a_common_source_are_those_of_welch_and_satterthwaite() {
    let mut rng = Rng(13);
    let v: Vec<f64> = (0..COUNT).map(|k| -0.05 + 0.7 * k as f64 / (COUNT - 1) as f64).collect();
    let i: Vec<f64> = v.iter().map(|v| cell().current_at(*v) + 2e-5 * rng.normal()).collect();
    let plain = key_points(&Sweep::new(&v, &i, options(Swept::Voltage)).unwrap()).isc.unwrap();
    let offset = |dof: f64| {
        let mut source = Effect::new("offset", Reach::Common, vec![0.0; COUNT], vec![1.5e-5; COUNT]);
        source.dof = dof;
        let options = options(Swept::Voltage).effects(vec![source]);
        key_points(&Sweep::new(&v, &i, options).unwrap()).isc.unwrap()
    };
    let (own, all) = (plain.u.unwrap(), plain.u.unwrap().hypot(1.5e-5));
    for dof in [3.0, 12.0, f64::INFINITY] {
        let found = offset(dof);
        let wanted = all.powi(4) / (own.powi(4) / plain.dof + 1.5e-5f64.powi(4) / dof);
        println!("u {:.4e} ({all:.4e}), ν {:.3} ({wanted:.3})", found.u.unwrap(), found.dof);
        assert!((found.u.unwrap() / all - 1.0).abs() < 1e-3);
        assert!((found.dof / wanted - 1.0).abs() < 0.02);
    }
}

/// A hundred readings whose noise is 2 % of each, which nobody stated: about Voc there is hardly any, and its ± is a few times
/// that of the noise stated as it is. Taken for even it would be fourteen times.
#[test]
fn a_proportional_noise_of_a_read_current_is_found_among_a_hundred_readings() {
    let mut rng = Rng(14);
    let v: Vec<f64> = (0..100).map(|k| -0.05 + 0.7 * f64::from(k) / 99.0).collect();
    let noise = Noise::default().current_rel(0.02).current_a(1e-6);
    let mut ratios: Vec<f64> = (0..15)
        .map(|_| {
            let i: Vec<f64> = v.iter().map(|v| cell().current_at(*v) * (1.0 + 0.02 * rng.normal())).collect();
            let u = |options| key_points(&Sweep::new(&v, &i, options).unwrap()).voc.unwrap().u.unwrap();
            u(options(Swept::Voltage)) / u(options(Swept::Voltage).noise(noise))
        })
        .collect();
    ratios.sort_by(f64::total_cmp);
    println!("u(Voc) found to that stated {ratios:.2?}");
    assert!((0.7..5.0).contains(&ratios[7]), "{ratios:?}");
}
