//! What can be wrong with a simulated instrument.

use crate::numerics::serde_float::shown;
use crate::sweep::SweepError;
use thiserror::Error;

/// An instrument that cannot be simulated.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum SimulationError {
    /// A property outside its domain.
    #[error("{name} = {} is not allowed; {cure}", shown(value))]
    Property {
        /// The property.
        name: &'static str,
        /// The value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// A set point that the device cannot be brought to.
    #[error(
        "no finite reading at set point {index} ({}); keep the range where the device has one",
        shown(value)
    )]
    Unreachable {
        /// The set point.
        index: usize,
        /// Its value in V or A.
        value: f64,
    },
    /// The readings make no sweep.
    #[error(transparent)]
    Sweep(#[from] SweepError),
}
