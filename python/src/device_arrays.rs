//! `SingleDiodes` and `DoubleDiodes`: what the model classes give for arrays of parameters.

use crate::arguments::{array, named, refuse_complex, threads_of};
use crate::device_parameters::{Shown, parameters};
use crate::elementwise::filled;
use crate::getters::getters;
use crate::json::plain;
use crate::model::{DoubleDiode, SingleDiode};
use litdiode::diode as core;
use ndarray::{ArrayD, ArrayViewD, ArrayViewMutD, arr0};
use numpy::{IntoPyArray, PyArrayMethods};
use pyo3::exceptions::{PyIndexError, PyMemoryError, PyTypeError};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use std::num::NonZeroUsize;

/// A function of devices at points.
type Function<const K: usize> = fn(
    &core::Devices<K>,
    ArrayViewD<'_, f64>,
    Option<NonZeroUsize>,
    ArrayViewMutD<'_, f64>,
) -> Result<(), core::ModelError>;

/// A `MemoryError` where the key points of so many devices find no room: they are asked for before the work.
fn fits(shape: &[usize]) -> PyResult<()> {
    // Six figures a device, as they are found and as they are handed out.
    let numbers = shape.iter().fold(12usize, |n, &length| n.saturating_mul(length));
    Vec::<f64>::new().try_reserve_exact(numbers).map_err(|_| {
        PyMemoryError::new_err(format!(
            "no room for the key points of {shape:?} devices; go through them in parts"
        ))
    })
}

/// Many devices of one diode: what `SingleDiode` gives where a parameter is an array.
///
/// The equation, the parameters (`i0_a`, `n` and the others), their units and limits are those of `SingleDiode`; they
/// broadcast to `shape` by the rules of numpy, and so do voltages and currents with them. `devices[k]`, or a tuple for
/// more axes, is the `SingleDiode` at a place; `len` is the length of the first axis.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cells = ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
/// >>> cells.shape, cells.current([[0.0], [0.5]]).shape, cells[1].iph_a
/// ((2,), (2, 2), 0.035)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct SingleDiodes(pub core::Devices<1>);

/// Many devices of two diodes: what `DoubleDiode` gives where a parameter is an array.
///
/// The equation, the parameters (`i01_a`, `n1`, `i02_a`, `n2` and the others), their units and limits are those of
/// `DoubleDiode`; they broadcast to `shape` by the rules of numpy, and so do voltages and currents with them.
/// `devices[k]`, or a tuple for more axes, is the `DoubleDiode` at a place; `len` is the length of the first axis.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cells = ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,
/// ...                        rs_ohm=0.8, rsh_ohm=900)  # invented
/// >>> cells.shape, cells[1].iph_a
/// ((2,), 0.035)
/// >>> cells.key_points().voc.round(4).tolist()
/// [0.6177, 0.6219]
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct DoubleDiodes(pub core::Devices<2>);

plain!(SingleDiodes);
plain!(DoubleDiodes);

/// A parameter as an array; a number is one without axes.
pub fn parameter(name: &str, value: &Bound<'_, PyAny>) -> PyResult<ArrayD<f64>> {
    match number(value) {
        Some(number) => Ok(arr0(number).into_dyn()),
        None => Ok(array(name, value)?.to_owned_array()),
    }
}

/// The value where it is a single number; an array of one entry is an array.
pub fn number(value: &Bound<'_, PyAny>) -> Option<f64> {
    // A complex number is left to what refuses it with its name.
    if value.len().is_ok() || refuse_complex("", value).is_err() { None } else { value.extract().ok() }
}

/// A parameter in a few words.
fn brief(array: &ArrayD<f64>) -> String {
    let short = |x: f64| if x != 0.0 && x.abs() < 1e-4 { format!("{x:e}") } else { format!("{x}") };
    match array.first() {
        Some(&number) if array.ndim() == 0 => short(number),
        _ => {
            let low = array.fold(f64::INFINITY, |low, x| low.min(*x));
            let high = array.fold(f64::NEG_INFINITY, |high, x| high.max(*x));
            format!("<{} of {} to {}>", array.len(), short(low), short(high))
        }
    }
}

/// Key points of many devices, an array a figure, each of the shape of the devices; from `SingleDiodes.key_points`.
///
/// - `isc`, `i_pmax`: currents in A.
/// - `voc`, `v_pmax`: voltages in V.
/// - `pmax`: maximum powers in W.
/// - `ff`: fill factors, Pmax/(Isc·Voc); NaN for a device in the dark, which has none.
///
/// They are exact for the parameters and have no ±. The arrays are taken as they are given.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cells = ld.SingleDiode(iph_a=[0.0, 0.030], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
/// >>> table = cells.key_points()  # the first cell is in the dark
/// >>> table.voc.round(4).tolist(), table.ff.round(4).tolist()
/// ([0.0, 0.6184], [nan, 0.7395])
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct KeyPointsTable([Py<PyAny>; 6]);

const FIGURES: [&str; 6] = ["isc", "voc", "pmax", "v_pmax", "i_pmax", "ff"];

getters!(KeyPointsTable, table => {
    /// Short-circuit currents in A.
    isc(py): Py<PyAny> = table[0].clone_ref(py),
    /// Open-circuit voltages in V.
    voc(py): Py<PyAny> = table[1].clone_ref(py),
    /// Maximum powers in W.
    pmax(py): Py<PyAny> = table[2].clone_ref(py),
    /// Voltages of maximum power in V.
    v_pmax(py): Py<PyAny> = table[3].clone_ref(py),
    /// Currents of maximum power in A.
    i_pmax(py): Py<PyAny> = table[4].clone_ref(py),
    /// Fill factors, 0 to 1; NaN in the dark.
    ff(py): Py<PyAny> = table[5].clone_ref(py),
});

#[pymethods]
impl KeyPointsTable {
    #[new]
    #[pyo3(signature = (*, isc, voc, pmax, v_pmax, i_pmax, ff))]
    fn new(
        isc: Py<PyAny>,
        voc: Py<PyAny>,
        pmax: Py<PyAny>,
        v_pmax: Py<PyAny>,
        i_pmax: Py<PyAny>,
        ff: Py<PyAny>,
    ) -> Self {
        Self([isc, voc, pmax, v_pmax, i_pmax, ff])
    }

    /// The six arrays by name, in SI units, for a table of any kind.
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        for (name, figure) in FIGURES.iter().zip(&self.0) {
            columns.set_item(*name, figure.bind(py))?;
        }
        Ok(columns)
    }

    /// The columns as a frame of pandas, one row a device, the last axis running fastest.
    fn frame<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let columns = PyDict::new(py);
        for (name, figure) in FIGURES.iter().zip(&self.0) {
            columns.set_item(*name, figure.bind(py).call_method0("ravel")?)?;
        }
        py.import("pandas")?.getattr("DataFrame")?.call1((columns,))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyTuple>)> {
        let py = slf.py();
        let make = py.import("functools")?.getattr("partial")?;
        let columns = slf.borrow().columns(py)?;
        Ok((make.call((slf.get_type(),), Some(&columns))?, PyTuple::empty(py)))
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let mut lines = vec!["KeyPointsTable".to_string()];
        for (name, figure) in FIGURES.iter().zip(&self.0) {
            lines.push(format!("  {name:<7}{}", figure.bind(py).str()?));
        }
        Ok(lines.join("\n"))
    }
}

/// One of the functions of devices at points that broadcast with them.
fn at_points<'py, const K: usize>(
    devices: &core::Devices<K>,
    name: &'static str,
    points: &Bound<'py, PyAny>,
    threads: Option<i64>,
    f: Function<K>,
) -> PyResult<Bound<'py, PyAny>> {
    let threads = threads_of(points.py(), threads)?;
    filled(name, points, |shape| devices.shape_with(name, shape), |x, out| f(devices, x, threads, out))
}

/// The flat index of a place, a number for one axis or a tuple of numbers for more.
fn flat_index(place: &Bound<'_, PyAny>, shape: &[usize]) -> PyResult<usize> {
    let given: Vec<isize> = match place.extract::<isize>() {
        Ok(k) => vec![k],
        Err(_) => place.extract().map_err(|_| {
            PyTypeError::new_err("pass a whole number for each axis, as in cells[2] or cells[0, 2]")
        })?,
    };
    if given.len() != shape.len() {
        let text = format!("pass {} whole numbers, one for each axis", shape.len());
        return Err(PyIndexError::new_err(text));
    }
    given.iter().zip(shape).try_fold(0, |flat, (&k, &length)| {
        let k = if k < 0 { k + length as isize } else { k };
        if !(0..length as isize).contains(&k) {
            return Err(PyIndexError::new_err(format!("{given:?} lies outside {shape:?}")));
        }
        Ok(flat * length + k as usize)
    })
}

/// What both classes do.
macro_rules! devices {
    ($class:ident, $one:ident, $diodes:literal, $i0:expr, $n:expr, $made:literal, {
        $current:literal $voltage:literal $power:literal $slope:literal $key_points:literal
    }) => {
        getters!($class, devices => {
            /// The common shape of the parameters, a tuple.
            shape(py): PyResult<Bound<'py, PyTuple>> = PyTuple::new(py, devices.shape()),
            /// Number of devices, the product of `shape`.
            size: usize = devices.count(),
        });

        #[pymethods]
        impl $class {
            /// I in A at `voltage_v` in V, a number or an array that broadcasts with the parameters.
            ///
            /// `threads`: how many work on it, 1 unless given, None for all there are. Raises `InputError` for a
            /// voltage that is not finite and for shapes that do not go together.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cells = ", $made, "  # invented")]
            /// >>> cells.current([[0.0], [0.5]]).round(4).tolist()
            #[doc = $current]
            /// ```
            #[pyo3(signature = (voltage_v, *, threads=Some(1)), text_signature = "($self, voltage_v, *, threads=1)")]
            fn current<'py>(
                &self,
                voltage_v: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                at_points(&self.0, "voltage_v", voltage_v, threads, core::Devices::current)
            }

            /// V in V at `current_a` in A, shapes, `threads` and errors as in `current`; −inf where no finite voltage
            /// carries the current.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cells = ", $made, "  # invented")]
            /// >>> cells.voltage(0.0).round(4).tolist()
            #[doc = $voltage]
            /// ```
            #[pyo3(signature = (current_a, *, threads=Some(1)), text_signature = "($self, current_a, *, threads=1)")]
            fn voltage<'py>(
                &self,
                current_a: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                at_points(&self.0, "current_a", current_a, threads, core::Devices::voltage)
            }

            /// P = V·I in W, delivered, at `voltage_v` in V; shapes, `threads` and errors as in `current`.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cells = ", $made, "  # invented")]
            /// >>> (1e3 * cells.power(0.5)).round(2).tolist()
            #[doc = $power]
            /// ```
            #[pyo3(signature = (voltage_v, *, threads=Some(1)), text_signature = "($self, voltage_v, *, threads=1)")]
            fn power<'py>(
                &self,
                voltage_v: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                at_points(&self.0, "voltage_v", voltage_v, threads, core::Devices::power)
            }

            /// dI/dV in S at `voltage_v` in V, below 0; shapes, `threads` and errors as in `current`.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cells = ", $made, "  # invented")]
            /// >>> (-1 / cells.slope(0.0)).round(1).tolist()
            #[doc = $slope]
            /// ```
            #[pyo3(signature = (voltage_v, *, threads=Some(1)), text_signature = "($self, voltage_v, *, threads=1)")]
            fn slope<'py>(
                &self,
                voltage_v: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                at_points(&self.0, "voltage_v", voltage_v, threads, core::Devices::slope)
            }

            /// Isc, Voc, the point of maximum power and FF of each device, exact for its parameters: a
            /// `KeyPointsTable`.
            ///
            /// `threads`: how many work on it, 1 unless given, None for all there are. Raises `MemoryError` where the
            /// result finds no room.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cells = ", $made, "  # invented")]
            /// >>> found = cells.key_points()
            /// >>> (1e3 * found.pmax).round(2).tolist(), found.ff.round(4).tolist()
            #[doc = $key_points]
            /// ```
            #[pyo3(signature = (*, threads=Some(1)), text_signature = "($self, *, threads=1)")]
            fn key_points(&self, py: Python<'_>, #[pyo3(from_py_with = named::threads)] threads: Option<i64>) -> PyResult<KeyPointsTable> {
                let threads = threads_of(py, threads)?;
                fits(self.0.shape())?;
                let found = py.detach(|| self.0.key_points(threads));
                let made = |figure: ArrayD<f64>| figure.into_pyarray(py).into_any().unbind();
                Ok(KeyPointsTable([
                    made(found.isc_a),
                    made(found.voc_v),
                    made(found.pmax_w),
                    made(found.v_pmax_v),
                    made(found.i_pmax_a),
                    made(found.ff),
                ]))
            }

            fn __len__(&self) -> PyResult<usize> {
                let none = || PyTypeError::new_err("the batch has no axes");
                self.0.shape().first().copied().ok_or_else(none)
            }

            /// The device at a place: a number for one axis, a tuple of numbers for more.
            fn __getitem__(&self, place: &Bound<'_, PyAny>) -> PyResult<$one> {
                let flat = flat_index(place, self.0.shape())?;
                self.0.device(flat).map($one).ok_or_else(|| PyIndexError::new_err("no such device"))
            }

            fn __repr__(&self) -> String {
                let p = self.0.parameters();
                let mut list = vec![format!("iph_a={}", brief(&p.iph_a))];
                for k in 0..$diodes {
                    list.push(format!("{}={}", $i0[k], brief(&p.i0_a[k])));
                    list.push(format!("{}={}", $n[k], brief(&p.n[k])));
                }
                let rest = [
                    ("rs_ohm", &p.rs_ohm),
                    ("rsh_ohm", &p.rsh_ohm),
                    ("cells", &p.cells),
                    ("temperature_c", &p.temperature_c),
                ];
                list.extend(rest.map(|(name, array)| format!("{name}={}", brief(array))));
                format!("{}(shape={:?}, {})", stringify!($class), self.0.shape(), list.join(", "))
            }
        }
    };
}

devices!(SingleDiodes, SingleDiode, 1, ["i0_a"], ["n"], "ld.SingleDiode(iph_a=[0.030, 0.035], i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)", {
    "[[0.03, 0.035], [0.0274, 0.0322]]"
    "[0.6184, 0.6241]"
    "[13.71, 16.09]"
    "[900.8, 900.8]"
    "([13.71, 16.1], [0.7395, 0.7376])"
});
parameters!(SingleDiodes: [i0_a, n, 0, ""]);
devices!(DoubleDiodes, DoubleDiode, 2, ["i01_a", "i02_a"], ["n1", "n2"], "ld.DoubleDiode(iph_a=[0.030, 0.035], i01_a=1e-12, n1=1, i02_a=1e-8, n2=2,\n...                        rs_ohm=0.8, rsh_ohm=900)", {
    "[[0.03, 0.035], [0.0285, 0.0333]]"
    "[0.6177, 0.6219]"
    "[14.24, 16.67]"
    "[900.5, 900.5]"
    "([14.34, 16.8], [0.7746, 0.7726])"
});
parameters!(DoubleDiodes: [i01_a, n1, 0, " of the first diode"], [i02_a, n2, 1, " of the second diode"]);
