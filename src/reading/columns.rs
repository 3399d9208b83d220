//! Which columns are the voltage and the current: by the caller's word, by the headings, by position in a table of two.
//!
//! What two columns could both be is an error that lists them. Pairs of columns, or several currents beside one voltage, are
//! several sweeps.

use super::error::Problem;
use super::heading::{Heading, Role};
use super::options::{Column, Options};

/// A sweep's two columns.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Pair {
    pub voltage: usize,
    pub current: usize,
    /// What tells it from the other pairs of the table.
    pub label: Option<String>,
}

/// The pairs of a table, and sentences on what was assumed.
#[derive(Clone, Debug, Default)]
pub(super) struct Chosen {
    pub pairs: Vec<Pair>,
    pub notes: Vec<String>,
    /// Neither headings nor the caller decided.
    pub by_position: bool,
    /// Which quantity a set column says was stepped: the voltage (`true`) or the current.
    pub voltage_was_set: Option<bool>,
}

/// What the cells of each column look like.
#[derive(Clone, Debug, Default)]
pub(super) struct Looks {
    /// Columns with anything in them.
    pub filled: Vec<usize>,
    /// Columns of 0, 1, 2, … or 1, 2, 3, …
    pub counts: Vec<usize>,
    /// Columns whose cells are numbers.
    pub numeric: Vec<usize>,
    /// Pairs of columns that hold the same numbers but for a factor: the second repeats the first.
    pub repeated: Vec<(usize, usize)>,
}

pub(super) fn choose(heads: Option<&[Heading]>, looks: &Looks, options: &Options) -> Result<Chosen, Problem> {
    let voltage = given("voltage", options.voltage.as_ref(), heads, looks)?;
    let current = given("current", options.current.as_ref(), heads, looks)?;
    if let (Some(voltage), Some(current)) = (voltage, current) {
        return one(voltage, current, Chosen::default());
    }
    let Some(heads) = heads else { return by_position(voltage, current, looks) };
    let mut chosen = Chosen::default();
    let voltages = match voltage {
        Some(column) => vec![column],
        None => candidates("voltage", heads, looks, current, &mut chosen)?,
    };
    let currents = match current {
        Some(column) => vec![column],
        None => candidates("current", heads, looks, voltage, &mut chosen)?,
    };
    chosen.voltage_was_set = stepped(heads, looks);
    match (voltages.as_slice(), currents.as_slice()) {
        ([voltage], [current]) => one(*voltage, *current, chosen),
        ([voltage], several) => {
            let pair =
                |c: &usize| Pair { voltage: *voltage, current: *c, label: Some(heads[*c].text.clone()) };
            chosen.pairs = several.iter().map(pair).collect();
            Ok(chosen)
        }
        (v, i) if v.len() == i.len() => {
            let pair = |(v, i): (usize, usize)| Pair { voltage: v, current: i, label: pair_label(heads, i) };
            chosen.pairs = paired(heads, v, i)?.into_iter().map(pair).collect();
            Ok(chosen)
        }
        (v, i) => {
            let (what, list) = if v.len() > 1 { ("voltage", v) } else { ("current", i) };
            Err(Problem::TwoColumns { what, columns: listed(list.iter().map(|c| &heads[*c])) })
        }
    }
}

/// Each voltage with the current of the same name, where names tell them apart (`V1`, `V2`; `v_left`, `v_right`); else in
/// their order. Names that fit no pairs are an error.
fn paired(heads: &[Heading], v: &[usize], i: &[usize]) -> Result<Vec<(usize, usize)>, Problem> {
    let names = |list: &[usize]| list.iter().map(|k| heads[*k].of_device()).collect::<Vec<String>>();
    let (of_v, of_i) = (names(v), names(i));
    let differ = |names: &[String]| {
        let mut sorted = names.to_vec();
        sorted.sort();
        sorted.dedup();
        sorted.len() == names.len()
    };
    if !differ(&of_v) || !differ(&of_i) {
        return Ok(v.iter().copied().zip(i.iter().copied()).collect());
    }
    let mut pairs = Vec::with_capacity(v.len());
    for (voltage, name) in v.iter().zip(&of_v) {
        match of_i.iter().position(|other| other == name) {
            Some(k) => pairs.push((*voltage, i[k])),
            // Numbered on through the table: `V1, I2, V3, I4`.
            None if of_v.iter().all(|name| !of_i.contains(name)) => {
                return Ok(v.iter().copied().zip(i.iter().copied()).collect());
            }
            None => {
                let columns = listed(v.iter().chain(i).map(|c| &heads[*c]));
                return Err(Problem::TwoColumns { what: "current", columns });
            }
        }
    }
    Ok(pairs)
}

/// `I2 (mA)` of `V2 (V)` and `I2 (mA)`; nothing where the headings of the pairs are the same.
fn pair_label(heads: &[Heading], current: usize) -> Option<String> {
    let same = heads.iter().filter(|h| h.text == heads[current].text).count() > 1;
    (!same).then(|| heads[current].text.clone())
}

fn one(voltage: usize, current: usize, mut chosen: Chosen) -> Result<Chosen, Problem> {
    if voltage == current {
        return Err(Problem::SameColumn { column: voltage });
    }
    chosen.pairs = vec![Pair { voltage, current, label: None }];
    Ok(chosen)
}

fn listed<'a>(heads: impl Iterator<Item = &'a Heading>) -> String {
    heads.filter(|h| !h.text.is_empty()).map(|h| format!("'{}'", h.text)).collect::<Vec<_>>().join(", ")
}

/// The column that the caller names.
pub(super) fn given(
    what: &'static str,
    choice: Option<&Column>,
    heads: Option<&[Heading]>,
    looks: &Looks,
) -> Result<Option<usize>, Problem> {
    let unknown = |choice: String, known: String| Problem::UnknownColumn { what, choice, known };
    let numbers = || format!("{:?}, counted from 0", looks.filled);
    match choice {
        None => Ok(None),
        Some(Column::Number(n)) if looks.filled.contains(n) => Ok(Some(*n)),
        Some(Column::Number(n)) => Err(unknown(n.to_string(), numbers())),
        Some(Column::Heading(text)) => {
            let Some(heads) = heads else {
                return Err(unknown(format!("'{text}'"), format!("{} (there are no headings)", numbers())));
            };
            let wanted = text.trim().to_lowercase();
            for spelled in [|h: &Heading| h.text.to_lowercase(), |h: &Heading| h.name.to_lowercase()] {
                let found: Vec<usize> =
                    (0..heads.len()).filter(|k| spelled(&heads[*k]).trim() == wanted).collect();
                match found.as_slice() {
                    [] => {}
                    [column] => return Ok(Some(*column)),
                    several => {
                        return Err(unknown(
                            format!("'{text}' fits columns {several:?}"),
                            "these numbers".into(),
                        ));
                    }
                }
            }
            Err(unknown(format!("'{text}'"), format!("{} or a number from 0", listed(heads.iter()))))
        }
    }
}

/// The columns that hold a quantity: measured ones before set ones, currents before densities.
fn candidates(
    what: &'static str,
    heads: &[Heading],
    looks: &Looks,
    taken: Option<usize>,
    chosen: &mut Chosen,
) -> Result<Vec<usize>, Problem> {
    let of = |role: Role| -> Vec<usize> {
        looks
            .filled
            .iter()
            .copied()
            .filter(|k| heads[*k].role == role && Some(*k) != taken && !looks.repeats(*k))
            .collect()
    };
    let (read, set) =
        if what == "voltage" { (Role::Voltage, Role::SetVoltage) } else { (Role::Current, Role::SetCurrent) };
    let (mut found, sets) = (measured(what, of(read), heads, chosen), of(set));
    if !found.is_empty() && !sets.is_empty() {
        let text = &heads[found[0]].text;
        chosen.notes.push(format!(
            "{what} from the measured column '{text}', not from the set one, {}",
            listed(sets.iter().map(|k| &heads[*k]))
        ));
    }
    if found.is_empty() && !sets.is_empty() {
        chosen
            .notes
            .push(format!("{what} from '{}', as it was set: there is no measured one", heads[sets[0]].text));
        found = sets;
    }
    let densities = of(Role::Density);
    if what == "current" && found.is_empty() {
        found = densities;
    } else if what == "current" && !densities.is_empty() {
        let beside = listed(densities.iter().map(|k| &heads[*k]));
        chosen.notes.push(format!("current from '{}', not from the density {beside}", heads[found[0]].text));
    }
    if !found.is_empty() {
        return Ok(found);
    }
    if let Some(k) = looks.filled.iter().find(|k| heads[**k].role == Role::Function) {
        return Err(Problem::Function { heading: heads[*k].text.clone(), what });
    }
    Err(Problem::NoColumn { what, headings: listed(heads.iter()) })
}

/// Of several columns those that say they were measured, where others do not.
fn measured(what: &'static str, found: Vec<usize>, heads: &[Heading], chosen: &mut Chosen) -> Vec<usize> {
    let (read, rest): (Vec<usize>, Vec<usize>) = found.iter().partition(|k| heads[**k].measured);
    if read.is_empty() || rest.len() < read.len() {
        return found;
    }
    let text = &heads[read[0]].text;
    let others = listed(rest.iter().map(|k| &heads[*k]));
    chosen.notes.push(format!("{what} from the measured column '{text}', not from {others}"));
    read
}

fn stepped(heads: &[Heading], looks: &Looks) -> Option<bool> {
    let has = |role: Role| looks.filled.iter().any(|k| heads[*k].role == role);
    match (has(Role::SetVoltage), has(Role::SetCurrent)) {
        (true, false) => Some(true),
        (false, true) => Some(false),
        _ => None,
    }
}

impl Looks {
    fn repeats(&self, column: usize) -> bool {
        self.repeated.iter().any(|(_, second)| *second == column)
    }
}

/// No headings: of two columns of numbers the first is the voltage, a running number before them aside.
fn by_position(voltage: Option<usize>, current: Option<usize>, looks: &Looks) -> Result<Chosen, Problem> {
    let mut left: Vec<usize> = looks.numeric.clone();
    let mut notes = Vec::new();
    if left.len() > 2
        && let Some(k) = looks.counts.first().filter(|k| left.first() == Some(*k))
    {
        notes.push(format!("column {k} taken as a running number"));
        left.retain(|c| c != k);
    }
    if left.len() != 2 {
        return Err(Problem::NoHeadings { columns: looks.filled.len() });
    }
    let other = |taken: usize| left.iter().copied().find(|k| *k != taken).unwrap_or(taken);
    let both = voltage.is_none() && current.is_none();
    let (v, i) = match (voltage, current) {
        (Some(v), _) => (v, other(v)),
        (None, Some(i)) => (other(i), i),
        (None, None) => (left[0], left[1]),
    };
    if both {
        notes.push("no headings: first column taken as voltage, second as current".into());
    }
    one(v, i, Chosen { notes, by_position: both, ..Chosen::default() })
}
