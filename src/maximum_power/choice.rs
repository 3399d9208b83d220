//! What must be known with a maximum power, and why one of them is quoted.

use crate::fit::Note;
use crate::quantity::format::{quantity, sentences};
use std::fmt;

/// What must be known with a maximum power.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum PowerRemark {
    /// The highest of noisy samples, by how much is not known.
    BiasedUpwards,
    /// What the highest of noisy samples lies off on average.
    Bias {
        /// In W, above 0 where it lies above the maximum of the curve.
        bias_w: f64,
    },
    /// A smooth.
    FlattenedKnee,
    /// A curve that is held to a shape.
    OnlyConcave,
    /// A model that the readings contradict.
    LackOfFit(Vec<Note>),
}

impl fmt::Display for PowerRemark {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::BiasedUpwards => f.write_str("biased upwards"),
            Self::Bias { bias_w } => {
                let side = if *bias_w < 0.0 { "below" } else { "above" };
                let by = quantity(bias_w.abs(), "W");
                write!(f, "on average {by} {side} the maximum of the curve, for its scatter")
            }
            Self::FlattenedKnee => f.write_str("the penalty flattens the knee: ± does not hold that bias"),
            Self::OnlyConcave => f.write_str("right only for a falling, concave curve"),
            Self::LackOfFit(notes) => f.write_str(&sentences(notes)),
        }
    }
}

/// Why a maximum power is quoted, or why none is.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum PowerChoice {
    /// The guided curve gives none.
    None,
    /// The guided curve. How many times as precise another method is that agrees, where it is.
    GuidedCurve {
        /// The concave curve.
        concave_times: Option<f64>,
        /// The diode model, where the readings do not speak against it.
        model_times: Option<f64>,
    },
}

impl fmt::Display for PowerChoice {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Self::GuidedCurve { concave_times, model_times } = self else {
            return f.write_str("none: the guided curve gives no maximum with an uncertainty");
        };
        f.write_str("no model is needed, and its bias is below a quarter of its uncertainty")?;
        let others = [
            ("concave curve", concave_times, "if the curve is concave"),
            ("diode model", model_times, "if the device is a diode"),
        ];
        for (method, times, condition) in others {
            if let Some(times) = times {
                write!(f, "; the {method} agrees and is {times:.1} times as precise, {condition}")?;
            }
        }
        Ok(())
    }
}

/// As plain data both are their texts.
#[cfg(feature = "serde")]
mod serialization {
    use super::{PowerChoice, PowerRemark};
    use serde::{Serialize, Serializer};

    impl Serialize for PowerRemark {
        fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
            s.collect_str(self)
        }
    }

    impl Serialize for PowerChoice {
        fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
            s.collect_str(self)
        }
    }
}
