//! Fits of sweeps whose lead resistance was corrected: the noise of the current is in the corrected voltage as well.

use crate::support::Rng;
use litdiode::diode::{Circuit, Junction, thermal_voltage_v};
use litdiode::estimate::{Estimate, Unit};
use litdiode::fit::{Options, Parameter, Residual, fit_single_diode};
use litdiode::sweep::{Correction, Leads, Noise, Sign, Sweep, SweepOptions};

const LEADS_OHM: f64 = 3.0;
const SIGMA_A: f64 = 4e-5;
const SIGMA_V: f64 = 5e-4;

/// A 20 mA cell measured over leads of three times its series resistance.
fn corrected(rng: &mut Rng, noise: Noise, rel: f64) -> Sweep {
    let a = thermal_voltage_v(1.4, 1, 25.0);
    let seen = Circuit::<1>::new(0.020, [1e-9], [a], 1.0 + LEADS_OHM, 1.0 / 800.0);
    let sigma_v = if noise.states_voltage() { SIGMA_V } else { 0.0 };
    let set: Vec<f64> = (0..40).map(|k| -0.05 + 0.73 * f64::from(k) / 39.0).collect();
    let read: Vec<f64> = set
        .iter()
        .map(|v| {
            let i = seen.current_at(*v + sigma_v * rng.normal());
            i + SIGMA_A.hypot(rel * i) * rng.normal()
        })
        .collect();
    let options = SweepOptions::default()
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .noise(noise)
        .corrections(vec![Correction::LeadResistance { ohm: Estimate::new(LEADS_OHM, 0.0, Unit::Ohm) }]);
    Sweep::new(&set, &read, options).expect("a valid sweep")
}

/// Before, χ²/ν was 1.7, and the intervals of Rs held in 73 %, those of Voc in 70 %.
#[test]
fn intervals_hold_where_leads_carry_the_noise_of_the_current() {
    use Parameter::{Iph, N, Rs, Rsh};
    let truth = [(Rs, 1.0), (N, 1.4), (Iph, 0.020), (Rsh, 800.0)];
    let on_current = Noise::default().current_a(SIGMA_A);
    let cases = [
        ("current", on_current, 0.0, None),
        ("current, proportional", on_current.current_rel(3e-3), 3e-3, None),
        ("both axes", on_current.voltage_v(SIGMA_V), 0.0, Some(Residual::Nearest)),
    ];
    for (name, noise, rel, residual) in cases {
        const RUNS: usize = 300;
        let (mut holds, mut chi2, mut dof) = ([0; 4], 0.0, 0.0);
        let mut rng = Rng(2026);
        for _ in 0..RUNS {
            let fit = fit_single_diode(&corrected(&mut rng, noise, rel), &Options::default()).expect("a fit");
            assert_eq!(fit.residual, residual.unwrap_or(Residual::Current));
            (chi2, dof) = (chi2 + fit.chi2, dof + fit.dof as f64);
            for (holds, (parameter, value)) in holds.iter_mut().zip(truth) {
                let interval = fit.interval(parameter, 0.95).expect("an interval");
                let (low, high) = (interval.low.unwrap_or(0.0), interval.high.unwrap_or(f64::INFINITY));
                *holds += usize::from((low..=high).contains(&value));
            }
        }
        println!("{name}: χ²/ν {:.3}, {holds:?} of {RUNS}", chi2 / dof);
        assert!((chi2 / dof - 1.0).abs() < 0.05, "{name}: {}", chi2 / dof);
        // 95 % less 3.5 standard deviations of 300 runs, and two of Rsh, which is close to its bound.
        assert!(holds.iter().all(|h| *h as f64 > 0.905 * RUNS as f64), "{name}: {holds:?}");
    }
}
