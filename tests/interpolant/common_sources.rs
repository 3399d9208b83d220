//! What moves all readings together is in the ± of a smooth, of whichever axis was set.

use crate::support::Rng;
use litdiode::diode::{Circuit, Junction};
use litdiode::estimate::{Estimate, Unit};
use litdiode::interpolant::{Penalty, smooth_sweep};
use litdiode::sweep::{Correction, Leads, Noise, Sign, Sweep, SweepOptions, Swept};

const ISC: f64 = 0.02;

fn cell(rs: f64) -> Circuit<1> {
    Circuit::new(ISC, [1e-9], [0.036], rs, 1.0 / 900.0)
}

/// A cell of 1 Ω behind leads, by a rig whose gains, offset and leads are drawn from what the sweep states.
fn measured(swept: Swept, rng: &mut Rng) -> Sweep {
    let (leads, gain_u, offset_u) = (2.0, 0.01, 1e-3);
    let seen = cell(1.0 + leads + 0.2 * rng.normal());
    let (gain, offset) = (1.0 + gain_u * rng.normal(), offset_u * rng.normal());
    let noise = Noise::default().current_gain_u(gain_u).voltage_offset_u(offset_u);
    let (mut v, mut i) = (Vec::new(), Vec::new());
    for k in 0..60 {
        let part = f64::from(k) / 59.0;
        let (true_v, true_i) = if swept == Swept::Voltage {
            let v = -0.05 + 0.66 * part;
            (v, seen.current_at(v))
        } else {
            let i = ISC * (-0.05 + 1.07 * part);
            (seen.voltage_at(i), i)
        };
        let (of_v, of_i) = if swept == Swept::Voltage { (0.0, 1e-3 * ISC) } else { (1e-3, 0.0) };
        v.push(true_v + offset + of_v * rng.normal());
        i.push(gain * true_i + of_i * rng.normal());
    }
    let noise = if swept == Swept::Voltage { noise.current_a(1e-3 * ISC) } else { noise.voltage_v(1e-3) };
    let options = SweepOptions::default()
        .swept(swept)
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .noise(noise)
        .corrections(vec![Correction::LeadResistance { ohm: Estimate::new(leads, 0.2, Unit::Ohm) }]);
    Sweep::new(&v, &i, options).expect("a valid sweep")
}

/// Without them the intervals held in 10 to 60 %.
#[test]
fn currents_slopes_and_bands_hold() {
    const RUNS: usize = 200;
    let truth = cell(1.0);
    let places = [0.1, 0.3, 0.45, 0.5];
    for swept in [Swept::Voltage, Swept::Current] {
        let (mut currents, mut bands, mut steep) = ([0; 4], [0; 4], 0);
        let mut rng = Rng(77);
        for _ in 0..RUNS {
            let smooth =
                smooth_sweep(&measured(swept, &mut rng), Penalty::CrossValidation).expect("a smooth");
            let (found, band) =
                (smooth.current(&places).expect("currents"), smooth.band(&places, 0.95).expect("a band"));
            for k in 0..4 {
                let i = truth.current_at(places[k]);
                let holds = |low: Option<f64>, high: Option<f64>| {
                    usize::from((low.expect("an end")..=high.expect("an end")).contains(&i))
                };
                let interval = found[k].interval(0.95);
                currents[k] += holds(interval.low, interval.high);
                bands[k] += holds(band[k].low, band[k].high);
            }
            // At V = 0.1 V the slope is that of the shunt, which the gain moves by 1 %: its own noise decides.
            let slope = &smooth.slope(&[0.5]).expect("a slope")[0];
            let u = truth.current(truth.at_voltage(0.5)).slope;
            let interval = slope.interval(0.95);
            let true_slope = u / (1.0 - u);
            steep += usize::from(
                (interval.low.expect("an end")..=interval.high.expect("an end")).contains(&true_slope),
            );
        }
        println!("{swept:?}: currents {currents:?}, bands {bands:?}, slope {steep} of {RUNS}");
        // 95 % less 3.5 standard deviations of 200 runs.
        let least = (0.895 * RUNS as f64) as usize;
        assert!(currents.iter().chain(&bands).all(|n| *n >= least), "{swept:?} {currents:?} {bands:?}");
        assert!(steep >= least, "{swept:?} {steep}");
    }
}

/// A gain of 1 % alone is 1 % of every current, an offset the slope times it.
#[test]
fn a_gain_and_an_offset_are_what_they_are() {
    let v: Vec<f64> = (0..40).map(|k| -0.05 + 0.65 * f64::from(k) / 39.0).collect();
    let i: Vec<f64> = v.iter().map(|v| cell(1.0).current_at(*v)).collect();
    let with = |noise: Noise| {
        let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
        let sweep = Sweep::new(&v, &i, options.noise(noise.current_a(1e-9))).expect("a valid sweep");
        smooth_sweep(&sweep, Penalty::CrossValidation).expect("a smooth")
    };
    let gain = with(Noise::default().current_gain_u(0.01));
    let offset = with(Noise::default().voltage_offset_u(1e-3));
    for at in [0.0, 0.3, 0.5] {
        let found = &gain.current(&[at]).expect("a current")[0];
        assert!((found.u.expect("u") / (0.01 * found.value) - 1.0).abs() < 1e-3, "{at} {found:?}");
        let slope = offset.curve().slope(&[at], false).expect("a slope").values[0];
        let u = offset.current(&[at]).expect("a current")[0].u.expect("u");
        assert!((u / (1e-3 * slope.abs()) - 1.0).abs() < 2e-2, "{at} {u} {slope}");
    }
}

/// A smooth that was stored has them too.
#[cfg(feature = "serde")]
#[test]
fn a_stored_smooth_has_its_common_sources() {
    let sweep = measured(Swept::Voltage, &mut Rng(5));
    let gain = smooth_sweep(&sweep, Penalty::CrossValidation).expect("a smooth");
    let text = serde_json::to_string(&gain).expect("JSON");
    let again: litdiode::interpolant::Smooth = serde_json::from_str(&text).expect("the same");
    assert_eq!(again, gain);
    assert_eq!(again.current(&[0.3]).expect("a current"), gain.current(&[0.3]).expect("a current"));
}
