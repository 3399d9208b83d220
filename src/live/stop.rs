//! Why a live sweep asks for no further set point.

use crate::quantity::estimate::Amount;
use crate::quantity::format::{percent, quantity};
use crate::quantity::key_points::KeyPoint;
use thiserror::Error;

/// Why no further set point is given, with the numbers that it rests on.
#[derive(Clone, Debug, PartialEq, Error)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum StopReason {
    /// The target is known as well as was wanted.
    #[error(
        "{} is known to {} % of its value after {points} readings, {} % was wanted",
        figure.symbol(), percent(*relative_u), percent(*wanted)
    )]
    Reached {
        /// The target.
        figure: KeyPoint,
        /// Its relative standard uncertainty.
        relative_u: f64,
        /// What was wanted.
        wanted: f64,
        /// Readings taken.
        points: usize,
    },
    /// Gains and offsets alone leave the target less well known than was wanted.
    #[error(
        "{}: gains and offsets of the instrument, the same for all readings, leave {} % of its value, {} % was wanted; \
         further readings do not help, calibrate the instrument",
        figure.symbol(), percent(*common), percent(*wanted)
    )]
    CommonToAll {
        /// The target.
        figure: KeyPoint,
        /// Its relative standard uncertainty from what is common to all readings.
        common: f64,
        /// What was wanted.
        wanted: f64,
    },
    /// As many readings as there is room for.
    #[error("all {points} readings are taken{}{}", known(*figure, *relative_u, *wanted), unsuited(*suits))]
    PointsUsedUp {
        /// Readings taken.
        points: usize,
        /// The target.
        figure: KeyPoint,
        /// Its relative standard uncertainty, where it has one.
        relative_u: Option<f64>,
        /// What was wanted.
        wanted: f64,
        /// Whether one diode describes the readings.
        suits: bool,
    },
    /// The time that the sweep may take.
    #[error(
        "the time is used up: {} since the first reading, {} were allowed{}",
        quantity(*time_s, "s"), quantity(*limit_s, "s"), known(*figure, *relative_u, *wanted)
    )]
    TimeUsedUp {
        /// Time since the first reading in s.
        time_s: f64,
        /// What it may take in s.
        limit_s: f64,
        /// The target.
        figure: KeyPoint,
        /// Its relative standard uncertainty, where it has one.
        relative_u: Option<f64>,
        /// What was wanted.
        wanted: f64,
    },
    /// No reading delivers power.
    #[error(
        "none of {points} readings shows power above its scatter: a dark, shorted or open device, swapped leads or the other \
         sign; look at contacts and light, and at sign and leads"
    )]
    NoPower {
        /// Readings taken.
        points: usize,
    },
    /// A limit lies before the axis where a figure is.
    #[error(
        "{}: {}",
        figure.symbol(), ended(at, *walled_off)
    )]
    LimitReached {
        /// Isc or Voc.
        figure: KeyPoint,
        /// The set point that is the last on that way.
        at: Amount,
        /// Whether readings outside the limits or off their set point ended it, rather than the limit itself.
        walled_off: bool,
    },
    /// The readings lie at the limits or beyond them.
    #[error(
        "{times} readings in a row lay at a limit or beyond it; look at light and compliance, at their sign, their unit (V and A, \
         not mV and mA) and the order of the arguments, at the leads, and at the limits themselves"
    )]
    BeyondLimits {
        /// Readings in a row.
        times: usize,
    },
    /// The readings do not go where they are set.
    #[error(
        "{times} readings in a row did not follow the set point, the last read {read} in place of {set}; look at range and \
         compliance of the source, and at its connection"
    )]
    NotFollowed {
        /// What was set.
        set: Amount,
        /// What was read in its place.
        read: Amount,
        /// Readings in a row.
        times: usize,
    },
    /// The instrument gives no numbers.
    #[error("{times} readings in a row were no numbers; look at the instrument and its connection")]
    NoNumbers {
        /// Readings in a row.
        times: usize,
    },
    /// The work of this thread was asked to stop.
    #[error("the work was stopped by its token or its deadline; ask again to go on")]
    Cancelled,
}

impl StopReason {
    /// The word of the public surface.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Reached { .. } => "reached",
            Self::CommonToAll { .. } => "common_to_all",
            Self::PointsUsedUp { .. } => "points_used_up",
            Self::TimeUsedUp { .. } => "time_used_up",
            Self::NoPower { .. } => "no_power",
            Self::LimitReached { .. } => "limit_reached",
            Self::BeyondLimits { .. } => "beyond_limits",
            Self::NotFollowed { .. } => "not_followed",
            Self::NoNumbers { .. } => "no_numbers",
            Self::Cancelled => "cancelled",
        }
    }

    /// Whether the target was reached.
    pub fn is_reached(&self) -> bool {
        matches!(self, Self::Reached { .. })
    }
}

/// Relative standard uncertainty from which a figure counts as not determined.
const NOT_DETERMINED: f64 = 1.0;

fn known(figure: KeyPoint, relative_u: Option<f64>, wanted: f64) -> String {
    let symbol = figure.symbol();
    match relative_u {
        Some(u) if u < NOT_DETERMINED => {
            format!("; {symbol} is known to {} % of its value, {} % was wanted", percent(u), percent(wanted))
        }
        _ => format!("; {symbol} is not determined yet, {} % of its value was wanted", percent(wanted)),
    }
}

fn ended(at: &Amount, walled_off: bool) -> String {
    if walled_off {
        return format!(
            "two readings outside the limits, or off their set point, end the way to it at {at}; look at the flags, at range \
             and compliance of the source and at its connection, and at the limits"
        );
    }
    format!("the limits end the way to it at {at}; widen them if the device and the rig stand it")
}

fn unsuited(suits: bool) -> &'static str {
    if suits {
        return "";
    }
    "; one diode does not describe the readings, so that the widest gaps were halved: look at the stated noise and the number \
     of cells (cells), or the device is of another kind"
}
