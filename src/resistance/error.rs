//! Why a resistance cannot be had from the data at hand.

use crate::numerics::serde_float::shown;
use thiserror::Error;

/// A resistance that the data do not give; the message says what would.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ResistanceError {
    /// A token in force ([`crate::cancel`]) asked for it.
    #[error("the work was stopped before its end")]
    Stopped,
    /// Readings that are no curve.
    #[error("the readings are no curve: at least two different finite voltages and a current are needed")]
    NoCurve,
    /// Too few readings in the region that the estimator uses.
    #[error("{given} readings {region} are too few, {needed} are needed: measure more of them")]
    TooFewPoints {
        /// The region, for instance "below 0 V".
        region: &'static str,
        /// Readings there.
        given: usize,
        /// Fewest that work.
        needed: usize,
    },
    /// A key point that the sweep does not give.
    #[error("{figure} is needed and absent: {why}")]
    NoKeyPoint {
        /// The key point.
        figure: &'static str,
        /// Why the sweep does not give it.
        why: String,
    },
    /// Sweeps that should differ in irradiance and do not.
    #[error(
        "the short-circuit currents {} and {} do not differ by more than 5 % and four standard uncertainties; change the irradiance by a third or more",
        crate::quantity::format::quantity(*first_a, "A"),
        crate::quantity::format::quantity(*second_a, "A")
    )]
    SameLight {
        /// Isc of one sweep in A.
        first_a: f64,
        /// Isc of the other in A.
        second_a: f64,
    },
    /// An argument outside its domain.
    #[error("{name}[{index}] = {} is not allowed; {cure}", shown(value))]
    Argument {
        /// The argument.
        name: &'static str,
        /// Position in it.
        index: usize,
        /// The value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// Arguments of different lengths.
    #[error("voltage_v has {voltage} values and suns {suns}; pass one for each")]
    Lengths {
        /// Number of voltages.
        voltage: usize,
        /// Number of irradiances.
        suns: usize,
    },
    /// A regression that the readings do not determine.
    #[error("the readings do not determine the regression: spread them over more different {axis}")]
    Undetermined {
        /// What should vary more.
        axis: &'static str,
    },
    /// Data that were not passed.
    #[error("{what} is needed; pass it")]
    Missing {
        /// The data.
        what: &'static str,
    },
    /// A diode fit that cannot be made.
    #[error(transparent)]
    Fit(#[from] crate::fit::FitError),
}
