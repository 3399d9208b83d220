//! Through C the same bits come as from Rust. LITDIODE_SWEEPS=1000 for the long version.

use crate::host::{Random, call, done, list, made, one, out, size};
use litdiode::code::Coded;
use litdiode::curve;
use litdiode::diode::{Device, Parameters};
use litdiode::estimate::Estimate;
use litdiode::fit::{self, Fit, Options, Parameter};
use litdiode::key_points::{KeyPoint, KeyPoints};
use litdiode::resistance::{Measured, Resistances, resistances};
use litdiode::sweep::{Noise, Sweep, SweepOptions};
use litdiode_capi::choices::*;
use litdiode_capi::{
    fit as c_fit, general, key_points, model, resistances as c_resistances, sweep, sweep_settings,
};

/// A device, invented, and a noisy sweep of it.
fn readings(random: &mut Random) -> (Device<1>, Vec<f64>, Vec<f64>, f64) {
    let iph_a = random.between(1e-4, 10.0);
    let device = Device::new(Parameters {
        iph_a,
        i0_a: [iph_a * random.between(1e-12, 1e-5)],
        n: [random.between(1.0, 2.0)],
        rs_ohm: random.between(1e-3, 0.1) / iph_a,
        rsh_ohm: random.between(3.0, 1e4) / iph_a,
        cells: 1,
        temperature_c: 25.0,
    })
    .unwrap();
    let voc = device.key_points().voc.unwrap().value;
    let points = 12 + random.below(30);
    let v: Vec<f64> = (0..points).map(|k| voc * (-0.05 + 1.1 * k as f64 / (points - 1) as f64)).collect();
    let mut i = vec![0.0; points];
    device.current(&v, &mut i).unwrap();
    let noise = iph_a * random.between(1e-5, 2e-2);
    i.iter_mut().for_each(|i| *i += noise * random.normal());
    (device, v, i, noise)
}

fn bits(x: f64) -> u64 {
    x.to_bits()
}

fn same_list(found: &[f64], own: &[f64]) {
    let bits = |list: &[f64]| list.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(found), bits(own));
}

fn same_estimate(e: &Estimate, (value, u, dof): (f64, f64, f64)) {
    let own = (bits(e.value), bits(e.u.unwrap_or(f64::NAN)), bits(e.dof));
    assert_eq!(own, (bits(value), bits(u), bits(dof)), "{e}");
}

fn same_key_points(handle: u64, own: &KeyPoints) {
    for figure in KeyPoint::ALL {
        let number = KEY_POINT.number(figure);
        let (mut value, mut u, mut dof) = (0.0, 0.0, 0.0);
        let (status, _) = call!(
            key_points::litdiode_key_points_figure,
            handle,
            number,
            one(&mut value),
            one(&mut u),
            one(&mut dof)
        );
        match own.get(figure.name()) {
            Some(estimate) => {
                assert_eq!(status, 0);
                same_estimate(estimate, (value, u, dof));
                let (mut low, mut high) = (0.0, 0.0);
                let ends = (one(&mut low), one(&mut high));
                done!(key_points::litdiode_key_points_interval, handle, number, 0.95, ends.0, ends.1);
                let interval = estimate.interval(0.95);
                assert_eq!(bits(low), bits(interval.low.unwrap_or(f64::NAN)));
                assert_eq!(bits(high), bits(interval.high.unwrap_or(f64::NAN)));
            }
            None => assert_eq!(status, i32::from(own.why_absent(figure.name()).unwrap().code())),
        }
    }
    let (mut figures, mut matrix, mut count) = ([0i32; 6], [0.0; 36], 0usize);
    let (f, m) = (out(&mut figures), out(&mut matrix));
    done!(key_points::litdiode_key_points_covariance, handle, f, 6, m, 36, one(&mut count));
    let numbers: Vec<i32> = own.names.iter().map(|name| KEY_POINT.number(name.parse().unwrap())).collect();
    assert_eq!((count, &figures[..count]), (numbers.len(), &numbers[..]));
    same_list(&matrix[..own.covariance.len()], &own.covariance);
    assert_eq!(own.covariance.len(), count * count);
}

fn same_fit<const K: usize>(handle: u64, own: &Fit<K>) {
    for (parameter, estimate) in &own.parameters {
        let (mut value, mut u, mut dof) = (0.0, 0.0, 0.0);
        let outs = (one(&mut value), one(&mut u), one(&mut dof));
        done!(c_fit::litdiode_fit_parameter, handle, PARAMETER.number(*parameter), outs.0, outs.1, outs.2);
        same_estimate(estimate, (value, u, dof));
    }
    let (mut status, mut stated, mut dof, mut notes) = (0, 0, 0usize, 0usize);
    let (mut rms, mut chi2) = (0.0, 0.0);
    done!(
        c_fit::litdiode_fit_quality,
        handle,
        one(&mut status),
        one(&mut rms),
        one(&mut chi2),
        one(&mut dof),
        one(&mut stated),
        one(&mut notes)
    );
    assert_eq!((status, stated), (own.status.code().into(), own.noise_stated.into()));
    assert_eq!((bits(rms), bits(chi2), dof), (bits(own.rms), bits(own.chi2), own.dof));
    assert_eq!(notes, own.notes.len());
    for (k, note) in own.notes.iter().enumerate() {
        let mut number = 0;
        assert_eq!(done!(c_fit::litdiode_fit_note, handle, k, one(&mut number)), note.to_string());
        assert_eq!(number, i32::from(note.code()));
    }
    let (mut names, mut matrix, mut count) = ([0; 7], [0.0; 49], 0usize);
    let (n, m) = (out(&mut names), out(&mut matrix));
    done!(c_fit::litdiode_fit_covariance, handle, n, 7, m, 49, one(&mut count));
    // Where the data give no covariance, none is told of its names.
    let known = if own.covariance.is_empty() { &[] } else { &own.names[..] };
    let numbers: Vec<i32> = known.iter().map(|name| PARAMETER.number(*name)).collect();
    assert_eq!((count, &names[..count]), (numbers.len(), &numbers[..]));
    same_list(&matrix[..own.covariance.len()], &own.covariance);
    assert_eq!(own.covariance.len(), count * count);
    let mut residuals = vec![0.0; own.residuals.len()];
    done!(c_fit::litdiode_fit_residuals, handle, out(&mut residuals), own.residuals.len());
    assert_eq!(residuals, own.residuals);
}

fn same_intervals(handle: u64, own: &Fit<1>) {
    for parameter in Parameter::OF_ONE {
        let (mut low, mut high) = (0.0, 0.0);
        let ends = (one(&mut low), one(&mut high));
        let number = PARAMETER.number(parameter);
        let method = LITDIODE_INTERVAL_PROFILE;
        done!(c_fit::litdiode_fit_interval, handle, number, 0.95, method, 0, ends.0, ends.1);
        let interval = own.profile_interval(parameter, 0.95);
        assert_eq!(bits(low), bits(interval.low.unwrap_or(f64::NAN)));
        assert_eq!(bits(high), bits(interval.high.unwrap_or(f64::NAN)));
    }
}

fn same_model(device: &Device<1>, v: &[f64], i: &[f64]) {
    let p = device.parameters();
    let parameters = [p.iph_a, p.i0_a[0], p.n[0], p.rs_ohm, p.rsh_ohm];
    let handle = made!(model::litdiode_model_new, 1, list(&parameters), 5, p.cells, p.temperature_c);
    let mut own = vec![0.0; v.len()];
    let mut found = own.clone();
    let n = v.len();
    device.current(v, &mut own).unwrap();
    done!(model::litdiode_model_current, handle, list(v), n, out(&mut found), n);
    assert_eq!(own, found);
    device.voltage(i, &mut own).unwrap();
    done!(model::litdiode_model_voltage, handle, list(i), n, out(&mut found), n);
    assert_eq!(own, found);
    device.slope(v, &mut own).unwrap();
    done!(model::litdiode_model_slope, handle, list(v), n, out(&mut found), n);
    assert_eq!(own, found);
    let points = made!(model::litdiode_model_key_points, handle);
    same_key_points(points, &device.key_points());
    done!(general::litdiode_free, points);
    done!(general::litdiode_free, handle);
}

fn same_resistances(handle: u64, own: &Resistances) {
    let (mut found, mut absent) = (0usize, 0usize);
    let counts = (one(&mut found), one(&mut absent));
    done!(c_resistances::litdiode_resistances_counts, handle, counts.0, counts.1);
    assert_eq!((found, absent), (own.found.len(), own.absent.len()));
    for (k, resistance) in own.found.iter().enumerate() {
        let (mut quantity, mut value, mut u, mut dof) = (0, 0.0, 0.0, 0.0);
        let outs = (one(&mut quantity), one(&mut value), one(&mut u), one(&mut dof));
        let method = done!(c_resistances::litdiode_resistance, handle, k, outs.0, outs.1, outs.2, outs.3);
        assert_eq!(method, resistance.method);
        assert_eq!(quantity, QUANTITY.number(resistance.quantity));
        same_estimate(&resistance.estimate, (value, u, dof));
    }
    for (k, one_absent) in own.absent.iter().enumerate() {
        let (mut quantity, mut reason) = (0, 0);
        let outs = (one(&mut quantity), one(&mut reason));
        let text = done!(c_resistances::litdiode_resistance_absent, handle, k, outs.0, outs.1);
        assert_eq!(reason, i32::from(one_absent.why.code()));
        assert_eq!(quantity, QUANTITY.number(one_absent.quantity));
        assert_eq!(text, format!("{}: {}", one_absent.method, one_absent.why));
    }
}

#[test]
fn through_c_come_the_same_bits() {
    let (sweeps, mut random) = (size("LITDIODE_SWEEPS", 40), Random(0x5eed));
    let mut fitted = 0;
    for k in 0..sweeps {
        let (device, v, i, noise) = readings(&mut random);
        let stated = k % 2 == 0;
        let settings = made!(sweep_settings::litdiode_sweep_settings_new);
        let mut options = SweepOptions::default();
        if stated {
            options = options.noise(Noise::default().current_a(noise));
            done!(sweep_settings::litdiode_sweep_settings_noise, settings, LITDIODE_NOISE_CURRENT_A, noise);
        }
        let own = Sweep::new(&v, &i, options).unwrap();
        let n = v.len();
        let handle = made!(sweep::litdiode_sweep_new, settings, list(&v), n, list(&i), n);
        let points = made!(key_points::litdiode_key_points_new, handle, 0, 0, 0);
        same_key_points(points, &curve::key_points(&own));
        same_model(&device, &v, &i);
        let fit = made!(c_fit::litdiode_fit_new, handle, 1, 0, 0);
        let own_fit = fit::fit_single_diode(&own, &Options::default()).unwrap();
        same_fit(fit, &own_fit);
        fitted += usize::from(own_fit.status == fit::Status::Converged);
        let of_fit = made!(c_fit::litdiode_fit_key_points, fit, 0);
        same_key_points(of_fit, &own_fit.traced_key_points());
        if k % 10 == 0 {
            same_intervals(fit, &own_fit);
            let two = made!(c_fit::litdiode_fit_new, handle, 2, 0, 0);
            same_fit(two, &fit::fit_double_diode(&own, &Options::default()).unwrap());
            done!(general::litdiode_free, two);
        }
        let measurements = made!(c_resistances::litdiode_measurements_new);
        done!(c_resistances::litdiode_measurements_lit, measurements, handle);
        let all = made!(c_resistances::litdiode_resistances_new, measurements, 0);
        same_resistances(all, &resistances(&Measured::default().lit(&own)));
        for handle in [settings, handle, points, fit, of_fit, measurements, all] {
            done!(general::litdiode_free, handle);
        }
    }
    assert!(2 * fitted > sweeps, "{fitted} of {sweeps} fits converged");
    println!("{sweeps} sweeps, {fitted} of their fits converged: all bits are the same");
}
