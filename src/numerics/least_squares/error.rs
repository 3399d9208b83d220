//! What can be wrong with a least-squares problem.

use crate::numerics::serde_float::shown;
use thiserror::Error;

/// Numbers of which no least-squares problem can be made.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ProblemError {
    /// Nothing to work on.
    #[error("{what} is empty; give at least one number")]
    Empty {
        /// The list.
        what: &'static str,
    },
    /// Lists that belong together have different lengths.
    #[error("{what} has {has} entries where {wanted} are needed; give one an entry of the others")]
    Length {
        /// The list.
        what: &'static str,
        /// Its length.
        has: usize,
        /// The length of those that it belongs to.
        wanted: usize,
    },
    /// A number that the list may not hold.
    #[error("{what}[{index}] = {} is {wrong}; {cure}", shown(value))]
    Number {
        /// The list.
        what: &'static str,
        /// Position in it.
        index: usize,
        /// The number.
        value: f64,
        /// What is wrong with it.
        wrong: &'static str,
        /// What helps.
        cure: &'static str,
    },
    /// A lower bound above the upper one.
    #[error("low[{index}] = {} is above high[{index}] = {}; give low ≤ high", shown(low), shown(high))]
    Crossed {
        /// Position of the coordinate.
        index: usize,
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
}

/// Refuses a list that is not as long as those that it belongs to.
pub(crate) fn same_length(what: &'static str, has: usize, wanted: usize) -> Result<(), ProblemError> {
    if has == wanted { Ok(()) } else { Err(ProblemError::Length { what, has, wanted }) }
}

/// Refuses the first number of a list that is not `good`.
pub(crate) fn all_good(
    what: &'static str,
    list: &[f64],
    good: impl Fn(f64) -> bool,
    (wrong, cure): (&'static str, &'static str),
) -> Result<(), ProblemError> {
    match list.iter().position(|x| !good(*x)) {
        Some(index) => Err(ProblemError::Number { what, index, value: list[index], wrong, cure }),
        None => Ok(()),
    }
}
