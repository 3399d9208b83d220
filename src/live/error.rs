//! What a host may not pass; every message names the argument, the index, the value and the cure.

use crate::numerics::serde_float::shown;
use crate::quantity::key_points::KeyPoint;
use crate::sweep::SweepError;
use thiserror::Error;

/// Why a live sweep, or a reading of it, is refused. Nothing in it is on the heap where a reading is refused.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum LiveError {
    /// An option outside its domain.
    #[error("{name} = {} is not allowed; {cure}", shown(value))]
    Option {
        /// The option.
        name: &'static str,
        /// The value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// Limits that hold no set point.
    #[error(
        "{name} = {} to {} holds no value to begin at; give the lower limit first, and limits that hold 0",
        shown(low),
        shown(high)
    )]
    Limits {
        /// The option.
        name: &'static str,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// A figure that a live sweep does not plan for.
    #[error("target = {} is no figure of the curve itself; take isc, voc, pmax, v_pmax, i_pmax or ff", figure.name())]
    Target {
        /// The figure.
        figure: KeyPoint,
    },
    /// Readings of another quantity than current and voltage, or one list for readings not yet taken.
    #[error("{name} cannot be stated before the readings are there; {cure}")]
    BeforeReadings {
        /// The option.
        name: &'static str,
        /// What to do.
        cure: &'static str,
    },
    /// A reading that is not a finite number, or the mark of an overflow.
    #[error(
        "{name} = {value} of reading {index} is no reading; ask for the next set point and read again, it will be the same one"
    )]
    NotFinite {
        /// The argument.
        name: &'static str,
        /// The reading that it would have been.
        index: usize,
        /// The value.
        value: f64,
    },
    /// A time before that of the reading before.
    #[error(
        "time_s = {value} of reading {index} lies before the {before} of the reading before; pass rising times in seconds"
    )]
    Time {
        /// The reading that it would have been.
        index: usize,
        /// The time.
        value: f64,
        /// That of the reading before.
        before: f64,
    },
    /// The room made at the start is used up.
    #[error(
        "capacity = {capacity} readings are taken; begin another live sweep, or one with a larger capacity"
    )]
    Full {
        /// How many there is room for.
        capacity: usize,
    },
    /// The sweep of the readings so far is refused.
    #[error(transparent)]
    Sweep(#[from] SweepError),
    /// The fit of the readings so far is refused.
    #[error(transparent)]
    Fit(#[from] crate::fit::FitError),
}
