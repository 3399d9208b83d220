//! A line to its cells, and which character parts them: decided from the rows themselves.
//!
//! A delimiter wins by the number of rows that it cuts into one number of cells, two numbers among them; ties go to the cut
//! that leaves fewer cells that are no number, then to the one that needs fewer marks between thousands. (Pattern times
//! type, after G. J. J. van den Burg, A. Nazábal and C. Sutton, Data Min. Knowl. Discov. 33 (2019) 1799; from memory.)

use super::number::{Cell, FORMATS, Formats, cell, formats, is_plain};
use super::unit::{is_uncertainty, prefix, unit};
use smallvec::SmallVec;
use std::borrow::Cow;

/// What stands between the cells of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Delimiter {
    Char(char),
    /// Any run of blanks and tabs.
    Blanks,
}

pub(super) const ALL: [Delimiter; 6] = [
    Delimiter::Char('\t'),
    Delimiter::Char(';'),
    Delimiter::Char(','),
    Delimiter::Char('|'),
    Delimiter::Blanks,
    Delimiter::Char(':'),
];

pub(super) type Cells<'a> = SmallVec<[Cow<'a, str>; 8]>;

impl Delimiter {
    pub const fn name(self) -> &'static str {
        match self {
            Self::Char('\t') => "tab",
            Self::Char(';') => "semicolon",
            Self::Char(',') => "comma",
            Self::Char('|') => "bar",
            Self::Char(':') => "colon",
            Self::Char(_) => "the delimiter given",
            Self::Blanks => "blanks",
        }
    }

    /// Whether it parts a line at all.
    fn stands_in(self, line: &str) -> bool {
        match self {
            Self::Char(c) => line.contains(c),
            Self::Blanks => line.trim().contains(|c: char| c.is_whitespace() || c == '"'),
        }
    }

    /// The cells of a line; quotes are honoured.
    pub fn cut(self, line: &str) -> Cells<'_> {
        match self {
            Self::Blanks if !line.contains('"') => line.split_whitespace().map(Cow::Borrowed).collect(),
            Self::Blanks => blanks_with_quotes(line),
            Self::Char(c) if !line.contains('"') => {
                between(line, c).map(|cell| Cow::Borrowed(cell.trim())).collect()
            }
            Self::Char(c) => quoted(line, c),
        }
    }

    /// One cell of a line, from 0.
    pub fn nth(self, line: &str, column: usize) -> Option<Cow<'_, str>> {
        match self {
            Self::Char(c) if !line.contains('"') => {
                between(line, c).nth(column).map(|cell| Cow::Borrowed(cell.trim()))
            }
            _ => self.cut(line).into_iter().nth(column),
        }
    }

    /// Whether a line is `width` numbers of digits, signs, points and exponents with this between them: what most rows are.
    pub fn parts_plain_numbers(self, line: &str, width: usize) -> bool {
        let mut cells = 0;
        let plain = |cell: &str| {
            cells += 1;
            is_plain(cell.trim_matches(' '))
        };
        let all = match self {
            Self::Char(c) => between(line, c).all(plain),
            Self::Blanks => line.split_ascii_whitespace().all(plain),
        };
        all && cells == width
    }

    /// The formats of numbers that are possible beside it, in a cell without quotes.
    pub fn formats(self) -> Formats {
        match self {
            Self::Char(',') => Formats(
                FORMATS
                    .iter()
                    .enumerate()
                    .filter(|(_, f)| f.decimal != ',' && f.thousands != Some(','))
                    .map(|(k, _)| 1 << k)
                    .sum(),
            ),
            Self::Blanks => Formats(
                FORMATS
                    .iter()
                    .enumerate()
                    .filter(|(_, f)| f.thousands != Some(' '))
                    .map(|(k, _)| 1 << k)
                    .sum(),
            ),
            Self::Char(_) => Formats::ALL,
        }
    }
}

/// What stands between the marks. A comparison is faster between cells of few bytes than the search for a character.
#[expect(clippy::manual_pattern_char_comparison)]
fn between(line: &str, mark: char) -> impl Iterator<Item = &str> {
    line.split(move |c| c == mark)
}

fn blanks_with_quotes(line: &str) -> Cells<'_> {
    let mut cells = Cells::new();
    let mut rest = line.trim_start();
    while !rest.is_empty() {
        let (cell, after) = match rest.strip_prefix('"').and_then(|inner| Some((inner, inner.find('"')?))) {
            Some((inner, end)) => (&inner[..end], &inner[end + 1..]),
            None => rest.split_at(rest.find(char::is_whitespace).unwrap_or(rest.len())),
        };
        cells.push(Cow::Borrowed(cell));
        rest = after.trim_start();
    }
    cells
}

/// One line of delimited text with quotes, by the `csv` crate's parser.
fn quoted(line: &str, delimiter: char) -> Cells<'_> {
    let Ok(byte) = u8::try_from(delimiter) else {
        return line.split(delimiter).map(|c| Cow::Borrowed(c.trim())).collect();
    };
    // A blank between the delimiter and a quote hides the quote from the parser.
    let tight = tightened(line, delimiter);
    let mut reader = csv::ReaderBuilder::new()
        .delimiter(byte)
        .has_headers(false)
        .flexible(true)
        .from_reader(tight.as_bytes());
    let mut record = csv::StringRecord::new();
    match reader.read_record(&mut record) {
        Ok(true) => record.iter().map(|cell| Cow::Owned(cell.trim().to_owned())).collect(),
        _ => line.split(delimiter).map(|c| Cow::Borrowed(c.trim().trim_matches('"'))).collect(),
    }
}

fn tightened(line: &str, delimiter: char) -> String {
    let mut out = String::with_capacity(line.len());
    for c in line.chars() {
        if c == '"' {
            let bare = out.trim_end_matches(' ').len();
            if bare == 0 || out[..bare].ends_with(delimiter) {
                out.truncate(bare);
            }
        }
        out.push(c);
    }
    out
}

/// Whether a cell is a number under any format that the delimiter leaves, or stands in the place of one.
pub(super) fn is_like_a_number(text: &str, delimiter: Delimiter, was_quoted: bool) -> bool {
    let whole = |found: Cell| match found {
        Cell::Number(_, rest) => rest.is_empty() || is_unit_of_cell(rest),
        Cell::NoValue => true,
        Cell::Empty | Cell::Text => false,
    };
    if whole(cell(text, FORMATS[0])) {
        return true;
    }
    let possible = if was_quoted { Formats::ALL } else { delimiter.formats() };
    text.contains(|c: char| c.is_ascii_digit())
        && possible.and(formats(text)).iter().any(|format| whole(cell(text, format)))
}

/// What may stand behind the number of a cell: a unit, or a prefix alone.
fn is_unit_of_cell(rest: &str) -> bool {
    rest.chars().count() <= 12 && (unit(rest).is_some() || prefix(rest).is_some()) || is_uncertainty(rest)
}

/// How well a delimiter explains lines as rows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Score {
    /// Lines that are rows of the usual width.
    pub rows: usize,
    /// Less the cells that are no number.
    fewer_strays: isize,
    /// Less the numbers that need a mark between thousands.
    fewer_grouped: isize,
    pub width: usize,
}

impl Score {
    /// More rows, then fewer cells that are no number, then fewer marks between thousands; the width plays no part.
    pub fn explains_more_than(&self, other: &Self) -> bool {
        let key = |s: &Self| (s.rows, s.fewer_strays, s.fewer_grouped);
        key(self) > key(other)
    }
}

/// The score over the lines, and the usual number of cells.
pub(super) fn score(lines: &[&str], delimiter: Delimiter) -> Option<Score> {
    let mut rows: Vec<(usize, usize, usize)> = Vec::with_capacity(lines.len());
    // A line that it does not part is one cell, and no row.
    for line in lines.iter().filter(|line| delimiter.stands_in(line)) {
        let quotes = line.contains('"');
        let mut cells = delimiter.cut(line);
        while cells.last().is_some_and(|c| c.is_empty()) {
            cells.pop();
        }
        let like = |c: &&Cow<str>| is_like_a_number(c, delimiter, quotes);
        let numbers = cells.iter().filter(like).count();
        let filled = cells.iter().filter(|c| !c.is_empty()).count();
        // Between blanks the words of a sentence are cells as well.
        let first =
            cells.iter().find(|c| !c.is_empty()).is_some_and(|c| is_like_a_number(c, delimiter, quotes));
        if numbers >= 2 && (first || delimiter != Delimiter::Blanks || numbers * 2 > filled) {
            let grouped = cells.iter().filter(|c| formats(c).and(UNGROUPED).is_empty()).count();
            rows.push((cells.len(), filled - numbers, grouped));
        }
    }
    let width = usual(rows.iter().map(|r| r.0))?;
    let of = rows.iter().filter(|r| r.0 == width);
    let (count, strays, grouped) = of.fold((0, 0, 0), |sum, r| (sum.0 + 1, sum.1 + r.1, sum.2 + r.2));
    Some(Score { rows: count, fewer_strays: -(strays as isize), fewer_grouped: -(grouped as isize), width })
}

/// Formats without a mark between thousands.
const UNGROUPED: Formats = Formats(0b11);

/// The commonest value; of two equally common ones the larger, so that a title cannot outvote the table.
pub(super) fn usual(values: impl Iterator<Item = usize>) -> Option<usize> {
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for value in values {
        match counts.iter_mut().find(|(v, _)| *v == value) {
            Some((_, count)) => *count += 1,
            None => counts.push((value, 1)),
        }
    }
    counts.into_iter().max_by_key(|(value, count)| (*count, *value)).map(|(value, _)| value)
}
