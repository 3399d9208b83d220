//! Points in, numbers out: a float for a float, an array for anything else, computed without the interpreter's lock.

use crate::arguments::array;
use crate::error::input;
use litdiode::diode::{ModelError, View};
use numpy::{PyArrayDyn, PyArrayMethods, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyFloat, PyTuple};

/// `f(points, out)` with `out` of the shape that `shape` says; a float where that has no axes.
pub fn filled<'py>(
    name: &str,
    points: &Bound<'py, PyAny>,
    shape: impl Fn(&[usize]) -> Result<Vec<usize>, ModelError>,
    f: impl Fn(View<'_>, &mut [f64]) -> Result<(), ModelError> + Sync,
) -> PyResult<Bound<'py, PyAny>> {
    let py = points.py();
    if let Ok(number) = points.cast_exact::<PyFloat>() {
        let wanted = shape(&[]).map_err(|e| input(py, e))?;
        if wanted.is_empty() {
            let mut out = [0.0];
            f(View { values: &[number.value()], shape: &[] }, &mut out).map_err(|e| input(py, e))?;
            return Ok(PyFloat::new(py, out[0]).into_any());
        }
    }
    let given = array(name, points)?;
    let wanted = shape(given.shape()).map_err(|e| input(py, e))?;
    let made = py.import("numpy")?.call_method1("empty", (PyTuple::new(py, &wanted)?,))?;
    let made = made.cast_into::<PyArrayDyn<f64>>()?;
    {
        let values = given.readonly();
        let mut room = made.readwrite();
        let (values, out) = (values.as_slice()?, room.as_slice_mut()?);
        let view = View { values, shape: given.shape() };
        py.detach(|| f(view, out)).map_err(|e| input(py, e))?;
    }
    if wanted.is_empty() { made.call_method0("item") } else { Ok(made.into_any()) }
}
