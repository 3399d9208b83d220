//! What the resistances are found from.

use super::suns_voc::Implied;
use crate::quantity::estimate::Estimate;
use crate::setters::setters;
use crate::sweep::Sweep;

/// The sweeps of one device; whatever is there.
#[derive(Clone, Copy, Debug, Default)]
#[non_exhaustive]
pub struct Measured<'a> {
    /// A sweep under light.
    pub lit: Option<&'a Sweep>,
    /// Sweeps at other irradiances, same temperature.
    pub more_lit: &'a [Sweep],
    /// A sweep in the dark, same temperature.
    pub dark: Option<&'a Sweep>,
    /// Voltages at open circuit over irradiance.
    pub implied: Option<&'a Implied>,
    /// The ideality factor of a cell, where it is known.
    pub n: Option<&'a Estimate>,
}

setters!(Measured<'a> {
    /// With a sweep under light.
    lit: impl Into<Option<&'a Sweep>>,
    /// With sweeps at other irradiances, same temperature.
    more_lit: &'a [Sweep],
    /// With a sweep in the dark, same temperature.
    dark: impl Into<Option<&'a Sweep>>,
    /// With voltages at open circuit over irradiance.
    implied: impl Into<Option<&'a Implied>>,
    /// With the ideality factor of a cell.
    n: impl Into<Option<&'a Estimate>>,
});
