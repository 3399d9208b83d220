//! Rs and Rsh of a lit curve by the co-content, an integral instead of a derivative.
//!
//! ```text
//! C(V) = ∫₀ⱽ (I − Isc) dV′ = c₀ + cV·V + cJ·J + cVV·V² + cVJ·V·J + cJJ·J²,   J = I − Isc
//! cVV = −g/2      cVJ = −g·Rs      cJJ = −Rs·(1 + g·Rs)/2      cJ = a + Rs·cV
//! g = −2·cVV      Rs = −4·cJJ/(1 + √(1 + 16·cVV·cJJ))
//! ```
//!
//! Derivation for one diode, with u = V + Rs·I and I = Iph − I0·(e^{u/a} − 1) − g·u: ∫I dV = ∫I du − Rs·∫I dI, and
//! the exponential that ∫I du leaves is I0·e^{u/a} = Iph + I0 − g·u − I again, so that
//! ∫I dV = (Iph + I0 + a·g)·Δu + a·ΔI − (g/2)·Δ(u²) − (Rs/2)·Δ(I²), a quadratic form in V and J. c₀ takes up where
//! the integral begins. The last line solves g·Rs² + Rs + 2·cJJ = 0 without cancellation at g = 0.
//!
//! J and J² scatter themselves, which bends the coefficients: that shift of the mean is taken off to second order.
//!
//! A. Ortiz-Conde, F. J. García Sánchez, J. Muci, Sol. Energy Mater. Sol. Cells 90 (2006) 352, from memory.

use super::carry::carry;
use super::error::ResistanceError;
use super::outcome::{Quantity, Raw, Resistance, Words};
use super::solve::least_squares;
use super::trace::{Prepared, Trace};

const FEWEST: usize = 12;
const SOURCE: &str = "A. Ortiz-Conde et al., Sol. Energy Mater. Sol. Cells 90 (2006) 352";

/// Rs or Rsh of a lit sweep.
pub(super) fn co_content(lit: &Prepared, quantity: Quantity) -> Result<Resistance, ResistanceError> {
    let trace = &lit.trace;
    if trace.len() < FEWEST {
        let region = "of the lit sweep";
        return Err(ResistanceError::TooFewPoints { region, given: trace.len(), needed: FEWEST });
    }
    let isc = lit.key_point("isc")?.value;
    let undetermined = || ResistanceError::Undetermined { axis: "voltages across the knee" };
    // Another Isc is another origin of J, which leaves cVV, cVJ and cJJ as they are: it needs no uncertainty.
    let figure = |t: &Trace| {
        let (series, shunt) = resistances(t, isc)?;
        Some(if quantity == Quantity::Series { series } else { shunt })
    };
    let value = figure(trace).ok_or_else(undetermined)?;
    let ideal = figure(&trace.ideal()).ok_or_else(undetermined)?;
    let carried = carry(trace, figure).ok_or_else(undetermined)?;
    let truth = if quantity == Quantity::Series { trace.circuit.rs } else { trace.circuit.g };
    let (value, variance, bias) = (value - carried.shift, carried.variance, ideal - truth);
    let measures = "lumped, over the whole lit sweep";
    let words = Words { quantity, method: "co-content", measures, source: SOURCE };
    let doubts = lit.doubt().into_iter().collect();
    Raw { value, variance, dof: trace.dof, bias, doubts }.dress(words, trace)
}

/// Rs and g by linear least squares on the quadratic form.
fn resistances(t: &Trace, isc: f64) -> Option<(f64, f64)> {
    let c = integral(t)?;
    let column = |f: &dyn Fn(f64, f64) -> f64| {
        t.v.iter().zip(&t.i).map(|(&v, &i)| f(v, i - isc)).collect::<Vec<f64>>()
    };
    let columns = [
        vec![1.0; t.len()],
        column(&|v, _| v),
        column(&|_, j| j),
        column(&|v, _| v * v),
        column(&|v, j| v * j),
        column(&|_, j| j * j),
    ];
    let content: Vec<f64> = c.iter().zip(&t.v).map(|(c, v)| c - isc * v).collect();
    let [_, _, _, vv, _, jj] = least_squares(&columns, &content)?.c.try_into().ok()?;
    let root = 1.0 + 16.0 * vv * jj;
    let series = -4.0 * jj / (1.0 + root.max(0.0).sqrt());
    (root >= 0.0).then_some((series, -2.0 * vv))
}

/// ∫I dV from the first reading: trapezoids less h³/12 of the second derivative of the neighbouring parabolas.
fn integral(t: &Trace) -> Option<Vec<f64>> {
    let n = t.len();
    // Half the second derivative: the divided difference over three readings.
    let bend = |k: usize| {
        let (v, i) = (&t.v[k - 1..k + 2], &t.i[k - 1..k + 2]);
        ((i[2] - i[1]) / (v[2] - v[1]) - (i[1] - i[0]) / (v[1] - v[0])) / (v[2] - v[0])
    };
    let mut sum = vec![0.0; n];
    for k in 1..n {
        let h = t.v[k] - t.v[k - 1];
        let (left, right) = ((k > 1).then(|| bend(k - 1)), (k + 1 < n).then(|| bend(k)));
        let mean = match (left, right) {
            (Some(l), Some(r)) => 0.5 * (l + r),
            (one, other) => one.or(other)?,
        };
        sum[k] = sum[k - 1] + 0.5 * h * (t.i[k] + t.i[k - 1]) - h.powi(3) / 6.0 * mean;
    }
    sum.iter().all(|x| x.is_finite()).then_some(sum)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Device, Parameters};
    use crate::sweep::{Leads, Sign, Sweep, SweepOptions};

    /// On a fine curve without scatter the identities give back the resistances of the model.
    #[test]
    fn identities() {
        let (rs_ohm, rsh_ohm) = (1.5, 90.0);
        let (i0_a, n, cells, temperature_c) = ([1e-9], [1.4], 1, 25.0);
        let p = Parameters { iph_a: 0.03, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c };
        let device = Device::new(p).expect("in the domain");
        let v: Vec<f64> = (0..2000).map(|k| -0.05 + 7e-1 / 2000.0 * f64::from(k)).collect();
        let mut i = vec![0.0; v.len()];
        device.current(&v, &mut i).expect("finite");
        let options =
            SweepOptions { sign: Sign::Generator, leads: Leads::AsGiven, ..SweepOptions::default() };
        let sweep = Sweep::new(&v, &i, options).expect("a sweep");
        let trace = Prepared::of(&sweep, false).expect("a fit").trace;
        for isc in [trace.isc, 0.9 * trace.isc] {
            let (series, g) = resistances(&trace, isc).expect("determined");
            assert!((series / rs_ohm - 1.0).abs() < 1e-6, "{series}");
            assert!((g * rsh_ohm - 1.0).abs() < 1e-6, "{g}");
        }
    }
}
