//! `Noise`, `Change`, `Finding`, `Sweep`.

use crate::error::{input, warn};
use crate::estimate::Estimate;
use crate::input::{choice, quantity, vector};
use crate::key_points::{KeyPoints, escape};
use crate::plain::plain;
use litdiode::estimate::Unit;
use litdiode::{curve, sweep as core};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Standard uncertainties of an instrument, SI; 0 is not stated.
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Noise(pub core::Noise);

plain!(Noise);

macro_rules! noise {
    ($($name:ident),*) => {
        #[pymethods]
        impl Noise {
            #[new]
            #[pyo3(signature = (*, $($name=0.0),*))]
            #[allow(clippy::too_many_arguments)]
            fn new(py: Python<'_>, $($name: f64),*) -> PyResult<Self> {
                let noise = core::Noise { $($name),* };
                noise.validate().map_err(|e| input(py, e))?;
                Ok(Self(noise))
            }

            $(
                #[getter]
                fn $name(&self) -> f64 {
                    self.0.$name
                }
            )*

            fn __repr__(&self) -> String {
                let mut parts = Vec::new();
                $(
                    if self.0.$name != 0.0 {
                        parts.push(format!("{}={}", stringify!($name), self.0.$name));
                    }
                )*
                format!("Noise({})", parts.join(", "))
            }
        }
    };
}

noise!(
    voltage_v,
    current_a,
    voltage_rel,
    current_rel,
    voltage_step_v,
    current_step_a,
    voltage_gain_u,
    current_gain_u,
    voltage_offset_u,
    current_offset_u
);

/// What was done to the readings, and why.
#[pyclass(frozen, module = "litdiode")]
pub struct Change(core::Change);

plain!(Change);

#[pymethods]
impl Change {
    /// What was done.
    #[getter]
    fn what(&self) -> &str {
        &self.0.what
    }

    /// The evidence, or the option that asked for it.
    #[getter]
    fn why(&self) -> &str {
        &self.0.why
    }

    /// Whether the library decided it.
    #[getter]
    fn automatic(&self) -> bool {
        self.0.automatic
    }

    fn __repr__(&self) -> String {
        format!("Change({})", sentence(&self.0))
    }
}

/// A change and why it was made.
pub fn sentence(change: &core::Change) -> String {
    if change.why.is_empty() { change.what.clone() } else { format!("{}: {}", change.what, change.why) }
}

/// A remark on a sweep.
#[pyclass(frozen, module = "litdiode")]
pub struct Finding(core::Finding);

plain!(Finding);

#[pymethods]
impl Finding {
    /// What it is about, in one word.
    #[getter]
    fn kind(&self) -> &'static str {
        self.0.kind.name()
    }

    /// The remark.
    #[getter]
    fn text(&self) -> &str {
        &self.0.text
    }

    /// The points it is about; empty where it is about the whole.
    #[getter]
    fn points(&self) -> Vec<usize> {
        self.0.points.clone()
    }

    fn __repr__(&self) -> String {
        format!("Finding({}: {})", self.0.kind.name(), self.0.text)
    }
}

/// A measured current–voltage sweep in generator sign.
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Sweep(pub core::Sweep);

plain!(Sweep);

#[pymethods]
impl Sweep {
    #[new]
    #[pyo3(signature = (voltage_v, current_a, **options), text_signature = "(voltage_v, current_a, *, swept=\"voltage\", \
        sign=\"auto\", leads=\"auto\", noise=None, area_cm2=None, irradiance_w_m2=None, temperature_c=25.0, cells=1, \
        time_s=None, label=None, changes=None)")]
    fn new(
        py: Python<'_>,
        voltage_v: &Bound<'_, PyAny>,
        current_a: &Bound<'_, PyAny>,
        options: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        let options = options_of(py, options)?;
        let (v, i) = (vector("voltage_v", voltage_v)?, vector("current_a", current_a)?);
        let sweep = py.detach(|| core::Sweep::new(&v, &i, options)).map_err(|e| input(py, e))?;
        for change in sweep.changes().iter().filter(|c| c.automatic) {
            warn(py, &sentence(change))?;
        }
        Ok(Self(sweep))
    }

    /// A sweep of the means of repeated readings, with the noise that their spread shows. `voltage_v` and `current_a`
    /// have one row a repetition and one column a set point; `options` are those of `Sweep`, of whose `noise` the gain
    /// and offset parts are kept.
    #[staticmethod]
    #[pyo3(signature = (voltage_v, current_a, **options))]
    fn from_repeats<'py>(
        py: Python<'py>,
        voltage_v: Vec<Bound<'py, PyAny>>,
        current_a: Vec<Bound<'py, PyAny>>,
        options: Option<&Bound<'py, PyDict>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let rows = |name: &str, rows: Vec<Bound<'py, PyAny>>| -> PyResult<Vec<Vec<f64>>> {
            rows.iter().enumerate().map(|(k, row)| vector(&format!("{name}[{k}]"), row)).collect()
        };
        let (v, a) = (rows("voltage_v", voltage_v)?, rows("current_a", current_a)?);
        let (mean_v, mean_a, noise) = core::means_of_repeats(&v, &a).map_err(|e| input(py, e))?;
        let options = options.map_or_else(|| Ok(PyDict::new(py)), |o| o.copy())?;
        let stated: Option<Noise> = match options.get_item("noise")? {
            Some(noise) => noise.extract()?,
            None => None,
        };
        let noise = match stated {
            Some(Noise(common)) => core::Noise {
                voltage_v: noise.voltage_v,
                voltage_rel: noise.voltage_rel,
                current_a: noise.current_a,
                current_rel: noise.current_rel,
                ..common
            },
            None => noise,
        };
        options.set_item("noise", Noise(noise))?;
        let arrays = (PyArray1::from_vec(py, mean_v), PyArray1::from_vec(py, mean_a));
        py.get_type::<Self>().call(arrays, Some(&options))
    }

    /// Voltages in V, generator sign, in the order of measurement.
    #[getter]
    fn voltage_v<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_slice(py, self.0.voltage_v())
    }

    /// Currents in A, generator sign, in the order of measurement.
    #[getter]
    fn current_a<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_slice(py, self.0.current_a())
    }

    /// Time of each point in s, where it was given.
    #[getter]
    fn time_s<'py>(&self, py: Python<'py>) -> Option<Bound<'py, PyArray1<f64>>> {
        self.0.options().time_s.as_ref().map(|t| PyArray1::from_slice(py, t))
    }

    /// What was done to the readings.
    #[getter]
    fn changes(&self) -> Vec<Change> {
        self.0.changes().iter().cloned().map(Change).collect()
    }

    /// Remarks on the sweep.
    #[getter]
    fn findings(&self) -> Vec<Finding> {
        self.0.findings().iter().cloned().map(Finding).collect()
    }

    /// The quantity that was stepped.
    #[getter]
    fn swept(&self) -> &'static str {
        match self.0.options().swept {
            core::Swept::Voltage => "voltage",
            core::Swept::Current => "current",
        }
    }

    /// Noise of the instrument, where it was given.
    #[getter]
    fn noise(&self) -> Option<Noise> {
        self.0.options().noise.map(Noise)
    }

    /// Illuminated area in cm².
    #[getter]
    fn area_cm2(&self) -> Option<Estimate> {
        self.0.options().area_cm2.clone().map(Estimate)
    }

    /// Irradiance in W/m².
    #[getter]
    fn irradiance_w_m2(&self) -> Option<Estimate> {
        self.0.options().irradiance_w_m2.clone().map(Estimate)
    }

    /// Temperature of the device in °C.
    #[getter]
    fn temperature_c(&self) -> f64 {
        self.0.options().temperature_c
    }

    /// Cells in series.
    #[getter]
    fn cells(&self) -> u32 {
        self.0.options().cells
    }

    /// A name.
    #[getter]
    fn label(&self) -> Option<&str> {
        self.0.options().label.as_deref()
    }

    /// Isc, Voc, Pmax, FF and what follows, from the curve alone. What the sweep does not reach is absent, unless it is
    /// named in `extrapolate`: "isc", "voc" or both. Such a figure is continued by up to a quarter of the range swept; its
    /// u holds what that costs, and its note says so.
    #[pyo3(signature = (*, extrapolate=Vec::new()), text_signature = "(self, *, extrapolate=())")]
    fn key_points(&self, py: Python<'_>, extrapolate: Vec<String>) -> PyResult<KeyPoints> {
        let mut beyond = curve::Beyond::default();
        for name in &extrapolate {
            match name.as_str() {
                "isc" => beyond.isc = true,
                "voc" => beyond.voc = true,
                _ => {
                    return Err(input(
                        py,
                        format!(
                            "extrapolate: {name:?} cannot be extrapolated; pass [\"isc\"], [\"voc\"] or both"
                        ),
                    ));
                }
            }
        }
        Ok(KeyPoints(py.detach(|| curve::key_points_beyond(&self.0, beyond))))
    }

    /// Draws current and power with the key points; returns the axes. See `litdiode.plots.plot_sweep`.
    #[pyo3(signature = (ax=None, **options))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        ax: Option<&Bound<'py, PyAny>>,
        options: Option<&Bound<'py, PyDict>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        draw("plot_sweep", slf.as_any(), ax, options)
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __repr__(&self) -> String {
        let label = self.label().map_or(String::new(), |l| format!("{l:?}, "));
        format!("Sweep({label}{})", self.summary())
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let label = self.label().map_or("Sweep".into(), escape);
        let figures = self.key_points(py, Vec::new())?;
        let table: String = Py::new(py, figures)?.call_method0(py, "_repr_html_")?.extract(py)?;
        let notes =
            self.0.changes().iter().map(sentence).chain(self.0.findings().iter().map(|f| f.text.clone()));
        let list: String = notes.map(|n| format!("<li>{}</li>", escape(&n))).collect();
        let list = if list.is_empty() { list } else { format!("<ul>{list}</ul>") };
        Ok(format!("<b>{label}</b> {}{table}{list}", escape(&self.summary())))
    }
}

impl Sweep {
    fn summary(&self) -> String {
        let ((v0, v1), (i0, i1)) = (core::range(self.0.voltage_v()), core::range(self.0.current_a()));
        format!("{} points, {v0:.4} to {v1:.4} V, {i0:.4e} to {i1:.4e} A", self.0.len())
    }
}

/// What a caller passes beside the readings.
pub fn options_of(py: Python<'_>, given: Option<&Bound<'_, PyDict>>) -> PyResult<core::SweepOptions> {
    let mut options = core::SweepOptions::default();
    for (name, value) in given.into_iter().flatten() {
        let name: String = name.extract()?;
        match name.as_str() {
            "swept" => options.swept = choice(py, &name, &value.extract::<String>()?, &SWEPT)?,
            "sign" => options.sign = choice(py, &name, &value.extract::<String>()?, &SIGN)?,
            "leads" => options.leads = choice(py, &name, &value.extract::<String>()?, &LEADS)?,
            "noise" => options.noise = value.extract::<Option<Noise>>()?.map(|n| n.0),
            "area_cm2" => options.area_cm2 = unless_none(&value, |a| quantity(&name, a, Unit::Cm2))?,
            "irradiance_w_m2" => {
                options.irradiance_w_m2 = unless_none(&value, |g| quantity(&name, g, Unit::WattPerM2))?;
            }
            "temperature_c" => options.temperature_c = value.extract()?,
            "cells" => options.cells = crate::input::cells(Some(&value))?,
            "time_s" => options.time_s = unless_none(&value, |t| vector(&name, t))?,
            "label" => options.label = value.extract()?,
            "changes" => {
                let made = |what: String| core::Change { what, why: String::new(), automatic: false };
                let texts = value.extract::<Option<Vec<String>>>()?.unwrap_or_default();
                options.changes = texts.into_iter().map(made).collect();
            }
            _ => return Err(PyTypeError::new_err(format!("a Sweep has no option {name}="))),
        }
    }
    Ok(options)
}

fn unless_none<'py, T>(
    value: &Bound<'py, PyAny>,
    read: impl Fn(&Bound<'py, PyAny>) -> PyResult<T>,
) -> PyResult<Option<T>> {
    if value.is_none() { Ok(None) } else { read(value).map(Some) }
}

pub const SWEPT: [(&str, core::Swept); 2] =
    [("voltage", core::Swept::Voltage), ("current", core::Swept::Current)];
const SIGN: [(&str, core::Sign); 3] =
    [("auto", core::Sign::Auto), ("generator", core::Sign::Generator), ("load", core::Sign::Load)];
const LEADS: [(&str, core::Leads); 3] =
    [("auto", core::Leads::Auto), ("as_given", core::Leads::AsGiven), ("swapped", core::Leads::Swapped)];

/// Calls a function of `litdiode.plots`, which is imported only then.
pub fn draw<'py>(
    function: &str,
    what: &Bound<'py, PyAny>,
    ax: Option<&Bound<'py, PyAny>>,
    options: Option<&Bound<'py, PyDict>>,
) -> PyResult<Bound<'py, PyAny>> {
    what.py().import("litdiode.plots")?.call_method(function, (what, ax), options)
}
