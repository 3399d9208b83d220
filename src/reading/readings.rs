//! The rows of a block to readings in V and A, a part for each device or direction that a column names.

use super::column_unit::column_unit;
use super::columns::{Pair, given};
use super::delimiter::{Cells, Delimiter, usual};
use super::error::{Problem, ReadError, shown};
use super::heading::{Heading, Role};
use super::layout::{Layout, decimals};
use super::number::{Cell, FORMATS, Format, cell};
use super::options::Options;
use super::part::{BY_HAND, Part};
use super::table::{Scale, Table, looks, reading};
use super::unit::Dimension;

/// The readings of one pair of columns, a part for each device or direction that other columns name.
pub(super) fn readings(
    layout: &Layout,
    table: &Table,
    (block, pair): (usize, usize),
    format: Format,
    options: &Options,
) -> Result<Vec<Part>, ReadError> {
    let Pair { voltage, current, .. } = table.chosen.pairs[pair];
    let units = [
        column_unit(layout, table, "voltage", voltage, options)?,
        column_unit(layout, table, "current", current, options)?,
    ];
    let time = time_column(table, options, layout)?;
    let notes = units.iter().filter_map(|u| u.note.clone()).chain(table.chosen.notes.iter().cloned());
    let empty = Part {
        block,
        lines: Vec::new(),
        v: Vec::new(),
        i: Vec::new(),
        t: time.map(|_| Vec::new()),
        pair,
        group: None,
        left_out: Vec::new(),
        density: units[1].scale.dimension == Dimension::Density,
        notes: notes.chain(oddities(layout, table, &[voltage, current])).collect(),
        warnings: units.iter().filter_map(|u| u.warning.clone()).collect(),
    };
    let columns = [("voltage", voltage, units[0].scale), ("current", current, units[1].scale)];
    let reader =
        Reader { layout, table, format, options, columns, groups: group_columns(layout, table), time };
    reader.parts(&empty)
}

/// What the cells of a row are read with.
struct Reader<'a> {
    layout: &'a Layout<'a>,
    table: &'a Table<'a>,
    format: Format,
    options: &'a Options,
    columns: [(&'static str, usize, Scale); 2],
    groups: Vec<usize>,
    /// Column and factor to s.
    time: Option<(usize, f64)>,
}

impl Reader<'_> {
    fn parts(&self, empty: &Part) -> Result<Vec<Part>, ReadError> {
        let mut parts: Vec<Part> = Vec::new();
        if self.groups.is_empty() {
            let rows = self.table.block.rows.len();
            let room = || Vec::with_capacity(rows);
            parts.push(Part { lines: Vec::with_capacity(rows), v: room(), i: room(), ..empty.clone() });
        }
        let several = self.table.chosen.pairs.len() > 1;
        for row in &self.table.block.rows {
            let cells = self.layout.cells(*row as usize);
            // Beside a longer sweep the cells of a shorter one are empty.
            if several && self.columns.iter().all(|(_, column, _)| text_of(&cells, *column).is_empty()) {
                continue;
            }
            check_width(self.layout, *row as usize, &cells.len(), self.table)?;
            let pair = [self.value(*row, &cells, 0)?, self.value(*row, &cells, 1)?];
            let at = self.place(&cells, &mut parts, empty);
            self.add(&mut parts[at], *row, &cells, pair);
        }
        Ok(parts)
    }

    /// The voltage (0) or the current (1) of a row; `None` for a mark of no value.
    fn value(&self, row: u32, cells: &Cells, k: usize) -> Result<Option<f64>, ReadError> {
        let (what, column, scale) = &self.columns[k];
        let text = text_of(cells, *column);
        let refuse = |problem| ReadError::at(row as usize, self.layout.lines.get(row as usize), problem);
        let blanks = self.layout.delimiter == Delimiter::Blanks;
        let found = reading(text, self.format, what, scale, blanks).map_err(refuse)?;
        if found.is_none() && self.options.overflow_is_error {
            return Err(refuse(Problem::Overflow { what, cell: text.to_owned() }));
        }
        Ok(found)
    }

    /// The part that a row belongs to, by its columns of device and direction.
    fn place(&self, cells: &Cells, parts: &mut Vec<Part>, empty: &Part) -> usize {
        let names = self.groups.iter().map(|column| text_of(cells, *column));
        let group = (!self.groups.is_empty()).then(|| names.collect::<Vec<_>>().join(" "));
        parts.iter().position(|p| p.group == group).unwrap_or_else(|| {
            parts.push(Part { group, ..empty.clone() });
            parts.len() - 1
        })
    }

    fn add(&self, part: &mut Part, row: u32, cells: &Cells, pair: [Option<f64>; 2]) {
        let [Some(v), Some(i)] = pair else {
            part.left_out.push(row + 1);
            return;
        };
        part.lines.push(row + 1);
        part.v.push(v);
        part.i.push(i);
        if let (Some((column, factor)), Some(t)) = (self.time, &mut part.t) {
            match seconds(text_of(cells, column), self.format) {
                Some(s) => t.push(s * factor),
                None => part.t = None,
            }
        }
    }
}

fn text_of<'a>(cells: &'a Cells, column: usize) -> &'a str {
    cells.get(column).map_or("", |c| c.as_ref())
}

/// Rows that look damaged though they can be read: a quote that does not close, a number with two decimals less than every
/// other of its column.
pub(super) fn oddities(layout: &Layout, table: &Table, columns: &[usize]) -> Vec<String> {
    let rows = &table.block.rows;
    if rows.len() > BY_HAND {
        return Vec::new();
    }
    let mut notes = Vec::new();
    let place = |row: u32| format!("line {} ('{}')", row + 1, shown(layout.lines.get(row as usize)));
    let open: Vec<u32> = rows
        .iter()
        .copied()
        .filter(|row| layout.lines.get(*row as usize).matches('"').count() % 2 == 1)
        .collect();
    if let Some(first) = open.first() {
        notes.push(format!(
            "a quote is not closed in {} of {} rows, first in {}",
            open.len(),
            rows.len(),
            place(*first)
        ));
    }
    for column in columns {
        let counts: Vec<(u32, usize)> = rows
            .iter()
            .filter_map(|row| Some((*row, decimals(layout.cells(*row as usize).get(*column)?)?)))
            .collect();
        let Some(usual) = usual(counts.iter().map(|c| c.1)) else { continue };
        // Three decimals among whole numbers may be a mark between thousands.
        let is_odd = |c: &&(u32, usize)| c.1 + 2 <= usual || usual == 0 && c.1 == 3;
        let odd: Vec<u32> = counts.iter().filter(is_odd).map(|c| c.0).collect();
        if let Some(first) = odd.first()
            && counts.len() >= 4
            && 5 * odd.len() <= counts.len()
        {
            notes.push(format!(
                "a number with fewer or more decimals than the others, first in {}: {} of {} rows",
                place(*first),
                odd.len(),
                counts.len()
            ));
        }
    }
    notes
}

/// A row of another number of cells is refused where a number stands beyond the headings, or a cell may have slipped.
pub(super) fn check_width(
    layout: &Layout,
    line: usize,
    cells: &usize,
    table: &Table,
) -> Result<(), ReadError> {
    let width = layout.width;
    if *cells == width {
        return Ok(());
    }
    let row = layout.cells(line);
    let extra = row
        .iter()
        .skip(width)
        .any(|c| cell(c, FORMATS[0]).is_like_a_number() || cell(c, FORMATS[1]).is_like_a_number());
    // A cell that holds numbers elsewhere is missing: the others may have moved into its place.
    let slipped = *cells < width && {
        let last = table.chosen.pairs.iter().map(|p| p.voltage.max(p.current)).max().unwrap_or(0);
        let flags = (*cells..width).all(|k| {
            table
                .heads
                .as_ref()
                .and_then(|h| h.heads.get(k))
                .is_none_or(|h| matches!(h.role, Role::Flag | Role::Unknown | Role::Other))
        });
        let numeric =
            layout.delimiter != Delimiter::Blanks && (*cells..width).any(|k| holds_numbers(layout, table, k));
        let blanks = layout.delimiter == Delimiter::Blanks;
        blanks && !(flags && last < *cells) || numeric
    };
    if extra || slipped {
        return Err(ReadError::at(line, layout.lines.get(line), Problem::Width { cells: *cells, width }));
    }
    Ok(())
}

/// Whether most of the first rows have a number in a column.
fn holds_numbers(layout: &Layout, table: &Table, column: usize) -> bool {
    let rows = table.block.rows.iter().take(40);
    let count = rows.clone().count();
    let number = |row: &&u32| {
        let cell = layout.cell(**row as usize, column);
        cell.is_some_and(|c| c.contains(|c: char| c.is_ascii_digit()) && decimals(&c).is_some())
    };
    2 * rows.filter(number).count() > count
}

/// Columns that name a device or a direction: few different values, each of several rows.
pub(super) fn group_columns(layout: &Layout, table: &Table) -> Vec<usize> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let rows = &table.block.rows;
    (0..heads.heads.len()).filter(|k| is_group(layout, rows, *k, &heads.heads[*k])).collect()
}

/// A column of device or direction; one of words without a role where each word stands in one run of rows.
pub(super) fn is_group(layout: &Layout, rows: &[u32], column: usize, head: &Heading) -> bool {
    let named = head.role == Role::Device;
    let words_may_group =
        head.unit.is_none() && matches!(head.role, Role::Unknown | Role::Irradiance) && rows.len() <= BY_HAND;
    if !named && !words_may_group {
        return false;
    }
    let (mut seen, mut runs): (Vec<(String, usize)>, usize) = (Vec::new(), 0);
    let mut before: Option<String> = None;
    for row in rows {
        let value = layout.cells(*row as usize).get(column).map(ToString::to_string).unwrap_or_default();
        if !named && (value.is_empty() || matches!(cell(&value, FORMATS[0]), Cell::Number(..))) {
            return false;
        }
        runs += usize::from(before.as_ref() != Some(&value));
        match seen.iter_mut().find(|(v, _)| *v == value) {
            Some((_, n)) => *n += 1,
            None => seen.push((value.clone(), 1)),
        }
        before = Some(value);
        if seen.len() > rows.len() / 2 {
            return false;
        }
    }
    let enough = if named { 2 } else { 4 };
    seen.iter().all(|(_, n)| *n >= enough) && (named || seen.len() > 1 && runs == seen.len())
}

/// The column of times in s, and its factor.
pub(super) fn time_column(
    table: &Table,
    options: &Options,
    layout: &Layout,
) -> Result<Option<(usize, f64)>, ReadError> {
    let heads = table.heads.as_ref().map(|h| h.heads.as_slice());
    let asked = given("time", options.time.as_ref(), heads, &looks(layout, table.block, heads))
        .map_err(ReadError::of_file)?;
    let of_unit = |k: usize| {
        heads.and_then(|h| h.get(k)).and_then(|h| h.unit.as_ref()).filter(|u| u.dimension == Dimension::Time)
    };
    if let Some(k) = asked {
        return Ok(Some((k, of_unit(k).map_or(1.0, |u| if u.factor == 3600.0 { 1.0 } else { u.factor }))));
    }
    let mut times = (0..heads.map_or(0, <[Heading]>::len)).filter(|k| of_unit(*k).is_some());
    Ok(match (times.next(), times.next()) {
        (Some(k), None) => of_unit(k).map(|u| (k, if u.text.contains(':') { 1.0 } else { u.factor })),
        _ => None,
    })
}

/// A time as a number, or as hh:mm:ss in s.
pub(super) fn seconds(text: &str, format: Format) -> Option<f64> {
    if let Cell::Number(value, "") = cell(text, format) {
        return Some(value);
    }
    let parts: Vec<f64> =
        text.split(':').map(|p| p.trim().replace(',', ".").parse().ok()).collect::<Option<_>>()?;
    match parts.as_slice() {
        [h, m, s] => Some(h * 3600.0 + m * 60.0 + s),
        _ => None,
    }
}
