//! Isc of a current-stepped sweep, averaged over the ideality of the diode.
//!
//! ```text
//! Isc = Σ wⱼ·Isc(θⱼ)/Σ wⱼ      var = Σ wⱼ·(Isc(θⱼ) − Isc)²/Σ wⱼ      wⱼ = exp(−½(χ²ⱼ − min χ²))
//! ```
//!
//! θⱼ is the optimum at a given ln a. The current at V = 0 often lies between two set currents whose voltages are several
//! Voc apart: where the knee is then depends on the ideality so strongly that an uncertainty to first order at one fit is
//! several times too small, or too large. Within its evenly spaced values the likelihood is averaged as it is (a flat prior
//! for ln a; Tierney and Kadane, J. Am. Statist. Assoc. 81 (1986) 82, from memory, without the determinants, which vary
//! little).

use super::analysis::Analysis;
use super::pilot_fit::Over;
use crate::diode::{Circuit, Junction};
use crate::fit::{Points, Residual, conditional_optimum};

/// Step of ln a; a likelihood that is narrower than it is near to a normal one.
const STEP: f64 = 0.2;

/// Steps on each side of the pilot: a factor of 3.3.
const STEPS: i32 = 6;

/// An optimum whose χ² is larger by so much weighs less than 1 in 400.
const HOPELESS: f64 = 12.0;

/// An uncertainty of less than this part of the bracket comes from readings that leave no choice of ideality; one of more
/// than the whole of it is decided by the bracket.
const DETERMINED: f64 = 0.01;

/// Mean and variance of Isc over the idealities, where it lies between `ends` and has the standard uncertainty `u` to first
/// order, in units of the readings; `None` where they are no more uncertain than that.
pub fn isc(a: &Analysis, u: f64, (low, high): (f64, f64)) -> Option<(f64, f64)> {
    if u < DETERMINED * (high - low) || u > high - low {
        return None;
    }
    average(&optima(a, |circuit| circuit.isc()), u)
}

/// The same of a Voc beyond the readings.
pub fn voc(a: &Analysis, u: f64) -> Option<(f64, f64)> {
    average(&optima(a, |circuit| circuit.voc()), u)
}

/// Mean and variance of a figure from (χ², figure).
fn average(optima: &[(f64, f64)], u: f64) -> Option<(f64, f64)> {
    let (best, from) = optima.iter().copied().min_by(|p, q| p.0.total_cmp(&q.0))?;
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    for (chi2, figure) in optima {
        let (w, d) = ((-0.5 * (chi2 - best)).exp(), figure - from);
        (sum, first, second) = (sum + w, first + w * d, second + w * d * d);
    }
    let (mean, variance) = (first / sum, second / sum - (first / sum).powi(2));
    (variance > u * u).then_some((from + mean, variance))
}

/// χ² and `figure` of the optimum at each ln a.
fn optima(a: &Analysis, figure: impl Fn(&Circuit<1>) -> f64) -> Vec<(f64, f64)> {
    let points = Points {
        voltage_v: a.readings.voltage.clone(),
        current_a: a.readings.current.clone(),
        sigma_v: a.scatter.voltage.clone(),
        sigma_a: a.scatter.current.clone(),
    };
    let residual = if a.over == Over::Current { Residual::Voltage } else { Residual::Current };
    let (middle, bounds) = (a.pilot.theta[2], &a.pilot.bounds);
    let at = |from: &[f64], ln_a: f64| conditional_optimum(&points, residual, bounds, (from, ln_a));
    let of = |theta: &[f64]| figure(&Circuit::<1>::from_theta(theta));
    let Some((least, theta)) = at(&a.pilot.theta, middle) else { return Vec::new() };
    let mut optima = vec![(least, of(&theta))];
    for sense in [-STEP, STEP] {
        let mut from = theta.clone();
        for ln_a in (1..=STEPS).map(|k| middle + sense * f64::from(k)) {
            if ln_a < bounds.low[2] || ln_a > bounds.high[2] {
                break;
            }
            let Some((chi2, theta)) = at(&from, ln_a) else { break };
            if chi2 > least + HOPELESS {
                break;
            }
            optima.push((chi2, of(&theta)));
            from = theta;
        }
    }
    optima.retain(|o| o.0.is_finite() && o.1.is_finite());
    optima
}
