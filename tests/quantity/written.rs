//! How numbers with units are written: by hand, from the rules at the top of `src/quantity/format.rs`.

use litdiode::quantity_format::{
    between, plus_minus, prefix_exponent, prefixed, quantity, quoted, quoted_at, span,
};

/// The prefixes of the SI from femto to giga; beyond them the nearest.
#[test]
fn prefixes_of_the_si() {
    for (size, exponent, name) in [
        (3e-18, -15, "fA"),
        (3e-14, -15, "fA"),
        (3e-12, -12, "pA"),
        (3e-9, -9, "nA"),
        (3e-6, -6, "µA"),
        (3e-3, -3, "mA"),
        (3.0, 0, "A"),
        (-3e3, 3, "kA"),
        (3e6, 6, "MA"),
        (3e9, 9, "GA"),
        (3e13, 9, "GA"),
    ] {
        assert_eq!(prefix_exponent(size, "A"), exponent, "{size}");
        assert_eq!(prefixed("A", exponent), name);
    }
    assert_eq!(prefixed("A", 5), "10^5 A");
    assert_eq!(prefixed("1", -3), "");
    // 1 to 999 of each: the edges.
    for (size, exponent) in [(1e-3, -3), (0.999e-3, -6), (999.0, 0), (1e3, 3), (1e-12, -12), (1e6, 6)] {
        assert_eq!(prefix_exponent(size, "A"), exponent, "{size}");
    }
    for unit in ["", "1", "%", "cm²", "W/m²", "°C", "1/K"] {
        assert_eq!(prefix_exponent(3e-6, unit), 0, "{unit}");
    }
    for size in [0.0, f64::INFINITY, f64::NEG_INFINITY, f64::NAN] {
        assert_eq!(prefix_exponent(size, "A"), 0, "{size}");
    }
}

#[test]
fn two_digits_of_the_uncertainty() {
    for (value, u, text) in [
        (12.345, Some(0.12), "12.35 ± 0.12"),
        (12.345, Some(0.0999), "12.35 ± 0.10"),
        (1234.5, Some(123.0), "1230 ± 120"),
        (1234.5, Some(12.0), "1234 ± 12"),
        (99_960.0, Some(9996.0), "100000 ± 10000"),
        (-0.001, Some(1.5), "0.0 ± 1.5"),
        (-3.0, Some(1.5), "−3.0 ± 1.5"),
        (5.5, None, "5.500"),
        (5.5, Some(0.0), "5.500"),
        (5.5, Some(-1.0), "5.500"),
        (5.5, Some(f64::INFINITY), "5.500"),
        (f64::NAN, Some(1.0), "?"),
        (f64::INFINITY, Some(1.0), "∞"),
        (f64::NEG_INFINITY, None, "−∞"),
        (1e-5, None, "0.00001000"),
        (9.9e-6, None, "9.900e−6"),
        (9.99e8, None, "999000000"),
        (1e9, None, "1.000e9"),
        (9.9996, None, "10.00"),
    ] {
        assert_eq!(plus_minus(value, u), text);
    }
}

/// Tenths of a volt stay in volts, of an ampere they do not; the size of a figure near zero is that of its uncertainty.
#[test]
fn quoted_with_the_prefix_of_the_value() {
    for (value, u, unit, text) in [
        (0.1, None, "V", "0.1000 V"),
        (0.0999, None, "V", "99.90 mV"),
        (-0.5728, Some(0.0012), "V", "−0.5728 ± 0.0012 V"),
        (0.9999, None, "V", "0.9999 V"),
        (1.0, None, "V", "1.000 V"),
        (0.5, None, "A", "500.0 mA"),
        (1e-9, Some(3e-3), "V", "0.0 ± 3.0 mV"),
        (0.0, Some(3e-3), "A", "0.0 ± 3.0 mA"),
        (999.6e-3, Some(0.01), "A", "1.000 ± 0.010 A"),
        (999.4e-3, Some(1e-3), "A", "999.4 ± 1.0 mA"),
        (99.96, None, "%", "99.96 %"),
        (f64::INFINITY, Some(1.0), "Ω", "∞ Ω"),
        (f64::NAN, None, "V", "? V"),
        (1.1e15, None, "Ω", "1.100e15 Ω"),
        (9.99e14, None, "Ω", "999000 GΩ"),
        (1e-18, None, "A", "0.001000 fA"),
        (9e-19, None, "A", "9.000e−19 A"),
        (2e7, Some(1e5), "", "(2.00e7 ± 1.0e5)"),
        (0.25, Some(0.01), "", "0.250 ± 0.010"),
    ] {
        assert_eq!(quoted(value, u, unit), text);
    }
    assert_eq!(quantity(0.03521, "A"), "35.21 mA");
    assert_eq!(quoted_at(0.03521, Some(1e-4), "A", -6), "35210 ± 100 µA");
    assert_eq!(quoted_at(0.03521, None, "A", 0), "0.03521 A");
    assert_eq!(quoted_at(21.4, None, "%", 0), "21.40 %");
    assert_eq!(quoted_at(0.0, None, "A", -3), "0.000 mA");
}

#[test]
fn spans_under_one_prefix() {
    for (low, high, unit, text) in [
        (0.0, 0.05, "V", "0.00 to 50.00 mV"),
        (-0.2, 0.1, "V", "−0.2000 to 0.1000 V"),
        (-0.05, 0.02, "V", "−50.00 to 20.00 mV"),
        (0.3, 0.9999, "A", "300.0 to 999.9 mA"),
        (1e-6, 2e-3, "A", "0.001 to 2.000 mA"),
        (0.9e-6, 2e-3, "A", "900.0 nA to 2.000 mA"),
        (-2e-3, -0.9e-6, "A", "−2.000 mA to −900.0 nA"),
        (100.0, 900.0, "W/m²", "100.0 to 900.0 W/m²"),
        (100.0, 12_000.0, "W/m²", "100.0 W/m² to 12000 W/m²"),
        (0.0, 3.0, "", "0.000 to 3.000"),
    ] {
        assert_eq!(span(low, high, unit), text);
    }
}

#[test]
fn intervals_under_one_prefix_or_each_its_own() {
    for (value, low, high, unit, text) in [
        (2.0, Some(1.0), Some(3.0), "Ω", "2.00 (95 %: 1.00 to 3.00) Ω"),
        (2.0, Some(1.0), None, "Ω", "2.00 (95 %: 1.00 to open) Ω"),
        (2.0, Some(-1.0), Some(5.0), "Ω", "2.00 (95 %: −1.00 to 5.00) Ω"),
        (2.0, Some(0.02), Some(900.0), "Ω", "2.00 (95 %: 0.0200 to 900) Ω"),
        (2.0, Some(0.009), Some(900.0), "Ω", "2.00 Ω (95 %: 9.00 mΩ to 900 Ω)"),
        (2.0, Some(1.0), Some(999.6), "Ω", "2.00 Ω (95 %: 1.00 Ω to 1.00 kΩ)"),
        (f64::INFINITY, Some(500.0), Some(f64::INFINITY), "Ω", "∞ (95 %: 500 to ∞) Ω"),
        (f64::INFINITY, Some(2e4), Some(f64::INFINITY), "Ω", "∞ (95 %: 20.0 to ∞) kΩ"),
        (5e-21, Some(1e-21), None, "A", "5.00e−21 A (95 %: 1.00e−21 A to open)"),
        (2.0, Some(0.0), Some(1e7), "Ω", "2.00 Ω (95 %: 0.00 Ω to 10.0 MΩ)"),
        (2.0, Some(1e-5), Some(f64::INFINITY), "Ω", "2.00 Ω (95 %: 10.0 µΩ to ∞)"),
    ] {
        assert_eq!(between(value, low, high, unit), text);
    }
}
