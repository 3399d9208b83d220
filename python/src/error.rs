//! Exceptions: `LitdiodeError`, `InputError` (also a `ValueError`), and the warning `LitdiodeWarning`.

use pyo3::exceptions::{PyException, PyUserWarning, PyValueError};
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyDict, PyTuple, PyType};
use std::ffi::{CStr, CString};

static BASE: PyOnceLock<Py<PyType>> = PyOnceLock::new();
static INPUT: PyOnceLock<Py<PyType>> = PyOnceLock::new();
static WARNING: PyOnceLock<Py<PyType>> = PyOnceLock::new();

/// Docstrings.
const ABOUT_BASE: &CStr = c"What went wrong in litdiode: the base of its exceptions.

```python
>>> import litdiode as ld
>>> try:
...     ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=-1.3, rs_ohm=0.5, rsh_ohm=900)
... except ld.LitdiodeError as error:
...     print(type(error).__name__, error, sep=\": \")
InputError: n = -1.3 is outside 0.01 to 1000; give the ideality factor of one cell, usually 1 to 2
```";
const ABOUT_INPUT: &str =
    "Bad input, also a ValueError: the text names the argument, the index, the value and the cure.

```python
>>> import litdiode as ld
>>> try:
...     ld.Sweep([0.0, 0.2, 0.4], [0.030, float(\"nan\"), 0.028])
... except ld.InputError as error:
...     print(error)
current_a[1] = NaN is not a finite number; remove the point or repeat the reading
```";
const ABOUT_WARNING: &CStr =
    c"Something was decided that you should know of, such as a turn of the sign; see Sweep.changes.

```python
>>> import warnings
>>> import litdiode as ld
>>> with warnings.catch_warnings(record=True) as told:
...     warnings.simplefilter(\"always\")
...     sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041])  # invented
>>> told[0].category.__name__, sweep.changes[0].what
('LitdiodeWarning', 'current turned from load sign to generator sign')
```";

/// Adds the three to the module.
pub fn add(module: &Bound<'_, PyModule>) -> PyResult<()> {
    let py = module.py();
    let base = BASE.get_or_try_init(py, || {
        let root = py.get_type::<PyException>();
        PyErr::new_type(py, c"litdiode.LitdiodeError", Some(ABOUT_BASE), Some(&root), None)
    })?;
    let input = INPUT.get_or_try_init(py, || {
        let bases = PyTuple::new(py, [base.bind(py).clone(), py.get_type::<PyValueError>()])?;
        let entries = PyDict::new(py);
        entries.set_item("__module__", "litdiode")?;
        entries.set_item("__doc__", ABOUT_INPUT)?;
        let made = py.get_type::<PyType>().call1(("InputError", bases, entries))?;
        Ok::<_, PyErr>(made.cast_into::<PyType>()?.unbind())
    })?;
    let warning = WARNING.get_or_try_init(py, || {
        let root = py.get_type::<PyUserWarning>();
        PyErr::new_type(py, c"litdiode.LitdiodeWarning", Some(ABOUT_WARNING), Some(&root), None)
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
