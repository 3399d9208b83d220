//! Which of the two resistances.

use std::fmt;

/// Which resistance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Quantity {
    /// Rs.
    Series,
    /// Rsh.
    Shunt,
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(if *self == Self::Series { "series" } else { "shunt" })
    }
}
