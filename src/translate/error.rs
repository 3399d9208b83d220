//! What can stand in the way of a translation; every message says what to do.

use crate::numerics::serde_float::shown;
use crate::quantity::estimate::Unit;
use crate::sweep::SweepError;
use thiserror::Error;

/// A translation, or an estimate for one, that is not possible.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum TranslateError {
    /// A sweep that does not say under which light it was measured.
    #[error("sweep {index} has no irradiance; pass irradiance_w_m2 when the sweep is made")]
    NoIrradiance {
        /// The sweep, 0 for the first.
        index: usize,
    },
    /// A number outside its domain.
    #[error("{name} = {} is not allowed; {cure}", shown(value))]
    Number {
        /// The argument.
        name: &'static str,
        /// Its value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// A parameter in another unit.
    #[error("{name} is given in {}, and {} is needed: convert it", unit(.given), unit(.wanted))]
    Unit {
        /// The parameter.
        name: &'static str,
        /// Its unit.
        given: Unit,
        /// The unit of the procedure.
        wanted: Unit,
    },
    /// A figure that the procedure needs and a sweep does not give.
    #[error("sweep {index} gives no {figure}, which is needed here: {why}")]
    KeyPoint {
        /// The sweep, 0 for the first.
        index: usize,
        /// The figure.
        figure: &'static str,
        /// Why it is absent.
        why: String,
    },
    /// A sweep whose figure is not above zero.
    #[error(
        "sweep {index} has {figure} = {}; a translation needs a device under light in generator sign",
        shown(value)
    )]
    NotLit {
        /// The sweep, 0 for the first.
        index: usize,
        /// The figure.
        figure: &'static str,
        /// Its value.
        value: f64,
    },
    /// A set without enough different conditions; irradiances count as different from 2 % on, temperatures from 1 K.
    #[error(
        "the set holds {given} clearly different {what}, and at least {needed} are needed; measure at more"
    )]
    TooFew {
        /// Irradiances, temperatures or points.
        what: &'static str,
        /// Found.
        given: usize,
        /// Needed.
        needed: usize,
    },
    /// A set in which something varies that must be constant.
    #[error(
        "{what} runs from {} to {} within the set, allowed is a span of {allowed}: leave out what differs",
        shown(low),
        shown(high)
    )]
    Mixed {
        /// What varies.
        what: &'static str,
        /// The lowest.
        low: f64,
        /// The highest.
        high: f64,
        /// The span allowed.
        allowed: f64,
    },
    /// Arguments of different lengths.
    #[error("x has {x} values and {name} has {given}; pass one for each x")]
    Lengths {
        /// The argument.
        name: &'static str,
        /// Number of x.
        x: usize,
        /// Its length.
        given: usize,
    },
    /// A current that a sweep does not carry.
    #[error(
        "sweep {index} has no reading about {}, where the sweeps are compared: sweep it from below 0 V to beyond Voc",
        crate::quantity::format::quantity(*current_a, "A")
    )]
    NotReached {
        /// The sweep, 0 for the first.
        index: usize,
        /// The current in A.
        current_a: f64,
    },
    /// Two sweeps of which too few points make pairs.
    #[error(
        "{given} of {points} points have a partner with I2 − I1 = {}, {needed} are needed; sweep both from below 0 V to beyond Voc, with more points",
        crate::quantity::format::quantity(*shift_a, "A")
    )]
    Unpaired {
        /// Pairs found.
        given: usize,
        /// Points of the first sweep.
        points: usize,
        /// Fewest pairs.
        needed: usize,
        /// Isc2 − Isc1 in A.
        shift_a: f64,
    },
    /// A sweep without a smooth curve, on which partners are found.
    #[error("sweep {index} has no smooth curve to find partners on: {why}")]
    NoSmooth {
        /// The sweep, 0 for the first.
        index: usize,
        /// Why.
        why: String,
    },
    /// The translated points make no sweep.
    #[error("the translated points make no sweep: {0}")]
    Sweep(#[from] SweepError),
}

fn unit(unit: &Unit) -> &'static str {
    if *unit == Unit::One { "a pure number" } else { unit.symbol() }
}
