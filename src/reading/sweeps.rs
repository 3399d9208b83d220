//! The blocks of a layout to sweeps: columns and units, how numbers are written, readings, and which rows belong together.
//!
//! Two blocks are one sweep where the second goes on as the first went: the same direction, and a step that is no larger
//! than the others. A block whose voltage jumps back by more than half of its range holds two sweeps.

use super::columns::{Chosen, Pair, choose, given};
use super::contents::FileSweep;
use super::delimiter::{Delimiter, usual};
use super::error::{Problem, ReadError, shown};
use super::heading::{Heading, Role};
use super::layout::{Block, Kind, Layout, Other, decimals};
use super::metadata::{Conditions, Entry, formats_of};
use super::number::{Cell, FORMATS, Format, Formats, cell, formats};
use super::options::Options;
use super::table::{Headings, Scale, from_units_of_cells, headings, looks, reading, unit_column};
use super::unit::{Dimension, Unit, unit};
use crate::sweep::{Leads, Sign, Swept};

/// One block with its columns.
struct Table<'b> {
    block: &'b Block,
    heads: Option<Headings>,
    /// Whether the heading stands above this block, and not above one before.
    own_heading: bool,
    chosen: Chosen,
}

/// Readings of one pair of columns and one device, before the blocks are joined.
#[derive(Clone, Debug)]
struct Part {
    block: usize,
    lines: Vec<u32>,
    v: Vec<f64>,
    i: Vec<f64>,
    t: Option<Vec<f64>>,
    pair: usize,
    /// What columns say of it: device, direction.
    group: Option<String>,
    left_out: Vec<u32>,
    density: bool,
    notes: Vec<String>,
    warnings: Vec<String>,
}

/// All sweeps of a layout; `heads` in place of headings that stand in the file.
pub(super) fn sweeps(
    layout: &Layout,
    heads: Option<&[String]>,
    options: &Options,
) -> Result<Vec<FileSweep>, ReadError> {
    refuse_rows_of_another_kind(layout)?;
    let tables = tables(layout, heads, options)?;
    let entries = all_entries(layout);
    let (format, note) = format_of(layout, &tables, &entries, options)?;
    let mut parts = Vec::new();
    for (k, table) in tables.iter().enumerate() {
        for pair in 0..table.chosen.pairs.len() {
            parts.extend(readings(layout, table, (k, pair), format, options)?);
        }
    }
    for (table, first) in tables.iter().zip(first_parts(&parts, tables.len())) {
        if table.chosen.by_position
            && let Some(part) = first
            && part.v.len() >= 5
            && uneven(&part.i) < 0.02
            && uneven(&part.v) > 0.2
        {
            return Err(ReadError::of_file(Problem::Exchanged));
        }
    }
    let joined = joined(parts, layout, &tables);
    let parted: Vec<Part> = joined.into_iter().flat_map(parted_at_jumps).collect();
    let kept: Vec<Part> = parted.iter().filter(|p| p.lines.len() >= 2).cloned().collect();
    if kept.is_empty() {
        let line = parted
            .first()
            .and_then(|p| p.lines.first().or(p.left_out.first()))
            .map_or(0, |l| *l as usize - 1);
        let rows = parted.first().map_or(0, |p| p.lines.len());
        return Err(ReadError::at(line, layout.lines.get(line), Problem::FewRows { rows }));
    }
    if let Some(few) = parted.iter().find(|p| p.lines.len() == 1) {
        let line = few.lines[0] as usize - 1;
        return Err(ReadError::at(line, layout.lines.get(line), Problem::FewRows { rows: 1 }));
    }
    dressed(layout, &tables, kept, format, &note)
}

/// Lines that were taken as text and look like rows: three or more that another delimiter cuts into two numbers.
fn refuse_rows_of_another_kind(layout: &Layout) -> Result<(), ReadError> {
    let texts =
        layout.blocks.iter().flat_map(|b| &b.above).chain(&layout.below).filter(|o| o.kind == Kind::Text);
    let lines: Vec<usize> = texts.map(|o| o.line).collect();
    for other in super::delimiter::ALL.into_iter().filter(|d| *d != layout.delimiter) {
        let like: Vec<usize> =
            lines.iter().copied().filter(|k| super::layout::is_row(layout.lines.get(*k), other, 2)).collect();
        if like.len() >= 3 {
            let problem = Problem::OtherRows {
                rows: like.len(),
                delimiter: other.name(),
                usual: layout.delimiter.name(),
            };
            return Err(ReadError::at(like[0], layout.lines.get(like[0]), problem));
        }
    }
    Ok(())
}

fn first_parts(parts: &[Part], count: usize) -> Vec<Option<&Part>> {
    (0..count).map(|k| parts.iter().find(|p| p.block == k)).collect()
}

fn uneven(x: &[f64]) -> f64 {
    let mut steps: Vec<f64> = x.windows(2).map(|p| p[1] - p[0]).collect();
    steps.sort_by(f64::total_cmp);
    let middle = steps[steps.len() / 2];
    let most = steps.iter().map(|s| (s - middle).abs()).fold(0.0, f64::max);
    if middle == 0.0 { f64::INFINITY } else { most / middle.abs() }
}

fn tables<'b>(
    layout: &'b Layout,
    heads: Option<&[String]>,
    options: &Options,
) -> Result<Vec<Table<'b>>, ReadError> {
    let mut list: Vec<Table> = Vec::new();
    let of_records = heads.map(|h| Headings {
        heads: h.iter().map(|t| Heading::new(t)).collect(),
        lines: Vec::new(),
        groups: None,
    });
    for block in &layout.blocks {
        let own = match &of_records {
            Some(found) => Some(found.clone()),
            None => headings(layout, block, options)?,
        };
        let own_heading = own.is_some();
        let before = list.last().and_then(|t| t.heads.clone());
        let found = own.or(before).or_else(|| {
            let heads = from_units_of_cells(layout, block)?;
            Some(Headings { heads, lines: Vec::new(), groups: None })
        });
        let heads = found.as_ref().map(|h| h.heads.as_slice());
        let looks = looks(layout, block, heads);
        let chosen = choose(heads, &looks, options).map_err(|problem| {
            match found.as_ref().and_then(|h| h.lines.first()) {
                Some(line) => ReadError::at(*line, layout.lines.get(*line), problem),
                None => ReadError::of_file(problem),
            }
        })?;
        list.push(Table { block, heads: found, own_heading, chosen });
    }
    Ok(list)
}

fn all_entries(layout: &Layout) -> Vec<Entry> {
    layout.blocks.iter().flat_map(|b| &b.above).chain(&layout.below).flat_map(entries_of).collect()
}

/// The entries of a line: `area = 9 mm²; light = 500 W/m²` holds two.
pub(super) fn entries_of(other: &Other) -> Vec<Entry> {
    let Kind::Entry(key, value) = &other.kind else { return Vec::new() };
    let made = |key: &str, value: &str| Entry {
        line: other.line + 1,
        key: key.trim().into(),
        value: value.trim().into(),
    };
    let mut list = Vec::new();
    let (mut key, mut rest) = (key.as_str(), value.as_str());
    while let Some((value, next)) = rest.split_once([';', ','])
        && let Some((next_key, next_value)) = super::lines::entry(next)
        && super::metadata::is_known_key(next_key)
    {
        list.push(made(key, value));
        (key, rest) = (next_key, next_value);
    }
    list.push(made(key, rest));
    list
}

/// How the numbers of the chosen columns are written, and a sentence on the evidence where it is not plain.
fn format_of(
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
            let cells = layout.cells(*row as usize);
            for column in table.chosen.pairs.iter().flat_map(|p| [p.voltage, p.current]) {
                let Some(text) = cells.get(column) else { continue };
                let own = formats(text).and(possible);
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

fn decided(
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
fn differing(layout: &Layout, tables: &[Table], common: Formats) -> Option<(usize, String, f64, f64)> {
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
fn of_other_columns(layout: &Layout, tables: &[Table]) -> Formats {
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

/// A column's unit, and what was said about it.
struct ColumnUnit {
    scale: Scale,
    note: Option<String>,
    warning: Option<String>,
}

fn column_unit(
    layout: &Layout,
    table: &Table,
    what: &'static str,
    column: usize,
    options: &Options,
) -> Result<ColumnUnit, ReadError> {
    let head = table.heads.as_ref().and_then(|h| h.heads.get(column));
    let examples = if what == "voltage" { "'V' or 'mV'" } else { "'A', 'mA', 'uA' or 'mA/cm2'" };
    let line = table.heads.as_ref().and_then(|h| h.lines.first().copied());
    let refuse = |problem: Problem| match line {
        Some(line) => ReadError::at(line, layout.lines.get(line), problem),
        None => ReadError::of_file(problem),
    };
    let checked = |text: &str, place: String| -> Result<Unit, ReadError> {
        let wanted = |u: &Unit| match what {
            "voltage" => u.dimension == Dimension::Voltage,
            _ => matches!(u.dimension, Dimension::Current | Dimension::Density),
        };
        let found = unit(text).filter(wanted).ok_or_else(|| {
            refuse(Problem::WrongUnit { place: place.clone(), unit: text.into(), what, examples })
        })?;
        if found.doubtful { Err(refuse(Problem::Mega { place, what, examples })) } else { Ok(found) }
    };
    let sign = if head.is_some_and(|h| h.negated) { -1.0 } else { 1.0 };
    let turned = head.filter(|h| h.negated).map(|h| format!("{what} turned: the heading is '{}'", h.text));
    let with = |u: Unit, note: Option<String>| ColumnUnit {
        scale: Scale { dimension: u.dimension, factor: sign * u.factor, sign, on_the_cells: false },
        note: match (note, turned.clone()) {
            (Some(note), Some(turned)) => Some(format!("{note}; {turned}")),
            (note, turned) => note.or(turned),
        },
        warning: None,
    };
    let asked = if what == "voltage" { &options.voltage_unit } else { &options.current_unit };
    if let Some(text) = asked {
        let found = checked(text, format!("{what}_unit"))?;
        let other =
            head.and_then(|h| h.unit.as_ref().map(|u| (h, u.factor))).filter(|(_, f)| *f != found.factor);
        return Ok(with(
            found,
            other.map(|(h, _)| {
                format!("{what} read in {text} as asked, though the heading says '{}'", h.text)
            }),
        ));
    }
    if let Some(head) = head {
        if let Some(text) = &head.unknown_unit {
            return Err(refuse(Problem::UnknownUnit {
                what,
                heading: head.text.clone(),
                unit: text.clone(),
            }));
        }
        if let Some(found) = &head.unit {
            let place = format!("heading '{}'", head.text);
            let found = checked(&found.text, place)?;
            let note = (found.factor != 1.0)
                .then(|| format!("{what} read in {} from the heading '{}'", found.text, head.text));
            return Ok(with(found, note));
        }
    }
    if let Some(text) = unit_column(layout, table.block, column) {
        let found = checked(&text, format!("column {}", column + 1))?;
        return Ok(with(found, Some(format!("{what} read in {text} from the column behind it"))));
    }
    let entries: Vec<Entry> = all_entries(layout);
    let mut said = Conditions::default();
    for entry in entries.iter().filter(|e| super::metadata::is_known_key(&e.key)) {
        let _ = said.take(entry, None);
    }
    let stated = if what == "voltage" { said.voltage_unit } else { said.current_unit };
    if let Some((line, text)) = stated {
        let found = checked(&text, format!("line {line}"))?;
        return Ok(with(found, Some(format!("{what} read in {text} as line {line} says"))));
    }
    if let Some(head) = head.filter(|h| h.role == Role::Density) {
        return Err(refuse(Problem::DensityWithoutUnit { heading: head.text.clone() }));
    }
    let (dimension, si) =
        if what == "voltage" { (Dimension::Voltage, "V") } else { (Dimension::Current, "A") };
    // Units on the numbers themselves need no word.
    let on_the_cells = table.block.rows.iter().take(3).all(|row| {
        let cells = layout.cells(*row as usize);
        let own = cells.get(column).and_then(|c| {
            FORMATS.iter().find_map(|f| match cell(c, *f) {
                Cell::Number(_, rest) => Some(unit(rest).is_some()),
                _ => None,
            })
        });
        own.unwrap_or(false)
    });
    let warning = (!on_the_cells)
        .then(|| format!("no unit for the {what}: taken as {si}; pass {what}_unit if that is wrong"));
    Ok(ColumnUnit { scale: Scale { dimension, factor: sign, sign, on_the_cells }, note: turned, warning })
}

/// The readings of one pair of columns, a part for each device or direction that other columns name.
fn readings(
    layout: &Layout,
    table: &Table,
    (block, pair): (usize, usize),
    format: Format,
    options: &Options,
) -> Result<Vec<Part>, ReadError> {
    let Pair { voltage, current, .. } = table.chosen.pairs[pair];
    let v_unit = column_unit(layout, table, "voltage", voltage, options)?;
    let i_unit = column_unit(layout, table, "current", current, options)?;
    let groups = group_columns(layout, table);
    let time = time_column(table, options, layout)?;
    let several = table.chosen.pairs.len() > 1;
    let empty = Part {
        block,
        lines: Vec::new(),
        v: Vec::new(),
        i: Vec::new(),
        t: time.map(|_| Vec::new()),
        pair,
        group: None,
        left_out: Vec::new(),
        density: i_unit.scale.dimension == Dimension::Density,
        notes: [v_unit.note.clone(), i_unit.note.clone()]
            .into_iter()
            .flatten()
            .chain(table.chosen.notes.iter().cloned())
            .collect(),
        warnings: [v_unit.warning.clone(), i_unit.warning.clone()].into_iter().flatten().collect(),
    };
    let mut parts: Vec<Part> = Vec::new();
    if groups.is_empty() {
        parts.push(Part {
            lines: Vec::with_capacity(table.block.rows.len()),
            v: Vec::with_capacity(table.block.rows.len()),
            i: Vec::with_capacity(table.block.rows.len()),
            ..empty.clone()
        });
    }
    let odd = oddities(layout, table, &[voltage, current]);
    for row in &table.block.rows {
        let line = *row as usize;
        let cells = layout.cells(line);
        let text = |column: usize| cells.get(column).map_or("", |c| c.as_ref());
        if several && text(voltage).is_empty() && text(current).is_empty() {
            continue;
        }
        check_width(layout, line, &cells.len(), table)?;
        let of = |what, column: usize, of: &Scale| {
            let found = reading(text(column), format, what, of, layout.delimiter == Delimiter::Blanks)
                .map_err(|p| ReadError::at(line, layout.lines.get(line), p))?;
            if found.is_none() && options.overflow_is_error {
                let problem = Problem::Overflow { what, cell: text(column).to_owned() };
                return Err(ReadError::at(line, layout.lines.get(line), problem));
            }
            Ok(found)
        };
        let v = of("voltage", voltage, &v_unit.scale)?;
        let i = of("current", current, &i_unit.scale)?;
        let key = (!groups.is_empty()).then(|| groups.iter().map(|c| text(*c)).collect::<Vec<_>>().join(" "));
        let at = match parts.iter().position(|p| p.group == key) {
            Some(at) => at,
            None => {
                parts.push(Part { group: key, ..empty.clone() });
                parts.len() - 1
            }
        };
        let part = &mut parts[at];
        match (v, i) {
            (Some(v), Some(i)) => {
                part.lines.push(*row + 1);
                part.v.push(v);
                part.i.push(i);
                if let (Some((column, factor)), Some(t)) = (time, &mut part.t) {
                    match seconds(text(column), format) {
                        Some(s) => t.push(s * factor),
                        None => part.t = None,
                    }
                }
            }
            _ => part.left_out.push(*row + 1),
        }
    }
    parts.iter_mut().for_each(|p| p.notes.extend(odd.iter().cloned()));
    Ok(parts)
}

/// Rows looked at for oddities: a longer file was not written by hand.
const BY_HAND: usize = 5000;

/// Rows that look damaged though they can be read: a quote that does not close, a number with two decimals less than every
/// other of its column.
fn oddities(layout: &Layout, table: &Table, columns: &[usize]) -> Vec<String> {
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
        let odd: Vec<u32> = counts.iter().filter(|c| c.1 + 2 <= usual).map(|c| c.0).collect();
        if let Some(first) = odd.first()
            && counts.len() >= 4
            && 5 * odd.len() <= counts.len()
        {
            notes.push(format!(
                "a number with fewer decimals than the others, first in {}: {} of {} rows",
                place(*first),
                odd.len(),
                counts.len()
            ));
        }
    }
    notes
}

/// A row of another number of cells is refused where a number stands beyond the headings, or a cell may have slipped.
fn check_width(layout: &Layout, line: usize, cells: &usize, table: &Table) -> Result<(), ReadError> {
    let width = layout.width;
    if *cells == width {
        return Ok(());
    }
    let row = layout.cells(line);
    let extra = row
        .iter()
        .skip(width)
        .any(|c| cell(c, FORMATS[0]).is_like_a_number() || cell(c, FORMATS[1]).is_like_a_number());
    let slipped = *cells < width && layout.delimiter == Delimiter::Blanks && {
        let last = table.chosen.pairs.iter().map(|p| p.voltage.max(p.current)).max().unwrap_or(0);
        let flags = (*cells..width).all(|k| {
            table
                .heads
                .as_ref()
                .and_then(|h| h.heads.get(k))
                .is_none_or(|h| matches!(h.role, Role::Flag | Role::Unknown | Role::Other))
        });
        !(flags && last < *cells)
    };
    if extra || slipped {
        return Err(ReadError::at(line, layout.lines.get(line), Problem::Width { cells: *cells, width }));
    }
    Ok(())
}

/// Columns that name a device or a direction: few different values, each of several rows.
fn group_columns(layout: &Layout, table: &Table) -> Vec<usize> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let rows = &table.block.rows;
    (0..heads.heads.len()).filter(|k| is_group(layout, rows, *k, &heads.heads[*k])).collect()
}

/// A column of device or direction; one of words without a role where each word stands in one run of rows.
fn is_group(layout: &Layout, rows: &[u32], column: usize, head: &Heading) -> bool {
    let named = head.role == Role::Device;
    if !named && !(head.unit.is_none() && matches!(head.role, Role::Unknown | Role::Irradiance))
        || rows.len() > BY_HAND && !named
    {
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
fn time_column(table: &Table, options: &Options, layout: &Layout) -> Result<Option<(usize, f64)>, ReadError> {
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
fn seconds(text: &str, format: Format) -> Option<f64> {
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

/// Parts of consecutive blocks that belong to one sweep, joined.
fn joined(parts: Vec<Part>, layout: &Layout, tables: &[Table]) -> Vec<Part> {
    let alone =
        tables.len() > 2 && 4 * layout.blocks.iter().filter(|b| b.rows.len() == 1).count() > 3 * tables.len();
    let mut list: Vec<Part> = Vec::new();
    for part in parts {
        let at = list.iter().rposition(|p| p.pair == part.pair && p.group == part.group);
        match at.filter(|at| belongs(&list[*at], &part, &tables[part.block], layout, alone)) {
            Some(at) => {
                let noted = note_of_join(layout, &layout.blocks[part.block]);
                let one = &mut list[at];
                one.lines.extend(part.lines);
                one.v.extend(part.v);
                one.i.extend(part.i);
                one.left_out.extend(part.left_out);
                one.t = one.t.take().zip(part.t).map(|(mut a, b)| {
                    a.extend(b);
                    a
                });
                one.block = one.block.min(part.block);
                for text in noted.into_iter().chain(part.notes) {
                    if !one.notes.contains(&text) {
                        one.notes.push(text);
                    }
                }
            }
            None => list.push(part),
        }
    }
    list
}

fn note_of_join(layout: &Layout, block: &Block) -> Option<String> {
    let between: Vec<String> = block
        .above
        .iter()
        .filter(|o| matches!(o.kind, Kind::Text | Kind::Comment(_) | Kind::Entry(..)))
        .map(|o| format!("line {} ('{}')", o.line + 1, shown(layout.lines.get(o.line))))
        .collect();
    (!between.is_empty()).then(|| format!("one sweep goes on behind {}", between.join(", ")))
}

/// Whether a block's rows go on where those before it ended.
fn belongs(before: &Part, next: &Part, table: &Table, layout: &Layout, alone: bool) -> bool {
    let block = table.block;
    let names = block.above.iter().flat_map(entries_of).any(|e| super::metadata::is_known_key(&e.key));
    if names {
        return false;
    }
    let only_rows_left_out = block.above.iter().all(|o| matches!(o.kind, Kind::Muted | Kind::Summary));
    let only_blanks = block.above.iter().all(|o| matches!(o.kind, Kind::Blank));
    if only_rows_left_out || alone && only_blanks || next.lines.is_empty() || before.lines.is_empty() {
        return true;
    }
    let _ = layout;
    goes_on(&before.v, &next.v) || goes_on(&before.i, &next.i)
}

fn goes_on(before: &[f64], next: &[f64]) -> bool {
    let steps = |x: &[f64]| x.windows(2).map(|p| p[1] - p[0]).collect::<Vec<f64>>();
    let (a, b) = (steps(before), steps(next));
    let (Some(last), Some(first)) = (before.last(), next.first()) else { return true };
    let jump = first - last;
    let all: Vec<f64> = a.iter().chain(&b).copied().collect();
    let up = all.iter().filter(|s| **s > 0.0).count();
    let down = all.iter().filter(|s| **s < 0.0).count();
    // The quantity that runs one way.
    if all.len() < 3 || up.min(down) * 8 > up.max(down) {
        return false;
    }
    let sense = if up > down { 1.0 } else { -1.0 };
    let largest = all.iter().map(|s| s.abs()).fold(0.0, f64::max);
    jump * sense > 0.0 && jump.abs() <= 2.5 * largest
}

/// A part whose voltage jumps back holds several sweeps.
fn parted_at_jumps(part: Part) -> Vec<Part> {
    let cuts = if part.group.is_some() && false {
        Vec::new()
    } else {
        jumps(&part.v).or_else(|| jumps(&part.i)).unwrap_or_default()
    };
    if cuts.is_empty() {
        return vec![part];
    }
    let mut bounds = vec![0];
    bounds.extend(&cuts);
    bounds.push(part.v.len());
    bounds
        .windows(2)
        .map(|w| {
            let range = w[0]..w[1];
            let mut notes = part.notes.clone();
            notes.push(format!("parted at line {}, where the readings jump back", part.lines[cuts[0]]));
            Part {
                lines: part.lines[range.clone()].to_vec(),
                v: part.v[range.clone()].to_vec(),
                i: part.i[range.clone()].to_vec(),
                t: part.t.as_ref().map(|t| t[range.clone()].to_vec()),
                left_out: part
                    .left_out
                    .iter()
                    .copied()
                    .filter(|l| *l >= part.lines[w[0]] && (w[1] >= part.lines.len() || *l < part.lines[w[1]]))
                    .collect(),
                notes,
                ..part.clone()
            }
        })
        .collect()
}

/// Where a quantity that runs one way in small steps jumps back by more than half of its range, with four rows on each side.
fn jumps(x: &[f64]) -> Option<Vec<usize>> {
    let (low, high) = x.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(*v), b.max(*v)));
    let range = high - low;
    let steps: Vec<f64> = x.windows(2).map(|p| p[1] - p[0]).collect();
    let big = |s: &f64| s.abs() > 0.5 * range;
    let cuts: Vec<usize> = (0..steps.len()).filter(|k| big(&steps[*k])).map(|k| k + 1).collect();
    if cuts.is_empty() || cuts.len() > x.len() / 5 {
        return None;
    }
    let small: Vec<f64> = steps.iter().copied().filter(|s| !big(s)).collect();
    let up = small.iter().filter(|s| **s > 0.0).count();
    let down = small.iter().filter(|s| **s < 0.0).count();
    let sense = if up > down { 1.0 } else { -1.0 };
    let back = cuts.iter().all(|k| steps[k - 1] * sense < 0.0);
    let mut bounds = vec![0];
    bounds.extend(&cuts);
    bounds.push(x.len());
    let long = bounds.windows(2).all(|w| w[1] - w[0] >= 4);
    (back && long && up.min(down) * 8 <= up.max(down)).then_some(cuts)
}

/// The parts with what the file says of each.
fn dressed(
    layout: &Layout,
    tables: &[Table],
    parts: Vec<Part>,
    format: Format,
    note: &Option<String>,
) -> Result<Vec<FileSweep>, ReadError> {
    let conditions = conditions(layout, tables, &parts, format)?;
    let several = parts.len() > 1;
    let general = general_notes(layout, tables);
    let mut list = Vec::with_capacity(parts.len());
    for (k, part) in parts.into_iter().enumerate() {
        let table = &tables[part.block];
        let said = &conditions[part.block];
        let mut notes: Vec<String> = note.iter().cloned().collect();
        notes.extend(part.notes.clone());
        notes.extend(said.remarks.clone());
        if table.chosen.pairs.len() > 1 {
            let pair = &table.chosen.pairs[part.pair];
            notes.push(format!(
                "one of {} sweeps of the table: columns {} and {}, counted from 0",
                table.chosen.pairs.len(),
                pair.voltage,
                pair.current
            ));
        }
        notes.extend(turn(&part));
        notes.extend(varying(layout, table));
        if !part.left_out.is_empty() {
            notes.push(format!("rows without a number left out: {}", lines_of(&part.left_out)));
        }
        notes.extend(general.iter().cloned());
        let label = label_of(layout, table, &part, said, several, k);
        let swept = match said.swept.as_deref() {
            Some("voltage") => Some(Swept::Voltage),
            Some("current") => Some(Swept::Current),
            _ => match table.chosen.voltage_was_set {
                Some(false) => Some(Swept::Current),
                _ => None,
            },
        };
        if swept == Some(Swept::Current) && said.swept.is_none() {
            notes.push("the current was stepped: a column says that it was set".into());
        }
        let mut sentences = Vec::new();
        for (option, found) in [
            ("area_cm2", &said.area_cm2),
            ("irradiance_w_m2", &said.irradiance_w_m2),
            ("temperature_c", &said.temperature_c),
            ("cells", &said.cells),
        ] {
            sentences.extend(found.iter().map(|s| (option, s.sentence.clone())));
        }
        for (option, word) in [("swept", &said.swept), ("sign", &said.sign), ("leads", &said.leads)] {
            sentences.extend(word.iter().map(|w| (option, format!("{option} = {w} as the file says"))));
        }
        let time_s = part.t.filter(|t| t.len() == part.v.len() && t.windows(2).all(|w| w[1] >= w[0]));
        list.push(FileSweep {
            is_density: part.density,
            time_s,
            lines: part.lines,
            voltage_v: part.v,
            current_a: part.i,
            label,
            area_cm2: said.area_cm2.as_ref().map(|s| s.value),
            irradiance_w_m2: said.irradiance_w_m2.as_ref().map(|s| s.value),
            temperature_c: said.temperature_c.as_ref().map(|s| s.value),
            cells: said.cells.as_ref().map(|s| s.value as u32),
            swept,
            sign: said.sign.as_deref().map(|w| if w == "load" { Sign::Load } else { Sign::Generator }),
            leads: said
                .leads
                .as_deref()
                .map(|w| if w == "swapped" { Leads::Swapped } else { Leads::AsGiven }),
            notes,
            said: sentences,
            warnings: part.warnings,
            doubts: said.doubts.iter().filter(|(option, _)| !known(said, option)).cloned().collect(),
        });
    }
    Ok(list)
}

fn known(said: &Conditions, option: &str) -> bool {
    match option {
        "area_cm2" => said.area_cm2.is_some(),
        "irradiance_w_m2" => said.irradiance_w_m2.is_some(),
        "temperature_c" => said.temperature_c.is_some(),
        _ => said.cells.is_some(),
    }
}

/// What the entries say of each block: its own, those of blocks before where it repeats none, and those below the table.
fn conditions(
    layout: &Layout,
    tables: &[Table],
    parts: &[Part],
    format: Format,
) -> Result<Vec<Conditions>, ReadError> {
    let take = |others: &[Other]| -> Result<Conditions, ReadError> {
        let mut found = Conditions::default();
        for entry in others.iter().flat_map(entries_of) {
            found.take(&entry, Some(format))?;
        }
        Ok(found)
    };
    let below = take(&layout.below)?;
    let mut list: Vec<Conditions> = Vec::new();
    for table in tables {
        let mut own = take(&table.block.above)?;
        for entry in of_columns(layout, table) {
            own.take(&entry, Some(format))?;
        }
        if let Some(before) = list.last() {
            let mut common = before.clone();
            common.label = None;
            common.doubts.clear();
            common.remarks.clear();
            common.under(&mut own);
        }
        list.push(own);
    }
    let _ = parts;
    for own in &mut list {
        below.under(own);
        if tables.len() == 1 && own.label.is_none() {
            own.label.clone_from(&below.label);
        }
    }
    Ok(list)
}

fn label_of(
    layout: &Layout,
    table: &Table,
    part: &Part,
    said: &Conditions,
    several: bool,
    _k: usize,
) -> Option<String> {
    let pair = &table.chosen.pairs[part.pair];
    let group_name = table.heads.as_ref().and_then(|h| h.groups.as_ref()).and_then(|names| {
        let upto = pair.voltage.max(pair.current);
        names[..=upto].iter().rev().find(|n| !n.is_empty()).cloned()
    });
    let own = [
        part.group.clone(),
        group_name.filter(|_| table.chosen.pairs.len() > 1).or_else(|| pair.label.clone()),
    ];
    let own: Vec<String> = own.into_iter().flatten().collect();
    let title = || {
        let is_heading = |line: usize| table.heads.as_ref().is_some_and(|h| h.lines.contains(&line));
        table.block.above.iter().rev().find_map(|o| match &o.kind {
            Kind::Text if !is_heading(o.line) => Some(
                layout
                    .lines
                    .get(o.line)
                    .trim()
                    .trim_matches(['-', '=', '*', '[', ']', ':', ' ', '"', ';', ',', '\t'])
                    .to_owned(),
            ),
            Kind::Comment(text) if !is_heading(o.line) && !text.is_empty() => Some(text.clone()),
            Kind::Entry(key, value)
                if several && !super::metadata::is_known_key(key) && key.chars().count() < 20 =>
            {
                Some(format!("{key}: {value}"))
            }
            _ => None,
        })
    };
    let said = said.label.clone().or_else(|| if several && layout.blocks.len() > 1 { title() } else { None });
    match (said, own.is_empty()) {
        (said, true) => said,
        (None, false) => Some(own.join(" ")),
        (Some(said), false) => Some(format!("{said} {}", own.join(" "))),
    }
}

/// That the readings go one way and come back, where they do.
fn turn(part: &Part) -> Option<String> {
    let n = part.v.len();
    let (low, high) = extremes(&part.v);
    let inner = |k: usize| k > n / 5 && k + n / 5 < n;
    let back = (part.v.first()? - part.v.last()?).abs() < 0.5 * (part.v[high] - part.v[low]).abs();
    let at = [low, high].into_iter().find(|k| inner(*k))?;
    (n >= 10 && back)
        .then(|| format!("one sweep that goes to {} V in line {} and comes back", part.v[at], part.lines[at]))
}

fn extremes(x: &[f64]) -> (usize, usize) {
    let mut ends = (0, 0);
    for (k, v) in x.iter().enumerate() {
        if *v < x[ends.0] {
            ends.0 = k;
        }
        if *v > x[ends.1] {
            ends.1 = k;
        }
    }
    ends
}

/// Columns of irradiance or temperature that are not used since they vary.
fn varying(layout: &Layout, table: &Table) -> Vec<String> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let columns = (0..heads.heads.len()).filter(|k| {
        matches!(heads.heads[*k].role, Role::Irradiance | Role::Temperature) && heads.heads[*k].unit.is_some()
    });
    columns
        .filter(|k| constant(layout, table, *k).is_none())
        .map(|k| format!("column '{}' varies and is not used", heads.heads[k].text))
        .collect()
}

/// The text of a column that holds the same in every row.
fn constant(layout: &Layout, table: &Table, column: usize) -> Option<String> {
    let first = layout.cells(*table.block.rows.first()? as usize).get(column)?.to_string();
    let same = table
        .block
        .rows
        .iter()
        .take(BY_HAND)
        .all(|row| layout.cells(*row as usize).get(column).is_some_and(|c| *c == first));
    (same && !first.is_empty()).then_some(first)
}

/// Conditions that stand in columns of one value.
fn of_columns(layout: &Layout, table: &Table) -> Vec<Entry> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let line = table.block.rows.first().map_or(1, |row| *row as usize + 1);
    (0..heads.heads.len())
        .filter(|k| heads.heads[*k].unit.is_some() && super::metadata::is_condition(&heads.heads[*k].text))
        .filter_map(|k| {
            Some(Entry { line, key: heads.heads[k].text.clone(), value: constant(layout, table, k)? })
        })
        .collect()
}

/// Sentences on what of the file was not read: rows behind comment marks, summaries, text, a cut line.
fn general_notes(layout: &Layout, tables: &[Table]) -> Vec<String> {
    let mut notes = Vec::new();
    let all = || layout.blocks.iter().flat_map(|b| &b.above).chain(&layout.below);
    let of = |kind: fn(&Kind) -> bool| {
        all().filter(|o| kind(&o.kind)).map(|o| o.line as u32 + 1).collect::<Vec<u32>>()
    };
    for (lines, what) in [
        (of(|k| matches!(k, Kind::Muted)), "rows behind a comment mark left out"),
        (of(|k| matches!(k, Kind::Summary)), "rows that summarise others left out"),
    ] {
        if !lines.is_empty() {
            notes.push(format!("{what}: {}", lines_of(&lines)));
        }
    }
    if let Some(line) = layout.cut {
        notes.push(format!(
            "the last line is cut off and was left out: line {} ('{}')",
            line + 1,
            shown(layout.lines.get(line))
        ));
    }
    let headings: Vec<usize> =
        tables.iter().flat_map(|t| t.heads.iter().flat_map(|h| h.lines.clone())).collect();
    let texts: Vec<String> = all()
        .filter(|o| matches!(o.kind, Kind::Text) && !headings.contains(&o.line))
        .map(|o| format!("line {} ('{}')", o.line + 1, shown(layout.lines.get(o.line))))
        .collect();
    if !texts.is_empty() {
        let more = if texts.len() > 5 { format!(" and {} more", texts.len() - 5) } else { String::new() };
        notes.push(format!(
            "text left out: {}{more}",
            texts.iter().take(5).cloned().collect::<Vec<_>>().join(", ")
        ));
    }
    notes
}

/// `line 7`, `lines 7, 9, 12 and 5 more`.
fn lines_of(lines: &[u32]) -> String {
    let shown: Vec<String> = lines.iter().take(8).map(u32::to_string).collect();
    let more = if lines.len() > 8 { format!(" and {} more", lines.len() - 8) } else { String::new() };
    format!("line{} {}{more}", if lines.len() > 1 { "s" } else { "" }, shown.join(", "))
}

/// Every line that is neither a row nor a heading nor an entry, with its text.
pub(super) fn remarks(layout: &Layout) -> Vec<(usize, String)> {
    let kept = |o: &&Other| matches!(o.kind, Kind::Text | Kind::Comment(_) | Kind::Summary | Kind::Muted);
    layout
        .blocks
        .iter()
        .flat_map(|b| &b.above)
        .chain(&layout.below)
        .filter(kept)
        .map(|o| (o.line + 1, layout.lines.get(o.line).trim().to_owned()))
        .collect()
}

pub(super) fn entries(layout: &Layout) -> Vec<Entry> {
    all_entries(layout)
}

#[allow(unused)]
fn unused(t: &Table) -> bool {
    t.own_heading
}
