//! What separates the curve from its pilot: a Gaussian process along the curve, beside the pilot's own parameters.
//!
//! ```text
//! zᵢ = gᵢᵀβ + aᵢ·f(sᵢ) + εᵢ    β ~ N(0, Π)     f ~ GP(0, τ²·k(|s − s′|/ℓ))     ε ~ N(0, σ²·D)     a = 1/√h
//! k(r) = (1 + √5·r + 5r²/3)·exp(−√5·r)         (Matérn, smoothness 5/2)
//! ```
//!
//! z is what a reading differs by from the pilot, g its derivatives by the parameters. A model with a discrepancy: Blight
//! and Ott, Biometrika 62 (1975) 79; Kennedy and O'Hagan, J. R. Statist. Soc. B 63 (2001) 425; the predictor is that of
//! universal kriging; all from memory. Several (ℓ, τ) are averaged with the weights that the readings give them by their
//! restricted likelihood. Beside them stand no discrepancy at all and errors that are correlated from reading to reading
//! (a first-order autoregression in the order of the sweep). Where the pilot fits, the average is close to its fit; where
//! it does not, to an interpolation that follows the readings.
//!
//! The prior weights and the first τ were chosen by simulation on the devices of `tests/support/tracers.rs` that are
//! named for it; its other devices show what came of it (docs/key_points.md).

use super::candidate_covariances::{Candidate, LANES, Members};
use super::observation::{Estimates, Functional, LENGTHS, Observation, Size, Trend};
use super::pilot_fit::FITTED;
use crate::diode::exp_pair;
use multiversion::multiversion;

/// Smallest τ that is tried, in units of the root mean square of σᵢ/aᵢ, and the factor to the next.
const FIRST_RATIO: f64 = 0.5;
const NEXT_RATIO: f64 = 4.0;

/// How many τ of each ℓ are tried at first, and in each further round.
const FIRST_ROUND: usize = 3;
const NEXT_ROUND: usize = 4;

/// Rounds of larger τ.
const MOST_ROUNDS: usize = 3;

/// Prior weight of a τ relative to the one before it; that of no discrepancy, and of each correlation, relative to the
/// first τ of each ℓ.
const FALL: f64 = 0.35;
const NONE: f64 = 16.0;
const CORRELATED: f64 = 3.0;

/// The prior weight of no discrepancy falls with the degrees of freedom below so many, down to this part: what few
/// readings hide between them was found by simulation of S-shapes of 7 to 12 readings.
const MANY: f64 = 10.0;
const LEAST: f64 = 0.1;

/// First-order correlations that are tried.
const CORRELATIONS: [f64; 3] = [0.4, 0.7, 0.9];

/// A lag-one correlation of the residuals beyond this many standard deviations makes correlated errors worth trying.
const SUSPECT: f64 = 0.5;

/// Larger τ are tried where the last one's weight is at least e to minus this power of the best one's.
const HOPELESS: f64 = 6.0;

/// Members below this weight are left out.
const NEGLIGIBLE: f64 = 2e-3;

/// The displacement after the readings.
pub struct Posterior {
    s: Vec<f64>,
    amplitude: Vec<f64>,
    /// Covariances, with the weight of each; 0 where it is left out.
    rounds: Vec<Weighted>,
    /// Averages over the members: β, and τ²·V⁻¹(z − Gβ) of each ℓ.
    beta: Trend,
    alpha: [Vec<f64>; LENGTHS.len()],
    /// Factor that the variances of the observations lack, averaged.
    pub size2: f64,
    /// Degrees of freedom behind it.
    pub dof: f64,
    /// Weighted mean of the squared deviations, in units of what the variances say.
    pub misfit: f64,
    /// Correlation from reading to reading, averaged.
    pub correlation: f64,
    /// Logarithm of the restricted likelihood of the variances that were assumed.
    pub evidence: f64,
    /// z of each observation as the best member leaves it, without its scatter.
    pub smooth: Vec<f64>,
}

/// Adds c·k(|at − sᵢ|/ℓ), the Matérn covariance of smoothness 5/2, to `sums`.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn add_matern(c: f64, at: f64, length: f64, s: &[f64], sums: &mut [f64]) {
    let by_length = 5f64.sqrt() / length;
    for (sum, s) in sums.iter_mut().zip(s) {
        *sum += c * covariance(by_length * (at - s).abs());
    }
}

/// The lower triangle of the covariance of points `s` for τ = 1, row by row.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn triangle(length: f64, s: &[f64], kernel: &mut [f64]) {
    let by_length = 5f64.sqrt() / length;
    let mut rest = kernel;
    for (j, at) in s.iter().enumerate() {
        let (row, behind) = rest.split_at_mut(j + 1);
        for (k, s) in row.iter_mut().zip(s) {
            *k = covariance(by_length * (at - s).abs());
        }
        rest = behind;
    }
}

/// Σ αᵢ·k(|at − sᵢ|/ℓ).
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn matern_sum(at: f64, length: f64, s: &[f64], alpha: &[f64]) -> f64 {
    let by_length = 5f64.sqrt() / length;
    let mut sums = [0.0; LANES];
    let (mut s, mut alpha) = (s.chunks_exact(LANES), alpha.chunks_exact(LANES));
    for (s, alpha) in s.by_ref().zip(alpha.by_ref()) {
        for l in 0..LANES {
            sums[l] = alpha[l].mul_add(covariance(by_length * (at - s[l]).abs()), sums[l]);
        }
    }
    let rest = s.remainder().iter().zip(alpha.remainder());
    for (l, (s, alpha)) in rest.enumerate() {
        sums[l] = alpha.mul_add(covariance(by_length * (at - s).abs()), sums[l]);
    }
    sums.iter().sum()
}

/// (1 + x + x²/3)·e⁻ˣ.
#[inline(always)]
fn covariance(x: f64) -> f64 {
    let x = x.min(700.0);
    (x * x).mul_add(1.0 / 3.0, 1.0 + x) * exp_pair(-x).1
}

impl Posterior {
    /// Conditions on `observations`; `None` where there are none, or they are no numbers.
    pub fn new(observations: &[Observation], size: Size) -> Option<Self> {
        let n = observations.len() as f64;
        let dof = n + size.within.1 - FITTED as f64;
        let mean_variance = observations.iter().map(|o| o.variance / o.amplitude.powi(2)).sum::<f64>() / n;
        let kernels = LENGTHS.map(|length| kernel(observations, length));
        let condition = |candidates: &[Candidate], size2: f64| {
            Members::new(observations, candidates, &kernels, (size, dof, size2))
        };
        let chi2 = observations.iter().map(|o| o.z * o.z / o.variance).sum::<f64>() + size.within.0;
        let mut size2 = if size.known { 1.0 } else { chi2 / dof.max(1.0) };
        let mut all = vec![vec![Candidate::without(NONE * (dof / MANY).clamp(LEAST, 1.0).powi(2))]];
        all[0].extend(smooth(0..FIRST_ROUND, mean_variance));
        let mut rounds: Vec<Members> = Vec::with_capacity(1);
        while let Some(candidates) = all.get(rounds.len()) {
            rounds.push(condition(candidates, size2));
            let last = &rounds[rounds.len() - 1];
            if rounds.len() <= MOST_ROUNDS && last.wants_larger(HOPELESS) {
                let from = FIRST_ROUND + (rounds.len() - 1) * NEXT_ROUND;
                all.push(smooth(from..from + NEXT_ROUND, mean_variance));
                size2 = size2.min(last.least_size2());
            }
        }
        if is_suspect(&rounds[0].residuals(0, observations)) {
            rounds.push(condition(&CORRELATIONS.map(|rho| Candidate::correlated(CORRELATED, rho)), size2));
        }
        Self::average(observations, (size, dof), rounds)
    }

    fn average(observations: &[Observation], (size, dof): (Size, f64), rounds: Vec<Members>) -> Option<Self> {
        let deviations = most_likely_deviations(&rounds, observations)?;
        let squares = deviations.iter().zip(observations).map(|(d, o)| d * d / o.variance).sum::<f64>();
        let smooth = deviations.iter().zip(observations).map(|(d, o)| o.z - d).collect();
        let (rounds, evidence) = weighted(rounds)?;
        let mean = |of: &dyn Fn(&Members, usize) -> f64| -> f64 {
            let one =
                |(m, w): &Weighted| (0..LANES).filter(|l| w[*l] > 0.0).map(|l| w[l] * of(m, l)).sum::<f64>();
            rounds.iter().map(one).sum()
        };
        let beta = std::array::from_fn(|p| mean(&|m, l| m.beta[p][l]));
        let alpha = std::array::from_fn(|length| {
            let of = |k: usize| {
                mean(&|m, l| if m.candidates[l].length == length { m.tau2(l) * m.alpha[k][l] } else { 0.0 })
            };
            observations.iter().enumerate().map(|(k, o)| o.amplitude * of(k)).collect()
        });
        let (size2, correlation) = (mean(&|m, l| m.size2[l]), mean(&|m, l| m.candidates[l].correlation));
        Some(Self {
            s: observations.iter().map(|o| o.s).collect(),
            amplitude: observations.iter().map(|o| o.amplitude).collect(),
            beta,
            alpha,
            size2,
            dof,
            misfit: (squares + size.within.0) / dof.max(1.0),
            correlation,
            evidence: evidence + size.within.2,
            smooth,
            rounds,
        })
    }

    /// The displacement at each of `places` (s, a, derivatives by the pilot's parameters).
    pub fn displacements<const N: usize>(&self, places: [(f64, f64, &Trend); N]) -> [f64; N] {
        let mut sums =
            places.map(|(.., trend)| trend.iter().zip(&self.beta).map(|(t, b)| t * b).sum::<f64>());
        for (length, alpha) in LENGTHS.iter().zip(&self.alpha) {
            for (sum, (at, amplitude, _)) in sums.iter_mut().zip(&places) {
                *sum += amplitude * matern_sum(*at, *length, &self.s, alpha);
            }
        }
        sums
    }

    /// Rows and joint covariance of `functionals`.
    pub fn estimates(&self, functionals: &[Functional]) -> Estimates {
        let count = functionals.len();
        let mut estimates = Estimates {
            rows: vec![vec![0.0; self.s.len()]; count],
            covariance: vec![vec![0.0; count]; count],
        };
        let kernels: Vec<[Vec<f64>; LENGTHS.len()]> = functionals.iter().map(|f| self.kernels(f)).collect();
        let priors = priors(functionals);
        let mut mean = vec![0.0; count];
        for (members, weights) in &self.rounds {
            members.add(functionals, (&kernels, &priors), weights, (&mut estimates, &mut mean));
        }
        for j in 0..count {
            for k in 0..=j {
                estimates.covariance[j][k] -= mean[j] * mean[k];
                estimates.covariance[k][j] = estimates.covariance[j][k];
            }
        }
        estimates
    }

    /// Σ c·k(|s − sᵢ|/ℓ) of each observation and each ℓ.
    fn kernels(&self, of: &Functional) -> [Vec<f64>; LENGTHS.len()] {
        LENGTHS.map(|length| {
            let mut sums = vec![0.0; self.s.len()];
            of.places.iter().for_each(|(c, at)| add_matern(*c, *at, length, &self.s, &mut sums));
            sums.iter_mut().zip(&self.amplitude).for_each(|(sum, a)| *sum *= a);
            sums
        })
    }
}

/// Prior covariance of each two functionals for τ = 1, for each ℓ.
fn priors(functionals: &[Functional]) -> Vec<Vec<[f64; LENGTHS.len()]>> {
    let s: Vec<f64> = functionals.iter().flat_map(|f| f.places.iter().map(|p| p.1)).collect();
    let mut priors = vec![vec![[0.0; LENGTHS.len()]; functionals.len()]; functionals.len()];
    let mut k = vec![0.0; s.len()];
    for (n, length) in LENGTHS.into_iter().enumerate() {
        for (row, f) in priors.iter_mut().zip(functionals) {
            for (c, at) in &f.places {
                k.fill(0.0);
                add_matern(1.0, *at, length, &s, &mut k);
                let mut rest = &k[..];
                for (entry, other) in row.iter_mut().zip(functionals) {
                    let (own, behind) = rest.split_at(other.places.len());
                    entry[n] += c * own.iter().zip(&other.places).map(|(k, (d, _))| k * d).sum::<f64>();
                    rest = behind;
                }
            }
        }
    }
    priors
}

/// Candidates with the τ of the given numbers, of each ℓ.
fn smooth(numbers: std::ops::Range<usize>, mean_variance: f64) -> Vec<Candidate> {
    let one = |length: usize, k: usize| {
        let tau = FIRST_RATIO * NEXT_RATIO.powi(k as i32) * mean_variance.sqrt();
        Candidate { length, tau2: tau * tau, correlation: 0.0, log_prior: k as f64 * FALL.ln() }
    };
    (0..LENGTHS.len()).flat_map(|length| numbers.clone().map(move |k| one(length, k))).collect()
}

/// The lower triangle of the covariance of the observations for τ = 1, row by row.
fn kernel(observations: &[Observation], length: f64) -> Vec<f64> {
    let s: Vec<f64> = observations.iter().map(|o| o.s).collect();
    let mut kernel = vec![0.0; s.len() * (s.len() + 1) / 2];
    triangle(length, &s, &mut kernel);
    let mut entries = kernel.iter_mut();
    for (j, o) in observations.iter().enumerate() {
        entries
            .by_ref()
            .take(j + 1)
            .zip(observations)
            .for_each(|(k, other)| *k *= o.amplitude * other.amplitude);
    }
    kernel
}

/// Whether successive residuals are alike beyond chance: Σ rₖrₖ₊₁/Σ rₖ² has a standard deviation of 1/√n.
fn is_suspect(residual: &[f64]) -> bool {
    let squares: f64 = residual.iter().map(|r| r * r).sum();
    let products: f64 = residual.windows(2).map(|r| r[0] * r[1]).sum();
    products > SUSPECT * squares / (residual.len() as f64).sqrt()
}

/// What the readings deviate from the most likely of all candidates.
fn most_likely_deviations(rounds: &[Members], observations: &[Observation]) -> Option<Vec<f64>> {
    let each = rounds.iter().flat_map(|m| (0..LANES).map(move |l| (m, l, m.log_weight[l])));
    let (best, lane, _) = each.max_by(|a, b| a.2.total_cmp(&b.2))?;
    Some(best.deviations(lane, observations))
}

/// Candidates side by side, and the weight of each.
type Weighted = (Members, [f64; LANES]);

/// The candidates with their weights, which add up to 1, without those of negligible weight; and the logarithm of the sum of
/// all weights as they came. `None` where no candidate has one.
fn weighted(rounds: Vec<Members>) -> Option<(Vec<Weighted>, f64)> {
    let each = || rounds.iter().flat_map(|m| m.log_weight);
    let top = each().fold(f64::NEG_INFINITY, f64::max);
    if !top.is_finite() {
        return None;
    }
    let sum: f64 = each().map(|w| (w - top).exp()).sum();
    let kept: f64 = each().map(|w| (w - top).exp() / sum).filter(|w| *w > NEGLIGIBLE).sum();
    let weigh = |log_weight: f64| {
        let weight = (log_weight - top).exp() / sum;
        if weight > NEGLIGIBLE { weight / kept } else { 0.0 }
    };
    let rounds = rounds
        .into_iter()
        .map(|m| {
            let weights = m.log_weight.map(weigh);
            (m, weights)
        })
        .filter(|(_, weights)| weights.iter().any(|w| *w > 0.0))
        .collect();
    Some((rounds, top + sum.ln()))
}
