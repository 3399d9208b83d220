//! The random numbers of tests: [`Rng`]; and normal deviates of the ChaCha generator, by which the simulations draw that made
//! the tables of docs/, so that their seeds keep their sweeps.

use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

pub fn normal(random: &mut ChaCha8Rng) -> f64 {
    StandardNormal.sample(random)
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
