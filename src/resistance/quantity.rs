//! Which of the two resistances.

/// Which resistance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Quantity {
    /// Rs.
    Series,
    /// Rsh.
    Shunt,
}
