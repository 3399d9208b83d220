//! Logs of the form `V=0.512 I=0.00123`, JSON lines and JSON objects with arrays: rewritten as delimited text, a line for a line
//! where there are lines, so that one way of reading serves all.

use super::error::{Problem, ReadError};
use super::heading::{Heading, Role};
use super::lines::{Lines, comment, is_blank};
use super::unit::unit;
use serde::de::{Error, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Deserializer};
use serde_json::Value;
use std::collections::HashSet;
use std::fmt;

/// Delimited text made of records.
#[derive(Default)]
pub(super) struct Rewritten {
    /// Parted by tabs.
    pub text: String,
    /// Of all rows; `None` where the text holds them itself.
    pub headings: Option<Vec<String>>,
    pub decimal: Option<char>,
    /// What of the records is in no table, and what may be missing.
    pub notes: Vec<String>,
}

/// Lines behind a time stamp and an arrow, as the monitors of microcontrollers write them (`12:31:02.007 -> 0.51,1.2`), without
/// these; `None` where half of the lines have none.
pub(super) fn without_stamps(lines: &Lines) -> Option<String> {
    let behind = |line: &str| -> Option<usize> {
        let at = line.find(" -> ")?;
        let stamp = line[..at].trim();
        (stamp.len() >= 5
            && stamp.contains(':')
            && stamp.chars().all(|c| c.is_ascii_digit() || matches!(c, ':' | '.' | ',')))
        .then_some(at + 4)
    };
    let first = (0..lines.len().min(5)).any(|k| behind(lines.get(k)).is_some());
    let stamped = || (0..lines.len()).filter(|k| behind(lines.get(*k)).is_some()).count();
    if !first || 2 * stamped() < lines.len() {
        return None;
    }
    let bare = |k: usize| behind(lines.get(k)).map_or(lines.get(k), |at| &lines.get(k)[at..]);
    Some((0..lines.len()).map(|k| bare(k).to_owned() + "\n").collect())
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
    (rows >= 2).then_some(Rewritten { text, headings: Some(keys), ..Rewritten::default() })
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

/// Bytes of a line beyond which it is no record of a log.
const LONGEST: usize = 4000;

/// Every `key=number unit` or `key: number unit` in a line.
fn fields(line: &str) -> Vec<Field<'_>> {
    let mut list = Vec::new();
    if line.len() > LONGEST {
        return list;
    }
    for (at, _) in line.match_indices(['=', ':']) {
        let before = line[..at].trim_end();
        let start = before
            .rfind(|c: char| c.is_whitespace() || matches!(c, ';' | ',' | '=' | ':' | '|'))
            .map_or(0, |k| k + before[k..].chars().next().map_or(1, char::len_utf8));
        let key = before[start..].trim();
        if !key.starts_with(char::is_alphabetic) {
            continue;
        }
        let rest = line[at + 1..].trim_start();
        let number = token(rest);
        if !number.trim_start_matches(['-', '+', '.', '\u{2212}']).starts_with(|c: char| c.is_ascii_digit())
            && !matches!(number.to_ascii_lowercase().as_str(), "nan" | "inf" | "ovld" | "ol" | "---")
        {
            continue;
        }
        let behind = rest[number.len()..].trim_start();
        let word = token(behind);
        let value = if !word.is_empty() && unit(word).is_some() {
            format!("{number} {word}")
        } else {
            number.to_owned()
        };
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
        if let Err(repeated) = serde_json::from_str::<UniqueKeys>(text) {
            let key = repeated.to_string().split('\'').nth(1).unwrap_or_default().to_owned();
            return Err(ReadError::of_file(Problem::RepeatedKey { key }));
        }
        let mut out = String::new();
        walk(&value, &mut Vec::new(), &mut out)?;
        return if out.is_empty() {
            Err(ReadError::of_file(Problem::NoRows))
        } else {
            let notes = left_over(&value, &out).into_iter().collect();
            Ok(Some(Rewritten { notes, ..of_text(out) }))
        };
    }
    if !text.starts_with('{') {
        return Ok(None);
    }
    json_lines(lines)
}

fn of_text(text: String) -> Rewritten {
    Rewritten { text, decimal: Some('.'), ..Rewritten::default() }
}

/// That some of the numbers in lists are in no row of `out`.
fn left_over(value: &Value, out: &str) -> Option<String> {
    fn count(value: &Value, in_list: bool) -> usize {
        match value {
            Value::Array(list) => list.iter().map(|v| count(v, true)).sum(),
            Value::Object(map) => map.values().map(|v| count(v, in_list)).sum(),
            Value::Number(_) => usize::from(in_list),
            _ => 0,
        }
    }
    let all = count(value, false);
    let rows = out.lines().filter(|line| !line.starts_with('#'));
    let read = rows.flat_map(|row| row.split('\t')).filter(|cell| cell.parse::<f64>().is_ok()).count();
    (read < all).then(|| format!("{} of {all} numbers in lists are in no sweep", all - read))
}

/// JSON in which no key stands twice in one object.
struct UniqueKeys;

impl<'de> Deserialize<'de> for UniqueKeys {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(Self)
    }
}

impl<'de> Visitor<'de> for UniqueKeys {
    type Value = Self;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("JSON")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self, A::Error> {
        let mut keys = HashSet::new();
        while let Some(key) = map.next_key::<String>()? {
            map.next_value::<Self>()?;
            if !keys.insert(key.clone()) {
                return Err(A::Error::custom(format!("'{key}'")));
            }
        }
        Ok(self)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self, A::Error> {
        while list.next_element::<Self>()?.is_some() {}
        Ok(self)
    }

    fn visit_bool<E>(self, _: bool) -> Result<Self, E> {
        Ok(self)
    }

    fn visit_f64<E>(self, _: f64) -> Result<Self, E> {
        Ok(self)
    }

    fn visit_i64<E>(self, _: i64) -> Result<Self, E> {
        Ok(self)
    }

    fn visit_u64<E>(self, _: u64) -> Result<Self, E> {
        Ok(self)
    }

    fn visit_str<E>(self, _: &str) -> Result<Self, E> {
        Ok(self)
    }

    fn visit_unit<E>(self) -> Result<Self, E> {
        Ok(self)
    }
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
                let cells: Vec<String> =
                    keys.iter().map(|k| map.get(k).map(plain).unwrap_or_default()).collect();
                out.push_str(&cells.join("\t"));
                out.push('\n');
            }
            _ if line.is_empty() => out.push('\n'),
            _ if k + 1 == lines.len() && lines.ends_within_a_line() => out.push('0'),
            _ => return Ok(None),
        }
    }
    Ok((!keys.is_empty()).then_some(Rewritten {
        text: out,
        headings: Some(keys),
        decimal: Some('.'),
        notes: Vec::new(),
    }))
}

fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.replace(['\t', '\n', '\r'], " "),
        Value::Null => "null".into(),
        other => other.to_string(),
    }
}

/// Every object that holds a voltage and a current, as arrays or as a list of objects, with the scalars above it as entries.
fn walk(value: &Value, above: &mut Vec<(String, String)>, out: &mut String) -> Result<(), ReadError> {
    match value {
        Value::Object(map) => object(map, above, out),
        Value::Array(list) => {
            let objects: Vec<&Map> = list.iter().filter_map(Value::as_object).collect();
            let reading = |m: &&Map| {
                m.iter()
                    .filter(|(k, v)| (v.is_number() || v.is_string()) && Heading::new(k).is_of_curve())
                    .count()
                    >= 2
            };
            if objects.len() == list.len() && objects.first().is_some_and(reading) {
                let keys: Vec<&str> = objects[0].keys().map(String::as_str).collect();
                let row = |m: &Map| keys.iter().map(|k| m.get(*k).map(plain).unwrap_or_default()).collect();
                block(above, &keys, objects.iter().map(|m| row(m)), out);
                return Ok(());
            }
            list.iter().try_for_each(|v| walk(v, above, out))
        }
        _ => Ok(()),
    }
}

type Map = serde_json::Map<String, Value>;

fn is_scalar(value: &Value) -> bool {
    !value.is_array() && !value.is_object()
}

fn object(map: &Map, above: &mut Vec<(String, String)>, out: &mut String) -> Result<(), ReadError> {
    let depth = above.len();
    statements(map, above);
    let units = map.get("units").and_then(Value::as_object);
    let head = |key: &str| match units
        .and_then(|u| u.get(key))
        .or_else(|| unit_within(&map[key]))
        .and_then(Value::as_str)
    {
        Some(unit) => format!("{key} ({unit})"),
        None => key.to_owned(),
    };
    let columns: Vec<(String, Vec<String>)> =
        map.iter().filter_map(|(k, v)| Some((head(k), column(v)?))).collect();
    if lists(&columns, above, out)? {
        above.truncate(depth);
        return Ok(());
    }
    if let Some((heads, rows)) = matrix(map) {
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        block(above, &heads, rows.into_iter(), out);
    }
    let inner: Vec<(&String, &Value)> = map
        .iter()
        .filter(|(_, v)| {
            v.is_object() && !holds_only_statements(v)
                || v.as_array().is_some_and(|l| l.iter().any(|x| x.is_object()))
        })
        .collect();
    for (key, value) in &inner {
        // `{"forward": {...}, "reverse": {...}}`: the key names the sweep.
        let names = inner.len() > 1 && value.is_object();
        if names {
            above.push(("label".into(), (*key).clone()));
        }
        walk(value, above, out)?;
        if names {
            above.pop();
        }
    }
    above.truncate(depth);
    Ok(())
}

/// Lists side by side as a block; whether there are a voltage and a current among them.
fn lists(
    columns: &[(String, Vec<String>)],
    above: &[(String, String)],
    out: &mut String,
) -> Result<bool, ReadError> {
    let curve: Vec<&(String, Vec<String>)> =
        columns.iter().filter(|(k, _)| Heading::new(k).is_of_curve()).collect();
    if curve.len() < 2 {
        return Ok(false);
    }
    let longest = curve.iter().map(|(_, list)| list.len()).max().unwrap_or(0);
    if let Some((name, list)) = curve.iter().find(|(_, list)| list.len() < longest) {
        let second = curve.iter().find(|(_, list)| list.len() == longest).map_or("", |(k, _)| k).to_owned();
        let (first, lengths) = (name.clone(), (list.len(), longest));
        return Err(ReadError::of_file(Problem::Lengths { first, second, lengths }));
    }
    let heads: Vec<&str> = columns.iter().map(|(k, _)| k.as_str()).collect();
    let row = |n: usize| columns.iter().map(|(_, list)| list.get(n).cloned().unwrap_or_default()).collect();
    block(above, &heads, (0..longest).map(row), out);
    Ok(true)
}

/// The scalars of an object, and those of the objects in it that hold nothing else.
fn statements(map: &Map, out: &mut Vec<(String, String)>) {
    for (key, value) in map {
        // `"units": {"current": "mA"}` for a column `current_A`: the columns' own units must agree.
        if key == "units"
            && let Some(units) = value.as_object()
        {
            let unit =
                |(of, unit): (&String, &Value)| Some((format!("{of} unit"), unit.as_str()?.to_owned()));
            let columns = |of: &&String| map.contains_key(of.as_str());
            out.extend(units.iter().filter(|(of, _)| !columns(of)).filter_map(unit));
            continue;
        }
        match (statement(value), value.as_object()) {
            (Some(text), _) => out.push((key.clone(), text)),
            (None, Some(inner)) if holds_only_statements(value) => statements(inner, out),
            _ => {}
        }
    }
}

fn holds_only_statements(value: &Value) -> bool {
    statement(value).is_some() || value.as_object().is_some_and(|map| map.values().all(holds_only_statements))
}

/// A scalar, or a value with its unit: `{"value": 0.09, "unit": "cm²"}`.
fn statement(value: &Value) -> Option<String> {
    if is_scalar(value) {
        return Some(plain(value));
    }
    let map = value.as_object()?;
    let unit = map.get("unit").or_else(|| map.get("units")).and_then(Value::as_str)?;
    map.get("value").filter(|v| is_scalar(v)).map(|v| format!("{} {unit}", plain(v)))
}

/// The unit of `{"unit": "mA", "values": [...]}`.
fn unit_within(value: &Value) -> Option<&Value> {
    let map = value.as_object()?;
    map.get("unit").or_else(|| map.get("units"))
}

/// A list of scalars, also as `{"0": ..., "1": ...}` or beside its unit.
fn column(value: &Value) -> Option<Vec<String>> {
    match value {
        Value::Object(map) if unit_within(value).is_some() && map.len() == 2 => {
            map.values().find(|v| v.is_array()).and_then(column)
        }
        Value::Array(list) if !list.is_empty() && list.iter().all(is_scalar) => {
            Some(list.iter().map(plain).collect())
        }
        Value::Object(map)
            if map.len() > 1
                && map.keys().enumerate().all(|(n, k)| *k == n.to_string())
                && map.values().all(is_scalar) =>
        {
            Some(map.values().map(plain).collect())
        }
        Value::Object(map)
            if map.len() > 1
                && map.keys().all(|k| k.parse::<usize>().is_ok())
                && map.values().all(is_scalar) =>
        {
            let mut rows: Vec<(usize, String)> =
                map.iter().filter_map(|(k, v)| Some((k.parse().ok()?, plain(v)))).collect();
            rows.sort_by_key(|r| r.0);
            Some(rows.into_iter().map(|r| r.1).collect())
        }
        _ => None,
    }
}

/// `{"columns": ["V (V)", "I (mA)"], "data": [[...], ...]}`: headings and rows.
fn matrix(map: &Map) -> Option<(Vec<String>, Vec<Vec<String>>)> {
    let rows = map.values().find_map(|v| {
        let rows = v.as_array().filter(|l| l.len() > 1)?;
        rows.iter()
            .map(|r| r.as_array().filter(|c| c.iter().all(is_scalar)).map(|c| c.iter().map(plain).collect()))
            .collect::<Option<Vec<Vec<String>>>>()
    })?;
    let width = rows.first()?.len();
    let heads = map.values().find_map(|v| {
        let list = v.as_array().filter(|l| l.len() == width)?;
        list.iter()
            .map(|h| match h {
                Value::String(text) => Some(text.clone()),
                Value::Object(o) => {
                    let name = o.get("name").or_else(|| o.get("label")).and_then(Value::as_str)?;
                    Some(
                        o.get("unit")
                            .and_then(Value::as_str)
                            .map_or_else(|| name.to_owned(), |u| format!("{name} ({u})")),
                    )
                }
                _ => None,
            })
            .collect::<Option<Vec<String>>>()
    })?;
    Some((heads, rows))
}

fn block(
    entries: &[(String, String)],
    heads: &[&str],
    rows: impl Iterator<Item = Vec<String>>,
    out: &mut String,
) {
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
