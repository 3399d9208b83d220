//! The parameters of devices as properties of their classes: numbers of one device, numbers or arrays of many.

use ndarray::ArrayD;
use numpy::ToPyArray;
use pyo3::prelude::*;

/// A parameter as a user sees it.
pub trait Shown {
    /// A number, or an array.
    fn shown<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>>;
}

impl Shown for f64 {
    fn shown<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.into_any())
    }
}

impl Shown for u32 {
    fn shown<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        Ok(self.into_pyobject(py)?.into_any())
    }
}

impl Shown for ArrayD<f64> {
    fn shown<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        match self.first() {
            Some(number) if self.ndim() == 0 => number.shown(py),
            _ => Ok(self.to_pyarray(py).into_any()),
        }
    }
}

/// One property a parameter; `$of` tells which diode it is of.
macro_rules! parameters {
    ($class:ident: $([$i0:ident, $n:ident, $k:literal, $of:literal]),*) => {
        getters!($class, device => {
            $(
                #[doc = concat!("Saturation current", $of, " in A.")]
                $i0(py): PyResult<Bound<'py, PyAny>> = device.parameters().i0_a[$k].shown(py),
                #[doc = concat!("Ideality factor", $of, ", that of one cell.")]
                $n(py): PyResult<Bound<'py, PyAny>> = device.parameters().n[$k].shown(py),
            )*
            /// Light-generated current in A.
            iph_a(py): PyResult<Bound<'py, PyAny>> = device.parameters().iph_a.shown(py),
            /// Series resistance in Ω.
            rs_ohm(py): PyResult<Bound<'py, PyAny>> = device.parameters().rs_ohm.shown(py),
            /// Shunt resistance in Ω.
            rsh_ohm(py): PyResult<Bound<'py, PyAny>> = device.parameters().rsh_ohm.shown(py),
            /// Cells in series.
            cells(py): PyResult<Bound<'py, PyAny>> = device.parameters().cells.shown(py),
            /// Temperature in °C.
            temperature_c(py): PyResult<Bound<'py, PyAny>> = device.parameters().temperature_c.shown(py),
        });
    };
}

pub(crate) use parameters;
