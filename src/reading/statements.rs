//! What a file says of each sweep: its conditions and its label.

use super::error::ReadError;
use super::layout::{Kind, Layout, Other};
use super::lines::entry;
use super::metadata::{Conditions, Entry, is_condition, is_known_key};
use super::number::Format;
use super::part::BY_HAND;
use super::part::Part;
use super::table::Table;

pub(super) fn all_entries<'a>(layout: &'a Layout) -> &'a [Entry] {
    let others = || layout.blocks.iter().flat_map(|b| &b.above).chain(&layout.below);
    layout.entries.get_or_init(|| others().flat_map(entries_of).collect())
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
    while let Some((value, next_key, next_value)) = next_entry(rest) {
        list.push(made(key, value));
        (key, rest) = (next_key, next_value);
    }
    list.push(made(key, rest));
    list
}

/// The value before a further entry with a known key in the same line, and that entry: behind `;`, `,` or `|`, or as a word
/// `G=900` behind a blank.
fn next_entry(text: &str) -> Option<(&str, &str, &str)> {
    // A line with hundreds of them is no list of entries.
    for (at, mark) in text.char_indices().filter(|(_, c)| matches!(c, ';' | ',' | '|' | ' ' | '\t')).take(200)
    {
        let next = &text[at + 1..];
        let found = if matches!(mark, ' ' | '\t') {
            let end = next.find([' ', '\t']).unwrap_or(next.len());
            let joined = next[..end].find(['=', ':']).is_some_and(|k| k > 0 && k + 1 < end);
            entry(next).filter(|_| joined)
        } else {
            entry(next)
        };
        if let Some((key, value)) = found.filter(|(key, _)| is_known_key(key)) {
            return Some((&text[..at], key, value));
        }
    }
    None
}

/// What the entries say of each block: its own, those of blocks before where it repeats none, and those below the table.
pub(super) fn conditions(
    layout: &Layout,
    tables: &[Table],
    format: Format,
) -> Result<Vec<Conditions>, ReadError> {
    let take = |others: &[Other]| -> Result<Conditions, ReadError> {
        let mut found = Conditions::default();
        for entry in others.iter().flat_map(entries_of) {
            found.take(&entry, Some(format))?;
        }
        Ok(found)
    };
    // What stands below every table and above none but the next is said of the table before.
    let footers = are_footers(layout, tables);
    let below = if footers { Conditions::default() } else { take(&layout.below)? };
    let mut list: Vec<Conditions> = Vec::new();
    for (k, table) in tables.iter().enumerate() {
        let mut own = match (footers, tables.get(k + 1)) {
            (false, _) => take(&table.block.above)?,
            (true, Some(next)) => take(&next.block.above)?,
            (true, None) => take(&layout.below)?,
        };
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
    for own in &mut list {
        below.under(own);
        if tables.len() == 1 && own.label.is_none() {
            own.label.clone_from(&below.label);
        }
    }
    Ok(list)
}

/// Whether the entries of several tables stand below them: none above the first, and the same keys above each other one as below
/// the last.
fn are_footers(layout: &Layout, tables: &[Table]) -> bool {
    let keys = |others: &[Other]| -> Vec<String> {
        others.iter().flat_map(entries_of).map(|e| e.key).filter(|k| is_known_key(k)).collect()
    };
    let last = keys(&layout.below);
    tables.len() > 1
        && !last.is_empty()
        && keys(&tables[0].block.above).is_empty()
        && tables[1..].iter().all(|t| keys(&t.block.above) == last)
}

pub(super) fn known(said: &Conditions, option: &str) -> bool {
    match option {
        "area_cm2" => said.area_cm2.is_some(),
        "irradiance_w_m2" => said.irradiance_w_m2.is_some(),
        "temperature_c" => said.temperature_c.is_some(),
        _ => said.cells.is_some(),
    }
}

pub(super) fn label_of(
    layout: &Layout,
    table: &Table,
    part: &Part,
    said: &Conditions,
    several: bool,
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
            Kind::Entry(key, value) if several && !is_known_key(key) && key.chars().count() < 20 => {
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

/// Conditions that stand in columns of one value.
pub(super) fn of_columns(layout: &Layout, table: &Table) -> Vec<Entry> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let line = table.block.rows.first().map_or(1, |row| *row as usize + 1);
    (0..heads.heads.len())
        .filter(|k| heads.heads[*k].unit.is_some() && is_condition(&heads.heads[*k].text))
        .filter_map(|k| {
            Some(Entry { line, key: heads.heads[k].text.clone(), value: constant(layout, table, k)? })
        })
        .collect()
}

/// The text of a column that holds the same in every row.
pub(super) fn constant(layout: &Layout, table: &Table, column: usize) -> Option<String> {
    let first = layout.cells(*table.block.rows.first()? as usize).get(column)?.to_string();
    let same = table
        .block
        .rows
        .iter()
        .take(BY_HAND)
        .all(|row| layout.cells(*row as usize).get(column).is_some_and(|c| *c == first));
    (same && !first.is_empty()).then_some(first)
}
