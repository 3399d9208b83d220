//! `KeyPoints`.

use crate::beside::{Beside, Source};
use crate::estimate::{Estimate, render};
use crate::json::plain;
use crate::sweep::Finding;
use litdiode::key_points as core;
use litdiode::sweep as core_sweep;
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Isc, Voc, the point of maximum power and FF, and Jsc and efficiency where area and irradiance are known.
///
/// ```text
/// FF = Pmax/(Isc·Voc)      Jsc = Isc/area      η = Pmax/(area·irradiance)
/// ```
///
/// Each figure is an `Estimate`, or None with the reason in `absent`. Uncertainties are carried to first order with the
/// covariance of the figures (JCGM 100:2008, 5.2.2); degrees of freedom of Jsc and η by Welch–Satterthwaite (annex G).
/// FF and η are pure numbers from 0 to 1. Where area or irradiance has no uncertainty, the note of Jsc or η says
/// "electrical part only". `repr` shows the `findings` of the sweep beside the figures. Comes from `Sweep.key_points`, `Fit.key_points`, `Translated.key_points` and, exact and
/// without ±, from a model.
#[pyclass(frozen, module = "litdiode")]
pub struct KeyPoints(pub Beside);

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
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        #[pymethods]
        impl KeyPoints {
            $(
                $(#[$doc])*
                #[getter]
                fn $name(&self) -> Option<Estimate> {
                    self.0.points.$name.clone().map(Estimate)
                }
            )*
        }
    };
}

figures!(
    /// Short-circuit current in A.
    isc,
    /// Open-circuit voltage in V.
    voc,
    /// Maximum power in W.
    pmax,
    /// Voltage of maximum power in V.
    v_pmax,
    /// Current of maximum power in A.
    i_pmax,
    /// Fill factor, 0 to 1.
    ff,
    /// Short-circuit current density in A/cm².
    jsc,
    /// Efficiency, 0 to 1.
    efficiency,
);

#[pymethods]
impl KeyPoints {
    /// The figures that are not there, by name, with the reason.
    #[getter]
    fn absent<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let absent = PyDict::new(py);
        for a in &self.0.points.absent {
            absent.set_item(&a.figure, a.why.to_string())?;
        }
        Ok(absent)
    }

    /// The figures that `covariance` is over: those of the first six that have a ±.
    #[getter]
    fn names(&self) -> Vec<String> {
        self.0.points.names.iter().map(|n| n.to_string()).collect()
    }

    /// Covariance of `names` in SI units, one row and one column a name.
    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let n = self.0.points.names.len();
        PyArray1::from_slice(py, &self.0.points.covariance).reshape([n, n])
    }

    /// Remarks on the sweep that the figures come from, as `Finding`s; empty for those of a model.
    #[getter]
    fn findings(&self, py: Python<'_>) -> Vec<Finding> {
        py.detach(|| self.0.source.findings()).into_iter().map(Finding).collect()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows = self.rows(py)?;
        let mut lines: Vec<String> =
            rows.iter().map(|(symbol, text)| format!("  {symbol:<7}{text}")).collect();
        lines.extend(self.remarks(py).iter().map(|text| format!("  remark: {text}")));
        Ok(format!("KeyPoints\n{}", lines.join("\n")))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let row =
            |(symbol, text): &(&str, String)| format!("<tr><th>{symbol}</th><td>{}</td></tr>", escape(text));
        let list: String = self.remarks(py).iter().map(|t| format!("<li>{}</li>", escape(t))).collect();
        let list = if list.is_empty() { list } else { format!("<ul>{list}</ul>") };
        Ok(format!("<table>{}</table>{list}", self.rows(py)?.iter().map(row).collect::<String>()))
    }
}

impl From<core::KeyPoints> for KeyPoints {
    fn from(points: core::KeyPoints) -> Self {
        Self(points.into())
    }
}

impl KeyPoints {
    /// Figures of `sweep`.
    pub fn of(points: core::KeyPoints, sweep: &core_sweep::Sweep) -> Self {
        Self(Beside { points, source: Source::Sweep(sweep.clone()) })
    }

    /// The remarks to print: what the sweep does not reach stands with the absent figures already.
    fn remarks(&self, py: Python<'_>) -> Vec<String> {
        use core_sweep::Kind::{ShortOfIsc, ShortOfVoc};
        let found = py.detach(|| self.0.source.findings());
        let told = |kind| matches!(kind, ShortOfIsc | ShortOfVoc);
        found.into_iter().filter(|f| !told(f.kind)).map(|f| f.text).collect()
    }

    fn rows(&self, py: Python<'_>) -> PyResult<Vec<(&'static str, String)>> {
        let mut rows = Vec::new();
        for (name, symbol) in FIGURES {
            match (self.0.points.get(name), self.0.points.why_absent(name)) {
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
