//! `LiveSweep`, `SetPoint`.

use crate::arguments::{choice, given, named, vector, word};
use crate::error::input;
use crate::fit::{Either, Fit};
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::key_points::KeyPoints;
use crate::sweep::{LEADS, SIGN, SWEPT, Sweep, options_of};
use litdiode::key_points::KeyPoint;
use litdiode::live as core;
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::time::Duration;

const ORDER: [(&str, core::Order); 2] =
    [("free", core::Order::Free), ("up_and_down", core::Order::UpAndDown)];

/// What to set next, how long to wait, and why, from `LiveSweep.next_set_point`. `float()` gives its value.
///
/// ```python
/// >>> import litdiode as ld
/// >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
/// >>> point = live.next_set_point()
/// >>> point.value, point.purpose, point.dwell_s
/// (0.0, 'bracket', 0.0)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct SetPoint(pub core::SetPoint);

plain!(SetPoint);

getters!(SetPoint, point => {
    /// Voltage in V, or current in A where that is swept, in the sign and with the leads of the instrument.
    value: f64 = point.value,
    /// How long to wait between setting and reading, in s.
    dwell_s: f64 = point.dwell_s,
    /// Why it is asked for: "bracket", "information", "gap" (of a curve that one diode does not describe) or "confirmation" (of
    /// a wild reading).
    purpose: &'static str = point.purpose.name(),
});

#[pymethods]
impl SetPoint {
    fn __float__(&self) -> f64 {
        self.0.value
    }

    fn __repr__(&self) -> String {
        format!("SetPoint({}, dwell_s={}, purpose={:?})", self.0.value, self.0.dwell_s, self.0.purpose.name())
    }
}

/// A sweep while it is measured: running figures with their ±, and the set point that tells most.
///
/// ```text
/// next_set_point ─▶ set, wait, read ─▶ push ─▶ key_points()        u′² = u² − (gᵀ·C·t)²/(1 + gᵀ·C·g)
/// ```
///
/// - `limits_v`, `limits_a`: lowest and highest voltage in V and current in A as pairs; they hold 0, where the sweep begins. The
///   lower voltage limits the reverse bias.
/// - `limit_w`: most power in W, delivered or taken up, or None.
/// - `safe`: a set point in V, or in A where the current is set, that is known to be below Voc, or Isc: the bracket goes there
///   from 0 at once, which saves readings.
/// - `target`: the figure that is to be known, "isc", "voc", "pmax", "v_pmax", "i_pmax" or "ff".
/// - `wanted`: its relative standard uncertainty at which the sweep stops.
/// - `capacity`: most readings, 8 to 100,000; all room is made at the start.
/// - `time_limit_s`: time in s that the sweep may take, by the times that are pushed, or None.
/// - `dwell_s`: time in s between setting and reading, handed on with each set point.
/// - `order`: "free", or "up_and_down" for a device that follows slowly.
/// - `swept`: what is set, "voltage" or "current"; the other is read.
/// - `sign`, `leads`: "generator" or "load", "as_given" or "swapped", fixed at the start; "auto" counts as "generator" and "as_given".
/// - `noise`: the `Noise` of the instrument; without it every ± comes from the scatter of the readings.
/// - `area_cm2`, `irradiance_w_m2`: area in cm² and irradiance in W/m², each a number above 0 or an `Estimate`.
/// - `temperature_c`: temperature of the device in °C; `cells`: cells in series; `label`: a name, or None.
/// - `corrections`: those of `Sweep` but `SenseResistor` and `Monitor`; they enter with `sweep()`.
///
/// First the curve is bracketed, by steps that keep within the limits whatever one or two diodes there are; then each set point is the one after
/// which the target has the least variance, by a fit of one diode that follows the readings. A set point never leaves the
/// limits. A limit on what is read can be kept only as far as the device is a diode and the source goes where it is set: keep the compliance of the source
/// as well. Figures are those of the readings as they are pushed. Raises `InputError` for options
/// outside their domain.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.35, rs_ohm=0.4, rsh_ohm=900)  # invented, in place of an instrument
/// >>> live = ld.LiveSweep(limits_v=(-0.1, 0.9), limits_a=(-0.1, 0.1), noise=ld.Noise(current_a=1e-4))
/// >>> while (point := live.next_set_point()) is not None:
/// ...     live.push(point.value, cell.current(point.value))
/// >>> live.reason.split(";")[0][:14]
/// 'FF is known to'
/// ```
#[pyclass(module = "litdiode")]
pub struct LiveSweep(pub core::LiveSweep);

crate::json::json!(LiveSweep);

getters!(LiveSweep, live => {
    /// Voltages in V so far, generator sign, in the order of measurement.
    voltage_v(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, live.voltage_v()),
    /// Currents in A so far, generator sign, in the order of measurement.
    current_a(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, live.current_a()),
    /// What is odd about each reading, or None.
    flags: Vec<Option<String>> = live.flags().iter().map(|flag| flag.map(|f| f.to_string())).collect(),
    /// Why there is no further set point; None while there is one.
    reason: Option<String> = live.reason().map(ToString::to_string),
    /// The kind of `reason`: "reached", "common_to_all", "points_used_up", "time_used_up", "no_power", "limit_reached",
    /// "beyond_limits", "not_followed", "no_numbers" or "cancelled"; None while there is a further set point.
    reason_kind: Option<&'static str> = live.reason().map(core::StopReason::name),
    /// The quantity that is set: "voltage" or "current".
    swept: &'static str = word(&live.options().sweep.swept, &SWEPT),
    /// The sign of the instrument as it was stated: "generator" or "load"; "auto" counts as "generator".
    sign: &'static str = word(&live.options().sweep.sign, &SIGN),
    /// The leads as they were stated: "as_given" or "swapped"; "auto" counts as "as_given".
    leads: &'static str = word(&live.options().sweep.leads, &LEADS),
    /// The figure that is to be known.
    target: &'static str = live.options().target.name(),
    /// Its relative standard uncertainty that is wanted.
    wanted: f64 = live.options().wanted,
    /// Most readings.
    capacity: usize = live.options().capacity,
});

/// As large as it is, for the core to judge; a negative one is below every limit as well.
fn capacity_of(py: Python<'_>, capacity: i128) -> PyResult<usize> {
    let cure = "give a number of readings from 8 to 100000";
    usize::try_from(capacity).map_err(|_| input(py, format!("capacity = {capacity} is not allowed; {cure}")))
}

#[pymethods]
impl LiveSweep {
    #[new]
    #[pyo3(signature = (*, limits_v, limits_a, limit_w=None, safe=0.0, target="ff", wanted=0.01, capacity=200,
        time_limit_s=None, dwell_s=0.0, order="free", **options), text_signature = "(*, limits_v, limits_a, limit_w=None, safe=0.0, target=\"ff\", \
        wanted=0.01, capacity=200, time_limit_s=None, dwell_s=0.0, order=\"free\", swept=\"voltage\", sign=\"auto\", \
        leads=\"auto\", noise=None, area_cm2=None, irradiance_w_m2=None, temperature_c=25.0, cells=1, label=None, \
        corrections=None)")]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        limits_v: &Bound<'_, PyAny>,
        limits_a: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = named::limit_w)] limit_w: Option<f64>,
        #[pyo3(from_py_with = named::safe)] safe: f64,
        #[pyo3(from_py_with = named::target)] target: &str,
        #[pyo3(from_py_with = named::wanted)] wanted: f64,
        #[pyo3(from_py_with = named::capacity)] capacity: i128,
        #[pyo3(from_py_with = named::time_limit_s)] time_limit_s: Option<f64>,
        #[pyo3(from_py_with = named::dwell_s)] dwell_s: f64,
        #[pyo3(from_py_with = named::order)] order: &str,
        options: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        if options.map_or(Ok(false), |o| o.contains("outliers"))? {
            let text = "outliers is no option of a live sweep, which flags wild readings; leave it out";
            return Err(PyTypeError::new_err(text));
        }
        let pair = |name, value| given(name, value, "a pair of numbers, (low, high)");
        let limits: ((f64, f64), (f64, f64)) = (pair("limits_v", limits_v)?, pair("limits_a", limits_a)?);
        let known = &KeyPoint::ALL[..6];
        let target = known.iter().copied().find(|k| k.name() == target).ok_or_else(|| {
            let names: Vec<&str> = known.iter().map(|k| k.name()).collect();
            input(py, format!("target = {target:?} is not known; pass one of {}", names.join(", ")))
        })?;
        let options = core::LiveOptions::within(limits.0, limits.1)
            .limit_w(limit_w)
            .safe(safe)
            .target(target)
            .wanted(wanted)
            .capacity(capacity_of(py, capacity)?)
            .time_limit_s(time_limit_s)
            .dwell_s(dwell_s)
            .order(choice(py, "order", order, &ORDER)?)
            .sweep(options_of(py, options)?);
        core::LiveSweep::new(options).map(Self).map_err(|e| input(py, e))
    }

    /// Takes a reading in the sign and with the leads of the instrument; returns what is odd about it as text, or None.
    ///
    /// - `voltage_v`, `current_a`: the reading in V and A.
    /// - `time_s`: its time in s by any clock that rises, or None.
    ///
    /// A wild reading, 6 standard deviations off the running curve, is left out of the figures until a second one at its
    /// place confirms it, which the next set point asks for. Raises `InputError` for a number that is not finite or marks an overflow, a time before that of the reading
    /// before, and beyond `capacity`; the sweep stays as it was, and `next_set_point` gives the same set point again.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
    /// >>> for voltage_v, current_a in [(0.0, 0.0300), (0.3, 0.0296), (0.6, -0.0200)]:  # invented
    /// ...     live.push(voltage_v, current_a)
    /// >>> len(live), live.voltage_v.tolist()
    /// (3, [0.0, 0.3, 0.6])
    /// >>> try:
    /// ...     live.push(0.4, float("nan"))
    /// ... except ld.InputError as error:
    /// ...     print(error)
    /// current_a = NaN of reading 3 is no reading; ask for the next set point and read again, it will be the same one
    /// >>> len(live)
    /// 3
    /// ```
    #[pyo3(signature = (voltage_v, current_a, time_s=None))]
    fn push(
        &mut self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::voltage_v)] voltage_v: f64,
        #[pyo3(from_py_with = named::current_a)] current_a: f64,
        #[pyo3(from_py_with = named::time_s)] time_s: Option<f64>,
    ) -> PyResult<Option<String>> {
        let flag = match time_s {
            Some(time_s) => self.0.push_at(voltage_v, current_a, time_s),
            None => self.0.push(voltage_v, current_a),
        };
        flag.map(|flag| flag.map(|f| f.to_string())).map_err(|e| input(py, e))
    }

    /// The next `SetPoint`; None where there is none, and `reason` says why. The same again until a reading was taken.
    fn next_set_point(&mut self, py: Python<'_>) -> PyResult<Option<SetPoint>> {
        interruptible(py, || self.0.next_set_point()).map(|point| point.map(SetPoint))
    }

    /// The key points of the readings so far, of the fit of one diode that follows them; what they do not give yet is absent, with
    /// the reason. Key points without a model are those of `sweep().key_points()`.
    fn key_points(&mut self, py: Python<'_>) -> PyResult<KeyPoints> {
        let points = interruptible(py, || self.0.key_points())?;
        Ok(points.into())
    }

    /// The figures that have no ± yet, by name, and what they wait for.
    fn missing<'py>(&mut self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let found = PyDict::new(py);
        for absence in interruptible(py, || self.0.missing())? {
            found.set_item(absence.figure.to_string(), absence.why.to_string())?;
        }
        Ok(found)
    }

    /// Relative standard uncertainty of the target so far, as `wanted` is compared with; None where there is no ± yet.
    fn relative_u(&mut self, py: Python<'_>) -> PyResult<Option<f64>> {
        interruptible(py, || self.0.relative_u())
    }

    /// Currents in A of the running curve at `voltage_v` in V, a list or a one-dimensional array, both in generator sign;
    /// an array of the same length. None before there is a curve. Raises `InputError` for another shape.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
    /// >>> for voltage_v in (0.0, 0.2, 0.4, 0.5, 0.55, 0.6):
    /// ...     live.push(voltage_v, cell.current(voltage_v))
    /// >>> live.curve([0.3, 0.45]).round(4).tolist(), cell.current([0.3, 0.45]).round(4).tolist()
    /// ([0.0296, 0.0284], [0.0296, 0.0284])
    /// ```
    fn curve<'py>(
        &mut self,
        py: Python<'py>,
        voltage_v: &Bound<'py, PyAny>,
    ) -> PyResult<Option<Bound<'py, PyArray1<f64>>>> {
        let v = vector("voltage_v", voltage_v)?;
        let found = interruptible(py, || self.0.curve(&v))?;
        Ok(found.map(|i| PyArray1::from_vec(py, i)))
    }

    /// The `Sweep` of the readings so far with all that was stated at the start, without those that are wild.
    ///
    /// Raises `InputError` for readings that are no sweep, such as fewer than two.
    fn sweep(&self, py: Python<'_>) -> PyResult<Sweep> {
        py.detach(|| self.0.sweep()).map(Sweep).map_err(|e| input(py, e))
    }

    /// The whole `Fit` of one diode to the readings so far, from the running one.
    ///
    /// - `deadline_s`: the time in s that it may take; one that is still at work then comes back as it is, with its status.
    ///
    /// Raises `InputError` for readings that are no sweep, or fewer than the five parameters.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> live = ld.LiveSweep(limits_v=(-0.1, 0.8), limits_a=(-0.05, 0.05), noise=ld.Noise(current_a=2e-5))
    /// >>> for voltage_v in (0.0, 0.2, 0.4, 0.45, 0.5, 0.55, 0.58, 0.6):
    /// ...     live.push(voltage_v, cell.current(voltage_v))
    /// >>> fit = live.fit(deadline_s=5.0)
    /// >>> fit.status, round(fit.n.value, 2)
    /// ('converged', 1.3)
    /// ```
    #[pyo3(signature = (deadline_s=0.005))]
    fn fit(
        &mut self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::deadline_s)] deadline_s: f64,
    ) -> PyResult<Fit> {
        let wrong = || input(py, format!("deadline_s = {deadline_s} is no time; give seconds, 0 or more"));
        let deadline = Duration::try_from_secs_f64(deadline_s).map_err(|_| wrong())?;
        let fit = interruptible(py, || self.0.fit(deadline))?;
        fit.map(|fit| Fit(Either::One(fit))).map_err(|e| input(py, e))
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __repr__(&self) -> String {
        let (points, capacity) = (self.0.len(), self.0.options().capacity);
        let why = self.0.reason().map_or(String::new(), |reason| format!(", {reason}"));
        format!(
            "LiveSweep({points} of {capacity} readings, target {}{why})",
            self.0.options().target.symbol()
        )
    }
}
