//! What speaks against the assumptions of a method on the data: one variant a cause, with its numbers;
//! [`Display`](fmt::Display) makes the sentence.

use super::quantity::Quantity;
use crate::fit::{Note, Status};
use crate::quantity::format::{quantity, sentences};
use std::fmt;

/// A doubt about a [`Resistance`](super::Resistance). Its number for hosts is
/// [`Coded::code`](crate::code::Coded::code).
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Doubt {
    /// The fit of the curve that truncation is judged by did not converge.
    NoStandIn,
    /// The fitted diode does not follow the readings.
    LackOfFit {
        /// What its residuals say.
        note: Note,
    },
    /// The fit that gives the resistance does not determine it.
    FitEnded {
        /// How it ended.
        status: Status,
        /// Its notes.
        notes: Vec<Note>,
    },
    /// On the fitted diode curve the method is off by more than half its scatter: a resistance in Ω, a shunt as its
    /// conductance in S.
    Truncation {
        /// Series or shunt.
        quantity: Quantity,
        /// By how much it is off.
        bias: f64,
        /// Standard deviation from the scatter of the readings.
        scatter: f64,
    },
    /// A series resistance below 0 by more than chance.
    Negative {
        /// What came out, in Ω.
        rs_ohm: f64,
    },
    /// The slope at Voc with the diode's own n·VT/Isc in it.
    DiodeSlope {
        /// That part in Ω.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        excess_ohm: f64,
    },
    /// A curvature of the readings below 0 V.
    BentReverse {
        /// In standard deviations.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        significance: f64,
    },
    /// A term in (ln I)² of a dark curve.
    BentLogarithm {
        /// In standard deviations.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        significance: f64,
    },
    /// Readings off V = c + a·ln I + Rs·I.
    OffCheung {
        /// √(χ²/ν) about it.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        ratio: f64,
    },
    /// A distance of the curves that changes along them.
    ChangingDistance {
        /// In standard deviations.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        significance: f64,
    },
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::NoStandIn => f.write_str("the diode fit that truncation is judged by did not converge"),
            Self::LackOfFit { note } => note.fmt(f),
            Self::FitEnded { status, notes } => {
                write!(f, "the fit ended as {}: {}", status.name(), sentences(notes))
            }
            Self::Truncation { quantity: of, bias, scatter } => {
                let unit = if *of == Quantity::Series { "Ω" } else { "S" };
                write!(
                    f,
                    "on the fitted diode curve the method is off by {}, more than half its scatter of {}",
                    quantity(*bias, unit),
                    quantity(*scatter, unit)
                )
            }
            Self::Negative { .. } => {
                f.write_str("it comes out below 0: the curve does not have the shape that the method assumes")
            }
            Self::DiodeSlope { excess_ohm } => write!(
                f,
                "the slope holds the diode's own n·VT/Isc, about {}; pass n to remove it",
                quantity(*excess_ohm, "Ω")
            ),
            Self::BentReverse { significance } => write!(
                f,
                "the readings below 0 V bend by {significance:.1} standard deviations: no ohmic current"
            ),
            Self::BentLogarithm { significance } => write!(
                f,
                "V bends against ln I by {significance:.1} standard deviations: more than one diode, or a shunt"
            ),
            Self::OffCheung { ratio } => {
                write!(f, "the readings lie {ratio:.1} times their scatter off V = c + a·ln I + Rs·I")
            }
            Self::ChangingDistance { significance } => write!(
                f,
                "the distance of the curves changes along them by {significance:.1} standard deviations: no single Rs"
            ),
        }
    }
}
