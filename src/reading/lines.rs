//! The lines of a text, and what each is before the cells are known: blank, rule, comment, entry.

use super::number::trimmed;

/// Where each line begins and ends; the line ends LF, CR LF, CR, CR CR LF and form feeds part them.
pub(super) struct Lines<'a> {
    pub text: &'a str,
    /// Offsets of four bytes each: a file has at most 2 GiB.
    bounds: Vec<(u32, u32)>,
}

impl<'a> Lines<'a> {
    pub fn new(text: &'a str) -> Self {
        let bytes = text.as_bytes();
        let mut bounds = Vec::with_capacity(bytes.len() / 16 + 1);
        let mut line = |start: usize, end: usize| bounds.push((start as u32, end as u32));
        let (mut start, mut k) = (0, 0);
        while k < bytes.len() {
            match bytes[k] {
                b'\n' | b'\x0c' => {
                    let end = start + text[start..k].trim_end_matches('\r').len();
                    line(start, end);
                    start = k + 1;
                }
                b'\r' => {
                    // One or more before a line feed belong to it.
                    let run = bytes[k..].iter().take_while(|b| **b == b'\r').count();
                    if bytes.get(k + run) == Some(&b'\n') {
                        k += run - 1;
                    } else {
                        line(start, k);
                        start = k + 1;
                    }
                }
                _ => {}
            }
            k += 1;
        }
        if start < bytes.len() {
            line(start, start + text[start..].trim_end_matches('\r').len());
        }
        Self { text, bounds }
    }

    pub fn len(&self) -> usize {
        self.bounds.len()
    }

    pub fn get(&self, line: usize) -> &'a str {
        let (start, end) = self.bounds[line];
        &self.text[start as usize..end as usize]
    }

    /// Whether the text ends within the last line, without a line end.
    pub fn ends_within_a_line(&self) -> bool {
        !self.text.ends_with(['\n', '\r', '\x0c'])
    }
}

/// Whether nothing but blanks and empty cells stands here.
pub(super) fn is_blank(line: &str) -> bool {
    line.chars().all(|c| c.is_whitespace() || matches!(c, ';' | ',' | '|' | '"' | '\0' | '\u{feff}'))
}

/// A line drawn under a heading: `-----`, `=== ===`, `+----+----+`.
pub(super) fn is_rule(line: &str) -> bool {
    let marks = line.chars().filter(|c| matches!(c, '-' | '=' | '_' | '*' | '~' | '─' | '═')).count();
    marks >= 3
        && line.chars().all(|c| {
            c.is_whitespace()
                || matches!(
                    c,
                    '-' | '=' | '_' | '*' | '~' | '─' | '═' | '+' | '|' | '#' | ';' | ',' | ':' | '%'
                )
        })
}

/// The text behind a comment mark. A row that lacks its first cell (`;0,5`) is no comment.
pub(super) fn comment<'a>(line: &'a str, mark: Option<&str>) -> Option<&'a str> {
    let bare = line.trim_start();
    if let Some(mark) = mark {
        return bare.strip_prefix(mark).map(str::trim);
    }
    for mark in ['#', '%', '!'] {
        // `#` alone may head a column of numbers: `#  V  I`; `#1` is a cell.
        if let Some(rest) = bare.strip_prefix(mark) {
            let rest = rest.trim_start_matches(mark);
            let heads = mark == '#' && rest.starts_with(['\t', ';', ',', '|']) && rest.len() > 1;
            return (!heads).then(|| rest.trim());
        }
    }
    if let Some(rest) = bare.strip_prefix("//") {
        return Some(rest.trim_start_matches('/').trim());
    }
    if let Some(rest) = bare.strip_prefix(';') {
        let rest = rest.trim_start_matches(';');
        let number = rest
            .trim_start()
            .trim_start_matches(['-', '+', '\u{2212}', '.', ','])
            .starts_with(|c: char| c.is_ascii_digit());
        return (!number).then(|| rest.trim());
    }
    let remark = bare.get(..4).is_some_and(|start| start.eq_ignore_ascii_case("rem "));
    remark.then(|| bare[4..].trim())
}

/// `key: value` or `key = value`.
pub(super) fn entry(text: &str) -> Option<(&str, &str)> {
    let text = trimmed(text);
    let at = separator(text)?;
    let (key, value) = (text[..at].trim().trim_matches('"').trim(), text[at + 1..].trim());
    let value = value.trim_end_matches([';', ',', '\t', ' ']).trim_matches('"').trim();
    let sensible = key.chars().next().is_some_and(char::is_alphabetic) && key.chars().count() <= 60;
    (sensible && !value.is_empty() && !key.contains(['\t', ';'])).then_some((key, value))
}

/// The first `:` or `=` that stands outside brackets.
fn separator(text: &str) -> Option<usize> {
    let mut depth = 0;
    for (at, c) in text.char_indices() {
        match c {
            '(' | '[' | '{' => depth += 1,
            ')' | ']' | '}' => depth -= 1,
            ':' | '=' if depth <= 0 => return Some(at),
            _ => {}
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_end_parts_lines() {
        for text in ["a\nb\n\nc", "a\r\nb\r\n\r\nc", "a\rb\r\rc", "a\r\r\nb\r\r\n\r\r\nc\r\r\n"] {
            let lines = Lines::new(text);
            let list: Vec<&str> = (0..lines.len()).map(|k| lines.get(k)).collect();
            assert_eq!(list, ["a", "b", "", "c"], "{text:?}");
        }
    }

    #[test]
    fn comments_and_entries() {
        assert_eq!(comment("# area: 1", None), Some("area: 1"));
        assert_eq!(comment("%% x", None), Some("x"));
        assert_eq!(comment(";0,5", None), None);
        assert_eq!(comment("; note", None), Some("note"));
        assert_eq!(comment("* x", Some("*")), Some("x"));
        assert_eq!(entry("Area (cm2) = 0.25;"), Some(("Area (cm2)", "0.25")));
        assert_eq!(entry("Time (hh:mm:ss);Index"), None);
        assert_eq!(entry("0.1: 3"), None);
    }
}
