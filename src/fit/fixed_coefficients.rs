//! Linear coefficients of the implicit equation that the caller fixed.

use crate::numerics::least_squares::problem::Bounds;

/// Times the largest current that a diode of fixed I0 may carry at the highest junction voltage of a knot.
const MOST: f64 = 1e6;

/// Iph, ln I0 of each diode, g: those that are not free.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FixedCoefficients<const K: usize> {
    pub iph: Option<f64>,
    pub ln_i0: [Option<f64>; K],
    pub g: Option<f64>,
}

impl<const K: usize> FixedCoefficients<K> {
    /// Those whose bounds meet.
    pub fn of(bounds: &Bounds) -> Self {
        let at = |k: usize| (bounds.low[k] == bounds.high[k]).then_some(bounds.low[k]);
        Self { iph: at(0), ln_i0: std::array::from_fn(|k| at(1 + 2 * k)), g: at(2 * K + 2) }
    }

    /// None of them.
    #[cfg(test)]
    pub const fn none() -> Self {
        Self { iph: None, ln_i0: [None; K], g: None }
    }

    /// Whether there are any.
    pub fn any(&self) -> bool {
        self.iph.is_some() || self.g.is_some() || self.ln_i0.iter().any(Option::is_some)
    }

    /// I0·e^(top/a) of diode `k`, where `by_a` is 1/a; no more than a million times `largest`, which is far out of reach
    /// and still a number.
    pub fn diode(&self, k: usize, top: f64, by_a: f64, largest: f64) -> Option<f64> {
        self.ln_i0[k].map(|ln_i0| (ln_i0 + top * by_a).min((MOST * largest).ln()).exp())
    }
}
