//! `Sweep`.

use crate::arguments::{choice, given, refuse_complex, vector, word};
use crate::change_finding::{Change, Finding};
use crate::correction::Correction;
use crate::error::{input, warn};
use crate::estimate::{Estimate, quantity};
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::noise::{Noise, noise};
use litdiode::estimate::Unit;
use litdiode::{remarks, sweep as core};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

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
/// - `corrections`: what is to be done to the readings, in order and before their sign is recognised: a list of `Offset`,
///   `SenseResistor`, `Gain`, `Calibration`, `LeadResistance`, `Leakage`, `DarkSweep` and `Monitor`.
///
/// - `outliers`: "keep" (the default: they are told as findings, with how far a figure moves without them), or "exclude": a reading
///   far off the curve through the others is left out of the sweep and recorded in `changes`; `raw()` has it still.
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

getters!(Sweep, sweep => {
    /// Voltages in V, generator sign, in the order of measurement.
    voltage_v(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, sweep.voltage_v()),
    /// Currents in A, generator sign, in the order of measurement.
    current_a(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, sweep.current_a()),
    /// Time of each point in s, where it was given.
    time_s(py): Option<Bound<'py, PyArray1<f64>>> =
        sweep.options().time_s.as_ref().map(|t| PyArray1::from_slice(py, t)),
    /// What was done to the readings, in order, as `Change`s.
    changes: Vec<Change> = sweep.changes().iter().cloned().map(Change).collect(),
    /// Remarks on the sweep, as `Finding`s; made anew at each call, which takes some fits.
    findings(py): PyResult<Vec<Finding>> = {
        let found = interruptible(py, || remarks::findings(sweep))?;
        Ok(found.into_iter().map(Finding).collect())
    },
    /// What was done to the readings before their sign was recognised, in order.
    corrections: Vec<Correction> = sweep.corrections().iter().cloned().map(Correction).collect(),
    /// The quantity that was stepped: "voltage" or "current".
    swept: &'static str = word(&sweep.options().swept, &SWEPT),
    /// Noise of the instrument, where it was given.
    noise: Option<Noise> = sweep.options().noise.map(Noise),
    /// Illuminated area in cm², where it was given.
    area_cm2: Option<Estimate> = sweep.options().area_cm2.clone().map(Estimate),
    /// Irradiance in W/m², where it was given.
    irradiance_w_m2: Option<Estimate> = sweep.options().irradiance_w_m2.clone().map(Estimate),
    /// Temperature of the device in °C.
    temperature_c: f64 = sweep.options().temperature_c,
    /// Cells in series.
    cells: u32 = sweep.options().cells,
    /// A name, where one was given.
    label: Option<&str> = sweep.options().label.as_deref(),
});

#[pymethods]
impl Sweep {
    #[new]
    #[pyo3(signature = (voltage_v, current_a, **options), text_signature = "(voltage_v, current_a, *, swept=\"voltage\", \
        sign=\"auto\", leads=\"auto\", noise=None, area_cm2=None, irradiance_w_m2=None, temperature_c=25.0, cells=1, \
        time_s=None, label=None, changes=None, corrections=None, outliers=\"keep\")")]
    fn new(
        py: Python<'_>,
        voltage_v: &Bound<'_, PyAny>,
        current_a: &Bound<'_, PyAny>,
        options: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<Self> {
        let settings = Settings::of(py, options)?;
        let (v, i) = (vector("voltage_v", voltage_v)?, vector("current_a", current_a)?);
        let sweep = interruptible(py, || settings.sweep(&v, &i))?.map_err(|e| input(py, e))?;
        for change in sweep.changes().iter().filter(|c| c.automatic) {
            warn(py, &change.to_string())?;
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
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> voltage_v = [[0.571, 0.560, 0.530, 0.101], [0.573, 0.558, 0.532, 0.097], [0.572, 0.559, 0.530, 0.099]]
    /// >>> current_a = [[0.0, 0.01, 0.02, 0.03]] * 3  # invented: steps of the current, three times
    /// >>> sweep = ld.Sweep.from_repeats(voltage_v, current_a, swept="current")
    /// >>> sweep.voltage_v.round(4).tolist()
    /// [0.572, 0.559, 0.5307, 0.099]
    /// >>> f"{1e3 * sweep.noise.voltage_v:.2f} mV"
    /// '0.78 mV'
    /// ```
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
        let (mean_v, mean_a, mut noise) = core::means_of_repeats(&v, &a).map_err(|e| input(py, e))?;
        // The noise is that of the corrected readings.
        let settings = options_of(py, options)?.noise(None);
        if !settings.corrections.is_empty() {
            let one = |(v, a): (&Vec<f64>, &Vec<f64>)| core::Sweep::new(v, a, settings.clone());
            let corrected: Result<Vec<_>, _> = v.iter().zip(&a).map(one).collect();
            let corrected = corrected.map_err(|e| input(py, e))?;
            let v: Vec<Vec<f64>> = corrected.iter().map(|s| s.voltage_v().to_vec()).collect();
            let a: Vec<Vec<f64>> = corrected.iter().map(|s| s.current_a().to_vec()).collect();
            noise = core::means_of_repeats(&v, &a).map_err(|e| input(py, e))?.2;
        }
        let options = options.map_or_else(|| Ok(PyDict::new(py)), |o| o.copy())?;
        let stated = options.get_item("noise")?.map_or(Ok(None), |given| crate::noise::noise(&given))?;
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

    /// The voltages in V and the currents in A as they came, before corrections and before the turn to generator sign.
    fn raw<'py>(&self, py: Python<'py>) -> (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>) {
        let (v, i) = self.0.raw();
        (PyArray1::from_vec(py, v), PyArray1::from_vec(py, i))
    }

    /// The sweep after further `corrections`, a list as that of `Sweep`; its readings are in generator sign by now, and
    /// `raw()` stays as it was.
    ///
    /// Raises `InputError` for what `Sweep` refuses.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    /// >>> better = sweep.correct([ld.LeadResistance(ld.Estimate(2.0, 0.1, unit="Ω"))])
    /// >>> print(better.voltage_v[:2], better.changes[0])
    /// [-0.04  0.26] Change(voltage corrected for leads of 2.00 ± 0.10 Ω: a correction that was asked for)
    /// ```
    fn correct(&self, py: Python<'_>, corrections: &Bound<'_, PyAny>) -> PyResult<Self> {
        let list = crate::correction::corrections("corrections", corrections)?;
        py.detach(|| self.0.correct(list)).map(Self).map_err(|e| input(py, e))
    }

    /// The scatter of the readings on the axis that was read, as the sweep itself shows it, as a `Noise`.
    ///
    /// ```text
    /// σ² = floor² + (rel·x)²        u(σ) = σ/√(2·scatter_dof)
    /// ```
    ///
    /// Gains, offsets and the other axis are those of the sweep's own `noise`. Raises `InputError`, with the reason, where the
    /// readings show no scatter, for instance where they are fewer than seven.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(points=60, noise_current_a=2e-5), seed=1)
    /// >>> found = sweep.estimate_noise()
    /// >>> bool(abs(found.current_a / 2e-5 - 1) < 3 / (2 * found.scatter_dof) ** 0.5)
    /// True
    /// ```
    fn estimate_noise(&self, py: Python<'_>) -> PyResult<Noise> {
        let found = interruptible(py, || litdiode::curve::estimate_noise(&self.0))?;
        found.map(Noise).map_err(|why| input(py, format!("the readings show no noise: {why}")))
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __repr__(&self) -> String {
        let label = self.0.options().label.as_ref().map_or(String::new(), |l| format!("{l:?}, "));
        format!("Sweep({label}{})", self.0.summary())
    }
}

/// What a caller passes beside the readings.
pub fn options_of(py: Python<'_>, named: Option<&Bound<'_, PyDict>>) -> PyResult<core::SweepOptions> {
    let text = |name: &str, value: &Bound<'_, PyAny>, cure: &str| given::<String>(name, value, cure);
    let mut options = core::SweepOptions::default();
    for (name, value) in named.into_iter().flatten() {
        let name: String = name.extract()?;
        match name.as_str() {
            "swept" => {
                options.swept =
                    choice(py, &name, &text(&name, &value, "\"voltage\" or \"current\"")?, &SWEPT)?
            }
            "sign" => {
                let cure = "\"auto\", \"generator\" or \"load\"";
                options.sign = choice(py, &name, &text(&name, &value, cure)?, &SIGN)?;
            }
            "leads" => {
                let cure = "\"auto\", \"as_given\" or \"swapped\"";
                options.leads = choice(py, &name, &text(&name, &value, cure)?, &LEADS)?;
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
            "cells" => options.cells = crate::arguments::cells(Some(&value))?,
            "time_s" => options.time_s = unless_none(&value, |t| vector(&name, t))?,
            "label" => options.label = given(&name, &value, "a text or None")?,
            "corrections" => options.corrections = crate::correction::corrections(&name, &value)?,
            // What is done with outliers needs the sweep.
            "outliers" => {}
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

/// Whether outliers are to be left out.
pub fn excludes_outliers(py: Python<'_>, options: Option<&Bound<'_, PyDict>>) -> PyResult<bool> {
    let Some(value) = options.and_then(|o| o.get_item("outliers").transpose()).transpose()? else {
        return Ok(false);
    };
    if value.is_none() {
        return Ok(false);
    }
    let word: String = given("outliers", &value, "\"keep\" or \"exclude\"")?;
    choice(py, "outliers", &word, &[("keep", false), ("exclude", true)])
}

/// What a caller passes beside the readings, and what is to become of outliers.
pub struct Settings {
    options: core::SweepOptions,
    exclude_outliers: bool,
}

impl Settings {
    /// From the named arguments.
    pub fn of(py: Python<'_>, named: Option<&Bound<'_, PyDict>>) -> PyResult<Self> {
        let exclude_outliers = excludes_outliers(py, named)?;
        Ok(Self { options: options_of(py, named)?, exclude_outliers })
    }

    /// The sweep of these readings.
    pub fn sweep(&self, voltage_v: &[f64], current_a: &[f64]) -> Result<core::Sweep, core::SweepError> {
        let sweep = core::Sweep::new(voltage_v, current_a, self.options.clone())?;
        if self.exclude_outliers { without_outliers(&sweep) } else { Ok(sweep) }
    }
}

/// The sweep without its outliers.
pub fn without_outliers(sweep: &core::Sweep) -> Result<core::Sweep, core::SweepError> {
    remarks::without_outliers(sweep).map(|found| found.0)
}

fn unless_none<'py, T>(
    value: &Bound<'py, PyAny>,
    read: impl Fn(&Bound<'py, PyAny>) -> PyResult<T>,
) -> PyResult<Option<T>> {
    if value.is_none() { Ok(None) } else { read(value).map(Some) }
}

pub const SWEPT: [(&str, core::Swept); 2] =
    [("voltage", core::Swept::Voltage), ("current", core::Swept::Current)];
pub const SIGN: [(&str, core::Sign); 3] =
    [("auto", core::Sign::Auto), ("generator", core::Sign::Generator), ("load", core::Sign::Load)];
pub const LEADS: [(&str, core::Leads); 3] =
    [("auto", core::Leads::Auto), ("as_given", core::Leads::AsGiven), ("swapped", core::Leads::Swapped)];

/// Sweeps, or an `InputError` that names the first that is none.
pub fn sweeps(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<core::Sweep>> {
    let py = given.py();
    let listed = given.try_iter().map_err(|_| {
        input(py, format!("{name} = {given:?} is no list of sweeps; pass a list of litdiode.Sweep"))
    })?;
    let one = |(index, entry): (usize, PyResult<Bound<'_, PyAny>>)| {
        let entry = entry?;
        let sweep = entry.extract::<Sweep>();
        sweep.map(|s| s.0).map_err(|_| {
            input(py, format!("{name}[{index}] = {entry:?} is no Sweep; pass a list of litdiode.Sweep"))
        })
    };
    listed.enumerate().map(one).collect()
}
