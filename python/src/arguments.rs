//! Arguments: what Python passes as the numbers, words and counts that the core takes, or an error with their name.

use crate::error::input;
use litdiode::fit::{FitError, Parameter};
use numpy::{PyArray1, PyArrayDyn, PyArrayMethods, PyUntypedArrayMethods};
use pyo3::PyClass;
use pyo3::exceptions::{PyOverflowError, PyTypeError};
use pyo3::prelude::*;
use pyo3::types::{IntoPyDict, PyComplex, PyList, PyMapping, PyTuple};
use std::fmt::Display;
use std::num::NonZeroUsize;

/// A one-dimensional list of numbers, or an `InputError` naming the argument and the index.
pub fn vector(name: &str, values: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
    let array = array(name, values)?;
    if array.ndim() != 1 {
        let text = format!("{name} has {} dimensions; pass a one-dimensional list or array", array.ndim());
        return Err(input(values.py(), text));
    }
    array.to_vec().map_err(|e| input(values.py(), format!("{name}: {e}")))
}

/// A contiguous array of f64 of any shape.
pub fn array<'py>(name: &str, values: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyArrayDyn<f64>>> {
    let py = values.py();
    let options = [("dtype", "float64")].into_py_dict(py)?;
    options.set_item("order", "C")?;
    let numpy = py.import("numpy")?;
    refuse_complex(name, values)?;
    let refused = |_| not_numeric(name, values);
    if is_masked(values) {
        // A masked reading is a missing one, as NaN is.
        let numbers = values.call_method1("astype", ("float64",)).map_err(refused)?;
        let filled = numbers.call_method1("filled", (f64::NAN,))?;
        return Ok(numpy
            .call_method("asarray", (filled,), Some(&options))?
            .cast_into::<PyArrayDyn<f64>>()?);
    }
    let made = numpy.call_method("asarray", (values,), Some(&options)).map_err(refused)?;
    Ok(made.cast_into::<PyArrayDyn<f64>>()?)
}

fn is_masked(values: &Bound<'_, PyAny>) -> bool {
    let any = |mask: Bound<'_, PyAny>| mask.call_method0("any").and_then(|x| x.is_truthy());
    values.hasattr("filled").unwrap_or(false) && values.getattr("mask").and_then(any).unwrap_or(false)
}

/// Complex numbers would lose their imaginary part on the way to numbers: an `InputError`.
pub fn refuse_complex(name: &str, values: &Bound<'_, PyAny>) -> PyResult<()> {
    let kind = |x: &Bound<'_, PyAny>| -> Option<String> {
        x.getattr("dtype").ok()?.getattr("kind").ok()?.extract().ok()
    };
    let is_complex =
        |x: &Bound<'_, PyAny>| x.is_instance_of::<PyComplex>() || kind(x).as_deref() == Some("c");
    let refused = |place: String, value: &Bound<'_, PyAny>| {
        let shown = shown(value);
        Err(input(values.py(), format!("{place} = {shown} is complex; pass real numbers, such as its .real")))
    };
    if is_complex(values) {
        // An array names its first entry, a number itself.
        return match values.try_iter().ok().and_then(|mut entries| entries.next()) {
            Some(Ok(first)) => refused(format!("{name}[0]"), &first),
            _ => refused(name.into(), values),
        };
    }
    if values.is_instance_of::<PyList>() || values.is_instance_of::<PyTuple>() {
        for (k, entry) in values.try_iter()?.enumerate() {
            let entry = entry?;
            if is_complex(&entry) {
                return refused(format!("{name}[{k}]"), &entry);
            }
        }
    }
    Ok(())
}

/// Names the first entry that is no number.
fn not_numeric(name: &str, values: &Bound<'_, PyAny>) -> PyErr {
    let py = values.py();
    if let Ok(entries) = values.try_iter() {
        for (index, entry) in entries.flatten().enumerate() {
            if entry.call_method0("__float__").is_err() {
                let value = shown(&entry);
                return input(py, format!("{name}[{index}] = {value} is not a number; pass numbers only"));
            }
        }
    }
    input(py, format!("{name} = {} is not a list of numbers; pass a list or an array", shown(values)))
}

/// A function of numbers of any shape with `N` results a number: numbers for a number, arrays of the same shape for
/// anything else.
pub fn map_all<'py, const N: usize, E: Display + Send>(
    name: &str,
    values: &Bound<'py, PyAny>,
    f: impl Fn(&[f64]) -> Result<[Vec<f64>; N], E> + Sync,
) -> PyResult<[Bound<'py, PyAny>; N]> {
    let py = values.py();
    let array = array(name, values)?;
    let given = array.to_vec().map_err(|e| input(py, format!("{name}: {e}")))?;
    let made = py.detach(|| f(&given)).map_err(|e| input(py, e))?;
    let shaped = |flat: Vec<f64>| {
        if array.ndim() == 0 {
            return Ok(flat[0].into_pyobject(py)?.into_any());
        }
        Ok::<_, PyErr>(PyArray1::from_vec(py, flat).reshape(array.dims())?.into_any())
    };
    let all = made.into_iter().map(shaped).collect::<PyResult<Vec<_>>>()?;
    all.try_into().map_err(|_| input(py, format!("{name}: a result is missing")))
}

/// A level of an interval, between 0 and 1.
pub fn probability(py: Python<'_>, level: f64) -> PyResult<()> {
    if level > 0.0 && level < 1.0 {
        return Ok(());
    }
    Err(input(py, format!("level = {level} is not between 0 and 1; pass for instance 0.95")))
}

/// A dictionary of numbers by the name of a parameter, one of `known`.
pub fn numbers(
    option: &'static str,
    known: &[Parameter],
    values: Option<&Bound<'_, PyAny>>,
) -> PyResult<Vec<(Parameter, f64)>> {
    let mut found = Vec::new();
    for (name, value) in entries(option, values, "a dictionary of name to SI value, such as {\"n\": 1.3}")? {
        let number = value.extract::<f64>().map_err(|_| {
            input(value.py(), format!("{option}[{name:?}] = {value:?} is not a number; give an SI value"))
        })?;
        found.push((parameter(option, known, &name)?, number));
    }
    Ok(found)
}

/// A dictionary of (low, high) by the name of a parameter, one of `known`.
pub fn pairs(
    option: &'static str,
    known: &[Parameter],
    values: Option<&Bound<'_, PyAny>>,
) -> PyResult<Vec<(Parameter, f64, f64)>> {
    let mut found = Vec::new();
    for (name, value) in
        entries(option, values, "a dictionary of name to (low, high), such as {\"n\": (1, 2)}")?
    {
        let (low, high) = value.extract::<(f64, f64)>().map_err(|_| {
            input(value.py(), format!("{option}[{name:?}] = {value:?} is not a pair; give (low, high)"))
        })?;
        found.push((parameter(option, known, &name)?, low, high));
    }
    Ok(found)
}

/// The entries of a dictionary or of any other mapping; none where it is left out.
fn entries<'py>(
    option: &str,
    values: Option<&Bound<'py, PyAny>>,
    cure: &str,
) -> PyResult<Vec<(Bound<'py, PyAny>, Bound<'py, PyAny>)>> {
    let Some(values) = values else { return Ok(Vec::new()) };
    let mapping = values.cast::<PyMapping>().map_err(|_| wrong_type(option, values, cure))?;
    mapping.items()?.iter().map(|item| item.extract()).collect()
}

fn parameter(option: &'static str, known: &[Parameter], name: &Bound<'_, PyAny>) -> PyResult<Parameter> {
    let text: String = name
        .extract()
        .map_err(|_| input(name.py(), format!("{option}: {name:?} is not the name of a parameter")))?;
    known.iter().copied().find(|p| p.name() == text).ok_or_else(|| {
        let known = known.iter().map(|p| p.name()).collect::<Vec<_>>().join(", ");
        input(name.py(), FitError::UnknownName { option, name: text, known })
    })
}

/// A seed, 0 or more.
pub fn seed(py: Python<'_>, given: i128) -> PyResult<u64> {
    u64::try_from(given).map_err(|_| {
        input(py, format!("seed = {given} is not allowed; pass a whole number from 0 to 2⁶⁴ − 1"))
    })
}

/// A number of cells in series: a whole one, 1 where none is given.
pub fn cells(given: Option<&Bound<'_, PyAny>>) -> PyResult<u32> {
    let Some(given) = given else { return Ok(1) };
    let whole = || given.extract::<f64>().ok().filter(|x| x.fract() == 0.0).map(|x| x as i64);
    let count: Option<i64> = given.extract().ok().or_else(whole);
    let good = count.filter(|&x| x != 0).and_then(|x| u32::try_from(x).ok());
    let cure = "it must be the number of cells in series, a whole number, 1 or more";
    good.ok_or_else(|| input(given.py(), format!("cells = {given} is not allowed: {cure}")))
}

/// A number of things to make: no fewer than `least`, and not so many that their list alone fills a machine.
pub fn count(py: Python<'_>, name: &str, given: i128, least: i128) -> PyResult<usize> {
    const MOST: i128 = 10_000_000;
    let wrong = || input(py, format!("{name} = {given} is not allowed; give {least} to 10 million"));
    usize::try_from(given).ok().filter(|_| (least..=MOST).contains(&given)).ok_or_else(wrong)
}

/// A type that an argument takes, with what to write for it.
pub trait Argument<'a, 'py>: FromPyObject<'a, 'py> {
    /// What to pass.
    fn cure() -> String;
}

/// Says what to write for an argument of a type.
macro_rules! argument {
    ($($kind:ty: $cure:literal),* $(,)?) => {
        $(impl<'a> Argument<'a, '_> for $kind {
            fn cure() -> String {
                $cure.into()
            }
        })*
    };
}

argument!(
    f64: "a number",
    i32: "a whole number",
    i64: "a whole number",
    i128: "a whole number",
    bool: "True or False",
    &'a str: "a text",
    (f64, f64): "a pair of numbers, (low, high)",
);

impl<'a, 'py, T: PyClass> Argument<'a, 'py> for Bound<'py, T> {
    fn cure() -> String {
        format!("a litdiode.{}", <T as PyClass>::NAME)
    }
}

impl<'a, 'py, T: Argument<'a, 'py>> Argument<'a, 'py> for Option<T> {
    fn cure() -> String {
        format!("{} or None", T::cure())
    }
}

/// Functions for `from_py_with`, each for the argument of its name, which its error tells.
macro_rules! named {
    ($($name:ident)*) => {
        pub mod named {
            use super::*;
            $(
                pub fn $name<'a, 'py, T: Argument<'a, 'py>>(value: &'a Bound<'py, PyAny>) -> PyResult<T> {
                    of(stringify!($name), value)
                }
            )*
        }
    };
}

named! {
    alpha beta bound c capacity compliance_a compliance_v correlation current_a current_gain_u current_offset_a
    current_offset_u current_rel current_step_a dark deadline_s diodes dof draws dwell_s exponent extrapolate
    figure first from_w_m2 gap_ev high i i_pmax_a instrument irradiance_range_w_m2 irradiance_w_m2 isc_a
    isc_per_k j kind lead_resistance_ohm level limit_w lit low method model most_evaluations n name
    noise_current_a noise_current_rel noise_scale noise_voltage_v order points procedure reference_c
    reference_irradiance_w_m2 relative_u residual rs0_ohm rsh0_ohm safe saturation_law scatter scatter_dof second
    seed shunt_follows_light size spread start step stop sweep swept target temperature_c temperature_range_c
    text threads time_constant_s time_limit_s time_s u unit v_pmax_v value voc_v voltage_gain_u voltage_offset_u
    voltage_offset_v voltage_rel voltage_step_v voltage_v wanted with_bias
}

/// An argument of its type, or a `TypeError` that names it and the value, and says what to write.
fn of<'a, 'py, T: Argument<'a, 'py>>(name: &str, value: &'a Bound<'py, PyAny>) -> PyResult<T> {
    // It is a number to Python, and its unit and its u would be lost without a word.
    let is_estimate = value.get_type().fully_qualified_name().is_ok_and(|name| name == "litdiode.Estimate");
    if is_estimate {
        let text = format!(
            "{name} takes a plain number in the unit of its name; pass float({name}) where that is meant"
        );
        return Err(PyTypeError::new_err(text));
    }
    value.extract().map_err(|error: T::Error| {
        let error: PyErr = error.into();
        if error.is_instance_of::<PyOverflowError>(value.py()) {
            return input(value.py(), format!("{name} = {} is too large; pass {}", shown(value), T::cure()));
        }
        wrong_type(name, value, &T::cure())
    })
}

/// A value and its type, as a `TypeError` names them.
fn described(value: &Bound<'_, PyAny>) -> String {
    let kind = value.get_type().name().map_or_else(|_| "?".into(), |n| n.to_string());
    format!("{} is of type {kind}", shown(value))
}

/// A value as text, a long one cut.
pub fn shown(value: &Bound<'_, PyAny>) -> String {
    const LONGEST: usize = 200;
    let text = value.repr().map_or_else(|_| "?".into(), |r| r.to_string());
    if text.chars().count() <= LONGEST { text } else { text.chars().take(LONGEST).chain(['…']).collect() }
}

/// A value of the type that an argument needs, or a `TypeError` that names the argument, the value and what to write.
pub fn given<'py, T>(name: &str, value: &Bound<'py, PyAny>, cure: &str) -> PyResult<T>
where
    T: for<'a> FromPyObject<'a, 'py>,
{
    value.extract().map_err(|_| wrong_type(name, value, cure))
}

/// A `TypeError` that names the argument, the value and what to write.
pub fn wrong_type(name: &str, value: &Bound<'_, PyAny>, cure: &str) -> PyErr {
    PyTypeError::new_err(format!("{name} = {}; pass {cure}", described(value)))
}

/// One word or a list of them.
pub fn words(name: &str, value: &Bound<'_, PyAny>, example: &str) -> PyResult<Vec<String>> {
    if let Ok(one) = value.extract::<String>() {
        return Ok(vec![one]);
    }
    given(name, value, &format!("a word or a list of words, such as {example}"))
}

/// The word for a value, one of those that `choice` takes.
pub fn word<T: PartialEq>(value: &T, words: &[(&'static str, T)]) -> &'static str {
    words.iter().find(|w| w.1 == *value).map_or("", |w| w.0)
}

/// One of a few words, or an `InputError` that lists them.
pub fn choice<T: Copy>(py: Python<'_>, name: &str, given: &str, words: &[(&str, T)]) -> PyResult<T> {
    words.iter().find(|w| w.0 == given).map(|w| w.1).ok_or_else(|| {
        let list: Vec<String> = words.iter().map(|w| format!("{:?}", w.0)).collect();
        input(py, format!("{name} = {given:?} is not known; pass {}", list.join(" or ")))
    })
}

/// A number of threads, all there are if `None`.
pub fn threads_of(py: Python<'_>, threads: Option<i64>) -> PyResult<Option<NonZeroUsize>> {
    let Some(given) = threads else { return Ok(None) };
    let count = usize::try_from(given).ok().and_then(NonZeroUsize::new);
    let wrong = || input(py, format!("threads = {given} must be 1 or more; None takes all there are"));
    count.map(Some).ok_or_else(wrong)
}
