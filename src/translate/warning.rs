//! What must be known before translated points are believed: one variant a cause, with its numbers;
//! [`Display`](fmt::Display) makes the sentence.

use crate::numerics::serde_float::shown;
use crate::quantity::estimate::Name;
use crate::quantity::format::as_given;
use std::fmt;

/// Which end of a translation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum End {
    /// The sweep that it starts from.
    Sweep,
    /// The condition that it leads to.
    Target,
}

impl End {
    /// The name in messages.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sweep => "sweep",
            Self::Target => "target",
        }
    }
}

/// A warning with a [`Translated`](super::Translated) sweep. Its number for hosts is
/// [`Coded::code`](crate::code::Coded::code).
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Warning {
    /// An irradiance beyond those in which the parameters were found.
    IrradianceOutside {
        /// Whose irradiance.
        end: End,
        /// The irradiance in W/m².
        irradiance_w_m2: f64,
        /// Lowest and highest in W/m².
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
        range_w_m2: (f64, f64),
    },
    /// A temperature beyond those in which the parameters were found.
    TemperatureOutside {
        /// Whose temperature.
        end: End,
        /// The temperature in °C.
        temperature_c: f64,
        /// Lowest and highest in °C.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::pair"))]
        range_c: (f64, f64),
    },
    /// An input whose uncertainty is unknown.
    NoUncertainty {
        /// The parameter, the irradiance or the key point.
        input: Name,
    },
    /// The sweep gives no Isc, through which the uncertainty of its irradiance goes.
    NoIsc {
        /// Why it gives none.
        why: String,
    },
    /// The Isc of the sweep, through which the uncertainty of its irradiance goes, is not above 0.
    IscNotPositive {
        /// Isc in A.
        isc_a: f64,
    },
    /// Procedure 3 beyond its two sweeps.
    Extrapolated {
        /// The share of the way from the first to the second.
        c: f64,
    },
    /// Points of procedure 3 without a partner.
    Unpaired {
        /// How many.
        unpaired: usize,
        /// Of so many.
        points: usize,
    },
    /// Two sweeps of procedure 3 at one irradiance.
    SameIrradiance {
        /// The irradiance in W/m².
        irradiance_w_m2: f64,
    },
}

const FOUND: &str = "where the parameters were found";
const THROUGH_ISC: &str = "the ± leaves out the irradiance's, which goes through Isc";

impl fmt::Display for Warning {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::IrradianceOutside { end, irradiance_w_m2: value, range_w_m2: (low, high) } => write!(
                f,
                "the {}'s irradiance of {} W/m² lies outside {} to {} W/m², {FOUND}",
                end.name(),
                as_given(*value),
                as_given(*low),
                as_given(*high)
            ),
            Self::TemperatureOutside { end, temperature_c: value, range_c: (low, high) } => write!(
                f,
                "the {}'s temperature of {} °C lies outside {} to {} °C, {FOUND}",
                end.name(),
                as_given(*value),
                as_given(*low),
                as_given(*high)
            ),
            Self::NoUncertainty { input } => write!(f, "{input} has no uncertainty: the ± leaves it out"),
            Self::NoIsc { why } => write!(f, "{THROUGH_ISC}, and the sweep gives none: {why}"),
            Self::IscNotPositive { isc_a } => write!(
                f,
                "{THROUGH_ISC}, and the sweep has isc = {}: its device is not under light in generator sign",
                shown(isc_a)
            ),
            Self::Extrapolated { c } => {
                write!(f, "c = {c} extrapolates: between 0 and 1 the result lies between the sweeps")
            }
            Self::Unpaired { unpaired, points } => write!(
                f,
                "{unpaired} of {points} points have no partner within the other sweep and are left out"
            ),
            Self::SameIrradiance { .. } => f.write_str(
                "both sweeps have the same irradiance: what its uncertainty does is not known from them",
            ),
        }
    }
}

#[cfg(all(test, feature = "serde"))]
mod tests {
    use super::*;

    /// Parameters may hold without a limit on one side.
    #[test]
    fn an_open_range_comes_back_from_plain_data() {
        let range_c = (f64::NEG_INFINITY, 60.0);
        let warning = Warning::TemperatureOutside { end: End::Target, temperature_c: 65.0, range_c };
        let text = serde_json::to_string(&warning).unwrap();
        assert_eq!(serde_json::from_str::<Warning>(&text).unwrap(), warning);
        assert!(serde_json::from_str::<Warning>(&text.replace("Temperature", "Pressure")).is_err());
    }
}
