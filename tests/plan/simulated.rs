//! What simulated sweeps scatter by, beside what was planned.
//!
//! `LITDIODE_RUNS=2000 cargo test --release --test plan simulated -- --nocapture` makes the tables of docs/planning.md.

use crate::support::planned::{Planned, noise_of, runs, scatter_of_ff, twelve};
use litdiode::plan::{Expected, Method, PlanOptions, plan_sweep};
use litdiode::sweep::Swept;

/// Scatter of a reading, as a share of Isc or Voc.
const NOISE: f64 = 0.003;

/// Simulated over planned u of FF.
fn ratio(of: &Planned, swept: Swept, (first, runs): (u64, usize)) -> (f64, f64, f64) {
    let noise = noise_of(of, swept, NOISE);
    let options = PlanOptions::default().noise(noise).swept(swept).spread(0.0);
    let plan = plan_sweep(&Expected::one_diode(&[of.model]).unwrap(), &options).unwrap();
    let u = plan.target().u.unwrap();
    let (mean, spread, given) = scatter_of_ff(&of.model, swept, &plan.set_points, noise, (first, runs), true);
    assert_eq!(given, 1.0, "{}", of.name);
    (u, spread / u, (mean - plan.target().value) / u)
}

fn agree(swept: Swept, few: usize) {
    let runs = runs(few);
    let error = 1.0 / (2.0 * runs as f64).sqrt();
    println!("{swept:?} set, {runs} sweeps each, statistical error {:.1} %", 100.0 * error);
    println!("| device | planned u(FF) | simulated/planned | bias/u |\n|---|---|---|---|");
    let mut sum = 0.0;
    let mut wrong = Vec::new();
    for (k, of) in twelve().iter().enumerate() {
        // Sweeps of their own, so that the ratios are independent.
        let (u, ratio, bias) = ratio(of, swept, (1 + 1_000_000 * k as u64, runs));
        println!("| {} | {u:.5} | {ratio:.3} | {bias:.2} |", of.name);
        sum += ratio;
        if (ratio - 1.0).abs() > 0.05 + 3.0 * error {
            wrong.push((of.name, ratio));
        }
    }
    let mean = sum / 12.0;
    println!("mean {mean:.3}");
    assert!(wrong.is_empty(), "{wrong:?}");
    assert!((mean - 1.0).abs() < 0.05, "{mean}");
}

#[test]
fn planned_and_simulated_uncertainties_agree_where_the_voltage_is_set() {
    agree(Swept::Voltage, 200);
}

#[test]
fn planned_and_simulated_uncertainties_agree_where_the_current_is_set() {
    agree(Swept::Current, 200);
}

/// Without a model: the scatter of FF from the planned set points, beside what was stated, and from equal steps.
#[test]
fn without_a_model_the_scatter_is_as_planned() {
    let runs = runs(100);
    println!("without a model, {runs} sweeps each");
    println!(
        "| device | planned u(FF) | simulated/planned | equal voltage simulated/simulated |\n|---|---|---|---|"
    );
    let (mut sum, mut gain) = (0.0, 0.0);
    for of in twelve() {
        let noise = noise_of(&of, Swept::Voltage, 0.01);
        let options = PlanOptions::default().noise(noise).method(Method::Local);
        let plan = plan_sweep(&Expected::one_diode(&[of.model]).unwrap(), &options).unwrap();
        let u = plan.target().u.unwrap();
        let of_set = |set: &[f64]| scatter_of_ff(&of.model, Swept::Voltage, set, noise, (7, runs), false).1;
        let even: Vec<f64> = (0..25).map(|k| of.voc() * (-0.05 + 1.1 * f64::from(k) / 24.0)).collect();
        let (planned, equal) = (of_set(&plan.set_points), of_set(&even));
        println!("| {} | {u:.5} | {:.3} | {:.2} |", of.name, planned / u, equal / planned);
        sum += planned / u / 12.0;
        gain += (equal / planned).ln() / 12.0;
    }
    println!("mean {sum:.3}, gain {:.2}", gain.exp());
    assert!((sum - 1.0).abs() < 0.15, "{sum}");
    assert!(gain.exp() > 1.1, "{}", gain.exp());
}
