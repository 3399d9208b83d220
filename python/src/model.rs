//! `SingleDiode` and `DoubleDiode`.

use crate::error::input;
use crate::input::map;
use crate::key_points::KeyPoints;
use crate::plain::plain;
use litdiode::diode as core;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// One diode with light, shunt and series resistance.
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct SingleDiode(pub core::SingleDiode);

/// Two diodes in parallel with light, shunt and series resistance.
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct DoubleDiode(pub core::DoubleDiode);

plain!(SingleDiode);
plain!(DoubleDiode);

fn cells_of(py: Python<'_>, cells: i64) -> PyResult<u32> {
    u32::try_from(cells).map_err(|_| input(py, format!("cells = {cells} must be 1 or more")))
}

#[pymethods]
impl SingleDiode {
    #[new]
    #[pyo3(signature = (*, iph_a, i0_a, n, rs_ohm, rsh_ohm, cells=1, temperature_c=25.0))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        iph_a: f64,
        i0_a: f64,
        n: f64,
        rs_ohm: f64,
        rsh_ohm: f64,
        cells: i64,
        temperature_c: f64,
    ) -> PyResult<Self> {
        let cells = cells_of(py, cells)?;
        let p = core::Parameters { iph_a, i0_a: [i0_a], n: [n], rs_ohm, rsh_ohm, cells, temperature_c };
        core::SingleDiode::new(p).map(Self).map_err(|e| input(py, e))
    }

    /// Saturation current in A.
    #[getter]
    fn i0_a(&self) -> f64 {
        self.0.parameters().i0_a[0]
    }

    /// Ideality factor of one cell.
    #[getter]
    fn n(&self) -> f64 {
        self.0.parameters().n[0]
    }

    fn __repr__(&self) -> String {
        let p = self.0.parameters();
        format!(
            "SingleDiode(iph_a={}, i0_a={:e}, n={}, rs_ohm={}, rsh_ohm={}, cells={}, temperature_c={})",
            p.iph_a, p.i0_a[0], p.n[0], p.rs_ohm, p.rsh_ohm, p.cells, p.temperature_c
        )
    }
}

#[pymethods]
impl DoubleDiode {
    #[new]
    #[pyo3(signature = (*, iph_a, i01_a, n1, i02_a, n2, rs_ohm, rsh_ohm, cells=1, temperature_c=25.0))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        iph_a: f64,
        i01_a: f64,
        n1: f64,
        i02_a: f64,
        n2: f64,
        rs_ohm: f64,
        rsh_ohm: f64,
        cells: i64,
        temperature_c: f64,
    ) -> PyResult<Self> {
        let cells = cells_of(py, cells)?;
        let (i0_a, n) = ([i01_a, i02_a], [n1, n2]);
        let p = core::Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c };
        core::DoubleDiode::new(p).map(Self).map_err(|e| input(py, e))
    }

    /// Saturation current of the first diode in A.
    #[getter]
    fn i01_a(&self) -> f64 {
        self.0.parameters().i0_a[0]
    }

    /// Ideality factor of the first diode.
    #[getter]
    fn n1(&self) -> f64 {
        self.0.parameters().n[0]
    }

    /// Saturation current of the second diode in A.
    #[getter]
    fn i02_a(&self) -> f64 {
        self.0.parameters().i0_a[1]
    }

    /// Ideality factor of the second diode.
    #[getter]
    fn n2(&self) -> f64 {
        self.0.parameters().n[1]
    }

    fn __repr__(&self) -> String {
        let p = self.0.parameters();
        format!(
            "DoubleDiode(iph_a={}, i01_a={:e}, n1={}, i02_a={:e}, n2={}, rs_ohm={}, rsh_ohm={}, cells={}, temperature_c={})",
            p.iph_a, p.i0_a[0], p.n[0], p.i0_a[1], p.n[1], p.rs_ohm, p.rsh_ohm, p.cells, p.temperature_c
        )
    }
}

/// What both models do.
macro_rules! device {
    ($class:ident, $i0:expr, $n:expr) => {
        #[pymethods]
        impl $class {
            /// Light-generated current in A.
            #[getter]
            fn iph_a(&self) -> f64 {
                self.0.parameters().iph_a
            }

            /// Series resistance in Ω.
            #[getter]
            fn rs_ohm(&self) -> f64 {
                self.0.parameters().rs_ohm
            }

            /// Shunt resistance in Ω.
            #[getter]
            fn rsh_ohm(&self) -> f64 {
                self.0.parameters().rsh_ohm
            }

            /// Cells in series.
            #[getter]
            fn cells(&self) -> u32 {
                self.0.parameters().cells
            }

            /// Temperature in °C.
            #[getter]
            fn temperature_c(&self) -> f64 {
                self.0.parameters().temperature_c
            }

            /// I in A at `voltage_v`; the shape of the answer is that of the argument.
            fn current<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                map("voltage_v", voltage_v, |v, out| self.0.current(v, out))
            }

            /// V in V at `current_a`; −inf where no finite voltage carries the current.
            fn voltage<'py>(&self, current_a: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                map("current_a", current_a, |i, out| self.0.voltage(i, out))
            }

            /// P = V·I in W at `voltage_v`.
            fn power<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                map("voltage_v", voltage_v, |v, out| self.0.power(v, out))
            }

            /// dI/dV in S at `voltage_v`.
            fn slope<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                map("voltage_v", voltage_v, |v, out| self.0.slope(v, out))
            }

            /// Derivatives of I at one voltage, by name: `voltage` (dI/dV) and every parameter.
            fn gradient<'py>(&self, py: Python<'py>, voltage_v: f64) -> PyResult<Bound<'py, PyDict>> {
                let g = self.0.gradient(voltage_v).map_err(|e| input(py, e))?;
                let found = PyDict::new(py);
                found.set_item("voltage", g.voltage)?;
                found.set_item("iph", g.iph)?;
                for (k, (i0, n)) in $i0.iter().zip($n).enumerate() {
                    found.set_item(*i0, g.i0[k])?;
                    found.set_item(n, g.n[k])?;
                }
                found.set_item("rs", g.rs)?;
                found.set_item("rsh", g.rsh)?;
                Ok(found)
            }

            /// Isc, Voc, the point of maximum power and FF of the model.
            fn key_points(&self) -> KeyPoints {
                KeyPoints(self.0.key_points())
            }

            /// The model at another irradiance and temperature:
            /// Iph·(1 + isc_per_k·ΔT)·G/G₀, I0·(T/T₀)³·exp(Eg/k·(1/T₀ − 1/T)), Rsh·G₀/G on request.
            #[pyo3(signature = (irradiance_w_m2=None, temperature_c=None, *, reference_irradiance_w_m2=1000.0,
                                                isc_per_k=0.0, gap_ev=1.12, shunt_follows_light=false))]
            #[allow(clippy::too_many_arguments)]
            fn at(
                &self,
                py: Python<'_>,
                irradiance_w_m2: Option<f64>,
                temperature_c: Option<f64>,
                reference_irradiance_w_m2: f64,
                isc_per_k: f64,
                gap_ev: f64,
                shunt_follows_light: bool,
            ) -> PyResult<Self> {
                let condition = core::Condition {
                    irradiance_w_m2,
                    temperature_c,
                    reference_irradiance_w_m2,
                    isc_per_k,
                    gap_ev,
                    shunt_follows_light,
                };
                self.0.at(&condition).map(Self).map_err(|e| input(py, e))
            }

            /// (voltage_v, current_a) for a plot, dense at the knee.
            #[pyo3(signature = (points=200))]
            #[allow(clippy::type_complexity)]
            fn curve<'py>(
                &self,
                py: Python<'py>,
                points: usize,
            ) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>)> {
                if !(2..=10_000_000).contains(&points) {
                    return Err(input(py, format!("points = {points} must be between 2 and 10 million")));
                }
                let (v, i) = py.detach(|| self.0.curve(points));
                Ok((PyArray1::from_vec(py, v), PyArray1::from_vec(py, i)))
            }
        }
    };
}

device!(SingleDiode, ["i0"], ["n"]);
device!(DoubleDiode, ["i01", "i02"], ["n1", "n2"]);
