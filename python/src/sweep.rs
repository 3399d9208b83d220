//! `Noise`, `Change`, `Finding`, `Sweep`.

use crate::error::{input, warn};
use crate::estimate::Estimate;
use crate::input::{choice, given, named, noise, quantity, refuse_complex, vector, words};
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::key_points::{KeyPoints, escape};
use litdiode::estimate::Unit;
use litdiode::quantity_format::span;
use litdiode::{curve, remarks, sweep as core};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Standard uncertainties of an instrument, in SI units; a part that is 0 is not stated.
///
/// ```text
/// σ² = floor² + (rel·x)² + step²/12        scatter of one reading of the size x, on each axis
/// ```
///
/// Floor, proportional part and step are independent from point to point and average down. A gain or an offset is
/// common to all points: it does not average down, and is added to the figures after the fit. For the weight of a
/// current, x is taken from the fitted curve or from a smooth, not from the reading itself. The 1/12 of the step is
/// that of a rectangular distribution (JCGM 100:2008, 4.3.7).
///
/// - `voltage_v`, `current_a`: floor of the scatter in V and in A.
/// - `voltage_rel`, `current_rel`: scatter as a share of the reading; needs a floor or a step on its axis.
/// - `voltage_step_v`, `current_step_a`: quantisation step in V and in A.
/// - `voltage_gain_u`, `current_gain_u`: standard uncertainty of the gain as a share; 0.005 is half a per cent.
/// - `voltage_offset_u`, `current_offset_u`: standard uncertainty of the offset in V and in A.
/// - `scatter_dof`: degrees of freedom behind the scatter where it was estimated; 0 for a scatter that is known. Key points
///   without a model then use Student's t; fits take the scatter as known.
///
/// All are single numbers by keyword, 0 unless given. Raises `InputError` for a part that is negative or not finite,
/// and for a proportional part without a floor, which leaves a reading of 0 no uncertainty at all.
///
/// ```python
/// >>> import litdiode as ld
/// >>> ld.Noise(current_a=1e-5, current_rel=0.002, current_gain_u=0.005)
/// Noise(current_a=0.00001, current_rel=0.002, current_gain_u=0.005)
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Noise(pub core::Noise);

plain!(Noise);

macro_rules! noise {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        #[pymethods]
        impl Noise {
            #[new]
            #[pyo3(signature = (*, $($name=0.0),*))]
            #[allow(clippy::too_many_arguments)]
            fn new(py: Python<'_>, $(#[pyo3(from_py_with = named::$name)] $name: f64),*) -> PyResult<Self> {
                let noise = core::Noise::default()$(.$name($name))*;
                noise.validate().map_err(|e| input(py, e))?;
                Ok(Self(noise))
            }

            $(
                $(#[$doc])*
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
    /// Floor of the voltage's scatter in V.
    voltage_v,
    /// Floor of the current's scatter in A.
    current_a,
    /// Scatter of a voltage as a share of it.
    voltage_rel,
    /// Scatter of a current as a share of it.
    current_rel,
    /// Quantisation step of the voltage in V.
    voltage_step_v,
    /// Quantisation step of the current in A.
    current_step_a,
    /// Standard uncertainty of the voltage gain, a share.
    voltage_gain_u,
    /// Standard uncertainty of the current gain, a share.
    current_gain_u,
    /// Standard uncertainty of the voltage offset in V.
    voltage_offset_u,
    /// Standard uncertainty of the current offset in A.
    current_offset_u,
    /// Degrees of freedom behind the scatter; 0 where it is known.
    scatter_dof,
);

/// What was done to the readings, and why: an entry of `Sweep.changes`.
///
/// What the library decided by itself (`automatic`) is warned of with a `LitdiodeWarning` when the sweep is made.
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

    /// The evidence, or the option that asked for it; empty for what a caller or a reader of files recorded.
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

/// A remark on a sweep that its figures do not show by themselves: an entry of `Sweep.findings`.
///
/// `kind` is one of
///
/// - "negative_voltage": power is delivered at V < 0, after the leads were taken as given;
/// - "short_of_isc", "short_of_voc": the readings do not reach V = 0, or I = 0;
/// - "few_points": fewer than 10 readings;
/// - "clipped": three or more readings in a row at exactly the lowest or the highest current;
/// - "turns_back": the voltage goes one way and comes back by more than half of it; `points` holds the turn;
/// - "current_stepped": the currents rise in even steps and the voltages do not, though the voltage counts as set;
/// - "sign_contradicted": with the `sign` that was passed the current rises with voltage;
/// - "outlier": a reading far from the diode curve through the others, `points` holds it: its studentised deleted
///   residual is beyond chance, and at least three times as large as every other residual, and the curve of the key
///   points through the others contradicts it (so none is told among fewer than 8 readings). Of readings 15 to 40 σ off
///   on diodes, 82 to 89 % are found among 25, 64 to 73 % among 15, 54 to 59 % among 10; of S-shapes with 10 and 15
///   readings 2 to 4 % have a false one;
/// - "scatter": the readings scatter more than the stated noise, beyond doubt;
/// - "implausible": a figure that no device has: Voc per cell above 3 V, a current density above that of all photons of
///   sunlight, an efficiency above 100 % or above the detailed-balance limit of one junction, 33.77 %, a temperature above
///   200 °C (kelvin), a fill factor that no junction of so low a voltage has (exchanged columns, too many `cells`).
#[pyclass(frozen, module = "litdiode")]
pub struct Finding(pub core::Finding);

plain!(Finding);

#[pymethods]
impl Finding {
    /// What it is about, in one word; the class lists them.
    #[getter]
    fn kind(&self) -> &'static str {
        self.0.kind.name()
    }

    /// The remark, in one sentence.
    #[getter]
    fn text(&self) -> &str {
        &self.0.text
    }

    /// Indices of the points it is about; empty where it is about the whole.
    #[getter]
    fn points(&self) -> Vec<usize> {
        self.0.points.clone()
    }

    fn __repr__(&self) -> String {
        format!("Finding({}: {})", self.0.kind.name(), self.0.text)
    }
}

/// A measured current–voltage sweep, checked and turned to generator sign: under light I > 0 at V = 0, V > 0 at I = 0.
///
/// - `voltage_v`, `current_a`: the readings in V and A, one-dimensional and of one length, two or more, in the order of
///   measurement, upwards or downwards.
/// - `swept`: the quantity that was stepped, "voltage" or "current"; the other was read, and carries the scatter where
///   `noise` states none.
/// - `sign`: "generator" (I > 0 is delivered), "load" (I > 0 flows into the device: the current is turned), or "auto":
///   load sign where the current rises with voltage.
/// - `leads`: "as_given", "swapped" (both axes are turned), or "auto": swapped where the power is delivered at V < 0
///   and I < 0; in the dark, where the device conducts better at V < 0.
/// - `noise`: the `Noise` of the instrument; without it every ± comes from the scatter of the readings.
/// - `area_cm2`, `irradiance_w_m2`: illuminated area in cm² and irradiance in W/m², each a number above 0 or an
///   `Estimate`; Jsc and the efficiency need them.
/// - `temperature_c`: temperature of the device in °C, one number.
/// - `cells`: cells in series, a whole number.
/// - `time_s`: time of each reading in s, or None.
/// - `label`: a name, or None.
/// - `changes`: texts on what was done to the readings before, recorded first in `Sweep.changes`.
///
/// Each turn is recorded in `changes`; one that "auto" decided is a `LitdiodeWarning` as well. Raises `InputError`,
/// naming argument, index, value and cure, for lengths that differ, a reading that is not finite or an over-range mark
/// (9.9e37 or more, common practice), readings at one voltage only or all without current, two readings at one voltage
/// that no scatter explains (8 combined standard uncertainties; a fifth of the current's span where no scatter is
/// stated), an option outside its domain, and a sign or a polarity that the data do not show. An unknown option is a
/// `TypeError`.
///
/// ```python
/// >>> import litdiode as ld
/// >>> ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], label="invented")
/// Sweep("invented", 5 points, −0.1000 to 0.6000 V, −41.00 to 30.00 mA)
/// ```
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

    /// A sweep of the means of repeated readings, with the noise that their spread shows.
    ///
    /// ```text
    /// min Σ ν/2·[ln σᵢ² + sᵢ²/σᵢ²]     σᵢ² = floor² + (rel·x̄ᵢ)²     sᵢ²: variance at set point i on ν = m − 1
    /// ```
    ///
    /// - `voltage_v`, `current_a`: readings in V and A, one row a repetition and one column a set point, m ≥ 2 rows
    ///   each.
    /// - `options`: those of `Sweep`. Of a stated `noise` the floors and proportional parts are replaced by those
    ///   found, the other parts kept.
    ///
    /// A mean of m readings scatters by 1/√m of the σ found; an axis that never varies is not stated. Raises
    /// `InputError` for fewer than two rows, rows of unequal length, and whatever `Sweep` refuses.
    #[staticmethod]
    #[pyo3(signature = (voltage_v, current_a, **options))]
    fn from_repeats<'py>(
        py: Python<'py>,
        voltage_v: &Bound<'py, PyAny>,
        current_a: &Bound<'py, PyAny>,
        options: Option<&Bound<'py, PyDict>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let rows = |name: &str, rows: &Bound<'py, PyAny>| -> PyResult<Vec<Vec<f64>>> {
            let cure = "a list of rows, one a repetition";
            let rows: Vec<Bound<'py, PyAny>> = given(name, rows, cure)?;
            rows.iter().enumerate().map(|(k, row)| vector(&format!("{name}[{k}]"), row)).collect()
        };
        let (v, a) = (rows("voltage_v", voltage_v)?, rows("current_a", current_a)?);
        let (mean_v, mean_a, noise) = core::means_of_repeats(&v, &a).map_err(|e| input(py, e))?;
        let options = options.map_or_else(|| Ok(PyDict::new(py)), |o| o.copy())?;
        let stated = options.get_item("noise")?.map_or(Ok(None), |given| crate::input::noise(&given))?;
        let noise = match stated {
            Some(common) => common
                .voltage_v(noise.voltage_v)
                .voltage_rel(noise.voltage_rel)
                .current_a(noise.current_a)
                .current_rel(noise.current_rel)
                .scatter_dof(noise.scatter_dof),
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

    /// What was done to the readings, in order, as `Change`s.
    #[getter]
    fn changes(&self) -> Vec<Change> {
        self.0.changes().iter().cloned().map(Change).collect()
    }

    /// Remarks on the sweep, as `Finding`s; made anew at each call, which takes some fits.
    #[getter]
    fn findings(&self, py: Python<'_>) -> PyResult<Vec<Finding>> {
        let found = interruptible(py, || remarks::findings(&self.0))?;
        Ok(found.into_iter().map(Finding).collect())
    }

    /// The quantity that was stepped: "voltage" or "current".
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

    /// Illuminated area in cm², where it was given.
    #[getter]
    fn area_cm2(&self) -> Option<Estimate> {
        self.0.options().area_cm2.clone().map(Estimate)
    }

    /// Irradiance in W/m², where it was given.
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

    /// A name, where one was given.
    #[getter]
    fn label(&self) -> Option<&str> {
        self.0.options().label.as_deref()
    }

    /// Isc, Voc, Pmax, FF and what follows, each with its ±, from the curve alone: without a model of the device.
    ///
    /// ```text
    /// curve: a quick diode fit (the pilot) + a Gaussian process of what the readings differ by from it
    /// Isc = I(0)        Voc = V(0)        Pmax: maximum of V·I(V)        FF = Pmax/(Isc·Voc)
    /// ```
    ///
    /// The quantity that was set counts as exact, the one that was read as noisy: say `swept="current"` to `Sweep` where
    /// the current was stepped. Where the pilot fits, the figures are nearly those of a fit; where it does not (an
    /// S-shape), they follow the readings. docs/key_points.md shows how often the intervals hold.
    ///
    /// - `extrapolate`: "isc", "voc" or both in a list or tuple. Such a figure is continued by up to a quarter of the range
    ///   swept; its u holds what that costs, and its note says so. Otherwise what the sweep does not reach is absent.
    ///
    /// Returns `KeyPoints`. The ± is that of the stated noise (infinite `dof`) or of the scatter found in the sweep,
    /// carried through with the correlations, with the stated gains and offsets, and with what the curve may do between
    /// the readings. Raises `InputError` for an unknown name in `extrapolate`; readings that give no figure are
    /// no error: `absent` says why.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> points = sweep.key_points()
    /// >>> round(points.voc.value, 2), points.voc.unit, points.jsc
    /// (0.57, 'V', None)
    /// ```
    #[pyo3(signature = (*, extrapolate=None), text_signature = "(self, *, extrapolate=())")]
    fn key_points(&self, py: Python<'_>, extrapolate: Option<&Bound<'_, PyAny>>) -> PyResult<KeyPoints> {
        let mut beyond = curve::Beyond::default();
        let named = extrapolate.map_or(Ok(Vec::new()), |given| words("extrapolate", given, "[\"isc\"]"))?;
        for name in &named {
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
        Ok(KeyPoints::of(interruptible(py, || curve::key_points_beyond(&self.0, beyond))?, &self.0))
    }

    /// Draws current and power with the key points into `ax` (a new figure if None); returns the axes of both.
    ///
    /// `options` are those of `litdiode.plots.plot_sweep`: `level=0.95`, of the intervals.
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
        // The remarks stand in the list below, with the changes.
        let figures = KeyPoints::from(interruptible(py, || curve::key_points(&self.0))?);
        let table: String = Py::new(py, figures)?.call_method0(py, "_repr_html_")?.extract(py)?;
        let findings = interruptible(py, || remarks::findings(&self.0))?;
        let notes = self.0.changes().iter().map(sentence).chain(findings.into_iter().map(|f| f.text));
        let list: String = notes.map(|n| format!("<li>{}</li>", escape(&n))).collect();
        let list = if list.is_empty() { list } else { format!("<ul>{list}</ul>") };
        Ok(format!("<b>{label}</b> {}{table}{list}", escape(&self.summary())))
    }
}

impl Sweep {
    fn summary(&self) -> String {
        let ((v0, v1), (i0, i1)) = (core::range(self.0.voltage_v()), core::range(self.0.current_a()));
        format!("{} points, {}, {}", self.0.len(), span(v0, v1, "V"), span(i0, i1, "A"))
    }
}

/// What a caller passes beside the readings.
pub fn options_of(py: Python<'_>, named: Option<&Bound<'_, PyDict>>) -> PyResult<core::SweepOptions> {
    let word = |name: &str, value: &Bound<'_, PyAny>, cure: &str| given::<String>(name, value, cure);
    let mut options = core::SweepOptions::default();
    for (name, value) in named.into_iter().flatten() {
        let name: String = name.extract()?;
        match name.as_str() {
            "swept" => {
                options.swept =
                    choice(py, &name, &word(&name, &value, "\"voltage\" or \"current\"")?, &SWEPT)?
            }
            "sign" => {
                let cure = "\"auto\", \"generator\" or \"load\"";
                options.sign = choice(py, &name, &word(&name, &value, cure)?, &SIGN)?;
            }
            "leads" => {
                let cure = "\"auto\", \"as_given\" or \"swapped\"";
                options.leads = choice(py, &name, &word(&name, &value, cure)?, &LEADS)?;
            }
            "noise" => options.noise = noise(&value)?,
            "area_cm2" => options.area_cm2 = unless_none(&value, |a| quantity(&name, a, Unit::Cm2))?,
            "irradiance_w_m2" => {
                options.irradiance_w_m2 = unless_none(&value, |g| quantity(&name, g, Unit::WattPerM2))?;
            }
            "temperature_c" => {
                refuse_complex(&name, &value)?;
                options.temperature_c = given(&name, &value, "a temperature in °C, such as 25.0")?;
            }
            "cells" => options.cells = crate::input::cells(Some(&value))?,
            "time_s" => options.time_s = unless_none(&value, |t| vector(&name, t))?,
            "label" => options.label = given(&name, &value, "a text or None")?,
            "changes" => {
                let made = |what: String| core::Change::asked_for(what, "");
                let texts =
                    given::<Option<Vec<String>>>(&name, &value, "a list of texts")?.unwrap_or_default();
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
