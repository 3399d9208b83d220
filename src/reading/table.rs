//! The headings over a block of rows, the looks of its columns, and its cells as numbers.

use super::columns::{Chosen, Looks};
use super::delimiter::{Cells, Delimiter};
use super::error::{Problem, ReadError};
use super::fold::folded;
use super::heading::{Heading, Role, holds_two_units};
use super::layout::{Block, Kind, Layout, Other};
use super::number::{Cell, FORMATS, Format, cell};
use super::options::Options;
use super::unit::{Dimension, is_uncertainty, prefix, unit};

/// Rows looked at to tell what a column holds.
const LOOKED_AT: usize = 200;
/// Lines above the rows in which a heading is looked for.
const HIGHEST: usize = 8;

/// One block with its columns.
pub(super) struct Table<'b> {
    pub block: &'b Block,
    pub heads: Option<Headings>,
    /// Whether the headings are those of the block before.
    pub inherited: bool,
    pub chosen: Chosen,
}

/// The headings of a block, the lines they stand in, and a line of names above groups of columns.
#[derive(Clone, Debug)]
pub(super) struct Headings {
    pub heads: Vec<Heading>,
    pub lines: Vec<usize>,
    pub groups: Option<Vec<String>>,
}

/// A line above a block: its number, its text without a comment mark, and whether it had one.
type Above<'a> = (usize, &'a str, bool);

/// The headings above a block; `None` where none stand there.
pub(super) fn headings(
    layout: &Layout,
    block: &Block,
    options: &Options,
) -> Result<Option<Headings>, ReadError> {
    if let Some(row) = options.header_row {
        return asked_for(layout, block, row).map(Some);
    }
    let above = lines_above(layout, block);
    for k in 0..above.len() {
        if let Some(found) = heading_in(layout, block, &above, k) {
            agree(layout, block, &found, &above)?;
            return Ok(Some(found));
        }
    }
    if let Some((line, text, _)) =
        above.iter().find(|(_, text, in_comment)| !in_comment && is_of_another_width(layout, text))
    {
        let headings = layout.delimiter.cut(text).len();
        let problem =
            Problem::OtherHeadings { headings, cells: layout.width, delimiter: layout.delimiter.name() };
        return Err(ReadError::at(*line, layout.lines.get(*line), problem));
    }
    Ok(None)
}

/// A row of units between headings and rows must not contradict the units of the headings.
fn agree(layout: &Layout, block: &Block, found: &Headings, above: &[Above]) -> Result<(), ReadError> {
    let beneath = above.iter().filter(|(line, ..)| found.lines.iter().all(|own| own < line));
    for (line, text, _) in beneath {
        let Some(cells) = heading_cells(layout, block, text).filter(|cells| units_only(cells)) else {
            continue;
        };
        for (head, cell) in found.heads.iter().zip(&cells) {
            let (Some(own), Some(other)) = (&head.unit, unit(cell.trim_matches(['(', ')', '[', ']', ' '])))
            else {
                continue;
            };
            if own.dimension == other.dimension && own.factor != other.factor {
                let what = if own.dimension == Dimension::Voltage { "voltage" } else { "current" };
                let (heading, unit) = (head.text.clone(), other.text);
                let problem = Problem::UnitsDiffer { what, heading, line: line + 1, unit };
                return Err(ReadError::at(*line, layout.lines.get(*line), problem));
            }
        }
    }
    Ok(())
}

/// The lines above a block that may be headings, the nearest first.
fn lines_above<'a>(layout: &'a Layout, block: &'a Block) -> Vec<Above<'a>> {
    let line = |other: &'a Other| match &other.kind {
        Kind::Text => Some((other.line, layout.lines.get(other.line), false)),
        Kind::Comment(text) => Some((other.line, text.as_str(), true)),
        // A heading with a colon or an equals sign in it.
        Kind::Entry(..) => Some((
            other.line,
            layout.lines.get(other.line).trim_start_matches(['#', ';', '%', '!', '/', ' ']),
            true,
        )),
        _ => None,
    };
    block.above.iter().rev().filter_map(line).take(HIGHEST).collect()
}

/// The headings in line `k` of those above; a remark, or a line of text that is not the last, is a heading only if it names
/// measured quantities.
fn heading_in(layout: &Layout, block: &Block, above: &[Above], k: usize) -> Option<Headings> {
    let (line, text, in_comment) = above[k];
    // `#  U(V)  I(mA)`: the mark may head a column of numbers itself.
    let raw = || in_comment.then(|| heading_cells(layout, block, layout.lines.get(line))).flatten();
    let cells = heading_cells(layout, block, text).or_else(raw)?;
    if units_only(&cells) {
        return of_units(layout, block, above, k, &cells);
    }
    let heads: Vec<Heading> = cells.iter().map(|c| Heading::new(c)).collect();
    let named = heads.iter().filter(|h| h.is_of_curve()).count();
    let has_number = || cells.iter().any(|c| cell(c, FORMATS[0]).is_like_a_number());
    if named == 0 && (in_comment || k > 0 || has_number()) {
        return None;
    }
    if in_comment && named < 2 && layout.width > 1 && cells.len() != named + others(&heads) {
        return None;
    }
    Some(dressed(layout, block, above, k, (line, cells, heads)))
}

/// A row of units under names that say nothing (`CH1;CH2` over `V;A`), or without names.
fn of_units(layout: &Layout, block: &Block, above: &[Above], k: usize, units: &[String]) -> Option<Headings> {
    let of = |d: &[Dimension]| units.iter().any(|c| unit(c).is_some_and(|u| d.contains(&u.dimension)));
    if !(of(&[Dimension::Voltage]) && of(&[Dimension::Current, Dimension::Density])) {
        return None;
    }
    let (line, _, in_comment) = above[k];
    let names = above.get(k + 1).filter(|(over, ..)| over + 1 == line).and_then(|(over, text, _)| {
        let cells = heading_cells(layout, block, text)?;
        let wordy = cells.iter().all(|c| !cell(c, FORMATS[0]).is_like_a_number());
        (wordy && cells.len() == units.len() && !units_only(&cells)).then_some((*over, cells))
    });
    match names {
        // Names that say something are a heading of their own.
        Some((_, cells)) if cells.iter().any(|c| Heading::new(c).is_of_curve()) => None,
        Some((over, cells)) => {
            let join = |(name, unit): (&String, &String)| {
                Heading::new(&format!("{name} ({})", unit.trim_matches(['(', ')', '[', ']', ' '])))
            };
            Some(Headings {
                heads: cells.iter().zip(units).map(join).collect(),
                lines: vec![over, line],
                groups: None,
            })
        }
        None if in_comment && units.len() < 2 => None,
        None => Some(Headings {
            heads: units.iter().map(|c| Heading::new(c.trim_matches(['(', ')', '[', ']', ' ']))).collect(),
            lines: vec![line],
            groups: None,
        }),
    }
}

fn others(heads: &[Heading]) -> usize {
    heads.iter().filter(|h| !h.is_of_curve() && h.role != Role::Unknown).count()
}

fn asked_for(layout: &Layout, block: &Block, row: usize) -> Result<Headings, ReadError> {
    let problem = || Problem::Option {
        option: "header_row",
        given: row.to_string(),
        cure: "pass the number of the line that holds the headings, from 1",
    };
    let line = row
        .checked_sub(1)
        .filter(|k| *k < layout.lines.len())
        .ok_or_else(|| ReadError::of_file(problem()))?;
    let text = layout.lines.get(line);
    let bare = super::lines::comment(text, None).unwrap_or(text);
    let cells = heading_cells(layout, block, bare).or_else(|| heading_cells(layout, block, text));
    let cells = cells.ok_or_else(|| ReadError::at(line, text, problem()))?;
    Ok(Headings { heads: cells.iter().map(|c| Heading::new(c)).collect(), lines: vec![line], groups: None })
}

/// Units from the row beneath or above the names, and names of groups from the row above.
fn dressed(
    layout: &Layout,
    block: &Block,
    above: &[Above],
    k: usize,
    (line, cells, mut heads): (usize, Vec<String>, Vec<Heading>),
) -> Headings {
    let mut lines = vec![line];
    let neighbour = |j: usize| {
        above.get(j).and_then(|(line, text, _)| Some((*line, heading_cells(layout, block, text)?)))
    };
    let beneath = k.checked_sub(1).and_then(neighbour).filter(|(_, cells)| units_only(cells));
    let over = neighbour(k + 1).filter(|(line, cells)| units_only(cells) && *line + 2 >= lines[0]);
    if heads.iter().all(|h| h.unit.is_none())
        && let Some((line, units)) = beneath.or(over)
    {
        let join = |(name, unit): (&String, &String)| {
            let bare = unit.trim_matches(['(', ')', '[', ']', ' ']);
            if bare.is_empty() { name.clone() } else { format!("{name} ({bare})") }
        };
        heads = cells.iter().zip(&units).map(join).map(|text| Heading::new(&text)).collect();
        lines.push(line);
    }
    let groups = above.get(k + 1).filter(|(line, ..)| line + 1 == lines[0]).and_then(|(_, text, _)| {
        let mut names: Vec<String> = layout.delimiter.cut(text).iter().map(|c| c.to_string()).collect();
        names.resize(layout.width, String::new());
        let named = names.iter().filter(|n| !n.is_empty()).count();
        let split = layout.delimiter != Delimiter::Blanks && layout.delimiter.cut(text).len() > 1;
        (split && named >= 2 && names.len() == heads.len()).then_some(names)
    });
    Headings { heads, lines, groups }
}

/// Whether a line heads fewer or more columns than the rows have, voltage and current among them.
fn is_of_another_width(layout: &Layout, text: &str) -> bool {
    let heads: Vec<Heading> = layout.delimiter.cut(text).iter().map(|c| Heading::new(c)).collect();
    let has = |role: &[Role]| heads.iter().any(|h| role.contains(&h.role));
    heads.len() >= 2
        && heads.len() != layout.width
        && has(&[Role::Voltage, Role::SetVoltage])
        && has(&[Role::Current, Role::SetCurrent, Role::Density])
}

/// Whether a line holds units alone.
fn units_only(cells: &[String]) -> bool {
    let filled: Vec<&str> =
        cells.iter().map(|c| c.trim_matches(['(', ')', '[', ']', ' '])).filter(|c| !c.is_empty()).collect();
    let known = filled.iter().filter(|c| unit(c).is_some() || **c == "-").count();
    // `V, A` may be names as well; `V, I` is.
    filled.len() >= 2 && known == filled.len()
        || known >= 1
            && filled.len() > 2
            && 2 * known > filled.len()
            && filled.iter().all(|c| c.chars().count() <= 6)
}

/// The cells of a heading line, one a column, joined again where a delimiter stood inside a heading.
fn heading_cells(layout: &Layout, block: &Block, text: &str) -> Option<Vec<String>> {
    let width = layout.width;
    let fits = |cells: &Cells| -> Option<Vec<String>> {
        let mut list: Vec<String> = cells.iter().map(|c| c.to_string()).collect();
        while list.len() > width && list.last().is_some_and(String::is_empty) {
            list.pop();
        }
        // The cells of a column of remarks may be empty in most rows. An empty heading before the last leaves open which
        // columns the others are of.
        let wider = || {
            layout.delimiter != Delimiter::Blanks
                && list.len() > width
                && !list.iter().any(String::is_empty)
                && list.iter().filter(|c| Heading::new(c).is_of_curve()).count() >= 2
        };
        (list.len() == width || wider()).then_some(list)
    };
    let cells = layout.delimiter.cut(text);
    if let Some(found) = with_units_beside(&cells, width) {
        return Some(found);
    }
    if let Some(found) = fits(&cells) {
        return Some(found);
    }
    // A heading line need not use the rows' own delimiter.
    let own = layout.delimiter == Delimiter::Blanks;
    if let Some(found) = between_blanks(text, width)
        && (own || found.iter().filter(|c| Heading::new(c).is_of_curve()).count() >= 2)
    {
        return Some(found);
    }
    for other in [Delimiter::Char('\t'), Delimiter::Char(';'), Delimiter::Char(','), Delimiter::Char('|')] {
        let cells = other.cut(text);
        if cells.len() == width
            && width >= 2
            && cells.iter().filter(|c| Heading::new(c).is_of_curve()).count() >= 2
        {
            return fits(&cells);
        }
    }
    padded(layout, block, &cells)
}

/// `Voltage, mV, Current, mA`: the units stand in cells of their own.
fn with_units_beside(cells: &Cells, width: usize) -> Option<Vec<String>> {
    let units = cells.iter().skip(1).step_by(2).filter(|c| unit(c).is_some()).count();
    let bare = |c: &str| c.trim_matches(['(', ')', '[', ']']).to_owned();
    (cells.len() == 2 * width && units * 2 > width)
        .then(|| cells.chunks(2).map(|pair| format!("{} ({})", pair[0], bare(&pair[1]))).collect())
}

/// Headings over the first columns alone, where the others hold no numbers, or the delimiter leaves no doubt.
fn padded(layout: &Layout, block: &Block, cells: &Cells) -> Option<Vec<String>> {
    let width = layout.width;
    let mut list: Vec<String> = cells.iter().map(|c| c.to_string()).collect();
    while list.last().is_some_and(String::is_empty) {
        list.pop();
    }
    if list.len() < 2 || list.len() >= width {
        return None;
    }
    let curve = list.iter().filter(|c| Heading::new(c).is_of_curve()).count();
    let rows = block.rows.iter().take(LOOKED_AT);
    let more_numbers = rows.clone().any(|row| {
        let cells = layout.cells(*row as usize);
        cells
            .iter()
            .skip(list.len())
            .any(|c| cell(c, FORMATS[0]).is_like_a_number() || cell(c, FORMATS[1]).is_like_a_number())
    });
    // Whole numbers alone leave open whether the delimiter marks decimals.
    let marks = (0..list.len()).all(|k| {
        rows.clone().any(|row| layout.cells(*row as usize).get(k).is_some_and(|c| c.contains(['.', ','])))
    });
    let glued = list.iter().any(|c| holds_two_units(c));
    let clear = layout.delimiter != Delimiter::Blanks && (marks || !more_numbers) && !glued;
    (curve >= 2 && clear).then(|| {
        list.resize(width, String::new());
        list
    })
}

/// Headings between blanks, each unit with its name; between two blanks or tabs where names hold blanks themselves.
fn between_blanks(text: &str, width: usize) -> Option<Vec<String>> {
    let wide = text.trim().split('\t').flat_map(|part| part.split("  "));
    let wide: Vec<String> = wide.map(|p| p.trim().to_owned()).filter(|p| !p.is_empty()).collect();
    let tied: Vec<String> = tied(text).split_whitespace().map(str::to_owned).collect();
    [tied, wide].into_iter().find(|cells| cells.len() == width)
}

/// A heading line parted by blanks with each unit tied to its name: `U / V  I / mA` becomes `U/V I/mA`.
fn tied(text: &str) -> String {
    let mut out = String::new();
    let mut depth = 0_i32;
    let plain = folded(text.trim());
    let chars: Vec<char> = plain.chars().collect();
    for (k, c) in chars.iter().enumerate() {
        match c {
            '(' | '[' => {
                depth += 1;
                while out.ends_with(' ') {
                    out.pop();
                }
            }
            ')' | ']' => depth -= 1,
            _ => {}
        }
        if c.is_whitespace() {
            let next = chars[k + 1..].iter().find(|c| !c.is_whitespace());
            if depth > 0 || next == Some(&'/') || out.ends_with(['/', ' ', ',']) && !out.ends_with(' ') {
                continue;
            }
            out.push(' ');
        } else {
            out.push(*c);
        }
    }
    out
}

/// What the columns of a block look like.
pub(super) fn looks(layout: &Layout, block: &Block, heads: Option<&[Heading]>) -> Looks {
    let rows: Vec<Cells> = block.rows.iter().take(LOOKED_AT).map(|row| layout.cells(*row as usize)).collect();
    let width = rows.iter().map(|r| r.len()).max().unwrap_or(0).max(layout.width);
    let at = |row: &Cells, k: usize| row.get(k).map(|c| c.to_string()).unwrap_or_default();
    let numbers = |k: usize| rows.iter().map(|row| value(&at(row, k))).collect::<Vec<Option<f64>>>();
    let filled: Vec<usize> =
        (0..width).filter(|k| rows.iter().any(|row| row.get(*k).is_some_and(|c| !c.is_empty()))).collect();
    let like = |k: &usize| {
        let number = |row: &&Cells| {
            row.get(*k).is_some_and(|c| {
                !matches!(cell(c, FORMATS[0]), Cell::Text | Cell::Empty)
                    || matches!(cell(c, FORMATS[1]), Cell::Number(..))
            })
        };
        2 * rows.iter().filter(number).count() > rows.len()
    };
    let numeric: Vec<usize> = filled.iter().copied().filter(like).collect();
    let counts = filled.iter().copied().filter(|k| rows.len() > 2 && is_count(&numbers(*k))).collect();
    let repeated = heads.map_or_else(Vec::new, |heads| repeated(heads, &filled, &numbers));
    let filled = if heads.is_some_and(|h| h.len() < width) {
        filled.into_iter().filter(|k| *k < heads.map_or(0, <[Heading]>::len)).collect()
    } else {
        filled
    };
    Looks { filled, counts, numeric, repeated }
}

fn value(text: &str) -> Option<f64> {
    [FORMATS[0], FORMATS[1]].into_iter().find_map(|format| match cell(text, format) {
        Cell::Number(value, _) => Some(value),
        _ => None,
    })
}

fn is_count(numbers: &[Option<f64>]) -> bool {
    let first = numbers.first().copied().flatten();
    first.is_some_and(|f| f == 0.0 || f == 1.0)
        && numbers.iter().zip(0_u32..).all(|(x, k)| x.zip(first).is_some_and(|(x, f)| x == f + f64::from(k)))
}

/// Columns of one quantity that hold the same values in other units.
fn repeated(
    heads: &[Heading],
    filled: &[usize],
    numbers: &dyn Fn(usize) -> Vec<Option<f64>>,
) -> Vec<(usize, usize)> {
    let mut list = Vec::new();
    let si = |k: usize| heads.get(k).and_then(|h| h.unit.as_ref()).map_or(1.0, |u| u.factor);
    for (n, &a) in filled.iter().enumerate() {
        for &b in &filled[n + 1..] {
            let same_role = |x: usize, y: usize| {
                heads.get(x).zip(heads.get(y)).is_some_and(|(x, y)| {
                    x.role == y.role && matches!(x.role, Role::Voltage | Role::Current | Role::Density)
                })
            };
            if !same_role(a, b) {
                continue;
            }
            let (x, y) = (numbers(a), numbers(b));
            let largest = x.iter().flatten().fold(0.0_f64, |m, v| m.max((v * si(a)).abs()));
            let close = |(x, y): (&Option<f64>, &Option<f64>)| match (x, y) {
                (Some(x), Some(y)) => (x * si(a) - y * si(b)).abs() <= 1e-3 * largest,
                _ => false,
            };
            let heads_differ =
                heads[a].unit.as_ref().map(|u| u.factor) != heads[b].unit.as_ref().map(|u| u.factor);
            if heads_differ && !x.is_empty() && x.iter().zip(&y).all(close) {
                list.push((a, b));
            }
        }
    }
    list
}

/// Headings that the units on the numbers of the first row make: `0.512 V; 12.3 mA`.
pub(super) fn from_units_of_cells(layout: &Layout, block: &Block) -> Option<Vec<Heading>> {
    let row = layout.cells(*block.rows.first()? as usize);
    let heads: Vec<Heading> = row
        .iter()
        .map(|c| {
            let rest = [FORMATS[0], FORMATS[1]].into_iter().find_map(|f| match cell(c, f) {
                Cell::Number(_, rest) => Some(rest.to_owned()),
                _ => None,
            });
            Heading::new(&rest.unwrap_or_default())
        })
        .collect();
    let has = |d: Dimension| heads.iter().any(|h| h.unit.as_ref().is_some_and(|u| u.dimension == d));
    (has(Dimension::Voltage) && (has(Dimension::Current) || has(Dimension::Density))).then_some(heads)
}

/// A unit that stands in the column behind another.
pub(super) struct UnitColumn {
    pub unit: String,
    /// Numbers of the lines without it, from 1.
    pub without: Vec<u32>,
}

/// The unit that stands in the column behind `column` in every row, or in all but a quarter at most.
pub(super) fn unit_column(layout: &Layout, block: &Block, column: usize) -> Option<UnitColumn> {
    let mut found: Option<String> = None;
    let mut without = Vec::new();
    for (k, row) in block.rows.iter().enumerate() {
        // Most tables have no such column: all rows of a long one are looked at only where the first have it.
        if k == LOOKED_AT && 4 * without.len() > k {
            return None;
        }
        let cells = layout.cells(*row as usize);
        let Some(text) = cells.get(column + 1).filter(|text| !text.is_empty()) else {
            without.push(row + 1);
            continue;
        };
        unit(text)?;
        if *found.get_or_insert_with(|| text.to_string()) != **text {
            return None;
        }
    }
    (4 * without.len() <= block.rows.len()).then_some(UnitColumn { unit: found?, without })
}

/// What the numbers of a column are multiplied by.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scale {
    pub dimension: Dimension,
    /// To SI, with the sign.
    pub factor: f64,
    /// −1 under a heading such as `-I`.
    pub sign: f64,
    /// Whether every number carries its unit.
    pub on_the_cells: bool,
}

/// A cell of a column under a format, with the factor that its own unit brings: `Ok(None)` for a mark of no value and, where
/// more than blanks part the cells, for an empty one.
pub(super) fn reading(
    text: &str,
    format: Format,
    what: &'static str,
    of_column: &Scale,
    blanks: bool,
) -> Result<Option<f64>, Problem> {
    match cell(text, format) {
        Cell::Number(_, "") if of_column.on_the_cells => {
            Err(Problem::NoUnit { what, cell: text.trim().to_owned() })
        }
        Cell::Number(value, "") => Ok(Some(value * of_column.factor)),
        Cell::Number(value, rest) if is_uncertainty(rest) => Ok(Some(value * of_column.factor)),
        Cell::Number(value, rest) => match unit(rest) {
            Some(u) if u.dimension == of_column.dimension && !u.doubtful => {
                Ok(Some(value * u.factor * of_column.sign))
            }
            _ => match prefix(rest) {
                Some(factor) => Ok(Some(value * factor * of_column.factor)),
                None => {
                    Err(Problem::UnitOfCell { what, cell: text.trim().to_owned(), unit: rest.to_owned() })
                }
            },
        },
        Cell::NoValue => Ok(None),
        Cell::Empty if blanks => Err(Problem::Missing { what }),
        Cell::Empty => Ok(None),
        Cell::Text => Err(Problem::NoNumber { what, cell: text.trim().to_owned(), decimal: format.decimal }),
    }
}
