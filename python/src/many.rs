//! Many rows at once: threads, progress, Ctrl-C; key points of many sweeps.

use crate::error::input;
use crate::key_points::KeyPoints;
use crate::sweep::Sweep;
use litdiode::curve;
use pyo3::prelude::*;
use std::num::NonZeroUsize;

/// Runs `work` without the interpreter; a signal (Ctrl-C) or an exception of `progress` stops it.
pub fn watched<T: Send>(
    py: Python<'_>,
    progress: Option<&Bound<'_, PyAny>>,
    work: impl FnOnce(&mut (dyn FnMut(usize) -> bool + Send)) -> Option<T> + Send,
) -> PyResult<T> {
    let progress = progress.map(|p| p.clone().unbind());
    let mut raised = None;
    let mut watch = |done: usize| {
        let told = Python::attach(|py| {
            py.check_signals()?;
            progress.as_ref().map_or(Ok(()), |p| p.call1(py, (done,)).map(drop))
        });
        told.map_err(|e| raised = Some(e)).is_ok()
    };
    let found = py.detach(|| work(&mut watch));
    match (found, raised) {
        (_, Some(error)) => Err(error),
        (Some(found), None) => Ok(found),
        (None, None) => Err(input(py, "the work was stopped")),
    }
}

pub fn thread_limit(py: Python<'_>, threads: Option<usize>) -> PyResult<Option<NonZeroUsize>> {
    match threads.map(NonZeroUsize::new) {
        None => Ok(None),
        Some(None) => Err(input(py, "threads = 0 is not allowed; pass 1 or more, or None for all")),
        Some(some) => Ok(some),
    }
}

/// Key points of every sweep on threads. `progress` is told the rows done. `litdiode.key_points_many` puts the result
/// in columns.
#[pyfunction]
#[pyo3(signature = (sweeps, *, threads=None, progress=None))]
pub fn key_point_rows(
    py: Python<'_>,
    sweeps: Vec<Bound<'_, Sweep>>,
    threads: Option<usize>,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<Vec<KeyPoints>> {
    let threads = thread_limit(py, threads)?;
    let sweeps: Vec<_> = sweeps.iter().map(|s| &s.get().0).collect();
    let found = watched(py, progress, |watch| curve::key_points_many(&sweeps, threads, watch))?;
    Ok(found.into_iter().map(KeyPoints).collect())
}
