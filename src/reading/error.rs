//! Why a file cannot be read: the problem, where it is, and the option that gets past it.

use std::fmt;

/// A file that is not read.
///
/// # Examples
/// ```
/// use litdiode::reading::{Options, read};
/// let wrong = read(b"V,I\n0.0,0.03\n0.1,many\n0.2,0.03\n", &Options::default()).unwrap_err();
/// assert_eq!(wrong.line, Some(3));
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub struct ReadError {
    /// Number of the line, from 1; `None` where it is about the whole file.
    pub line: Option<usize>,
    /// What stands in that line.
    pub text: Option<String>,
    /// What is wrong, and the cure.
    pub problem: Problem,
}

impl ReadError {
    /// One about the whole file.
    pub const fn of_file(problem: Problem) -> Self {
        Self { line: None, text: None, problem }
    }

    /// `line` from 0.
    pub(super) fn at(line: usize, text: &str, problem: Problem) -> Self {
        Self { line: Some(line + 1), text: Some(shown(text)), problem }
    }
}

/// A line as it stands in a message.
pub(super) fn shown(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 60 {
        text.to_owned()
    } else {
        text.chars().take(57).chain("...".chars()).collect()
    }
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match (self.line, &self.text) {
            (Some(line), Some(text)) => write!(f, "line {line} ('{text}'): {}", self.problem),
            _ => self.problem.fmt(f),
        }
    }
}

impl std::error::Error for ReadError {}

/// What is wrong with a file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Problem {
    /// Bytes that are no text.
    #[error("this is a binary file, not text: export the table as delimited text first")]
    Binary,
    /// A workbook.
    #[error("this is a spreadsheet or an archive, not text: export the table as delimited text first")]
    Spreadsheet,
    /// gzip that does not unpack.
    #[error("the compressed file is damaged: compress it anew")]
    Compressed,
    /// A key that stands twice in one object of JSON.
    #[error("the key '{key}' stands twice in one object: rename one of them")]
    RepeatedKey {
        /// The key.
        key: String,
    },
    /// A heading and an entry, or a row of units, that name two units of one column.
    #[error(
        "the {what} is in two units: the heading is '{heading}', line {line} says '{unit}': pass {what}_unit"
    )]
    UnitsDiffer {
        /// Voltage or current.
        what: &'static str,
        /// The heading.
        heading: String,
        /// Where the other unit stands.
        line: usize,
        /// The other unit.
        unit: String,
    },
    /// A file, or what a compressed one grows to, beyond 2 GiB.
    #[error("the file holds more than 2 GiB: split it")]
    TooLarge,
    /// Bytes that are not of the encoding asked for.
    #[error("cannot be read as {encoding}: leave encoding out, or name the one the file was written in")]
    Encoding {
        /// As given.
        encoding: String,
    },
    /// An escape character without the code of a terminal behind it.
    #[error(
        "an escape character stands here without a whole code of a terminal behind it: delete it and what is left of the code"
    )]
    TerminalCode,
    /// An item of a list without a number.
    #[error(
        "the list '{list}' has an item without a number here: fill it in, or delete its partner in the other list as well"
    )]
    EmptyItem {
        /// Its name.
        list: String,
    },
    /// A dash that may mark an item or a number below zero.
    #[error(
        "the dash may mark an item of the list '{list}' or a negative number: write every item as the first is written, with a blank behind the dash that marks it"
    )]
    ItemOrMinus {
        /// Its name.
        list: String,
    },
    /// A list in brackets without its end.
    #[error(
        "the list '{list}' begins with a bracket that is not closed: its end may be missing; complete the list"
    )]
    OpenList {
        /// Its name.
        list: String,
    },
    /// A name that is none of an encoding.
    #[error("encoding '{encoding}' is unknown: pass one such as 'utf-8' or 'latin-1'")]
    UnknownEncoding {
        /// As given.
        encoding: String,
    },
    /// Nothing but blanks.
    #[error("holds no data: a sweep needs rows with a voltage and a current")]
    Empty,
    /// No row with two numbers.
    #[error(
        "no row with two numbers was found from here on: a row holds a voltage and a current; pass delimiter if an unusual character parts them, skip_rows to leave lines out"
    )]
    NoRows,
    /// Rows of two kinds in one file.
    #[error(
        "{rows} lines from here on look like rows parted by {delimiter}, the others are parted by {usual}: split the file, or pass delimiter and skip_rows"
    )]
    OtherRows {
        /// How many.
        rows: usize,
        /// Theirs.
        delimiter: &'static str,
        /// That of the others.
        usual: &'static str,
    },
    /// Columns of different lengths.
    #[error("the lists '{first}' and '{second}' have {lengths:?} values: a reading needs one of each")]
    Lengths {
        /// One.
        first: String,
        /// The other.
        second: String,
        /// Theirs.
        lengths: (usize, usize),
    },
    /// Two delimiters explain the file, and give different numbers.
    #[error(
        "the cells may be parted by {first} or by {second}, which gives different numbers: pass delimiter"
    )]
    TwoDelimiters {
        /// One.
        first: &'static str,
        /// The other.
        second: &'static str,
    },
    /// One cell, two numbers.
    #[error("'{cell}' may be {first} or {second}: pass decimal or thousands")]
    TwoNumbers {
        /// As written.
        cell: String,
        /// One reading.
        first: String,
        /// The other.
        second: String,
    },
    /// Points and commas as decimal marks.
    #[error(
        "decimal marks are mixed: '{cell}' here, '{other}' in line {line}: write all numbers with one decimal mark, or pass decimal and thousands"
    )]
    MixedMarks {
        /// Here.
        cell: String,
        /// Elsewhere.
        other: String,
        /// There.
        line: usize,
    },
    /// Cells beyond or short of the usual number.
    #[error(
        "{cells} cells, other rows have {width}: correct or delete the row, or leave it out with skip_rows"
    )]
    Width {
        /// In this row.
        cells: usize,
        /// In the others.
        width: usize,
    },
    /// Decimal commas between commas, most likely, or a delimiter too many.
    #[error(
        "there are {headings} headings and {cells} cells in a row parted by {delimiter}: pass voltage and current as column numbers, or correct the line of headings; if that character marks decimals as well, export with another between the cells"
    )]
    OtherHeadings {
        /// Named columns.
        headings: usize,
        /// Cells in a row.
        cells: usize,
        /// In words.
        delimiter: &'static str,
    },
    /// An empty cell.
    #[error("the {what} is missing: fill the cell in, or delete the row")]
    Missing {
        /// Voltage or current.
        what: &'static str,
    },
    /// A cell that is no number.
    #[error(
        "the {what} is '{cell}', not a number with the decimal mark '{decimal}': correct the cell, delete the row, or pass decimal and thousands"
    )]
    NoNumber {
        /// Voltage or current.
        what: &'static str,
        /// As written.
        cell: String,
        /// The decimal mark in force.
        decimal: char,
    },
    /// An overflow with `overflow` set to error.
    #[error(
        "the {what} is '{cell}', the mark of an overflow or of a missing value: set overflow to exclude to leave such rows out"
    )]
    Overflow {
        /// Voltage or current.
        what: &'static str,
        /// As written.
        cell: String,
    },
    /// A unit on a number that is none of the column.
    #[error(
        "the {what} is '{cell}', and '{unit}' is no unit of {what}: correct the cell, or name another column"
    )]
    UnitOfCell {
        /// Voltage or current.
        what: &'static str,
        /// As written.
        cell: String,
        /// Behind the number.
        unit: String,
    },
    /// A number without the unit that the others of its column carry.
    #[error(
        "the {what} is '{cell}', without a unit as the others have it: correct the cell, or delete the row"
    )]
    NoUnit {
        /// Voltage or current.
        what: &'static str,
        /// As written.
        cell: String,
    },
    /// No column for a quantity.
    #[error("no heading among {headings} says {what}: pass {what} with a heading or a number from 0")]
    NoColumn {
        /// Voltage or current.
        what: &'static str,
        /// Those there are.
        headings: String,
    },
    /// A function of a quantity, and not the quantity.
    #[error(
        "heading '{heading}' is a function of a quantity, not the {what} itself: export the {what}, or pass {what} with another column"
    )]
    Function {
        /// As written.
        heading: String,
        /// Voltage or current.
        what: &'static str,
    },
    /// Several columns for a quantity.
    #[error("{what} may be any of {columns}: pass {what} with a heading or a number from 0")]
    TwoColumns {
        /// Voltage or current.
        what: &'static str,
        /// Their headings.
        columns: String,
    },
    /// More than two columns without a heading.
    #[error("{columns} columns and no headings: pass voltage and current as column numbers, counted from 0")]
    NoHeadings {
        /// How many.
        columns: usize,
    },
    /// Two columns without headings, the second stepped.
    #[error(
        "no headings, and the second column is stepped evenly as a set voltage is, the first is not: pass voltage as 1 and current as 0, or voltage as 0 and current as 1 if the current was stepped"
    )]
    Exchanged,
    /// A column that is not there.
    #[error("{what} {choice}: no such column; pass one of {known}")]
    UnknownColumn {
        /// Voltage or current.
        what: &'static str,
        /// As given.
        choice: String,
        /// Those there are.
        known: String,
    },
    /// One column for both.
    #[error("voltage and current name the same column, {column}: name two different ones")]
    SameColumn {
        /// From 0.
        column: usize,
    },
    /// A unit that is unknown.
    #[error("heading '{heading}': the unit '{unit}' is not known: pass {what}_unit")]
    UnknownUnit {
        /// Voltage or current.
        what: &'static str,
        /// As written.
        heading: String,
        /// As written.
        unit: String,
    },
    /// A unit of something else.
    #[error("{place}: '{unit}' is not a unit of {what}: pass {what}_unit as {examples}")]
    WrongUnit {
        /// Where it stands.
        place: String,
        /// As written.
        unit: String,
        /// Voltage or current.
        what: &'static str,
        /// Some that are.
        examples: &'static str,
    },
    /// Mega or milli.
    #[error("{place}: M is mega, but milli may be meant: pass {what}_unit as {examples}")]
    Mega {
        /// Where it stands.
        place: String,
        /// Voltage or current.
        what: &'static str,
        /// Some units.
        examples: &'static str,
    },
    /// A current density without a unit.
    #[error("heading '{heading}' gives no unit: pass current_unit, such as 'mA/cm2'")]
    DensityWithoutUnit {
        /// As written.
        heading: String,
    },
    /// A current density and no area.
    #[error("it holds a current density: pass area_cm2 to turn it into a current")]
    NoArea,
    /// Two statements that contradict each other.
    #[error("{option} was {earlier} further up: keep one of the two, or pass {option}")]
    Contradiction {
        /// The option.
        option: &'static str,
        /// As said before.
        earlier: String,
    },
    /// Several sweeps where one was asked for.
    #[error(
        "holds {count} sweeps: {labels}; pass which with a number from 0 or a label, or read all of them with read_sweeps"
    )]
    Several {
        /// How many.
        count: usize,
        /// Their labels and lines.
        labels: String,
    },
    /// A sweep that is not there.
    #[error("which {which}: no such sweep; pass one of {labels}")]
    NoSuchSweep {
        /// As given.
        which: String,
        /// Those there are.
        labels: String,
    },
    /// A sweep of fewer than two readings.
    #[error("a sweep from here on has {rows} readings with numbers: two are the least")]
    FewRows {
        /// With numbers.
        rows: usize,
    },
    /// An option outside its domain.
    #[error("{option} {given}: {cure}")]
    Option {
        /// Its name.
        option: &'static str,
        /// As given.
        given: String,
        /// What it takes.
        cure: &'static str,
    },
}
