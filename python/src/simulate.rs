//! `Instrument` and `simulate_sweep`.

use crate::arguments::{Argument, choice, count, named, word};
use crate::error::input;
use crate::getters::getters;
use crate::json::plain;
use crate::model::{DoubleDiode, SingleDiode};
use crate::noise::Noise;
use crate::sweep::{SWEPT, Sweep};
use litdiode::simulate as core;
use pyo3::prelude::*;

/// A simulated tracer for `simulate_sweep`: its set points, and each of its faults, all off unless given.
///
/// ```text
/// set points ─lag─▶ device behind its leads ─compliance─▶ offsets ─noise─▶ quantisation ─▶ readings
/// x(t) = x_static + (x_before − x_static)·exp(−dwell/τ)        the lag of the quantity that is read
/// ```
///
/// - `swept`: the quantity that is stepped, "voltage" or "current".
/// - `start`, `stop`: first and last set point in V, or in A where the current is stepped; −0.1 and 0.7 unless given. A
///   `stop` below `start` sweeps downwards.
/// - `points`: number of set points, evenly spaced, 2 to 10 million; 25 unless given.
/// - `noise_voltage_v`, `noise_current_a`: standard deviation of a reading in V and A, normal.
/// - `noise_current_rel`: the same as a share of the current, added in quadrature.
/// - `voltage_step_v`, `current_step_a`: quantisation step in V and A.
/// - `voltage_offset_v`, `current_offset_a`: added to every reading, in V and A.
/// - `lead_resistance_ohm`: resistance of leads that the voltage is read across, in Ω: two-wire connection.
/// - `compliance_a`, `compliance_v`: largest magnitude of the current in A and of the voltage in V; infinite for none.
/// - `time_constant_s`: τ in s with which the device follows a step, at rest at the first set point.
/// - `dwell_s`: time from one set point to its reading in s, 0.1 unless given.
///
/// Raises `InputError` naming the property that lies outside its limits.
///
/// ```python
/// >>> import litdiode as ld
/// >>> ld.Instrument(stop=0.65, noise_current_a=1e-5)
/// Instrument(swept="voltage", start=-0.1, stop=0.65, points=25, noise_current_a=0.00001)
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Instrument(pub core::Instrument);

plain!(Instrument);

macro_rules! faults {
    ($($(#[$doc:meta])* $name:ident = $default:expr),* $(,)?) => {
        #[pymethods]
        impl Instrument {
            #[new]
            #[pyo3(signature = (*, swept="voltage", start=-0.1, stop=0.7, points=25, $($name=$default),*))]
            #[allow(clippy::too_many_arguments)]
            fn new(
                py: Python<'_>,
                #[pyo3(from_py_with = named::swept)] swept: &str,
                #[pyo3(from_py_with = named::start)] start: f64,
                #[pyo3(from_py_with = named::stop)] stop: f64,
                #[pyo3(from_py_with = named::points)] points: i128,
                $(#[pyo3(from_py_with = named::$name)] $name: f64),*
            ) -> PyResult<Self> {
                let swept = choice(py, "swept", swept, &SWEPT)?;
                let points = count(py, "points", points, 2)?;
                let instrument = core::Instrument::default()
                    .swept(swept)
                    .start(start)
                    .stop(stop)
                    .points(points)
                    $(.$name($name))*;
                instrument.validate().map_err(|e| input(py, e))?;
                Ok(Self(instrument))
            }

            $(
                $(#[$doc])*
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
    /// Standard deviation of a voltage reading in V.
    noise_voltage_v = 0.0,
    /// Standard deviation of a current reading in A.
    noise_current_a = 0.0,
    /// Standard deviation of a current reading as a share of the current.
    noise_current_rel = 0.0,
    /// Quantisation step of the voltage in V.
    voltage_step_v = 0.0,
    /// Quantisation step of the current in A.
    current_step_a = 0.0,
    /// Added to every voltage reading, in V.
    voltage_offset_v = 0.0,
    /// Added to every current reading, in A.
    current_offset_a = 0.0,
    /// Resistance of the leads that the voltage is read across, in Ω.
    lead_resistance_ohm = 0.0,
    /// Largest magnitude of the current in A.
    compliance_a = f64::INFINITY,
    /// Largest magnitude of the voltage in V.
    compliance_v = f64::INFINITY,
    /// Time constant in s with which the device follows a step.
    time_constant_s = 0.0,
    /// Time from one set point to its reading in s.
    dwell_s = 0.1,
);

getters!(Instrument, instrument => {
    /// The quantity that is stepped: "voltage" or "current".
    swept: &'static str = word(&instrument.swept, &SWEPT),
    /// First set point in V, or in A where the current is stepped.
    start: f64 = instrument.start,
    /// Last set point, in the unit of `start`.
    stop: f64 = instrument.stop,
    /// Number of set points.
    points: usize = instrument.points,
});

#[pymethods]
impl Instrument {
    /// The scatter that the owner of such an instrument could state, a `Noise`: scatter and steps, no offsets.
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

impl Argument<'_, '_> for Model {
    fn cure() -> String {
        "a litdiode.SingleDiode or a litdiode.DoubleDiode".into()
    }
}

/// The `Sweep` that an instrument takes of a model, with known truth: for teaching and for tests.
///
/// - `model`: a `SingleDiode` or a `DoubleDiode`.
/// - `instrument`: the `Instrument` with its set points and faults.
/// - `seed`: a whole number from 0, 0 unless given; the same seed gives the same readings on every machine.
///
/// The sweep carries cells and temperature of the model and the time of each reading in s. It states no noise:
/// `instrument.noise()` is what an owner could state. Raises `InputError` for a set point at which the device has no
/// finite reading, and for readings that make no `Sweep`.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(stop=0.6, noise_current_a=1e-5), seed=1)
/// >>> len(sweep), sweep.noise
/// (25, None)
/// ```
#[pyfunction]
#[pyo3(signature = (model, instrument, *, seed=0))]
pub fn simulate_sweep(
    py: Python<'_>,
    #[pyo3(from_py_with = named::model)] model: Model,
    #[pyo3(from_py_with = named::instrument)] instrument: Bound<'_, Instrument>,
    #[pyo3(from_py_with = named::seed)] seed: i128,
) -> PyResult<Sweep> {
    let (instrument, seed) = (instrument.get(), crate::arguments::seed(py, seed)?);
    let made = py.detach(|| match &model {
        Model::One(m) => core::simulate_sweep(&m.0, &instrument.0, seed),
        Model::Two(m) => core::simulate_sweep(&m.0, &instrument.0, seed),
    });
    made.map(Sweep).map_err(|e| input(py, e))
}
