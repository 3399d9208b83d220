//! `ClosedForm` and the functions that give one.

use crate::error::input;
use crate::model::SingleDiode;
use crate::plain::plain;
use litdiode::fit as core;
use pyo3::prelude::*;

/// A one-diode model from a few figures of a curve, and how far it can be trusted.
#[pyclass(frozen, module = "litdiode")]
pub struct ClosedForm(core::ClosedForm);

plain!(ClosedForm);

#[pymethods]
impl ClosedForm {
    /// The model.
    #[getter]
    fn model(&self) -> SingleDiode {
        SingleDiode(self.0.model)
    }

    /// Whether the assumptions hold on these figures.
    #[getter]
    fn trustworthy(&self) -> bool {
        self.0.is_trustworthy()
    }

    /// Where they do not hold.
    #[getter]
    fn reservations(&self) -> Vec<String> {
        self.0.reservations.clone()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let model = Py::new(py, self.model())?.call_method0(py, "__repr__")?.extract::<String>(py)?;
        let verdict = if self.trustworthy() { "trustworthy".into() } else { self.reservations().join("; ") };
        Ok(format!("ClosedForm({model}; {verdict})"))
    }
}

/// From Isc, Voc, the point of maximum power and the slopes −dV/dI at Voc and at Isc (Phang et al., 1984).
#[pyfunction]
#[pyo3(signature = (*, isc_a, voc_v, v_pmax_v, i_pmax_a, rs0_ohm, rsh0_ohm, cells=None, temperature_c=25.0),
       text_signature = "(*, isc_a, voc_v, v_pmax_v, i_pmax_a, rs0_ohm, rsh0_ohm, cells=1, temperature_c=25.0)")]
#[allow(clippy::too_many_arguments)]
pub fn from_end_slopes(
    py: Python<'_>,
    isc_a: f64,
    voc_v: f64,
    v_pmax_v: f64,
    i_pmax_a: f64,
    rs0_ohm: f64,
    rsh0_ohm: f64,
    cells: Option<&Bound<'_, PyAny>>,
    temperature_c: f64,
) -> PyResult<ClosedForm> {
    let cells = crate::input::cells(cells)?;
    let points = core::ThreePoints { isc_a, voc_v, v_pmax_v, i_pmax_a, cells, temperature_c };
    core::from_end_slopes(&points, rs0_ohm, rsh0_ohm).map(ClosedForm).map_err(|e| input(py, e))
}

/// From Isc, Voc, the point of maximum power and a given ideality factor.
#[pyfunction]
#[pyo3(signature = (*, isc_a, voc_v, v_pmax_v, i_pmax_a, n, cells=None, temperature_c=25.0),
       text_signature = "(*, isc_a, voc_v, v_pmax_v, i_pmax_a, n, cells=1, temperature_c=25.0)")]
#[allow(clippy::too_many_arguments)]
pub fn from_key_points(
    py: Python<'_>,
    isc_a: f64,
    voc_v: f64,
    v_pmax_v: f64,
    i_pmax_a: f64,
    n: f64,
    cells: Option<&Bound<'_, PyAny>>,
    temperature_c: f64,
) -> PyResult<ClosedForm> {
    let cells = crate::input::cells(cells)?;
    let points = core::ThreePoints { isc_a, voc_v, v_pmax_v, i_pmax_a, cells, temperature_c };
    core::from_key_points(&points, n).map(ClosedForm).map_err(|e| input(py, e))
}
