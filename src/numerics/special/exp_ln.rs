//! exp, exp − 1 and ln in plain arithmetic, so that they are the same bits on every machine and in every lane.
//!
//! ```text
//! e^x = 2ⁿ·e^r,  n = round(x/ln 2),  |r| ≤ ½·ln 2           ln x = e·ln 2 + ln m,  m ∈ [√½, √2)
//! ```
//!
//! Every product that feeds a sum is a fused multiply-add, and nothing branches, so that a loop over these functions
//! becomes vector code. Where nothing else is said coefficients are those of the Taylor series, and the first term left
//! out is below half a bit.

/// 1.5·2⁵²: adding it rounds to an integer, which then stands in the low bits.
const ROUNDER: f64 = 6_755_399_441_055_744.0;
const LOG2_E: f64 = std::f64::consts::LOG2_E;
/// ln 2 in two parts, the first with 21 zero bits at its end (W. J. Cody, W. Waite, Software Manual for the
/// Elementary Functions (1980), chapter 6).
const LN2_HIGH: f64 = f64::from_bits(0x3fe6_2e42_fee0_0000);
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// n and r of x = n·ln 2 + r; n as a float and as the bits of 2ⁿ.
#[inline(always)]
fn reduce(x: f64) -> (f64, f64) {
    let shifted = x.mul_add(LOG2_E, ROUNDER);
    let n = shifted - ROUNDER;
    let r = n.mul_add(-LN2_LOW, n.mul_add(-LN2_HIGH, x));
    // The low bits of `shifted` hold n: moved into the exponent they make 2ⁿ.
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    (power, r)
}

/// e^x − 1 and e^x for −708 ≤ x ≤ 709; outside the result has no meaning.
#[inline(always)]
pub fn exp_pair(x: f64) -> (f64, f64) {
    let (power, r) = reduce(x);
    let r2 = r * r;
    // r²·(1/2! + r/3! + … + r¹¹/13!), pairwise.
    let low = r.mul_add(1.0 / 6.0, 0.5);
    let b = r.mul_add(1.0 / 120.0, 1.0 / 24.0);
    let c = r.mul_add(1.0 / 5040.0, 1.0 / 720.0);
    let d = r.mul_add(1.0 / 362_880.0, 1.0 / 40_320.0);
    let e = r.mul_add(1.0 / 39_916_800.0, 1.0 / 3_628_800.0);
    let f = r.mul_add(1.0 / 6_227_020_800.0, 1.0 / 479_001_600.0);
    let r4 = r2 * r2;
    let bc = c.mul_add(r2, b);
    let de = e.mul_add(r2, d);
    let high = f.mul_add(r4, de).mul_add(r4, bc);
    let tail = high.mul_add(r2, low);
    let minus_one = tail.mul_add(r2, r);
    (power.mul_add(minus_one, power - 1.0), power.mul_add(minus_one, power))
}

/// e^x to 3e-9 of its value, for −708 ≤ x ≤ 709.
#[inline(always)]
pub fn exp_rough(x: f64) -> f64 {
    let (power, r) = reduce(x);
    let r2 = r * r;
    let a = r + 1.0;
    let b = r.mul_add(1.0 / 6.0, 0.5);
    let c = r.mul_add(1.0 / 120.0, 1.0 / 24.0);
    let d = r.mul_add(1.0 / 5040.0, 1.0 / 720.0);
    let high = r2.mul_add(d, c);
    power * (r2 * r2).mul_add(high, r2.mul_add(b, a))
}

/// e^x to 3e-6 of its value, for −708 ≤ x ≤ 709. The polynomial is that of least largest relative error.
#[inline(always)]
pub fn exp_coarse(x: f64) -> f64 {
    let shifted = x.mul_add(LOG2_E, ROUNDER);
    let r = (shifted - ROUNDER).mul_add(-std::f64::consts::LN_2, x);
    let power = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    let r2 = r * r;
    let low = r.mul_add(0.999_963_404_5, 0.999_999_261_4);
    let high = r2.mul_add(0.041_458_607_08, r.mul_add(0.167_909_077_5, 0.500_043_587_1));
    power * r2.mul_add(high, low)
}

/// ln x to 1.1e-5, of a positive normal number; about −709 for 0. The polynomial is that of least largest error.
#[inline(always)]
pub fn ln_short(x: f64) -> f64 {
    // Bits of √½: the exponent grows by one where the mantissa reaches √2.
    const BASE: u64 = 0x3fe6_a09e_667f_3bcd;
    const BIAS: u64 = 1023 << 52;
    let bits = x.to_bits().wrapping_add(BIAS - BASE);
    // The exponent, below 2¹² and never negative here, in the low bits of 1.5·2⁵² becomes a float by a subtraction.
    let e = f64::from_bits((bits >> 52) | ROUNDER.to_bits()) - (ROUNDER + 1023.0);
    let f = f64::from_bits((bits & 0x000f_ffff_ffff_ffff).wrapping_add(BASE)) - 1.0;
    let f2 = f * f;
    let low = f.mul_add(-0.499_233_568_5, 0.999_918_877_8);
    let high = f2.mul_add(0.175_130_712_5, f.mul_add(-0.273_498_904, 0.337_345_164));
    e.mul_add(std::f64::consts::LN_2, f * f2.mul_add(high, low))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ulp of a number.
    fn ulp(x: f64) -> f64 {
        f64::from_bits(x.abs().to_bits() + 1) - x.abs()
    }

    /// Against the platform's functions, whose own error is below one ulp (glibc manual).
    #[test]
    fn functions_agree_with_the_platform() {
        let (mut exp_worst, mut m1_worst, mut rough, mut coarse) = (0.0f64, 0.0f64, 0.0f64, 0.0f64);
        for k in 0..2_000_000 {
            let t = f64::from(k) / 2e6;
            let x = if k % 2 == 0 { 1400.0 * (t - 0.5) } else { 4.0 * (t - 0.5) };
            let (minus_one, whole) = exp_pair(x);
            exp_worst = exp_worst.max((whole - x.exp()).abs() / ulp(x.exp()));
            m1_worst = m1_worst.max((minus_one - x.exp_m1()).abs() / ulp(x.exp_m1()));
            rough = rough.max((exp_rough(x) / x.exp() - 1.0).abs());
            coarse = coarse.max((exp_coarse(x) / x.exp() - 1.0).abs());
            let y = if k % 2 == 0 { (1400.0 * (t - 0.5)).exp() } else { 0.5 + t };
            assert!((ln_short(y) - y.ln()).abs() < 1.1e-5, "{y}");
        }
        println!("exp {exp_worst} expm1 {m1_worst} ulp, rough {rough:e} coarse {coarse:e}");
        assert!(exp_worst < 2.0 && m1_worst < 3.0 && rough < 1e-7 && coarse < 4e-6);
        assert_eq!(exp_pair(0.0), (0.0, 1.0));
        assert_eq!(exp_pair(1e-30).0, 1e-30);
        assert!(ln_short(0.0).is_finite());
    }
}
