//! The fill factor of the ideal diode, and what the resistances take of it.
//!
//! ```text
//! ideal: j = 1 − (eˣ − 1)/(eᵛ − 1),  x = V/a,  v = Voc/a        maximum of x·j where z + ln z = v + 1, z = 1 + x
//! FF0(v) = x²/(v·z·(1 − e⁻ᵛ))
//! approximation: FF0 ≈ (v − ln(v + 0.72))/(v + 1)
//! ```
//!
//! From d(x·j)/dx = 0 follows eᵛ = (1 + x)·eˣ, which is the first line; put back into x·j it gives the second
//! (derived here). The approximation: M. A. Green, Solid-State Electronics 24 (1981) 788, stated there for v > 10.
//! With resistances the maximum is that of the exact single-diode model.

use crate::diode::{Device, ModelError};
use std::fmt;

/// FF of an ideal diode at v = q·Voc/(n·cells·k·T): from 1/4 at v = 0 towards 1. `None` for v < 0 or NaN.
///
/// # Examples
/// ```
/// let ff = litdiode::resistance::ideal_fill_factor(20.0).unwrap();
/// assert!((ff - 0.807956).abs() < 5e-7);
/// ```
pub fn ideal_fill_factor(v: f64) -> Option<f64> {
    if v.is_nan() || v < 0.0 {
        return None;
    }
    if v == f64::INFINITY {
        return Some(1.0);
    }
    if v < 1e-4 {
        // FF = 1/4 + v/16 + O(v²): below this v, x = z − 1 loses digits.
        return Some(0.25 + v / 16.0);
    }
    let x = best_voltage(v);
    Some(x / v * (x / (1.0 + x)) / -(-v).exp_m1())
}

/// x with x + ln(1 + x) = v.
fn best_voltage(v: f64) -> f64 {
    // ln(1 + x) ≤ x bounds the root from below by v/2; Newton on a concave rising function climbs to it.
    let mut x = 0.5 * v;
    for _ in 0..60 {
        let step = (v - x - x.ln_1p()) / (1.0 + 1.0 / (1.0 + x));
        x += step;
        if step.abs() <= 1e-16 * x {
            break;
        }
    }
    x
}

/// Green's approximation of [`ideal_fill_factor`], better than 1e-3 for v > 10; `None` for v < 1 or NaN.
///
/// # Examples
/// ```
/// use litdiode::resistance::{green_fill_factor, ideal_fill_factor};
/// let (green, exact) = (green_fill_factor(20.0).unwrap(), ideal_fill_factor(20.0).unwrap());
/// assert!((green - 0.808043).abs() < 5e-7 && (exact - 0.807956).abs() < 5e-7);
/// assert!(green_fill_factor(0.5).is_none());
/// ```
pub fn green_fill_factor(v: f64) -> Option<f64> {
    (v >= 1.0 && v.is_finite()).then(|| (v - (v + 0.72).ln()) / (v + 1.0))
}

/// Fill factors of a device with and without its resistances.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct FillFactorLosses {
    /// v = Voc/a of the device with neither resistance.
    pub v: f64,
    /// Neither resistance.
    pub ideal: f64,
    /// Green's approximation at `v`, where it is defined.
    pub green: Option<f64>,
    /// Rs alone.
    pub with_rs: f64,
    /// Rsh alone.
    pub with_rsh: f64,
    /// Both: the device itself.
    pub with_both: f64,
    /// ideal − with_rs.
    pub loss_rs: f64,
    /// ideal − with_rsh.
    pub loss_rsh: f64,
    /// ideal − with_both; not the sum of the other two.
    pub loss_both: f64,
}

/// What Rs and Rsh take of the fill factor of `device`; `None` in the dark, where there is none.
///
/// Each variant keeps Iph, I0 and n and has its own Isc and Voc.
///
/// # Errors
/// [`ModelError`] never arises for a valid device; it is passed on from its variants.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::resistance::fill_factor_losses;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let losses = fill_factor_losses(&cell)?.unwrap();
/// assert!((losses.with_both - 0.7509049).abs() < 1e-6);
/// assert!((losses.ideal - 0.7865582).abs() < 1e-6); // without both
/// assert!((losses.loss_both - (0.7865582 - 0.7509049)).abs() < 1e-6 && losses.loss_rs > losses.loss_rsh);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fill_factor_losses(device: &Device<1>) -> Result<Option<FillFactorLosses>, ModelError> {
    let variant = |series: bool, shunt: bool| {
        let mut p = *device.parameters();
        p.rs_ohm = if series { p.rs_ohm } else { 0.0 };
        p.rsh_ohm = if shunt { p.rsh_ohm } else { f64::INFINITY };
        Device::new(p)
    };
    let fill = |d: &Device<1>| d.key_points().ff.map(|ff| ff.value);
    let none = variant(false, false)?;
    let v = none.key_points().voc.map_or(0.0, |voc| voc.value) / none.circuit().a[0];
    let all =
        (ideal_fill_factor(v), fill(&variant(true, false)?), fill(&variant(false, true)?), fill(device));
    let (Some(ideal), Some(with_rs), Some(with_rsh), Some(with_both)) = all else { return Ok(None) };
    Ok(Some(FillFactorLosses {
        v,
        ideal,
        green: green_fill_factor(v),
        with_rs,
        with_rsh,
        with_both,
        loss_rs: ideal - with_rs,
        loss_rsh: ideal - with_rsh,
        loss_both: ideal - with_both,
    }))
}

/// The fill factor without the resistances and what they take of it, in percentage points.
impl fmt::Display for FillFactorLosses {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [ideal, rs, rsh, both, with] =
            [self.ideal, self.loss_rs, self.loss_rsh, self.loss_both, self.with_both].map(|x| 100.0 * x);
        write!(
            f,
            "FF {with:.2} %: {ideal:.2} % less {both:.2} by both resistances, {rs:.2} by Rs alone, {rsh:.2} by Rsh alone"
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Recomputed values and Green's formula, to the printed digits (six decimals).
    #[test]
    fn published_and_recomputed_values() {
        for (v, exact, green) in [
            (10.0, 0.693633, 0.693444),
            (15.0, 0.765268, 0.765317),
            (20.0, 0.807956, 0.808043),
            (25.0, 0.836556, 0.836644),
        ] {
            assert!((ideal_fill_factor(v).unwrap() - exact).abs() <= 5.0e-7, "{v}");
            assert!((green_fill_factor(v).unwrap() - green).abs() <= 5.0e-7, "{v}");
        }
    }

    /// v → 0 is a straight line, whose fill factor is 1/4; and the series joins the closed form.
    #[test]
    fn limits() {
        assert_eq!(ideal_fill_factor(0.0), Some(0.25));
        let (below, above) = (ideal_fill_factor(0.99999e-4).unwrap(), ideal_fill_factor(1.00001e-4).unwrap());
        assert!((above - below - 2e-9 / 16.0).abs() < 1e-9, "{below} {above}");
        assert!(ideal_fill_factor(1e300).unwrap() <= 1.0);
        assert_eq!(ideal_fill_factor(-1.0), None);
        assert_eq!(ideal_fill_factor(f64::NAN), None);
    }
}
