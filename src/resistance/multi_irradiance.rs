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

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::window_selection::{Trial, best};
use crate::numerics::least_squares::regression::{Problem, Regression};
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::combined_dof;

/// The least Δ as a part of the smallest Isc.
const LEAST: f64 = 0.1;
const DEGREES: std::ops::RangeInclusive<usize> = 2..=5;
const BELIEVED: f64 = 4.0;

/// Means of neighbouring readings of each sweep at most: every polynomial is fitted a dozen times, and each fit follows its
/// feet over some rounds. `means_give_what_the_readings_give` holds them together.
const MOST: usize = 400;

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
    let traces: Vec<&Trace> = sweeps.iter().map(|s| &s.trace).collect();
    let real = Bundle::new(&traces, MOST, isc.iter().map(|e| e.value));
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
    let mut doubts: Vec<Doubt> = sweeps.iter().filter_map(|s| s.doubt()).collect();
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
    isc: Vec<f64>,
    /// Sweep of each reading.
    of: Vec<usize>,
    x: Vec<f64>,
    y: Vec<f64>,
    sigma_x: Vec<f64>,
    sigma_y: Vec<f64>,
}

impl Bundle {
    /// Of each sweep `most_means` means of readings at most.
    fn new(traces: &[&Trace], most_means: usize, isc: impl Iterator<Item = f64>) -> Self {
        let isc: Vec<f64> = isc.collect();
        let least = LEAST * isc.iter().copied().fold(f64::INFINITY, f64::min);
        // The range comes from the stand-ins, so that a reading does not choose itself.
        let reach = |t: &&Trace| t.expected().iter().map(|i| t.isc - i).fold(0.0, f64::max);
        let most = traces.iter().map(reach).fold(f64::INFINITY, f64::min);
        let mut bundle = Self {
            isc,
            of: Vec::new(),
            x: Vec::new(),
            y: Vec::new(),
            sigma_x: Vec::new(),
            sigma_y: Vec::new(),
        };
        for (s, trace) in traces.iter().enumerate() {
            let expected = trace.expected();
            let common = |k: &usize| {
                let delta = trace.isc - expected[*k];
                delta >= least && delta <= most * 1.0001 && bundle.isc[s] - trace.i[*k] > 0.3 * least
            };
            let kept: Vec<usize> = (0..trace.len()).filter(common).collect();
            let kept = trace.pick(&kept).thinned(most_means);
            bundle.of.extend(std::iter::repeat_n(s, kept.len()));
            bundle.x.extend(kept.i);
            bundle.y.extend(kept.v);
            bundle.sigma_x.extend(kept.sigma_i);
            bundle.sigma_y.extend(kept.sigma_v);
        }
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
            crate::numerics::least_squares::regression::powers(x, &mut phi[..=degree], &mut dphi[..=degree]);
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
            isc,
            of: self.of.clone(),
            x: self.x.clone(),
            y: self.y.clone(),
            sigma_x: self.sigma_x.clone(),
            sigma_y: self.sigma_y.clone(),
        }
    }

    /// A resistance that changes along the curve.
    fn trend(&self, degree: usize) -> Option<Doubt> {
        let significance = self.regress(degree, 2)?.significance(degree + 1);
        (significance > BELIEVED).then_some(Doubt::ChangingDistance { significance })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Device, Parameters};
    use crate::sweep::{Leads, Noise, Sign, Sweep, SweepOptions};
    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};

    /// Invented: a silicon-like cell at one irradiance, 4,000 readings of the current.
    fn lit(suns: f64, seed: u64) -> Prepared {
        let (i0_a, n, rs_ohm, rsh_ohm) = ([1.5e-10], [1.25], 0.5, 3.5e3);
        let iph_a = 0.035 * suns;
        let device =
            Device::new(Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells: 1, temperature_c: 25.0 });
        let v: Vec<f64> = (0..4000).map(|k| -0.05 + 0.7 / 3999.0 * f64::from(k)).collect();
        let mut i = vec![0.0; v.len()];
        device.expect("in the domain").current(&v, &mut i).expect("finite");
        let random = &mut ChaCha8Rng::seed_from_u64(seed);
        i.iter_mut().for_each(|i| *i += 1e-4 * Distribution::<f64>::sample(&StandardNormal, random));
        let noise = Some(Noise { current_a: 1e-4, ..Noise::default() });
        let (sign, leads) = (Sign::Generator, Leads::AsGiven);
        let options = SweepOptions { sign, leads, noise, ..SweepOptions::default() };
        Prepared::of(&Sweep::new(&v, &i, options).expect("a sweep"), false).expect("a fit")
    }

    /// Rs and its ± from means and from the readings themselves, with each degree.
    #[test]
    fn means_give_what_the_readings_give() {
        let (first, second) = (lit(1.0, 1), lit(0.5, 2));
        let traces = [&first.trace, &second.trace];
        let isc = [0.035, 0.0175];
        let (each, means) =
            (Bundle::new(&traces, usize::MAX, isc.into_iter()), Bundle::new(&traces, MOST, isc.into_iter()));
        assert!(each.x.len() > 3 * MOST && means.x.len() <= 2 * MOST, "{} {}", each.x.len(), means.x.len());
        for degree in DEGREES {
            let (a, b) = (each.regress(degree, 1).unwrap(), means.regress(degree, 1).unwrap());
            let at = degree + 1;
            let (u, v) = (a.covariance(at, at).sqrt(), b.covariance(at, at).sqrt());
            println!("{degree}: {} ± {u}, {} ± {v}", a.c[at], b.c[at]);
            assert!((a.c[at] - b.c[at]).abs() < 0.2 * u && (v / u - 1.0).abs() < 0.02);
        }
    }
}
