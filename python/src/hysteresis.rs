//! `Hysteresis`, `hysteresis`.

use crate::arguments::{given, named};
use crate::error::input;
use crate::estimate::Estimate;
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::sweep::Sweep;
use litdiode::hysteresis as core;
use pyo3::prelude::*;

/// What two ways of a sweep say of a device that follows slowly, from `hysteresis`.
///
/// ```text
/// index = (P_second − P_first)/(P_second + P_first)        left = exp(−T/τ)        T: dwell time a step
/// ```
///
/// A figure that the readings do not give is None, and `why` says why. `repr` shows all.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
/// >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
/// >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
/// >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
/// >>> ld.hysteresis(up, down)
/// Hysteresis
///   hysteresis index  −0.01094 ± 0.00057
///   left of a step    0.13586 ± 0.00058
///   time constant     50.10 ± 0.11 ms
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Hysteresis(pub core::Hysteresis);

plain!(Hysteresis);

getters!(Hysteresis, found => {
    /// Hysteresis index: the difference of the maximum powers of the second and the first way over their sum. Common practice
    /// knows several indices; this one is 0 without hysteresis and lies between −1 and 1.
    index: Option<Estimate> = found.index.clone().ok().map(Estimate),
    /// The part of a step that is left after the dwell time.
    left: Option<Estimate> = found.left.clone().ok().map(Estimate),
    /// Time constant in s.
    time_constant_s: Option<Estimate> = found.time_constant_s.clone().ok().map(Estimate),
    /// Dwell time a step in s, where the sweeps carry times.
    dwell_s: Option<f64> = found.dwell_s,
    /// The curve on which the device would settle, a `Sweep` whose noise is what both ways leave of theirs; None where no lag
    /// was looked for.
    settled: Option<Sweep> = found.settled.clone().map(Sweep),
    /// The figures that are None, by name, with the reason.
    why: Vec<(&'static str, String)> = {
        let of = |name, x: &Result<litdiode::estimate::Estimate, litdiode::reason::Reason>| {
            x.as_ref().err().map(|why| (name, why.to_string()))
        };
        [of("index", &found.index), of("left", &found.left), of("time_constant_s", &found.time_constant_s)]
            .into_iter()
            .flatten()
            .collect()
    },
});

#[pymethods]
impl Hysteresis {
    /// The dwell time a step, an `Estimate` in s, that leaves an error of at most `bound` on even steps.
    ///
    /// ```text
    /// error ≤ Δ·e/(1 − e)     T = τ·ln(1 + Δ/bound)     Δ: largest step of the settled curve
    /// ```
    ///
    /// - `bound`: in A, or in V where the current was stepped; above 0.
    ///
    /// Raises `InputError` for another bound, and with the reason where there is no time constant.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
    /// >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
    /// >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
    /// >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
    /// >>> print(ld.hysteresis(up, down).dwell_for(1e-4))
    /// 263.06 ± 0.56 ms
    /// ```
    fn dwell_for(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::bound)] bound: f64,
    ) -> PyResult<Estimate> {
        dwell(py, bound, |bound| self.0.dwell_for(bound))
    }

    fn __repr__(&self) -> String {
        format!("Hysteresis\n  {}", self.0.to_string().replace('\n', "\n  "))
    }
}

/// The dwell time that `of` gives for a `bound` above 0.
pub fn dwell(
    py: Python<'_>,
    bound: f64,
    of: impl FnOnce(f64) -> Result<litdiode::estimate::Estimate, litdiode::reason::Reason>,
) -> PyResult<Estimate> {
    if !(bound > 0.0 && bound.is_finite()) {
        return Err(input(py, format!("bound = {bound} must be a number above 0")));
    }
    of(bound).map(Estimate).map_err(|why| input(py, format!("there is no time constant: {why}")))
}

/// Compares two ways of a sweep, one up and one down, in the order in which they were measured.
///
/// ```text
/// index = (P_second − P_first)/(P_second + P_first)
/// yₖ(up) − yₖ(down) = e·(yₖ₋₁(up) − yₖ₊₁(down))        e = exp(−T/τ)
/// ```
///
/// - `first`, `second`: two `Sweep`s, such as `Sweep.branches` gives. A time constant needs the same set points in both and
///   `time_s`; it is that of a device that follows each step with one time constant, and needs no model of the curve.
///
/// Returns a `Hysteresis`. Raises `InputError` for sweeps of different kinds or the same direction.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.02, i0_a=1e-10, n=1.6, rs_ohm=1.0, rsh_ohm=2000)  # invented
/// >>> rig = dict(noise_current_a=2e-5, time_constant_s=0.05, dwell_s=0.1)
/// >>> up = ld.simulate_sweep(cell, ld.Instrument(start=-0.1, stop=0.85, **rig), seed=1)
/// >>> down = ld.simulate_sweep(cell, ld.Instrument(start=0.85, stop=-0.1, **rig), seed=2)
/// >>> found = ld.hysteresis(up, down)
/// >>> bool(abs(found.time_constant_s.value - 0.05) < 3 * found.time_constant_s.u)
/// True
/// ```
#[pyfunction]
pub fn hysteresis(
    py: Python<'_>,
    first: &Bound<'_, PyAny>,
    second: &Bound<'_, PyAny>,
) -> PyResult<Hysteresis> {
    let first: Sweep = given("first", first, "a litdiode.Sweep")?;
    let second: Sweep = given("second", second, "a litdiode.Sweep")?;
    let found = interruptible(py, || core::hysteresis(&first.0, &second.0))?;
    found.map(Hysteresis).map_err(|e| input(py, e))
}

#[pymethods]
impl Sweep {
    /// The ways of a sweep that goes and returns, as a list of sweeps in the order of measurement; one sweep where it goes one
    /// way only. A single reading at a turn belongs to the way that led to it; of several there each way has its half.
    ///
    /// A way ends where the quantity that was set comes back by more than a tenth of its range. Raises `InputError` where a way
    /// is no sweep of its own.
    fn branches(&self, py: Python<'_>) -> PyResult<Vec<Self>> {
        let ways = self.0.branches().map_err(|e| input(py, e))?;
        Ok(ways.into_iter().map(Self).collect())
    }
}
