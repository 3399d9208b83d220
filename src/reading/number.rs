//! One cell to one number, and which ways of writing numbers the cells of a column allow.
//!
//! A mark between digits may part thousands or decimals: `1,234` is 1.234 or 1234. A cell alone cannot tell, so each cell
//! gives the [`Formats`] under which it is a number, and the column decides by what they have in common.

use smallvec::SmallVec;

/// How numbers are written: the decimal mark, and the mark between groups of three digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Format {
    pub decimal: char,
    pub thousands: Option<char>,
}

/// All formats, the usual ones first. A blank stands for every kind of blank.
pub(super) const FORMATS: [Format; 8] = [
    Format { decimal: '.', thousands: None },
    Format { decimal: ',', thousands: None },
    Format { decimal: '.', thousands: Some(',') },
    Format { decimal: ',', thousands: Some('.') },
    Format { decimal: '.', thousands: Some('\'') },
    Format { decimal: ',', thousands: Some('\'') },
    Format { decimal: '.', thousands: Some(' ') },
    Format { decimal: ',', thousands: Some(' ') },
];

/// A set of [`FORMATS`], a bit each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Formats(pub u8);

impl Formats {
    pub const ALL: Self = Self(u8::MAX);

    pub fn and(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    pub fn iter(self) -> impl Iterator<Item = Format> {
        FORMATS.into_iter().enumerate().filter(move |(k, _)| self.0 >> k & 1 == 1).map(|(_, format)| format)
    }

    pub fn first(self) -> Option<Format> {
        self.iter().next()
    }

    /// Those with the marks given, where they are.
    pub fn with(decimal: Option<char>, thousands: Option<char>) -> Self {
        let fits = |f: &Format| {
            decimal.is_none_or(|d| f.decimal == d) && thousands.is_none_or(|t| f.thousands == Some(t))
        };
        Self(FORMATS.iter().enumerate().filter(|(_, f)| fits(f)).map(|(k, _)| 1 << k).sum())
    }
}

/// Magnitude, as written, from which a reading is an instrument's mark of overflow: 9.9e37 and its like (common practice).
/// No unit makes a current or a voltage of it.
const OVERFLOW: f64 = 1e30;

/// What a cell holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cell<'a> {
    Empty,
    /// A number, and what stands behind it: a unit or nothing.
    Number(f64, &'a str),
    /// A mark of overflow or of a missing value.
    NoValue,
    Text,
}

impl Cell<'_> {
    pub fn is_like_a_number(&self) -> bool {
        matches!(self, Self::Number(..) | Self::NoValue)
    }
}

const fn is_blank(c: char) -> bool {
    matches!(c, ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2007}')
}

const fn is_minus(c: char) -> bool {
    matches!(c, '-' | '\u{2212}' | '\u{2013}' | '\u{fe63}' | '\u{ff0d}' | '\u{2010}' | '\u{2011}')
}

/// The cell under one format.
pub(super) fn cell(text: &str, format: Format) -> Cell<'_> {
    let text = trimmed(text);
    if text.is_empty() {
        return Cell::Empty;
    }
    if format.decimal == '.'
        && let Some(value) = plain(text)
    {
        return number(value, "");
    }
    if is_mark_of_no_value(text) {
        return Cell::NoValue;
    }
    match spelled(text).and_then(|s| Some((s.value(format)?, s.rest))) {
        Some((value, rest)) => number(value, rest),
        None => Cell::Text,
    }
}

fn number(value: f64, rest: &str) -> Cell<'_> {
    if value.abs() >= OVERFLOW { Cell::NoValue } else { Cell::Number(value, rest) }
}

/// Without the blanks and the zero characters around it.
pub(super) fn trimmed(text: &str) -> &str {
    text.trim_matches(|c: char| c.is_whitespace() || is_blank(c) || c == '\0' || c == '\u{feff}')
}

/// A number in plain ASCII with a decimal point: what most cells are.
fn plain(text: &str) -> Option<f64> {
    let bytes = text.as_bytes();
    let first = *bytes.first()?;
    let digits = bytes.iter().all(|b| matches!(b, b'0'..=b'9' | b'.' | b'+' | b'-' | b'e' | b'E'));
    let starts = matches!(first, b'0'..=b'9' | b'.' | b'+' | b'-');
    if digits && starts { text.parse().ok() } else { None }
}

/// A number taken apart: sign, digits with their marks, exponent, and the rest.
struct Spelled<'a> {
    negative: bool,
    body: &'a str,
    exponent: Option<i32>,
    rest: &'a str,
}

/// `None` where the text does not begin with a number.
fn spelled(text: &str) -> Option<Spelled<'_>> {
    let mut chars = text.char_indices().peekable();
    let mut negative = false;
    if let Some(&(_, c)) = chars.peek()
        && (is_minus(c) || c == '+')
    {
        negative = c != '+';
        chars.next();
    }
    while chars.peek().is_some_and(|(_, c)| is_blank(*c)) {
        chars.next();
    }
    let start = chars.peek()?.0;
    let (length, digits) = body_length(&text[start..]);
    if digits == 0 {
        return None;
    }
    let after = &text[start + length..];
    let (exponent, rest) = exponent(after);
    Some(Spelled { negative, body: &text[start..start + length], exponent, rest: rest.trim_start() })
}

/// Bytes of digits and the marks between them (a blank or an apostrophe only before a group of three), and the digits.
fn body_length(text: &str) -> (usize, usize) {
    let (mut length, mut digits) = (0, 0);
    for (at, c) in text.char_indices() {
        if c.is_ascii_digit() {
            digits += 1;
            length = at + 1;
        } else if matches!(c, '.' | ',') {
            length = at + 1;
        } else if is_blank(c) || matches!(c, '\'' | '\u{2019}') {
            let group = text[at + c.len_utf8()..].chars().take_while(char::is_ascii_digit).count();
            if digits == 0 || group != 3 {
                break;
            }
        } else {
            break;
        }
    }
    (length, digits)
}

/// An exponent `e-3`, `E+03`, `D-3`, and what stands behind it.
fn exponent(text: &str) -> (Option<i32>, &str) {
    let Some(rest) = text.strip_prefix(['e', 'E', 'd', 'D']).or_else(|| power_of_ten(text)) else {
        return (None, text);
    };
    let mut chars = rest.chars();
    let first = chars.clone().next();
    let negative = first.is_some_and(is_minus);
    if negative || first == Some('+') {
        chars.next();
    }
    let tail = chars.as_str();
    let digits = tail.len() - tail.trim_start_matches(|c: char| c.is_ascii_digit()).len();
    match tail[..digits].parse::<i32>() {
        Ok(n) if digits <= 4 => (Some(if negative { -n } else { n }), &tail[digits..]),
        _ => (None, text),
    }
}

/// What stands behind ` × 10^`.
fn power_of_ten(text: &str) -> Option<&str> {
    let rest = text.trim_start().strip_prefix(['×', 'x', '·', '*', '⋅'])?.trim_start().strip_prefix("10")?;
    rest.strip_prefix('^').or_else(|| rest.starts_with(is_minus).then_some(rest))
}

impl Spelled<'_> {
    /// The number under a format; `None` where its marks do not fit.
    fn value(&self, format: Format) -> Option<f64> {
        let mut digits = SmallVec::<[u8; 64]>::new();
        if self.negative {
            digits.push(b'-');
        }
        let (whole, fraction) = match self.body.rsplit_once(format.decimal) {
            Some((whole, fraction)) => (whole, fraction),
            None => (self.body, ""),
        };
        // A comma with nothing behind it parts cells, it marks no decimals.
        if format.decimal == ',' && self.body.ends_with(',') || !fraction.bytes().all(|b| b.is_ascii_digit())
        {
            return None;
        }
        self.whole(whole, format, &mut digits)?;
        digits.push(b'.');
        digits.extend_from_slice(fraction.as_bytes());
        if let Some(e) = self.exponent {
            digits.push(b'e');
            digits.extend_from_slice(e.to_string().as_bytes());
        }
        std::str::from_utf8(&digits).ok()?.parse().ok()
    }

    /// The digits before the decimal mark, in proper groups of three where the format has a mark for them.
    fn whole(&self, whole: &str, format: Format, digits: &mut SmallVec<[u8; 64]>) -> Option<()> {
        let of_group = |c: char| match format.thousands {
            Some(' ') => is_blank(c),
            Some('\'') => matches!(c, '\'' | '\u{2019}'),
            Some(mark) => c == mark,
            None => false,
        };
        let groups: SmallVec<[&str; 6]> = whole.split(of_group).collect();
        let number = |g: &&str| g.bytes().all(|b| b.is_ascii_digit());
        if !groups.iter().all(number) {
            return None;
        }
        if groups.len() > 1 {
            let proper = (1..=3).contains(&groups[0].len())
                && !groups[0].starts_with('0')
                && groups[1..].iter().all(|g| g.len() == 3)
                && self.exponent.is_none();
            proper.then_some(())?;
        } else if format.thousands.is_some() && whole.len() > 3 {
            // Who writes a mark between thousands writes it always.
            return None;
        }
        groups.iter().for_each(|g| digits.extend_from_slice(g.as_bytes()));
        Some(())
    }
}

/// The formats under which the cell is a number; all for a cell without a number.
pub(super) fn formats(text: &str) -> Formats {
    let text = trimmed(text);
    plain_formats(text).unwrap_or_else(|| spelled_formats(text))
}

/// Whether a text is digits with at most one point, a sign and an exponent.
pub(super) fn is_plain(text: &str) -> bool {
    plain_formats(text).is_some()
}

/// The formats of digits with at most one point, a sign and an exponent: what most cells are.
fn plain_formats(text: &str) -> Option<Formats> {
    let body = text.strip_prefix(['-', '+']).unwrap_or(text);
    let (mut whole, mut decimals, mut point) = (0, 0, false);
    let mut bytes = body.bytes();
    let mut exponent = false;
    for byte in bytes.by_ref() {
        match byte {
            b'0'..=b'9' if point => decimals += 1,
            b'0'..=b'9' => whole += 1,
            b'.' if !point => point = true,
            b'e' | b'E' => {
                exponent = true;
                break;
            }
            _ => return None,
        }
    }
    let digits = bytes.len();
    let power = body[body.len() - digits..].trim_start_matches(['-', '+']);
    let proper = !exponent || (1..=4).contains(&power.len()) && power.bytes().all(|b| b.is_ascii_digit());
    if whole + decimals == 0 || !proper || digits > power.len() + 1 {
        return None;
    }
    // Bits in the order of `FORMATS`: a mark between thousands leaves no four digits without one.
    let few = whole <= 3;
    if !point {
        return Some(Formats(if few { u8::MAX } else { 0b11 }));
    }
    let of_points = if few { 0b0101_0101 } else { 0b1 };
    let of_thousands = decimals == 3 && (1..=3).contains(&whole) && !body.starts_with('0') && !exponent;
    Some(Formats(of_points | u8::from(of_thousands) << 3))
}

fn spelled_formats(text: &str) -> Formats {
    let Some(spelled) = spelled(text).filter(|_| !is_mark_of_no_value(text)) else { return Formats::ALL };
    let fits = FORMATS.iter().enumerate().filter(|(_, f)| spelled.value(**f).is_some());
    Formats(fits.map(|(k, _)| 1 << k).sum())
}

/// Words that instruments and spreadsheets write in place of a number.
const NO_VALUE: [&str; 30] = [
    "nan",
    "inf",
    "infinity",
    "infinite",
    "n/a",
    "na",
    "null",
    "none",
    "nil",
    "ol",
    "o.l.",
    "ovld",
    "ovl",
    "ovfl",
    "ovrld",
    "ovflw",
    "overflow",
    "overload",
    "overld",
    "over",
    "over range",
    "overrange",
    "overl",
    "missing",
    "nd",
    "n.d.",
    "lim",
    "clip",
    "error",
    "err",
];

fn is_mark_of_no_value(text: &str) -> bool {
    let bare = text.trim_start_matches(|c| is_minus(c) || c == '+');
    if bare.is_empty() {
        // `-`, `---`
        return text.chars().all(is_minus);
    }
    let first = bare.as_bytes()[0];
    if first == b'#' {
        return bare.len() > 1 && !bare[1..].starts_with(|c: char| c.is_whitespace() || c.is_ascii_digit());
    }
    if matches!(first, b'*' | b'?') {
        return bare.chars().all(|c| matches!(c, '*' | '?'));
    }
    // `1.#INF`, `-1.#IND`
    if let Some(rest) = bare.strip_prefix("1.#") {
        return rest.starts_with("IN") || rest.starts_with("QNAN") || rest.starts_with("SNAN");
    }
    first.is_ascii_alphabetic() && NO_VALUE.iter().any(|word| bare.eq_ignore_ascii_case(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(text: &str, decimal: char, thousands: Option<char>) -> Option<(f64, &str)> {
        match cell(text, Format { decimal, thousands }) {
            Cell::Number(value, rest) => Some((value, rest)),
            _ => None,
        }
    }

    #[test]
    fn numbers_as_they_are_written() {
        for (text, expected) in [
            ("1.5", 1.5),
            (" +.5", 0.5),
            ("5.", 5.0),
            ("-1e-3", -1e-3),
            ("1.2D-3", 1.2e-3),
            ("\u{2212}0.25", -0.25),
            ("- 3", -3.0),
            ("1.907 × 10^−3", 1.907e-3),
            ("2·10^2", 200.0),
            ("+1.0E-01VDC", 0.1),
            ("12.3 mA", 12.3),
            ("1e5", 1e5),
            ("\u{feff}7\0", 7.0),
        ] {
            assert_eq!(value(text, '.', None).unwrap().0, expected, "{text}");
        }
        assert_eq!(value("12.3 mA", '.', None), Some((12.3, "mA")));
        assert_eq!(value("+1.0E-01VDC", '.', None), Some((0.1, "VDC")));
        assert_eq!(value("1,5", ',', None), Some((1.5, "")));
        assert_eq!(value("1.234,5", ',', Some('.')), Some((1234.5, "")));
        assert_eq!(value("1 234,5", ',', Some(' ')), Some((1234.5, "")));
        assert_eq!(value("1\u{202f}234", '.', Some(' ')), Some((1234.0, "")));
        assert_eq!(value("-1'234'567.5", '.', Some('\'')), Some((-1234567.5, "")));
        for (text, decimal, thousands) in [
            ("1,23", '.', Some(',')),
            ("0,123", '.', Some(',')),
            ("12,3456", '.', Some(',')),
            ("1234,567", '.', Some(',')),
            ("1,234", '.', None),
            ("1,", ',', None),
            ("1.2.3", '.', None),
            ("mA", '.', None),
            ("", '.', None),
            ("+", '.', None),
        ] {
            assert_eq!(value(text, decimal, thousands), None, "{text}");
        }
    }

    /// The short way gives what the long one gives, on every text of some characters that occur in numbers.
    #[test]
    fn plain_numbers_have_the_formats_of_the_long_way() {
        let characters = ['0', '1', '7', '.', '-', 'e'];
        let mut plain = 0;
        for number in 0..characters.len().pow(6) * 2 {
            let mut rest = number / 2;
            let mut text = String::from(if number % 2 == 0 { "" } else { "12" });
            while rest > 0 {
                text.push(characters[rest % characters.len()]);
                rest /= characters.len();
            }
            if let Some(found) = plain_formats(&text) {
                plain += 1;
                assert_eq!(found, spelled_formats(&text), "{text}");
            }
        }
        assert!(plain > 5000, "{plain}");
    }

    #[test]
    fn what_stands_for_no_number() {
        for text in [
            "9.9E37",
            "-9.91e+37",
            "NaN",
            "-inf",
            "OVLD",
            "---",
            "#N/A",
            "#DIV/0!",
            "1.#INF",
            "-1.#IND",
            "***",
            "n/a",
        ] {
            assert_eq!(cell(text, FORMATS[0]), Cell::NoValue, "{text}");
        }
        for text in ["1 2", "abc", "# 5", "#5", "over it"] {
            assert_ne!(cell(text, FORMATS[0]), Cell::NoValue, "{text}");
        }
    }

    #[test]
    fn one_group_of_three_digits_leaves_two_formats() {
        let of = |text: &str| formats(text).iter().map(|f| (f.decimal, f.thousands)).collect::<Vec<_>>();
        assert_eq!(
            of("1,234"),
            [(',', None), ('.', Some(',')), (',', Some('.')), (',', Some('\'')), (',', Some(' '))]
        );
        assert!(of("0,234").iter().all(|f| f.0 == ','));
        assert!(of("1,234e-3").iter().all(|f| f.0 == ','));
        assert_eq!(of("1,234.5"), [('.', Some(','))]);
        assert_eq!(formats("250"), Formats::ALL);
        assert_eq!(formats("Points"), Formats::ALL);
    }
}
