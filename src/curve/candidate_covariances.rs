//! Several covariances of the displacement side by side, one a lane of vector code.
//!
//! ```text
//! V = τ²K + σ²D = L·Lᵀ      A = GᵀV⁻¹G + Π⁻¹      β = A⁻¹GᵀV⁻¹z      α = V⁻¹(z − Gβ)      χ² = zᵀα
//! ln p = −½ ln|V| − ½ ln|A| − ½χ²        or −½ν·ln(χ²/ν) where the size of the noise is not known
//! functional (k, g): row = V⁻¹k + V⁻¹G·b     b = A⁻¹(g − GᵀV⁻¹k)     variance = k₀ − kᵀV⁻¹k + (g − GᵀV⁻¹k)ᵀb
//! ```
//!
//! The equations are those of universal kriging with a proper prior for the trend (O'Hagan, J. R. Statist. Soc. B 40
//! (1978) 1, from memory).

use super::observation::{Estimates, Functional, LENGTHS, Observation, Size};
use super::pilot_fit::PARAMETERS;
use multiversion::multiversion;
use std::array::from_fn;

/// Covariances that are worked on together.
pub const LANES: usize = 8;

/// A number for each of them.
pub type Lane = [f64; LANES];

const ZERO: Lane = [0.0; LANES];

/// Prior standard deviations of the pilot's parameters (Iph, ln I0, ln a, Rs, g) about its fit, in its units: as wide as
/// the parameters of devices spread, so that they matter only where the readings say nothing. The last one is for half the
/// variance of ln a: two diodes of n = 1 and n = 2 that share the current evenly have 0.06.
const PRIOR: [f64; PARAMETERS] = [1.0, 12.0, 0.5, 0.3, 0.5, 0.08];

/// A part of the variances that keeps factors of exact readings positive.
const JITTER: f64 = 1e-11;

/// Pivots whose product is taken before a logarithm: each lies between 1e-25 and 1e25.
const FACTORS: usize = 8;

/// A covariance before the readings.
#[derive(Clone, Copy, Debug)]
pub struct Candidate {
    /// Which correlation length.
    pub length: usize,
    /// τ², in units of the observations' variances.
    pub tau2: f64,
    /// Of the errors of successive readings.
    pub correlation: f64,
    /// Logarithm of its prior weight.
    pub log_prior: f64,
}

impl Candidate {
    /// τ² of the part of correlation length `length`.
    #[inline(always)]
    fn tau2_of(&self, length: usize) -> f64 {
        if self.length == length { self.tau2 } else { 0.0 }
    }

    /// No discrepancy.
    pub fn without(prior: f64) -> Self {
        Self { length: 0, tau2: 0.0, correlation: 0.0, log_prior: prior.ln() }
    }

    /// No discrepancy, but correlated errors.
    pub fn correlated(prior: f64, correlation: f64) -> Self {
        Self { correlation, ..Self::without(prior) }
    }
}

/// Covariances of one functional with others for τ = 1, of each ℓ.
pub type Row<const N: usize> = Vec<[f64; N]>;

/// Conditioned on the observations.
pub struct Members {
    /// One a lane; lanes beyond them repeat the last one.
    pub candidates: [Candidate; LANES],
    used: usize,
    count: usize,
    /// L, row by row, each up to its diagonal.
    factor: Vec<Lane>,
    /// L⁻¹G, one parameter after the other.
    trend: Vec<Lane>,
    /// Factor of A.
    normal: Vec<Lane>,
    /// β.
    pub beta: [Lane; PARAMETERS],
    /// α.
    pub alpha: Vec<Lane>,
    /// Estimate of the factor that the variances lack.
    pub size2: Lane,
    /// Logarithm of prior weight times restricted likelihood; −∞ where there is none.
    pub log_weight: Lane,
}

impl Members {
    /// Conditions on `observations`; `kernels` are the triangles of the covariance for τ = 1, `size2` a first idea of the
    /// factor that the variances lack.
    pub fn new(
        observations: &[Observation],
        candidates: &[Candidate],
        kernels: &[Vec<f64>],
        (size, dof, size2): (Size, f64, f64),
    ) -> Self {
        let count = observations.len();
        let mut members = Self {
            candidates: from_fn(|l| candidates[l.min(candidates.len() - 1)]),
            used: candidates.len(),
            count,
            factor: Vec::with_capacity(count * (count + 1) / 2),
            trend: Vec::with_capacity(PARAMETERS * count),
            normal: Vec::with_capacity(PARAMETERS * (PARAMETERS + 1) / 2),
            beta: [ZERO; PARAMETERS],
            alpha: observations.iter().map(|o| [o.z; LANES]).collect(),
            size2: [1.0; LANES],
            log_weight: ZERO,
        };
        members.covariance(observations, kernels);
        for p in 0..PARAMETERS {
            members.trend.extend(observations.iter().map(|o| [o.trend[p]; LANES]));
        }
        for p in 0..PARAMETERS {
            members.normal.extend((0..=p).map(|q| {
                let own = if p == q { size2 / (PRIOR[p] * PRIOR[p]) } else { 0.0 };
                [own; LANES]
            }));
        }
        let chi2 = condition(&mut members);
        members.weigh(chi2, (size, dof));
        members
    }

    fn covariance(&mut self, observations: &[Observation], kernels: &[Vec<f64>]) {
        if self.candidates.iter().any(|c| c.correlation > 0.0) {
            return self.correlated_errors(observations);
        }
        let tau2: [Lane; LENGTHS.len()] = from_fn(|n| from_fn(|l| self.candidates[l].tau2_of(n)));
        smooth_covariance(observations, (&tau2, kernels), &mut self.factor);
    }

    /// A first-order autoregression. The mean of m readings in a row has a variance larger by 1 + 2Σ(1 − k/m)ρᵏ.
    fn correlated_errors(&mut self, observations: &[Observation]) {
        let rho: Lane = from_fn(|l| self.candidates[l].correlation);
        let grown = |count: f64, rho: f64| {
            let m = count as i32;
            1.0 + 2.0 * (1..m).map(|k| (1.0 - f64::from(k) / count) * rho.powi(k)).sum::<f64>()
        };
        let sigma: Vec<Lane> =
            observations.iter().map(|o| from_fn(|l| (o.variance * grown(o.count, rho[l])).sqrt())).collect();
        for (j, o) in observations.iter().enumerate() {
            for k in 0..=j {
                let apart = (o.order - observations[k].order).abs();
                self.factor.push(from_fn(|l| sigma[j][l] * sigma[k][l] * rho[l].powf(apart)));
            }
        }
    }

    fn weigh(&mut self, chi2: Lane, (size, dof): (Size, f64)) {
        let determinant = |factor: &[Lane], count: usize| -> Lane {
            let pivots = (0..count).map(|j| factor[j * (j + 3) / 2]);
            let mut product = ZERO;
            // Logarithms of products of a few pivots, which stay within the range of numbers.
            let (mut run, mut factors) = ([1.0; LANES], 0);
            for p in pivots {
                (0..LANES).for_each(|l| run[l] *= p[l]);
                factors += 1;
                if factors % FACTORS == 0 || factors == count {
                    (0..LANES).for_each(|l| product[l] += run[l].ln());
                    run = [1.0; LANES];
                }
            }
            product
        };
        let (v, a) = (determinant(&self.factor, self.count), determinant(&self.normal, PARAMETERS));
        for l in 0..LANES {
            let determinants = v[l] + a[l];
            let log_likelihood = if size.known {
                determinants - 0.5 * chi2[l].max(0.0)
            } else {
                let total = chi2[l].max(0.0) + size.within.0;
                self.size2[l] = (total / dof.max(1.0)).max(f64::MIN_POSITIVE);
                determinants - 0.5 * dof * self.size2[l].ln()
            };
            let log_weight = log_likelihood + self.candidates[l].log_prior;
            let usable = l < self.used && log_weight.is_finite();
            self.log_weight[l] = if usable { log_weight } else { f64::NEG_INFINITY };
        }
    }

    /// τ² of lane `l`.
    pub fn tau2(&self, l: usize) -> f64 {
        self.candidates[l].tau2
    }

    /// The least factor that any usable lane finds.
    pub fn least_size2(&self) -> f64 {
        let usable = (0..LANES).filter(|l| self.log_weight[*l].is_finite());
        usable.map(|l| self.size2[l]).fold(f64::INFINITY, f64::min)
    }

    /// Whether of any ℓ the largest τ is within e^`hopeless` of the best lane here.
    pub fn wants_larger(&self, hopeless: f64) -> bool {
        let best = self.log_weight.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let is_largest = |l: usize| {
            let c = self.candidates[l];
            c.tau2 > 0.0
                && self.candidates[..self.used].iter().all(|o| o.length != c.length || o.tau2 <= c.tau2)
        };
        (0..self.used).any(|l| is_largest(l) && self.log_weight[l] > best - hopeless)
    }

    /// The scatter that lane `l` sees in the observations: D·α, for errors that are not correlated.
    pub fn deviations(&self, l: usize, observations: &[Observation]) -> Vec<f64> {
        self.alpha.iter().zip(observations).map(|(a, o)| a[l] * o.variance).collect()
    }

    /// The same in units of σ.
    pub fn residuals(&self, l: usize, observations: &[Observation]) -> Vec<f64> {
        self.alpha.iter().zip(observations).map(|(a, o)| a[l] * o.variance.sqrt()).collect()
    }

    /// Adds to `estimates` what the lanes say of `functionals`, with their `weights`; covariances are those about 0.
    pub fn add<const N: usize>(
        &self,
        functionals: &[Functional],
        (kernels, priors): (&[[Vec<f64>; N]], &[Row<N>]),
        weights: &Lane,
        (estimates, mean): (&mut Estimates, &mut [f64]),
    ) {
        let tau2: Lane = from_fn(|l| self.candidates[l].tau2);
        let length: [usize; LANES] = from_fn(|l| self.candidates[l].length);
        let parts: Vec<Part> =
            functionals.iter().zip(kernels).map(|(f, kernel)| part(self, kernel, &f.trend)).collect();
        for (j, p) in parts.iter().enumerate() {
            mean[j] += weighted(weights, &p.mean);
            add_row(weights, &p.row, &mut estimates.rows[j]);
            for (k, q) in parts.iter().enumerate().take(j + 1) {
                let explained = explained(p, q);
                let second: Lane = from_fn(|l| {
                    let prior = tau2[l] * priors[j][k][length[l]];
                    self.size2[l] * (prior - explained[l]) + p.mean[l] * q.mean[l]
                });
                estimates.covariance[j][k] += weighted(weights, &second);
            }
        }
    }
}

/// A functional under each lane.
struct Part {
    mean: Lane,
    row: Vec<Lane>,
    /// L⁻¹k.
    half: Vec<Lane>,
    /// The factor of A⁻¹ applied to g − GᵀV⁻¹k.
    rest: [Lane; PARAMETERS],
}

/// τ²K + σ²D, row by row; `tau2` holds τ² where a lane has that correlation length, else 0.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn smooth_covariance(
    observations: &[Observation],
    (tau2, kernels): (&[Lane; LENGTHS.len()], &[Vec<f64>]),
    factor: &mut Vec<Lane>,
) {
    let count = observations.len() * (observations.len() + 1) / 2;
    factor.resize(count, ZERO);
    for (tau2, kernel) in tau2.iter().zip(kernels) {
        for (entry, k) in factor.iter_mut().zip(kernel) {
            add(entry, tau2, &[*k; LANES]);
        }
    }
    for (j, o) in observations.iter().enumerate() {
        let diagonal = &mut factor[j * (j + 3) / 2];
        for l in 0..LANES {
            diagonal[l] += o.variance + JITTER * (tau2[0][l] + tau2[1][l]);
        }
    }
}

/// The weighted sum over the lanes; one without weight may hold no number.
#[inline(always)]
fn weighted(weights: &Lane, of: &Lane) -> f64 {
    let mut sum = 0.0;
    for l in 0..LANES {
        sum += if weights[l] > 0.0 { weights[l] * of[l] } else { 0.0 };
    }
    sum
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn add_row(weights: &Lane, row: &[Lane], total: &mut [f64]) {
    for (total, row) in total.iter_mut().zip(row) {
        *total += weighted(weights, row);
    }
}

/// kᵀV⁻¹k − (g − GᵀV⁻¹k)ᵀb: what the observations take off the prior covariance of two functionals.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn explained(p: &Part, q: &Part) -> Lane {
    let mut explained = dot(&p.half, &q.half);
    subtract(&mut explained, &dot(&p.rest, &q.rest), &ONE);
    explained
}

/// Factors, solves, and returns χ².
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn condition(m: &mut Members) -> Lane {
    let n = m.count;
    cholesky(&mut m.factor, n);
    forward(&m.factor, &mut m.alpha);
    m.trend.chunks_exact_mut(n.max(1)).for_each(|column| forward(&m.factor, column));
    let column = |p: usize| &m.trend[p * n..(p + 1) * n];
    let mut at = 0;
    for p in 0..PARAMETERS {
        for q in 0..=p {
            let product = dot(column(p), column(q));
            add(&mut m.normal[at], &product, &ONE);
            at += 1;
        }
    }
    cholesky(&mut m.normal, PARAMETERS);
    let mut beta = [ZERO; PARAMETERS];
    for (p, b) in beta.iter_mut().enumerate() {
        *b = dot(column(p), &m.alpha);
    }
    let whole = dot(&m.alpha, &m.alpha);
    forward(&m.normal, &mut beta);
    let explained = dot(&beta, &beta);
    backward(&m.normal, &mut beta);
    m.beta = beta;
    for (p, b) in beta.iter().enumerate() {
        for (a, t) in m.alpha.iter_mut().zip(&m.trend[p * n..(p + 1) * n]) {
            subtract(a, b, t);
        }
    }
    backward(&m.factor, &mut m.alpha);
    let mut chi2 = whole;
    subtract(&mut chi2, &explained, &ONE);
    chi2
}

#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn part(m: &Members, kernel: &[Vec<f64>], trend: &[f64; PARAMETERS]) -> Part {
    let n = m.count;
    let mut half = vec![ZERO; n];
    for (length, kernel) in kernel.iter().enumerate() {
        let mut tau2 = ZERO;
        for l in 0..LANES {
            tau2[l] = m.candidates[l].tau2_of(length);
        }
        for (half, k) in half.iter_mut().zip(kernel) {
            add(half, &tau2, &[*k; LANES]);
        }
    }
    let mut mean = dot(&half, &m.alpha);
    for (t, b) in trend.iter().zip(&m.beta) {
        add(&mut mean, &[*t; LANES], b);
    }
    forward(&m.factor, &mut half);
    let mut rest = [ZERO; PARAMETERS];
    for (p, rest) in rest.iter_mut().enumerate() {
        *rest = [trend[p]; LANES];
        subtract(rest, &dot(&m.trend[p * n..(p + 1) * n], &half), &ONE);
    }
    forward(&m.normal, &mut rest);
    let mut b = rest;
    backward(&m.normal, &mut b);
    let mut row = half.clone();
    for (p, b) in b.iter().enumerate() {
        for (r, t) in row.iter_mut().zip(&m.trend[p * n..(p + 1) * n]) {
            add(r, b, t);
        }
    }
    backward(&m.factor, &mut row);
    Part { mean, row, half, rest }
}

/// The triangle of a symmetric matrix becomes that of its factor; the diagonal holds one over its pivots, since a division
/// takes as long as a row. A matrix that is not positive definite leaves NaN.
#[inline(always)]
fn cholesky(triangle: &mut [Lane], count: usize) {
    for j in 0..count {
        let (done, row) = triangle.split_at_mut(j * (j + 1) / 2);
        for k in 0..=j {
            let above = if k < j { &done[k * (k + 1) / 2..][..=k] } else { &[] };
            let mut entry = row[k];
            for i in 0..k {
                let other = if k < j { above[i] } else { row[i] };
                subtract(&mut entry, &row[i], &other);
            }
            row[k] = if k < j { times(&entry, &above[k]) } else { inverse_root(&entry) };
        }
    }
}

/// x becomes L⁻¹x.
#[inline(always)]
fn forward(factor: &[Lane], x: &mut [Lane]) {
    for j in 0..x.len() {
        let row = &factor[j * (j + 1) / 2..][..=j];
        let mut entry = x[j];
        for (r, x) in row.iter().zip(&x[..j]) {
            subtract(&mut entry, r, x);
        }
        x[j] = times(&entry, &row[j]);
    }
}

/// x becomes L⁻ᵀx.
#[inline(always)]
fn backward(factor: &[Lane], x: &mut [Lane]) {
    for j in (0..x.len()).rev() {
        let row = &factor[j * (j + 1) / 2..][..=j];
        let last = times(&x[j], &row[j]);
        x[j] = last;
        for (x, r) in x[..j].iter_mut().zip(row) {
            subtract(x, &last, r);
        }
    }
}

const ONE: Lane = [1.0; LANES];

// Loops instead of closures: what is inlined shares the instruction set of its caller.

#[inline(always)]
fn add(sum: &mut Lane, a: &Lane, b: &Lane) {
    for l in 0..LANES {
        sum[l] = a[l].mul_add(b[l], sum[l]);
    }
}

#[inline(always)]
fn subtract(sum: &mut Lane, a: &Lane, b: &Lane) {
    for l in 0..LANES {
        sum[l] = (-a[l]).mul_add(b[l], sum[l]);
    }
}

#[inline(always)]
fn times(a: &Lane, b: &Lane) -> Lane {
    let mut product = ZERO;
    for l in 0..LANES {
        product[l] = a[l] * b[l];
    }
    product
}

#[inline(always)]
fn inverse_root(a: &Lane) -> Lane {
    let mut inverse = ZERO;
    for l in 0..LANES {
        inverse[l] = 1.0 / a[l].sqrt();
    }
    inverse
}

#[inline(always)]
fn dot(a: &[Lane], b: &[Lane]) -> Lane {
    let mut sum = ZERO;
    for (a, b) in a.iter().zip(b) {
        add(&mut sum, a, b);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The equations that β and α solve, in every lane: V·α + G·β = z and Gᵀα = Π⁻¹β; lanes without a candidate count for
    /// nothing.
    #[test]
    fn coefficients_solve_their_equations() {
        let observations: Vec<Observation> = (0..7)
            .map(|k| {
                let x = 0.2 * f64::from(k);
                Observation {
                    s: x,
                    z: (3.0 * x).sin(),
                    variance: 0.01 + 0.002 * x,
                    trend: from_fn(|p| x.powi(p as i32)),
                    order: f64::from(k),
                    count: 1.0,
                    amplitude: 1.0,
                }
            })
            .collect();
        let kernel: Vec<f64> =
            (0..7i32).flat_map(|j| (0..=j).map(move |k| 0.6f64.powi((j - k).pow(2)))).collect();
        let candidates = [0.0, 0.02, 0.7].map(|tau2| Candidate { tau2, ..Candidate::without(1.0) });
        let size = Size { known: true, within: (0.0, 0.0, 0.0) };
        let members =
            Members::new(&observations, &candidates, std::slice::from_ref(&kernel), (size, 2.0, 1.0));
        for (l, candidate) in candidates.iter().enumerate() {
            let entry = |j: usize, k: usize| {
                let smooth = candidate.tau2 * kernel[j.max(k) * (j.max(k) + 1) / 2 + j.min(k)];
                smooth + if j == k { observations[j].variance } else { 0.0 }
            };
            for (j, o) in observations.iter().enumerate() {
                let noise: f64 = (0..7).map(|k| entry(j, k) * members.alpha[k][l]).sum();
                let trend: f64 = o.trend.iter().zip(&members.beta).map(|(t, b)| t * b[l]).sum();
                assert_relative_eq!(noise + trend, o.z, epsilon = 1e-8);
            }
            for p in 0..PARAMETERS {
                let sum: f64 = observations.iter().zip(&members.alpha).map(|(o, a)| o.trend[p] * a[l]).sum();
                assert_relative_eq!(sum, members.beta[p][l] / (PRIOR[p] * PRIOR[p]), epsilon = 1e-7);
            }
        }
        assert!(members.log_weight[..3].iter().all(|w| w.is_finite()));
        assert!(members.log_weight[3..].iter().all(|w| *w == f64::NEG_INFINITY));
    }
}
