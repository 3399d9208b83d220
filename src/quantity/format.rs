//! How a number with a unit is written, in every message, table and axis.
//!
//! ```text
//! 7.31 ± 0.12 mA        value ± standard uncertainty: two digits of u, the SI prefix that leaves 1 to 999
//! 35.21 mA              without u: four digits
//! ```
//!
//! Tenths of a volt stay in volts (0.5728 V), as the trade quotes them. A number that no prefix brings near 1, such as
//! a saturation current of 1e-20 A, is written with a power of ten. A minus is "−", an infinite number "∞".

use crate::numerics::serde_float::shown;

/// Largest and smallest power of ten that has a prefix.
const POWERS: (i32, i32) = (-15, 9);

/// Units that take no prefix: pure numbers, and those that the trade never scales.
const PLAIN: [&str; 6] = ["", "1", "%", "cm²", "W/m²", "°C"];

/// Sizes of a scaled number that are written without a power of ten.
const FIXED: std::ops::Range<f64> = 1e-3..1e6;

/// Sizes of scaled ends that share the prefix of their interval.
const SHARED: std::ops::Range<f64> = 0.01..999.5;

/// A condition in the digits in which it was given, without its unit: `25`, `−10.1`, `∞`.
pub(crate) fn as_given(value: f64) -> String {
    shown(&value).replace('-', "−").replace("inf", "∞")
}

/// The power of ten, a multiple of three, that leaves 1 to 999 of `size`; 0 if `unit` takes no prefix.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::prefix_exponent;
/// assert_eq!((prefix_exponent(0.0352, "A"), prefix_exponent(0.0352, "")), (-3, 0));
/// ```
pub fn prefix_exponent(size: f64, unit: &str) -> i32 {
    if PLAIN.contains(&unit) || unit.starts_with("1/") || !size.is_finite() || size == 0.0 {
        return 0;
    }
    let thousands = (size.abs().log10() / 3.0 + 1e-9).floor() as i32;
    (3 * thousands).clamp(POWERS.0, POWERS.1)
}

/// The unit with the prefix of a power of ten from −15 to 9: `A`, −3 → `mA`. Any other power is written out.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::prefixed;
/// assert_eq!((prefixed("A", -3), prefixed("Ω", 3)), ("mA".into(), "kΩ".into()));
/// ```
pub fn prefixed(unit: &str, exponent: i32) -> String {
    let prefix = match exponent {
        -15 => "f",
        -12 => "p",
        -9 => "n",
        -6 => "µ",
        -3 => "m",
        0 => "",
        3 => "k",
        6 => "M",
        9 => "G",
        _ => return format!("10^{exponent} {unit}"),
    };
    if unit == "1" { String::new() } else { format!("{prefix}{unit}") }
}

/// `value ± u` with two significant digits of `u`; without a positive finite `u` the value alone, in four digits.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::plus_minus;
/// assert_eq!(plus_minus(0.57277, Some(0.00039)), "0.57277 ± 0.00039");
/// assert_eq!(plus_minus(0.57277, None), "0.5728");
/// ```
pub fn plus_minus(value: f64, u: Option<f64>) -> String {
    if !value.is_finite() {
        return infinite(value);
    }
    let Some(u) = u.filter(|u| u.is_finite() && *u > 0.0) else {
        return significant(value, 4);
    };
    // 0.0996 rounds up to 0.10: one decimal fewer then holds two digits.
    let digits = 1 - power(rounded(u, 1 - power(u)));
    format!("{} ± {}", fixed(value, digits), fixed(u, digits))
}

/// `value ± u` with its unit, under the prefix that the size of the value asks for.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::quoted;
/// assert_eq!(quoted(0.0303, Some(0.0002), "A"), "30.30 ± 0.20 mA");
/// ```
pub fn quoted(value: f64, u: Option<f64>, unit: &str) -> String {
    let u = u.filter(|u| u.is_finite() && *u > 0.0);
    // A figure within its uncertainty of zero has the size of that.
    let size = value.abs().max(u.unwrap_or(0.0));
    let tenths = unit == "V" && (0.1..1.0).contains(&value.abs());
    let exponent = if tenths || !value.is_finite() { 0 } else { exponent_of(size, value, u, unit) };
    quoted_at(value, u, unit, exponent)
}

/// [`quoted`] under the prefix of 10^`exponent`.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::quoted_at;
/// assert_eq!(quoted_at(0.0303, Some(0.0002), "A", -6), "30300 ± 200 µA");
/// ```
pub fn quoted_at(value: f64, u: Option<f64>, unit: &str, exponent: i32) -> String {
    let scale = 10f64.powi(exponent);
    let u = u.filter(|u| u.is_finite() && *u > 0.0);
    let size = value.abs().max(u.unwrap_or(0.0)) / scale;
    if value.is_finite() && size != 0.0 && !FIXED.contains(&size) {
        let text = match u {
            Some(u) => format!("({} ± {})", scientific(value, 2), scientific(u, 1)),
            None => scientific(value, 3),
        };
        return joined(text, prefixed(unit, 0));
    }
    let text = plus_minus(value / scale, u.map(|u| u / scale));
    let named = prefixed(unit, exponent);
    if named == "%" && text.contains('±') { format!("({text}) %") } else { joined(text, named) }
}

/// A number with its unit in four digits: `35.21 mA`.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::quantity_format::quantity(0.035214, "A"), "35.21 mA");
/// ```
pub fn quantity(value: f64, unit: &str) -> String {
    quoted(value, None, unit)
}

/// A share in %, in at most four digits and without a unit: 0.0123 → `1.23`.
pub(crate) fn percent(share: f64) -> String {
    let text = format!("{:.3e}", 100.0 * share);
    text.parse::<f64>().map_or(text, |x| x.to_string())
}

/// Several remarks in one line, parted by semicolons.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::quantity_format::sentences(&["few points", "no shunt"]), "few points; no shunt");
/// ```
pub fn sentences<T: std::fmt::Display>(remarks: &[T]) -> String {
    remarks.iter().map(T::to_string).collect::<Vec<_>>().join("; ")
}

/// `low to high unit`, four digits each, under one prefix where both are written well with it.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::quantity_format::span(0.0123, 0.0456, "A"), "12.30 to 45.60 mA");
/// ```
pub fn span(low: f64, high: f64, unit: &str) -> String {
    let size = low.abs().max(high.abs());
    let tenths = unit == "V" && (0.1..1.0).contains(&size);
    let exponent = if tenths { 0 } else { exponent_of(size, size, None, unit) };
    let scale = 10f64.powi(exponent);
    let near = |x: f64| x == 0.0 || (FIXED.start..1e4).contains(&(x / scale).abs());
    if !near(low) || !near(high) {
        return format!("{} to {}", quantity(low, unit), quantity(high, unit));
    }
    // The digits of the larger serve both: no end is finer than the other.
    let digits = 3 - power(size / scale);
    let end = |x: f64| fixed(x / scale, digits.max(0));
    joined(format!("{} to {}", end(low), end(high)), prefixed(unit, exponent))
}

/// `value (95 %: low to high) unit`, three digits each, under one prefix where all are written well with it, else
/// each end with its own; an end that is not given is open.
///
/// # Examples
/// ```
/// use litdiode::quantity_format::between;
/// assert_eq!(between(900.0, Some(850.0), Some(960.0), "Ω"), "900 (95 %: 850 to 960) Ω");
/// ```
pub fn between(value: f64, low: Option<f64>, high: Option<f64>, unit: &str) -> String {
    let ends = [Some(value), low, high].into_iter().flatten();
    let sizes: Vec<f64> = ends.map(f64::abs).filter(|x| x.is_finite() && *x != 0.0).collect();
    let least = sizes.iter().copied().fold(f64::INFINITY, f64::min);
    let size = if value.is_finite() && value != 0.0 { value.abs() } else { least };
    let exponent = prefix_exponent(size, unit);
    let scale = 10f64.powi(exponent);
    if sizes.iter().all(|x| SHARED.contains(&(x / scale))) {
        let end = |x: Option<f64>| x.map_or("open".into(), |x| significant(x / scale, 3));
        let text = format!("{} (95 %: {} to {})", end(Some(value)), end(low), end(high));
        return joined(text, prefixed(unit, exponent));
    }
    let end = |x: Option<f64>| x.map_or("open".into(), |x| three_digits(x, unit));
    format!("{} (95 %: {} to {})", end(Some(value)), end(low), end(high))
}

fn three_digits(x: f64, unit: &str) -> String {
    if !x.is_finite() {
        return infinite(x);
    }
    let exponent = prefix_exponent(rounded(x, 2 - power(x)), unit);
    let scaled = x / 10f64.powi(exponent);
    if x == 0.0 || FIXED.contains(&scaled.abs()) {
        joined(significant(scaled, 3), prefixed(unit, exponent))
    } else {
        joined(scientific(x, 2), prefixed(unit, 0))
    }
}

/// The prefix for `size`, one more where the digits that are shown round up to 1000.
fn exponent_of(size: f64, value: f64, u: Option<f64>, unit: &str) -> i32 {
    let exponent = prefix_exponent(size, unit);
    let scale = 10f64.powi(exponent);
    let digits = match u {
        Some(u) => 1 - power(u / scale),
        None => 3 - power(value / scale),
    };
    if (rounded(size / scale, digits)).abs() >= 1000.0 {
        prefix_exponent(1000.0 * scale, unit)
    } else {
        exponent
    }
}

fn joined(text: String, unit: String) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

fn infinite(x: f64) -> String {
    if x.is_nan() {
        "?"
    } else if x > 0.0 {
        "∞"
    } else {
        "−∞"
    }
    .into()
}

/// `x` in so many significant digits, with a power of ten where it would be long.
pub(crate) fn significant(x: f64, digits: i32) -> String {
    if !x.is_finite() {
        return infinite(x);
    }
    let size = x.abs();
    if size != 0.0 && !(1e-5..1e9).contains(&size) {
        return scientific(x, (digits - 1).unsigned_abs() as usize);
    }
    // 9.9996 in four digits is 10.00, not 10.000.
    let digits = digits - 1 - power(rounded(x, digits - 1 - power(x)));
    fixed(x, digits)
}

fn scientific(x: f64, decimals: usize) -> String {
    format!("{x:.decimals$e}").replace('-', "−")
}

/// The power of ten of the first digit; 0 for 0.
fn power(x: f64) -> i32 {
    if x == 0.0 || !x.is_finite() {
        return 0;
    }
    // The digits as they are written decide, not a logarithm that rounds.
    let text = format!("{:e}", x.abs());
    text.split_once('e').and_then(|(_, e)| e.parse().ok()).unwrap_or(0)
}

/// `x` rounded at the decimal `digits` behind the point; negative ones lie before it.
fn rounded(x: f64, digits: i32) -> f64 {
    if digits >= 0 {
        format!("{x:.*}", digits.unsigned_abs() as usize).parse().unwrap_or(x)
    } else {
        let unit = 10f64.powi(-digits);
        (x / unit).round() * unit
    }
}

fn fixed(x: f64, digits: i32) -> String {
    let rounded = rounded(x, digits);
    // A value that rounds to nothing has no sign.
    let shown = if rounded == 0.0 { 0.0 } else { rounded };
    format!("{shown:.*}", digits.max(0).unsigned_abs() as usize).replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand, from the rules at the top of this file.
    #[test]
    fn values_with_their_uncertainty() {
        for (value, u, unit, text) in [
            (0.00731, Some(0.00012), "A", "7.31 ± 0.12 mA"),
            (0.572831, Some(0.000041), "V", "0.572831 ± 0.000041 V"),
            (0.03655, Some(0.00049), "Ω", "36.55 ± 0.49 mΩ"),
            (0.0996, Some(0.0996), "", "0.10 ± 0.10"),
            (12_345.0, Some(2_345.0), "Ω", "12.3 ± 2.3 kΩ"),
            (-0.0071, None, "A", "−7.100 mA"),
            (1e-20, None, "A", "1.000e−20 A"),
            (1e-20, Some(2e-21), "A", "(1.00e−20 ± 2.0e−21) A"),
            (f64::INFINITY, None, "Ω", "∞ Ω"),
            (84.02, None, "Ω", "84.02 Ω"),
            (0.0, None, "A", "0.000 A"),
            (21.4, Some(0.3), "%", "(21.40 ± 0.30) %"),
            (1e-9, Some(2e-6), "A", "0.0 ± 2.0 µA"),
            (1000.0, None, "W/m²", "1000 W/m²"),
        ] {
            assert_eq!(quoted(value, u, unit), text);
        }
    }

    /// What rounds up to 1000 takes the next prefix: 999.96 mA in four digits is 1.000 A.
    #[test]
    fn rounding_up_to_a_thousand_takes_the_next_prefix() {
        assert_eq!(quantity(0.99996, "A"), "1.000 A");
        assert_eq!(quoted(999.96e-9, Some(1e-9), "A"), "1.0000 ± 0.0010 µA");
        assert_eq!(quantity(9.9996e-6, "A"), "10.00 µA");
    }

    /// One prefix where it serves all; else each end has its own.
    #[test]
    fn intervals() {
        assert_eq!(between(311e-9, Some(250e-9), Some(380e-9), "A"), "311 (95 %: 250 to 380) nA");
        assert_eq!(
            between(2e-12, Some(1.79e-44), Some(18.3e-6), "A"),
            "2.00 pA (95 %: 1.79e−44 A to 18.3 µA)"
        );
        assert_eq!(between(5e-9, Some(1e-9), Some(1e-5), "A"), "5.00 nA (95 %: 1.00 nA to 10.0 µA)");
        assert_eq!(between(900.0, Some(500.0), Some(f64::INFINITY), "Ω"), "900 (95 %: 500 to ∞) Ω");
        assert_eq!(between(1.5, None, Some(2.0), ""), "1.50 (95 %: open to 2.00)");
        assert_eq!(between(0.0, Some(0.0), Some(0.2), "Ω"), "0.00 (95 %: 0.00 to 200) mΩ");
    }

    #[test]
    fn spans() {
        assert_eq!(span(-0.1, 0.6, "V"), "−0.1000 to 0.6000 V");
        assert_eq!(span(-0.041, 0.03, "A"), "−41.00 to 30.00 mA");
        assert_eq!(span(0.0, 21.0, "V"), "0.00 to 21.00 V");
        assert_eq!(span(1e-12, 0.3, "A"), "1.000 pA to 300.0 mA");
    }

    #[test]
    fn shares() {
        for (share, text) in
            [(0.01, "1"), (0.0123456, "1.235"), (1e-8, "0.000001"), (0.99996, "100"), (0.0, "0")]
        {
            assert_eq!(percent(share), text);
        }
    }

    #[test]
    fn prefixes() {
        assert_eq!((prefix_exponent(1e-3, "A"), prefix_exponent(0.999e-3, "A")), (-3, -6));
        assert_eq!((prefix_exponent(5e-21, "A"), prefix_exponent(0.02, "W/m²")), (-15, 0));
        assert_eq!((prefixed("A", -6), prefixed("1", 0)), ("µA".into(), String::new()));
    }
}
