//! Every line of a file to what it is, and the rows to blocks.
//!
//! A line is a row of the table, or blank, a rule, a comment, an entry `key: value`, a row that summarises others, or text.
//! Rows with nothing between them are a block; what stands between is kept with its line.

use super::delimiter::{Cells, Delimiter, is_like_a_number};
use super::error::{Problem, ReadError};
use super::fold::word;
use super::heading::Heading;
use super::lines::{Lines, comment, entry, is_blank, is_rule};
use super::metadata::{Entry, is_condition, is_known_key};
use super::options::Options;
use super::words;
use std::borrow::Cow;
use std::cell::OnceCell;

/// What a line is that is no row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Blank,
    Rule,
    Comment(String),
    Entry(String, String),
    /// A row behind a comment mark.
    Muted,
    /// Mean, standard deviation, extremes of the rows.
    Summary,
    Text,
}

/// A line that is no row.
#[derive(Clone, Debug)]
pub(super) struct Other {
    pub line: usize,
    pub kind: Kind,
}

/// Rows without anything between them, and what stands above them since the block before.
#[derive(Clone, Debug, Default)]
pub(super) struct Block {
    pub above: Vec<Other>,
    pub rows: Vec<u32>,
}

/// All lines of a file, parted by one delimiter.
pub(super) struct Layout<'a> {
    pub lines: Lines<'a>,
    pub delimiter: Delimiter,
    /// Cells of a row.
    pub width: usize,
    pub blocks: Vec<Block>,
    /// Behind the last block.
    pub below: Vec<Other>,
    /// The last row where the file ends within it.
    pub cut: Option<usize>,
    /// What `statements` reads from the lines between the rows, once.
    pub entries: OnceCell<Vec<Entry>>,
}

impl<'a> Layout<'a> {
    pub fn new(
        lines: Lines<'a>,
        delimiter: Delimiter,
        width: usize,
        options: &Options,
    ) -> Result<Self, ReadError> {
        let mut layout = Self {
            lines,
            delimiter,
            width,
            blocks: Vec::new(),
            below: Vec::new(),
            cut: None,
            entries: OnceCell::new(),
        };
        let mut block = Block::default();
        let mut between: Vec<Other> = Vec::new();
        for line in options.skip_rows..layout.lines.len() {
            // A row of marks without a digit is one only among rows: units `-;V;A` stand above them.
            let possible =
                !block.rows.is_empty() || layout.lines.get(line).contains(|c: char| c.is_ascii_digit());
            if possible && layout.is_row(line, options) {
                if !between.is_empty() && !block.rows.is_empty() {
                    layout.blocks.push(std::mem::take(&mut block));
                }
                block.above.append(&mut between);
                block.rows.push(line as u32);
            } else {
                between.push(Other { line, kind: layout.kind(line, options, block.rows.is_empty()) });
            }
        }
        if !block.rows.is_empty() {
            layout.blocks.push(block);
        }
        layout.below = between;
        layout.set_the_cut_row_aside();
        if layout.blocks.is_empty() {
            let first = (options.skip_rows..layout.lines.len()).find(|k| !is_blank(layout.lines.get(*k)));
            return Err(match first {
                Some(line) => ReadError::at(line, layout.lines.get(line), Problem::NoRows),
                None => ReadError::of_file(Problem::Empty),
            });
        }
        Ok(layout)
    }

    pub fn cells(&self, line: usize) -> Cells<'a> {
        self.delimiter.cut(self.lines.get(line))
    }

    pub fn cell(&self, line: usize, column: usize) -> Option<Cow<'a, str>> {
        self.delimiter.nth(self.lines.get(line), column)
    }

    fn is_row(&self, line: usize, options: &Options) -> bool {
        let text = self.lines.get(line);
        let mark = options.comment.as_deref();
        if text.is_empty() || comment(text, mark).is_some() {
            return false;
        }
        is_row(text, self.delimiter, self.width)
    }

    fn kind(&self, line: usize, options: &Options, before_rows: bool) -> Kind {
        let text = self.lines.get(line);
        if is_blank(text) {
            return Kind::Blank;
        }
        if is_rule(text) {
            return Kind::Rule;
        }
        if let Some(inside) = comment(text, options.comment.as_deref()) {
            return match entry(inside) {
                _ if !before_rows && is_row(inside, self.delimiter, self.width) => Kind::Muted,
                Some((key, value)) => Kind::Entry(key.into(), value.into()),
                None => self.delimited_entry(inside, true).unwrap_or_else(|| Kind::Comment(inside.into())),
            };
        }
        if self.is_summary(text) {
            return Kind::Summary;
        }
        if let Some(found) = self.delimited_entry(text, false) {
            return found;
        }
        match entry(text) {
            Some((key, value)) if !self.heads(text) => Kind::Entry(key.into(), value.into()),
            _ => Kind::Text,
        }
    }

    /// Whether a line is the heading of the columns, though a colon stands in it.
    fn heads(&self, text: &str) -> bool {
        let cells = self.delimiter.cut(text);
        cells.len() == self.width
            && cells.len() >= 2
            && cells.iter().filter(|c| Heading::new(c).is_of_curve()).count() >= 2
    }

    /// `Area (cm²);0,25`, `Cells<TAB>36`, `Area 0.25 cm2`: a key that is known and a value, or any key and a value in a table of
    /// more columns.
    fn delimited_entry(&self, text: &str, in_comment: bool) -> Option<Kind> {
        for delimiter in [self.delimiter, Delimiter::Char('\t'), Delimiter::Char(';'), Delimiter::Char(',')] {
            if delimiter == Delimiter::Blanks {
                continue;
            }
            let mut cells = delimiter.cut(text);
            while cells.last().is_some_and(|c| c.is_empty()) {
                cells.pop();
            }
            let three = cells.len() == 3 && cells[1].starts_with(|c: char| c.is_ascii_digit() || c == '-');
            if cells.len() != 2 && !three || cells[0].is_empty() || cells[1].is_empty() {
                continue;
            }
            let key = cells[0].trim_end_matches([':', '=']).trim();
            if key.starts_with(|c: char| c.is_alphabetic())
                && is_known_key(key)
                && !Heading::new(&cells[1]).is_of_curve()
            {
                let value = if three { format!("{} {}", cells[1], cells[2]) } else { cells[1].to_string() };
                return Some(Kind::Entry(key.into(), value));
            }
        }
        spoken_entry(text, in_comment)
    }

    /// `Mean;0.31;2.8`: the first cell names what the numbers are of the others.
    fn is_summary(&self, text: &str) -> bool {
        let cells = self.delimiter.cut(text);
        cells.iter().any(|c| is_like_a_number(c, self.delimiter, false)) && names_a_summary(&cells)
    }

    /// Whether the last number of a row has fewer digits behind its mark than that of every row before.
    fn ends_early(&self, line: usize, cells: &Cells) -> bool {
        let Some(own) = cells.last().and_then(|c| decimals(c)) else { return false };
        let rows = self
            .blocks
            .iter()
            .rev()
            .flat_map(|b| b.rows.iter().rev())
            .filter(|row| **row as usize != line)
            .take(20);
        let least = rows
            .filter_map(|row| self.cells(*row as usize).get(cells.len() - 1).and_then(|c| decimals(c)))
            .min();
        least.is_some_and(|n| own < n)
    }

    /// A last line without a line end that has too few cells, or too few digits, is a row that was cut off.
    fn set_the_cut_row_aside(&mut self) {
        let last_line = self.lines.len().saturating_sub(1);
        if !self.lines.ends_within_a_line() {
            return;
        }
        let mut cells = self.cells(last_line);
        while cells.last().is_some_and(|c| c.is_empty()) {
            cells.pop();
        }
        let short = self.ends_early(last_line, &cells);
        let cells = cells.len();
        if self.blocks.iter().map(|b| b.rows.len()).sum::<usize>() > 2
            && let Some(block) = self.blocks.last_mut()
        {
            if block.rows.last() == Some(&(last_line as u32)) && (cells < self.width || short) {
                block.rows.pop();
                self.cut = Some(last_line);
                self.blocks.retain(|b| !b.rows.is_empty());
            } else if self.below.len() == 1
                && self.below[0].line == last_line
                && block.rows.last() == Some(&(last_line as u32 - 1))
            {
                let text = self.lines.get(last_line).trim();
                if self.below[0].kind == Kind::Text
                    && text.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'))
                {
                    self.below.clear();
                    self.cut = Some(last_line);
                }
            }
        }
    }
}

/// Digits behind the decimal mark of a plain number; `None` for anything else.
pub(super) fn decimals(cell: &str) -> Option<usize> {
    let cell = cell.split(['e', 'E', 'd', 'D']).next().unwrap_or(cell);
    let plain = |c: char| {
        c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | '\'' | '\u{2212}') || c.is_whitespace()
    };
    let number = cell.contains(|c: char| c.is_ascii_digit()) && cell.chars().all(plain);
    number.then(|| cell.rsplit_once(['.', ',']).map_or(0, |(_, d)| d.trim().len()))
}

/// Whether the first cell is a word such as mean or maximum.
fn names_a_summary(cells: &Cells) -> bool {
    let first = cells.iter().find(|c| !c.is_empty()).map(|c| word(c.trim_end_matches([':', '=', '.', ' '])));
    first.is_some_and(|f| words::SUMMARY.contains(&f.as_str()))
}

/// `Area 0.25 cm2`, `Temperature 25 °C`: a known key, then a number.
fn spoken_entry(text: &str, _in_comment: bool) -> Option<Kind> {
    let at = text.char_indices().find(|(k, c)| {
        *k > 0 && text[..*k].ends_with(char::is_whitespace) && (c.is_ascii_digit() || matches!(c, '-' | '+'))
    })?;
    let (key, value) = (text[..at.0].trim(), text[at.0..].trim());
    let fits =
        key.starts_with(char::is_alphabetic) && is_condition(key) && value.split_whitespace().count() <= 3;
    fits.then(|| Kind::Entry(key.into(), value.into()))
}

/// A row has the table's width and two cells that are numbers or stand for them, or begins with one.
pub(super) fn is_row(text: &str, delimiter: Delimiter, width: usize) -> bool {
    if width >= 2 && delimiter.parts_plain_numbers(text, width) {
        return true;
    }
    let quotes = text.contains('"');
    let mut cells = delimiter.cut(text);
    while cells.last().is_some_and(|c| c.is_empty()) {
        cells.pop();
    }
    let like: Vec<bool> = cells.iter().map(|c| is_like_a_number(c, delimiter, quotes)).collect();
    let numbers = like.iter().filter(|yes| **yes).count();
    let filled = cells.iter().filter(|c| !c.is_empty()).count();
    if numbers == 0 || is_rule(text) && numbers < 2 {
        return false;
    }
    let first = cells.iter().position(|c| !c.is_empty()).is_some_and(|k| like[k]);
    if !first && names_a_summary(&cells) {
        return false;
    }
    if delimiter == Delimiter::Blanks {
        // Words may stand behind the numbers: `0.553   46   (lamp moved)`.
        let remark = like.len() > width
            && width >= 2
            && like[..width].iter().all(|l| *l)
            && !like[width..].iter().any(|l| *l);
        return first && numbers == filled || cells.len() == width && numbers >= 2 || remark;
    }
    first && (numbers >= 2 || cells.len() + 1 >= width || filled == 1 && width == 2)
        || cells.len() == width && numbers >= 2
}
