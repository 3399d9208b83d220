//! Voltages at open circuit over irradiance: the curve of the device without its series resistance.
//!
//! ```text
//! implied curve   V = Voc(suns),  I/Isc = 1 − suns          suns: irradiance over that of the lit sweep
//! pFF = max V·(1 − suns)/Voc(1)                             the pseudo fill factor
//! ```
//!
//! V is a local polynomial of ln(suns), which one diode makes straight. Source: common practice.

use super::error::ResistanceError;
use super::local_line::local_best;
use super::local_line::{Columns, Local};
use crate::curve::nearest;
use crate::numerics::least_squares::regression::Problem;
use crate::numerics::least_squares::regression::powers;
use crate::quantity::estimate::{Estimate, Unit};

const FEWEST: usize = 6;

/// Degree of the polynomial over all the readings, where there are enough of them.
const DEGREE: usize = 4;

/// Voltages at open circuit and the irradiances they belong to.
///
/// # Examples
/// ```
/// use litdiode::resistance::{Implied, ideal_fill_factor};
/// // Voc = a·ln(1 + suns·Isc/I0) of an invented diode: a = 0.033 V, Isc/I0 = 3e7. No resistance is in it.
/// let suns: Vec<f64> = (0..15).map(|k| 1.1 * 0.6f64.powi(k)).collect();
/// let voc: Vec<f64> = suns.iter().map(|suns| 0.033 * (suns * 3e7).ln_1p()).collect();
/// let ff = Implied::new(&voc, &suns, None)?.fill_factor()?;
/// assert!((ff.value - ideal_fill_factor(3e7f64.ln_1p()).unwrap()).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug)]
pub struct Implied {
    ln_suns: Vec<f64>,
    voltage: Vec<f64>,
    /// A polynomial of ln(suns) over all the readings, and its values at them: the stand-in by which truncation is judged.
    overall: Polynomial,
    smooth: Vec<f64>,
    sigma_v: Vec<f64>,
    dof: f64,
}

impl Implied {
    /// From voltages in V and irradiances as parts of that of the lit sweep; `sigma_v` is the scatter of a voltage
    /// in V where it is known, else it is found from the
    /// residuals of a quartic in ln(suns) over all the readings.
    ///
    /// # Errors
    /// [`ResistanceError`] naming the argument, the index and the value.
    pub fn new(voltage_v: &[f64], suns: &[f64], sigma_v: Option<f64>) -> Result<Self, ResistanceError> {
        if voltage_v.len() != suns.len() {
            return Err(ResistanceError::Lengths { voltage: voltage_v.len(), suns: suns.len() });
        }
        if suns.len() < FEWEST {
            let region = "of voltage and irradiance";
            return Err(ResistanceError::TooFewPoints { region, given: suns.len(), needed: FEWEST });
        }
        let bad =
            |name, index: usize, value, cure| Err(ResistanceError::Argument { name, index, value, cure });
        if let Some(k) = voltage_v.iter().position(|v| !v.is_finite()) {
            return bad("voltage_v", k, voltage_v[k], "remove the point");
        }
        if let Some(k) = suns.iter().position(|s| !(*s > 1e-12 && *s < 1e12)) {
            return bad("suns", k, suns[k], "give irradiances above 0 as parts of that of the lit sweep");
        }
        if let Some(s) = sigma_v.filter(|s| !(s.is_finite() && *s > 0.0)) {
            return bad("sigma_v", 0, s, "give a standard deviation above 0, or none");
        }
        let mut points: Vec<(f64, f64)> =
            suns.iter().map(|s| s.ln()).zip(voltage_v.iter().copied()).collect();
        points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (ln_suns, voltage): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        let undetermined = ResistanceError::Undetermined { axis: "irradiances" };
        let overall = Polynomial::of(&ln_suns, &voltage).ok_or(undetermined)?;
        let smooth: Vec<f64> = ln_suns.iter().map(|x| overall.at(*x)).collect();
        let (sigma_v, dof) = match sigma_v {
            Some(sigma) => (sigma, f64::INFINITY),
            None => overall.scatter(&voltage, &smooth),
        };
        let sigma_v = vec![sigma_v; voltage.len()];
        Ok(Self { ln_suns, voltage, overall, smooth, sigma_v, dof })
    }

    fn columns<T>(&self, y: &[f64], span: std::ops::Range<usize>, f: impl Fn(&Columns) -> T) -> T {
        let zero = vec![0.0; span.len()];
        f(&Columns {
            x: &self.ln_suns[span.clone()],
            y: &y[span.clone()],
            sigma_x: &zero,
            sigma_y: &self.sigma_v[span],
        })
    }

    /// V at `suns` with its slope by suns, and degrees of freedom.
    pub(super) fn voltage_at(&self, suns: f64) -> Result<(Local, f64), ResistanceError> {
        let x = suns.ln();
        let n = self.voltage.len();
        let (low, high) = (self.ln_suns[0], self.ln_suns[n - 1]);
        if !(x >= low && x <= high) {
            let (low_suns, high_suns) = (low.exp(), high.exp());
            return Err(ResistanceError::OutsideIrradiances { suns, low_suns, high_suns });
        }
        let undetermined = ResistanceError::Undetermined { axis: "irradiances" };
        let truth = self.overall.at(x);
        let (local, bend) = local_best(
            n,
            |span, degree| {
                let ideal = self.columns(&self.smooth, span.clone(), |c| c.at(x, degree))?;
                Some((self.columns(&self.voltage, span, |c| c.at(x, degree))?, ideal.value - truth))
            },
            |count| nearest(&self.ln_suns, x, count),
        )
        .ok_or(undetermined)?;
        let variance = local.variance + bend * bend;
        Ok((Local { slope: local.slope / suns, variance, ..local }, self.dof))
    }

    /// The pseudo fill factor: that of the implied curve, without series resistance.
    ///
    /// # Errors
    /// [`ResistanceError`] where the irradiances do not reach from below the maximum to 1.
    pub fn fill_factor(&self) -> Result<Estimate, ResistanceError> {
        let (voc, dof) = self.voltage_at(1.0)?;
        // The place comes from the polynomial over all the readings: the best of many local fits would be biased upwards.
        let power = |s: f64| self.overall.at(s.ln()) * (1.0 - s);
        let grid = (1..400).map(|k| (-0.015 * f64::from(k)).exp()).filter(|s| s.ln() >= self.ln_suns[0]);
        let best = grid.map(|s| (s, power(s))).max_by(|a, b| a.1.total_cmp(&b.1));
        let (s, _) = best.ok_or(ResistanceError::NoLowerIrradiance)?;
        if (0.97 * s).ln() < self.ln_suns[0] {
            return Err(ResistanceError::MaximumAtLowest);
        }
        let (v, _) = self.voltage_at(s)?;
        let top = v.value * (1.0 - s);
        let value = top / voc.value;
        let relative = (v.variance.sqrt() / v.value).hypot(voc.variance.sqrt() / voc.value);
        if value.is_finite() && relative.is_finite() && value > 0.0 {
            Ok(Estimate::new(value, value * relative, Unit::One).with_dof(dof))
        } else {
            Err(ResistanceError::NoPseudoPower)
        }
    }
}

/// V as one polynomial of ln(suns), fitted once: it is asked for at every reading.
#[derive(Clone, Debug)]
struct Polynomial {
    centre: f64,
    c: Vec<f64>,
}

impl Polynomial {
    /// By least squares in which all readings count alike; `None` where the irradiances do not determine it.
    fn of(ln_suns: &[f64], voltage: &[f64]) -> Option<Self> {
        let n = voltage.len();
        let (centre, none) = (0.5 * (ln_suns[0] + ln_suns[n - 1]), vec![0.0; n]);
        let basis = |_: usize, x: f64, phi: &mut [f64], dphi: &mut [f64]| {
            powers(x - centre, phi, dphi);
            true
        };
        let (x, y, sigma_x, sigma_y) = (ln_suns, voltage, &none, &none);
        let terms = DEGREE.min(n - 3) + 1;
        let found = Problem { x, y, sigma_x, sigma_y, terms, basis: &basis }.solve()?;
        Some(Self { centre, c: found.c })
    }

    fn at(&self, x: f64) -> f64 {
        self.c.iter().rev().fold(0.0, |sum, c| sum.mul_add(x - self.centre, *c))
    }

    /// σ of a voltage from the residuals, with its degrees of freedom.
    fn scatter(&self, voltage: &[f64], smooth: &[f64]) -> (f64, f64) {
        let chi2: f64 = voltage.iter().zip(smooth).map(|(v, s)| (v - s).powi(2)).sum();
        let dof = (voltage.len() - self.c.len()) as f64;
        ((chi2 / dof).sqrt(), dof)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// The polynomial fitted once is that of a fit about each place of its own.
    #[test]
    fn the_polynomial_is_that_of_a_fit_at_every_place() {
        let suns: Vec<f64> = (0..40).map(|k| 0.01 * 150f64.powf(f64::from(k) / 39.0)).collect();
        let wave = |k: usize| 1e-3 * ((2.4 * k as f64).sin() + (5.1 * k as f64).cos());
        let voltage: Vec<f64> =
            suns.iter().enumerate().map(|(k, s)| 0.6 + 0.035 * s.ln() + 0.01 * s + wave(k)).collect();
        let implied = Implied::new(&voltage, &suns, None).expect("sound");
        for (x, smooth) in implied.ln_suns.iter().zip(&implied.smooth) {
            let own = implied.columns(&implied.voltage, 0..40, |c| c.at(*x, DEGREE)).expect("determined");
            assert_relative_eq!(*smooth, own.value, max_relative = 1e-12);
        }
        assert_relative_eq!(implied.dof, 35.0);
    }
}
