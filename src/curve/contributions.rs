//! What each source of uncertainty does to a figure, so that figures of one set of readings can be combined.
//!
//! ```text
//! cov(f, h) = Σ over sources of (change of f)·(change of h)      change by a reading: ∂f/∂I·dI + ∂f/∂V·dV
//! ```

use super::linear_estimator::{Common, Figure};
use super::scaled_readings::Readings;

/// Places of [`Noise::COMMON`](crate::sweep::Noise::COMMON) in the order of [`Contributions::common`]: gains first.
pub(super) const OF_NOISE: [usize; 4] = [0, 2, 1, 3];

/// Derivatives of a figure by the readings, and its changes by one standard uncertainty of what is common, in SI units.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Contributions {
    /// Derivatives by each current as far as its bracket leaves them, in the caller's order of the readings.
    pub by_current: Vec<f64>,
    /// Derivatives by each voltage.
    pub by_voltage: Vec<f64>,
    /// Changes by voltage gain, current gain, voltage offset, current offset.
    pub common: [f64; 4],
    /// What the discrepancy from the pilot makes wrong of it, one standard uncertainty.
    pub truncation: f64,
    /// Covariance of that with the same of each of the five figures.
    pub shape: [f64; 5],
}

impl Contributions {
    /// Of `figure`, whose unit is `unit` and whose covariance of shape with each figure is `shape`; `order` says which of `count` readings of the caller each reading was, and
    /// `sense` whether the device was turned round (−1).
    pub fn new(
        figure: &Figure,
        (unit, shape): (f64, [f64; 5]),
        (readings, common): (&Readings, &Common),
        (order, count, sense): (&[usize], usize, f64),
    ) -> Self {
        let spread = |by: &[f64], per: f64| {
            let mut all = vec![0.0; count];
            order.iter().zip(by).for_each(|(k, by)| all[*k] = unit * figure.held * by * sense / per);
            all
        };
        Self {
            by_current: spread(&figure.by_current, readings.unit_a),
            by_voltage: spread(&figure.by_voltage, readings.unit_v),
            common: figure.common(readings, common).map(|effect| unit * effect),
            truncation: unit * figure.truncation,
            shape,
        }
    }
}
