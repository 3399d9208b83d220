//! `KeyPoints`.

use crate::estimate::{Estimate, render};
use crate::plain::plain;
use litdiode::key_points as core;
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Isc, Voc, the point of maximum power, FF, and Jsc and efficiency where area and irradiance are known.
#[pyclass(frozen, module = "litdiode")]
pub struct KeyPoints(pub core::KeyPoints);

plain!(KeyPoints);

/// Names and symbols.
pub const FIGURES: [(&str, &str); 8] = [
    ("isc", "Isc"),
    ("voc", "Voc"),
    ("pmax", "Pmax"),
    ("v_pmax", "V_Pmax"),
    ("i_pmax", "I_Pmax"),
    ("ff", "FF"),
    ("jsc", "Jsc"),
    ("efficiency", "η"),
];

macro_rules! figures {
    ($($name:ident),*) => {
        #[pymethods]
        impl KeyPoints {
            $(
                #[getter]
                fn $name(&self) -> Option<Estimate> {
                    self.0.$name.clone().map(Estimate)
                }
            )*
        }
    };
}

figures!(isc, voc, pmax, v_pmax, i_pmax, ff, jsc, efficiency);

#[pymethods]
impl KeyPoints {
    /// Figures that are not there, with the reason.
    #[getter]
    fn absent<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let absent = PyDict::new(py);
        for a in &self.0.absent {
            absent.set_item(&a.figure, &a.why)?;
        }
        Ok(absent)
    }

    /// Figures that `covariance` is over.
    #[getter]
    fn names(&self) -> Vec<String> {
        self.0.names.iter().map(|n| n.to_string()).collect()
    }

    /// Covariance of `names` in SI units.
    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let n = self.0.names.len();
        PyArray1::from_slice(py, &self.0.covariance).reshape([n, n])
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows = self.rows(py)?;
        let lines: Vec<String> = rows.iter().map(|(symbol, text)| format!("  {symbol:<7}{text}")).collect();
        Ok(format!("KeyPoints\n{}", lines.join("\n")))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let row =
            |(symbol, text): &(&str, String)| format!("<tr><th>{symbol}</th><td>{}</td></tr>", escape(text));
        Ok(format!("<table>{}</table>", self.rows(py)?.iter().map(row).collect::<String>()))
    }
}

impl KeyPoints {
    fn rows(&self, py: Python<'_>) -> PyResult<Vec<(&'static str, String)>> {
        let mut rows = Vec::new();
        for (name, symbol) in FIGURES {
            match (self.0.get(name), self.0.why_absent(name)) {
                (Some(estimate), _) => rows.push((symbol, render(py, estimate)?)),
                (None, Some(why)) => rows.push((symbol, format!("absent: {why}"))),
                (None, None) => {}
            }
        }
        Ok(rows)
    }
}

/// Text as HTML.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
