//! What a model must give, and everything that follows from it.
//!
//! A model is two functions of one variable each, with two derivatives: the current J(u) at the
//! junction voltage u, falling, and the series drop D(j), rising. Then
//!
//! ```text
//! I = J(u)      V = u − D(J(u))      dI/dV = J′/(1 − D′·J′)      P = J·(u − D(J))
//! ```
//!
//! A new model is one file with these two functions; the solvers below serve it as they are, and a
//! model that has a better one overrides it.

use super::curve_sampling;
use super::maximum::{MaximumPower, maximum_power};
use crate::numerics::roots::bracketed_newton::falling_root;

/// A value with its first and second derivative.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Jet {
    /// f.
    pub value: f64,
    /// f′.
    pub slope: f64,
    /// f″.
    pub curvature: f64,
}

/// A device whose curve is explicit in its junction voltage.
///
/// # Examples
/// ```
/// use litdiode::diode::{Jet, Junction};
/// /// A photodiode with a parabolic leakage, invented: J(u) = 1 − u − u², no series resistance.
/// struct Parabola;
/// impl Junction for Parabola {
///     fn current(&self, u: f64) -> Jet {
///         Jet { value: 1.0 - u - u * u, slope: -1.0 - 2.0 * u, curvature: -2.0 }
///     }
///     fn drop(&self, _: f64) -> Jet {
///         Jet { value: 0.0, slope: 0.0, curvature: 0.0 }
///     }
///     fn is_dark(&self) -> bool {
///         false
///     }
///     fn bend(&self) -> f64 {
///         0.1
///     }
/// }
/// assert_eq!(Parabola.isc(), 1.0);
/// assert!((Parabola.voc() - (5f64.sqrt() - 1.0) / 2.0).abs() < 1e-15);
/// assert!((Parabola.maximum_power().pmax - 5.0 / 27.0).abs() < 1e-15); // u − u² − u³ is highest at u = 1/3
/// ```
pub trait Junction {
    /// J(u) in A with J′ < 0 and J″, u in V.
    fn current(&self, u: f64) -> Jet;

    /// D(j) in V with D′ ≥ 0 and D″, j in A.
    fn drop(&self, j: f64) -> Jet;

    /// Whether no light falls on the device: Isc, Voc and Pmax are then 0.
    fn is_dark(&self) -> bool;

    /// A voltage on which the curve bends (a thermal voltage), in V.
    fn bend(&self) -> f64;

    /// Whether P has a single maximum between short and open circuit, so that none need be looked for.
    fn has_one_maximum(&self) -> bool {
        false
    }

    /// Junction voltage u at the terminal voltage `v`: root of u − D(J(u)) = v.
    fn at_voltage(&self, v: f64) -> f64 {
        falling_root(v, self.bend(), |u| {
            let (j, d) = self.current_and_drop(u);
            (v - u + d.value, d.slope * j.slope - 1.0)
        })
    }

    /// Junction voltage u at the terminal current `i`: root of J(u) = i; ∓∞ where the model gives none.
    fn at_current(&self, i: f64) -> f64 {
        falling_root(0.0, self.bend(), |u| {
            let j = self.current(u);
            (j.value - i, j.slope)
        })
    }

    /// J and D(J) at u.
    #[inline]
    fn current_and_drop(&self, u: f64) -> (Jet, Jet) {
        let j = self.current(u);
        (j, self.drop(j.value))
    }

    /// I in A at the voltage `v` in V. A `v` that is no number gives NaN; a current beyond f64, ±∞.
    #[inline]
    fn current_at(&self, v: f64) -> f64 {
        self.current_from(self.at_voltage(v), v)
    }

    /// I at `v`, whose junction voltage is `u`: from J(u) or from the series drop, whichever is the
    /// better conditioned.
    #[inline]
    fn current_from(&self, u: f64, v: f64) -> f64 {
        let (j, d) = self.current_and_drop(u);
        // Without a series drop an infinite J′ leaves no number here, and J(u) is right.
        let loss = -d.slope * j.slope;
        if loss > 1.0 && d.curvature == 0.0 { (u - v) / d.slope } else { j.value }
    }

    /// V in V at the current `i` in A; −∞ where only an infinite voltage carries it.
    #[inline]
    fn voltage_at(&self, i: f64) -> f64 {
        self.voltage_from(self.at_current(i), i)
    }

    /// V at `i`, whose junction voltage is `u`.
    #[inline]
    fn voltage_from(&self, u: f64, i: f64) -> f64 {
        u - self.drop(i).value
    }

    /// I at each of `v`, into `i` of the same length.
    fn currents_at(&self, v: &[f64], i: &mut [f64]) {
        i.iter_mut().zip(v).for_each(|(i, v)| *i = self.current_at(*v));
    }

    /// V at each of `i`, into `v` of the same length.
    fn voltages_at(&self, i: &[f64], v: &mut [f64]) {
        v.iter_mut().zip(i).for_each(|(v, i)| *v = self.voltage_at(*i));
    }

    /// dI/dV in S at the voltage `v`: J′/(1 − D′J′). The dynamic resistance is −1/(dI/dV).
    fn slope_at(&self, v: f64) -> f64 {
        let (j, d) = self.current_and_drop(self.at_voltage(v));
        1.0 / (1.0 / j.slope - d.slope)
    }

    /// Isc in A: the current at V = 0.
    fn isc(&self) -> f64 {
        if self.is_dark() { 0.0 } else { self.current_at(0.0) }
    }

    /// Voc in V: the voltage at I = 0.
    fn voc(&self) -> f64 {
        if self.is_dark() { 0.0 } else { self.at_current(0.0) }
    }

    /// The point of maximum power.
    fn maximum_power(&self) -> MaximumPower
    where
        Self: Sized,
    {
        if self.is_dark() { MaximumPower::default() } else { maximum_power(self) }
    }

    /// `points` (V, I) along the curve from V = `low` to `high`, dense at the knee.
    fn trace(&self, low: f64, high: f64, points: usize) -> (Vec<f64>, Vec<f64>)
    where
        Self: Sized,
    {
        curve_sampling::trace(self, low, high, points)
    }
}
