//! What can be wrong with a sweep; every message names the argument, the index, the value and the cure.

use crate::numerics::serde_float::shown;
use thiserror::Error;

/// A sweep that cannot be used as it is.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum SweepError {
    /// No points, or one.
    #[error("{name} has {given} point(s); a sweep needs at least 2 at different voltages")]
    TooFewPoints {
        /// The argument.
        name: &'static str,
        /// Points given.
        given: usize,
    },
    /// Arguments of different lengths.
    #[error("voltage_v has {voltage} values and {name} has {given}; pass one {name} value for each voltage")]
    Lengths {
        /// The argument that differs.
        name: &'static str,
        /// Number of voltages.
        voltage: usize,
        /// Its length.
        given: usize,
    },
    /// Repeated sweeps that are too few, or of which one axis has more rows than the other.
    #[error(
        "rows of voltage_v: {voltage}, of current_a: {current}; repeated readings need as many of both, at least 2, one a repetition"
    )]
    Repeats {
        /// Rows of voltages.
        voltage: usize,
        /// Rows of currents.
        current: usize,
    },
    /// A repetition of another length.
    #[error(
        "{name}[{row}] has {given} values and the first row of voltage_v {wanted}; every repetition needs the same set points"
    )]
    RepeatLength {
        /// The argument.
        name: &'static str,
        /// The repetition.
        row: usize,
        /// Its length.
        given: usize,
        /// The length of the first.
        wanted: usize,
    },
    /// A reading that is not a finite number.
    #[error("{name}[{index}] = {value} is not a finite number; remove the point or repeat the reading")]
    NotFinite {
        /// The argument.
        name: &'static str,
        /// The point.
        index: usize,
        /// The value.
        value: f64,
    },
    /// A value that instruments write for an over-range reading (9.9e37; common practice).
    #[error(
        "{name}[{index}] = {value:e} is an instrument's mark for an over-range reading; choose a higher range or remove the point"
    )]
    Overflow {
        /// The argument.
        name: &'static str,
        /// The point.
        index: usize,
        /// The value.
        value: f64,
    },
    /// The same voltage everywhere.
    #[error(
        "all voltage_v are {}; a sweep needs at least 2 different voltages: check the wiring and the column",
        shown(value)
    )]
    OneVoltage {
        /// The voltage.
        value: f64,
    },
    /// No current anywhere.
    #[error("all current_a are 0; check the wiring, the range and the column: a curve needs a current")]
    NoCurrent,
    /// Two points that contradict each other.
    #[error(
        "current_a[{first}] = {} and current_a[{second}] = {} contradict each other at voltage_v = {}; pass an up and a down sweep as two sweeps, or state the scatter in the noise",
        shown(first_a),
        shown(second_a),
        shown(voltage_v)
    )]
    Contradiction {
        /// The earlier point.
        first: usize,
        /// The later point.
        second: usize,
        /// Current of the earlier point in A.
        first_a: f64,
        /// Current of the later point in A.
        second_a: f64,
        /// Their voltage in V.
        voltage_v: f64,
    },
    /// An option outside its domain.
    #[error("{name} = {} is not allowed; {cure}", shown(value))]
    Option {
        /// The option.
        name: &'static str,
        /// The value.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// A noise that leaves a reading of 0 without any uncertainty.
    #[error(
        "noise: {axis}_rel = {} without a floor gives a reading of 0 no uncertainty at all; add {axis}_{unit}, the scatter of a reading of 0",
        shown(value)
    )]
    NoFloor {
        /// The axis.
        axis: &'static str,
        /// Its unit in option names.
        unit: &'static str,
        /// The proportional part.
        value: f64,
    },
    /// A reading beyond the table that corrects it.
    #[error(
        "{name}[{index}] = {} lies outside the {table} that corrects it, {} to {}; extend the {table} or leave the reading out",
        shown(value),
        shown(low),
        shown(high)
    )]
    OutsideTable {
        /// The argument.
        name: &'static str,
        /// The point.
        index: usize,
        /// Its value when the table was reached.
        value: f64,
        /// What the table is: a calibration, a dark sweep.
        table: &'static str,
        /// Where the table begins.
        low: f64,
        /// Where it ends.
        high: f64,
    },
    /// A calibration table of too few points, or of lists that differ in length.
    #[error("corrections: the table has {read} readings and {actual} actual values; {cure}")]
    Table {
        /// Readings.
        read: usize,
        /// What they stand for.
        actual: usize,
        /// What to give.
        cure: &'static str,
    },
    /// A sense resistor where the current is in A already.
    #[error(
        "corrections[{index}] is a sense resistor, which makes a current of a voltage, after '{before}', which needs a current; give the sense resistor before it, and once"
    )]
    CorrectionOrder {
        /// Place of the sense resistor.
        index: usize,
        /// What stands before it.
        before: String,
    },
    /// Dark sweeps that are corrected by dark sweeps, too often one within the other.
    #[error(
        "corrections: the dark sweep is corrected by dark sweeps that nest more than {most} deep; make a sweep of its corrected points and pass that"
    )]
    NestedDark {
        /// How deep they may nest.
        most: usize,
    },
    /// A forced sign that the readings contradict.
    #[error(
        "sign = {sign} contradicts the readings: with it the current rises with voltage, as that of no passive device does; set sign to {other} or auto, or leads to as_given too, which takes them as they are"
    )]
    SignContradicted {
        /// The sign that was passed.
        sign: &'static str,
        /// The other one.
        other: &'static str,
    },
    /// An orientation that the data do not show.
    #[error("the data do not show {what}: {why}; {cure}")]
    Undecided {
        /// What is open.
        what: &'static str,
        /// Why.
        why: String,
        /// What to set.
        cure: &'static str,
    },
}

impl SweepError {
    /// The reading that it is about, where it is about one.
    pub const fn index(&self) -> Option<usize> {
        match self {
            Self::NotFinite { index, .. }
            | Self::Overflow { index, .. }
            | Self::OutsideTable { index, .. } => Some(*index),
            Self::Contradiction { second, .. } => Some(*second),
            _ => None,
        }
    }
}
