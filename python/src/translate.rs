//! `Sweep.translate`, `translate_between`, `Translated`.

use crate::arguments::named;
use crate::error::input;
use crate::getters::getters;
use crate::iec60891_parameters::{Procedure1, Procedure2};
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::key_points::KeyPoints;
use crate::sweep::Sweep;
use litdiode::sweep as readings;
use litdiode::translate::{self as core, Target, TranslateError};
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use serde::{Deserialize, Serialize};

/// A translation and the sweeps it started from.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub struct Carried {
    procedure: u8,
    translated: core::Translated,
    origins: Vec<readings::Sweep>,
}

/// A sweep at another irradiance and temperature, with what the uncertain inputs of the translation do to it.
///
/// ```text
/// e_k = u(x_k)·(∂V/∂x_k, ∂I/∂x_k) at every point          Cov(point i, point j) = Σk e_k(i)·e_k(j)ᵀ
/// ```
///
/// Each input x_k (a parameter, the measured irradiance, Isc or Voc of the sweep) moves all points together (JCGM
/// 100:2008, 5.2.2). From `Sweep.translate` and `translate_between`; `len` is the number of points.
///
/// ```python
/// >>> import litdiode as ld
/// >>> rs = ld.Estimate(0.4, 0.1, unit="Ω")  # invented
/// >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=rs, kappa_ohm_per_k=0.002)
/// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
/// >>> there = sweep.translate(rules, irradiance_w_m2=1000)
/// >>> list(there.effects), (1e3 * there.u_voltage_v).round(2).tolist()
/// (['rs'], [0.33, 0.33, 0.33, 0.33, 0.33])
/// >>> print(there.key_points().voc)
/// 0.5504 V
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Translated(Carried);

plain!(Translated);

#[pymethods]
impl Sweep {
    /// The sweep at another irradiance and temperature by procedure 1 or 2 of IEC 60891, a `Translated`.
    ///
    /// - `parameters`: a `Procedure1` or a `Procedure2`; their classes hold the equations.
    /// - `irradiance_w_m2`: that of the target in W/m², above 0; that of the sweep unless given.
    /// - `temperature_c`: that of the target in °C; that of the sweep unless given.
    ///
    /// The target counts as exact; the uncertainty of the measured irradiance lies on the points. Conditions beyond the
    /// range of the parameters, and inputs without uncertainty, are told in `Translated.warnings`. Procedure 3, between
    /// two sweeps, is `translate_between`. Raises `InputError` for a sweep without irradiance, or without the Isc (1) or
    /// Voc (2) that is needed.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)
    /// >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
    /// >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
    /// >>> there = sweep.translate(rules, irradiance_w_m2=1000, temperature_c=35)
    /// >>> there.sweep.current_a.round(4).tolist()
    /// [0.0335, 0.0335, 0.0315, 0.0205, -0.0375]
    /// >>> there.warnings[0]
    /// 'irradiance_w_m2 has no uncertainty: the ± leaves it out'
    /// ```
    #[pyo3(signature = (parameters, *, irradiance_w_m2=None, temperature_c=None))]
    fn translate(
        &self,
        py: Python<'_>,
        parameters: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = named::irradiance_w_m2)] irradiance_w_m2: Option<f64>,
        #[pyo3(from_py_with = named::temperature_c)] temperature_c: Option<f64>,
    ) -> PyResult<Translated> {
        let options = self.0.options();
        let measured = options.irradiance_w_m2.as_ref().map(|g| g.value);
        let light = irradiance_w_m2
            .or(measured)
            .ok_or_else(|| input(py, TranslateError::NoIrradiance { index: 0 }))?;
        let target =
            Target { irradiance_w_m2: light, temperature_c: temperature_c.unwrap_or(options.temperature_c) };
        let (procedure, made) = if let Ok(with) = parameters.extract::<Procedure1>() {
            (1, interruptible(py, || core::procedure_1(&self.0, &target, &with.0))?)
        } else if let Ok(with) = parameters.extract::<Procedure2>() {
            (2, interruptible(py, || core::procedure_2(&self.0, &target, &with.0))?)
        } else {
            let cure = "pass a Procedure1 or a Procedure2";
            return Err(input(
                py,
                format!("parameters = {parameters:?} is neither of both procedures; {cure}"),
            ));
        };
        let translated = made.map_err(|e| input(py, e))?;
        Ok(Translated(Carried { procedure, translated, origins: vec![self.0.clone()] }))
    }
}

/// Between two sweeps of one device by procedure 3 of IEC 60891, without any parameter, a `Translated`.
///
/// ```text
/// X3 = X1 + c·(X2 − X1),  X = V, I, G, T        for pairs of points with I2 − I1 = Isc2 − Isc1
/// ```
///
/// - `first`, `second`: the `Sweep`s, each with its irradiance.
/// - `c`: the share of the way, 0 for the first sweep and 1 for the second; beyond them it extrapolates.
/// - `irradiance_w_m2`, `temperature_c`: instead of `c`, the irradiance in W/m² or the temperature in °C to be reached.
/// - `correlation`: that of the errors of the two irradiances, −1 to 1: 1 for one reference device, 0 for two; 0 unless
///   given.
///
/// The pairs are found on smooth curves. Extrapolation, and points without a partner, which are left out, are told in
/// `Translated.warnings`. The scatter of both sweeps is carried, (1 − c) and c times; gains and offsets are those of the
/// first. Raises
/// `InputError` unless exactly one of the three is given, and for a sweep without irradiance or Isc, a target without
/// light, and fewer than five pairs. Source: IEC 60891:2009, clause 3.4 (from memory).
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2):
/// ...     voltage_v, current_a = cell.at(irradiance_w_m2).curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2)
/// >>> found = ld.translate_between(at(500), at(1000), irradiance_w_m2=800)
/// >>> f"{found.key_points().isc.value:.4f} A", round(found.sweep.irradiance_w_m2.value)
/// ('0.0240 A', 800)
/// ```
#[pyfunction]
#[pyo3(signature = (first, second, c=None, *, irradiance_w_m2=None, temperature_c=None, correlation=0.0))]
pub fn translate_between(
    py: Python<'_>,
    #[pyo3(from_py_with = named::first)] first: Bound<'_, Sweep>,
    #[pyo3(from_py_with = named::second)] second: Bound<'_, Sweep>,
    #[pyo3(from_py_with = named::c)] c: Option<f64>,
    #[pyo3(from_py_with = named::irradiance_w_m2)] irradiance_w_m2: Option<f64>,
    #[pyo3(from_py_with = named::temperature_c)] temperature_c: Option<f64>,
    #[pyo3(from_py_with = named::correlation)] correlation: f64,
) -> PyResult<Translated> {
    let (first, second) = (first.get(), second.get());
    let c = match (c, irradiance_w_m2, temperature_c) {
        (Some(c), None, None) => Ok(c),
        (None, Some(light), None) => core::share_for_irradiance(&first.0, &second.0, light),
        (None, None, Some(warmth)) => core::share_for_temperature(&first.0, &second.0, warmth),
        _ => {
            return Err(input(
                py,
                "pass one of c, irradiance_w_m2 and temperature_c: each alone fixes the others",
            ));
        }
    };
    let made = c.and_then(|c| py.detach(|| core::procedure_3(&first.0, &second.0, c, correlation)));
    let translated = made.map_err(|e| input(py, e))?;
    Ok(Translated(Carried { procedure: 3, translated, origins: vec![first.0.clone(), second.0.clone()] }))
}

getters!(Translated, carried => {
    /// The procedure of IEC 60891: 1, 2 or 3.
    procedure: u8 = carried.procedure,
    /// The points at the target as a sweep, for fits and all else. It carries what the scatter of the readings and the
    /// inputs do to its points, so that its own key points have the same u as `key_points`; a fit of it holds the scatter
    /// alone. The translation is the last of its changes.
    sweep: Sweep = Sweep(carried.translated.sweep.clone()),
    /// The measured sweeps it started from: one, or two for procedure 3.
    origins: Vec<Sweep> = carried.origins.iter().cloned().map(Sweep).collect(),
    /// What must be known before the points are believed, in sentences.
    warnings: Vec<String> = carried.translated.warnings.iter().map(ToString::to_string).collect(),
    /// What one standard uncertainty of each uncertain input does to all points: name to (change of each voltage in V,
    /// change of each current in A).
    effects(py): PyResult<Bound<'py, PyDict>> = {
        let found = PyDict::new(py);
        for e in carried.translated.effects() {
            let array = |x: &[f64]| PyArray1::from_slice(py, x);
            found.set_item(&e.name, (array(&e.voltage_v), array(&e.current_a)))?;
        }
        Ok(found)
    },
    /// Standard uncertainty in A that the inputs add to the current of each point.
    u_current_a(py): Bound<'py, PyArray1<f64>> = PyArray1::from_vec(py, carried.translated.u_current_a()),
    /// Standard uncertainty in V that the inputs add to the voltage of each point.
    u_voltage_v(py): Bound<'py, PyArray1<f64>> = PyArray1::from_vec(py, carried.translated.u_voltage_v()),
});

#[pymethods]
impl Translated {
    /// Covariance that the inputs add between (V, I) of the points `i` and `j`, counted from 0: a 2 × 2 array in SI
    /// units, rows of `i`, columns of `j`. Raises `InputError` where there is no such point.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> rs = ld.Estimate(0.4, 0.1, unit="Ω")  # invented
    /// >>> rules = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=rs, kappa_ohm_per_k=0.002)
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
    /// >>> there = sweep.translate(rules, irradiance_w_m2=1000)
    /// >>> u_v = there.u_voltage_v
    /// >>> abs(float(there.covariance(1, 3)[0, 0]) - float(u_v[1] * u_v[3])) < 1e-12  # both points move together
    /// True
    /// ```
    fn covariance<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = named::i)] i: i64,
        #[pyo3(from_py_with = named::j)] j: i64,
    ) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let points = self.0.translated.sweep.len();
        let point = |name: &str, k: i64| {
            usize::try_from(k)
                .ok()
                .filter(|k| *k < points)
                .ok_or_else(|| input(py, format!("{name} = {k} is no point; pass 0 to {}", points - 1)))
        };
        let (first, second) = (point("i", i)?, point("j", j)?);
        let found = self.0.translated.covariance(first, second).unwrap_or_default();
        PyArray1::from_slice(py, found.as_flattened()).reshape([2, 2])
    }

    /// Key points at the target, as `KeyPoints`, with everything in their uncertainties: scatter, calibration, and the
    /// inputs.
    fn key_points(&self, py: Python<'_>) -> KeyPoints {
        py.detach(|| self.0.translated.key_points()).into()
    }

    fn __len__(&self) -> usize {
        self.0.translated.sweep.len()
    }

    fn __repr__(&self) -> String {
        let at = |sweep: &readings::Sweep| {
            let options = sweep.options();
            let light = options.irradiance_w_m2.as_ref().map_or(f64::NAN, |g| g.value);
            format!("{light} W/m², {} °C", options.temperature_c)
        };
        let from: Vec<String> = self.0.origins.iter().map(at).collect();
        let warnings: String =
            self.0.translated.warnings.iter().map(|w| format!("\n  warning: {w}")).collect();
        format!(
            "Translated(procedure {}, from {} to {}, {} points){warnings}",
            self.0.procedure,
            from.join(" and "),
            at(&self.0.translated.sweep),
            self.__len__()
        )
    }
}
