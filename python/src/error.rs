//! Exceptions: `LitdiodeError`, `InputError` (also a `ValueError`), and the warning `LitdiodeWarning`.

use pyo3::exceptions::{PyException, PyUserWarning, PyValueError};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyDict, PyTuple, PyType};
use std::ffi::CString;

static BASE: PyOnceLock<Py<PyType>> = PyOnceLock::new();
static INPUT: PyOnceLock<Py<PyType>> = PyOnceLock::new();
static WARNING: PyOnceLock<Py<PyType>> = PyOnceLock::new();

/// Adds the three to the module.
pub fn add(module: &Bound<'_, PyModule>) -> PyResult<()> {
    let py = module.py();
    let base = BASE.get_or_try_init(py, || {
        let root = py.get_type::<PyException>();
        PyErr::new_type(
            py,
            c"litdiode.LitdiodeError",
            Some(c"What went wrong in litdiode: the base of its exceptions."),
            Some(&root),
            None,
        )
    })?;
    let input = INPUT.get_or_try_init(py, || {
        let bases = PyTuple::new(py, [base.bind(py).clone(), py.get_type::<PyValueError>()])?;
        let entries = PyDict::new(py);
        entries.set_item("__module__", "litdiode")?;
        entries.set_item(
            "__doc__",
            "Bad input, also a ValueError: the text names the argument, the index, the value and the cure.",
        )?;
        let made = py.get_type::<PyType>().call1(("InputError", bases, entries))?;
        Ok::<_, PyErr>(made.cast_into::<PyType>()?.unbind())
    })?;
    let warning = WARNING.get_or_try_init(py, || {
        let root = py.get_type::<PyUserWarning>();
        let doc =
            c"Something was decided that you should know of, such as a turn of the sign; see Sweep.changes.";
        PyErr::new_type(py, c"litdiode.LitdiodeWarning", Some(doc), Some(&root), None)
    })?;
    module.add("LitdiodeError", base)?;
    module.add("InputError", input)?;
    module.add("LitdiodeWarning", warning)
}

/// An `InputError` with this text.
pub fn input(py: Python<'_>, text: impl std::fmt::Display) -> PyErr {
    match INPUT.get(py) {
        Some(kind) => PyErr::from_type(kind.bind(py).clone(), text.to_string()),
        None => PyValueError::new_err(text.to_string()),
    }
}

/// Warns with a `LitdiodeWarning`.
pub fn warn(py: Python<'_>, text: &str) -> PyResult<()> {
    let text = CString::new(text.replace('\0', " ")).map_err(|e| input(py, e))?;
    match WARNING.get(py) {
        Some(kind) => PyErr::warn(py, kind.bind(py).as_any(), &text, 1),
        None => Ok(()),
    }
}
