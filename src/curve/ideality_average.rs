//! Isc of a current-stepped sweep, averaged over the ideality of the diode.
//!
//! ```text
//! Isc = Σ wⱼ·Isc(θⱼ)/Σ wⱼ      var = Σ wⱼ·(Isc(θⱼ) − Isc)²/Σ wⱼ      wⱼ = exp(−½(χ²ⱼ − min χ²))·Δⱼ ln a
//! ```
//!
//! θⱼ is the optimum at a given ln a. The current at V = 0 often lies between two set currents whose voltages are several
//! Voc apart: where the knee is then depends on the ideality so strongly that an uncertainty to first order at one fit is
//! several times too small, or too large; so it is with a Voc beyond the readings. The likelihood is averaged by the
//! trapezoidal rule, up to the bounds of ln a (a flat prior for ln a; Tierney and Kadane, J. Am. Statist. Assoc. 81 (1986)
//! 82, from memory, without the determinants, which vary little).

use super::analysis::Analysis;
use super::linear_estimator::Figures;
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

/// Averages Isc, which lies between `ends`, where the first order does not serve.
pub fn isc(figures: &mut Figures, a: &Analysis, (low, high): (f64, f64)) {
    let u = figures.variance(0, &a.scatter).sqrt();
    if (DETERMINED * (high - low)..=high - low).contains(&u) {
        replace(figures, 0, a, |circuit| circuit.isc());
    }
}

/// Averages a Voc beyond the readings.
pub fn voc(figures: &mut Figures, a: &Analysis) {
    replace(figures, 1, a, |circuit| circuit.voc());
}

/// Puts the average in the place of figure `k`.
fn replace(figures: &mut Figures, k: usize, a: &Analysis, of: impl Fn(&Circuit<1>) -> f64) {
    let variance = figures.variance(k, &a.scatter);
    let Ok(figure) = &mut figures.values[k] else { return };
    if let Some((value, averaged)) = average(&optima(a, of), (figure.value, variance.sqrt())) {
        figure.value = value;
        figures.shape[k][k] += averaged - variance;
    }
}

/// The optimum at one ln a.
#[derive(Clone, Copy)]
struct Optimum {
    ln_a: f64,
    chi2: f64,
    figure: f64,
}

/// Value and variance of a figure with its first-order `value` and `u`. The mean over the idealities counts with its variance
/// over u², at most 1: it takes over without a jump where it is the more uncertain.
fn average(optima: &[Optimum], (value, u): (f64, f64)) -> Option<(f64, f64)> {
    let best = optima.iter().map(|o| o.chi2).fold(f64::INFINITY, f64::min);
    let (mut sum, mut first, mut second) = (0.0, 0.0, 0.0);
    for (k, o) in optima.iter().enumerate() {
        let (before, behind) = (optima[k.saturating_sub(1)].ln_a, optima[(k + 1).min(optima.len() - 1)].ln_a);
        let w = (-0.5 * (o.chi2 - best)).exp() * (behind - before);
        let d = o.figure - value;
        (sum, first, second) = (sum + w, first + w * d, second + w * d * d);
    }
    if sum.is_nan() || sum <= 0.0 {
        return None;
    }
    let (mean, variance) = (first / sum, second / sum - (first / sum).powi(2));
    let share = (variance / (u * u)).min(1.0);
    share.is_finite().then(|| (value + share * mean, variance.max(u * u)))
}

/// The optimum at each ln a, by rising ln a.
fn optima(a: &Analysis, figure: impl Fn(&Circuit<1>) -> f64) -> Vec<Optimum> {
    let points = Points {
        voltage_v: a.readings.voltage.clone(),
        current_a: a.readings.current.clone(),
        sigma_v: a.scatter.voltage.clone(),
        sigma_a: a.scatter.current.clone(),
    };
    let residual = if a.over == Over::Current { Residual::Voltage } else { Residual::Current };
    let (middle, bounds) = (a.pilot.theta[2], &a.pilot.bounds);
    let at = |from: &[f64], ln_a: f64| {
        let (chi2, theta) = conditional_optimum(&points, residual, bounds, (from, ln_a))?;
        let figure = figure(&Circuit::<1>::from_theta(&theta));
        (chi2.is_finite() && figure.is_finite()).then_some((Optimum { ln_a, chi2, figure }, theta))
    };
    let Some((start, theta)) = at(&a.pilot.theta, middle) else { return Vec::new() };
    let mut optima = vec![start];
    for sense in [-STEP, STEP] {
        let mut from = theta.clone();
        for k in 1..=STEPS {
            let ln_a = (middle + sense * f64::from(k)).clamp(bounds.low[2], bounds.high[2]);
            if optima.iter().any(|o| o.ln_a == ln_a) {
                break;
            }
            let Some((found, theta)) = at(&from, ln_a) else { break };
            if found.chi2 > start.chi2 + HOPELESS {
                break;
            }
            optima.push(found);
            from = theta;
        }
    }
    optima.sort_by(|p, q| p.ln_a.total_cmp(&q.ln_a));
    optima
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A normal likelihood of a figure that is linear in ln a has its mean and variance; one that is narrow leaves the first order.
    #[test]
    fn the_average_of_a_normal_likelihood() {
        let of = |width: f64| -> Vec<Optimum> {
            let one = |k: i32| {
                let ln_a = 0.2 * f64::from(k);
                Optimum { ln_a, chi2: (ln_a / width).powi(2), figure: 3.0 + 0.5 * ln_a }
            };
            (-8..=8).map(one).collect()
        };
        let (value, variance) = average(&of(0.3), (2.9, 0.1)).unwrap();
        assert_relative_eq!(value, 3.0, epsilon = 1e-6);
        assert_relative_eq!(variance.sqrt(), 0.15, max_relative = 1e-3);
        let (value, variance) = average(&of(0.02), (2.9, 0.1)).unwrap();
        assert_relative_eq!(value, 2.9, epsilon = 1e-9);
        assert_relative_eq!(variance.sqrt(), 0.1, max_relative = 1e-12);
        assert!(average(&of(0.3)[..1], (2.9, 0.1)).is_none());
    }
}
