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
    ReverseBias {
        /// The highest of them in A.
        highest_a: f64,
        /// Isc of the first expected device in A.
        isc_a: f64,
    },
    /// Without a model no device of a higher Isc is planned for.
    OneSided {
        /// The highest current in A that may be set.
        highest_a: f64,
    },
    /// The noise is what a fit found, from few readings.
    FewDegrees {
        /// Its degrees of freedom.
        dof: usize,
    },
    /// Limits reach further than the devices stand.
    Narrowed {
        /// Lowest set point that is allowed: voltage in V and current in A of the first device.
        from: (f64, f64),
        /// Highest.
        to: (f64, f64),
    },
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
            Self::ReverseBias { highest_a, isc_a } => write!(
                f,
                "currents are set up to {}, Isc is {}: a device of lower Isc is driven backwards by them, so set the voltage limit \
                 of the source first",
                quantity(*highest_a, "A"),
                quantity(*isc_a, "A")
            ),
            Self::OneSided { highest_a } => write!(
                f,
                "a device whose Isc is above {} is not read up to its Isc: where one may come, plan for that",
                quantity(*highest_a, "A")
            ),
            Self::FewDegrees { dof } => write!(
                f,
                "the noise is what the fit found from {dof} degrees of freedom: it, and every u here, is uncertain by about {:.0} %; \
                 state the noise of the instrument",
                100.0 / (2.0 * (*dof).max(1) as f64).sqrt()
            ),
            Self::Narrowed { from, to } => narrowed(f, *from, *to),
            Self::HighVoltage { voltage_v } => write!(
                f,
                "up to {}: above 60 V d.c. a string is dangerous to touch; open the circuit and cover it before the leads are moved",
                quantity(*voltage_v, "V")
            ),
        }
    }
}

/// From where to where set points are kept, (V, I) each.
fn narrowed(f: &mut fmt::Formatter, from: (f64, f64), to: (f64, f64)) -> fmt::Result {
    write!(
        f,
        "limits reach further than the device stands: set points are kept from {} and {} to {} and {}, which is −0.5·Voc, \
         1.1·Voc (more where the spread is) and 3·Isc into the device at most; check the unit of the limits",
        quantity(from.0, "V"),
        quantity(from.1, "A"),
        quantity(to.0, "V"),
        quantity(to.1, "A")
    )
}
