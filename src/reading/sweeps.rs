//! The blocks of a layout to sweeps: columns, how numbers are written, readings, which of them belong together, and what
//! the file says of each.

use super::columns::choose;
use super::contents::FileSweep;
use super::delimiter::ALL;
use super::error::{Problem, ReadError, shown};
use super::heading::Heading;
use super::joining::{joined, parted_at_jumps};
use super::layout::{Kind, Layout, is_row};
use super::metadata::{Conditions, Said};
use super::notes::{general_notes, lines_of, turn, varying};
use super::number::Format;
use super::number_format::format_of;
use super::options::Options;
use super::part::Part;
use super::readings::readings;
use super::statements::{all_entries, conditions, known, label_of};
use super::table::{Headings, Table, from_units_of_cells, headings, looks};
use crate::sweep::{Leads, Sign, Swept};

/// All sweeps of a layout; `heads` in place of headings that stand in the file.
pub(super) fn sweeps(
    layout: &Layout,
    heads: Option<&[String]>,
    options: &Options,
) -> Result<Vec<FileSweep>, ReadError> {
    refuse_rows_of_another_kind(layout)?;
    let tables = tables(layout, heads, options)?;
    let entries = all_entries(layout);
    let (format, note) = format_of(layout, &tables, entries, options)?;
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
    let mut parted: Vec<Part> = joined.into_iter().flat_map(parted_at_jumps).collect();
    refuse_few_rows(layout, &parted)?;
    parted.retain(|p| p.lines.len() >= 2);
    dressed(layout, &tables, parted, format, &note)
}

/// A sweep of one reading, or a file without any.
fn refuse_few_rows(layout: &Layout, parts: &[Part]) -> Result<(), ReadError> {
    let refuse = |line: u32, rows| {
        let line = line as usize - 1;
        Err(ReadError::at(line, layout.lines.get(line), Problem::FewRows { rows }))
    };
    if let Some(few) = parts.iter().find(|p| p.lines.len() == 1) {
        return refuse(few.lines[0], 1);
    }
    if parts.iter().all(|p| p.lines.is_empty()) {
        let left_out = parts.first().and_then(|p| p.left_out.first());
        return refuse(left_out.copied().unwrap_or(1), 0);
    }
    Ok(())
}

/// Lines that were taken as text and look like rows: three or more that another delimiter cuts into two numbers.
fn refuse_rows_of_another_kind(layout: &Layout) -> Result<(), ReadError> {
    let texts =
        layout.blocks.iter().flat_map(|b| &b.above).chain(&layout.below).filter(|o| o.kind == Kind::Text);
    let lines: Vec<usize> = texts.map(|o| o.line).collect();
    for other in ALL.into_iter().filter(|d| *d != layout.delimiter) {
        let like: Vec<usize> =
            lines.iter().copied().filter(|k| is_row(layout.lines.get(*k), other, 2)).collect();
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
        let before = list.last().and_then(|t| t.heads.clone());
        let inherited = own.is_none() && before.is_some();
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
        list.push(Table { block, heads: found, inherited, chosen });
    }
    Ok(list)
}

/// The parts with what the file says of each.
fn dressed(
    layout: &Layout,
    tables: &[Table],
    parts: Vec<Part>,
    format: Format,
    note: &Option<String>,
) -> Result<Vec<FileSweep>, ReadError> {
    let conditions = conditions(layout, tables, format)?;
    let several = parts.len() > 1;
    let general = general_notes(layout, tables);
    let one = |part: Part| {
        let (table, said) = (&tables[part.block], &conditions[part.block]);
        let mut notes: Vec<String> = note.iter().chain(&part.notes).chain(&said.remarks).cloned().collect();
        notes.extend(notes_of(layout, table, &part, said));
        notes.extend(general.iter().cloned());
        let label = label_of(layout, table, &part, said, several);
        file_sweep(part, said, (label, swept(table, said), notes))
    };
    Ok(parts.into_iter().map(one).collect())
}

/// Sentences on one sweep of several, its turn, its rows without a number, and what a set column says.
fn notes_of(layout: &Layout, table: &Table, part: &Part, said: &Conditions) -> Vec<String> {
    let mut notes = Vec::new();
    let pairs = &table.chosen.pairs;
    if pairs.len() > 1 {
        let pair = &pairs[part.pair];
        notes.push(format!(
            "one of {} sweeps of the table: columns {} and {}, counted from 0",
            pairs.len(),
            pair.voltage,
            pair.current
        ));
    }
    notes.extend(inherited(layout, table));
    notes.extend(turn(part));
    notes.extend(varying(layout, table));
    if !part.left_out.is_empty() {
        notes.push(format!("rows without a number left out: {}", lines_of(&part.left_out)));
    }
    if swept(table, said) == Some(Swept::Current) && said.swept.is_none() {
        notes.push("the current was stepped: a column says that it was set".into());
    }
    notes
}

/// That the headings of an earlier block stand for rows below metadata of their own.
fn inherited(layout: &Layout, table: &Table) -> Option<String> {
    let line = *table.heads.as_ref().filter(|_| table.inherited)?.lines.first()?;
    let own = table.block.above.iter().any(|o| matches!(o.kind, Kind::Comment(_) | Kind::Entry(..)));
    own.then(|| {
        format!("no headings of its own: those of line {} ('{}')", line + 1, shown(layout.lines.get(line)))
    })
}

/// The quantity that was stepped, as an entry or a set column says it.
fn swept(table: &Table, said: &Conditions) -> Option<Swept> {
    match said.swept.as_deref() {
        Some("voltage") => Some(Swept::Voltage),
        Some("current") => Some(Swept::Current),
        _ => (table.chosen.voltage_was_set == Some(false)).then_some(Swept::Current),
    }
}

fn file_sweep(
    part: Part,
    said: &Conditions,
    (label, swept, notes): (Option<String>, Option<Swept>, Vec<String>),
) -> FileSweep {
    let time_s = part.t.filter(|t| t.len() == part.v.len() && t.windows(2).all(|w| w[1] >= w[0]));
    let value = |said: &Option<Said>| said.as_ref().map(|s| s.value);
    FileSweep {
        is_density: part.density,
        time_s,
        lines: part.lines,
        voltage_v: part.v,
        current_a: part.i,
        label,
        area_cm2: value(&said.area_cm2),
        irradiance_w_m2: value(&said.irradiance_w_m2),
        temperature_c: value(&said.temperature_c),
        cells: value(&said.cells).map(|n| n as u32),
        swept,
        sign: said.sign.as_deref().map(|w| if w == "load" { Sign::Load } else { Sign::Generator }),
        leads: said.leads.as_deref().map(|w| if w == "swapped" { Leads::Swapped } else { Leads::AsGiven }),
        notes,
        said: sentences(said),
        warnings: part.warnings,
        doubts: said.doubts.iter().filter(|(option, _)| !known(said, option)).cloned().collect(),
    }
}

/// Where each option of the sweep stands in the file.
fn sentences(said: &Conditions) -> Vec<(&'static str, String)> {
    let numbers = [
        ("area_cm2", &said.area_cm2),
        ("irradiance_w_m2", &said.irradiance_w_m2),
        ("temperature_c", &said.temperature_c),
        ("cells", &said.cells),
    ];
    let words = [("swept", &said.swept), ("sign", &said.sign), ("leads", &said.leads)];
    let number =
        |(option, found): (&'static str, &Option<Said>)| Some((option, found.as_ref()?.sentence.clone()));
    let word = |(option, found): (&'static str, &Option<String>)| {
        Some((option, format!("{option} = {} as the file says", found.as_ref()?)))
    };
    numbers.into_iter().filter_map(number).chain(words.into_iter().filter_map(word)).collect()
}
