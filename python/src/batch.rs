//! Many rows at once: threads; key points of many sweeps.

use crate::beside::{Beside, Source};
use crate::error::input;
use crate::input::named;
use crate::result_lists::KeyPointList;
use crate::sweep_rows::SweepRows;
use litdiode::curve;
use pyo3::prelude::*;
use std::num::NonZeroUsize;
use std::sync::Arc;

/// A number of threads, all there are if `None`.
pub fn threads_of(py: Python<'_>, threads: Option<i64>) -> PyResult<Option<NonZeroUsize>> {
    let Some(given) = threads else { return Ok(None) };
    let count = usize::try_from(given).ok().and_then(NonZeroUsize::new);
    let wrong = || input(py, format!("threads = {given} must be 1 or more; None takes all there are"));
    count.map(Some).ok_or_else(wrong)
}

/// Key points of every sweep on threads. `progress` is told the rows done. `litdiode.key_points_many` puts the result
/// in columns.
#[pyfunction]
#[pyo3(signature = (sweeps, *, threads=None, progress=None))]
pub fn key_point_rows(
    py: Python<'_>,
    sweeps: &SweepRows,
    #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<KeyPointList> {
    let found = sweeps.each(py, threads, progress, |sweep| Ok(curve::key_points(sweep)))?;
    let beside = |(k, row): (usize, Result<_, String>)| {
        row.map(|points| Beside { points, source: Source::Row(Arc::clone(&sweeps.0), k) })
    };
    Ok(KeyPointList(found.into_iter().enumerate().map(beside).collect()))
}
