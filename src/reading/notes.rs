//! Sentences on what was assumed, and on what of the file was not read.

use super::error::shown;
use super::heading::Role;
use super::layout::{Kind, Layout, Other};
use super::part::Part;
use super::statements::constant;
use super::table::Table;

/// Sentences on what of the file was not read: rows behind comment marks, summaries, text, a cut line.
pub(super) fn general_notes(layout: &Layout, tables: &[Table]) -> Vec<String> {
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
pub(super) fn lines_of(lines: &[u32]) -> String {
    let shown: Vec<String> = lines.iter().take(8).map(u32::to_string).collect();
    let more = if lines.len() > 8 { format!(" and {} more", lines.len() - 8) } else { String::new() };
    format!("line{} {}{more}", if lines.len() > 1 { "s" } else { "" }, shown.join(", "))
}

/// That the readings go one way and come back, where they do.
pub(super) fn turn(part: &Part) -> Option<String> {
    let n = part.v.len();
    let (low, high) = extremes(&part.v);
    let inner = |k: usize| k > n / 5 && k + n / 5 < n;
    let back = (part.v.first()? - part.v.last()?).abs() < 0.5 * (part.v[high] - part.v[low]).abs();
    let at = [low, high].into_iter().find(|k| inner(*k))?;
    (n >= 10 && back)
        .then(|| format!("one sweep that goes to {} V in line {} and comes back", part.v[at], part.lines[at]))
}

pub(super) fn extremes(x: &[f64]) -> (usize, usize) {
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
pub(super) fn varying(layout: &Layout, table: &Table) -> Vec<String> {
    let Some(heads) = &table.heads else { return Vec::new() };
    let columns = (0..heads.heads.len()).filter(|k| {
        matches!(heads.heads[*k].role, Role::Irradiance | Role::Temperature) && heads.heads[*k].unit.is_some()
    });
    columns
        .filter(|k| constant(layout, table, *k).is_none())
        .map(|k| format!("column '{}' varies and is not used", heads.heads[k].text))
        .collect()
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
