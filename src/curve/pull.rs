//! What each source of uncertainty does to a figure, so that figures of one set of readings can be combined.
//!
//! ```text
//! cov(f, h) = Σ pull of f · pull of h        over the scatter of every reading and the common gains and offsets
//! ```

use super::figure::{Common, Figure};
use super::readings::Readings;
use super::scatter::Scatter;
use serde::{Deserialize, Serialize};

/// Changes of a figure in SI units by one standard uncertainty each.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Pull {
    /// By the scatter of each current, in the caller's order of the readings.
    current: Vec<f64>,
    /// By the scatter of each voltage.
    voltage: Vec<f64>,
    /// By voltage gain, current gain, voltage offset, current offset.
    pub common: [f64; 4],
    /// By the truncation of its fit.
    pub truncation: f64,
}

impl Pull {
    /// Of `figure`, whose unit is `unit`; `order` says which of `count` readings of the caller each reading was.
    pub fn new(
        figure: &Figure,
        unit: f64,
        (readings, scatter, common): (&Readings, &Scatter, &Common),
        (order, count): (&[usize], usize),
    ) -> Self {
        let spread = |by: &[f64], sigma: &[f64]| {
            let mut all = vec![0.0; count];
            order.iter().zip(by.iter().zip(sigma)).for_each(|(k, (by, s))| all[*k] = unit * by * s);
            all
        };
        Self {
            current: spread(&figure.by_current, &scatter.current),
            voltage: spread(&figure.by_voltage, &scatter.voltage),
            common: figure.common(readings, common).map(|effect| unit * effect),
            truncation: unit * figure.truncation,
        }
    }

    /// Covariance with another figure of the same readings, but for what their truncations share.
    pub fn covariance(&self, other: &Self) -> f64 {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        dot(&self.current, &other.current)
            + dot(&self.voltage, &other.voltage)
            + dot(&self.common, &other.common)
    }

    /// Standard uncertainty.
    pub fn u(&self) -> f64 {
        (self.covariance(self) + self.truncation.powi(2)).sqrt()
    }
}
