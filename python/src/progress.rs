//! How much of long work is done: told to a function of the caller, or shown as a bar.

use crate::arguments::wrong_type;
use pyo3::prelude::*;
use pyo3::types::IntoPyDict;

/// Who is told how much is done.
pub enum Progress {
    Nobody,
    /// A function of the caller.
    Function(Py<PyAny>),
    /// A bar of tqdm.
    Bar(Py<PyAny>),
    /// A line on stderr, where tqdm is not installed.
    Line {
        total: Option<usize>,
        unit: &'static str,
    },
}

impl Progress {
    /// `given`: True for a bar of `total` things, each a `unit`; a function; False or None for nothing.
    pub fn of(given: Option<&Bound<'_, PyAny>>, total: Option<usize>, unit: &'static str) -> PyResult<Self> {
        let Some(given) = given else { return Ok(Self::Nobody) };
        match given.extract::<bool>() {
            Ok(true) => Ok(Self::bar(given.py(), total, unit)),
            Ok(false) => Ok(Self::Nobody),
            Err(_) if given.is_callable() => Ok(Self::Function(given.clone().unbind())),
            Err(_) => {
                let cure = "True for a bar, or a function that is told the number done, such as print";
                Err(wrong_type("progress", given, cure))
            }
        }
    }

    fn bar(py: Python<'_>, total: Option<usize>, unit: &'static str) -> Self {
        let made = || -> PyResult<Py<PyAny>> {
            let options = [("unit", unit)].into_py_dict(py)?;
            options.set_item("total", total)?;
            Ok(py.import("tqdm.auto")?.getattr("tqdm")?.call((), Some(&options))?.unbind())
        };
        made().map_or(Self::Line { total, unit }, Self::Bar)
    }

    /// Tells that `done` are done.
    pub fn tell(&self, py: Python<'_>, done: usize) -> PyResult<()> {
        match self {
            Self::Nobody => Ok(()),
            Self::Function(function) => function.call1(py, (done,)).map(drop),
            Self::Bar(bar) => {
                let before: usize = bar.getattr(py, "n")?.extract(py)?;
                bar.call_method1(py, "update", (done.saturating_sub(before),)).map(drop)
            }
            Self::Line { total, unit } => {
                let of = total.map_or(String::new(), |total| format!(" of {total}"));
                written(py, &format!("\r{done}{of} {unit}s"))
            }
        }
    }

    /// Ends a bar or a line.
    pub fn close(&self, py: Python<'_>) -> PyResult<()> {
        match self {
            Self::Bar(bar) => bar.call_method0(py, "close").map(drop),
            Self::Line { .. } => written(py, "\n"),
            Self::Nobody | Self::Function(_) => Ok(()),
        }
    }
}

/// Text on the interpreter's stderr.
fn written(py: Python<'_>, text: &str) -> PyResult<()> {
    let stderr = py.import("sys")?.getattr("stderr")?;
    stderr.call_method1("write", (text,))?;
    stderr.call_method0("flush").map(drop)
}
