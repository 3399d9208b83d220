//! Named lists of numbers, as matrix programs, settings files and notebooks write them: rewritten as delimited text.
//!
//! ```text
//! voltage_V = [0.1, 0.2, 0.3, 0.4]        U[V];0.1;0.2;0.3;0.4        voltage_V:
//! current_mA: 30.1 30.0 29.8 29.5         V = [ 0.1 0.2 …              - 0.1
//!                                           … 0.9 1.0 ];               - 0.2
//! ```

use super::fold::folded;
use super::heading::Heading;
use super::lines::{Lines, entry};
use super::records::Rewritten;
use super::unit::unit;

/// Numbers that make a list of a statement: a date or an address has fewer.
const FEWEST: usize = 4;

/// A list and its name.
struct List {
    name: String,
    numbers: Vec<String>,
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
    /// Whether the lists name a voltage and a current and are of one length.
    fn is_of_curve(&self) -> bool {
        let named = self.lists.iter().filter(|l| Heading::new(&l.name).is_of_curve()).count();
        named >= 2 && self.lists.iter().all(|l| l.numbers.len() == self.lists[0].numbers.len())
    }
}

/// The lists as columns. `None` where no two of one length name a voltage and a current, where others beside them do not fit,
/// and where the text changes a list later or gives it a second unit.
pub(super) fn lists(lines: &Lines) -> Option<Rewritten> {
    let groups = groups(lines)?;
    let whole = groups.iter().filter(|g| !g.lists.is_empty());
    if whole.clone().count() == 0 || !whole.clone().all(Group::is_of_curve) {
        return None;
    }
    let several = whole.count() > 1;
    let mut text = String::new();
    for group in &groups {
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
    }
    Some(Rewritten { text, ..Rewritten::default() })
}

/// What a line of such a text is.
enum Statement<'a> {
    /// A name and what stands behind it, which may be nothing.
    Named(&'a str, &'a str),
    /// Numbers alone.
    Numbers(Vec<String>),
    Other,
}

fn groups(lines: &Lines) -> Option<Vec<Group>> {
    let mut groups = vec![Group::default()];
    let mut open: Option<List> = None;
    for k in 0..lines.len() {
        match statement(lines.get(k)) {
            Statement::Numbers(more) => {
                if let Some(list) = &mut open {
                    list.numbers.extend(more);
                }
            }
            Statement::Named(name, _) if name.ends_with(['+', '-', '*', '/']) => return None,
            Statement::Named(name, behind) => match list_of(name, behind) {
                Some(list) => add(&mut groups, open.replace(list)),
                // What is done to a list later is not read: `v = [x/1000 for x in v]`, `i += [...]`.
                None if changes_a_list(&groups, open.as_ref(), name) => return None,
                None => entry_of(&mut groups, name, behind),
            },
            Statement::Other => {}
        }
    }
    add(&mut groups, open);
    Some(groups)
}

/// Whether a statement names a list that stands above it.
fn changes_a_list(groups: &[Group], open: Option<&List>, name: &str) -> bool {
    let name = last_part(name);
    let is = |list: &List| list.name.split(" (").next() == Some(name);
    groups.last().is_some_and(|g| g.lists.iter().any(is)) || open.is_some_and(is)
}

/// A name that stood before begins another sweep, and a name without numbers is that of the lists that follow. One number is
/// a value.
fn add(groups: &mut Vec<Group>, list: Option<List>) {
    let (Some(list), Some(last)) = (list, groups.last_mut()) else { return };
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
    Some(List { name, numbers })
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
    let item = bare.strip_prefix("- ").unwrap_or(bare);
    if let Some(found) = numbers(without_remark(item).0).filter(|n| !n.is_empty() && !commented) {
        return Statement::Numbers(found);
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
        ] {
            let made = lists(&Lines::new(text)).unwrap_or_else(|| panic!("{text}"));
            let rows: Vec<&str> = made.text.lines().filter(|l| !l.starts_with('#')).collect();
            assert_eq!(rows, columns.lines().collect::<Vec<_>>(), "{text}");
        }
        let with_units = "V = [0.1 0.2 0.3 0.4]; % V\nI = [30 29 20 -5]; % mA\n";
        assert!(lists(&Lines::new(with_units)).unwrap().text.starts_with("V (V)\tI (mA)\n"));
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
            assert!(lists(&Lines::new(text)).is_none(), "{text}");
        }
    }
}
