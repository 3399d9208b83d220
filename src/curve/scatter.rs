//! The scatter of the readings: as stated with the instrument, or found in the sweep itself.
//!
//! ```text
//! s² = σI² + (dI/dV·σV)²             one reading's effective variance on the current axis
//! σ̂² = Σⱼ qⱼ rⱼ² / tr C,   C = Σⱼ qⱼ Rⱼ,   ν = (tr C)²/tr(C²)
//! ```
//!
//! rⱼ² = yᵀRⱼy is the residual sum of squares of a local polynomial in window j; windows overlap, so the
//! degrees of freedom are those of the quadratic form (Satterthwaite, Biometrics Bull. 2 (1946) 110–114)
//! and not the sum over windows. qⱼ falls from 1 to 0 where the window is too wide for the bend.

use super::choice::deviate;
use super::guide::Guide;
use super::local::Local;
use super::readings::Readings;

/// Points in a window of the estimate.
const WINDOW: usize = 7;

/// Degree there: leaves two degrees of freedom a window.
const DEGREE: usize = 4;

/// The misfit of the guide counts this much against a window.
const BEND_WEIGHT: f64 = 5.0;

/// Stated noise is contradicted beyond this many standard deviations.
const BEYOND_DOUBT: f64 = 4.0;

/// Scatter assumed where nothing is known, in parts of the largest current: it chooses windows only.
const NOMINAL: f64 = 3e-3;

/// Standard deviations of each reading, in the units of the [`Readings`].
#[derive(Clone, Debug)]
pub struct Scatter {
    /// σV.
    pub voltage: Vec<f64>,
    /// σI.
    pub current: Vec<f64>,
    /// Degrees of freedom behind them; infinite when stated.
    pub dof: f64,
    /// How many times more than stated the readings scatter, where that is beyond doubt.
    pub excess: Option<f64>,
    /// Why there is no ±, where the scatter is neither stated nor found.
    pub unknown: Option<String>,
}

/// What is known of the noise before the sweep is looked at.
pub enum Stated<'a> {
    /// Standard deviations as functions of the true voltage in V and the true current in A.
    Known(&'a dyn Fn(f64) -> f64, &'a dyn Fn(f64) -> f64),
    /// Nothing; the current was read, and scatters evenly.
    ReadCurrent,
    /// Nothing; the voltage was read, and scatters evenly.
    ReadVoltage,
}

impl Scatter {
    /// The scatter of `readings`.
    pub fn of(readings: &Readings, guide: &Guide, stated: &Stated) -> Self {
        match stated {
            Stated::Known(sigma_v, sigma_i) => {
                let scatter = known(readings, guide, *sigma_v, *sigma_i);
                let excess = excess(readings, guide, &scatter.on_current(guide));
                Self { excess, ..scatter }
            }
            Stated::ReadCurrent => found(readings, pooled_current(readings, guide), false),
            Stated::ReadVoltage => found(readings, pooled_voltage(readings, guide), true),
        }
    }

    /// Effective standard deviation of each reading on the current axis.
    pub fn on_current(&self, guide: &Guide) -> Vec<f64> {
        let axes = self.current.iter().zip(&self.voltage).zip(guide.slope());
        axes.map(|((i, v), slope)| i.hypot(slope * v)).collect()
    }
}

fn known(
    readings: &Readings,
    guide: &Guide,
    sigma_v: &dyn Fn(f64) -> f64,
    sigma_i: &dyn Fn(f64) -> f64,
) -> Scatter {
    let (unit_v, unit_a) = (readings.unit_v, readings.unit_a);
    let current: Vec<f64> = readings.smooth.iter().map(|i| sigma_i(i * unit_a) / unit_a).collect();
    let voltage = (0..readings.len()).map(|k| {
        let (v, slope) = (readings.voltage[k], guide.slope()[k]);
        let sigma = sigma_v(v * unit_v) / unit_v;
        let s2 = current[k].powi(2) + (slope * sigma).powi(2);
        // A proportional part is taken at the foot of the reading on the smooth, not at the reading.
        let foot = if s2 > 0.0 {
            (readings.current[k] - readings.smooth[k]) * slope * sigma * sigma / s2
        } else {
            0.0
        };
        sigma_v((v + foot) * unit_v) / unit_v
    });
    let voltage = voltage.collect();
    Scatter { voltage, current, dof: f64::INFINITY, excess: None, unknown: None }
}

fn found(readings: &Readings, pooled: Result<(f64, f64), String>, on_voltage: bool) -> Scatter {
    let (sigma, dof, unknown) = match pooled {
        Ok((sigma, dof)) => (sigma, dof, None),
        Err(why) => (NOMINAL, f64::INFINITY, Some(why)),
    };
    let (this, other) = (vec![sigma; readings.len()], vec![0.0; readings.len()]);
    let (voltage, current) = if on_voltage { (this, other) } else { (other, this) };
    Scatter { voltage, current, dof, excess: None, unknown }
}

fn pooled_current(readings: &Readings, guide: &Guide) -> Result<(f64, f64), String> {
    pooled(&readings.voltage, &readings.current, guide.bend())
}

/// The voltage scatters: V against ln(1 − I/S) is nearly straight where the curve is steep.
fn pooled_voltage(readings: &Readings, guide: &Guide) -> Result<(f64, f64), String> {
    let mut points: Vec<(f64, f64)> = (0..readings.len())
        .map(|k| (1.0 - readings.current[k] / guide.flat(readings.voltage[k]), readings.voltage[k]))
        .filter(|(rest, _)| *rest > 0.1)
        .map(|(rest, v)| (rest.ln(), v))
        .collect();
    points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
    let none = vec![0.0; x.len()];
    pooled(&x, &y, &none)
}

/// σ̂ and ν from all windows of successive points; `bend` is the curve's own non-polynomial part.
fn pooled(x: &[f64], y: &[f64], bend: &[f64]) -> Result<(f64, f64), String> {
    if x.len() < WINDOW {
        return Err(format!(
            "no ± without the noise: {} readings are too few to find their scatter (at least {WINDOW}); pass noise=",
            x.len()
        ));
    }
    let windows = windows(x, y, bend);
    let mut share = vec![1.0; windows.len()];
    for _ in 0..3 {
        let sigma2 = ratio(&windows, &share, &|w| w.dof);
        share = windows.iter().map(|w| w.share(sigma2)).collect();
    }
    let sigma2 = ratio(&windows, &share, &|w| w.dof);
    let dof = satterthwaite(&windows, &share, x.len());
    if sigma2.is_finite() && dof > 0.0 {
        Ok((sigma2.sqrt(), dof))
    } else {
        Err("no ± without the noise: too few different voltages to find the scatter; pass noise=".into())
    }
}

/// √(found/expected) of the residuals in all windows when it is above 1 beyond doubt.
fn excess(readings: &Readings, guide: &Guide, sigma: &[f64]) -> Option<f64> {
    let x = &readings.voltage;
    if x.len() < WINDOW {
        return None;
    }
    let windows = windows(x, &readings.current, guide.bend());
    let expected = |w: &Window| {
        let own = |k: usize| 1.0 - w.fit.pull(k, k);
        (0..WINDOW).map(|k| own(k) * sigma[w.first + k].powi(2)).sum::<f64>()
    };
    let share: Vec<f64> = windows.iter().map(|w| w.share(expected(w) / w.dof)).collect();
    let found = ratio(&windows, &share, &expected);
    let dof = satterthwaite(&windows, &share, x.len());
    (found.is_finite() && dof > 0.0 && deviate(found, dof, f64::INFINITY) > BEYOND_DOUBT)
        .then(|| found.sqrt())
}

struct Window {
    first: usize,
    dof: f64,
    misfit: f64,
    bent: f64,
    fit: Local,
}

impl Window {
    /// q: how much the window says of a variance `sigma2` rather than of the bend.
    fn share(&self, sigma2: f64) -> f64 {
        let bent = BEND_WEIGHT * self.bent / self.dof;
        if bent > 0.0 { sigma2.powi(2) / (sigma2.powi(2) + bent.powi(2)) } else { 1.0 }
    }
}

fn windows(x: &[f64], y: &[f64], bend: &[f64]) -> Vec<Window> {
    let ones = [1.0; WINDOW];
    let window = |first: usize| {
        let span = first..first + WINDOW;
        let fit = Local::fit(&x[span.clone()], &y[span.clone()], &ones, DEGREE)?;
        let bent = Local::fit(&x[span.clone()], &bend[span], &ones, DEGREE)?.misfit(DEGREE);
        let dof = (WINDOW - 1 - fit.degree()) as f64;
        Some(Window { first, dof, misfit: fit.misfit(DEGREE), bent, fit })
    };
    (0..=x.len() - WINDOW).filter_map(window).collect()
}

/// Σ q·misfit / Σ q·expected.
fn ratio(windows: &[Window], share: &[f64], expected: &dyn Fn(&Window) -> f64) -> f64 {
    let sum = |of: &dyn Fn(&Window) -> f64| windows.iter().zip(share).map(|(w, q)| q * of(w)).sum::<f64>();
    sum(&|w| w.misfit) / sum(expected)
}

/// (tr C)²/tr(C²) with C = Σ qⱼ(1 − Hⱼ), which is banded: row k keeps the columns k to k + WINDOW − 1.
fn satterthwaite(windows: &[Window], share: &[f64], count: usize) -> f64 {
    let mut band = vec![[0.0; WINDOW]; count];
    for (w, q) in windows.iter().zip(share) {
        for row in 0..WINDOW {
            for column in row..WINDOW {
                let identity = if column == row { 1.0 } else { 0.0 };
                band[w.first + row][column - row] += q * (identity - w.fit.pull(row, column));
            }
        }
    }
    let trace: f64 = band.iter().map(|row| row[0]).sum();
    let square: f64 =
        band.iter().map(|row| row[0] * row[0] + 2.0 * row[1..].iter().map(|c| c * c).sum::<f64>()).sum();
    if square > 0.0 { trace * trace / square } else { 0.0 }
}
