//! Numbers as they are written in messages.

const PREFIXES: [(i32, &str); 8] =
    [(6, "M"), (3, "k"), (0, ""), (-3, "m"), (-6, "µ"), (-9, "n"), (-12, "p"), (-15, "f")];

/// A bare number as the caller may have written it: `nan`, `-inf`, the shortest decimal otherwise.
pub(super) fn number(x: f64) -> String {
    if x.is_finite() { format!("{x:?}") } else { format!("{x}").to_lowercase() }
}

/// A number with its unit, four significant digits and an SI prefix: `0.4 mA`, `-40 mV`.
pub(super) fn quantity(x: f64, unit: &str) -> String {
    if x == 0.0 {
        return format!("0 {unit}");
    }
    let rounded: f64 = format!("{x:.3e}").parse().unwrap_or(x);
    let fits = |exponent: i32| rounded.abs() >= 10f64.powi(exponent) * (1.0 - 1e-12);
    let (exponent, prefix) = PREFIXES.into_iter().find(|&(e, _)| fits(e)).unwrap_or((-15, "f"));
    let scaled: f64 = format!("{:.3e}", rounded / 10f64.powi(exponent)).parse().unwrap_or(rounded);
    format!("{scaled} {prefix}{unit}")
}

/// A voltage in words.
pub(super) fn volts(x: f64) -> String {
    quantity(x, "V")
}

/// A current in words.
pub(super) fn amperes(x: f64) -> String {
    quantity(x, "A")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_carry_prefixes() {
        assert_eq!(amperes(-6.234e-4), "-623.4 µA");
        assert_eq!(amperes(0.9999999), "1 A");
        assert_eq!(volts(0.67949), "679.5 mV");
        assert_eq!(volts(1234.5), "1.234 kV");
        assert_eq!(amperes(0.0), "0 A");
        assert_eq!(number(f64::NAN), "nan");
        assert_eq!(number(f64::NEG_INFINITY), "-inf");
    }
}
