//! Which figures may be read beyond the sweep.

use crate::setters::setters;

/// Figures that may be read beyond the sweep.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Beyond {
    /// Isc of a sweep that does not reach V = 0.
    pub isc: bool,
    /// Voc of a sweep that does not reach I = 0.
    pub voc: bool,
}

setters!(Beyond {
    /// With Isc of a sweep that does not reach V = 0, or without.
    isc: bool,
    /// With Voc of a sweep that does not reach I = 0, or without.
    voc: bool,
});
