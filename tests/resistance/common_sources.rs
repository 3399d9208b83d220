//! What moves all points of a sweep is in the ± of every method that reads the sweep.

use litdiode::diode::{Circuit, Junction};
use litdiode::estimate::{Estimate, Unit};
use litdiode::maximum_power::maximum_powers;
use litdiode::resistance::{Measured, Quantity, resistances};
use litdiode::source::Identity;
use litdiode::sweep::{Correction, Leads, Noise, Sign, Sweep, SweepOptions};

/// An invented cell behind leads of `leads` Ω, with a small ripple for noise.
fn readings(leads: f64) -> (Vec<f64>, Vec<f64>) {
    let cell = Circuit::<1>::new(0.030, [1e-9], [0.036], 0.8, 1.0 / 900.0);
    let v: Vec<f64> = (0..40).map(|k| -0.15 + 0.02 * f64::from(k)).collect();
    let i: Vec<f64> = v
        .iter()
        .enumerate()
        .map(|(k, v)| cell.current_at(*v) + 2e-6 * [1.0, -0.7, 0.4, -1.2, 0.6, 1.1, -0.9][k % 7])
        .collect();
    (v.iter().zip(&i).map(|(v, i)| v - leads * i).collect(), i)
}

fn sweep(leads: &Estimate) -> Sweep {
    let (v, i) = readings(0.5);
    let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
    let options = options.noise(Noise::default().current_a(2e-6));
    let corrections = vec![Correction::LeadResistance { ohm: leads.clone() }];
    Sweep::new(&v, &i, options.corrections(corrections)).unwrap()
}

/// Leads known to 0.1 Ω leave every series resistance as uncertain as that, each method by itself, and Pmax by I²·0.1 Ω.
#[test]
fn leads_are_in_every_series_resistance() {
    let ohm = |u: f64| Estimate::new(0.5, u, Unit::Ohm).identified(Identity::distinct(), "leads");
    let (rough, exact) = (sweep(&ohm(0.1)), sweep(&ohm(0.0)));
    let n = Estimate::new(1.4, 0.0, Unit::One);
    let of = |sweep: &Sweep| resistances(&Measured::default().lit(sweep).n(&n));
    let (with, without) = (of(&rough), of(&exact));
    let mut compared = 0;
    for row in with.found.iter().filter(|r| r.quantity == Quantity::Series) {
        let plain = without.get(Quantity::Series, row.method).unwrap();
        let (Some(u), Some(own)) = (row.estimate.u, plain.estimate.u) else { continue };
        let added = (u * u - own * own).sqrt();
        assert!((added / 0.1 - 1.0).abs() < 0.05, "{}: {added}", row.method);
        let (low, high) = (row.interval.low.unwrap(), row.interval.high.unwrap());
        assert!(high - low > 0.3, "{}: {low} {high}", row.method);
        compared += 1;
    }
    assert!(compared >= 3, "{compared}");
    let (with, without) = (maximum_powers(&rough), maximum_powers(&exact));
    for row in &with.estimates {
        let plain = without.estimates.iter().find(|r| r.method == row.method).unwrap();
        let (Some(u), Some(own)) = (row.pmax.u, plain.pmax.u) else { continue };
        let current = row.pmax.value / row.v_pmax;
        let added = (u * u - own * own).max(0.0).sqrt();
        assert!((added / (0.1 * current * current) - 1.0).abs() < 0.1, "{}: {added}", row.method);
    }
}

/// A gain of the noise is in the highest sample and in the smooth as in the guided curve.
#[test]
fn gains_are_in_every_maximum_power() {
    let (v, i) = readings(0.0);
    let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
    let options = options.noise(Noise::default().current_a(2e-6).current_gain_u(0.02));
    let found = maximum_powers(&Sweep::new(&v, &i, options).unwrap());
    assert!(found.estimates.len() >= 4, "{}", found.estimates.len());
    for row in &found.estimates {
        let share = row.pmax.relative_u().unwrap();
        assert!((share / 0.02 - 1.0).abs() < 0.05, "{}: {share}", row.method);
    }
}
