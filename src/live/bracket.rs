//! The first set points: from a safe value, short or open circuit, until the curve is bracketed.
//!
//! A set voltage begins at V = 0, which shows Isc, and rises until the current is no longer positive. A set current begins at
//! I = 0, which shows Voc, and rises until half of the voltage is left. Each step goes as far as [`Reach`] allows.

use super::reach::Reach;
use super::stop::StopReason;
use crate::quantity::key_points::KeyPoint;
use crate::sweep::Swept;

/// Readings without power after which none is expected.
const MOST_DARK: usize = 6;
/// Readings outside the limits at the first set point after which the sweep ends.
const MOST_AT_REST: usize = 2;
/// Readings of a bracket.
const MOST: usize = 60;
/// Share of Voc at which a set current has gone far enough for a fit.
const FAR: f64 = 0.5;

/// What the bracket asks for.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Step {
    /// The next set point.
    Ask(f64),
    /// The curve is bracketed.
    Done,
    /// The set point `set`, in generator sign, is the last on the way to a figure that lies beyond.
    Limit { figure: KeyPoint, set: f64 },
    /// It cannot be.
    Stop(StopReason),
}

/// The next step after so many readings.
pub(super) fn step(reach: &Reach, swept: Swept, target: KeyPoint, readings: usize) -> Step {
    let Some((low, high)) = reach.ends() else {
        // A second reading outside the limits confirms the first: nothing is safe.
        return if readings < MOST_AT_REST {
            Step::Ask(reach.held(0.0))
        } else {
            Step::Stop(StopReason::BeyondLimits { times: readings })
        };
    };
    let shows = reach.largest_read() > reach.deceit();
    if !shows && (readings >= MOST_DARK || low.read < -reach.deceit()) {
        return Step::Stop(StopReason::NoPower { points: readings });
    }
    let (over, figure) = match swept {
        Swept::Voltage => (high.read <= 0.0, KeyPoint::Voc),
        Swept::Current => (high.read <= FAR * reach.largest_read(), KeyPoint::Isc),
    };
    if shows && over && high.set > 0.0 || readings >= MOST {
        return Step::Done;
    }
    match reach.upwards() {
        Some(next) => Step::Ask(next),
        None if !shows || high.set <= 0.0 => Step::Stop(StopReason::NoPower { points: readings }),
        None if target == figure || target == KeyPoint::Ff => Step::Limit { figure, set: high.set },
        None => Step::Done,
    }
}
