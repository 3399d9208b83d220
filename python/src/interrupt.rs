//! Long work without the interpreter, which Ctrl-C stops.

use crate::error::input;
use litdiode::cancel::Token;
use pyo3::prelude::*;
use std::sync::{Arc, Mutex, PoisonError};

/// Runs `work` without the interpreter; a signal (Ctrl-C) stops it.
pub fn interruptible<T: Send>(py: Python<'_>, work: impl FnOnce() -> T + Send) -> PyResult<T> {
    let raised = Arc::new(Mutex::new(None));
    let note = Arc::clone(&raised);
    let token = Token::watched(move || match Python::attach(|py| py.check_signals()) {
        Ok(()) => true,
        Err(error) => {
            *note.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
            false
        }
    });
    py.detach(|| token.run(work)).map_err(|_| {
        let error = raised.lock().unwrap_or_else(PoisonError::into_inner).take();
        error.unwrap_or_else(|| input(py, "the work was stopped"))
    })
}
