//! What a host can pass wrongly, and the status and text that every function answers with.
//!
//! ```text
//! status 0: done     1 to 999: a number of litdiode::code     1001 to 1014: a number of `Misuse`
//! ```

use litdiode::code::Coded;
use std::fmt::Display;
use thiserror::Error;

/// Values that one list may hold: 800 MB of numbers. A longer length is one that was never set.
pub const MOST_VALUES: usize = 100_000_000;

/// Constants, and a list of them as text for the header.
macro_rules! constants {
    (#[doc = $about:literal] $list:ident: $($(#[doc = $doc:literal])+ $name:ident = $number:literal,)+) => {
        $($(#[doc = $doc])+ pub const $name: i32 = $number;)+

        #[doc = $about]
        pub const $list: &[&str] =
            &[$(concat!($("///", $doc, "\n",)+ "pub const ", stringify!($name), ": i32 = ", $number, ";\n"),)+];
    };
}
pub(crate) use constants;

constants! {
    /// The statuses for the header.
    CONSTANTS:
    /// Status: done.
    LITDIODE_OK = 0,
    /// The work was stopped by its request to stop.
    LITDIODE_CANCELLED = 1,
    /// A null pointer where there must be none.
    LITDIODE_NULL_POINTER = 1001,
    /// A handle that was never given, or was freed.
    LITDIODE_BAD_HANDLE = 1002,
    /// A handle of another kind than the argument's.
    LITDIODE_WRONG_KIND = 1003,
    /// A length above 100,000,000.
    LITDIODE_TOO_LONG = 1004,
    /// A buffer too short for what was asked for; the text or `text_needed` says how long it must be.
    LITDIODE_SHORT_BUFFER = 1005,
    /// A number that stands for no choice.
    LITDIODE_NO_CHOICE = 1006,
    /// A text that is not UTF-8.
    LITDIODE_NOT_UTF8 = 1007,
    /// A text that is not what `litdiode_to_json` wrote.
    LITDIODE_NOT_JSON = 1008,
    /// An index beyond the last.
    LITDIODE_NO_PLACE = 1009,
    /// A number outside its domain.
    LITDIODE_NUMBER = 1010,
    /// Lists whose lengths do not go together.
    LITDIODE_LENGTH = 1011,
    /// As many handles in use as there can be.
    LITDIODE_TABLE_FULL = 1012,
    /// Something that this kind of handle does not have.
    LITDIODE_WITHOUT = 1013,
    /// A fault of the library that was stopped at its border.
    LITDIODE_PANICKED = 1014,
}

/// An argument that the interface cannot use.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Misuse {
    /// A pointer that must lead somewhere.
    #[error("{argument} is a null pointer; pass the address of what is to be read or written")]
    NullPointer {
        /// The argument.
        argument: &'static str,
    },
    /// A handle that stands for nothing.
    #[error(
        "{argument} = {handle} is no handle in use; pass one that this library gave to this process and that was not freed"
    )]
    BadHandle {
        /// The argument.
        argument: &'static str,
        /// The number given.
        handle: u64,
    },
    /// A handle of another kind.
    #[error("{argument} = {handle} is the handle of {found}; pass that of {wanted}")]
    WrongKind {
        /// The argument.
        argument: &'static str,
        /// The handle given.
        handle: u64,
        /// What it stands for.
        found: &'static str,
        /// What it should stand for.
        wanted: &'static str,
    },
    /// A length that no list has.
    #[error(
        "{argument} = {length} is more than the {MOST_VALUES} values that a list may hold; check the length"
    )]
    TooLong {
        /// The argument.
        argument: &'static str,
        /// The length given.
        length: usize,
    },
    /// A buffer for fewer values than there are.
    #[error("{argument} = {capacity} is too small; {needed} are needed")]
    ShortBuffer {
        /// The argument that holds the capacity.
        argument: &'static str,
        /// The capacity given.
        capacity: usize,
        /// What is needed.
        needed: usize,
    },
    /// A number that stands for no choice.
    #[error("{argument} = {number} stands for nothing here; use one of {known}")]
    NoChoice {
        /// The argument.
        argument: &'static str,
        /// The number given.
        number: i32,
        /// The names and numbers that there are.
        known: String,
    },
    /// A text that is not UTF-8.
    #[error("{argument} is not UTF-8 from byte {index} on; encode it as UTF-8")]
    NotUtf8 {
        /// The argument.
        argument: &'static str,
        /// The first byte that is wrong.
        index: usize,
    },
    /// A text that is not what was stored.
    #[error("{argument} is not {kind} in JSON ({why}); pass what litdiode_to_json wrote")]
    NotJson {
        /// The argument.
        argument: &'static str,
        /// What it should hold.
        kind: &'static str,
        /// Where and why it is not.
        why: String,
    },
    /// A place beyond the last.
    #[error("{argument} = {index} is not below {count}, the number of {what}")]
    NoPlace {
        /// The argument.
        argument: &'static str,
        /// The place given.
        index: usize,
        /// How many there are.
        count: usize,
        /// Of what.
        what: &'static str,
    },
    /// A number outside its domain.
    #[error("{argument} = {value} is not allowed; {cure}")]
    Number {
        /// The argument.
        argument: &'static str,
        /// The number given.
        value: f64,
        /// What to pass.
        cure: &'static str,
    },
    /// Lists that do not go together.
    #[error("{argument} has {given} values where {wanted} are needed; {cure}")]
    Length {
        /// The argument.
        argument: &'static str,
        /// Its length.
        given: usize,
        /// The length that goes with the others.
        wanted: usize,
        /// What to pass.
        cure: &'static str,
    },
    /// More handles than the table holds.
    #[error("{count} handles are in use, as many as there can be; free those that are done with")]
    TableFull {
        /// How many.
        count: usize,
    },
    /// Something that this kind of handle does not have.
    #[error("{kind} has no {what}")]
    Without {
        /// The kind.
        kind: &'static str,
        /// What it does not have.
        what: &'static str,
    },
    /// A fault of the library itself.
    #[error(
        "a fault of the library was stopped at its border ({what}); please report it with the input that caused it"
    )]
    Panicked {
        /// What it said.
        what: String,
    },
}

impl Coded for Misuse {
    fn code(&self) -> u16 {
        match self {
            Self::NullPointer { .. } => LITDIODE_NULL_POINTER as u16,
            Self::BadHandle { .. } => LITDIODE_BAD_HANDLE as u16,
            Self::WrongKind { .. } => LITDIODE_WRONG_KIND as u16,
            Self::TooLong { .. } => LITDIODE_TOO_LONG as u16,
            Self::ShortBuffer { .. } => LITDIODE_SHORT_BUFFER as u16,
            Self::NoChoice { .. } => LITDIODE_NO_CHOICE as u16,
            Self::NotUtf8 { .. } => LITDIODE_NOT_UTF8 as u16,
            Self::NotJson { .. } => LITDIODE_NOT_JSON as u16,
            Self::NoPlace { .. } => LITDIODE_NO_PLACE as u16,
            Self::Number { .. } => LITDIODE_NUMBER as u16,
            Self::Length { .. } => LITDIODE_LENGTH as u16,
            Self::TableFull { .. } => LITDIODE_TABLE_FULL as u16,
            Self::Without { .. } => LITDIODE_WITHOUT as u16,
            Self::Panicked { .. } => LITDIODE_PANICKED as u16,
        }
    }
}

/// A status above 0 and its text.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// The status.
    pub status: i32,
    /// What is wrong, and what to do.
    pub text: String,
}

impl<E: Coded + Display> From<E> for Fault {
    fn from(error: E) -> Self {
        Self { status: error.code().into(), text: error.to_string() }
    }
}

/// What a function answers where nothing is wrong.
pub enum Answer {
    /// Nothing besides its numbers.
    Done,
    /// What must be known with its numbers; a text buffer that is too short for it is no fault.
    Remarks(String),
    /// The text that was asked for; a text buffer that is too short for it is a fault.
    Text(String),
}

/// What the body of a function comes to.
pub type Outcome = Result<Answer, Fault>;
