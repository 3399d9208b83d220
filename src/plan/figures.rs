//! The figures that a plan can be made for.

use crate::fit::{Figure, names};
use crate::quantity::key_points::{KeyPoint, NAMES};

/// Key points of a model, then its parameters; those that the device has.
pub(super) fn all_figures(diodes: usize) -> impl Iterator<Item = Figure> {
    let points = KeyPoint::ALL.into_iter().take(NAMES.len()).map(Figure::KeyPoint);
    points.chain(names(diodes).iter().map(|p| Figure::Parameter(*p)))
}
