//! Where the assumptions of a closed form do not hold: one variant a cause, with its numbers;
//! [`Display`](fmt::Display) makes the sentence.

use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use std::fmt;

/// A reservation on a [`ClosedForm`](super::ClosedForm). Its number for hosts is
/// [`Coded::code`](crate::code::Coded::code).
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Reservation {
    /// Rs came out below 0 and is taken as 0.
    NegativeRs {
        /// What came out, in Ω.
        rs_ohm: f64,
    },
    /// A second circuit with the same figures.
    SecondCircuit {
        /// Its series resistance in Ω.
        rs_ohm: f64,
        /// Its shunt resistance in Ω.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        rsh_ohm: f64,
    },
    /// No shunt puts the maximum where it was given.
    NoShunt,
    /// A figure of the found curve that is not the given one.
    FigureOff {
        /// The figure.
        figure: KeyPoint,
        /// Its deviation as a share of the one given.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        share: f64,
    },
    /// −dV/dI at an end of the found curve that is not the given one.
    SlopeOff {
        /// Isc or Voc.
        end: KeyPoint,
        /// Its deviation as a share of the one given.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        share: f64,
    },
}

impl fmt::Display for Reservation {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::NegativeRs { rs_ohm } => write!(
                f,
                "Rs = {} came out negative and is taken as 0: the slope at Voc is too small",
                quantity(*rs_ohm, "Ω")
            ),
            Self::SecondCircuit { rs_ohm, rsh_ohm } => write!(
                f,
                "another circuit has the same figures: Rs = {}, Rsh = {}",
                quantity(*rs_ohm, "Ω"),
                quantity(*rsh_ohm, "Ω")
            ),
            Self::NoShunt => f.write_str(
                "no shunt resistance fits this n: the curve passes the three points, but its maximum lies elsewhere",
            ),
            Self::FigureOff { figure, share } => {
                write!(f, "{} of the found curve is {} off the one given", figure.symbol(), signed(*share))
            }
            Self::SlopeOff { end, share } => {
                let end = if *end == KeyPoint::Voc { "Voc" } else { "Isc" };
                write!(
                    f,
                    "−dV/dI of the found curve at {end} is {} off the one given",
                    signed(*share)
                )
            }
        }
    }
}

/// A share in % with its sign.
fn signed(share: f64) -> String {
    format!("{:+.1} %", 100.0 * share).replace('-', "−")
}

#[cfg(all(test, feature = "serde"))]
mod tests {
    use super::*;

    /// A figure that the found curve does not have is infinitely far off, and a circuit may have no shunt.
    #[test]
    fn infinite_numbers_come_back_from_plain_data() {
        for reservation in [
            Reservation::FigureOff { figure: KeyPoint::VPmax, share: f64::INFINITY },
            Reservation::SecondCircuit { rs_ohm: 0.5, rsh_ohm: f64::INFINITY },
        ] {
            let text = serde_json::to_string(&reservation).unwrap();
            assert_eq!(serde_json::from_str::<Reservation>(&text).unwrap(), reservation, "{text}");
        }
    }
}
