//! All remarks on a sweep: what must be known with its figures and the figures do not show by themselves.
//!
//! ```text
//! Sweep::findings (range, order, limits) + what takes a fit or a look at the noise ─▶ Vec<Finding>
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `outlier` | readings far from the curve through the others |
//! | `scatter`, `quantised` | a scatter that contradicts the stated noise; the steps of a converter in what was set |
//! | `plausible` | figures that no device has |
//! | `readings` | a bias, a signal in the noise, too few readings at the knee, two ways that part |
//! | `curve_shape` | a shunt, a series resistance, an S-shape, readings that rise |
//!
//! They cost some fits of the sweep, and are made when asked for.

mod curve_shape;
mod outlier;
mod plausible;
mod quantised;
mod readings;
mod scatter;

pub use outlier::{outliers, without_outliers};

use crate::curve::key_points;
use crate::sweep::{Finding, Kind, Sweep};

/// Every remark on `sweep`: [`Sweep::findings`], then those that take a fit or a look at the noise.
///
/// # Examples
/// ```
/// use litdiode::{remarks, sweep::{Kind, Sweep, SweepOptions}};
/// let v: Vec<f64> = (0..20).map(|k| 0.032 * f64::from(k)).collect();
/// let mut i: Vec<f64> = v.iter().map(|v| 6e-4 - 1e-9 * ((v / 0.045f64).exp() - 1.0)).collect();
/// i[7] = 0.0;
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let found = remarks::findings(&sweep);
/// assert!(found.iter().any(|f| f.kind == Kind::Outlier && f.points == [7]));
/// # Ok::<(), litdiode::sweep::SweepError>(())
/// ```
pub fn findings(sweep: &Sweep) -> Vec<Finding> {
    let mut found = sweep.findings().to_vec();
    let apart = outliers(sweep);
    let left_out: Vec<usize> = apart.iter().map(|o| o.point).collect();
    found.extend(apart.iter().map(|o| o.finding(sweep)));
    found.extend(scatter::finding(sweep, &left_out));
    found.extend(quantised::finding(sweep));
    found.extend(plausible::findings(sweep, &left_out));
    let points = key_points(sweep);
    // An axis that the readings reach within their scatter is reached.
    found.retain(|f| match f.kind {
        Kind::ShortOfIsc => points.isc.is_none(),
        Kind::ShortOfVoc => points.voc.is_none(),
        _ => true,
    });
    found.extend(readings::findings(sweep, &points));
    // Noise has any shape.
    if !found.iter().any(|f| f.kind == Kind::BelowNoise) {
        found.extend(curve_shape::findings(sweep, &points, &left_out));
    }
    found
}
