//! Why there are no limits.

use crate::quantity::key_points::KeyPoint;

/// Why there are no limits.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum DetectionError {
    /// One blank reading shows no scatter.
    #[error(
        "{readings} blank readings show no scatter: pass two or more, ten for limits that can be trusted"
    )]
    FewBlanks {
        /// How many there are.
        readings: usize,
    },
    /// A number outside its domain.
    #[error("{name} = {value}{}: {cure}", index.map_or(String::new(), |k| format!(" at index {k}")))]
    Number {
        /// The argument.
        name: &'static str,
        /// Its place among several.
        index: Option<usize>,
        /// What was given.
        value: f64,
        /// What to give.
        cure: &'static str,
    },
    /// All blanks are equal: the converter hides the scatter.
    #[error(
        "all {readings} blank readings are {value}: the scatter is below the step of the converter; give the step by \
         its standard uncertainty, step/√12, as the scatter of the blank"
    )]
    NoScatter {
        /// How many there are.
        readings: usize,
        /// Their value.
        value: f64,
    },
    /// No size of the device gives the figure as well as wanted.
    #[error(
        "no size of this device gives {} within {wanted}: at any size the proportional noise, gain or truncation alone makes \
         more than that", figure.symbol()
    )]
    Unreachable {
        /// The figure.
        figure: KeyPoint,
        /// The relative standard uncertainty that was wanted.
        wanted: f64,
    },
}
