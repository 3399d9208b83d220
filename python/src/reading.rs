//! Files to sweeps: options of Python to those of the core, sweeps back, errors with file and line.

use crate::arguments::given;
use crate::error::input;
use crate::sweep::{Sweep, excludes_outliers, options_of, without_outliers};
use core::reading::{Column, FileSweep, Options, Problem, ReadError, Which, read};
use litdiode as core;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Names of options, as messages speak of them.
const NAMES: [&str; 19] = [
    "voltage",
    "current",
    "voltage_unit",
    "current_unit",
    "decimal",
    "thousands",
    "delimiter",
    "encoding",
    "skip_rows",
    "header_row",
    "comment",
    "overflow",
    "which",
    "area_cm2",
    "irradiance_w_m2",
    "temperature_c",
    "cells",
    "columns",
    "noise",
];

/// `pass decimal or thousands` as Python spells it: `pass decimal= or thousands=`.
fn spelled(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    let mut before = "";
    for word in text.split_inclusive(' ') {
        let bare = word.trim_end().trim_end_matches([',', '.', ';', ':', ')']);
        out.push_str(word.trim_end_matches(' '));
        if matches!(before.trim_end(), "pass" | "or" | "and" | "set" | "else" | "with" | "leave")
            && NAMES.contains(&bare)
        {
            out.insert(out.len() - (word.trim_end().len() - bare.len()), '=');
        }
        out.push_str(&word[word.trim_end_matches(' ').len()..]);
        before = word;
    }
    out
}

fn refused(py: Python<'_>, name: &str, error: &ReadError) -> PyErr {
    let text = spelled(&error.to_string());
    let own = matches!(error.problem, Problem::Option { .. } | Problem::UnknownEncoding { .. });
    match error.line {
        Some(_) => input(py, format!("{name}, {text}")),
        None if own => input(py, text),
        None => input(py, format!("{name}: {text}")),
    }
}

fn options_of_reader(named: &Bound<'_, PyDict>) -> PyResult<Options> {
    let mut options = Options::default();
    for (name, value) in named {
        let name: String = name.extract()?;
        if value.is_none() {
            continue;
        }
        let text = |cure: &str| given::<String>(&name, &value, cure);
        match name.as_str() {
            "voltage" => options.voltage = Some(column(&name, &value)?),
            "current" => options.current = Some(column(&name, &value)?),
            "time" => options.time = Some(column(&name, &value)?),
            "voltage_unit" => options.voltage_unit = Some(text("a unit such as \"mV\"")?),
            "current_unit" => options.current_unit = Some(text("a unit such as \"mA\"")?),
            "decimal" => options.decimal = Some(mark(&name, &value, "\".\" or \",\"")?),
            "thousands" => options.thousands = Some(mark(&name, &value, "\",\", \".\", \" \" or \"'\"")?),
            "delimiter" => {
                options.delimiter =
                    Some(mark(&name, &value, "one of ',', ';', '\\t', '|', ':' or ' ' (any run of blanks)")?)
            }
            "encoding" => options.encoding = Some(text("a name such as \"utf-8\"")?),
            "comment" => options.comment = Some(text("the text that begins a comment, such as \"*\"")?),
            "skip_rows" => options.skip_rows = given(&name, &value, "a number of lines")?,
            "header_row" => options.header_row = Some(given(&name, &value, "the number of a line, from 1")?),
            "overflow" => match text("\"exclude\" or \"error\"")?.as_str() {
                "exclude" => options.overflow_is_error = false,
                "error" => options.overflow_is_error = true,
                other => {
                    return Err(input(
                        value.py(),
                        format!("overflow={other:?}: pass \"exclude\" or \"error\""),
                    ));
                }
            },
            _ => return Err(input(value.py(), format!("{name}= is no option of a reader"))),
        }
    }
    Ok(options)
}

/// One character; a tab also as a shell passes it.
fn mark(name: &str, value: &Bound<'_, PyAny>, cure: &str) -> PyResult<char> {
    let text: String = given(name, value, cure)?;
    let mut chars = text.chars();
    match (text.as_str(), chars.next(), chars.next()) {
        ("\\t", ..) => Ok('\t'),
        (_, Some(one), None) => Ok(one),
        _ => Err(input(value.py(), format!("{name}={text:?}: pass {cure}"))),
    }
}

fn column(name: &str, value: &Bound<'_, PyAny>) -> PyResult<Column> {
    let cure = "a heading or a column number, counted from 0";
    if value.is_instance_of::<pyo3::types::PyBool>() {
        return Err(input(value.py(), format!("{name}={value}: pass {cure}")));
    }
    match value.extract::<usize>() {
        Ok(number) => Ok(Column::Number(number)),
        Err(_) => given::<String>(name, value, cure).map(Column::Heading),
    }
}

fn which_of(value: Option<&Bound<'_, PyAny>>) -> PyResult<Option<Which>> {
    let Some(value) = value else { return Ok(None) };
    match value.extract::<usize>() {
        Ok(number) => Ok(Some(Which::Number(number))),
        Err(_) => given::<String>("which", value, "the label of a sweep or its number from 0")
            .map(|l| Some(Which::Label(l))),
    }
}

/// All sweeps of a file, or the one that is asked for, with the texts to warn of.
#[pyfunction]
#[allow(clippy::too_many_arguments)]
#[pyo3(signature = (data, name, label, reader, options, one, which=None))]
pub fn sweeps_of(
    py: Python<'_>,
    data: &[u8],
    name: &str,
    label: Option<String>,
    reader: &Bound<'_, PyDict>,
    options: &Bound<'_, PyDict>,
    one: bool,
    which: Option<&Bound<'_, PyAny>>,
) -> PyResult<(Vec<Sweep>, Vec<String>)> {
    let mut settings = options_of_reader(reader)?;
    let corrections = options_of(py, Some(options))?.corrections;
    settings.current_over_resistor =
        corrections.iter().any(|c| matches!(c, core::sweep::Correction::SenseResistor { .. }));
    let which = which_of(which)?;
    let contents = py.detach(|| read(data, &settings)).map_err(|e| refused(py, name, &e))?;
    let count = contents.sweeps.len();
    let asked = if one {
        vec![contents.into_one(which.as_ref()).map_err(|e| refused(py, name, &e))?]
    } else {
        contents.sweeps
    };
    let mut warned = Vec::new();
    let mut made = Vec::with_capacity(asked.len());
    for found in asked {
        made.push(sweep(py, name, (found, count), label.as_ref(), options, &mut warned)?);
    }
    Ok((made, warned))
}

fn sweep(
    py: Python<'_>,
    name: &str,
    (mut found, of_file): (FileSweep, usize),
    label: Option<&String>,
    options: &Bound<'_, PyDict>,
    warned: &mut Vec<String>,
) -> PyResult<Sweep> {
    for (option, value) in options {
        if !value.is_none() {
            found.overrule(&option.extract::<String>()?);
        }
    }
    if found.label.is_none() && options.get_item("label")?.is_none_or(|l| l.is_none()) {
        found.label = label.map(|stem| match of_file {
            1 => stem.clone(),
            _ => format!(
                "{stem}, lines {} to {}",
                found.lines.first().unwrap_or(&0),
                found.lines.last().unwrap_or(&0)
            ),
        });
    }
    for text in
        found.notes.iter_mut().chain(&mut found.warnings).chain(found.doubts.iter_mut().map(|d| &mut d.1))
    {
        *text = spelled(text);
    }
    warned.extend(
        found.warnings.iter().chain(found.doubts.iter().map(|d| &d.1)).map(|text| format!("{name}: {text}")),
    );
    let base = options_of(py, Some(options))?;
    let sweep = py.detach(|| found.sweep(base)).map_err(|problem| match problem {
        Some(error) => {
            let at = error
                .index()
                .and_then(|k| found.lines.get(k))
                .map_or(String::new(), |line| format!(", line {line}"));
            input(py, format!("{name}{at}: {}", spelled(&error.to_string())))
        }
        None => refused(py, name, &ReadError::of_file(Problem::NoArea)),
    })?;
    let exclude = excludes_outliers(py, Some(options))?;
    let sweep = if exclude { without_outliers(&sweep).map_err(|e| input(py, e))? } else { sweep };
    warned.extend(sweep.changes().iter().filter(|c| c.automatic).map(|c| format!("{name}: {c}")));
    Ok(Sweep(sweep))
}
