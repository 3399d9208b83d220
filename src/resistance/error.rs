//! Why a resistance cannot be had from the data at hand.

use crate::numerics::serde_float::shown;
use crate::quantity::reason::Reason;
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
    #[error(
        "{given} readings {region} are too few or too close together, {needed} that lie apart are needed: measure more of them"
    )]
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
        why: Reason,
    },
    /// A dark sweep that ends below the current that the junction carries at the maximum power of the lit one.
    #[error(
        "the dark voltage at Isc − I_Pmax is needed and absent: the dark sweep reaches {}, and Isc − I_Pmax is {}",
        crate::quantity::format::quantity(*far_a, "A"),
        crate::quantity::format::quantity(*target_a, "A")
    )]
    DarkTooShort {
        /// The largest dark current in A.
        far_a: f64,
        /// Isc − I_Pmax in A.
        target_a: f64,
    },
    /// Readings that do not reach V = 0.
    #[error(
        "V = 0 is needed and absent: the readings from {} do not reach it: measure across 0 V",
        crate::quantity::format::span(*low_v, *high_v, "V")
    )]
    ZeroNotReached {
        /// Lowest voltage in V.
        low_v: f64,
        /// Highest voltage in V.
        high_v: f64,
    },
    /// An irradiance without an implied voltage.
    #[error(
        "the implied voltage is needed and absent: {suns:.4} lies outside the irradiances {low_suns:.4} to {high_suns:.4}: measure the voltage at open circuit there as well"
    )]
    OutsideIrradiances {
        /// As asked.
        suns: f64,
        /// The lowest there is.
        low_suns: f64,
        /// The highest.
        high_suns: f64,
    },
    /// Irradiances of implied voltages that all lie at 1 or above.
    #[error(
        "the pseudo maximum power is needed and absent: the irradiances do not reach below 1: measure at lower ones"
    )]
    NoLowerIrradiance,
    /// A pseudo maximum power at the lowest irradiance.
    #[error(
        "the pseudo maximum power is needed and absent: it lies at the lowest irradiance: measure at lower ones"
    )]
    MaximumAtLowest,
    /// Implied voltages that deliver no power.
    #[error("the pseudo maximum power is needed and absent: the voltages are not above 0")]
    NoPseudoPower,
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

/// As plain data it is its text.
#[cfg(feature = "serde")]
impl serde::Serialize for ResistanceError {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}
