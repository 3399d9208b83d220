//! Derivatives by the parameters.
//!
//! At a fixed terminal voltage the junction voltage moves with the parameters, so that
//!
//! ```text
//! ∂I/∂p = (∂J/∂p)/(1 − Rs·J′)   for p ≠ Rs        ∂I/∂Rs = J·J′/(1 − Rs·J′)
//! ```
//!
//! and at fixed u: ∂J/∂Iph = 1, ∂J/∂ln I0 = −I0·expm1(u/a), ∂J/∂ln a = I0·exp(u/a)·u/a, ∂J/∂g = −u.

use super::circuit::Circuit;
use super::junction::Junction;
use crate::numerics::special::linear_exponential::ScaledExp;

/// A current beyond which quotients and products of it may leave f64.
const LARGE: f64 = 1e250;
/// A power of two that keeps sums of currents far from the end of f64.
const SMALL: f64 = f64::from_bits(0x3bf0_0000_0000_0000);

/// dI/dV and the derivatives of I by the parameters as users state them, at a fixed voltage.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct CurrentGradient<const K: usize> {
    /// dI/dV in S.
    pub voltage: f64,
    /// ∂I/∂Iph, a pure number.
    pub iph: f64,
    /// ∂I/∂I0k, a pure number.
    pub i0: [f64; K],
    /// ∂I/∂nk in A.
    pub n: [f64; K],
    /// ∂I/∂Rs in A/Ω.
    pub rs: f64,
    /// ∂I/∂Rsh in A/Ω.
    pub rsh: f64,
}

impl<const K: usize> Circuit<K> {
    /// ∂J/∂θ at fixed u, θ = (Iph, ln I0₁, ln a₁, …, Rs, g). The entry of Rs is 0: J does not hold it.
    #[inline]
    pub fn current_by_theta(&self, u: f64, out: &mut [f64]) {
        out[0] = 1.0;
        for k in 0..K {
            let x = u / self.a[k];
            let e = ScaledExp::new(x, self.i0[k]);
            out[1 + 2 * k] = -e.minus_one;
            out[2 + 2 * k] = e.whole * x;
        }
        out[2 * K + 1] = 0.0;
        out[2 * K + 2] = -u;
    }

    /// ∂J′/∂θ at fixed u.
    fn slope_by_theta(&self, u: f64, out: &mut [f64]) {
        out[0] = 0.0;
        for k in 0..K {
            let x = u / self.a[k];
            let by_u = ScaledExp::new(x, self.i0[k]).whole / self.a[k];
            out[1 + 2 * k] = -by_u;
            out[2 + 2 * k] = by_u * (1.0 + x);
        }
        out[2 * K + 1] = 0.0;
        out[2 * K + 2] = -1.0;
    }

    /// ∂I/∂θ at the fixed voltage `v`.
    pub fn current_at_by_theta(&self, v: f64, out: &mut [f64]) {
        let u = self.at_voltage(v);
        let slope = self.current(u).slope;
        let loss = 1.0 - self.rs * slope;
        self.current_by_theta(u, out);
        out.iter_mut().for_each(|d| *d /= loss);
        out[2 * K + 1] = self.current_from(u, v) * slope / loss;
    }

    /// dI/dV and ∂I/∂p for p as users state it; `a_over_n` are ak/nk, which turn ∂/∂a into ∂/∂n.
    pub fn gradient_at(&self, v: f64, a_over_n: &[f64; K]) -> CurrentGradient<K> {
        let u = self.at_voltage(v);
        let i = self.current_from(u, v);
        // Every diode's I0·exp(u/a), and 1 − Rs·J′, made small together where one could overflow.
        // A current beyond f64 has the derivatives of the limit, which any large one gives.
        let e = self.diode_currents(u, i).map(|e| if self.rs > 0.0 { e.min(f64::MAX) } else { e });
        let small = if e.iter().all(|e| *e < LARGE) { 1.0 } else { SMALL };
        let whole = e.map(|e| e * small);
        let slope = self.g * small + (0..K).map(|k| whole[k] / self.a[k]).sum::<f64>();
        let below = if self.rs == 0.0 { small } else { self.rs.mul_add(slope, small) };
        let gain = small / below;
        let voltage = -slope / below;
        // A diode without current has none to lose, however large u/a is.
        let by_a =
            |k: usize| if whole[k] == 0.0 { 0.0 } else { whole[k] / below * (u / self.a[k]) / self.a[k] };
        CurrentGradient {
            voltage,
            iph: gain,
            i0: std::array::from_fn(|k| self.by_saturation_current(u, k, gain, whole[k] / below)),
            n: std::array::from_fn(|k| by_a(k) * a_over_n[k]),
            rs: if i == 0.0 { 0.0 } else { i * voltage },
            rsh: if self.g == 0.0 { 0.0 } else { u * self.g * self.g * gain },
        }
    }

    /// I0k·exp(u/ak) of each diode. Where the series drop rules, u holds too few bits for the largest of them,
    /// and the balance of currents gives it: Iph + ΣI0 − Σ others − g·u − I.
    fn diode_currents(&self, u: f64, i: f64) -> [f64; K] {
        let mut e: [f64; K] = std::array::from_fn(|k| ScaledExp::new(u / self.a[k], self.i0[k]).whole);
        let Some(k) = (0..K).max_by(|&j, &k| (e[j] / self.a[j]).total_cmp(&(e[k] / self.a[k]))) else {
            return e;
        };
        if self.rs * e[k] / self.a[k] > 1.0 {
            let others: f64 = (0..K).filter(|&j| j != k).map(|j| e[j]).sum();
            let (all, shunt) = (self.i0.iter().sum::<f64>(), self.g * u);
            let balance = (self.iph - i) + all - shunt - others;
            // What each way is uncertain by, in ε: the terms that cancel, or exp's through its argument.
            let by_balance = self.iph + i.abs() + all + shunt.abs() + others;
            if balance > 0.0 && balance.is_finite() && by_balance < e[k] * (u / self.a[k]).abs() {
                e[k] = balance;
            }
        }
        e
    }

    /// −expm1(u/a)·gain; `share` is I0·exp(u/a)·gain.
    fn by_saturation_current(&self, u: f64, k: usize, gain: f64, share: f64) -> f64 {
        let x = u / self.a[k];
        if x > 1.0 { gain - share / self.i0[k] } else { -x.exp_m1() * gain }
    }
}

/// Most coordinates that a circuit has.
const MOST: usize = 7;

/// Derivatives of the key points by θ = (Iph, ln I0₁, ln a₁, …, Rs, g), a row each.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct KeyPointJacobian {
    /// Isc, Voc, Pmax, V_Pmax, I_Pmax.
    pub values: [f64; 5],
    /// Their derivatives.
    pub rows: [Vec<f64>; 5],
}

impl<const K: usize> Circuit<K> {
    /// Key points under light with their derivatives.
    pub fn key_point_jacobian(&self) -> KeyPointJacobian {
        let (values, rows) = self.key_points_by_theta();
        KeyPointJacobian { values, rows: rows.map(|row| row[..Self::PARAMETERS].to_vec()) }
    }

    /// The same without an allocation; the first 2K + 3 entries of a row count.
    ///
    /// Isc: ∂I/∂θ at V = 0. Voc: −(∂J/∂θ)/J′ at J = 0. Pmax: V·∂I/∂θ (envelope theorem). The point of
    /// maximum power by the implicit function theorem on P′(u; θ) = 0.
    pub(crate) fn key_points_by_theta(&self) -> ([f64; 5], [[f64; MOST]; 5]) {
        let m = Self::PARAMETERS;
        let best = self.maximum_power();
        let voc = self.voc();
        let mut rows = [[0.0; MOST]; 5];
        self.current_at_by_theta(0.0, &mut rows[0][..m]);
        self.current_by_theta(voc, &mut rows[1][..m]);
        let slope = self.current(voc).slope;
        rows[1].iter_mut().for_each(|d| *d /= -slope);
        self.current_at_by_theta(best.v_pmax, &mut rows[2][..m]);
        rows[2].iter_mut().for_each(|d| *d *= best.v_pmax);
        (rows[3], rows[4]) = self.maximum_by_theta(best.u);
        ([self.isc(), voc, best.pmax, best.v_pmax, best.i_pmax], rows)
    }

    /// ∂V_Pmax/∂θ and ∂I_Pmax/∂θ at the junction voltage of maximum power.
    fn maximum_by_theta(&self, u: f64) -> ([f64; MOST], [f64; MOST]) {
        let m = Self::PARAMETERS;
        let j = self.current(u);
        let (mut jp, mut j1p) = ([0.0; MOST], [0.0; MOST]);
        self.current_by_theta(u, &mut jp[..m]);
        self.slope_by_theta(u, &mut j1p[..m]);
        let (v, v1) = (u - self.rs * j.value, 1.0 - self.rs * j.slope);
        let p2 = j.curvature * v + 2.0 * j.slope * v1 - j.value * self.rs * j.curvature;
        let (mut v_by, mut i_by) = ([0.0; MOST], [0.0; MOST]);
        for p in 0..m {
            let rs = f64::from(u8::from(p == 2 * K + 1));
            let v_p = -self.rs * jp[p] - rs * j.value;
            let v1_p = -self.rs * j1p[p] - rs * j.slope;
            let u_p = -(j1p[p] * v + j.slope * v_p + jp[p] * v1 + j.value * v1_p) / p2;
            v_by[p] = v1 * u_p + v_p;
            i_by[p] = j.slope * u_p + jp[p];
        }
        (v_by, i_by)
    }
}
