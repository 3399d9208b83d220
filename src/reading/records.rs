//! Logs of the form `V=0.512 I=0.00123`, JSON lines and JSON objects with arrays: rewritten as delimited text, a line for a line
//! where there are lines, so that one way of reading serves all.

use super::error::{Problem, ReadError};
use super::heading::{Heading, Role};
use super::lines::{Lines, comment, is_blank};
use super::unit::unit;
use serde_json::Value;

/// Delimited text made of records.
pub(super) struct Rewritten {
    /// Parted by tabs.
    pub text: String,
    /// Of all rows; `None` where the text holds them itself.
    pub headings: Option<Vec<String>>,
    pub decimal: Option<char>,
}

/// Records of a log: every line that names a voltage and a current.
pub(super) fn log(lines: &Lines) -> Option<Rewritten> {
    let first = (0..lines.len().min(500)).find_map(|k| {
        let found = fields(lines.get(k));
        names_a_reading(&found).then_some(found)
    })?;
    let keys: Vec<String> = first.iter().map(|f| f.key.to_owned()).collect();
    let (mut text, mut rows) = (String::new(), 0_usize);
    for k in 0..lines.len() {
        let line = lines.get(k);
        let found = fields(line);
        if names_a_reading(&found) {
            rows += 1;
            for (n, key) in keys.iter().enumerate() {
                text.push_str(if n > 0 { "\t" } else { "" });
                if let Some(field) = found.iter().find(|f| f.key == key) {
                    text.push_str(&field.value);
                }
            }
        } else if comment(line, None).is_some() || is_blank(line) {
            text.push_str(line);
        } else {
            text.push_str("# ");
            text.push_str(line);
        }
        text.push('\n');
    }
    (rows >= 2).then_some(Rewritten { text, headings: Some(keys), decimal: None })
}

struct Field<'a> {
    key: &'a str,
    /// Number and unit.
    value: String,
}

fn names_a_reading(fields: &[Field]) -> bool {
    let has = |roles: &[Role]| fields.iter().any(|f| roles.contains(&Heading::new(f.key).role));
    fields.len() >= 2
        && has(&[Role::Voltage, Role::SetVoltage])
        && has(&[Role::Current, Role::SetCurrent, Role::Density])
}

/// Every `key=number unit` or `key: number unit` in a line.
fn fields(line: &str) -> Vec<Field<'_>> {
    let mut list = Vec::new();
    for (at, _) in line.match_indices(['=', ':']) {
        let before = line[..at].trim_end();
        let start = before.rfind(|c: char| c.is_whitespace() || matches!(c, ';' | ',' | '=' | ':' | '|')).map_or(0, |k| k + before[k..].chars().next().map_or(1, char::len_utf8));
        let key = before[start..].trim();
        if !key.starts_with(char::is_alphabetic) {
            continue;
        }
        let rest = line[at + 1..].trim_start();
        let number = token(rest);
        if !number.trim_start_matches(['-', '+', '.', '\u{2212}']).starts_with(|c: char| c.is_ascii_digit()) && !matches!(number.to_ascii_lowercase().as_str(), "nan" | "inf" | "ovld" | "ol" | "---") {
            continue;
        }
        let behind = rest[number.len()..].trim_start();
        let word = token(behind);
        let value = if !word.is_empty() && unit(word).is_some() { format!("{number} {word}") } else { number.to_owned() };
        list.push(Field { key, value });
    }
    list
}

/// Up to a blank, a semicolon, a bar, or a comma with no digit behind it.
fn token(text: &str) -> &str {
    let end = text.char_indices().find(|(k, c)| {
        let digit_behind = text[k + c.len_utf8()..].starts_with(|d: char| d.is_ascii_digit());
        c.is_whitespace() || matches!(c, ';' | '|') || *c == ',' && !digit_behind
    });
    &text[..end.map_or(text.len(), |(k, _)| k)]
}

/// JSON in one piece or a line each; `None` where the text is none.
pub(super) fn json(lines: &Lines) -> Result<Option<Rewritten>, ReadError> {
    let text = lines.text.trim();
    if !text.starts_with(['{', '[']) {
        return Ok(None);
    }
    if let Ok(value) = serde_json::from_str::<Value>(text) {
        let mut out = String::new();
        walk(&value, &mut Vec::new(), &mut out);
        return if out.is_empty() { Err(ReadError::of_file(Problem::NoRows)) } else { Ok(Some(of_text(out))) };
    }
    if !text.starts_with('{') {
        return Ok(None);
    }
    json_lines(lines)
}

fn of_text(text: String) -> Rewritten {
    Rewritten { text, headings: None, decimal: Some('.') }
}

/// A line each; a last line that was cut off stays as it is, and is told as such.
fn json_lines(lines: &Lines) -> Result<Option<Rewritten>, ReadError> {
    let mut keys: Vec<String> = Vec::new();
    let mut out = String::new();
    for k in 0..lines.len() {
        let line = lines.get(k).trim();
        match serde_json::from_str::<Value>(line.trim_end_matches(',')) {
            Ok(Value::Object(map)) => {
                let scalars = map.iter().filter(|(_, v)| !v.is_array() && !v.is_object());
                let is_reading = scalars.clone().filter(|(k, _)| Heading::new(k).is_of_curve()).count() >= 2;
                if !is_reading {
                    let entries: Vec<String> = scalars.map(|(k, v)| format!("{k}: {}", plain(v))).collect();
                    out.push_str(&format!("# {}\n", entries.join(", ")));
                    continue;
                }
                if keys.is_empty() {
                    keys = map.keys().cloned().collect();
                }
                let cells: Vec<String> = keys.iter().map(|k| map.get(k).map(plain).unwrap_or_default()).collect();
                out.push_str(&cells.join("\t"));
                out.push('\n');
            }
            _ if line.is_empty() => out.push('\n'),
            _ if k + 1 == lines.len() && lines.ends_within_a_line() => out.push_str("0"),
            _ => return Ok(None),
        }
    }
    Ok((!keys.is_empty()).then_some(Rewritten { text: out, headings: Some(keys), decimal: Some('.') }))
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.replace(['\t', '\n', '\r'], " "),
        Value::Null => "null".into(),
        other => other.to_string(),
    }
}

/// Every object that holds a voltage and a current, as arrays or as a list of objects, with the scalars above it as entries.
fn walk(value: &Value, above: &mut Vec<(String, String)>, out: &mut String) {
    match value {
        Value::Object(map) => {
            let depth = above.len();
            let scalar = |v: &Value| !v.is_array() && !v.is_object();
            above.extend(map.iter().filter(|(_, v)| scalar(v)).map(|(k, v)| (k.clone(), plain(v))));
            let columns: Vec<(&String, &Vec<Value>)> = map.iter().filter_map(|(k, v)| Some((k, v.as_array()?))).filter(|(_, list)| list.iter().all(scalar)).collect();
            if columns.iter().filter(|(k, _)| Heading::new(k).is_of_curve()).count() >= 2 {
                let heads: Vec<&str> = columns.iter().map(|(k, _)| k.as_str()).collect();
                let rows = columns.iter().map(|(_, list)| list.len()).max().unwrap_or(0);
                let row = |n: usize| columns.iter().map(|(_, list)| list.get(n).map(plain).unwrap_or_default()).collect();
                block(above, &heads, (0..rows).map(row), out);
            }
            map.values().filter(|v| v.is_object() || v.as_array().is_some_and(|l| l.iter().any(|x| !scalar(x)))).for_each(|v| walk(v, above, out));
            above.truncate(depth);
        }
        Value::Array(list) => {
            let objects: Vec<&serde_json::Map<String, Value>> = list.iter().filter_map(Value::as_object).collect();
            let reading = |m: &&serde_json::Map<String, Value>| m.iter().filter(|(k, v)| (v.is_number() || v.is_string()) && Heading::new(k).is_of_curve()).count() >= 2;
            if objects.len() == list.len() && objects.first().is_some_and(reading) {
                let keys: Vec<&str> = objects[0].keys().map(String::as_str).collect();
                let row = |m: &serde_json::Map<String, Value>| keys.iter().map(|k| m.get(*k).map(plain).unwrap_or_default()).collect();
                block(above, &keys, objects.iter().map(|m| row(m)), out);
            } else {
                list.iter().for_each(|v| walk(v, above, out));
            }
        }
        _ => {}
    }
}

fn block(entries: &[(String, String)], heads: &[&str], rows: impl Iterator<Item = Vec<String>>, out: &mut String) {
    if !out.is_empty() {
        out.push('\n');
    }
    for (key, value) in entries {
        out.push_str(&format!("# {key}: {value}\n"));
    }
    out.push_str(&heads.join("\t"));
    out.push('\n');
    for row in rows {
        out.push_str(&row.join("\t"));
        out.push('\n');
    }
}
