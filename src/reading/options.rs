//! What a caller may say of a file that does not say it itself.

use crate::setters::setters;

/// A column by its heading or by its number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Column {
    /// From 0.
    Number(usize),
    /// As written in the file, case aside.
    Heading(String),
}

/// One of several sweeps in a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Which {
    /// From 0.
    Number(usize),
    /// Its label.
    Label(String),
}

/// What is not given is found from the file.
///
/// # Examples
/// ```
/// use litdiode::reading::{Column, Options};
/// let options = Options::default().current(Column::Heading("I2 (mA)".into())).decimal(',').skip_rows(3_usize);
/// assert_eq!(options.decimal, Some(','));
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Options {
    /// The column of the voltage.
    pub voltage: Option<Column>,
    /// The column of the current.
    pub current: Option<Column>,
    /// The column of the time.
    pub time: Option<Column>,
    /// Such as `mV`.
    pub voltage_unit: Option<String>,
    /// Such as `mA`, or `mA/cm2` for a density, which needs an area.
    pub current_unit: Option<String>,
    /// The decimal mark, a point or a comma.
    pub decimal: Option<char>,
    /// The mark between groups of three digits: a comma, a point, a blank or an apostrophe.
    pub thousands: Option<char>,
    /// What stands between cells; a blank is any run of blanks and tabs.
    pub delimiter: Option<char>,
    /// Of the text, such as `utf-8`.
    pub encoding: Option<String>,
    /// Lines at the top to leave out.
    pub skip_rows: usize,
    /// The line of the headings, from 1.
    pub header_row: Option<usize>,
    /// What begins a comment, in place of the usual marks.
    pub comment: Option<String>,
    /// Whether a mark of overflow is an error; else its row is left out.
    pub overflow_is_error: bool,
    /// Whether the current column may be in volts, over a resistor that the sweep is corrected for.
    pub current_over_resistor: bool,
}

setters!(Options {
    /// With the column of the voltage.
    voltage: impl Into<Option<Column>>,
    /// With the column of the current.
    current: impl Into<Option<Column>>,
    /// With the column of the time.
    time: impl Into<Option<Column>>,
    /// With the unit of the voltage.
    voltage_unit: impl Into<Option<String>>,
    /// With the unit of the current.
    current_unit: impl Into<Option<String>>,
    /// With the decimal mark.
    decimal: impl Into<Option<char>>,
    /// With the mark between thousands.
    thousands: impl Into<Option<char>>,
    /// With the delimiter.
    delimiter: impl Into<Option<char>>,
    /// With the encoding.
    encoding: impl Into<Option<String>>,
    /// With so many lines left out at the top.
    skip_rows: impl Into<usize>,
    /// With the line of the headings.
    header_row: impl Into<Option<usize>>,
    /// With the mark of comments.
    comment: impl Into<Option<String>>,
    /// With an error for a mark of overflow.
    overflow_is_error: impl Into<bool>,
    /// With a current column that may be in volts.
    current_over_resistor: impl Into<bool>,
});
