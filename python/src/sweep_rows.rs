//! `SweepRows`: the sweeps of a batch, given one by one or as rows of voltages and currents.

use crate::arguments::{array, threads_of, vector};
use crate::error::{input, warn};
use crate::interrupt::watched;
use crate::progress::Progress;
use crate::sweep::{Settings, Sweep};
use litdiode::{sweep as core, threads};
use numpy::{PyArrayMethods, PyUntypedArray, PyUntypedArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

/// Sweeps to be worked on together. Those of arrays are made on the threads that work on them.
#[pyclass(frozen, module = "litdiode._core")]
pub struct SweepRows(pub Arc<Rows>);

/// The sweeps of a batch.
pub enum Rows {
    /// Made by the caller.
    Given(Vec<Py<Sweep>>),
    /// Made of rows when they are worked on.
    Arrays { voltage_v: Box<Table>, current_a: Box<Table>, settings: Result<Box<Settings>, String> },
}

#[pymethods]
impl SweepRows {
    /// The sweeps themselves.
    #[staticmethod]
    fn of_sweeps(sweeps: Vec<Py<Sweep>>) -> Self {
        Self(Arc::new(Rows::Given(sweeps)))
    }

    /// Rows of voltages, or one for all, and rows of currents; `options` are those of `Sweep`.
    #[staticmethod]
    #[pyo3(signature = (voltage_v, current_a, **options))]
    fn of_arrays(
        py: Python<'_>,
        voltage_v: &Bound<'_, PyAny>,
        current_a: &Bound<'_, PyAny>,
        options: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        let (voltage_v, current_a) = (Table::of("voltage_v", voltage_v)?, Table::of("current_a", current_a)?);
        all_of_one_length(&voltage_v, &current_a).map_err(|why| input(py, why))?;
        let settings = match Settings::of(py, options) {
            Ok(settings) => Ok(Box::new(settings)),
            Err(error) => Err(reason(py, error)?),
        };
        let (voltage_v, current_a) = (Box::new(voltage_v), Box::new(current_a));
        Ok(Self(Arc::new(Rows::Arrays { voltage_v, current_a, settings })))
    }

    fn __len__(&self) -> usize {
        match &*self.0 {
            Rows::Given(sweeps) => sweeps.len(),
            Rows::Arrays { current_a, .. } => current_a.ends.len(),
        }
    }
}

impl Rows {
    /// Sweep `k`, or why there is none.
    pub fn sweep(&self, k: usize) -> Result<core::Sweep, String> {
        match self {
            Self::Given(sweeps) => Ok(sweeps[k].get().0.clone()),
            Self::Arrays { voltage_v, current_a, settings } => sweep(voltage_v, current_a, settings, k),
        }
    }
}

impl SweepRows {
    /// `job` of every sweep on threads without the interpreter, or the reason why there is no result.
    pub fn each<T: Send>(
        &self,
        py: Python<'_>,
        threads: Option<i64>,
        progress: Option<&Bound<'_, PyAny>>,
        job: impl Fn(&core::Sweep) -> Result<T, String> + Sync,
    ) -> PyResult<Vec<Result<T, String>>> {
        let threads = threads_of(py, threads)?;
        let changed = Changed::default();
        let row = |k: usize| match &*self.0 {
            Rows::Given(sweeps) => job(&sweeps[k].get().0),
            Rows::Arrays { voltage_v, current_a, settings } => {
                let sweep = sweep(voltage_v, current_a, settings, k)?;
                changed.note(k, sweep.changes());
                job(&sweep)
            }
        };
        let count = self.__len__();
        let progress = Progress::of(progress, Some(count), "sweep")?;
        let found = watched(py, progress, |watch| threads::rows(count, threads, row, watch))?;
        changed.warn(py)?;
        Ok(found)
    }
}

fn sweep(
    voltage_v: &Table,
    current_a: &Table,
    settings: &Result<Box<Settings>, String>,
    k: usize,
) -> Result<core::Sweep, String> {
    let v = voltage_v.row(if voltage_v.ends.len() == 1 { 0 } else { k })?;
    let i = current_a.row(k)?;
    if v.len() != i.len() {
        return Err(unequal(k, v.len(), i.len()));
    }
    // NaN at the end of both fill a short row up.
    let end = i.iter().rposition(|i| !i.is_nan()).map_or(0, |last| last + 1);
    let settings = settings.as_ref().map_err(String::clone)?;
    settings.sweep(&v[..end], &i[..end]).map_err(|e| e.to_string())
}

/// Rows whose readings have no partners.
fn unequal(k: usize, voltages: usize, currents: usize) -> String {
    format!(
        "row {k} has {voltages} voltages and {currents} currents; pass one current for each voltage, or fill both up \
         with NaN at their end"
    )
}

/// Two arrays whose rows differ in length have no row that fits: that is told at once.
fn all_of_one_length(voltage_v: &Table, current_a: &Table) -> Result<(), String> {
    let (Some(v), Some(i)) = (voltage_v.width, current_a.width) else { return Ok(()) };
    if v == i || current_a.ends.is_empty() { Ok(()) } else { Err(unequal(0, v, i)) }
}

/// The text of an `InputError`; any other exception as it is.
fn reason(py: Python<'_>, error: PyErr) -> PyResult<String> {
    if error.is_instance(py, input(py, "").get_type(py).as_any()) {
        Ok(error.value(py).to_string())
    } else {
        Err(error)
    }
}

/// Rows of numbers, one after the other.
pub struct Table {
    numbers: Vec<f64>,
    ends: Vec<usize>,
    /// Why a row holds no numbers.
    bad: HashMap<usize, String>,
    /// The length of every row of a two-dimensional array.
    width: Option<usize>,
}

impl Table {
    fn of(name: &str, rows: &Bound<'_, PyAny>) -> PyResult<Self> {
        match whole(name, rows) {
            Some(table) => Ok(table),
            None => Self::by_rows(name, rows),
        }
    }

    fn by_rows(name: &str, rows: &Bound<'_, PyAny>) -> PyResult<Self> {
        let mut table = Self { numbers: Vec::new(), ends: Vec::new(), bad: HashMap::new(), width: None };
        for row in rows.try_iter()? {
            match vector(name, &row?) {
                Ok(row) => table.numbers.extend(row),
                Err(error) => {
                    table.bad.insert(table.ends.len(), reason(rows.py(), error)?);
                }
            }
            table.ends.push(table.numbers.len());
        }
        Ok(table)
    }

    fn row(&self, k: usize) -> Result<&[f64], String> {
        match self.bad.get(&k) {
            Some(why) => Err(why.clone()),
            None => Ok(&self.numbers[if k > 0 { self.ends[k - 1] } else { 0 }..self.ends[k]]),
        }
    }
}

/// A two-dimensional array at once; `None` for anything else, and where an entry is no number.
fn whole(name: &str, rows: &Bound<'_, PyAny>) -> Option<Table> {
    let shape = match rows.cast::<PyUntypedArray>() {
        Ok(array) if array.ndim() == 2 => [array.shape()[0], array.shape()[1]],
        _ => return None,
    };
    let numbers = array(name, rows).ok()?.to_vec().ok()?;
    let ends = (1..=shape[0]).map(|k| k * shape[1]).collect();
    Some(Table { numbers, ends, bad: HashMap::new(), width: Some(shape[1]) })
}

/// What was changed without being asked for, once for each kind of change, with the first row that shows it.
#[derive(Default)]
struct Changed(Mutex<Vec<(usize, core::Change)>>);

impl Changed {
    fn note(&self, row: usize, changes: &[core::Change]) {
        for change in changes.iter().filter(|c| c.automatic) {
            let mut noted = self.0.lock().unwrap_or_else(|poisoned| poisoned.into_inner());
            match noted.iter_mut().find(|(_, known)| known.what == change.what) {
                Some(known) if known.0 > row => *known = (row, change.clone()),
                Some(_) => {}
                None => noted.push((row, change.clone())),
            }
        }
    }

    fn warn(self, py: Python<'_>) -> PyResult<()> {
        let mut noted = self.0.into_inner().unwrap_or_else(|poisoned| poisoned.into_inner());
        noted.sort_by(|a, b| (a.0, &a.1.what).cmp(&(b.0, &b.1.what)));
        noted.iter().try_for_each(|(_, change)| warn(py, &change.to_string()))
    }
}
