//! What can be wrong with a request for a fit. A fit that does not converge is not an error: it is a status.

use crate::numerics::serde_float::shown;
use thiserror::Error;

/// A fit that cannot be started.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum FitError {
    /// Fewer points than free parameters.
    #[error(
        "{points} points cannot determine {free} free parameters; measure more points or hold some of the parameters fixed"
    )]
    TooFewPoints {
        /// Points of the sweep.
        points: usize,
        /// Free parameters.
        free: usize,
    },
    /// A name in `fix`, `bounds` or `start` that is no parameter of the model.
    #[error("{option}: {name:?} is no parameter of this model; use one of {known}")]
    UnknownName {
        /// The option.
        option: &'static str,
        /// The name given.
        name: String,
        /// The names of the model.
        known: String,
    },
    /// A value in `fix`, `bounds` or `start` outside the domain.
    #[error(
        "{option}: {name} = {} is outside {} to {}; give an SI value inside",
        shown(value),
        shown(low),
        shown(high)
    )]
    OutOfDomain {
        /// The option.
        option: &'static str,
        /// The parameter.
        name: String,
        /// The value given.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// A lower bound above the upper one.
    #[error(
        "bounds: the lower bound {} of {name} is above the upper bound {}; exchange the two",
        shown(low),
        shown(high)
    )]
    CrossedBounds {
        /// The parameter.
        name: String,
        /// Lower bound.
        low: f64,
        /// Upper bound.
        high: f64,
    },
    /// Two diodes told apart by n1 ≤ n2, and no such pair within the bounds.
    #[error("n1 is above n2 in fix or bounds: the first diode is the one of smaller n; exchange the two")]
    Exchanged,
    /// The residual needs an uncertainty that the sweep does not state.
    #[error(
        "residual {residual} needs an uncertainty of {axis}; state it in the noise of the sweep, or leave residual to the \
         automatic choice"
    )]
    NoUncertainty {
        /// The residual asked for.
        residual: &'static str,
        /// The axis without an uncertainty.
        axis: &'static str,
    },
    /// A point without an uncertainty on any axis.
    #[error(
        "the noise model gives point {index} no uncertainty at all; add a floor, voltage_v or current_a, to the noise of the sweep"
    )]
    NoWeight {
        /// The point.
        index: usize,
    },
    /// Voltages that no exponential within the bounds can follow.
    #[error(
        "no curve within the bounds comes near these readings, with voltages up to {voltage_v} V, {cells} cell(s), \
         {temperature_c} °C: check that they are in V and not in mV, give cells, or change bounds, fix or start"
    )]
    OutOfReach {
        /// Largest |V| of the sweep.
        voltage_v: f64,
        /// Cells in series.
        cells: u32,
        /// Temperature in °C.
        temperature_c: f64,
    },
    /// A model parameter derived from the options lies outside the domain of the models.
    #[error(transparent)]
    Model(#[from] crate::diode::ModelError),
}
