//! The junction at many points at once, with the exponentials that current and derivatives are made of.

use super::circuit::Circuit;
use super::lanes;
use super::linexp::ScaledExp;

/// Points that are worked on together, before they are put where they belong.
pub(crate) const BLOCK: usize = 32;

/// The state of a junction: u, and of each diode I0·(e^(u/a) − 1) and I0·e^(u/a).
#[derive(Clone, Copy, Debug)]
pub struct Root<const K: usize> {
    /// Junction voltage in V.
    pub u: f64,
    /// Current of each diode in A.
    pub diode_a: [f64; K],
    /// The same with its saturation current added.
    pub whole_a: [f64; K],
}

impl<const K: usize> Default for Root<K> {
    fn default() -> Self {
        Self { u: 0.0, diode_a: [0.0; K], whole_a: [0.0; K] }
    }
}

impl<const K: usize> Circuit<K> {
    /// The state at the junction voltage `u`.
    pub fn root(&self, u: f64) -> Root<K> {
        let e: [ScaledExp; K] = std::array::from_fn(|k| ScaledExp::new(u / self.a[k], self.i0[k]));
        Root { u, diode_a: e.map(|e| e.minus_one), whole_a: e.map(|e| e.whole) }
    }

    /// The states at terminal voltages, into `roots` of the same length.
    pub fn roots_at_voltages(&self, voltage_v: &[f64], roots: &mut [Root<K>]) {
        lanes::roots_at_voltages(self, voltage_v, roots);
    }

    /// The states at terminal currents, into `roots` of the same length.
    pub fn roots_at_currents(&self, current_a: &[f64], roots: &mut [Root<K>]) {
        lanes::roots_at_currents(self, current_a, roots);
    }

    /// The circuit as one of a single diode, where it is one.
    pub(super) fn as_one(&self) -> Option<Circuit<1>> {
        (K == 1).then(|| Circuit {
            iph: self.iph,
            i0: [self.i0[0]],
            ln_i0: [self.ln_i0[0]],
            a: [self.a[0]],
            rs: self.rs,
            g: self.g,
        })
    }
}
