//! Batches: `fit_rows`, `key_point_rows` and what they give, `FitList` and `KeyPointList`, a row a sweep. A row becomes a
//! Python object when it is asked for.

use crate::arguments::named;
use crate::error::input;
use crate::findings_source::{FindingsSource, WithFindings};
use crate::fit::{Either, Fit};
use crate::fit_functions::Request;
use crate::interrupt::watched;
use crate::json::plain;
use crate::key_points::KeyPoints;
use crate::progress::Progress;
use crate::sweep_rows::SweepRows;
use litdiode::estimate::Estimate;
use litdiode::{curve, fit, key_points as core, threads};
use numpy::PyArray1;
use pyo3::exceptions::PyIndexError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::collections::HashMap;
use std::sync::Arc;

/// Fits in the order of their sweeps; a row without a fit holds the reason instead.
#[pyclass(frozen, module = "litdiode._core")]
pub struct FitList(pub Vec<Result<Either, String>>);

/// Key points in the order of their sweeps; a row without any holds the reason instead.
#[pyclass(frozen, module = "litdiode._core")]
pub struct KeyPointList(pub Vec<Result<WithFindings, String>>);

plain!(FitList);
plain!(KeyPointList);

/// What must be known with a row.
trait Remarked {
    fn remarks(&self) -> Vec<String>;
}

impl Remarked for Either {
    fn remarks(&self) -> Vec<String> {
        self.notes()
    }
}

impl Remarked for WithFindings {
    fn remarks(&self) -> Vec<String> {
        self.source.findings().into_iter().map(|finding| finding.text).collect()
    }
}

/// A row as an object of its own.
trait Handed<T> {
    fn handed(row: T) -> Self;
}

impl Handed<Either> for Fit {
    fn handed(row: Either) -> Self {
        Self(row)
    }
}

impl Handed<WithFindings> for KeyPoints {
    fn handed(row: WithFindings) -> Self {
        Self(WithFindings { source: row.source.settled(), ..row })
    }
}

/// What any list of rows can do.
macro_rules! list {
    ($list:ident, $row:ident) => {
        #[pymethods]
        impl $list {
            /// A list of rows, each a result or the reason why there is none.
            #[new]
            fn new(rows: Vec<Bound<'_, PyAny>>) -> PyResult<Self> {
                let one = |row: &Bound<'_, PyAny>| match row.cast::<$row>() {
                    Ok(row) => Ok(Ok(row.get().0.clone())),
                    Err(_) => row.extract().map(Err).map_err(|_| {
                        let kind = stringify!($row);
                        input(row.py(), format!("rows: {row:?} is no {kind}; pass a {kind}, or a text that says why there is none"))
                    }),
                };
                rows.iter().map(one).collect::<PyResult<_>>().map(Self)
            }

            fn __len__(&self) -> usize {
                self.0.len()
            }

            fn __getitem__<'py>(&self, py: Python<'py>, k: isize) -> PyResult<Bound<'py, PyAny>> {
                let from = if k < 0 { k.saturating_add_unsigned(self.0.len()) } else { k };
                match usize::try_from(from).ok().and_then(|at| self.0.get(at)) {
                    Some(Ok(row)) => Ok($row::handed(row.clone()).into_pyobject(py)?.into_any()),
                    Some(Err(why)) => Ok(why.into_pyobject(py)?.into_any()),
                    None => Err(PyIndexError::new_err(format!("row {k} of {} rows", self.0.len()))),
                }
            }

            /// The rows from `start` on in steps of `step`, `count` of them.
            fn taken(&self, start: isize, step: isize, count: usize) -> PyResult<Self> {
                let at = |n: usize| usize::try_from(start + step * n as isize).ok().and_then(|k| self.0.get(k));
                let rows: Option<Vec<_>> = (0..count).map(|n| at(n).cloned()).collect();
                rows.map(Self).ok_or_else(|| PyIndexError::new_err("no such rows"))
            }

            /// Why a row has no result, by its number.
            fn errors<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
                let errors = PyDict::new(py);
                for (k, row) in self.0.iter().enumerate() {
                    if let Err(why) = row {
                        errors.set_item(k, why)?;
                    }
                }
                Ok(errors)
            }

            /// What must be known with each row, one text a row, found on all threads; empty where there is nothing.
            fn remarks(&self, py: Python<'_>) -> PyResult<Vec<String>> {
                let remarks = |row: &_| Remarked::remarks(row).join("; ");
                let text = |k: usize| self.0[k].as_ref().map_or_else(|_| String::new(), remarks);
                watched(py, Progress::Nobody, |watch| threads::rows(self.0.len(), None, text, watch))
            }
        }
    };
}

list!(FitList, Fit);
list!(KeyPointList, KeyPoints);

#[pymethods]
impl KeyPointList {
    /// Columns of every figure that any row has: values and `_u`, NaN where a row has none.
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let mut columns = Columns::new(self.0.len());
        for (k, row) in self.0.iter().enumerate() {
            row.iter().for_each(|found| columns.add_key_points(k, &found.points));
        }
        columns.into_dict(py)
    }
}

#[pymethods]
impl FitList {
    /// The status of each fit; `error` where there is none.
    fn status<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        PyList::new(py, self.0.iter().map(|row| row.as_ref().map_or("error", Either::status)))
    }

    /// Columns of rms, chi2, dof, and of every parameter and key point that any row has: values and `_u`, NaN where a
    /// row has none.
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let all = PyDict::new(py);
        let of = |value: fn(&Either) -> f64| {
            PyArray1::from_iter(py, self.0.iter().map(|row| row.as_ref().map_or(f64::NAN, value)))
        };
        all.set_item("rms", of(Either::rms))?;
        all.set_item("chi2", of(Either::chi2))?;
        let dof: Result<Vec<i64>, ()> =
            self.0.iter().map(|row| row.as_ref().map(|f| f.dof() as i64).map_err(|_| ())).collect();
        match dof {
            Ok(whole) if !whole.is_empty() => all.set_item("dof", PyArray1::from_vec(py, whole))?,
            _ => all.set_item("dof", of(|f| f.dof() as f64))?,
        }
        let columns = py.detach(|| {
            let points = |k: usize| self.0[k].as_ref().ok().map(Either::key_points);
            let points = threads::rows(self.0.len(), None, points, |_| true).unwrap_or_default();
            let mut columns = Columns::new(self.0.len());
            for (k, (row, points)) in self.0.iter().zip(&points).enumerate() {
                if let Ok(fit) = row {
                    fit.parameters().iter().for_each(|(parameter, e)| columns.add(k, parameter.name(), e));
                }
                points.iter().for_each(|points| columns.add_key_points(k, points));
            }
            columns
        });
        all.update(columns.into_dict(py)?.as_mapping())?;
        Ok(all)
    }
}

/// A column of values and one of uncertainties for each figure, in the order in which the figures come up.
struct Columns {
    rows: usize,
    names: Vec<String>,
    at: HashMap<String, usize>,
    pairs: Vec<[Vec<f64>; 2]>,
}

impl Columns {
    fn new(rows: usize) -> Self {
        Self { rows, names: Vec::new(), at: HashMap::new(), pairs: Vec::new() }
    }

    fn add_key_points(&mut self, row: usize, points: &core::KeyPoints) {
        for name in core::KeyPoint::ALL.map(core::KeyPoint::name) {
            points.get(name).into_iter().for_each(|figure| self.add(row, name, figure));
        }
    }

    fn add(&mut self, row: usize, name: &str, figure: &Estimate) {
        let at = self.at.get(name).copied().unwrap_or_else(|| {
            self.at.insert(name.to_owned(), self.names.len());
            self.names.push(name.to_owned());
            self.pairs.push([vec![f64::NAN; self.rows], vec![f64::NAN; self.rows]]);
            self.names.len() - 1
        });
        let [value, u] = &mut self.pairs[at];
        (value[row], u[row]) = (figure.value, figure.u.unwrap_or(f64::NAN));
    }

    fn into_dict(self, py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
        let all = PyDict::new(py);
        for (name, [value, u]) in self.names.into_iter().zip(self.pairs) {
            let name_u = format!("{name}_u");
            all.set_item(name, PyArray1::from_vec(py, value))?;
            all.set_item(name_u, PyArray1::from_vec(py, u))?;
        }
        Ok(all)
    }
}

impl Request<'_, '_> {
    /// Every sweep on threads; a sweep that cannot be fitted gives the reason.
    fn many<const K: usize>(
        &self,
        py: Python<'_>,
        sweeps: &SweepRows,
        threads: Option<i64>,
        progress: Option<&Bound<'_, PyAny>>,
        wrap: fn(fit::Fit<K>) -> Either,
    ) -> PyResult<FitList> {
        let options = self.options::<K>(py)?;
        let one = |sweep: &_| fit::extract::<K>(sweep, &options).map(wrap).map_err(|e| e.to_string());
        sweeps.each(py, threads, progress, one).map(FitList)
    }
}

/// Fits every sweep on threads: a `Fit` a row, or the reason why there is none. `progress` is told the rows done.
/// `litdiode.fit_many` puts the result in columns, and says what the other arguments mean.
#[pyfunction]
#[pyo3(signature = (sweeps, *, diodes=1, residual="auto", fix=None, bounds=None, start=None, noise_scale="stated",
    most_evaluations=None, deadline_s=None, threads=None, progress=None))]
#[allow(clippy::too_many_arguments)]
pub fn fit_rows(
    py: Python<'_>,
    sweeps: &SweepRows,
    #[pyo3(from_py_with = named::diodes)] diodes: i64,
    #[pyo3(from_py_with = named::residual)] residual: &str,
    fix: Option<&Bound<'_, PyAny>>,
    bounds: Option<&Bound<'_, PyAny>>,
    start: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::noise_scale)] noise_scale: &str,
    #[pyo3(from_py_with = named::most_evaluations)] most_evaluations: Option<i64>,
    #[pyo3(from_py_with = named::deadline_s)] deadline_s: Option<f64>,
    #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<FitList> {
    let request = Request { residual, fix, bounds, start, noise_scale, most_evaluations, deadline_s };
    match diodes {
        1 => request.many(py, sweeps, threads, progress, Either::One),
        2 => request.many(py, sweeps, threads, progress, Either::Two),
        _ => Err(input(py, format!("diodes = {diodes} is not known; pass 1 or 2"))),
    }
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
    let row = |(k, row): (usize, Result<_, String>)| {
        row.map(|points| WithFindings { points, source: FindingsSource::Row(Arc::clone(&sweeps.0), k) })
    };
    Ok(KeyPointList(found.into_iter().enumerate().map(row).collect()))
}
