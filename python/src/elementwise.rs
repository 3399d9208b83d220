//! Points in, numbers out: a float for a float, an array for anything else, computed without the interpreter's lock.

use crate::arguments::array;
use crate::error::input;
use litdiode::diode::ModelError;
use ndarray::{ArrayViewD, ArrayViewMutD};
use numpy::{PyArrayDyn, PyArrayMethods, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::{PyFloat, PyTuple};

/// `f(points, out)` with `out` of the shape that `shape` says; a float where that has no axes.
pub fn filled<'py>(
    name: &str,
    points: &Bound<'py, PyAny>,
    shape: impl Fn(&[usize]) -> Result<Vec<usize>, ModelError>,
    f: impl Fn(ArrayViewD<'_, f64>, ArrayViewMutD<'_, f64>) -> Result<(), ModelError> + Sync,
) -> PyResult<Bound<'py, PyAny>> {
    let py = points.py();
    let given = array(name, points)?;
    let wanted = shape(given.shape()).map_err(|e| input(py, e))?;
    let made = py.import("numpy")?.call_method1("empty", (PyTuple::new(py, &wanted)?,))?;
    let made = made.cast_into::<PyArrayDyn<f64>>()?;
    {
        let (values, mut room) = (given.readonly(), made.readwrite());
        let (values, out) = (values.as_array(), room.as_array_mut());
        py.detach(|| f(values, out)).map_err(|e| input(py, e))?;
    }
    if wanted.is_empty() { made.call_method0("item") } else { Ok(made.into_any()) }
}

/// The same for a function of plain lists, at each point by itself.
pub fn at_each<'py>(
    name: &str,
    points: &Bound<'py, PyAny>,
    f: impl Fn(&[f64], &mut [f64]) -> Result<(), ModelError> + Sync,
) -> PyResult<Bound<'py, PyAny>> {
    if let Ok(number) = points.cast_exact::<PyFloat>() {
        let mut out = [0.0];
        f(&[number.value()], &mut out).map_err(|e| input(points.py(), e))?;
        return Ok(PyFloat::new(points.py(), out[0]).into_any());
    }
    let lists = |points: ArrayViewD<'_, f64>, mut out: ArrayViewMutD<'_, f64>| match out.as_slice_mut() {
        Some(out) => f(points.as_standard_layout().as_slice().unwrap_or_default(), out),
        None => Err(ModelError::Length { name: "the output", given: 0, wanted: points.len() }),
    };
    filled(name, points, |shape| Ok(shape.to_vec()), lists)
}
