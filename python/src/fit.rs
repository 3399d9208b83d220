//! `Fit` and the functions that make one.

use crate::error::input;
use crate::estimate::{Estimate, Interval, render};
use crate::input::{choice, numbers, pairs};
use crate::key_points::{KeyPoints, escape};
use crate::model::{DoubleDiode, SingleDiode};
use crate::plain::plain;
use crate::sweep::{Sweep, draw};
use litdiode::fit as core;
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use serde::{Deserialize, Serialize};

/// A fit of one or of two diodes.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub enum Either {
    One(core::Fit<1>),
    Two(core::Fit<2>),
}

/// A fitted diode model with its uncertainties.
#[pyclass(frozen, module = "litdiode")]
pub struct Fit(Either);

plain!(Fit);

/// Runs the same expression on either fit.
macro_rules! on {
    ($fit:expr, $inner:ident => $body:expr) => {
        match $fit {
            Either::One($inner) => $body,
            Either::Two($inner) => $body,
        }
    };
}

const RESIDUALS: [(&str, Option<core::Residual>); 5] = [
    ("auto", None),
    ("nearest", Some(core::Residual::Nearest)),
    ("current", Some(core::Residual::Current)),
    ("voltage", Some(core::Residual::Voltage)),
    ("implicit", Some(core::Residual::Implicit)),
];

fn options(
    py: Python<'_>,
    residual: &str,
    fix: Option<&Bound<'_, PyDict>>,
    bounds: Option<&Bound<'_, PyDict>>,
    start: Option<&Bound<'_, PyDict>>,
) -> PyResult<core::Options> {
    let wishes = core::Wishes {
        fix: numbers("fix", fix)?,
        bounds: pairs("bounds", bounds)?,
        start: numbers("start", start)?,
    };
    Ok(core::Options {
        residual: choice(py, "residual", residual, &RESIDUALS)?,
        wishes,
        ..core::Options::default()
    })
}

/// The fit itself, without the interpreter.
fn extract<const K: usize>(
    py: Python<'_>,
    sweep: &Sweep,
    options: core::Options,
    wrap: fn(core::Fit<K>) -> Either,
) -> PyResult<Fit> {
    let fit = py.detach(|| core::extract::<K>(&sweep.0, &options)).map_err(|e| input(py, e))?;
    Ok(Fit(wrap(fit)))
}

/// Fits one diode to a sweep: `iph i0 n rs rsh`.
#[pyfunction]
#[pyo3(signature = (sweep, *, residual="auto", fix=None, bounds=None, start=None))]
pub fn fit_single_diode(
    py: Python<'_>,
    sweep: &Sweep,
    residual: &str,
    fix: Option<&Bound<'_, PyDict>>,
    bounds: Option<&Bound<'_, PyDict>>,
    start: Option<&Bound<'_, PyDict>>,
) -> PyResult<Fit> {
    extract(py, sweep, options(py, residual, fix, bounds, start)?, Either::One)
}

/// Fits two diodes to a sweep: `iph i01 n1 i02 n2 rs rsh`.
#[pyfunction]
#[pyo3(signature = (sweep, *, residual="auto", fix=None, bounds=None, start=None))]
pub fn fit_double_diode(
    py: Python<'_>,
    sweep: &Sweep,
    residual: &str,
    fix: Option<&Bound<'_, PyDict>>,
    bounds: Option<&Bound<'_, PyDict>>,
    start: Option<&Bound<'_, PyDict>>,
) -> PyResult<Fit> {
    extract(py, sweep, options(py, residual, fix, bounds, start)?, Either::Two)
}

#[pymethods]
impl Fit {
    /// The measured sweep.
    #[getter]
    fn sweep(&self) -> Sweep {
        Sweep(on!(&self.0, f => f.sweep.clone()))
    }

    /// The fitted model.
    #[getter]
    fn model<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        match &self.0 {
            Either::One(f) => Ok(SingleDiode(f.model).into_pyobject(py)?.into_any()),
            Either::Two(f) => Ok(DoubleDiode(f.model).into_pyobject(py)?.into_any()),
        }
    }

    /// The distance that was made small.
    #[getter]
    fn residual(&self) -> &'static str {
        on!(&self.0, f => f.residual.name())
    }

    /// Every parameter as an Estimate, by name.
    #[getter]
    fn parameters<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let found = PyDict::new(py);
        for (name, estimate) in on!(&self.0, f => &f.parameters) {
            found.set_item(name, Estimate(estimate.clone()))?;
        }
        Ok(found)
    }

    /// The free parameters, which `covariance` is over.
    #[getter]
    fn names(&self) -> Vec<String> {
        on!(&self.0, f => f.names.clone())
    }

    /// Covariance of `names` in SI units; NaN where the data give none.
    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let (n, c) = on!(&self.0, f => (f.names.len(), f.covariance.clone()));
        let whole = if c.len() == n * n { c } else { vec![f64::NAN; n * n] };
        PyArray1::from_vec(py, whole).reshape([n, n])
    }

    /// Root mean square of the residuals in their own unit; √(χ²/N) for nearest.
    #[getter]
    fn rms(&self) -> f64 {
        on!(&self.0, f => f.rms)
    }

    /// χ² where the noise is stated, else the sum of squares in the residual's unit squared.
    #[getter]
    fn chi2(&self) -> f64 {
        on!(&self.0, f => f.chi2)
    }

    /// Points less free parameters.
    #[getter]
    fn dof(&self) -> usize {
        on!(&self.0, f => f.dof)
    }

    /// Whether the noise was stated, so that ± is absolute.
    #[getter]
    fn noise_stated(&self) -> bool {
        on!(&self.0, f => f.noise_stated)
    }

    /// converged, at_bound, not_identified or not_converged.
    #[getter]
    fn status(&self) -> &'static str {
        on!(&self.0, f => f.status.name())
    }

    /// What must be known with the fit.
    #[getter]
    fn notes(&self) -> Vec<String> {
        on!(&self.0, f => f.notes.clone())
    }

    /// model − measured, in the unit of the residual.
    #[getter]
    fn residuals<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_slice(py, on!(&self.0, f => &f.residuals))
    }

    /// The path of the solver: a dictionary a step with `iteration`, `coordinates` (Iph, ln I0, ln a, …, Rs, g),
    /// `norm`, `damping` and `taken`.
    #[getter]
    fn trace<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let list = PyList::empty(py);
        for step in on!(&self.0, f => &f.trace) {
            let row = PyDict::new(py);
            row.set_item("iteration", step.iteration)?;
            row.set_item("coordinates", PyArray1::from_slice(py, &step.x))?;
            row.set_item("norm", step.norm)?;
            row.set_item("damping", step.damping)?;
            row.set_item("taken", step.taken)?;
            list.append(row)?;
        }
        Ok(list)
    }

    /// Isc, Voc, Pmax, FF and what follows, by the fitted curve.
    fn key_points(&self, py: Python<'_>) -> KeyPoints {
        KeyPoints(py.detach(|| on!(&self.0, f => f.key_points())))
    }

    /// The interval of a parameter or of a key point.
    #[pyo3(signature = (name, level=0.95))]
    fn interval(&self, py: Python<'_>, name: &str, level: f64) -> PyResult<Interval> {
        let found = py.detach(|| on!(&self.0, f => f.interval(name, level)));
        found.map(Interval).ok_or_else(|| {
            let known = on!(&self.0, f => f.parameters.iter().map(|p| p.0.as_str()).collect::<Vec<_>>().join(", "));
            input(py, format!("name = {name:?} is not a figure of this fit; pass one of {known}, or a key point that it gives"))
        })
    }

    /// Draws the fitted curve through the points with the residuals below; returns the axes.
    #[pyo3(signature = (ax=None, **options))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        ax: Option<&Bound<'py, PyAny>>,
        options: Option<&Bound<'py, PyDict>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        draw("plot_fit", slf.as_any(), ax, options)
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows: Vec<String> =
            self.rows(py)?.iter().map(|(name, text)| format!("  {name:<4}{text}")).collect();
        let notes: String = self.notes().iter().map(|n| format!("\n  note: {n}")).collect();
        Ok(format!("Fit({})\n{}{notes}", self.headline(), rows.join("\n")))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let row =
            |(name, text): &(String, String)| format!("<tr><th>{name}</th><td>{}</td></tr>", escape(text));
        let table: String = self.rows(py)?.iter().map(row).collect();
        let notes: String = self.notes().iter().map(|n| format!("<li>{}</li>", escape(n))).collect();
        let notes = if notes.is_empty() { notes } else { format!("<ul>{notes}</ul>") };
        Ok(format!("<b>{}</b><table>{table}</table>{notes}", escape(&self.headline())))
    }
}

impl Fit {
    fn headline(&self) -> String {
        let unit = match self.residual() {
            "nearest" => "",
            "voltage" => " V",
            _ => " A",
        };
        let basis =
            if self.noise_stated() { "from the stated noise" } else { "from the scatter about the curve" };
        format!(
            "{}, {} residual, rms {:.4e}{unit}, {} degrees of freedom, ± {basis}",
            self.status(),
            self.residual(),
            self.rms(),
            self.dof()
        )
    }

    fn rows(&self, py: Python<'_>) -> PyResult<Vec<(String, String)>> {
        on!(&self.0, f => &f.parameters)
            .iter()
            .map(|(name, e)| {
                let note = e.note.as_ref().map_or(String::new(), |n| format!("  ({n})"));
                Ok((name.clone(), format!("{}{note}", render(py, e)?)))
            })
            .collect()
    }
}
