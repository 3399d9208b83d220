//! A heading to a role and a unit: `Voltage (mV)`, `I/µA`, `U [V]`, `Current, mA`, `current_mA_avg`, `Strom in mA`.
//!
//! The name decides what a column is; where it says nothing, the unit does.

use super::fold::{folded, word};
use super::unit::{Dimension, Unit, unit};
use super::words;

/// What the cells of a column are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    Voltage,
    Current,
    Density,
    SetVoltage,
    SetCurrent,
    Time,
    Power,
    Resistance,
    Temperature,
    Irradiance,
    Index,
    Flag,
    Device,
    /// The scatter of another column, or a limit.
    Statistic,
    /// A function of a voltage or a current, such as its logarithm.
    Function,
    Other,
    Unknown,
}

/// A heading taken apart.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Heading {
    pub text: String,
    /// Without its unit.
    pub name: String,
    pub role: Role,
    pub unit: Option<Unit>,
    /// What stands where a unit should, and is none.
    pub unknown_unit: Option<String>,
    pub measured: bool,
    /// `-I`: the quantity with its sign turned.
    pub negated: bool,
}

impl Heading {
    pub fn new(text: &str) -> Self {
        let text = text.trim().trim_matches('"').trim();
        let plain = folded(text);
        let Parts { name, unit, unknown } = parts(plain.trim());
        // A unit of something that no sweep needs is none of a voltage or a current.
        let (unit, unknown) = match unit {
            Some(other) if other.dimension == Dimension::Other => (None, Some(other.text)),
            unit => (unit, unknown),
        };
        let (negated, name) = match name.strip_prefix('-') {
            Some(rest) if rest.trim_start().starts_with(char::is_alphabetic) => {
                (true, rest.trim_start().to_owned())
            }
            _ => (false, name),
        };
        let tokens = tokens(&name);
        let has = |list: &[&str]| tokens.iter().any(|t| list.contains(&t.as_str()));
        let role = role(&name, &tokens, unit.as_ref());
        let written = unit.map(|u| Unit { text: written_unit(text, &u.text), ..u });
        let measured = has(words::MEASURED) && !has(words::SET);
        let unknown_unit = unknown.filter(|_| matches!(role, Role::Voltage | Role::Current | Role::Density));
        Self { text: text.to_owned(), name, role, unit: written, unknown_unit, measured, negated }
    }

    /// The words of the name that say which device it is of: none that name a quantity, and a number behind one, `V2`.
    pub fn of_device(&self) -> String {
        let quantity = |token: &String| {
            [words::VOLTAGE, words::CURRENT, words::DENSITY, words::MEASURED, words::SET]
                .iter()
                .any(|list| list.contains(&token.as_str()))
        };
        let pieces = self.name.split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty());
        let rest = pieces.map(|piece| {
            let bare = bare(piece);
            if quantity(&bare) {
                piece.trim_start_matches(|c: char| !c.is_ascii_digit()).to_owned()
            } else {
                word(piece)
            }
        });
        rest.filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ")
    }

    /// Whether it names a voltage or a current, measured or set.
    pub fn is_of_curve(&self) -> bool {
        matches!(
            self.role,
            Role::Voltage
                | Role::Current
                | Role::Density
                | Role::SetVoltage
                | Role::SetCurrent
                | Role::Function
        )
    }
}

/// The unit as it stands in the heading, before look-alikes were folded.
fn written_unit(text: &str, folded_unit: &str) -> String {
    let at = folded(text).find(folded_unit).map(|at| folded(text)[..at].chars().count());
    match at {
        Some(at) => text.chars().skip(at).take(folded_unit.chars().count()).collect(),
        None => folded_unit.to_owned(),
    }
}

struct Parts {
    name: String,
    unit: Option<Unit>,
    unknown: Option<String>,
}

fn parts(text: &str) -> Parts {
    let named = |name: &str, unit: Option<Unit>, unknown: Option<&str>| Parts {
        name: name.trim().trim_end_matches([',', '/', '_', ':', '-']).trim().to_owned(),
        unit,
        unknown: unknown.map(str::to_owned),
    };
    if text.chars().count() > 1
        && let Some(whole) = unit(text)
    {
        return named("", Some(whole), None);
    }
    if let Some((before, inside, after)) = bracketed(text) {
        let name = format!("{before} {after}");
        return match unit(inside) {
            Some(found) => named(&name, Some(found), None),
            // `Current (light) / mA`: the bracket describes, the unit stands elsewhere.
            None => {
                let rest = parts(&name);
                let described = rest.unit.is_some() || is_description(inside);
                let name = if described { format!("{} {inside}", rest.name) } else { rest.name };
                named(&name, rest.unit, (!described).then_some(inside))
            }
        };
    }
    if let Some((name, found)) = loose(text) {
        return named(&name, Some(found), None);
    }
    if let Some((before, after)) = text.split_once('/')
        && !before.trim().is_empty()
    {
        if let Some((found, rest)) = leading_unit(after) {
            return named(&format!("{before} {rest}"), Some(found), None);
        }
        let unknown = (!after.trim().is_empty() && !is_description(after)).then_some(after.trim());
        return named(before, None, unknown);
    }
    if let Some((name, found)) = joined_unit(text) {
        return named(name, Some(found), None);
    }
    named(text, None, None)
}

/// `voltageMv`: a name and a unit as programs join them.
fn joined_unit(text: &str) -> Option<(&str, Unit)> {
    let rises = |(k, c): &(usize, char)| c.is_uppercase() && text[..*k].ends_with(char::is_lowercase);
    let (at, _) = text.char_indices().skip(1).filter(rises).last()?;
    let (name, tail) = text.split_at(at);
    let lower = tail.to_lowercase();
    let volts = lower.strip_suffix('v').map(|prefix| format!("{prefix}V"));
    let spelled = volts.or_else(|| lower.strip_suffix('a').map(|prefix| format!("{prefix}A")))?;
    (spelled.len() == 2).then(|| unit(&spelled)).flatten().map(|found| (name, found))
}

/// Text before, inside and behind the bracket that holds a unit, or else the first one.
fn bracketed(text: &str) -> Option<(&str, &str, &str)> {
    let mut first = None;
    let mut at = 0;
    while let Some(open) = text[at..].find(['(', '[', '{', '<']).map(|k| k + at) {
        let close = match text.as_bytes()[open] {
            b'(' => ')',
            b'[' => ']',
            b'{' => '}',
            _ => '>',
        };
        let end = text[open..].find(close).map_or(text.len(), |k| k + open);
        let after = text.get(end + 1..).unwrap_or("");
        let found = (&text[..open], text[open + 1..end].trim(), after);
        if unit(found.1).is_some() {
            return Some(found);
        }
        first = first.or(Some(found));
        at = (end + 1).min(text.len());
    }
    first
}

/// Whether a heading holds two units in brackets: `Voltage (V)Current (A)` heads two columns that lost their delimiter.
pub(super) fn holds_two_units(text: &str) -> bool {
    let Some((_, inside, after)) = bracketed(text) else { return false };
    unit(inside).is_some() && bracketed(after).is_some_and(|(_, inside, _)| unit(inside).is_some())
}

fn is_description(inside: &str) -> bool {
    let bare = word(inside.trim());
    let letters = bare.chars().filter(|c| c.is_alphabetic()).count();
    bare.is_empty()
        || letters >= 4 && letters + 3 >= bare.chars().count() / 2
        || words::DESCRIPTION.contains(&bare.as_str())
}

/// A unit at the beginning of a text, of as many words as make one, and the rest.
fn leading_unit(text: &str) -> Option<(Unit, &str)> {
    let text = text.trim_start();
    let ends = text.char_indices().filter(|(_, c)| c.is_whitespace() || matches!(c, ',' | '@' | '_' | ';'));
    let mut ends: Vec<usize> = ends.map(|(k, _)| k).chain([text.len()]).collect();
    ends.reverse();
    ends.into_iter().find_map(|end| Some((unit(&text[..end])?, &text[end..])))
}

/// A unit among words parted by blanks, commas or underlines, and the other words.
fn loose(text: &str) -> Option<(String, Unit)> {
    let cut: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | '_' | '@'))
        .filter(|t| !t.is_empty())
        .collect();
    if cut.len() < 2 {
        return None;
    }
    // Two words first, `mA cm-2`; the last unit of one word next, never the word that is the name.
    let pair =
        (1..cut.len() - 1).rev().find_map(|k| Some((k, 2, unit(&format!("{}{}", cut[k], cut[k + 1]))?)));
    let pair = pair.filter(|p| matches!(p.2.dimension, Dimension::Density | Dimension::Irradiance));
    let one = || {
        (1..cut.len()).rev().find_map(|k| {
            let is_name = matches!(cut[k], "a" | "c" | "f" | "h" | "k" | "v" | "us" | "sun" | "suns");
            let found = unit(cut[k]).filter(|_| !is_name || cut[k] == "v" && k == 1)?;
            // `Current A` has a unit, `cell A` a name.
            let letter = cut[k].chars().count() == 1;
            let quantity = |w: &&str| {
                [words::VOLTAGE, words::CURRENT, words::DENSITY, words::TIME, words::POWER]
                    .iter()
                    .any(|l| tokens(w).iter().any(|t| l.contains(&t.as_str())))
            };
            // `I cell A` names a cell: the quantity stands right before its unit, but for `in` and `measured`; in one word,
            // `v_left_V`, anywhere.
            let passed = |w: &&&str| {
                matches!(**w, "in" | "en")
                    || tokens(w)
                        .iter()
                        .any(|t| words::MEASURED.contains(&t.as_str()) || words::SET.contains(&t.as_str()))
            };
            let before = cut[..k].iter().rev().find(|w| !passed(w) || quantity(w));
            let joined = !text.contains(char::is_whitespace);
            let behind_quantity =
                if joined { cut[..k].iter().any(quantity) } else { before.is_some_and(quantity) };
            (!letter || behind_quantity).then_some((k, 1, found))
        })
    };
    let (k, length, found) = pair.or_else(one)?;
    let mut words: Vec<&str> = cut;
    words.drain(k..k + length);
    if words.last().is_some_and(|w| matches!(*w, "in" | "en")) {
        words.pop();
    }
    Some((words.join(" "), found))
}

/// The words of a name, folded, also those of `MeasuredVoltage` and `Vmeas2`.
fn tokens(name: &str) -> Vec<String> {
    let mut list = Vec::new();
    for piece in name.split(|c: char| !c.is_alphanumeric() && c != '#').filter(|p| !p.is_empty()) {
        list.push(bare(piece));
        let mut start = 0;
        let chars: Vec<(usize, char)> = piece.char_indices().collect();
        for pair in chars.windows(2) {
            if pair[0].1.is_lowercase() && pair[1].1.is_uppercase() {
                list.push(bare(&piece[start..pair[1].0]));
                start = pair[1].0;
            }
        }
        if start > 0 {
            list.push(bare(&piece[start..]));
        }
    }
    list.retain(|t| !t.is_empty());
    list
}

/// Folded, without the number behind it.
fn bare(piece: &str) -> String {
    word(piece).trim_end_matches(|c: char| c.is_ascii_digit()).to_owned()
}

fn role(name: &str, tokens: &[String], unit: Option<&Unit>) -> Role {
    let has = |list: &[&str]| tokens.iter().any(|t| list.contains(&t.as_str()));
    let dimension = unit.map(|u| u.dimension);
    if has(words::LIGHT_SENSOR) {
        return Role::Irradiance;
    }
    let electric =
        matches!(dimension, None | Some(Dimension::Voltage | Dimension::Current | Dimension::Density));
    if electric && is_function(name) {
        return Role::Function;
    }
    if has(words::STATISTIC) || has(words::LIMIT) {
        return Role::Statistic;
    }
    if let Some(role) = by_dimension(dimension) {
        return role;
    }
    electric_role(tokens, dimension).unwrap_or_else(|| of_other(tokens))
}

/// Voltage, current or density, measured or set; `None` where neither a word nor the unit says so.
fn electric_role(tokens: &[String], dimension: Option<Dimension>) -> Option<Role> {
    let has = |list: &[&str]| tokens.iter().any(|t| list.contains(&t.as_str()));
    let set = has(words::SET);
    let voltage = if set { Role::SetVoltage } else { Role::Voltage };
    let current = if set { Role::SetCurrent } else { Role::Current };
    let of_voltage = has(words::VOLTAGE) || has(words::SET_VOLTAGE);
    let of_density = has(words::DENSITY);
    let of_current = of_density || has(words::CURRENT) || has(words::SET_CURRENT);
    // Two quantities in one name are neither: then the unit decides. A unit that contradicts the name leaves nothing.
    match (of_voltage, of_current, dimension) {
        (true, false, None | Some(Dimension::Voltage)) => Some(voltage),
        (false, true, Some(Dimension::Density)) => Some(Role::Density),
        (false, true, None) if of_density => Some(Role::Density),
        // A density in amperes: the name or the unit is wrong.
        (false, true, Some(Dimension::Current))
            if tokens.iter().any(|t| t.len() > 5 && words::DENSITY.contains(&t.as_str())) =>
        {
            Some(Role::Unknown)
        }
        (false, true, None | Some(Dimension::Current)) => Some(current),
        (true, false, _) | (false, true, _) => Some(Role::Unknown),
        (_, _, Some(Dimension::Voltage)) => Some(voltage),
        (_, _, Some(Dimension::Current)) => Some(current),
        (_, _, Some(Dimension::Density)) => Some(Role::Density),
        _ => None,
    }
}

fn by_dimension(dimension: Option<Dimension>) -> Option<Role> {
    match dimension? {
        Dimension::Time => Some(Role::Time),
        Dimension::Power => Some(Role::Power),
        Dimension::Resistance => Some(Role::Resistance),
        Dimension::Temperature => Some(Role::Temperature),
        Dimension::Irradiance => Some(Role::Irradiance),
        Dimension::Area | Dimension::Other => Some(Role::Other),
        Dimension::Voltage | Dimension::Current | Dimension::Density => None,
    }
}

fn of_other(tokens: &[String]) -> Role {
    let has = |list: &[&str]| tokens.iter().any(|t| list.contains(&t.as_str()));
    let one = |list: &[&str]| tokens.len() <= 2 && has(list);
    [
        (has(words::TIME), Role::Time),
        (has(words::TEMPERATURE), Role::Temperature),
        (has(words::POWER), Role::Power),
        (has(words::RESISTANCE), Role::Resistance),
        (has(words::FLAG), Role::Flag),
        (one(words::DEVICE), Role::Device),
        (has(words::IRRADIANCE), Role::Irradiance),
        (one(words::INDEX), Role::Index),
    ]
    .into_iter()
    .find(|(yes, _)| *yes)
    .map_or(Role::Unknown, |(_, role)| role)
}

/// `log |I|`, `I^2`, `Current*1000`, `abs(I)`, `dI/dV`, `1000 x I`: not the quantity itself.
fn is_function(name: &str) -> bool {
    let lower = word(name);
    let called = ["log", "lg", "ln", "log10", "abs", "sqrt", "exp", "sq", "square"];
    let first: String = lower.trim_start().chars().take_while(|c| c.is_alphanumeric()).collect();
    let is_call = called.contains(&first.as_str()) && first.len() < lower.trim().len();
    let bars = lower.matches('|').count() >= 2;
    let compact: String = lower.chars().filter(|c| !c.is_whitespace()).collect();
    let derivative =
        compact.starts_with("di/d") || compact.starts_with("dv/d") || compact.starts_with("dj/d");
    let power = compact.contains("^2") || compact.ends_with("squared") || compact.ends_with("**2");
    let relative = [
        "over",
        "ratio",
        "norm",
        "rel",
        "normalised",
        "normalized",
        "relative",
        "normiert",
        "normierter",
        "normalise",
        "normalizada",
        "normalizzata",
    ];
    let is_relative = lower.split(|c: char| !c.is_alphanumeric()).any(|w| relative.contains(&w));
    is_call || bars || derivative || power || is_relative || compact.contains("10^") || is_scaled(&compact)
}

/// A factor before or behind the name: `current*1000`, `1e3·i`, `ix1000`.
fn is_scaled(compact: &str) -> bool {
    let number = |t: &str| {
        !t.is_empty() && t.starts_with(|c: char| c.is_ascii_digit() || c == '-') && t.parse::<f64>().is_ok()
    };
    compact.match_indices(['*', '·']).any(|(at, mark)| {
        let (left, right) = (&compact[..at], &compact[at + mark.len()..]);
        number(left)
            || number(right)
            || left.ends_with(|c: char| c.is_ascii_digit()) && right.starts_with(char::is_alphabetic)
    }) || compact.rsplit_once('/').is_some_and(|(_, r)| number(r))
        || compact
            .rsplit_once('x')
            .is_some_and(|(l, r)| number(r) && r.len() >= 2 && l.ends_with(char::is_alphabetic))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(text: &str) -> (Role, Option<f64>) {
        let h = Heading::new(text);
        (h.role, h.unit.map(|u| u.factor))
    }

    #[test]
    fn headings_of_curves() {
        for (text, role, factor) in [
            ("Voltage (V)", Role::Voltage, Some(1.0)),
            ("I [mA]", Role::Current, Some(1e-3)),
            ("U / V", Role::Voltage, Some(1.0)),
            ("I/µA", Role::Current, Some(1e-6)),
            ("Current, mA", Role::Current, Some(1e-3)),
            ("I_mA", Role::Current, Some(1e-3)),
            ("current_mA_avg", Role::Current, Some(1e-3)),
            ("Current (mA), light", Role::Current, Some(1e-3)),
            ("I (mA) @ 1 sun", Role::Current, Some(1e-3)),
            ("Strom in mA", Role::Current, Some(1e-3)),
            ("Tensão (V)", Role::Voltage, Some(1.0)),
            ("Intensité (mA)", Role::Current, Some(1e-3)),
            ("V", Role::Voltage, None),
            ("A", Role::Unknown, None),
            ("mA", Role::Current, Some(1e-3)),
            ("j (mA/cm2)", Role::Density, Some(1e-3)),
            ("Current density [A/m²]", Role::Density, Some(1e-4)),
            ("J mA cm^-2", Role::Density, Some(1e-3)),
            ("V_set (V)", Role::SetVoltage, Some(1.0)),
            ("Sollstrom (mA)", Role::SetCurrent, Some(1e-3)),
            ("I_set", Role::SetCurrent, None),
            ("Measured voltage (V)", Role::Voltage, Some(1.0)),
            ("Vmeas", Role::Voltage, None),
            ("MeasuredCurrent_A", Role::Current, Some(1.0)),
            ("Voltage V", Role::Voltage, Some(1.0)),
            ("V (volts)", Role::Voltage, Some(1.0)),
            ("Cell current (mA)", Role::Current, Some(1e-3)),
            ("-I (mA)", Role::Current, Some(1e-3)),
            ("I1 (mA)", Role::Current, Some(1e-3)),
        ] {
            assert_eq!(of(text), (role, factor), "{text}");
        }
        assert!(Heading::new("-J (mA/cm²)").negated);
    }

    #[test]
    fn headings_of_other_columns() {
        for (text, role) in [
            ("Time (s)", Role::Time),
            ("Time (hh:mm:ss)", Role::Time),
            ("Power (mW)", Role::Power),
            ("Index", Role::Index),
            ("#", Role::Index),
            ("Current error (mA)", Role::Statistic),
            ("log |I|", Role::Function),
            ("I^2", Role::Function),
            ("Current*1000 (A)", Role::Function),
            ("log I (A)", Role::Function),
            ("V (mA)", Role::Unknown),
            ("remark", Role::Flag),
            ("Cell", Role::Device),
            ("Direction", Role::Device),
            ("Temperature (°C)", Role::Temperature),
            ("Irradiance (W/m²)", Role::Irradiance),
            ("dI/dV (S)", Role::Function),
        ] {
            assert_eq!(of(text).0, role, "{text}");
        }
        assert_eq!(Heading::new("I (arb)").unknown_unit.as_deref(), Some("arb"));
        assert_eq!(Heading::new("I (light)").unknown_unit, None);
    }
}
