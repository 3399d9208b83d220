//! Voltages at open circuit over irradiance: the curve of the device without its series resistance.
//!
//! ```text
//! implied curve   V = Voc(suns),  I/Isc = 1 − suns          suns: irradiance over that of the lit sweep
//! pFF = max V·(1 − suns)/Voc(1)                             the pseudo fill factor
//! ```
//!
//! V is a local polynomial of ln(suns), which one diode makes straight. Source: common practice.

use super::at_maximum_power::local_best;
use super::error::ResistanceError;
use super::local_line::{Columns, Local};
use crate::curve::nearest;
use crate::estimate::{Estimate, Unit};

const FEWEST: usize = 6;

/// Degree of the polynomial over all the readings, where there are enough of them.
const DEGREE: usize = 4;

/// Voltages at open circuit and the irradiances they belong to.
#[derive(Clone, Debug)]
pub struct Implied {
    ln_suns: Vec<f64>,
    voltage: Vec<f64>,
    /// A polynomial of ln(suns) over all the readings: the stand-in by which truncation is judged.
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
        let n = voltage.len();
        let sigma_v = vec![sigma_v.unwrap_or(0.0); n];
        let mut implied = Self { ln_suns, voltage, smooth: Vec::new(), sigma_v, dof: f64::INFINITY };
        let smooth: Option<Vec<f64>> = implied.ln_suns.iter().map(|x| implied.overall(*x)).collect();
        implied.smooth = smooth.ok_or(ResistanceError::Undetermined { axis: "irradiances" })?;
        if implied.sigma_v[0] == 0.0 {
            implied.find_scatter();
        }
        Ok(implied)
    }

    fn degree(&self) -> usize {
        DEGREE.min(self.voltage.len() - 3)
    }

    /// The polynomial over all the readings at ln(suns) = `x`.
    fn overall(&self, x: f64) -> Option<f64> {
        Some(self.columns(&self.voltage, 0..self.voltage.len(), |c| c.at(x, self.degree()))?.value)
    }

    fn find_scatter(&mut self) {
        let chi2: f64 = self.voltage.iter().zip(&self.smooth).map(|(v, s)| (v - s).powi(2)).sum();
        self.dof = (self.voltage.len() - self.degree() - 1) as f64;
        self.sigma_v.fill((chi2 / self.dof).sqrt());
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
            let why = format!("{suns:.4} lies outside the irradiances {:.4} to {:.4}", low.exp(), high.exp());
            return Err(ResistanceError::NoKeyPoint { figure: "the implied voltage", why });
        }
        let undetermined = ResistanceError::Undetermined { axis: "irradiances" };
        let truth = self.overall(x).ok_or(undetermined.clone())?;
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
        let power = |s: f64| Some(self.overall(s.ln())? * (1.0 - s));
        let grid = (1..400).map(|k| (-0.015 * f64::from(k)).exp()).filter(|s| s.ln() >= self.ln_suns[0]);
        let best = grid.filter_map(|s| Some((s, power(s)?))).max_by(|a, b| a.1.total_cmp(&b.1));
        let none =
            |why: &str| ResistanceError::NoKeyPoint { figure: "the pseudo maximum power", why: why.into() };
        let (s, _) = best.ok_or_else(|| none("the irradiances do not reach below 1"))?;
        if (0.97 * s).ln() < self.ln_suns[0] {
            return Err(none("it lies at the lowest irradiance: measure at lower ones"));
        }
        let (v, _) = self.voltage_at(s)?;
        let top = v.value * (1.0 - s);
        let value = top / voc.value;
        let relative = (v.variance.sqrt() / v.value).hypot(voc.variance.sqrt() / voc.value);
        if value.is_finite() && relative.is_finite() && value > 0.0 {
            Ok(Estimate::new(value, value * relative, Unit::One).with_dof(dof))
        } else {
            Err(none("the voltages are not above 0"))
        }
    }
}
