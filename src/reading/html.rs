//! A table of a web page, which some instruments write under the ending of a spreadsheet: rewritten as delimited text.

use super::records::Rewritten;

/// The rows of all tables with the text between them as comments; `None` where the text holds none.
pub(super) fn html(text: &str) -> Option<Rewritten> {
    if !text.trim_start().starts_with('<') {
        return None;
    }
    let lower = text.to_ascii_lowercase();
    if !lower.contains("<tr") || !lower.contains("<td") {
        return None;
    }
    let mut out = String::new();
    let mut at = 0;
    while let Some(open) = next_tag(&lower, at, "<tr") {
        remark(&text[at..open], &mut out);
        let ends = ["</tr", "<tr"].into_iter().filter_map(|tag| next_tag(&lower, open + 1, tag));
        let end = ends.min().unwrap_or(text.len());
        let cells = cells(&text[open..end], &lower[open..end]);
        out.push_str(&(cells.join("\t") + "\n"));
        at = end;
    }
    remark(&text[at..], &mut out);
    Some(Rewritten { text: out, headings: None, decimal: None })
}

/// Where a tag begins, from `at` on.
fn next_tag(lower: &str, at: usize, tag: &str) -> Option<usize> {
    let mut found = lower[at..].match_indices(tag).map(|(k, _)| k + at);
    found.find(|k| !lower[k + tag.len()..].starts_with(|c: char| c.is_ascii_alphanumeric()))
}

/// What stands in the cells of a row.
fn cells(row: &str, lower: &str) -> Vec<String> {
    let mut starts: Vec<usize> =
        ["<td", "<th"].iter().flat_map(|tag| lower.match_indices(tag).map(|(k, _)| k)).collect();
    starts.sort_unstable();
    let ends = starts.iter().skip(1).copied().chain([row.len()]);
    starts.iter().zip(ends).map(|(from, to)| plain(&row[*from..to]).replace('\t', " ")).collect()
}

/// The text outside of tags, a line each, as comments.
fn remark(text: &str, out: &mut String) {
    for line in text.lines() {
        let line = plain(line);
        if !line.is_empty() {
            out.push_str(&format!("# {line}\n"));
        }
    }
}

/// Without tags, entities written out.
fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut within = false;
    for c in text.chars() {
        match c {
            '<' => within = true,
            '>' if within => within = false,
            c if !within => out.push(c),
            _ => {}
        }
    }
    let entities = [
        ("&nbsp;", " "),
        ("&minus;", "-"),
        ("&micro;", "µ"),
        ("&deg;", "°"),
        ("&sup2;", "²"),
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&amp;", "&"),
    ];
    entities.iter().fold(out, |text, (from, to)| text.replace(from, to)).trim().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_of_a_table_become_lines() {
        let text = "<html><p>Cell 3, &micro;A range</p>\n<table><TR><th>V (V)</th><th>I (mA)\n<tr><td class=\"n\">&minus;0.1</td><td>30</td></tr>\n</table>";
        let made = html(text).unwrap();
        assert_eq!(made.text, "# Cell 3, µA range\nV (V)\tI (mA)\n-0.1\t30\n");
        assert!(html("V,I\n1,2\n").is_none());
    }
}
