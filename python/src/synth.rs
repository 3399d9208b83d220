//! `Instrument` and `simulate_sweep`.

use crate::error::input;
use crate::input::{choice, count};
use crate::model::{DoubleDiode, SingleDiode};
use crate::plain::plain;
use crate::sweep::{Noise, SWEPT, Sweep};
use litdiode::synth as core;
use pyo3::prelude::*;

/// A simulated tracer: 25 points from −0.1 to 0.7 V, 0.1 s each, unless said otherwise; every fault is off (0, or
/// infinite for a compliance) unless it is given.
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Instrument(pub core::Instrument);

plain!(Instrument);

macro_rules! faults {
    ($($name:ident = $default:expr),* $(,)?) => {
        #[pymethods]
        impl Instrument {
            #[new]
            #[pyo3(signature = (*, swept="voltage", start=-0.1, stop=0.7, points=25, $($name=$default),*))]
            #[allow(clippy::too_many_arguments)]
            fn new(
                py: Python<'_>,
                swept: &str,
                start: f64,
                stop: f64,
                points: i128,
                $($name: f64),*
            ) -> PyResult<Self> {
                let swept = choice(py, "swept", swept, &SWEPT)?;
                let points = count(py, "points", points, 2)?;
                let instrument = core::Instrument { swept, start, stop, points, $($name),* };
                instrument.validate().map_err(|e| input(py, e))?;
                Ok(Self(instrument))
            }

            $(
                #[getter]
                fn $name(&self) -> f64 {
                    self.0.$name
                }
            )*

            fn __repr__(&self) -> String {
                let mut parts = vec![format!(
                    "swept={:?}, start={}, stop={}, points={}",
                    self.swept(), self.0.start, self.0.stop, self.0.points
                )];
                $(
                    if self.0.$name != $default {
                        parts.push(format!("{}={}", stringify!($name), self.0.$name));
                    }
                )*
                format!("Instrument({})", parts.join(", "))
            }
        }
    };
}

faults!(
    noise_voltage_v = 0.0,
    noise_current_a = 0.0,
    noise_current_rel = 0.0,
    voltage_step_v = 0.0,
    current_step_a = 0.0,
    voltage_offset_v = 0.0,
    current_offset_a = 0.0,
    lead_resistance_ohm = 0.0,
    compliance_a = f64::INFINITY,
    compliance_v = f64::INFINITY,
    time_constant_s = 0.0,
    dwell_s = 0.1,
);

#[pymethods]
impl Instrument {
    /// The quantity that is stepped.
    #[getter]
    fn swept(&self) -> &'static str {
        SWEPT.iter().find(|w| w.1 == self.0.swept).map_or("", |w| w.0)
    }

    /// First set point in V, or in A where the current is stepped.
    #[getter]
    fn start(&self) -> f64 {
        self.0.start
    }

    /// Last set point.
    #[getter]
    fn stop(&self) -> f64 {
        self.0.stop
    }

    /// Number of set points.
    #[getter]
    fn points(&self) -> usize {
        self.0.points
    }

    /// The scatter that the owner of such an instrument could state.
    fn noise(&self) -> Noise {
        Noise(self.0.noise())
    }
}

/// A model that can be measured.
#[derive(FromPyObject)]
pub enum Model {
    One(SingleDiode),
    Two(DoubleDiode),
}

/// The sweep that `instrument` takes of `model`; the same seed gives the same readings.
#[pyfunction]
#[pyo3(signature = (model, instrument, *, seed=0))]
pub fn simulate_sweep(py: Python<'_>, model: Model, instrument: &Instrument, seed: i128) -> PyResult<Sweep> {
    let seed = crate::input::seed(py, seed)?;
    let made = py.detach(|| match &model {
        Model::One(m) => core::simulate_sweep(&m.0, &instrument.0, seed),
        Model::Two(m) => core::simulate_sweep(&m.0, &instrument.0, seed),
    });
    made.map(Sweep).map_err(|e| input(py, e))
}
