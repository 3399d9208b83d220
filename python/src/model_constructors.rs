//! `SingleDiode(...)` and `DoubleDiode(...)`: one device, or many where a parameter is an array.

use crate::arguments::cells;
use crate::device_arrays::{DoubleDiodes, SingleDiodes, number, parameter};
use crate::error::input;
use crate::model::{DoubleDiode, SingleDiode};
use litdiode::diode as core;
use ndarray::arr0;
use pyo3::BoundObject;
use pyo3::prelude::*;

/// The parameters as they are passed, those of the diodes with their names.
struct Given<'a, 'py, const K: usize> {
    iph_a: &'a Bound<'py, PyAny>,
    i0_a: [(&'static str, &'a Bound<'py, PyAny>); K],
    n: [(&'static str, &'a Bound<'py, PyAny>); K],
    rs_ohm: &'a Bound<'py, PyAny>,
    rsh_ohm: &'a Bound<'py, PyAny>,
    cells: Option<&'a Bound<'py, PyAny>>,
    temperature_c: Option<&'a Bound<'py, PyAny>>,
}

impl<'py, const K: usize> Given<'_, 'py, K> {
    /// A device where every parameter is a number, many devices where one is an array.
    fn built<O, M>(
        &self,
        one: impl Fn(core::Device<K>) -> O,
        many: impl Fn(core::Devices<K>) -> M,
    ) -> PyResult<Bound<'py, PyAny>>
    where
        O: IntoPyObject<'py, Error: Into<PyErr>>,
        M: IntoPyObject<'py, Error: Into<PyErr>>,
    {
        let py = self.iph_a.py();
        if self.are_numbers() {
            return object(py, one(core::Device::new(self.numbers()?).map_err(|e| input(py, e))?));
        }
        let parameters = self.arrays()?;
        object(py, many(py.detach(|| core::Devices::new(parameters)).map_err(|e| input(py, e))?))
    }

    fn are_numbers(&self) -> bool {
        let diodes = self.i0_a.iter().chain(&self.n).map(|named| named.1);
        let others = [self.iph_a, self.rs_ohm, self.rsh_ohm];
        let mut all = diodes.chain(others).chain(self.cells).chain(self.temperature_c);
        all.all(|value| number(value).is_some())
    }

    fn numbers(&self) -> PyResult<core::Parameters<K>> {
        let of = |value: &Bound<'py, PyAny>| number(value).unwrap_or(f64::NAN);
        Ok(core::Parameters {
            iph_a: of(self.iph_a),
            i0_a: self.i0_a.map(|named| of(named.1)),
            n: self.n.map(|named| of(named.1)),
            rs_ohm: of(self.rs_ohm),
            rsh_ohm: of(self.rsh_ohm),
            cells: cells(self.cells)?,
            temperature_c: self.temperature_c.map_or(25.0, of),
        })
    }

    fn arrays(&self) -> PyResult<core::DevicesParameters> {
        let list = |all: &[(&'static str, &Bound<'py, PyAny>)]| {
            all.iter().map(|(name, value)| parameter(name, value)).collect::<PyResult<Vec<_>>>()
        };
        let or = |name, value: Option<&Bound<'py, PyAny>>, otherwise| {
            value.map_or(Ok(arr0(otherwise).into_dyn()), |value| parameter(name, value))
        };
        Ok(core::DevicesParameters {
            iph_a: parameter("iph_a", self.iph_a)?,
            i0_a: list(&self.i0_a)?,
            n: list(&self.n)?,
            rs_ohm: parameter("rs_ohm", self.rs_ohm)?,
            rsh_ohm: parameter("rsh_ohm", self.rsh_ohm)?,
            cells: or("cells", self.cells, 1.0)?,
            temperature_c: or("temperature_c", self.temperature_c, 25.0)?,
        })
    }
}

fn object<'py, T>(py: Python<'py>, made: T) -> PyResult<Bound<'py, PyAny>>
where
    T: IntoPyObject<'py, Error: Into<PyErr>>,
{
    made.into_pyobject(py).map(|made| made.into_any().into_bound()).map_err(Into::into)
}

#[pymethods]
impl SingleDiode {
    #[new]
    #[pyo3(signature = (*, iph_a, i0_a, n, rs_ohm, rsh_ohm, cells=None, temperature_c=None),
           text_signature = "(*, iph_a, i0_a, n, rs_ohm, rsh_ohm, cells=1, temperature_c=25.0)")]
    #[allow(clippy::too_many_arguments, clippy::new_ret_no_self)]
    fn new<'py>(
        iph_a: &Bound<'py, PyAny>,
        i0_a: &Bound<'py, PyAny>,
        n: &Bound<'py, PyAny>,
        rs_ohm: &Bound<'py, PyAny>,
        rsh_ohm: &Bound<'py, PyAny>,
        cells: Option<&Bound<'py, PyAny>>,
        temperature_c: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let (i0_a, n) = ([("i0_a", i0_a)], [("n", n)]);
        Given { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c }.built(Self, SingleDiodes)
    }
}

#[pymethods]
impl DoubleDiode {
    #[new]
    #[pyo3(signature = (*, iph_a, i01_a, n1, i02_a, n2, rs_ohm, rsh_ohm, cells=None, temperature_c=None),
           text_signature = "(*, iph_a, i01_a, n1, i02_a, n2, rs_ohm, rsh_ohm, cells=1, temperature_c=25.0)")]
    #[allow(clippy::too_many_arguments, clippy::new_ret_no_self)]
    fn new<'py>(
        iph_a: &Bound<'py, PyAny>,
        i01_a: &Bound<'py, PyAny>,
        n1: &Bound<'py, PyAny>,
        i02_a: &Bound<'py, PyAny>,
        n2: &Bound<'py, PyAny>,
        rs_ohm: &Bound<'py, PyAny>,
        rsh_ohm: &Bound<'py, PyAny>,
        cells: Option<&Bound<'py, PyAny>>,
        temperature_c: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let (i0_a, n) = ([("i01_a", i01_a), ("i02_a", i02_a)], [("n1", n1), ("n2", n2)]);
        Given { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c }.built(Self, DoubleDiodes)
    }
}
