//! K diodes in parallel with a light source, a shunt and a series resistance: the kernel of all models here.
//!
//! ```text
//! J(u) = Iph − Σk I0k·(exp(u/ak) − 1) − g·u        V = u − Rs·J(u)
//! ```
//!
//! No validation, no allocation: what the public models and the fit call inside their loops.

use super::junction::{Jet, Junction};
use super::maximum::{MaximumPower, maximum_power};
use super::simd;
use crate::numerics::special::linear_exponential::{LinExp, ScaledExp};

/// Kernel parameters: Iph, I0k and their logarithms, ak = nk·cells·k·T/q, Rs and g = 1/Rsh.
///
/// # Examples
/// ```
/// use litdiode::diode::{Circuit, Junction};
/// let a = 1.3 * 0.025692579; // n·VT at 25 °C in V
/// let circuit = Circuit::<1>::new(0.03, [1e-9], [a], 0.5, 1.0 / 900.0); // invented
/// assert!((circuit.current_at(0.5) - 0.0248304).abs() < 1e-7);
/// assert!((circuit.voc() - 0.5743260).abs() < 1e-7 && (circuit.isc() - 0.0299833).abs() < 1e-7);
/// assert!((circuit.slope_at(0.5) + 0.1298276).abs() < 1e-6);
/// assert_eq!(Circuit::of_coordinates(&circuit.theta()).map(|same: Circuit<1>| same.rs), Some(0.5));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circuit<const K: usize> {
    /// Light-generated current in A, ≥ 0.
    pub iph: f64,
    /// Saturation currents in A, > 0.
    pub i0: [f64; K],
    /// Logarithms of `i0`.
    pub ln_i0: [f64; K],
    /// Thermal voltages of the string in V, > 0.
    pub a: [f64; K],
    /// Series resistance in Ω, ≥ 0.
    pub rs: f64,
    /// Shunt conductance in S, ≥ 0.
    pub g: f64,
}

/// Refuses to compile a model of any other number of diodes than one or two.
pub(crate) const fn one_or_two(diodes: usize) {
    assert!(diodes == 1 || diodes == 2, "the models have one diode or two");
}

impl<const K: usize> Circuit<K> {
    /// Number of parameters: Iph, then ln I0k and ln ak of each diode, then Rs and g.
    pub const PARAMETERS: usize = 2 * K + 3;

    /// Builds the kernel; the caller answers for the domain.
    pub fn new(iph: f64, i0: [f64; K], a: [f64; K], rs: f64, g: f64) -> Self {
        const { one_or_two(K) };
        Self { iph, i0, ln_i0: i0.map(f64::ln), a, rs, g }
    }

    /// From (Iph, ln I0₁, ln a₁, …, Rs, g), the coordinates of the fit; `None` for any other number of them than
    /// [`Self::PARAMETERS`]. A subnormal Iph, Rs or g becomes 0.
    ///
    /// # Examples
    /// ```
    /// use litdiode::diode::Circuit;
    /// let rs = |rs: f64| Circuit::<1>::of_coordinates(&[0.03, -20.0, -3.0, rs, 0.0]).map(|circuit| circuit.rs);
    /// assert_eq!((rs(0.5), rs(5e-324)), (Some(0.5), Some(0.0)));
    /// ```
    pub fn of_coordinates(theta: &[f64]) -> Option<Self> {
        (theta.len() == Self::PARAMETERS).then(|| Self::from_theta(theta))
    }

    /// The same for a list that is known to have so many.
    pub(crate) fn from_theta(theta: &[f64]) -> Self {
        const { one_or_two(K) };
        let ln_i0 = std::array::from_fn(|k| theta[1 + 2 * k]);
        // A subnormal number changes no digit of a curve, and the processor takes many times as long for it.
        let normal = |x: f64| if x.abs() < f64::MIN_POSITIVE { 0.0 } else { x };
        Self {
            iph: normal(theta[0]),
            i0: ln_i0.map(f64::exp),
            ln_i0,
            a: std::array::from_fn(|k| theta[2 + 2 * k].exp()),
            rs: normal(theta[2 * K + 1]),
            g: normal(theta[2 * K + 2]),
        }
    }

    /// The coordinate of the fit at `place`.
    pub(crate) fn coordinate(&self, place: usize) -> f64 {
        match place {
            0 => self.iph,
            _ if place == 2 * K + 1 => self.rs,
            _ if place == 2 * K + 2 => self.g,
            _ if place % 2 == 1 => self.ln_i0[place / 2],
            _ => self.a[place / 2 - 1].ln(),
        }
    }

    /// The coordinates of the fit.
    pub fn theta(&self) -> Vec<f64> {
        (0..Self::PARAMETERS).map(|place| self.coordinate(place)).collect()
    }
}

impl<const K: usize> Junction for Circuit<K> {
    #[inline]
    fn current(&self, u: f64) -> Jet {
        let mut jet = Jet { value: self.iph, slope: 0.0, curvature: 0.0 };
        for k in 0..K {
            let e = ScaledExp::new(u / self.a[k], self.i0[k]);
            jet.value -= e.minus_one;
            let by_u = e.whole / self.a[k];
            jet.slope -= by_u;
            jet.curvature -= by_u / self.a[k];
        }
        jet.value = self.g.mul_add(-u, jet.value);
        jet.slope -= self.g;
        jet
    }

    #[inline]
    fn drop(&self, j: f64) -> Jet {
        Jet { value: self.rs * j, slope: self.rs, curvature: 0.0 }
    }

    fn at_voltage(&self, v: f64) -> f64 {
        let alpha = self.rs.mul_add(self.g, 1.0);
        let equation = LinExp { alpha, rho: self.rs, i0: &self.i0, ln_i0: &self.ln_i0, a: &self.a };
        equation.solve(self.rs.mul_add(self.iph, v))
    }

    fn at_current(&self, i: f64) -> f64 {
        let equation = LinExp { alpha: self.g, rho: 1.0, i0: &self.i0, ln_i0: &self.ln_i0, a: &self.a };
        equation.solve(self.iph - i)
    }

    fn current_at(&self, v: f64) -> f64 {
        let mut i = [0.0];
        self.currents_at(&[v], &mut i);
        i[0]
    }

    fn voltage_at(&self, i: f64) -> f64 {
        let mut v = [0.0];
        self.voltages_at(&[i], &mut v);
        v[0]
    }

    fn currents_at(&self, v: &[f64], i: &mut [f64]) {
        simd::currents(self, v, i);
    }

    fn voltages_at(&self, i: &[f64], v: &mut [f64]) {
        simd::voltages(self, i, v);
    }

    fn voc(&self) -> f64 {
        if self.is_dark() { 0.0 } else { self.voltage_at(0.0) }
    }

    fn maximum_power(&self) -> MaximumPower {
        if self.is_dark() {
            return MaximumPower::default();
        }
        simd::maximum(self, self.voc()).unwrap_or_else(|| maximum_power(self))
    }

    fn is_dark(&self) -> bool {
        self.iph == 0.0
    }

    /// Diodes and an ohmic resistance bend the curve one way only.
    fn has_one_maximum(&self) -> bool {
        true
    }

    /// Below, the largest a: the scale on which the curve bends.
    fn bend(&self) -> f64 {
        self.a.iter().copied().fold(0.0, f64::max)
    }
}
