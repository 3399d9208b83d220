//! `StepResponse`, `step_response`.

use crate::arguments::{named, vector};
use crate::error::input;
use crate::estimate::Estimate;
use crate::getters::getters;
use crate::hysteresis::dwell;
use crate::interrupt::interruptible;
use crate::json::plain;
use litdiode::estimate::Unit;
use litdiode::step_response as core;
use pyo3::prelude::*;

/// How a device settles after one step, from `step_response`.
///
/// ```text
/// y(t) = s + Δ·exp(−(t − t₀)/τ)        t₀: the first reading
/// ```
///
/// `time_constant_s` is None where the readings do not determine it, and `why` says why. `repr` shows all.
///
/// ```python
/// >>> import litdiode as ld
/// >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
/// >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented, in A
/// >>> ld.step_response(time_s, read, "A")
/// StepResponse
///   time constant 53.56 ± 0.81 ms
///   settles at 18.014 ± 0.018 mA
///   first reading −3.999 ± 0.026 mA from there
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct StepResponse(pub core::StepResponse);

plain!(StepResponse);

getters!(StepResponse, found => {
    /// Time constant τ in s, with its interval on a logarithmic scale.
    time_constant_s: Option<Estimate> = found.time_constant_s.clone().ok().map(Estimate),
    /// Why there is no time constant; empty where there is one.
    why: String = found.time_constant_s.as_ref().err().map(ToString::to_string).unwrap_or_default(),
    /// s, where the reading settles, in its unit.
    settled: Estimate = Estimate(found.settled.clone()),
    /// Δ, how far from it the first reading lies.
    step: Estimate = Estimate(found.step.clone()),
    /// Standard deviation of a reading about the curve.
    scatter: f64 = found.scatter,
});

#[pymethods]
impl StepResponse {
    /// The time, an `Estimate` in s, after a step of this size until at most `bound` of it is left.
    ///
    /// ```text
    /// T = τ·ln(|Δ|/bound), 0 where the step is smaller
    /// ```
    ///
    /// - `bound`: in the unit of the reading; above 0.
    ///
    /// Raises `InputError` for another bound, and with the reason where there is no time constant.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
    /// >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented, in A
    /// >>> print(ld.step_response(time_s, read, "A").dwell_for(1e-5))
    /// 320.9 ± 4.9 ms
    /// ```
    fn dwell_for(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::bound)] bound: f64,
    ) -> PyResult<Estimate> {
        dwell(py, bound, |bound| self.0.dwell_for(bound))
    }

    fn __repr__(&self) -> String {
        format!("StepResponse\n  {}", self.0.to_string().replace('\n', "\n  "))
    }
}

/// The time constant with which a reading settles after one step of what was set.
///
/// ```text
/// y(t) = s + Δ·exp(−(t − t₀)/τ)        least squares in s, Δ and ln τ
/// ```
///
/// - `time_s`: rising times in s, five or more; where the first is the step itself or later.
/// - `reading`: what was read then, one number a time.
/// - `unit`: "A" for currents, "V" for voltages.
///
/// Returns a `StepResponse`. A time constant is given where the readings bound it on both sides and settle along one
/// exponential: its 95 % interval held in 94 to 96 % of simulated steps (12 to 200 readings, scatter of 1 to 10 % of the step).
/// Raises `InputError` for unequal lengths, times that do not rise, and numbers that are not finite.
///
/// ```python
/// >>> import litdiode as ld
/// >>> time_s = [0.00, 0.02, 0.04, 0.06, 0.08, 0.10, 0.15, 0.20, 0.30]
/// >>> read = [0.0140, 0.0153, 0.0161, 0.0167, 0.0171, 0.0174, 0.0178, 0.0179, 0.0180]  # invented
/// >>> round(ld.step_response(time_s, read, "A").time_constant_s.value, 3)
/// 0.054
/// ```
#[pyfunction]
pub fn step_response(
    py: Python<'_>,
    time_s: &Bound<'_, PyAny>,
    reading: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::unit)] unit: &str,
) -> PyResult<StepResponse> {
    let (time_s, reading) = (vector("time_s", time_s)?, vector("reading", reading)?);
    let unit = match unit {
        "A" => Unit::Ampere,
        "V" => Unit::Volt,
        other => return Err(input(py, format!("unit = {other:?}: pass \"A\" or \"V\""))),
    };
    let found = interruptible(py, || core::step_response(&time_s, &reading, unit))?;
    found.map(StepResponse).map_err(|e| input(py, e))
}
