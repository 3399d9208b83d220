//! Rs and Rsh of a lit curve by the co-content, an integral instead of a derivative.
//!
//! ```text
//! C(V) = ∫ J dV = c₀ + cV·V + cJ·J + cVV·V² + cVJ·V·J + cJJ·J²,   J = I − Isc
//! cVV = −g/2      cVJ = −g·Rs      cJJ = −Rs·(1 + g·Rs)/2
//! g = −2·cVV      Rs = −4·cJJ/(1 + √(1 + 16·cVV·cJJ))
//! ```
//!
//! Derivation for one diode, with u = V + Rs·I and I = Iph − I0·(e^{u/a} − 1) − g·u: ∫I dV = ∫I du − Rs·∫I dI, and
//! the exponential that ∫I du leaves is I0·e^{u/a} = Iph + I0 − g·u − I again, so that
//! ∫I dV = (Iph + I0 + a·g)·Δu + a·ΔI − (g/2)·Δ(u²) − (Rs/2)·Δ(I²), a quadratic form in V and J. c₀ takes up where
//! the integral begins. The last line solves g·Rs² + Rs + 2·cJJ = 0 without cancellation at g = 0.
//!
//! The readings scatter on both sides of the equation, where J, V·J and J² are regressors with errors: least squares
//! would draw Rs towards 0 (by 30 % at 0.5 % of scatter on 30 readings). The feet of the readings on the stand-in
//! serve as instruments, and the squares are rid of what the scatter adds to their mean:
//!
//! ```text
//! Zᵀ·S⁻¹·B·(C − X·c) = 0      X: V, J, V² − σV², V·J, J² − σI² of the readings      Z: B·X at the feet
//! S = L·Lᵀ      Q·R = L⁻¹·Z      M = Qᵀ·L⁻¹·B·X      cov c = M⁻¹·M⁻ᵀ
//! ```
//!
//! B takes differences of neighbours, in which the error that the integral cumulates is tridiagonal: with
//! D_V and D_J the derivatives of the quadratic form, reading p after q,
//!
//! ```text
//! B·(C − X·c) = (½ΔV − D_J(p))·δI(p) + (½ΔV + D_J(q))·δI(q) + (J(p) − ½ΔJ − D_V(p))·δV(p) − (J(q) + ½ΔJ − D_V(q))·δV(q)
//! ```
//!
//! C is the stand-in's own co-content at the feet and trapezoids over what the readings differ from it.
//!
//! A. Ortiz-Conde, F. J. García Sánchez, J. Muci, Sol. Energy Mater. Sol. Cells 90 (2006) 352, from memory;
//! instruments: O. Reiersøl, Ark. Mat. Astr. Fys. 32A (1945) no. 4, from memory.

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use crate::diode::Junction;
use crate::numerics::least_squares::linear::invert;
use crate::numerics::linear_algebra::qr::thin_qr;
use crate::numerics::linear_algebra::tridiagonal::Tridiagonal;

const FEWEST: usize = 12;
const SOURCE: &str = "A. Ortiz-Conde et al., Sol. Energy Mater. Sol. Cells 90 (2006) 352";

/// Coefficients besides c₀: of V, J, V², V·J, J².
const TERMS: usize = 5;

/// Rs or Rsh of a lit sweep.
pub(super) fn co_content(lit: &Prepared, quantity: Quantity) -> Result<Resistance, ResistanceError> {
    let trace = &lit.trace;
    if trace.len() < FEWEST {
        let region = "of the lit sweep";
        return Err(ResistanceError::TooFewPoints { region, given: trace.len(), needed: FEWEST });
    }
    let undetermined = ResistanceError::Undetermined { axis: "voltages across the knee" };
    let form = Form::of(trace).ok_or(undetermined.clone())?;
    let (value, row) = form.figure(quantity).ok_or(undetermined)?;
    let variance = form.variance(&row);
    let measures = "lumped, over the whole lit sweep";
    let words = Words { quantity, method: "co-content", measures, source: SOURCE };
    let mut doubts: Vec<Doubt> = lit.doubt().into_iter().collect();
    doubts.extend(lit.lack_of_fit());
    Raw { value, variance, dof: trace.dof, bias: 0.0, doubts }.dress(words, trace)
}

/// The quadratic form of a sweep.
struct Form {
    c: [f64; TERMS],
    covariance: [[f64; TERMS]; TERMS],
}

/// A reading and its foot on the stand-in, J counted from the stand-in's Isc.
struct Point {
    v: f64,
    j: f64,
    foot_v: f64,
    foot_j: f64,
    sigma_v: f64,
    sigma_i: f64,
    /// The stand-in's own co-content at the foot, from an arbitrary origin.
    content: f64,
}

impl Form {
    /// `None` where the readings do not determine it.
    fn of(trace: &Trace) -> Option<Self> {
        let points = points(trace);
        let n = points.len();
        let stand_in = coefficients(trace);
        let content = contents(&points);
        let differences = |f: &dyn Fn(&Point) -> f64| -> Vec<f64> {
            points.windows(2).map(|p| f(&p[1]) - f(&p[0])).collect()
        };
        let x: [Vec<f64>; TERMS] = [
            differences(&|p| p.v),
            differences(&|p| p.j),
            differences(&|p| p.v * p.v - p.sigma_v.powi(2)),
            differences(&|p| p.v * p.j),
            differences(&|p| p.j * p.j - p.sigma_i.powi(2)),
        ];
        let z: [Vec<f64>; TERMS] = [
            differences(&|p| p.foot_v),
            differences(&|p| p.foot_j),
            differences(&|p| p.foot_v * p.foot_v),
            differences(&|p| p.foot_v * p.foot_j),
            differences(&|p| p.foot_j * p.foot_j),
        ];
        let y: Vec<f64> = content.windows(2).map(|c| c[1] - c[0]).collect();
        let s = covariance(&points, &stand_in)?;
        let white =
            |columns: &[Vec<f64>; TERMS]| -> Vec<Vec<f64>> { columns.iter().map(|c| s.whiten(c)).collect() };
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let (mut q, mut r) = (white(&z).concat(), [0.0; TERMS * TERMS]);
        thin_qr(&mut q, TERMS, &mut r);
        let (q, x_white): (Vec<&[f64]>, _) = (q.chunks_exact(n - 1).collect(), white(&x));
        let m: [[f64; TERMS]; TERMS] =
            std::array::from_fn(|i| std::array::from_fn(|k| dot(q[i], &x_white[k])));
        let inverse = invert(m)?;
        // What is wrong of the stand-in's coefficients: rounding counts in the correction alone.
        let wrong: Vec<f64> =
            (0..n - 1).map(|k| y[k] - (0..TERMS).map(|t| stand_in[t] * x[t][k]).sum::<f64>()).collect();
        let wrong = s.whiten(&wrong);
        let right: [f64; TERMS] = std::array::from_fn(|i| dot(q[i], &wrong));
        let c: [f64; TERMS] = std::array::from_fn(|i| stand_in[i] + dot(&inverse[i], &right));
        let covariance = std::array::from_fn(|i| std::array::from_fn(|k| dot(&inverse[i], &inverse[k])));
        let known = c.iter().chain(covariance.as_flattened()).all(|x: &f64| x.is_finite());
        known.then_some(Self { c, covariance })
    }

    /// Rs or g with its derivatives by the coefficients.
    fn figure(&self, quantity: Quantity) -> Option<(f64, [f64; TERMS])> {
        let (vv, jj) = (self.c[2], self.c[4]);
        if quantity == Quantity::Shunt {
            return Some((-2.0 * vv, [0.0, 0.0, -2.0, 0.0, 0.0]));
        }
        let square = 1.0 + 16.0 * vv * jj;
        if square.is_nan() || square <= 0.0 {
            return None;
        }
        let root = square.sqrt();
        let series = -4.0 * jj / (1.0 + root);
        let by_root = 4.0 * jj / (1.0 + root).powi(2);
        let (by_vv, by_jj) = (by_root * 8.0 * jj / root, by_root * 8.0 * vv / root - 4.0 / (1.0 + root));
        Some((series, [0.0, 0.0, by_vv, 0.0, by_jj]))
    }

    fn variance(&self, row: &[f64; TERMS]) -> f64 {
        let along = |k: usize| (0..TERMS).map(|l| self.covariance[k][l] * row[l]).sum::<f64>();
        (0..TERMS).map(|k| row[k] * along(k)).sum::<f64>().max(0.0)
    }
}

/// The readings by the voltage of their feet, so that scatter on the voltage puts none before its neighbour.
fn points(t: &Trace) -> Vec<Point> {
    let c = &t.circuit;
    let mut points: Vec<Point> = (0..t.len())
        .map(|k| {
            let exact = t.sigma_v[k] == 0.0 && t.sigma_i[k] == 0.0;
            let foot = c.nearest(t.v[k], t.i[k], t.sigma_v[k], if exact { 1.0 } else { t.sigma_i[k] });
            // Above Iph + I0 a device without a shunt carries no current: the reading's own voltage is left.
            let u = if foot.is_finite() { foot } else { c.at_voltage(t.v[k]) };
            let i = c.current(u).value;
            let v = u - c.rs * i;
            let linear = (c.iph + c.i0[0] + c.a[0] * c.g) * u + c.a[0] * i;
            let content = linear - 0.5 * c.g * u * u - 0.5 * c.rs * i * i - t.isc * v;
            Point {
                v: t.v[k],
                j: t.i[k] - t.isc,
                foot_v: v,
                foot_j: i - t.isc,
                sigma_v: t.sigma_v[k],
                sigma_i: t.sigma_i[k],
                content,
            }
        })
        .collect();
    points.sort_by(|a, b| a.foot_v.total_cmp(&b.foot_v));
    points
}

/// The stand-in's coefficients: of V, J, V², V·J, J².
fn coefficients(t: &Trace) -> [f64; TERMS] {
    let c = &t.circuit;
    let (a, g, rs, isc) = (c.a[0], c.g, c.rs, t.isc);
    // u = V + Rs·(J + Isc), I = J + Isc in the formula of the module.
    let by_u = c.iph + c.i0[0] + a * g;
    let by_v = by_u - g * rs * isc - isc;
    let by_j = by_u * rs + a - g * rs * rs * isc - rs * isc;
    [by_v, by_j, -0.5 * g, -g * rs, -0.5 * rs * (1.0 + g * rs)]
}

/// ∫ J dV to each reading: the stand-in's at the foot, and trapezoids over what the reading differs from it,
/// δ∫ J dV = ∫ δJ dV + J·δV − ∫ δV dJ.
fn contents(points: &[Point]) -> Vec<f64> {
    let mut beside = 0.0;
    let mut all = Vec::with_capacity(points.len());
    for (k, p) in points.iter().enumerate() {
        if k > 0 {
            let q = &points[k - 1];
            let (dv, dj) = (p.foot_v - q.foot_v, p.foot_j - q.foot_j);
            let (off_j, off_v) = (p.j - p.foot_j + q.j - q.foot_j, p.v - p.foot_v + q.v - q.foot_v);
            beside += 0.5 * (off_j * dv - off_v * dj);
        }
        all.push(p.content + beside + p.foot_j * (p.v - p.foot_v));
    }
    all
}

/// Covariance of the differences of C − X·c for the scatter of the readings, c those of the stand-in.
fn covariance(points: &[Point], c: &[f64; TERMS]) -> Option<Tridiagonal> {
    let [by_v, by_j, vv, vj, jj] = *c;
    // What one reading's scatter does to C − X·c at its own place, but for the trapezoids.
    let own_j = |p: &Point| -(by_j + vj * p.foot_v + 2.0 * jj * p.foot_j);
    let own_v = |p: &Point| p.foot_j - (by_v + 2.0 * vv * p.foot_v + vj * p.foot_j);
    // The interval from q to p: scatter of its first end, and of its last.
    let ends = |q: &Point, p: &Point| {
        let (dv, dj) = (0.5 * (p.foot_v - q.foot_v), 0.5 * (p.foot_j - q.foot_j));
        let first = [(dv - own_j(q)) * q.sigma_i, (-dj - own_v(q)) * q.sigma_v];
        let last = [(dv + own_j(p)) * p.sigma_i, (-dj + own_v(p)) * p.sigma_v];
        (first, last)
    };
    let ends: Vec<([f64; 2], [f64; 2])> = points.windows(2).map(|p| ends(&p[0], &p[1])).collect();
    let dot = |a: [f64; 2], b: [f64; 2]| a[0] * b[0] + a[1] * b[1];
    let mut diagonal: Vec<f64> = ends.iter().map(|e| dot(e.0, e.0) + dot(e.1, e.1)).collect();
    let beside: Vec<f64> = ends.windows(2).map(|e| dot(e[0].1, e[1].0)).collect();
    if diagonal.iter().all(|d| *d == 0.0) {
        diagonal.fill(1.0);
    }
    Tridiagonal::factor(&diagonal, &beside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Device, Parameters};
    use crate::sweep::{Leads, Sign, Sweep, SweepOptions};

    /// On a curve without scatter the identities give back the resistances of the model, whatever the stand-in's Isc
    /// and trapezoids make of it.
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
        let mut trace = Prepared::of(&sweep, false).expect("a fit").trace;
        let exact = trace.circuit;
        for (rs, n) in [(1.0, 1.0), (1.02, 1.0), (1.0, 1.01)] {
            trace.circuit = exact;
            trace.circuit.rs *= rs;
            trace.circuit.a[0] *= n;
            let form = Form::of(&trace).expect("determined");
            let of = |quantity| form.figure(quantity).expect("real").0;
            let (series, g) = (of(Quantity::Series), of(Quantity::Shunt));
            assert!((series / rs_ohm - 1.0).abs() < 1e-4, "{series}");
            assert!((g * rsh_ohm - 1.0).abs() < 1e-4, "{g}");
        }
    }
}
