//! What can be wrong with a plan that is asked for.

use crate::numerics::serde_float::shown;
use crate::quantity::format::quantity;
use crate::sweep::SweepError;
use thiserror::Error;

/// A plan that cannot be made.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum PlanError {
    /// No expected device.
    #[error("expected is empty: pass at least one device")]
    NoDevice,
    /// Nothing says how the readings will scatter.
    #[error(
        "noise is not stated: pass the scatter of the instrument, such as that of the current in A; without it no uncertainty can be planned"
    )]
    NoNoise,
    /// A noise that no instrument has.
    #[error(transparent)]
    Noise(#[from] SweepError),
    /// An option outside its domain.
    #[error("{name} = {} is not allowed; {cure}", shown(value))]
    Option {
        /// The option.
        name: &'static str,
        /// What was given.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// Too few or too many points.
    #[error("points = {given} is not allowed; give {fewest} to {most}")]
    Points {
        /// What was given.
        given: usize,
        /// The fewest.
        fewest: usize,
        /// The most.
        most: usize,
    },
    /// A name that is no parameter of the model.
    #[error("fix: {name} is no parameter of the expected model; name some of {known}")]
    UnknownName {
        /// The name.
        name: &'static str,
        /// Those that there are.
        known: String,
    },
    /// All parameters are held.
    #[error("fix holds every parameter: leave at least one of them free")]
    NothingFree,
    /// The expected device does not have the figure.
    #[error(
        "target: expected[{index}] has no {target} with an uncertainty; give another target or another device"
    )]
    NoTarget {
        /// The device.
        index: usize,
        /// The target.
        target: &'static str,
    },
    /// A key point of area or irradiance.
    #[error("target: {target} is in proportion to {instead}; give {instead}")]
    Proportional {
        /// The target.
        target: &'static str,
        /// What it hangs on.
        instead: &'static str,
    },
    /// The method without a model gives key points alone.
    #[error(
        "target: {target} is a parameter, which the method without a model does not give; pass a key point"
    )]
    NoParameter {
        /// The target.
        target: &'static str,
    },
    /// A dark device has no range of its own.
    #[error("expected[{index}] is dark: pass limits of the quantity that is set")]
    NoRange {
        /// The device.
        index: usize,
    },
    /// Nothing lies within the limits.
    #[error(
        "limits leave {different} different set points of expected[0], fewer than the {needed} that are needed; check them and the step"
    )]
    NoRoom {
        /// Different set points that are allowed.
        different: usize,
        /// How many are needed.
        needed: usize,
    },
    /// No plan determines the target.
    #[error("target: no plan within the limits determines {target} of expected[{index}]; {cure}")]
    NotDetermined {
        /// The target.
        target: &'static str,
        /// The device.
        index: usize,
        /// What to pass.
        cure: &'static str,
    },
    /// One device of a list would be driven too far for another.
    #[error(
        "target: no plan for the list determines {target} of expected[{index}]: its sweep would take expected[{other}] to {} and \
         {}, further than that stands; plan them apart",
        quantity(*voltage_v, "V"),
        quantity(*current_a, "A")
    )]
    Apart {
        /// The target.
        target: &'static str,
        /// The device that is not served.
        index: usize,
        /// The device that is spared.
        other: usize,
        /// Voltage of that in V at the end of the sweep of the first.
        voltage_v: f64,
        /// Its current in A.
        current_a: f64,
    },
    /// The work was stopped before its end.
    #[error("the plan was stopped before its end")]
    Stopped,
}
