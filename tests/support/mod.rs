//! What several integration tests share: published tables, and a generator of numbers.
#![allow(dead_code)]

use litdiode::sweep::{Leads, Sign, Sweep, SweepOptions};

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

/// SplitMix64 (G. L. Steele, D. Lea, C. H. Flood, OOPSLA 2014), with normal deviates by Box and Muller.
pub struct Rng(pub u64);

impl Rng {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even in (0, 1).
    pub fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// Even between two values.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Even in the logarithm.
    pub fn decades(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    pub fn normal(&mut self) -> f64 {
        (-2.0 * self.unit().ln()).sqrt() * (std::f64::consts::TAU * self.unit()).cos()
    }
}
