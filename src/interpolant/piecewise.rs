//! A curve I(V) of cubic pieces: current, slope, voltage, and the exact maximum of the power.
//!
//! ```text
//! I(V) = c₀ + c₁·s + c₂·s² + c₃·s³      s = (V − Vₖ)/(Vₖ₊₁ − Vₖ)   for Vₖ ≤ V ≤ Vₖ₊₁
//! ```
//!
//! With s from 0 to 1 all coefficients are in A, whatever the spacing of the voltages.

use super::checks::finite;
use super::error::InterpolantError;
use crate::numerics::roots::cubic::{self, Cubic};
use crate::quantity::format::quantity;
use std::fmt;

/// A continuous curve I(V), one cubic between two successive breaks.
///
/// # Examples
/// ```
/// use litdiode::interpolant::Piecewise;
/// // I = 2 − V² between 0 and 2 V, in one piece of t = V/2: V·I is highest at √(2/3).
/// let curve = Piecewise::new(vec![0.0, 2.0], vec![[2.0, 0.0, -4.0, 0.0]])?;
/// let best = curve.maximum_power()?;
/// assert!((best.v_pmax - (2.0f64 / 3.0).sqrt()).abs() < 1e-12 && !best.at_end);
/// assert!((curve.voltage(&[0.0], false)?[0].voltage_v[0] - 2f64.sqrt()).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(try_from = "super::serialization::PlainCurve"))]
pub struct Piecewise {
    breaks_v: Vec<f64>,
    coefficients_a: Vec<Cubic>,
}

/// Values at places, and which of the places the end polynomials were continued to.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Evaluated {
    /// One value a place, in the unit of the quantity asked for.
    pub values: Vec<f64>,
    /// Positions of the places outside the range of the breaks.
    pub extrapolated: Vec<usize>,
}

/// The point of maximum power within the breaks.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Maximum {
    /// Largest V·I in W.
    pub pmax_w: f64,
    /// Its voltage in V; the lowest where several give the same power.
    pub v_pmax: f64,
    /// Its current in A.
    pub i_pmax: f64,
    /// Whether it lies at an end of the range, where the power may rise further.
    pub at_end: bool,
}

impl Piecewise {
    /// The curve with the given breaks (V, rising, 2 or more) and coefficients (A, one row a piece) of the module's
    /// equation. Where two pieces do not meet, the right one holds at the break.
    ///
    /// # Errors
    /// [`InterpolantError`]: too few breaks, breaks that do not rise, another number of rows, numbers beyond a double.
    pub fn new(breaks_v: Vec<f64>, coefficients_a: Vec<[f64; 4]>) -> Result<Self, InterpolantError> {
        finite("breaks_v", &breaks_v)?;
        let given = breaks_v.len();
        if given < 2 {
            return Err(InterpolantError::TooFewVoltages { needed: 2, given });
        }
        if let Some(k) = breaks_v.windows(2).position(|b| b[1] <= b[0]) {
            return Err(InterpolantError::Breaks { index: k + 1, value: breaks_v[k + 1] });
        }
        if let Some(index) = breaks_v.windows(2).position(|b| !(b[1] - b[0]).is_finite()) {
            return Err(InterpolantError::NotRepresentable { what: "width of a piece", index });
        }
        if coefficients_a.len() + 1 != given {
            let (name, needed) = ("coefficients_a", given - 1);
            return Err(InterpolantError::Lengths { name, needed, given: coefficients_a.len() });
        }
        if let Some(index) = coefficients_a.iter().position(|c| !cubic::magnitude(c, 1.0).is_finite()) {
            return Err(InterpolantError::NotRepresentable { what: "coefficient of a piece", index });
        }
        Ok(Self { breaks_v, coefficients_a })
    }

    /// Breaks in V, rising.
    pub fn breaks_v(&self) -> &[f64] {
        &self.breaks_v
    }

    /// c₀ to c₃ of each piece in A.
    pub fn coefficients_a(&self) -> &[[f64; 4]] {
        &self.coefficients_a
    }

    /// Lowest and highest voltage in V.
    pub fn range_v(&self) -> (f64, f64) {
        (self.breaks_v[0], self.breaks_v[self.breaks_v.len() - 1])
    }

    /// I(V) in A.
    ///
    /// # Errors
    /// [`InterpolantError::Outside`] unless `extrapolate`; a voltage or a result that is not finite.
    pub fn current(&self, voltage_v: &[f64], extrapolate: bool) -> Result<Evaluated, InterpolantError> {
        self.evaluate(voltage_v, extrapolate, "current", |k, s, _| cubic::value(&self.coefficients_a[k], s))
    }

    /// dI/dV in S; at a kink that of the piece to the right.
    ///
    /// # Errors
    /// As [`Piecewise::current`].
    pub fn slope(&self, voltage_v: &[f64], extrapolate: bool) -> Result<Evaluated, InterpolantError> {
        self.evaluate(voltage_v, extrapolate, "slope", |k, s, _| {
            cubic::slope(&self.coefficients_a[k], s) / self.width(k)
        })
    }

    /// P(V) = V·I(V) in W.
    ///
    /// # Errors
    /// As [`Piecewise::current`].
    pub fn power(&self, voltage_v: &[f64], extrapolate: bool) -> Result<Evaluated, InterpolantError> {
        self.evaluate(voltage_v, extrapolate, "power", |k, s, v| v * cubic::value(&self.coefficients_a[k], s))
    }

    /// The largest V·I between the first and the last break: the best of the breaks and the zeros of (V·I)′.
    ///
    /// # Errors
    /// [`InterpolantError::NotRepresentable`] where V·I is beyond a double.
    pub fn maximum_power(&self) -> Result<Maximum, InterpolantError> {
        let mut best: Option<Maximum> = None;
        let (low, high) = self.range_v();
        for (k, c) in self.coefficients_a.iter().enumerate() {
            let mut places = vec![0.0];
            places.extend(cubic::zeros(&self.power_slope(k), 0.0, 1.0));
            places.push(1.0);
            for s in places {
                let (v, i) = (self.place(k, s), cubic::value(c, s));
                if !(v * i).is_finite() {
                    return Err(InterpolantError::NotRepresentable { what: "power in piece", index: k });
                }
                if best.is_none_or(|b| v * i > b.pmax_w) {
                    best =
                        Some(Maximum { pmax_w: v * i, v_pmax: v, i_pmax: i, at_end: v == low || v == high });
                }
            }
        }
        best.ok_or(InterpolantError::TooFewVoltages { needed: 2, given: 0 })
    }

    /// d(V·I)/ds of a piece but for a positive factor that keeps it in range: with V = b + h·s it is
    /// (h·c₀ + b·c₁) + 2(h·c₁ + b·c₂)·s + 3(h·c₂ + b·c₃)·s² + 4·h·c₃·s³.
    fn power_slope(&self, k: usize) -> Cubic {
        let largest = self.coefficients_a[k].iter().fold(f64::MIN_POSITIVE, |m, c| m.max(c.abs()));
        let c = self.coefficients_a[k].map(|c| c / largest);
        let scale = self.width(k).max(self.breaks_v[k].abs());
        let (b, h) = (self.breaks_v[k] / scale, self.width(k) / scale);
        let pair = |j: usize| h * c[j] + b * c[j + 1];
        [pair(0), 2.0 * pair(1), 3.0 * pair(2), 4.0 * h * c[3]]
    }

    pub(super) fn width(&self, k: usize) -> f64 {
        self.breaks_v[k + 1] - self.breaks_v[k]
    }

    /// The voltage at s of piece `k`, exactly the break at s = 1, never beyond it for s < 1.
    pub(super) fn place(&self, k: usize, s: f64) -> f64 {
        if s == 1.0 {
            return self.breaks_v[k + 1];
        }
        let v = self.breaks_v[k] + s * self.width(k);
        if s < 1.0 { v.min(self.breaks_v[k + 1]) } else { v }
    }

    /// Piece and s of a voltage; outside the breaks those of the end piece.
    pub(super) fn locate(&self, v: f64) -> (usize, f64) {
        let last = self.coefficients_a.len() - 1;
        let k = self.breaks_v.partition_point(|b| *b <= v).saturating_sub(1).min(last);
        (k, (v - self.breaks_v[k]) / self.width(k))
    }

    /// I, dI/dV and d²I/dV² at `v`; beyond the breaks those of the end piece.
    pub(crate) fn jet(&self, v: f64) -> [f64; 3] {
        let ((k, s), h) = (self.locate(v), self.width(self.locate(v).0));
        let c = &self.coefficients_a[k];
        [cubic::value(c, s), cubic::slope(c, s) / h, (2.0 * c[2] + 6.0 * c[3] * s) / (h * h)]
    }

    fn evaluate(
        &self,
        voltage_v: &[f64],
        extrapolate: bool,
        what: &'static str,
        at: impl Fn(usize, f64, f64) -> f64,
    ) -> Result<Evaluated, InterpolantError> {
        finite("voltage_v", voltage_v)?;
        let (low_v, high_v) = self.range_v();
        let mut out = Evaluated { values: Vec::with_capacity(voltage_v.len()), extrapolated: Vec::new() };
        for (index, &v) in voltage_v.iter().enumerate() {
            if !(low_v..=high_v).contains(&v) {
                if !extrapolate {
                    return Err(InterpolantError::Outside { index, voltage_v: v, low_v, high_v });
                }
                out.extrapolated.push(index);
            }
            let (k, s) = self.locate(v);
            let value = at(k, s, v);
            if !value.is_finite() {
                return Err(InterpolantError::NotRepresentable { what, index });
            }
            out.values.push(value);
        }
        Ok(out)
    }
}

/// `310.7 mW at 0.4507 V, 689.4 mA`, and whether it lies at an end of the range.
impl fmt::Display for Maximum {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { pmax_w, v_pmax, i_pmax, at_end } = *self;
        let end = if at_end { ", at an end of the sweep" } else { "" };
        write!(f, "{} at {}, {}{end}", quantity(pmax_w, "W"), quantity(v_pmax, "V"), quantity(i_pmax, "A"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: (V − 0.5)(V − 2)(V − 5) is 0 at its roots; within 0 to 1 V only 0.5, within 2.2 to 3 none, 2 nearest.
    #[test]
    fn a_voltage_within_goes_before_those_of_the_continued_ends() {
        let curve = Piecewise::new(vec![0.0, 1.0], vec![[-5.0, 13.5, -7.5, 1.0]]).unwrap();
        let found = curve.voltage(&[0.0], true).unwrap().remove(0);
        assert_eq!(found.voltage_v.len(), 3);
        let near = |range| {
            found.within_or_nearest(range).iter().map(|v| (v * 1e9).round() / 1e9).collect::<Vec<_>>()
        };
        assert_eq!(
            (near((0.0, 1.0)), near((2.2, 3.0)), near((0.0, 3.0))),
            (vec![0.5], vec![2.0], vec![0.5, 2.0])
        );
    }
}
