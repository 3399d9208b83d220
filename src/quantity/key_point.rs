//! Which figures of a curve there are.

use crate::quantity::names::{UnknownName, named};
use crate::quantity::unit::Unit;
use std::fmt;
use std::str::FromStr;

/// Names of the figures that share a covariance, in its order.
pub const NAMES: [&str; 6] = ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"];

/// A key point.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "snake_case"))]
#[non_exhaustive]
pub enum KeyPoint {
    /// Short-circuit current.
    Isc,
    /// Open-circuit voltage.
    Voc,
    /// Maximum power.
    Pmax,
    /// Voltage at maximum power.
    VPmax,
    /// Current at maximum power.
    IPmax,
    /// Fill factor.
    Ff,
    /// Short-circuit current density.
    Jsc,
    /// Efficiency.
    Efficiency,
}

impl KeyPoint {
    /// All of them, those of [`NAMES`] first, in its order.
    pub const ALL: [Self; 8] =
        [Self::Isc, Self::Voc, Self::Pmax, Self::VPmax, Self::IPmax, Self::Ff, Self::Jsc, Self::Efficiency];

    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Isc => "isc",
            Self::Voc => "voc",
            Self::Pmax => "pmax",
            Self::VPmax => "v_pmax",
            Self::IPmax => "i_pmax",
            Self::Ff => "ff",
            Self::Jsc => "jsc",
            Self::Efficiency => "efficiency",
        }
    }

    /// The symbol of the trade.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Isc => "Isc",
            Self::Voc => "Voc",
            Self::Pmax => "Pmax",
            Self::VPmax => "V_Pmax",
            Self::IPmax => "I_Pmax",
            Self::Ff => "FF",
            Self::Jsc => "Jsc",
            Self::Efficiency => "η",
        }
    }

    /// The unit of its estimates.
    pub const fn unit(self) -> Unit {
        match self {
            Self::Isc | Self::IPmax => Unit::Ampere,
            Self::Voc | Self::VPmax => Unit::Volt,
            Self::Pmax => Unit::Watt,
            Self::Ff | Self::Efficiency => Unit::One,
            Self::Jsc => Unit::AmperePerCm2,
        }
    }
}

impl fmt::Display for KeyPoint {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for KeyPoint {
    type Err = UnknownName;

    fn from_str(name: &str) -> Result<Self, UnknownName> {
        named(name, "key point", &Self::ALL, Self::name)
    }
}
