//! Named lists of numbers, as matrix programs, settings files and notebooks write them: rewritten as delimited text.
//!
//! ```text
//! voltage_V = [0.1, 0.2, 0.3, 0.4]        U[V];0.1;0.2;0.3;0.4        voltage_V:
//! current_mA: 30.1 30.0 29.8 29.5         V = [ 0.1 0.2 …              - 0.1
//!                                           … 0.9 1.0 ];               - 0.2
//! ```

use super::error::{Problem, ReadError, shown};
use super::fold::folded;
use super::heading::Heading;
use super::lines::{Lines, entry, is_blank};
use super::records::Rewritten;
use super::unit::unit;

/// Numbers that make a list of a statement: a date or an address has fewer.
const FEWEST: usize = 4;

/// A list and its name.
struct List {
    name: String,
    numbers: Vec<String>,
    /// Brackets that are open.
    depth: i32,
    /// Whether a dash marks each item that has a line of its own.
    dashed: Option<bool>,
}

/// The lists of one sweep, and what stands above them.
#[derive(Default)]
struct Group {
    /// A name without anything behind it above the lists.
    label: Option<String>,
    entries: Vec<(String, String)>,
    lists: Vec<List>,
}

impl Group {
    /// Whether the lists name a voltage and a current.
    fn names_a_curve(&self) -> bool {
        self.lists.iter().filter(|l| Heading::new(&l.name).is_of_curve()).count() >= 2
    }

    /// Whether they are of one length as well.
    fn is_of_curve(&self) -> bool {
        self.names_a_curve() && self.lists.iter().all(|l| l.numbers.len() == self.lists[0].numbers.len())
    }
}

/// The lists as columns. `None` where no two of one length name a voltage and a current, where others beside them do not fit,
/// and where the text changes a list later or gives it a second unit.
///
/// # Errors
/// A list with an item that is empty or may be two numbers, and one that has no end.
pub(super) fn lists(lines: &Lines) -> Result<Option<Rewritten>, ReadError> {
    let mut reader = Reader { groups: vec![Group::default()], ..Reader::default() };
    for k in 0..lines.len() {
        if !reader.take(k, lines.get(k)) {
            return Ok(None);
        }
    }
    reader.close(None);
    let Reader { groups, problem, notes, .. } = reader;
    let whole = || groups.iter().filter(|g| !g.lists.is_empty());
    match problem {
        Some(problem) if whole().any(Group::names_a_curve) => return Err(problem),
        _ if whole().count() == 0 || !whole().all(Group::is_of_curve) => return Ok(None),
        _ => {}
    }
    let several = whole().count() > 1;
    let text = groups.iter().map(|group| columns(group, several)).collect();
    Ok(Some(Rewritten { text, notes, ..Rewritten::default() }))
}

/// The lists of a group as columns parted by tabs.
fn columns(group: &Group, several: bool) -> String {
    let mut text = String::new();
    if let Some(label) = group.label.as_ref().filter(|_| several) {
        text.push_str(&format!("# label: {label}\n"));
    }
    for (key, value) in &group.entries {
        text.push_str(&format!("# {key}: {value}\n"));
    }
    let names: Vec<&str> = group.lists.iter().map(|l| l.name.as_str()).collect();
    text.push_str(&(names.join("\t") + "\n"));
    for k in 0..group.lists.first().map_or(0, |l| l.numbers.len()) {
        let row: Vec<&str> = group.lists.iter().map(|l| l.numbers[k].as_str()).collect();
        text.push_str(&(row.join("\t") + "\n"));
    }
    text.push('\n');
    text
}

/// What a line of such a text is.
enum Statement<'a> {
    /// A name and what stands behind it, which may be nothing.
    Named(&'a str, &'a str),
    /// Numbers alone, and whether a dash stands before them as the mark of an item.
    Numbers(Vec<String>, bool),
    /// The mark of an item alone.
    EmptyItem,
    Other,
}

/// Lists, line by line.
#[derive(Default)]
struct Reader {
    groups: Vec<Group>,
    open: Option<List>,
    /// Lines without numbers since the last number of the open list.
    between: Vec<String>,
    notes: Vec<String>,
    /// The first item that cannot be read.
    problem: Option<ReadError>,
}

impl Reader {
    /// Takes line `k`, counted from 0; `false` where the text does more than name lists.
    fn take(&mut self, k: usize, line: &str) -> bool {
        match statement(line) {
            Statement::Numbers(more, dashed) => self.extend(k, line, more, dashed),
            Statement::EmptyItem => self.refuse(k, line, |list| Problem::EmptyItem { list }),
            Statement::Named(name, _) if name.ends_with(['+', '-', '*', '/']) => return false,
            Statement::Named(name, behind) => match list_of(name, behind) {
                Some(list) => self.close(Some((k, line, list))),
                // What is done to a list later is not read: `v = [x/1000 for x in v]`, `i += [...]`.
                None if changes_a_list(&self.groups, self.open.as_ref(), name) => return false,
                None => entry_of(&mut self.groups, name, behind),
            },
            Statement::Other => self.pass(k, line),
        }
        true
    }

    /// Numbers that belong to the open list.
    fn extend(&mut self, k: usize, line: &str, more: Vec<String>, dashed: bool) {
        let Some(list) = &mut self.open else { return };
        let other_style = *list.dashed.get_or_insert(dashed) != dashed && line.trim_start().starts_with('-');
        list.depth += depth(without_remark(line).0);
        list.numbers.extend(more);
        self.notes.append(&mut self.between);
        if other_style {
            self.refuse(k, line, |list| Problem::ItemOrMinus { list });
        }
    }

    /// A line that is no part of a list.
    fn pass(&mut self, k: usize, line: &str) {
        let Some(list) = &mut self.open else { return };
        let bare = without_remark(line).0.trim();
        if !bare.is_empty() && bare.chars().all(|c| "[](){};, ".contains(c)) {
            list.depth += depth(bare);
            return;
        }
        let (name, at) = (&list.name, k + 1);
        if is_blank(line) {
            self.between.push(format!(
                "a blank line within the list '{name}', where a number may be missing: line {at}"
            ));
        } else if !list.numbers.is_empty() {
            self.between
                .push(format!("text within the list '{name}' left out: line {at} ('{}')", shown(line)));
        }
    }

    /// Ends the open list, and begins the next, which is named in a line.
    fn close(&mut self, next: Option<(usize, &str, List)>) {
        self.between.clear();
        if let Some(list) = self.open.take() {
            if list.depth > 0 && self.problem.is_none() {
                let problem = Problem::OpenList { list: list.name.clone() };
                self.problem = Some(match &next {
                    Some((k, line, _)) => ReadError::at(*k, line, problem),
                    None => ReadError::of_file(problem),
                });
            }
            add(&mut self.groups, list);
        }
        self.open = next.map(|(_, _, list)| list);
    }

    fn refuse(&mut self, k: usize, line: &str, problem: impl Fn(String) -> Problem) {
        if let Some(list) = &self.open
            && self.problem.is_none()
        {
            self.problem = Some(ReadError::at(k, line, problem(list.name.clone())));
        }
    }
}

/// Brackets that a text opens less those that it closes.
fn depth(text: &str) -> i32 {
    let bracket = |c: char| i32::from("[({".contains(c)) - i32::from("])}".contains(c));
    text.chars().map(bracket).sum()
}

/// Whether a statement names a list that stands above it.
fn changes_a_list(groups: &[Group], open: Option<&List>, name: &str) -> bool {
    let name = last_part(name);
    let is = |list: &List| list.name.split(" (").next() == Some(name);
    groups.last().is_some_and(|g| g.lists.iter().any(is)) || open.is_some_and(is)
}

/// A name that stood before begins another sweep, and a name without numbers is that of the lists that follow. One number is
/// a value.
fn add(groups: &mut Vec<Group>, list: List) {
    let Some(last) = groups.last_mut() else { return };
    match list.numbers.as_slice() {
        [] if last.lists.is_empty() => last.label = Some(list.name),
        [] => groups.push(Group { label: Some(list.name), ..Group::default() }),
        [value] => last.entries.push((list.name, value.clone())),
        more if more.len() < FEWEST => {}
        _ => add_list(groups, list),
    }
}

fn add_list(groups: &mut Vec<Group>, list: List) {
    let Some(last) = groups.last_mut() else { return };
    if last.lists.iter().any(|l| l.name == list.name) {
        groups.push(Group { lists: vec![list], ..Group::default() });
    } else {
        last.lists.push(list);
    }
}

/// A statement that is no list: what is said above the first list belongs to all that follow.
fn entry_of(groups: &mut [Group], name: &str, behind: &str) {
    let value = behind.trim().trim_end_matches([';', ',']).trim_matches(['"', '\'']);
    if let Some(last) = groups.last_mut()
        && !value.is_empty()
    {
        last.entries.push((last_part(name).to_owned(), value.to_owned()));
    }
}

/// A list that begins behind a name: with its first numbers, or with a bracket or nothing and numbers to follow.
fn list_of(name: &str, behind: &str) -> Option<List> {
    let (bare, remark) = without_remark(behind);
    let numbers = numbers(bare)?;
    if !numbers.is_empty() && numbers.len() < FEWEST && !bare.trim_start().starts_with(['[', '{', '(']) {
        return None;
    }
    let name = last_part(name);
    let own = Heading::new(name).unit;
    let of_remark = remark.and_then(unit);
    if let (Some(own), Some(other)) = (&own, &of_remark)
        && own.factor != other.factor
    {
        return None;
    }
    let of_remark = remark.filter(|_| own.is_none() && of_remark.is_some());
    let name = of_remark.map_or_else(|| name.to_owned(), |unit| format!("{name} ({unit})"));
    Some(List { name, numbers, depth: depth(bare), dashed: None })
}

/// `cell.voltage_V` is a voltage_V.
fn last_part(name: &str) -> &str {
    let from = name.rfind('.').map_or(0, |at| at + 1);
    if name[from..].starts_with(char::is_alphabetic) { &name[from..] } else { name }
}

/// The text before a remark behind it, and the remark: `[1 2 3]; % mA`.
fn without_remark(text: &str) -> (&str, Option<&str>) {
    match text.find(['%', '#']) {
        Some(at) => (&text[..at], Some(text[at + 1..].trim())),
        None => (text, None),
    }
}

fn statement(line: &str) -> Statement<'_> {
    // `[south]`: the name of what follows.
    if let Some(section) = line.trim().strip_prefix('[').and_then(|l| l.strip_suffix(']'))
        && section.starts_with(char::is_alphabetic)
    {
        return Statement::Named(section, "");
    }
    let bare = line.trim().trim_start_matches(['#', '%']).trim_start();
    let commented = bare.len() < line.trim().len();
    let item = bare.strip_prefix("- ");
    if let Some(found) =
        numbers(without_remark(item.unwrap_or(bare)).0).filter(|n| !n.is_empty() && !commented)
    {
        return Statement::Numbers(found, item.is_some());
    }
    if bare == "-" && !commented {
        return Statement::EmptyItem;
    }
    if !bare.starts_with(char::is_alphabetic) {
        return Statement::Other;
    }
    // `name: voltage_V` before a list is the name of it.
    if commented && let Some(("name", name)) = entry(bare) {
        return Statement::Named(name, "");
    }
    let end = bare.find(['=', ':', ';', '\t']).or_else(|| behind_bracket(bare));
    match end {
        Some(at) => {
            let behind = &bare[at + 1..];
            let begins = ["np.array", "array"]
                .iter()
                .find_map(|word| behind.trim().strip_prefix(word)?.strip_prefix('('));
            Statement::Named(bare[..at].trim(), begins.unwrap_or(behind))
        }
        None => Statement::Other,
    }
}

/// `U[V] 0.1 0.2`: the end of a unit in brackets.
fn behind_bracket(text: &str) -> Option<usize> {
    text.find([']', ')']).filter(|at| text[at + 1..].starts_with(' '))
}

/// The numbers of a text that holds nothing else but brackets and what parts them; `None` where something else stands there.
fn numbers(text: &str) -> Option<Vec<String>> {
    let plain = folded(text);
    let bare = plain.trim().trim_start_matches(['[', '(', '{']).trim_end_matches([']', ')', '}', ';', ',']);
    // A comma parts numbers, unless blanks or semicolons do. Tight between digits without points it may mark decimals.
    let by_comma = bare.contains(',') && !bare.contains(';') && (bare.contains(", ") || !bare.contains(' '));
    let tight = bare.match_indices(',').any(|(k, _)| bare[k + 1..].starts_with(|c: char| c.is_ascii_digit()));
    if by_comma && tight && !bare.contains('.') {
        return None;
    }
    let parts: Box<dyn Iterator<Item = &str>> = if by_comma {
        Box::new(bare.split(','))
    } else {
        Box::new(bare.split(|c: char| c.is_whitespace() || c == ';'))
    };
    let filled: Vec<&str> = parts.map(str::trim).filter(|p| !p.is_empty()).collect();
    let number = |p: &&str| {
        p.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'))
            && p.replacen(',', ".", 1).parse::<f64>().is_ok()
    };
    filled.iter().all(number).then(|| filled.into_iter().map(str::to_owned).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_become_columns() {
        let columns = "voltage_V\tcurrent_mA\n0.1\t30\n0.2\t29\n0.3\t20\n0.4\t-5\n\n";
        for text in [
            "voltage_V = [0.1, 0.2, 0.3, 0.4]\ncurrent_mA = [30, 29, 20, -5]\n",
            "voltage_V: 0.1 0.2 0.3 0.4\ncurrent_mA: 30 29 20 -5\n",
            "cell.voltage_V = [ 0.1 0.2\n 0.3 0.4 ];\ncell.current_mA=[30;29;20;-5];\n",
            "voltage_V:\n  - 0.1\n  - 0.2\n  - 0.3\n  - 0.4\ncurrent_mA:\n- 30\n- 29\n- 20\n- -5\n",
            "voltage_V;0.1;0.2;0.3;0.4\ncurrent_mA;30;29;20;-5\n",
            "# name: voltage_V\n# type: matrix\n 0.1\n 0.2\n 0.3\n 0.4\n\n# name: current_mA\n30\n29\n20\n-5\n",
            "voltage_V = np.array([0.1, 0.2, 0.3, 0.4])\ncurrent_mA = np.array([30, 29, 20, -5])",
            "voltage_V = [\n0.1\n0.2 % (first\n0.3\n0.4\n]; % volts\ncurrent_mA = [30, 29, 20, -5]",
        ] {
            let made = lists(&Lines::new(text)).unwrap().unwrap_or_else(|| panic!("{text}"));
            let rows: Vec<&str> = made.text.lines().filter(|l| !l.starts_with('#')).collect();
            assert_eq!(rows, columns.lines().collect::<Vec<_>>(), "{text}");
        }
        let with_units = "V = [0.1 0.2 0.3 0.4]; % V\nI = [30 29 20 -5]; % mA\n";
        assert!(lists(&Lines::new(with_units)).unwrap().unwrap().text.starts_with("V (V)\tI (mA)\n"));
        for text in [
            "V = [1 2 3 4]\nI = [1 2 3]",
            "V: 1 2 3 4",
            "time = [1 2 3 4]\nV = [1 2 3 4]",
            "V = 3\nI = 4",
            "V = 0,1, 2,3, 4,5, 6,7\nI = 9,8, 7,6, 5,4, 3,2",
            "voltage_V = [1 2 3 4]\ncurrent_A = [4 3 2 1] # mA",
            "V = [1 2 3 4]\nI = [4 3 2 1]\nV = [x/1000 for x in V]",
            "V = [1 2 3 4]\nI = [4 3 2 1]\nI += [0 -1]",
        ] {
            assert!(lists(&Lines::new(text)).unwrap().is_none(), "{text}");
        }
    }

    #[test]
    fn damaged_lists_are_refused_with_the_line() {
        let rest = "current_mA:\n- 30\n- 29\n- 20\n- -5\n";
        for (text, line, kind) in [
            (format!("voltage_V:\n- 0.1\n-\n- 0.3\n- 0.4\n- 0.5\n{rest}"), Some(3), "without a number"),
            (format!("voltage_V:\n- 0.1\n-0.2\n- 0.3\n- 0.4\n- 0.5\n{rest}"), Some(3), "negative number"),
            (format!("voltage_V:\n-0.1\n- 0.2\n- 0.3\n- 0.4\n- 0.5\n{rest}"), Some(3), "negative number"),
            ("v_V = [1, 2, 3, 4\ni_mA = [30, 29, 20, -5]\n".into(), Some(2), "'v_V' begins with a bracket"),
            ("v_V = [1, 2, 3, 4]\ni_mA = [30, 29, 20, -".into(), None, ""),
            ("v_V = [1, 2, 3, 4]\ni_mA = [30, 29, 20, -5".into(), None, "'i_mA' begins with a bracket"),
        ] {
            match lists(&Lines::new(&text)) {
                Err(error) => {
                    assert_eq!(error.line, line, "{text}");
                    assert!(!kind.is_empty() && error.to_string().contains(kind), "{error}");
                }
                Ok(found) => assert!(kind.is_empty() && found.is_none(), "{text}"),
            }
        }
    }

    #[test]
    fn what_stands_within_a_list_is_told() {
        let text =
            "voltage_V:\n- 0.1\n\n- 0.3\nlamp off?\n- 0.4\n- 0.5\n\ncurrent_mA:\n- 30\n- 29\n- 20\n- -5\n";
        let notes = lists(&Lines::new(text)).unwrap().unwrap().notes;
        assert_eq!(notes.len(), 2, "{notes:?}");
        assert!(notes[0].contains("blank line within the list 'voltage_V'") && notes[0].ends_with("line 3"));
        assert!(notes[1].contains("line 5 ('lamp off?')"), "{notes:?}");
    }
}
