//! What the discrepancy is conditioned on, and what is asked of it.

use super::pilot_fit::PARAMETERS;

/// ℓ in units of the curve (1 is Isc or Voc).
pub const LENGTHS: [f64; 2] = [0.3, 1.0];

/// Derivatives by the pilot's parameters.
pub type Trend = [f64; PARAMETERS];

/// One reading, or several that lie close together, compared with the pilot.
#[derive(Clone, Copy, Debug)]
pub struct Observation {
    /// Position along the curve.
    pub s: f64,
    /// Reading less pilot.
    pub z: f64,
    /// Its variance; relative where the size of the noise is not known.
    pub variance: f64,
    /// Derivatives of z by the pilot's parameters.
    pub trend: Trend,
    /// Place in the order of the sweep.
    pub order: f64,
    /// Number of readings.
    pub count: f64,
    /// Size of the discrepancy there, relative to τ.
    pub amplitude: f64,
}

/// What is known of the size of the noise.
#[derive(Clone, Copy, Debug)]
pub struct Size {
    /// Whether the variances are absolute.
    pub known: bool,
    /// Weighted sum of squares within observations of several readings, its degrees of freedom, and ½·ln of the ratio of
    /// the observations' variances to those of their readings.
    pub within: (f64, f64, f64),
}

/// A linear functional of the displacement: Σ c·z(s), with its derivatives by the pilot's parameters.
#[derive(Clone, Debug, Default)]
pub struct Functional {
    /// (c·a, s).
    pub places: Vec<(f64, f64)>,
    /// Σ c·g.
    pub trend: Trend,
}

/// What the readings say of functionals.
pub struct Estimates {
    /// Derivative of each functional by each observation's z.
    pub rows: Vec<Vec<f64>>,
    /// Covariance of what the estimates make wrong, noise and discrepancy together.
    pub covariance: Vec<Vec<f64>>,
}
