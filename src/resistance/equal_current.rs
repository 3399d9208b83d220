//! Rs from sweeps at two or more irradiances, at equal distance Δ = Isc − I below the short circuit.
//!
//! ```text
//! V = h(Δ) − Rs·I = H(ln Δ) − Rs·Isc        h: junction voltage; H = h + Rs·Δ, the same at every irradiance
//! ```
//!
//! Where Δ is equal, the curves differ by Rs times the difference of their Isc, at every Δ. One regression
//! over all sweeps, with H a polynomial in ln Δ and −Isc as a further column, takes the best mean over all Δ;
//! the scatter of each Isc moves a whole curve along Δ and is carried as such.
//!
//! ```text
//! u² = (covariance of the regression) + Σ (∂Rs/∂Iscₖ)² u²(Iscₖ)
//! ```
//!
//! M. Wolf, H. Rauschenbach, Advanced Energy Conversion 3 (1963) 455 (two irradiances); IEC 60891 (several);
//! both from memory.

use super::choice::{Trial, best};
use super::error::ResistanceError;
use super::outcome::{Quantity, Raw, Resistance, Words};
use super::regression::{Problem, Regression};
use super::trace::{Prepared, Trace};
use crate::estimate::Estimate;
use crate::key_points::combined_dof;

/// The least Δ as a part of the smallest Isc.
const LEAST: f64 = 0.1;
const DEGREES: std::ops::RangeInclusive<usize> = 2..=5;
const BELIEVED: f64 = 4.0;

const TWO: Words = Words {
    quantity: Quantity::Series,
    method: "two irradiances",
    measures: "lumped, under light between knee and open circuit",
    source: "M. Wolf, H. Rauschenbach, Advanced Energy Conversion 3 (1963) 455",
};

const SEVERAL: Words =
    Words { method: "several irradiances", source: "IEC 60891, points of equal Isc − I", ..TWO };

/// Rs from two sweeps (`TWO`) or more.
pub(super) fn equal_current(sweeps: &[&Prepared]) -> Result<Resistance, ResistanceError> {
    let isc: Vec<Estimate> = sweeps.iter().map(|s| s.key_point("isc").cloned()).collect::<Result<_, _>>()?;
    differ(&isc)?;
    let real = Bundle::new(sweeps.iter().map(|s| s.trace.clone()).collect(), isc.iter().map(|e| e.value));
    let given = real.x.len();
    let needed = 3 + sweeps.len();
    let few = ResistanceError::TooFewPoints { region: "at Isc − I common to all sweeps", given, needed };
    if given < needed {
        return Err(few);
    }
    let ideal = real.ideal(&sweeps[0].trace);
    let rs = sweeps[0].trace.circuit.rs;
    let trials = DEGREES.filter_map(|degree| {
        let (r, i) = (real.regress(degree, 1)?, ideal.regress(degree, 1)?);
        let last = r.c.len() - 1;
        let from_isc = real.through_isc(degree, &isc, r.c[last])?;
        let variance = r.covariance(last, last) + from_isc.iter().map(|s| s.0 * s.0).sum::<f64>();
        let trial = Trial { value: r.c[last], variance, bias: i.c[last] - rs, chi2: r.chi2, spare: r.dof };
        Some((trial, (degree, r.covariance(last, last), from_isc)))
    });
    let (trial, (degree, own, from_isc)) =
        best(trials).ok_or(ResistanceError::Undetermined { axis: "irradiances" })?;
    let trace = &sweeps[0].trace;
    let mut doubts: Vec<String> = sweeps.iter().filter_map(|s| s.doubt()).collect();
    doubts.extend(real.trend(degree));
    let scatter_dof = sweeps.iter().map(|s| s.trace.dof).fold(f64::INFINITY, f64::min);
    let from_isc = from_isc.iter().map(|(shift, dof)| (shift * shift, *dof));
    let dof = combined_dof(&from_isc.chain([(own, scatter_dof)]).collect::<Vec<_>>());
    let (value, variance, bias) = (trial.value, trial.variance, trial.bias);
    let mut trace = trace.clone();
    trace.unknown = sweeps.iter().find_map(|s| s.trace.unknown.clone());
    let words = if sweeps.len() == 2 { TWO } else { SEVERAL };
    Raw { value, variance, dof, bias, doubts }.dress(words, &trace)
}

/// All short-circuit currents apart from each other.
fn differ(isc: &[Estimate]) -> Result<(), ResistanceError> {
    for (k, a) in isc.iter().enumerate() {
        for b in &isc[..k] {
            let u = a.u.unwrap_or(0.0).hypot(b.u.unwrap_or(0.0));
            let apart = (a.value - b.value).abs();
            if apart <= (4.0 * u).max(0.05 * a.value.abs().max(b.value.abs())) {
                return Err(ResistanceError::SameLight { first_a: b.value, second_a: a.value });
            }
        }
    }
    Ok(())
}

/// Readings of all sweeps in the common range of Δ.
struct Bundle {
    traces: Vec<Trace>,
    isc: Vec<f64>,
    /// Sweep of each reading.
    of: Vec<usize>,
    x: Vec<f64>,
    y: Vec<f64>,
    sigma_x: Vec<f64>,
    sigma_y: Vec<f64>,
}

impl Bundle {
    fn new(traces: Vec<Trace>, isc: impl Iterator<Item = f64>) -> Self {
        let isc: Vec<f64> = isc.collect();
        let least = LEAST * isc.iter().copied().fold(f64::INFINITY, f64::min);
        // The range comes from the stand-ins, so that a reading does not choose itself.
        let reach = |t: &Trace| t.expected().iter().map(|i| t.isc - i).fold(0.0, f64::max);
        let most = traces.iter().map(reach).fold(f64::INFINITY, f64::min);
        let mut bundle = Self {
            traces: Vec::new(),
            isc,
            of: Vec::new(),
            x: Vec::new(),
            y: Vec::new(),
            sigma_x: Vec::new(),
            sigma_y: Vec::new(),
        };
        for (s, trace) in traces.iter().enumerate() {
            for (k, i) in trace.expected().iter().enumerate() {
                let delta = trace.isc - i;
                if delta >= least && delta <= most * 1.0001 && bundle.isc[s] - trace.i[k] > 0.3 * least {
                    bundle.of.push(s);
                    bundle.x.push(trace.i[k]);
                    bundle.y.push(trace.v[k]);
                    bundle.sigma_x.push(trace.sigma_i[k]);
                    bundle.sigma_y.push(trace.sigma_v[k]);
                }
            }
        }
        bundle.traces = traces;
        bundle
    }

    /// The stand-in of `first` under the light of each sweep, at the same voltages.
    fn ideal(&self, first: &Trace) -> Self {
        use crate::diode::Junction;
        let circuits: Vec<_> = self
            .isc
            .iter()
            .map(|isc| {
                let mut c = first.circuit;
                c.iph *= isc / self.isc[0];
                c
            })
            .collect();
        Self {
            traces: Vec::new(),
            isc: circuits.iter().map(|c| c.isc()).collect(),
            of: self.of.clone(),
            x: self.of.iter().zip(&self.y).map(|(s, v)| circuits[*s].current_at(*v)).collect(),
            y: self.y.clone(),
            sigma_x: self.sigma_x.clone(),
            sigma_y: self.sigma_y.clone(),
        }
    }

    /// H of `degree`, and `further` columns of which the last is −Isc; with two, −Isc·ln Δ stands before it.
    fn regress(&self, degree: usize, further: usize) -> Option<Regression> {
        let unit = self.isc[0].abs();
        let terms = degree + 1 + further;
        let basis = |k: usize, i: f64, phi: &mut [f64], dphi: &mut [f64]| {
            let isc = self.isc[self.of[k]];
            let delta = isc - i;
            if delta <= 0.0 {
                return false;
            }
            let (x, dx) = ((delta / unit).ln(), -1.0 / delta);
            super::polynomial::powers(x, &mut phi[..=degree], &mut dphi[..=degree]);
            dphi[..=degree].iter_mut().for_each(|d| *d *= dx);
            if further == 2 {
                (phi[degree + 1], dphi[degree + 1]) = (-isc * x, -isc * dx);
            }
            (phi[terms - 1], dphi[terms - 1]) = (-isc, 0.0);
            true
        };
        let Self { x, y, sigma_x, sigma_y, .. } = self;
        Problem { x, y, sigma_x, sigma_y, terms, basis: &basis }.solve()
    }

    /// What one standard uncertainty of each Isc does to Rs, with its degrees of freedom.
    fn through_isc(&self, degree: usize, isc: &[Estimate], rs: f64) -> Option<Vec<(f64, f64)>> {
        (0..isc.len())
            .map(|s| {
                let u = isc[s].u.unwrap_or(0.0);
                if u == 0.0 {
                    return Some((0.0, f64::INFINITY));
                }
                let mut moved = self.clone_with(s, u);
                let up = moved.regress(degree, 1)?.c[degree + 1];
                moved.isc[s] -= 2.0 * u;
                let down = moved.regress(degree, 1)?.c[degree + 1];
                let largest = (up - rs).abs().max((down - rs).abs());
                Some(((0.5 * (up - down)).abs().max(0.5 * largest), isc[s].dof))
            })
            .collect()
    }

    fn clone_with(&self, s: usize, u: f64) -> Self {
        let mut isc = self.isc.clone();
        isc[s] += u;
        Self {
            traces: Vec::new(),
            isc,
            of: self.of.clone(),
            x: self.x.clone(),
            y: self.y.clone(),
            sigma_x: self.sigma_x.clone(),
            sigma_y: self.sigma_y.clone(),
        }
    }

    /// A resistance that changes along the curve.
    fn trend(&self, degree: usize) -> Option<String> {
        let bent = self.regress(degree, 2)?.significance(degree + 1);
        (bent > BELIEVED).then(|| {
            format!(
                "the distance of the curves changes along them by {bent:.1} standard deviations: no single Rs"
            )
        })
    }
}
