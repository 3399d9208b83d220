//! What can be wrong with an interpolant; every message names the argument, the index, the value and the cure.

use crate::numerics::serde_float::shown;
use crate::quantity::format::significant;
use thiserror::Error;

/// An interpolant that cannot be built, or a place at which it gives nothing.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum InterpolantError {
    /// A token in force ([`crate::cancel`]) asked for it.
    #[error("the work was stopped before its end")]
    Stopped,
    /// Arguments of different lengths.
    #[error("{name} has {given} values where {needed} are needed; pass one for each voltage")]
    Lengths {
        /// The argument that differs.
        name: &'static str,
        /// The length it should have.
        needed: usize,
        /// Its length.
        given: usize,
    },
    /// A value that is not a finite number.
    #[error("{name}[{index}] = {value} is not a finite number; remove the point or repeat the reading")]
    NotFinite {
        /// The argument.
        name: &'static str,
        /// The position in it.
        index: usize,
        /// The value.
        value: f64,
    },
    /// Too few distinct voltages.
    #[error(
        "the points lie at {given} distinct voltage(s); at least {needed} are needed: measure more set points"
    )]
    TooFewVoltages {
        /// Distinct voltages needed.
        needed: usize,
        /// Distinct voltages given.
        given: usize,
    },
    /// Breaks that do not rise.
    #[error(
        "breaks_v[{index}] = {} does not lie above the break before it; pass rising breaks",
        shown(value)
    )]
    Breaks {
        /// The break.
        index: usize,
        /// Its voltage in V.
        value: f64,
    },
    /// A value outside its domain.
    #[error("{name}[{index}] = {} is not allowed; {cure}", shown(value))]
    Value {
        /// The argument.
        name: &'static str,
        /// The position in it; 0 for a single number.
        index: usize,
        /// The value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// A voltage outside the measured range.
    #[error(
        "voltage_v[{index}] = {} V lies outside the measured range {low_v} to {high_v} V; measure there, or set extrapolate to continue the end polynomial",
        shown(voltage_v)
    )]
    Outside {
        /// The position in the argument.
        index: usize,
        /// The voltage in V.
        voltage_v: f64,
        /// Lowest measured voltage in V.
        low_v: f64,
        /// Highest measured voltage in V.
        high_v: f64,
    },
    /// A current that the curve does not reach.
    #[error(
        "current_a[{index}] = {current_a} A is not reached: the curve runs from {low_a} to {high_a} A; measure further, or set extrapolate to continue the end polynomials"
    )]
    NotReached {
        /// The position in the argument.
        index: usize,
        /// The current in A.
        current_a: f64,
        /// Lowest current of the curve in A.
        low_a: f64,
        /// Highest current of the curve in A.
        high_a: f64,
    },
    /// A result beyond the range of a double.
    #[error(
        "{what} at {index} is beyond the range of a double; merge points that all but coincide, or choose other units"
    )]
    NotRepresentable {
        /// The quantity.
        what: &'static str,
        /// The piece, the point or the position in the argument.
        index: usize,
    },
    /// Readings that the curve takes up all but entirely.
    #[error(
        "{readings} readings on a curve of {} parameters show no scatter; state the noise, or measure more points",
        significant(*edf, 3)
    )]
    NoScatter {
        /// Number of readings.
        readings: usize,
        /// Parameters of the curve.
        edf: f64,
    },
    /// A penalty by the stated noise of a sweep that states none.
    #[error(
        "the penalty by the stated noise needs a scatter, and the sweep states none; pass its noise, current_a for instance, or choose the penalty by cross-validation"
    )]
    NoNoise,
    /// No penalty makes the misfit as small as the stated noise.
    #[error(
        "the readings miss every smooth curve by chi2 = {} where the stated noise lets expect {}; enlarge the noise, or choose the penalty by cross-validation",
        significant(*chi2, 3), significant(*expected, 3)
    )]
    NoPenalty {
        /// χ² of the least smooth curve tried.
        chi2: f64,
        /// Its expectation.
        expected: f64,
    },
}
