//! What the integration tests and simulations share: published tables, devices, sweeps, random numbers.
#![allow(dead_code)]

pub mod coverage;
pub mod device;
pub mod figures;
pub mod hostile;
pub mod kinds;
pub mod live;
pub mod measured;
pub mod multistart;
pub mod outliers;
pub mod planned;
pub mod powers;
pub mod random;
pub mod shapes;
pub mod short;
pub mod smooths;
pub mod tracers;

use litdiode::sweep::{Leads, Sign, Sweep, SweepOptions};
pub use random::Rng;

/// The sweep of a table in tests/data with columns voltage_v, current_a.
pub fn published(name: &str, temperature_c: f64, cells: u32) -> Sweep {
    let path = format!("{}/tests/data/{name}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    let (mut v, mut a) = (Vec::new(), Vec::new());
    for line in text.lines().filter(|l| l.starts_with(|c: char| c.is_ascii_digit() || c == '-')) {
        let mut cells = line.split(',').map(|c| c.trim().parse::<f64>().unwrap());
        v.push(cells.next().unwrap());
        a.push(cells.next().unwrap());
    }
    let options = SweepOptions::default().temperature_c(temperature_c).cells(cells);
    Sweep::new(&v, &a, options).unwrap()
}

/// Options that take the readings as they are.
pub fn as_given(temperature_c: f64, cells: u32) -> SweepOptions {
    SweepOptions::default()
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .temperature_c(temperature_c)
        .cells(cells)
}
