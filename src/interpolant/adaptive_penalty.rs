//! A roughness that follows the bend of the curve: what is flat is smoothed more than what bends.
//!
//! ```text
//! minimise Σ wₖ(Iₖ − s(Vₖ))² + λ·∫ ρ·(d²s/dV²)² dV        1/ρ = q/exp(mean of ln q)
//! q = K∗(p″)² + c·mean of K∗(p″)²                          p: a pilot, K: the kernel below, constant over a gap
//! ```
//!
//! With one λ for all places the flat part of a lit curve, far the longest, gets the freedom that its bend needs. A penalty
//! of ρ takes (d²s/dV²)² for as large as the pilot shows it. F. Abramovich, D. M. Steinberg, J. Stat. Plan. Inference 49
//! (1996) 327; C. B. Storlie, H. D. Bondell, B. J. Reich, Stat. Sinica 20 (2010) 1171 (both from memory). The first pilot
//! is stiff with ρ = 1, the second follows the first.

use super::error::InterpolantError;
use super::penalised_system::System;
use super::points::Points;
use super::smooth::Smooth;
use super::smoothing_parameter::{balanced, for_guide};

/// Pilots: a second takes 2 % off the error of the smooth, a third nothing.
const PILOTS: usize = 2;
/// Range of the kernel as a share of that of the voltages; 0.03 to 0.12 were tried (as in `smoothing_parameter`).
const WIDTH: f64 = 0.08;
/// Least q as a share of its mean: no place is held to a straight line. 0.01 and 0.03 gave the same or more error.
const LEAST: f64 = 0.003;

/// The equations whose roughness follows the bend of the points.
pub(super) fn following(points: &Points) -> Result<System, InterpolantError> {
    let even = System::new(points)?;
    let lambda = for_guide(&even, points)?;
    let mut pilot = even.smooth(points, lambda)?;
    for _ in 1..PILOTS {
        let system = System::with_inverse_rho(points, inverse_rho(&pilot))?;
        let lambda = balanced(&system, points)?;
        pilot = system.smooth(points, lambda)?;
    }
    System::with_inverse_rho(points, inverse_rho(&pilot))
}

/// 1/ρ of each gap; 1 everywhere for a straight pilot.
fn inverse_rho(pilot: &Smooth) -> Vec<f64> {
    let (low, high) = pilot.spline.range_v();
    let width: Vec<f64> = pilot.spline.breaks_v().windows(2).map(|v| (v[1] - v[0]) / (high - low)).collect();
    let even = vec![1.0; width.len()];
    let bends = pilot.spline.coefficients_a().iter().zip(&width);
    let bends: Vec<[f64; 2]> =
        bends.map(|(c, h)| [2.0 * c[2], 2.0 * c[2] + 6.0 * c[3]].map(|b| b / h / h)).collect();
    let largest = bends.iter().flatten().fold(0.0f64, |m, b| m.max(b.abs()));
    // The mean square over a gap, in which p″ is straight.
    let squares = bends.iter().map(|b| {
        let [a, b] = b.map(|b| b / largest);
        (a * a + a * b + b * b) / 3.0
    });
    let q = averaged(&squares.collect::<Vec<f64>>(), &width);
    let mean = |f: &dyn Fn(f64) -> f64| q.iter().zip(&width).map(|(q, h)| h * f(*q)).sum::<f64>();
    let least = LEAST * mean(&|q| q);
    let ln_mean = mean(&|q| (q + least).ln());
    let inverse: Vec<f64> = q.iter().map(|q| ((q + least).ln() - ln_mean).exp()).collect();
    if inverse.iter().all(|e| e.is_normal()) { inverse } else { even }
}

/// The mean of `q` over gaps of the given widths with the kernel exp(−|x − x₀|/[`WIDTH`]): once upwards and once
/// downwards, in linear time.
fn averaged(q: &[f64], width: &[f64]) -> Vec<f64> {
    let mut sums: Vec<[f64; 2]> = q.iter().zip(width).map(|(q, h)| [h * q, *h]).collect();
    let own = sums.clone();
    let mut run = |order: &mut dyn Iterator<Item = usize>| {
        let (mut before, mut carried) = (None, [0.0; 2]);
        for k in order {
            // From centre to centre.
            let decay = before.map_or(0.0, |b: usize| (-0.5 * (width[k] + width[b]) / WIDTH).exp());
            carried = carried.map(|c| c * decay);
            for (sum, c) in sums[k].iter_mut().zip(carried) {
                *sum += c;
            }
            carried = [carried[0] + own[k][0], carried[1] + own[k][1]];
            before = Some(k);
        }
    };
    run(&mut (0..q.len()));
    run(&mut (0..q.len()).rev());
    sums.iter().map(|[weighted, weight]| weighted / weight).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::interpolant::{Penalty, smoothing};

    /// By the sum over all pairs of gaps.
    #[test]
    fn the_two_runs_are_the_kernel() {
        let (q, width) = ([1.0, 0.0, 7.0, 2.0, 0.5], [0.1, 0.3, 0.05, 0.35, 0.2]);
        let mut from = 0.0;
        let centres = width.map(|h| {
            from += h;
            from - 0.5 * h
        });
        for (got, x) in averaged(&q, &width).iter().zip(centres) {
            let kernel = |y: f64| (-(x - y).abs() / WIDTH).exp();
            let weight: f64 = (0..5).map(|k| width[k] * kernel(centres[k])).sum();
            let sum: f64 = (0..5).map(|k| width[k] * kernel(centres[k]) * q[k]).sum();
            assert!((got - sum / weight).abs() < 1e-14 * got, "{got} {}", sum / weight);
        }
    }

    /// exp(8x) bends by 64·exp(8x): 1/ρ grows with it; a line and two points leave it at 1.
    #[test]
    fn the_roughness_eases_where_the_curve_bends() {
        let x: Vec<f64> = (0..60).map(|k| f64::from(k) / 59.0).collect();
        let y: Vec<f64> = x.iter().map(|x| -(8.0 * x).exp()).collect();
        let pilot = smoothing(&Points::new(&x, &y).unwrap(), Penalty::Lambda(1e-9)).unwrap();
        let found = inverse_rho(&pilot);
        assert!(found[40] / found[30] > 5.0 && found[54] / found[40] > 5.0, "{found:?}");
        let ln_mean = found.iter().map(|e| e.ln()).sum::<f64>() / 59.0;
        assert!(ln_mean.abs() < 1e-12, "{ln_mean}");
        for count in [2, 5] {
            let line: Vec<f64> = (0..count).map(f64::from).collect();
            let pilot = smoothing(&Points::new(&line, &line).unwrap(), Penalty::Lambda(1.0)).unwrap();
            assert!(inverse_rho(&pilot).iter().all(|e| *e == 1.0));
        }
    }
}
