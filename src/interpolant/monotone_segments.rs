//! A curve cut at its breaks and turns into stretches on which it is monotone: where it has a given current.
//!
//! ```text
//! I(V) − I = 0: one zero on each stretch whose ends differ in sign; a zero at an end belongs to the end
//! ```
//!
//! Neighbouring stretches share the value at their common end, so that rounding neither loses nor doubles a zero.

use super::checks::finite;
use super::error::InterpolantError;
use super::piecewise::Piecewise;
use crate::numerics::roots::cubic::{self, Cubic};

/// A turn misses a current by rounding only if by no more than this many ε of the terms summed.
const TOUCH: f64 = 4.0;

/// A part of one piece on which the curve is monotone.
pub(super) struct Stretch {
    piece: usize,
    low: f64,
    high: f64,
    /// The piece less the current.
    difference: Cubic,
    /// Difference from the current at the lower end.
    pub at_low: f64,
    /// Difference from the current at the upper end.
    pub at_high: f64,
}

impl Stretch {
    /// All stretches by rising voltage; with `extrapolate` also those on which the end pieces reach
    /// any zero, but for an end piece that is constant.
    pub fn all(curve: &Piecewise, current_a: f64, extrapolate: bool) -> Vec<Self> {
        let pieces = curve.coefficients_a();
        let difference = |k: usize| {
            let mut c = pieces[k];
            c[0] -= current_a;
            c
        };
        let last = pieces.len() - 1;
        let mut all = Vec::new();
        let reach = |c: &Cubic| cubic::reach(c).filter(|_| extrapolate);
        let c = difference(0);
        if let Some(far) = reach(&c) {
            Self::cut(&mut all, 0, c, [-far, 0.0], c[0]);
        }
        for k in 0..=last {
            let c = difference(k);
            let end = if k < last { difference(k + 1)[0] } else { cubic::value(&c, 1.0) };
            Self::cut(&mut all, k, c, [0.0, 1.0], end);
        }
        let c = difference(last);
        if let Some(far) = reach(&c) {
            Self::cut(&mut all, last, c, [1.0, 1.0 + far], cubic::value(&c, 1.0 + far));
        }
        all
    }

    /// Adds a piece from one s to another, cut at its turns.
    fn cut(all: &mut Vec<Self>, piece: usize, difference: Cubic, [from, to]: [f64; 2], end: f64) {
        let mut nodes = vec![from];
        nodes.extend(cubic::turns(&difference, from, to));
        nodes.push(to);
        let at = |s: f64| if s == to { end } else { cubic::value(&difference, s) };
        for n in nodes.windows(2) {
            let (at_low, at_high) = (at(n[0]), at(n[1]));
            all.push(Self { piece, low: n[0], high: n[1], difference, at_low, at_high });
        }
    }

    /// Where the difference is 0.
    pub fn zeros(stretches: &[Self], curve: &Piecewise) -> Voltages {
        let mut found = Voltages::default();
        for (k, stretch) in stretches.iter().enumerate() {
            let before = k.checked_sub(1).map(|k| &stretches[k]);
            if stretch.at_low == 0.0 || before.is_some_and(|b| stretch.touches_after(b)) {
                stretch.add(&mut found, curve, stretch.low);
            }
            if stretch.at_low * stretch.at_high.signum() < 0.0 && stretch.at_high != 0.0 {
                let rising = stretch.at_low < 0.0;
                let s = cubic::crossing(&stretch.difference, stretch.low, stretch.high, rising);
                stretch.add(&mut found, curve, s);
            }
            if stretch.difference == [0.0; 4] {
                let ends = [stretch.low, stretch.high].map(|s| curve.place(stretch.piece, s));
                found.flat_v.push((ends[0], ends[1]));
            }
            if k + 1 == stretches.len() && stretch.at_high == 0.0 {
                stretch.add(&mut found, curve, stretch.high);
            }
        }
        found
    }

    fn add(&self, found: &mut Voltages, curve: &Piecewise, s: f64) {
        let (v, (low, high)) = (curve.place(self.piece, s), curve.range_v());
        found.voltage_v.push(v);
        found.extrapolated |= v < low || v > high;
    }

    /// Whether the curve comes back at the lower end, a turn within a piece, without crossing, but within rounding.
    fn touches_after(&self, before: &Self) -> bool {
        let rounding = TOUCH * f64::EPSILON * cubic::magnitude(&self.difference, self.low);
        let one_side =
            before.at_low * self.at_low.signum() > 0.0 && self.at_high * self.at_low.signum() > 0.0;
        before.piece == self.piece && one_side && self.at_low.abs() <= rounding
    }
}

/// All voltages at which the curve has one current.
///
/// # Examples
/// ```
/// use litdiode::interpolant::{Points, linear};
/// let points = Points::new(&[0.0, 0.2, 0.4, 0.6], &[0.030, 0.032, 0.028, -0.040])?; // invented: rises at first
/// let places = linear(&points)?.voltage(&[0.031], false)?;
/// assert!((places[0].voltage_v[0] - 0.1).abs() < 1e-12 && (places[0].voltage_v[1] - 0.25).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Voltages {
    /// In V, rising; more than one where the curve is not monotone. Of a flat stretch its two ends.
    pub voltage_v: Vec<f64>,
    /// Stretches (from, to) in V, within the breaks, on which the curve has this current throughout.
    pub flat_v: Vec<(f64, f64)>,
    /// Whether any of them lies outside the range of the breaks.
    pub extrapolated: bool,
}

impl Voltages {
    /// Those within `range` (V); where there are none the one nearest to it, for a continued cubic comes back far out.
    pub fn within_or_nearest(&self, (low, high): (f64, f64)) -> Vec<f64> {
        let within: Vec<f64> = self.voltage_v.iter().copied().filter(|v| (low..=high).contains(v)).collect();
        if !within.is_empty() {
            return within;
        }
        let off = |v: f64| (low - v).max(v - high);
        self.voltage_v.iter().copied().min_by(|a, b| off(*a).total_cmp(&off(*b))).into_iter().collect()
    }
}

impl Piecewise {
    /// All V with I(V) = I, for each of the currents in A: exact zeros of the pieces, to rounding.
    ///
    /// A current that a turn of the curve meets within rounding counts as reached.
    ///
    /// # Errors
    /// [`InterpolantError::NotReached`]; with `extrapolate` only where the continued ends do not reach it either.
    pub fn voltage(&self, current_a: &[f64], extrapolate: bool) -> Result<Vec<Voltages>, InterpolantError> {
        finite("current_a", current_a)?;
        current_a.iter().enumerate().map(|(k, &i)| self.voltages(k, i, extrapolate)).collect()
    }

    fn voltages(
        &self,
        index: usize,
        current_a: f64,
        extrapolate: bool,
    ) -> Result<Voltages, InterpolantError> {
        let stretches = Stretch::all(self, current_a, extrapolate);
        let found = Stretch::zeros(&stretches, self);
        if found.voltage_v.iter().any(|v| !v.is_finite()) {
            return Err(InterpolantError::NotRepresentable { what: "voltage", index });
        }
        if found.voltage_v.is_empty() {
            let ends = stretches.iter().flat_map(|s| [s.at_low, s.at_high]).map(|d| d + current_a);
            let (low_a, high_a) =
                ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), i| (l.min(i), h.max(i)));
            return Err(InterpolantError::NotReached { index, current_a, low_a, high_a });
        }
        Ok(found)
    }
}
