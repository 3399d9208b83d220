//! A figure as a function of the readings: its value and what each reading contributes to it.
//!
//! ```text
//! cov(f, h) = Σₖ (∂f/∂Iₖ ∂h/∂Iₖ σIₖ² + ∂f/∂Vₖ ∂h/∂Vₖ σVₖ²) + Σ common + truncation
//! ```
//!
//! The matrix form is L·Σ·Lᵀ (JCGM 100:2008, 5.2.2). A gain or an offset is common to all readings: its
//! effect on a figure is the sum of what it does through every one of them.

use super::noise_estimate::Scatter;
use super::scaled_readings::Readings;
use crate::quantity::reason::Reason;

/// A figure in the units of its [`Readings`].
#[derive(Clone, Debug)]
pub struct Figure {
    /// The value.
    pub value: f64,
    /// Derivatives by the currents.
    pub by_current: Vec<f64>,
    /// Derivatives by the voltages.
    pub by_voltage: Vec<f64>,
    /// What the shape of the curve may make wrong of it, with its sign.
    pub truncation: f64,
    /// How much of what the scatter of the readings does to it its bracket leaves. Gains and offsets move the bracket with
    /// it, and are left whole.
    pub held: f64,
}

/// Standard uncertainties common to all readings: gains are relative, offsets in the readings' units.
#[derive(Clone, Copy, Debug, Default)]
pub struct Common {
    /// Gain of the voltage axis.
    pub voltage_gain: f64,
    /// Gain of the current axis.
    pub current_gain: f64,
    /// Offset of the voltage axis.
    pub voltage_offset: f64,
    /// Offset of the current axis.
    pub current_offset: f64,
}

impl Figure {
    /// Covariance with `other` from the scatter of the readings.
    pub fn scatter_covariance(&self, other: &Self, scatter: &Scatter) -> f64 {
        let along = |a: &[f64], b: &[f64], sigma: &[f64]| {
            a.iter().zip(b).zip(sigma).map(|((a, b), s)| (a * s) * (b * s)).sum::<f64>()
        };
        let whole = along(&self.by_current, &other.by_current, &scatter.current)
            + along(&self.by_voltage, &other.by_voltage, &scatter.voltage);
        whole * self.held * other.held
    }

    /// The effect of what is `hidden` (of voltages, of currents) in all readings alike.
    pub fn hidden(&self, (voltage, current): (f64, f64)) -> f64 {
        let sum = |by: &[f64]| by.iter().sum::<f64>();
        self.held * (voltage * sum(&self.by_voltage) + current * sum(&self.by_current))
    }

    /// Effects of one standard uncertainty each of voltage gain, current gain, voltage and current offset.
    pub fn common(&self, readings: &Readings, common: &Common) -> [f64; 4] {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let by_current_gain = match common.current_gain {
            0.0 => 0.0,
            gain => gain * dot(&self.by_current, readings.smooth()),
        };
        [
            common.voltage_gain * dot(&self.by_voltage, &readings.voltage),
            by_current_gain,
            common.voltage_offset * self.by_voltage.iter().sum::<f64>(),
            common.current_offset * self.by_current.iter().sum::<f64>(),
        ]
    }
}

/// Isc, Voc, Pmax, V_Pmax, I_Pmax.
pub const COUNT: usize = 5;

/// The five figures, or why there are none, in units of the readings.
pub struct Figures {
    /// With their derivatives by the readings.
    pub values: [Result<Figure, Reason>; COUNT],
    /// Covariance of what the discrepancy makes wrong of them.
    pub shape: [[f64; COUNT]; COUNT],
    /// Whether the bracket of the neighbours decides the uncertainty.
    pub bracketed: [bool; COUNT],
}

impl Figures {
    /// Variance of figure `k`, whose readings have `scatter`, without gains and offsets; 0 where there is none.
    pub fn variance(&self, k: usize, scatter: &Scatter) -> f64 {
        let noise = self.values[k].as_ref().map_or(0.0, |f| f.scatter_covariance(f, scatter));
        (noise + self.shape[k][k]).max(0.0)
    }
}
