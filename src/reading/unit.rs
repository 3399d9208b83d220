//! Units of what stands beside a sweep: `mV`, `µA`, `mA/cm²`, `A m^-2`, `VDC`, `seconds`, `W/m²`.

use super::fold::folded;

/// What a unit measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Dimension {
    Voltage,
    Current,
    Density,
    Time,
    Power,
    Resistance,
    Temperature,
    Irradiance,
    Area,
    /// A unit of something that no sweep needs: `%`, `Hz`, `nm`.
    Other,
}

/// A unit as it was written, and its factor to V, A, A/cm², s, W, Ω, W/m², cm².
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Unit {
    pub dimension: Dimension,
    pub factor: f64,
    pub text: String,
    /// `MA` and `MV`: mega as written, milli as often meant.
    pub doubtful: bool,
}

const PREFIXES: [(&str, f64); 9] = [
    ("", 1.0),
    ("f", 1e-15),
    ("p", 1e-12),
    ("n", 1e-9),
    ("u", 1e-6),
    ("m", 1e-3),
    ("k", 1e3),
    ("M", 1e6),
    ("K", 1e3),
];
const LONG_PREFIXES: [(&str, f64); 9] = [
    ("", 1.0),
    ("femto", 1e-15),
    ("pico", 1e-12),
    ("nano", 1e-9),
    ("micro", 1e-6),
    ("mikro", 1e-6),
    ("milli", 1e-3),
    ("mili", 1e-3),
    ("kilo", 1e3),
];
/// Per area, the longer first: its factor to 1/cm².
const AREAS: [(&str, f64); 3] = [("cm", 1.0), ("mm", 1e2), ("m", 1e-4)];

/// The unit that the text is, with nothing else in it.
pub(super) fn unit(text: &str) -> Option<Unit> {
    let written = text.trim();
    let bare: String =
        folded(written).chars().filter(|c| !c.is_whitespace() && !matches!(c, '*' | '·')).collect();
    let bare = bare.trim_matches(['(', ')', '[', ']', '{', '}', '<', '>', '.']);
    let (power, bare) = power_of_ten(bare);
    let (dimension, factor, doubtful) = density(bare).or_else(|| simple(bare)).or_else(|| other(bare))?;
    let factor = power * factor;
    Some(Unit { dimension, factor, text: written.to_owned(), doubtful })
}

/// The factor of `10^-3 A`, and the unit behind it.
fn power_of_ten(bare: &str) -> (f64, &str) {
    let rest = bare
        .strip_prefix("10")
        .map(|r| r.strip_prefix('^').unwrap_or(r))
        .filter(|r| r.starts_with(['-', '+']));
    let Some(rest) = rest else { return (1.0, bare) };
    let end = rest.char_indices().skip(1).find(|(_, c)| !c.is_ascii_digit()).map_or(rest.len(), |(k, _)| k);
    match rest[..end].parse::<i32>() {
        Ok(n) if (-15..=6).contains(&n) => (format!("1e{n}").parse().unwrap_or(1.0), &rest[end..]),
        _ => (1.0, bare),
    }
}

type Known = (Dimension, f64, bool);

/// A current per area.
fn density(bare: &str) -> Option<Known> {
    let (top, area) = per_area(bare)?;
    let (dimension, factor, doubtful) = simple(top)?;
    (dimension == Dimension::Current).then_some((Dimension::Density, factor * area, doubtful))
}

/// `X/cm2`, `Xcm^-2`, `Xpercm2`: X and the factor of 1/area to 1/cm².
fn per_area(bare: &str) -> Option<(&str, f64)> {
    let inverse = ["^(-2)", "^-2", "-2"].iter().find_map(|tail| bare.strip_suffix(tail));
    if let Some((top, factor)) = inverse.and_then(before_length) {
        return Some((top.trim_end_matches('.'), factor));
    }
    let open = bare.strip_suffix(')').unwrap_or(bare);
    let square = ["^2", "2", "²"].iter().find_map(|tail| open.strip_suffix(tail));
    let (top, factor) = square.or_else(|| without_ending(open, "sq")).and_then(before_length)?;
    let top =
        top.strip_suffix("/(").or_else(|| top.strip_suffix('/')).or_else(|| without_ending(top, "per"))?;
    (!top.is_empty()).then_some((top, factor))
}

/// What stands before a length, and the factor of 1/length² to 1/cm².
fn before_length(text: &str) -> Option<(&str, f64)> {
    let found = AREAS.iter().find_map(|(length, factor)| Some((without_ending(text, length)?, *factor)));
    found.filter(|(top, _)| !top.is_empty())
}

/// The text before an ending of ASCII letters, in capitals or not.
fn without_ending<'a>(text: &'a str, ending: &str) -> Option<&'a str> {
    let (start, end) = text.split_at_checked(text.len().checked_sub(ending.len())?)?;
    end.eq_ignore_ascii_case(ending).then_some(start)
}

/// Volts, amperes, watts, ohms with a prefix; the letters behind a volt or an ampere that say how it was measured.
fn simple(bare: &str) -> Option<Known> {
    let lower = bare.to_lowercase();
    for (word, dimension) in [
        ("volts", Dimension::Voltage),
        ("volt", Dimension::Voltage),
        ("amperes", Dimension::Current),
        ("ampere", Dimension::Current),
        ("amps", Dimension::Current),
        ("amp", Dimension::Current),
        ("watts", Dimension::Power),
        ("watt", Dimension::Power),
        ("ohms", Dimension::Resistance),
        ("ohm", Dimension::Resistance),
    ] {
        if let Some(prefix) = lower.strip_suffix(word)
            && let Some((_, factor)) = LONG_PREFIXES.iter().find(|(name, _)| *name == prefix)
        {
            return Some((dimension, *factor, false));
        }
        // `mAmps`, `uAmp`
        if let Some(prefix) = lower.strip_suffix(word)
            && prefix.len() == 1
            && let Some((_, factor)) = PREFIXES.iter().find(|(name, _)| *name == prefix)
        {
            return Some((dimension, *factor, false));
        }
    }
    let core = ["DC", "dc", "rms"].iter().find_map(|tail| bare.strip_suffix(tail)).unwrap_or(bare);
    let (last, dimension) = match core.chars().last()? {
        c @ ('V' | 'v') => (c, Dimension::Voltage),
        c @ ('A' | 'a') => (c, Dimension::Current),
        c @ 'W' => (c, Dimension::Power),
        c @ ('Ω' | 'ω') => (c, Dimension::Resistance),
        _ => return None,
    };
    let prefix = &core[..core.len() - last.len_utf8()];
    let (_, factor) = PREFIXES.iter().find(|(name, _)| *name == prefix)?;
    Some((dimension, *factor, prefix == "M" && matches!(dimension, Dimension::Voltage | Dimension::Current)))
}

/// Units of the other columns and of the conditions.
fn other(bare: &str) -> Option<Known> {
    let known = |dimension, factor| Some((dimension, factor, false));
    match bare.to_lowercase().as_str() {
        // Siemens.
        "s" if bare == "S" => known(Dimension::Other, 1.0),
        "s" | "sec" | "secs" | "second" | "seconds" | "sekunden" | "secondes" | "segundos" | "secondi" => {
            known(Dimension::Time, 1.0)
        }
        "ms" | "msec" | "milliseconds" => known(Dimension::Time, 1e-3),
        "us" | "usec" => known(Dimension::Time, 1e-6),
        "min" | "minutes" | "minuten" => known(Dimension::Time, 60.0),
        "h" | "hours" | "hh:mm:ss" | "hh:mm" => known(Dimension::Time, 3600.0),
        "w/m2" | "w/m^2" | "w/m²" | "wm-2" | "wm^-2" | "w/sqm" => known(Dimension::Irradiance, 1.0),
        "mw/cm2" | "mw/cm^2" | "mwcm-2" | "mwcm^-2" => known(Dimension::Irradiance, 10.0),
        "kw/m2" | "kw/m^2" | "kwm-2" => known(Dimension::Irradiance, 1e3),
        "sun" | "suns" => known(Dimension::Irradiance, 1e3),
        "cm2" | "cm^2" | "sqcm" | "cmsq" | "qcm" => known(Dimension::Area, 1.0),
        "mm2" | "mm^2" | "sqmm" | "qmm" => known(Dimension::Area, 1e-2),
        "m2" | "m^2" | "sqm" | "qm" => known(Dimension::Area, 1e4),
        "°c" | "degc" | "c" | "celsius" | "°celsius" | "°k" | "k" | "kelvin" | "°f" | "degf" | "f"
        | "fahrenheit" => known(Dimension::Temperature, 1.0),
        "%" | "hz" | "khz" | "nm" | "a.u." | "au" | "arb" | "arb.u" | "counts" | "lux" | "lx" | "lm"
        | "db" => known(Dimension::Other, 1.0),
        _ => None,
    }
}

/// `12.3m`: a prefix alone behind the number.
pub(super) fn prefix(rest: &str) -> Option<f64> {
    match folded(rest.trim()).as_str() {
        "f" => Some(1e-15),
        "p" => Some(1e-12),
        "n" => Some(1e-9),
        "u" => Some(1e-6),
        "m" => Some(1e-3),
        "k" => Some(1e3),
        _ => None,
    }
}

/// `± 0.01`, `+/- 0.5`
pub(super) fn is_uncertainty(rest: &str) -> bool {
    let bare =
        rest.strip_prefix('±').or_else(|| rest.strip_prefix("+/-")).or_else(|| rest.strip_prefix("+-"));
    bare.is_some_and(|b| b.trim().starts_with(|c: char| c.is_ascii_digit()))
}

/// A temperature in °C of `value` in a unit; `None` for a unit that is none of a temperature.
pub(super) fn celsius(value: f64, unit: &str) -> Option<f64> {
    // Rounded to what is written: 298.15 K is 25 °C.
    let rounded = |x: f64| (x * 1e9).round() / 1e9;
    let written = folded(unit);
    let bare =
        written.trim().trim_matches(['(', ')', '[', ']', '.']).replace(['°', 'º'], "").replace("deg", "");
    match bare.trim() {
        "C" | "c" | "Celsius" | "celsius" => Some(value),
        "K" | "Kelvin" | "kelvin" => Some(rounded(value - 273.15)),
        "F" | "f" | "Fahrenheit" | "fahrenheit" => Some(rounded((value - 32.0) / 1.8)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn units_of_sweeps() {
        for (text, dimension, factor) in [
            ("µA", Dimension::Current, 1e-6),
            ("μA", Dimension::Current, 1e-6),
            ("uA", Dimension::Current, 1e-6),
            ("mV", Dimension::Voltage, 1e-3),
            ("kV", Dimension::Voltage, 1e3),
            ("microampere", Dimension::Current, 1e-6),
            ("mA/cm2", Dimension::Density, 1e-3),
            ("mA cm⁻²", Dimension::Density, 1e-3),
            ("mA·cm^-2", Dimension::Density, 1e-3),
            ("A/m²", Dimension::Density, 1e-4),
            ("µA/mm^2", Dimension::Density, 1e-4),
            ("VDC", Dimension::Voltage, 1.0),
            ("[mA]", Dimension::Current, 1e-3),
            ("W/m²", Dimension::Irradiance, 1.0),
            ("mm²", Dimension::Area, 1e-2),
        ] {
            let found = unit(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(found.dimension, dimension, "{text}");
            assert!((found.factor / factor - 1.0).abs() < 1e-12, "{text}");
        }
        assert!(unit("MA").unwrap().doubtful);
        for text in ["", "mW/cm", "mV/cm2", "light", "Voltage", "X"] {
            assert!(unit(text).is_none_or(|u| u.dimension == Dimension::Irradiance), "{text}");
        }
    }

    #[test]
    fn temperatures() {
        assert_eq!(celsius(298.15, "K"), Some(25.0));
        assert_eq!(celsius(77.0, "°F"), Some(25.0));
        assert_eq!(celsius(25.0, "k"), None);
    }
}
