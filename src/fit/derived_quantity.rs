//! Figures that follow from the parameters, with their derivatives by θ.

use super::parameters::{Figure, names};
use crate::diode::{Circuit, Junction};
use crate::quantity::key_points::KeyPoint;

/// A figure of the fitted curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Derived {
    Isc,
    Voc,
    Pmax,
    VPmax,
    IPmax,
    Ff,
    /// I at a voltage in V.
    Current(f64),
}

impl Derived {
    /// The figure of the curve that a key point is, or is in proportion to.
    pub fn behind(point: KeyPoint) -> Self {
        match point {
            KeyPoint::Isc | KeyPoint::Jsc => Derived::Isc,
            KeyPoint::Voc => Derived::Voc,
            KeyPoint::Pmax | KeyPoint::Efficiency => Derived::Pmax,
            KeyPoint::VPmax => Derived::VPmax,
            KeyPoint::IPmax => Derived::IPmax,
            KeyPoint::Ff => Derived::Ff,
        }
    }

    /// The value and, in `by`, its derivatives by θ; `None` where the circuit has no such figure.
    pub fn evaluate<const K: usize>(self, circuit: &Circuit<K>, by: &mut [f64]) -> Option<f64> {
        if let Derived::Current(v) = self {
            circuit.current_at_by_theta(v, by);
            let i = circuit.current_at(v);
            return i.is_finite().then_some(i);
        }
        if circuit.is_dark() {
            return None;
        }
        let (values, rows) = circuit.key_points_by_theta();
        let position = match self {
            Derived::Isc => 0,
            Derived::Voc => 1,
            Derived::Pmax => 2,
            Derived::VPmax => 3,
            Derived::IPmax => 4,
            Derived::Ff | Derived::Current(_) => return fill_factor(&values, &rows, by),
        };
        by.iter_mut().zip(&rows[position]).for_each(|(by, d)| *by = *d);
        Some(values[position])
    }
}

/// All key points in the order of [`crate::quantity::key_points::NAMES`], without derivatives; `None` where one is no number.
pub(super) fn values<const K: usize>(circuit: &Circuit<K>) -> Option<[f64; 6]> {
    let (isc, voc, best) = (circuit.isc(), circuit.voc(), circuit.maximum_power());
    let ff = best.pmax / (isc * voc);
    (!circuit.is_dark() && ff.is_finite()).then_some([isc, voc, best.pmax, best.v_pmax, best.i_pmax, ff])
}

/// FF = Pmax/(Isc·Voc) by the chain rule.
fn fill_factor<const M: usize>(values: &[f64; 5], rows: &[[f64; M]; 5], by: &mut [f64]) -> Option<f64> {
    let [isc, voc, pmax, ..] = values;
    let ff = pmax / (isc * voc);
    let [isc_by, voc_by, pmax_by, ..] = rows;
    for (k, by) in by.iter_mut().enumerate() {
        *by = ff * (pmax_by[k] / pmax - isc_by[k] / isc - voc_by[k] / voc);
    }
    ff.is_finite().then_some(ff)
}

impl Figure {
    /// The value in SI units and, in `by`, its derivatives by θ; `None` where the circuit has no such figure or the figure
    /// no derivative, as Rsh where g = 0. `a_per_n` is cells·k·T/q.
    pub(crate) fn evaluate<const K: usize>(
        self,
        circuit: &Circuit<K>,
        a_per_n: f64,
        by: &mut [f64],
    ) -> Option<f64> {
        let value = match self {
            Self::KeyPoint(point) => Derived::behind(point).evaluate(circuit, by)?,
            Self::Parameter(parameter) => {
                let place = names(K).iter().position(|p| *p == parameter)?;
                let kind = parameter.kind();
                let value = kind.value(circuit.coordinate(place), a_per_n);
                by.fill(0.0);
                by[place] = kind.derivative(value);
                value
            }
        };
        (value.is_finite() && by.iter().all(|d| d.is_finite())).then_some(value)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Central differences of the figures themselves.
    #[test]
    fn derivatives_agree_with_differences() {
        let circuit = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189);
        let theta = circuit.theta();
        let points = KeyPoint::ALL.into_iter().take(6).map(Derived::behind);
        let all = values(&circuit).unwrap();
        for (figure, value) in points.clone().zip(all) {
            assert_eq!(figure.evaluate(&circuit, &mut [0.0; 5]), Some(value));
        }
        let figures = points.chain([Derived::Current(0.5)]);
        for figure in figures {
            let mut by = [0.0; 5];
            figure.evaluate(&circuit, &mut by).unwrap();
            for k in 0..5 {
                let at = |h: f64| {
                    let mut t = theta.clone();
                    t[k] += h;
                    figure.evaluate(&Circuit::<1>::from_theta(&t), &mut [0.0; 5]).unwrap()
                };
                let h = 1e-5 * theta[k].abs();
                let difference = (at(h) - at(-h)) / (2.0 * h);
                assert_relative_eq!(by[k], difference, max_relative = 1e-6, epsilon = 1e-9);
            }
        }
    }
}
