//! Which interpreter of the process has the module: the classes and exceptions are made once, in the first that imports it.

use pyo3::exceptions::PyImportError;
use pyo3::prelude::*;
use std::sync::OnceLock;

/// The interpreter that has it, by number.
static OWNER: OnceLock<i64> = OnceLock::new();

/// Takes the module for this interpreter.
///
/// # Errors
/// `ImportError` where another interpreter of the process has it: its objects would be those of the other one.
pub fn claim(_attached: Python<'_>) -> PyResult<()> {
    // SAFETY: the token shows that this thread is attached to an interpreter, which is the one that is asked for its number.
    let own = unsafe { pyo3::ffi::PyInterpreterState_GetID(pyo3::ffi::PyInterpreterState_Get()) };
    match *OWNER.get_or_init(|| own) {
        owner if owner != own => Err(PyImportError::new_err(
            "litdiode is in use by another interpreter of this process, and one alone can have it; use threads, or a process \
             for each",
        )),
        _ => Ok(()),
    }
}
