//! Numbers with units as text: what `litdiode.quote` hands to tables, pictures and pages.

use crate::arguments::named;
use litdiode::quantity_format as core;
use pyo3::prelude::*;

/// `value ± u` with its unit, under the prefix that the size of the value asks for, or that of 10^`exponent`.
#[pyfunction]
#[pyo3(signature = (value, u, unit, exponent=None))]
pub fn quoted(
    #[pyo3(from_py_with = named::value)] value: f64,
    #[pyo3(from_py_with = named::u)] u: Option<f64>,
    #[pyo3(from_py_with = named::unit)] unit: &str,
    #[pyo3(from_py_with = named::exponent)] exponent: Option<i32>,
) -> String {
    match exponent {
        Some(exponent) => core::quoted_at(value, u, unit, exponent),
        None => core::quoted(value, u, unit),
    }
}

/// `value ± u` with two significant digits of `u`; without `u` the value alone, in four digits.
#[pyfunction]
#[pyo3(signature = (value, u))]
pub fn plus_minus(
    #[pyo3(from_py_with = named::value)] value: f64,
    #[pyo3(from_py_with = named::u)] u: Option<f64>,
) -> String {
    core::plus_minus(value, u)
}

/// `value (95 %: low to high) unit`, three digits each; an end that is not given is open.
#[pyfunction]
#[pyo3(signature = (value, low, high, unit))]
pub fn between(
    #[pyo3(from_py_with = named::value)] value: f64,
    #[pyo3(from_py_with = named::low)] low: Option<f64>,
    #[pyo3(from_py_with = named::high)] high: Option<f64>,
    #[pyo3(from_py_with = named::unit)] unit: &str,
) -> String {
    core::between(value, low, high, unit)
}

/// The power of ten, a multiple of three, that leaves 1 to 999 of `size`; 0 if `unit` takes no prefix.
#[pyfunction]
pub fn prefix_exponent(
    #[pyo3(from_py_with = named::size)] size: f64,
    #[pyo3(from_py_with = named::unit)] unit: &str,
) -> i32 {
    core::prefix_exponent(size, unit)
}

/// The unit with the prefix of a power of ten: `A`, −3 → `mA`.
#[pyfunction]
pub fn prefixed(
    #[pyo3(from_py_with = named::unit)] unit: &str,
    #[pyo3(from_py_with = named::exponent)] exponent: i32,
) -> String {
    core::prefixed(unit, exponent)
}

/// `low to high unit`, four digits each, under one prefix where that serves both.
#[pyfunction]
pub fn span(
    #[pyo3(from_py_with = named::low)] low: f64,
    #[pyo3(from_py_with = named::high)] high: f64,
    #[pyo3(from_py_with = named::unit)] unit: &str,
) -> String {
    core::span(low, high, unit)
}
