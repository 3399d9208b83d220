//! What must be known with a plan.

use crate::fit::Parameter;
use crate::quantity::format::quantity;
use std::fmt;

/// What must be known with a plan.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum PlanNote {
    /// A parameter of the expected device lies on its physical bound.
    OnBound {
        /// Rs at 0, or Rsh at infinity.
        parameter: Parameter,
    },
    /// Set points are read more than once.
    Repeated {
        /// Set points.
        points: usize,
        /// Different ones.
        different: usize,
    },
    /// The figures come without a model.
    WithoutModel,
    /// The plan serves a device that is off by as much.
    Spread {
        /// By what share.
        share: f64,
    },
    /// Currents are set near Isc.
    ReverseBias,
    /// Above what is safe to touch.
    HighVoltage {
        /// The highest voltage in V.
        voltage_v: f64,
    },
}

impl fmt::Display for PlanNote {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::OnBound { parameter } => write!(
                f,
                "{parameter} of the expected device lies on its bound: a fit may leave it to one side only, and the u of what \
                 hangs on it are upper values"
            ),
            Self::Repeated { points, different } => write!(
                f,
                "{points} readings at {different} different set points: read repeated ones apart in time, so that a drift shows"
            ),
            Self::WithoutModel => f.write_str(
                "u is what key points without a model state of exact readings of the expected device; that of noisy ones scatters \
                 about it"
            ),
            Self::Spread { share } => {
                write!(f, "made for devices that are off by up to {:.0} %", 100.0 * share)
            }
            Self::ReverseBias => f.write_str(
                "currents are set up to Isc: a device of lower Isc is driven backwards by them, so set the voltage limit of the \
                 source first"
            ),
            Self::HighVoltage { voltage_v } => write!(
                f,
                "up to {}: above 60 V d.c. a string is dangerous to touch; open the circuit and cover it before the leads are moved",
                quantity(*voltage_v, "V")
            ),
        }
    }
}
