//! A table of a web page, which some instruments write under the ending of a spreadsheet: rewritten as delimited text.

use super::records::Rewritten;

/// The rows of all tables with the text between them as comments; `None` where the text holds none.
pub(super) fn html(text: &str) -> Option<Rewritten> {
    if !text.trim_start().starts_with('<') {
        return None;
    }
    let text = &visible(text);
    let lower = text.to_ascii_lowercase();
    // A cell over several rows leaves the others open to more than one reading.
    if !lower.contains("<tr") || !lower.contains("<td") || lower.contains("rowspan") {
        return None;
    }
    let mut out = String::new();
    let (mut at, mut foot) = (0, false);
    while let Some(open) = next_tag(&lower, at, "<tr") {
        remark(&text[at..open], &mut out);
        let ends = ["</tr", "<tr"].into_iter().filter_map(|tag| next_tag(&lower, open + 1, tag));
        let end = ends.min().unwrap_or(text.len());
        let before = &lower[at..open];
        foot = match (before.rfind("<tfoot"), before.rfind("</tfoot")) {
            (None, None) => foot,
            (begins, ends) => begins > ends,
        };
        let cells = cells(&text[open..end], &lower[open..end]);
        out.push_str(if foot { "# " } else { "" });
        out.push_str(&(cells.join("\t") + "\n"));
        at = end;
    }
    remark(&text[at..], &mut out);
    Some(Rewritten { text: out, ..Rewritten::default() })
}

/// Without what a page does not show: remarks, templates, scripts and styles.
fn visible(text: &str) -> String {
    let hidden =
        [("<!--", "-->"), ("<template", "</template>"), ("<script", "</script>"), ("<style", "</style>")];
    hidden.iter().fold(text.to_owned(), |text, (open, close)| without(&text, open, close))
}

/// Without what stands between two marks, and these.
fn without(text: &str, open: &str, close: &str) -> String {
    let lower = text.to_ascii_lowercase();
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    while let Some(from) = lower[at..].find(open).map(|k| k + at) {
        out.push_str(&text[at..from]);
        at = lower[from..].find(close).map_or(text.len(), |k| from + k + close.len());
    }
    out + &text[at..]
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
    let mut cells = Vec::new();
    for (from, to) in starts.iter().zip(ends) {
        cells.push(plain(&row[*from..to]).replace('\t', " "));
        let wide = span(&lower[*from..to]).clamp(1, 100);
        cells.extend((1..wide).map(|_| String::new()));
    }
    cells
}

/// Columns over which a cell goes.
fn span(cell: &str) -> usize {
    let tag = &cell[..cell.find('>').unwrap_or(cell.len())];
    let behind = tag.split_once("colspan").map_or("", |(_, behind)| behind);
    let digits: String =
        behind.chars().skip_while(|c| !c.is_ascii_digit()).take_while(char::is_ascii_digit).collect();
    digits.parse().unwrap_or(1)
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
            // What stands on either side of a mark are two things.
            '>' if within => {
                within = false;
                out.push(' ');
            }
            c if !within => out.push(c),
            _ => {}
        }
    }
    written_out(&out).trim().to_owned()
}

/// Entities by their characters.
fn written_out(text: &str) -> String {
    const NAMED: [(&str, char); 12] = [
        ("nbsp", ' '),
        ("minus", '-'),
        ("micro", 'µ'),
        ("mu", 'µ'),
        ("deg", '°'),
        ("sup2", '²'),
        ("plusmn", '±'),
        ("middot", '·'),
        ("lt", '<'),
        ("gt", '>'),
        ("quot", '"'),
        ("amp", '&'),
    ];
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find('&') {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        let name = rest.find(';').filter(|end| *end <= 10).map_or("", |end| &rest[1..end]);
        let code = name.strip_prefix('#').and_then(|digits| match digits.strip_prefix(['x', 'X']) {
            Some(hex) => u32::from_str_radix(hex, 16).ok(),
            None => digits.parse().ok(),
        });
        let named = || NAMED.iter().find(|(known, _)| *known == name).map(|(_, c)| *c);
        match code.and_then(char::from_u32).or_else(named) {
            Some(c) => {
                out.push(c);
                rest = &rest[name.len() + 2..];
            }
            None => {
                out.push('&');
                rest = &rest[1..];
            }
        }
    }
    out + rest
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
        let rows = |text: &str| html(&format!("<table>{text}</table>")).map(|made| made.text);
        let cell = |inside: &str| rows(&format!("<tr><td>{inside}</td><td>2</td></tr>")).unwrap();
        assert_eq!(cell("30311<br>12"), "30311 12\t2\n");
        assert_eq!(cell("30.108<sup>2</sup>"), "30.108 2\t2\n");
        assert_eq!(cell("I&#x28;&#181;A&#41; &unknown; &"), "I(µA) &unknown; &\t2\n");
        assert_eq!(
            rows("<!-- <tr><td>1</td></tr> --><tr><td colspan=\"2\">a</td><td>b</td></tr>").unwrap(),
            "a\t\tb\n"
        );
        assert_eq!(rows("<tr><td>1</td></tr><tfoot><tr><td>9</td></tr></tfoot>").unwrap(), "1\n# 9\n");
        assert_eq!(rows("<tr><td rowspan=2>1</td></tr>"), None);
    }
}
