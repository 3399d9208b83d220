//! A start for the Wright omega function, ω + ln ω = y: good enough that one step of high order ends at rounding.
//!
//! ```text
//! −6 ≤ y ≤ 5:  ω = Σ cₖ·(y + ½)ᵏ          y > 5:  ln ω = L + δ,  L = ln y,  δ + y·(e^δ − 1) = −L
//! ```
//!
//! The polynomial has the least largest error, weighed by what the step can bear (0.0015 at most, near the lower end;
//! below, where ω < 0.0025, its value there serves). The series for δ is that of the step itself, and ends within 1e-4.

use super::series;
use crate::numerics::special::exp_ln::ln_short;

/// Middle of the polynomial's range, and half its width.
pub const MIDDLE: f64 = -0.5;
pub const HALF: f64 = 5.5;

/// ω at y = MIDDLE + z, for z ≤ HALF.
#[inline(always)]
pub fn small(z: f64) -> f64 {
    let z = if z > -HALF { z } else { -HALF };
    let z = if z < HALF { z } else { HALF };
    let z2 = z * z;
    let z4 = z2 * z2;
    let a = z.mul_add(0.288_222_906_634, 0.405_415_895_982);
    let b = z.mul_add(0.002_388_042_797_18, 0.071_597_766_485_3);
    let c = z.mul_add(-3.362_540_306_91e-5, -0.001_476_620_847_83);
    let d = z.mul_add(2.052_652_665_9e-7, 3.267_110_240_84e-5);
    let high = z4.mul_add(-3.294_524_227_26e-7, z2.mul_add(d, c));
    z4.mul_add(high, z2.mul_add(b, a))
}

/// ln ω for y > 5.
#[inline(always)]
pub fn log_large(y: f64) -> f64 {
    let log = ln_short(y);
    let q = 1.0 / (1.0 + y);
    let theta = y * q;
    log + series(-log * q, [theta; 3])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At y = ω + ln ω the result is ω; within what the step bears.
    #[test]
    fn starts_are_close() {
        for k in -1_000_000..3_000_000 {
            let x = 1e-5 * f64::from(k);
            let (omega, y) = (x.exp(), x + x.exp());
            let error = if y > 5.0 { log_large(y) - x } else { small(y - MIDDLE) - omega };
            let bound = if y > 5.0 { 2e-4 } else { 0.004 };
            assert!(error.abs() < bound, "{error} at {y}");
            // 0.2·θ·error⁵ is what a step leaves.
            let left = 0.2 * omega / (1.0 + omega) * error.powi(5).abs();
            assert!(left < 1e-16, "{left:e} at {y}");
        }
    }
}
