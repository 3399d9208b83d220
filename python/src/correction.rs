//! `Correction` and its kinds.

use crate::arguments::{given, vector};
use crate::error::input;
use crate::estimate::quantity;
use crate::json::plain;
use litdiode::estimate::{Estimate, Unit};
use litdiode::sweep::{self as core, Axis};
use pyo3::prelude::*;

/// One step from what an instrument read to what the device did; `Offset`, `SenseResistor`, `Gain`, `Calibration`,
/// `LeadResistance`, `Leakage`, `DarkSweep` and `Monitor` make them, and `Sweep(..., corrections=[...])` applies them in
/// the order given, before the sign is recognised.
///
/// Each number is a number or an `Estimate`. The uncertainty of an estimate is one source that moves all points together:
/// key points and fits carry it, and it does not average down (JCGM 100:2008, 5.2.2). The `noise` of the sweep is that of
/// the corrected readings, in V and A.
///
/// ```python
/// >>> import litdiode as ld
/// >>> bias, shunt = ld.Offset(voltage_v=1.5), ld.SenseResistor(ld.Estimate(10.0, 0.05, unit="Ω"))  # invented
/// >>> sweep = ld.Sweep([1.5, 1.7, 1.9, 2.0, 2.1], [0.300, 0.300, 0.280, 0.170, -0.410], corrections=[bias, shunt])
/// >>> sweep.voltage_v.round(3).tolist(), sweep.current_a.round(4).tolist()
/// ([0.0, 0.2, 0.4, 0.5, 0.6], [0.03, 0.03, 0.028, 0.017, -0.041])
/// >>> [change.what for change in sweep.changes]
/// ['voltage less an offset of 1.500 V', 'current from the voltage over 10.000 ± 0.050 Ω']
/// ```
#[pyclass(frozen, subclass, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Correction(pub core::Correction);

plain!(Correction);

#[pymethods]
impl Correction {
    fn __repr__(&self) -> String {
        format!("Correction({})", self.0)
    }
}

/// A list of corrections.
pub fn corrections(name: &str, value: &Bound<'_, PyAny>) -> PyResult<Vec<core::Correction>> {
    let cure = "a list of corrections, such as [litdiode.Offset(voltage_v=1.5)]";
    let listed = given::<Option<Vec<Bound<'_, PyAny>>>>(name, value, cure)?;
    let one = |(k, entry): (usize, Bound<'_, PyAny>)| {
        given::<Correction>(
            &format!("{name}[{k}]"),
            &entry,
            "a correction, such as litdiode.Offset(voltage_v=1.5)",
        )
    };
    listed.unwrap_or_default().into_iter().enumerate().map(|pair| one(pair).map(|c| c.0)).collect()
}

fn in_volts(given: &Bound<'_, PyAny>) -> Option<Estimate> {
    quantity("current_a", given, Unit::Volt).ok().filter(|e| e.unit == Unit::Volt)
}

fn optional(name: &str, value: Option<&Bound<'_, PyAny>>, unit: Unit) -> PyResult<Option<Estimate>> {
    value.map(|v| quantity(name, v, unit)).transpose()
}

/// One of two numbers, or both.
fn some_of(py: Python<'_>, class: &str, pair: [(&str, Option<&Bound<'_, PyAny>>); 2]) -> PyResult<()> {
    if pair.iter().all(|p| p.1.is_none()) {
        return Err(input(py, format!("{class}() corrects nothing; pass {}= or {}=", pair[0].0, pair[1].0)));
    }
    Ok(())
}

macro_rules! kind {
    ($(#[$doc:meta])* $class:ident) => {
        $(#[$doc])*
        #[pyclass(frozen, extends = Correction, module = "litdiode")]
        pub struct $class;
    };
}

kind! {
    /// A bias that is to be subtracted: true = reading − offset.
    ///
    /// - `voltage_v`, `current_a`: what the instrument reads of nothing, in V and in A as the readings stand when their turn
    ///   comes, each a number, an `Estimate` or None.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> ld.Offset(voltage_v=ld.Estimate(1.5, 0.002, unit="V"))
    /// Correction(voltage less an offset of 1.5000 ± 0.0020 V)
    /// ```
    Offset
}

kind! {
    /// The currents are voltages over a resistor: I = U/R.
    ///
    /// - `ohm`: its resistance in Ω, above 0, a number or an `Estimate`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> shunt = ld.SenseResistor(ld.Estimate(10.0, 0.05, unit="Ω"))
    /// >>> over_it = [0.300, 0.300, 0.280, 0.170, -0.410]  # invented, in V
    /// >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], over_it, corrections=[shunt])
    /// >>> sweep.current_a.round(4).tolist()
    /// [0.03, 0.03, 0.028, 0.017, -0.041]
    /// ```
    SenseResistor
}

kind! {
    /// True = reading/gain.
    ///
    /// - `voltage`, `current`: gains above 0, each a number, an `Estimate` or None.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> clamp = ld.Gain(current=ld.Estimate(1.02, 0.005))  # invented: reads 2 % high
    /// >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.0306, 0.0306, 0.0286, 0.0173, -0.0418], corrections=[clamp])
    /// >>> sweep.current_a.round(4).tolist()
    /// [0.03, 0.03, 0.028, 0.017, -0.041]
    /// ```
    Gain
}

kind! {
    /// A table of readings and what they stand for, linear between its points; a line is a table of two.
    ///
    /// - `voltage` or `current`: a pair of lists, readings in rising order and actual values, in V or A.
    /// - `u`: standard uncertainty common to all actual values, in V or A.
    ///
    /// A reading outside the table is an `InputError`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> meter = ld.Calibration(voltage=([0.0, 0.5, 1.0], [0.002, 0.503, 1.006]), u=0.001)  # invented
    /// >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], corrections=[meter])
    /// >>> sweep.voltage_v.round(4).tolist()
    /// [0.002, 0.2024, 0.4028, 0.503, 0.6036]
    /// ```
    Calibration
}

kind! {
    /// Leads and contacts between the device and where the voltage is read: V = V_read + I·R in generator sign.
    ///
    /// - `ohm`: the resistance of both leads together in Ω, a number or an `Estimate`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> leads = ld.LeadResistance(ld.Estimate(0.5, 0.05, unit="Ω"))
    /// >>> voltage_v, current_a = [0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
    /// >>> ld.Sweep(voltage_v, current_a, corrections=[leads]).voltage_v.round(4).tolist()
    /// [0.015, 0.215, 0.414, 0.5085, 0.5795]
    /// ```
    LeadResistance
}

kind! {
    /// A path beside the device, such as an insulation or the input of a meter: I = I_read + V/R in generator sign.
    ///
    /// - `ohm`: its resistance in Ω, above 0, a number or an `Estimate`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> read = [0.030, 0.0298, 0.0276, 0.0165, -0.0416]  # invented
    /// >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], read, corrections=[ld.Leakage(1000.0)])
    /// >>> sweep.current_a.round(4).tolist()
    /// [0.03, 0.03, 0.028, 0.017, -0.041]
    /// ```
    Leakage
}

kind! {
    /// The drift of the light is taken out: I = I_read·m̄/m, m̄ being the mean of the monitor.
    ///
    /// - `readings`: one above 0 for each point, in any unit.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> lamp = ld.Monitor([1.00, 1.02, 1.01, 0.99, 0.98])  # invented: readings of a photodiode
    /// >>> sweep = ld.Sweep([0.0, 0.2, 0.4, 0.5, 0.6], [0.0300, 0.0306, 0.0283, 0.0168, -0.0402], corrections=[lamp])
    /// >>> sweep.current_a.round(4).tolist()
    /// [0.03, 0.03, 0.028, 0.017, -0.041]
    /// ```
    Monitor
}

pub type Made<T> = PyResult<PyClassInitializer<T>>;

pub fn made<T: pyo3::PyClass<BaseType = Correction>>(
    py: Python<'_>,
    kind: T,
    correction: core::Correction,
) -> Made<T> {
    correction.validate().map_err(|e| input(py, e))?;
    Ok(PyClassInitializer::from(Correction(correction)).add_subclass(kind))
}

#[pymethods]
impl Offset {
    #[new]
    #[pyo3(signature = (*, voltage_v=None, current_a=None))]
    fn new(
        py: Python<'_>,
        voltage_v: Option<&Bound<'_, PyAny>>,
        current_a: Option<&Bound<'_, PyAny>>,
    ) -> Made<Self> {
        some_of(py, "Offset", [("voltage_v", voltage_v), ("current_a", current_a)])?;
        let voltage_v = optional("voltage_v", voltage_v, Unit::Volt)?;
        // Before a sense resistor the offset of the current is one of its voltage.
        let current_a = current_a
            .map(|i| quantity("current_a", i, Unit::Ampere).or_else(|wrong| in_volts(i).ok_or(wrong)))
            .transpose()?;
        made(py, Self, core::Correction::Offset { voltage_v, current_a })
    }
}

#[pymethods]
impl SenseResistor {
    #[new]
    fn new(py: Python<'_>, ohm: &Bound<'_, PyAny>) -> Made<Self> {
        made(py, Self, core::Correction::SenseResistor { ohm: quantity("ohm", ohm, Unit::Ohm)? })
    }
}

#[pymethods]
impl Gain {
    #[new]
    #[pyo3(signature = (*, voltage=None, current=None))]
    fn new(
        py: Python<'_>,
        voltage: Option<&Bound<'_, PyAny>>,
        current: Option<&Bound<'_, PyAny>>,
    ) -> Made<Self> {
        some_of(py, "Gain", [("voltage", voltage), ("current", current)])?;
        let voltage = optional("voltage", voltage, Unit::One)?;
        let current = optional("current", current, Unit::One)?;
        made(py, Self, core::Correction::Gain { voltage, current })
    }
}

#[pymethods]
impl Calibration {
    #[new]
    #[pyo3(signature = (*, voltage=None, current=None, u=None))]
    fn new(
        py: Python<'_>,
        voltage: Option<&Bound<'_, PyAny>>,
        current: Option<&Bound<'_, PyAny>>,
        u: Option<&Bound<'_, PyAny>>,
    ) -> Made<Self> {
        let (axis, name, pair) = match (voltage, current) {
            (Some(pair), None) => (Axis::Voltage, "voltage", pair),
            (None, Some(pair)) => (Axis::Current, "current", pair),
            _ => return Err(input(py, "Calibration is of one axis; pass voltage= or current=")),
        };
        let cure = "a pair of lists: readings, and what they stand for";
        let lists: Vec<Bound<'_, PyAny>> = given(name, pair, cure)?;
        let [read, actual] = lists.as_slice() else {
            return Err(input(py, format!("{name} has {} parts; pass {cure}", lists.len())));
        };
        let (read, actual) = (vector(&format!("{name}[0]"), read)?, vector(&format!("{name}[1]"), actual)?);
        let unit = if axis == Axis::Voltage { Unit::Volt } else { Unit::Ampere };
        let u = u.map_or(Ok(0.0), |u| quantity("u", u, unit).map(|u| u.value))?;
        made(py, Self, core::Correction::Calibration { axis, read, actual, u })
    }
}

#[pymethods]
impl LeadResistance {
    #[new]
    fn new(py: Python<'_>, ohm: &Bound<'_, PyAny>) -> Made<Self> {
        made(py, Self, core::Correction::LeadResistance { ohm: quantity("ohm", ohm, Unit::Ohm)? })
    }
}

#[pymethods]
impl Leakage {
    #[new]
    fn new(py: Python<'_>, ohm: &Bound<'_, PyAny>) -> Made<Self> {
        made(py, Self, core::Correction::Leakage { ohm: quantity("ohm", ohm, Unit::Ohm)? })
    }
}

#[pymethods]
impl Monitor {
    #[new]
    fn new(py: Python<'_>, readings: &Bound<'_, PyAny>) -> Made<Self> {
        made(py, Self, core::Correction::Monitor { readings: vector("readings", readings)? })
    }
}
