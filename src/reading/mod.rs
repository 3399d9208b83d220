//! Files of text to sweeps: what instruments, spreadsheets and microcontrollers write.
//!
//! ```text
//! bytes ──encoding──▶ text ──lines──▶ ──delimiter──▶ ──layout──▶ blocks of rows ──columns──▶ ──sweeps──▶ Contents
//!                                  └──records (logs, JSON) rewritten──▶
//! ```
//!
//! Every character of a file is accounted for: a line is metadata, heading, unit row, rule, row, comment, summary, text or
//! blank, and each cell of a row belongs to a column. What is assumed or left out is a note that shows the line; what two
//! readings of the file explain with different numbers is a [`ReadError`] that shows both and names the option that
//! decides.
//!
//! | file | holds |
//! |---|---|
//! | `encoding` | bytes to text: compression, byte-order marks, one-byte tables |
//! | `lines` | lines, and what each is before its cells are known |
//! | `delimiter` | a line to cells; which character parts them |
//! | `number`, `unit`, `fold` | a cell to a number; units; letters as they compare |
//! | `heading`, `words` | a heading to a role and a unit; words of six languages |
//! | `layout` | each line to what it is; rows to blocks |
//! | `records`, `lists`, `html` | logs, JSON, named lists and tables of web pages rewritten as delimited text |
//! | `table`, `columns` | headings over a block; which columns are voltage and current |
//! | `metadata`, `statements` | area, irradiance, temperature, cells, label; what is said of each sweep |
//! | `number_format`, `column_unit` | how the numbers of a file are written; the unit of a column |
//! | `readings`, `part`, `joining` | rows to readings; which of them belong to one sweep |
//! | `notes` | sentences on what was assumed and left out |
//! | `sweeps`, `contents`, `to_sweep` | blocks to sweeps; what a file holds; a `Sweep` of it |
//! | `options`, `error` | what a caller may say; why a file is not read |

mod column_unit;
mod columns;
mod contents;
mod delimiter;
mod encoding;
mod error;
mod fold;
mod heading;
mod html;
mod joining;
mod layout;
mod lines;
mod lists;
mod metadata;
mod notes;
mod number;
mod number_format;
mod options;
mod part;
mod readings;
mod records;
mod statements;
mod sweeps;
mod table;
mod to_sweep;
mod unit;
mod words;

pub use contents::{Contents, FileSweep};
pub use error::{Problem, ReadError};
pub use metadata::Entry;
pub use options::{Column, Options, Which};

use delimiter::{Delimiter, Score, score};
use layout::Layout;
use lines::{Lines, comment, is_blank};

/// Lines that are looked at to find the delimiter.
const SAMPLE: usize = 600;

/// Reads all sweeps of a file.
///
/// # Errors
/// [`ReadError`] names the line, what stands there, and the option that gets past it.
///
/// # Examples
/// ```
/// use litdiode::reading::{Options, read};
/// let text = "Area: 0.25 cm2\nU (mV);I (mA)\n-100;31,31\n200;31,2\n400;29,0\n600;-3,0\n"; // invented
/// let contents = read(text.as_bytes(), &Options::default())?;
/// let found = contents.one(None)?;
/// assert_eq!(found.voltage_v[0], -0.1);
/// assert_eq!(found.area_cm2, Some(0.25));
/// # Ok::<(), litdiode::reading::ReadError>(())
/// ```
pub fn read(data: &[u8], options: &Options) -> Result<Contents, ReadError> {
    check(options)?;
    let (text, notes) = encoding::decode(data, options.encoding.as_deref())?;
    let lines = Lines::new(&text);
    let end = lines.ends_within_a_line().then(|| lines.len());
    let mut contents = contents(lines, options, notes)?;
    if let Some(line) = end {
        let text = error::shown(Lines::new(&text).get(line - 1));
        let at_the_end =
            contents.sweeps.iter_mut().filter(|s| s.lines.last().is_some_and(|l| *l as usize == line));
        at_the_end.for_each(|s| {
            s.notes.push(format!(
                "the file ends within line {line} ('{text}'), without a line end: the line may be cut"
            ))
        });
    }
    Ok(contents)
}

fn contents(lines: Lines, options: &Options, mut notes: Vec<String>) -> Result<Contents, ReadError> {
    let text = lines.text;
    if let Some(bare) = records::without_stamps(&lines) {
        notes.push("time stamps before an arrow left out".into());
        return contents(Lines::new(&bare), options, notes);
    }
    if let Some(made) = records::json(&lines)? {
        return of_records(&made, options, notes);
    }
    let may_be_cut = text
        .ends_with(|c: char| c.is_ascii_digit())
        .then(|| "the file ends with a digit, without a line end: the last number may be cut".to_owned());
    if let Some(made) = html::html(text) {
        notes.push("read as a table of a web page".into());
        notes.extend(may_be_cut);
        return of_records(&made, options, notes);
    }
    match delimited(lines, None, options) {
        Ok(mut contents) => {
            contents.sweeps.iter_mut().for_each(|s| s.notes.append(&mut notes.clone()));
            Ok(contents)
        }
        // A log of `V=0.5 I=0.03` and named lists have no table.
        Err(problem) => match without_table(&Lines::new(text))? {
            Some((made, note)) => {
                notes.push(note.into());
                notes.extend(may_be_cut);
                of_records(&made, options, notes)
            }
            None => Err(problem),
        },
    }
}

/// What a text without a table is rewritten as, and a sentence on it.
fn without_table(lines: &Lines) -> Result<Option<(records::Rewritten, &'static str)>, ReadError> {
    if let Some(made) = records::log(lines) {
        return Ok(Some((made, "read as a log of 'name = value'")));
    }
    Ok(lists::lists(lines)?.map(|made| (made, "read as named lists: each is a column")))
}

fn of_records(
    made: &records::Rewritten,
    options: &Options,
    notes: Vec<String>,
) -> Result<Contents, ReadError> {
    let mut options = options.clone();
    options.delimiter = Some('\t');
    options.decimal = made.decimal.or(options.decimal);
    let notes: Vec<String> = notes.into_iter().chain(made.notes.iter().cloned()).collect();
    let mut contents = delimited(Lines::new(&made.text), made.headings.as_deref(), &options)?;
    contents.sweeps.iter_mut().for_each(|s| s.notes.extend(notes.iter().cloned()));
    Ok(contents)
}

fn check(options: &Options) -> Result<(), ReadError> {
    let wrong =
        |option, given: String, cure| Err(ReadError::of_file(Problem::Option { option, given, cure }));
    if let Some(mark) = options.decimal.filter(|c| !matches!(c, '.' | ',')) {
        return wrong("decimal", format!("'{mark}'"), "pass '.' or ','");
    }
    if let Some(mark) = options.thousands.filter(|c| !matches!(c, '.' | ',' | ' ' | '\'')) {
        return wrong("thousands", format!("'{mark}'"), "pass ',', '.', ' ' or an apostrophe");
    }
    if let Some(mark) = options.thousands.filter(|t| options.decimal == Some(*t)) {
        return wrong("thousands", format!("'{mark}'"), "pass another mark than that of the decimals");
    }
    if let Some(mark) = options
        .delimiter
        .filter(|c| !c.is_ascii() || c.is_alphanumeric() || matches!(c, '"' | '\n' | '\r' | '.' | '-' | '+'))
    {
        return wrong(
            "delimiter",
            format!("'{mark}'"),
            "pass one of ',', ';', a tab, '|', ':' or ' ' (any run of blanks)",
        );
    }
    Ok(())
}

fn delimited(lines: Lines, headings: Option<&[String]>, options: &Options) -> Result<Contents, ReadError> {
    let (delimiter, width) = parted_by(&lines, options)?;
    let layout = Layout::new(lines, delimiter, width, options)?;
    let sweeps = sweeps::sweeps(&layout, headings, options)?;
    Ok(Contents {
        sweeps,
        entries: statements::all_entries(&layout).to_vec(),
        remarks: notes::remarks(&layout),
    })
}

/// The delimiter and the usual number of cells.
fn parted_by(lines: &Lines, options: &Options) -> Result<(Delimiter, usize), ReadError> {
    let candidates: Vec<usize> = (options.skip_rows..lines.len())
        .filter(|k| {
            let text = lines.get(*k);
            !is_blank(text) && comment(text, options.comment.as_deref()).is_none()
        })
        .take(SAMPLE)
        .collect();
    let Some(first) = candidates.first() else { return Err(ReadError::of_file(Problem::Empty)) };
    let sample: Vec<&str> = candidates.iter().map(|k| lines.get(*k)).collect();
    let tried: Vec<Delimiter> = match options.delimiter {
        Some(' ') => vec![Delimiter::Blanks],
        Some(c) => vec![Delimiter::Char(c)],
        None => delimiter::ALL.to_vec(),
    };
    let mut best: Option<(Score, Delimiter)> = None;
    for delimiter in tried {
        if let Some(found) = score(&sample, delimiter)
            && best.is_none_or(|(top, _)| found.explains_more_than(&top))
        {
            best = Some((found, delimiter));
        }
    }
    match best {
        Some((score, delimiter)) => Ok((delimiter, score.width)),
        None => Err(ReadError::at(*first, lines.get(*first), Problem::NoRows)),
    }
}
