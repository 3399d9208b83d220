//! Long work without the interpreter, which Ctrl-C stops, and which tells how much of it is done.

use crate::error::input;
use crate::progress::Progress;
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

/// The same where `progress` is told how much is done; its exception stops the work.
pub fn watched<T: Send>(
    py: Python<'_>,
    progress: Progress,
    work: impl FnOnce(&mut (dyn FnMut(usize) -> bool + Send)) -> Option<T> + Send,
) -> PyResult<T> {
    let mut raised = None;
    let mut watch = |done: usize| match progress {
        Progress::Nobody => true,
        _ => Python::attach(|py| progress.tell(py, done)).map_err(|e| raised = Some(e)).is_ok(),
    };
    let found = interruptible(py, || work(&mut watch));
    progress.close(py)?;
    match raised {
        Some(error) => Err(error),
        None => found?.ok_or_else(|| input(py, "the work was stopped")),
    }
}
