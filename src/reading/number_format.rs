//! How the numbers of a file are written: what all cells of the chosen columns have in common.

use super::error::{Problem, ReadError};
use super::layout::Layout;
use super::metadata::{Entry, formats_of};
use super::number::{Cell, FORMATS, Format, Formats, cell, formats};
use super::options::Options;
use super::table::Table;

/// How the numbers of the chosen columns are written, and a sentence on the evidence where it is not plain.
pub(super) fn format_of(
    layout: &Layout,
    tables: &[Table],
    entries: &[Entry],
    options: &Options,
) -> Result<(Format, Option<String>), ReadError> {
    let quotes = layout.lines.text.contains('"');
    let possible = if quotes { Formats::ALL } else { layout.delimiter.formats() };
    let asked = Formats::with(options.decimal, options.thousands).and(possible);
    let mut common = asked;
    let mut evidence: Option<(usize, String)> = None;
    'all: for table in tables {
        for row in &table.block.rows {
            for column in table.chosen.pairs.iter().flat_map(|p| [p.voltage, p.current]) {
                let Some(text) = layout.cell(*row as usize, column) else { continue };
                let own = formats(&text).and(possible);
                if own.and(asked).is_empty() {
                    // No number under what was asked for: the cell is refused by itself.
                    continue;
                }
                let both = common.and(own);
                if both.is_empty() {
                    let (line, other) = evidence.unwrap_or((0, String::new()));
                    let problem = Problem::MixedMarks { cell: text.to_string(), other, line: line + 1 };
                    return Err(ReadError::at(*row as usize, layout.lines.get(*row as usize), problem));
                }
                if both != common {
                    evidence = Some((*row as usize, text.to_string()));
                }
                common = both;
            }
            if common.0.count_ones() == 1 {
                break 'all;
            }
        }
    }
    decided(layout, tables, entries, common, evidence)
}

pub(super) fn decided(
    layout: &Layout,
    tables: &[Table],
    entries: &[Entry],
    common: Formats,
    evidence: Option<(usize, String)>,
) -> Result<(Format, Option<String>), ReadError> {
    let mut common = common;
    if differing(layout, tables, common).is_some() {
        for more in [of_other_columns(layout, tables), formats_of(entries)] {
            if !common.and(more).is_empty() {
                common = common.and(more);
            }
        }
    }
    if let Some((line, cell, first, second)) = differing(layout, tables, common) {
        let problem = Problem::TwoNumbers { cell, first: first.to_string(), second: second.to_string() };
        return Err(ReadError::at(line, layout.lines.get(line), problem));
    }
    let format = common.first().unwrap_or(FORMATS[0]);
    let example = evidence.map_or(String::new(), |(_, cell)| format!(" (as in '{cell}')"));
    let note = match format {
        Format { decimal: ',', thousands: None } => {
            Some(format!("decimal comma{example}, cells parted by {}", layout.delimiter.name()))
        }
        Format { thousands: Some(mark), .. } => {
            Some(format!("'{mark}' taken as the mark between thousands{example}"))
        }
        _ => None,
    };
    Ok((format, note))
}

/// The first cell that is different numbers under the formats: line, cell, and two of them.
pub(super) fn differing(
    layout: &Layout,
    tables: &[Table],
    common: Formats,
) -> Option<(usize, String, f64, f64)> {
    if common.0.count_ones() < 2 {
        return None;
    }
    for table in tables {
        for row in table.block.rows.iter().take(2000) {
            let cells = layout.cells(*row as usize);
            for column in table.chosen.pairs.iter().flat_map(|p| [p.voltage, p.current]) {
                let Some(text) = cells.get(column) else { continue };
                let mut values = common.iter().filter_map(|format| match cell(text, format) {
                    Cell::Number(value, _) => Some(value),
                    _ => None,
                });
                if let Some(first) = values.next()
                    && let Some(other) = values.find(|v| *v != first)
                {
                    return Some((*row as usize, text.to_string(), first, other));
                }
            }
        }
    }
    None
}

/// What the columns beside voltage and current say of how numbers are written.
pub(super) fn of_other_columns(layout: &Layout, tables: &[Table]) -> Formats {
    let mut common = Formats::ALL;
    for table in tables {
        for row in table.block.rows.iter().take(200) {
            for text in &layout.cells(*row as usize) {
                let both = common.and(formats(text));
                if !both.is_empty() {
                    common = both;
                }
            }
        }
    }
    common
}
