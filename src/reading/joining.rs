//! Which parts belong to one sweep.
//!
//! Two blocks are one sweep where the second goes on as the first went: the same direction, and a step that is no larger
//! than the others. A part whose voltage jumps back by more than half of its range holds two sweeps.

use super::error::shown;
use super::layout::{Block, Kind, Layout};
use super::metadata::is_known_key;
use super::part::Part;
use super::statements::entries_of;
use super::table::Table;

/// Parts of consecutive blocks that belong to one sweep, joined.
pub(super) fn joined(parts: Vec<Part>, layout: &Layout, tables: &[Table]) -> Vec<Part> {
    let alone =
        tables.len() > 2 && 4 * layout.blocks.iter().filter(|b| b.rows.len() == 1).count() > 3 * tables.len();
    let mut list: Vec<Part> = Vec::new();
    for part in parts {
        let at = list.iter().rposition(|p| p.pair == part.pair && p.group == part.group);
        match at.filter(|at| belongs(&list[*at], &part, &tables[part.block], alone)) {
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
                add_new(&mut one.notes, noted.into_iter().chain(part.notes));
                add_new(&mut one.warnings, part.warnings);
            }
            None => list.push(part),
        }
    }
    list
}

/// Sentences that are not there yet.
fn add_new(sentences: &mut Vec<String>, more: impl IntoIterator<Item = String>) {
    for text in more {
        if !sentences.contains(&text) {
            sentences.push(text);
        }
    }
}

pub(super) fn note_of_join(layout: &Layout, block: &Block) -> Option<String> {
    let between: Vec<String> = block
        .above
        .iter()
        .filter(|o| matches!(o.kind, Kind::Text | Kind::Comment(_) | Kind::Entry(..)))
        .map(|o| format!("line {} ('{}')", o.line + 1, shown(layout.lines.get(o.line))))
        .collect();
    (!between.is_empty()).then(|| format!("one sweep goes on behind {}", between.join(", ")))
}

/// Whether a block's rows go on where those before it ended.
pub(super) fn belongs(before: &Part, next: &Part, table: &Table, alone: bool) -> bool {
    let block = table.block;
    let names = block.above.iter().flat_map(entries_of).any(|e| is_known_key(&e.key));
    if names {
        return false;
    }
    let only_rows_left_out = block.above.iter().all(|o| matches!(o.kind, Kind::Muted | Kind::Summary));
    let only_blanks = block.above.iter().all(|o| matches!(o.kind, Kind::Blank));
    if only_rows_left_out || alone && only_blanks || next.lines.is_empty() || before.lines.is_empty() {
        return true;
    }
    goes_on(&before.v, &next.v) || goes_on(&before.i, &next.i)
}

pub(super) fn goes_on(before: &[f64], next: &[f64]) -> bool {
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
pub(super) fn parted_at_jumps(part: Part) -> Vec<Part> {
    let cuts = jumps(&part.v).or_else(|| jumps(&part.i)).unwrap_or_default();
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
pub(super) fn jumps(x: &[f64]) -> Option<Vec<usize>> {
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
