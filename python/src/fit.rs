//! `Fit`.

use crate::arguments::{choice, count, named, probability, threads_of, vector};
use crate::error::input;
use crate::estimate::{Estimate, Interval, render};
use crate::getters::getters;
use crate::interrupt::{interruptible, watched};
use crate::json::plain;
use crate::key_points::{KeyPoints, escape};
use crate::model::{DoubleDiode, SingleDiode};
use crate::progress::Progress;
use crate::resample::{Resample, SCATTERS};
use crate::sweep::Sweep;
use litdiode::fit as core;
use litdiode::quantity_format::between;
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::exceptions::PyAttributeError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use serde::{Deserialize, Serialize};

/// A fit of one or of two diodes.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub enum Either {
    One(core::Fit<1>),
    Two(core::Fit<2>),
}

/// A fitted diode model with its uncertainties, from `fit_single_diode`, `fit_double_diode` or `fit_many`.
///
/// `model` is the fitted curve, `parameters` its numbers with their ± (`fit.rs` is `fit.parameters["rs"]`), `status` how
/// far they can be believed and `notes` what must be known with them. The ± is first order, from the covariance at the
/// optimum:
///
/// ```text
/// C = s²·(JᵀJ)⁻¹ + common gains and offsets        J: ∂r/∂(Iph, ln I0, ln a, Rs, 1/Rsh) of the weighted residuals r
/// s² = 1 where the noise is stated (`noise_stated`, infinite dof), else χ²/ν with ν = points − free parameters
/// ```
///
/// `status` is the first that holds of
///
/// - "not_converged": the solver found no optimum, or its budget or deadline ended before; the last good state is given;
/// - "not_identified": the data leave at least one parameter open, or do not support the second diode, or show no
///   current beyond noise (this before "not_converged");
/// - "at_bound": an optimum with a parameter at its bound, which gets a one-sided interval and no ±;
/// - "converged": an optimum inside the bounds.
///
/// `str(fit)` shows all of it, for a figure whose interval is the profile's with that interval in place of ±.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
/// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
/// >>> fit = ld.fit_single_diode(sweep)
/// >>> fit.status, fit.residual, f"{1e3 * fit.rms:.2f} mV"
/// ('converged', 'voltage', '0.49 mV')
/// >>> print(fit.n, fit.rs, sep="; ")
/// 1.273 ± 0.022; 549 ± 45 mΩ
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Fit(pub Either);

plain!(Fit);

/// Runs the same expression on either fit.
macro_rules! on {
    ($fit:expr, $inner:ident => $body:expr) => {
        match $fit {
            Either::One($inner) => $body,
            Either::Two($inner) => $body,
        }
    };
}

impl Either {
    /// The sources of the uncertainty of a figure.
    pub fn budget(&self, figure: core::Figure) -> Result<litdiode::budget::Budget, litdiode::reason::Reason> {
        on!(self, f => f.budget(figure))
    }

    /// The status in one word.
    pub fn status(&self) -> &'static str {
        on!(self, f => f.status.name())
    }

    pub fn rms(&self) -> f64 {
        on!(self, f => f.rms)
    }

    pub fn chi2(&self) -> f64 {
        on!(self, f => f.chi2)
    }

    pub fn dof(&self) -> usize {
        on!(self, f => f.dof)
    }

    /// The names of the parameters.
    fn known(&self) -> String {
        self.parameters().iter().map(|p| p.0.name()).collect::<Vec<_>>().join(", ")
    }

    /// Every parameter.
    pub fn parameters(&self) -> &[(core::Parameter, litdiode::estimate::Estimate)] {
        on!(self, f => &f.parameters)
    }

    pub fn key_points(&self) -> litdiode::key_points::KeyPoints {
        on!(self, f => f.key_points())
    }

    /// Its own notes and the remarks on its sweep.
    pub fn notes(&self) -> Vec<String> {
        on!(self, f => f.notes.iter().map(ToString::to_string).chain(on_readings(&f.sweep)).collect())
    }
}

/// Where an interval comes from.
#[derive(Clone, Copy)]
enum Method {
    Default,
    Linear,
    Profile,
}

const METHODS: [(&str, Method); 3] =
    [("default", Method::Default), ("linear", Method::Linear), ("profile", Method::Profile)];

/// Lower and upper end of a band.
type Band<'py> = (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>);

getters!(Fit, fit => {
    /// The measured sweep.
    sweep: Sweep = Sweep(on!(fit, f => f.sweep.clone())),
    /// The fitted model, a `SingleDiode` or a `DoubleDiode` at the temperature and with the cells of the sweep.
    model(py): PyResult<Bound<'py, PyAny>> = match fit {
        Either::One(f) => Ok(SingleDiode(f.model).into_pyobject(py)?.into_any()),
        Either::Two(f) => Ok(DoubleDiode(f.model).into_pyobject(py)?.into_any()),
    },
    /// The distance that was made small: "nearest", "current", "voltage" or "implicit".
    residual: &'static str = on!(fit, f => f.residual.name()),
    /// Every parameter as an `Estimate`, by name: `iph i0 n rs rsh`, or `iph i01 n1 i02 n2 rs rsh`.
    ///
    /// `u` is None for one that is fixed or at its bound; the note says which, and what the data do not determine.
    /// Intervals of I0 and n are symmetric in their logarithms, that of Rsh in 1/Rsh.
    parameters(py): PyResult<Bound<'py, PyDict>> = {
        let found = PyDict::new(py);
        for (parameter, estimate) in fit.parameters() {
            let traced = on!(fit, f => f.traced_parameter(*parameter));
            found.set_item(parameter.name(), Estimate(traced.unwrap_or_else(|| estimate.clone())))?;
        }
        Ok(found)
    },
    /// The free parameters, which `covariance` is over.
    names: Vec<&'static str> = on!(fit, f => f.names.iter().map(|p| p.name()).collect()),
    /// Covariance of `names` in SI units, one row and one column a name; NaN where the data give none.
    covariance(py): PyResult<Bound<'py, PyArray2<f64>>> = {
        let (n, c) = on!(fit, f => (f.names.len(), f.covariance.clone()));
        let whole = if c.len() == n * n { c } else { vec![f64::NAN; n * n] };
        PyArray1::from_vec(py, whole).reshape([n, n])
    },
    /// Root mean square of the residuals in their own unit: A for current and implicit, V for voltage; √(χ²/N) for
    /// nearest.
    rms: f64 = fit.rms(),
    /// The sum that was made small: of squared residuals in units of the noise that the sweep states for them, also where
    /// its size is taken from the scatter; where it states none, in the residual's unit squared.
    chi2: f64 = fit.chi2(),
    /// Points less free parameters.
    dof: usize = fit.dof(),
    /// Whether ± comes from the stated noise; else from the scatter about the curve.
    noise_stated: bool = on!(fit, f => f.noise_stated),
    /// "converged", "at_bound", "not_identified" or "not_converged"; the class says what they mean.
    status: &'static str = fit.status(),
    /// What must be known with the fit, in sentences; empty where there is nothing to say.
    ///
    /// What the data do not determine and what would settle it; parameters at a bound; residuals with a pattern (too
    /// few runs of one sign: A. Wald, J. Wolfowitz, Ann. Math. Stat. 11 (1940) 147) or of another size than the stated
    /// noise; why it did not converge; last, the remarks on single readings and on figures that no device has, as in
    /// `Sweep.findings`.
    notes(py): Vec<String> = py.detach(|| fit.notes()),
    /// model − measured of each point, in the order of the sweep: in A or V as `rms`, in units of σ for nearest.
    residuals(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, on!(fit, f => &f.residuals)),
    /// The path of the solver: a dictionary a step with `iteration`, `parameters` (SI, by name), `coordinates` (Iph,
    /// ln I0, ln a, …, Rs, g), `norm` (√Σr²), `damping`, `taken`, and `stopped`: the reason, in the last one.
    trace(py): PyResult<Bound<'py, PyList>> = {
        let list = PyList::empty(py);
        let (rows, stop) = on!(fit, f => (f.path(), f.stop));
        for (step, parameters) in &rows {
            let row = PyDict::new(py);
            row.set_item("iteration", step.iteration)?;
            let named = PyDict::new(py);
            parameters.iter().try_for_each(|(parameter, value)| named.set_item(parameter.name(), value))?;
            row.set_item("parameters", named)?;
            row.set_item("coordinates", PyArray1::from_slice(py, step.x()))?;
            row.set_item("norm", step.norm)?;
            row.set_item("damping", step.damping)?;
            row.set_item("taken", step.taken)?;
            row.set_item("stopped", (list.len() + 1 == rows.len()).then(|| stop.reason()))?;
            list.append(row)?;
        }
        Ok(list)
    },
    /// Why the solver stopped, in a few words.
    stopped: &'static str = on!(fit, f => f.stop.reason()),
    /// Whether the default interval is the profile's: u(ln n) is above 0.1, or a parameter lies within 4 u of a bound.
    needs_profile: bool = on!(fit, f => f.needs_profile()),
    /// For two diodes, whether the data support the second: a dictionary, or None (for one diode, or nothing to
    /// compare).
    ///
    /// ```text
    /// Λ = Δχ² where the noise is stated, N·ln(SS₁/SS₂) where not      AICc = −2·ln L + 2k + 2k(k + 1)/(N − k − 1)
    /// ```
    ///
    /// Two hypotheses stand beside the two diodes. The better of either diode alone, of n `n_alone`: `likelihood_ratio` is
    /// Λ against it, `parameters` what the second diode adds, `p` the probability of χ² ≥ Λ on as many degrees of freedom,
    /// `aicc_difference` the difference of AICc. One diode with a free n, `free_n`: `aicc_beside_free_n`. Differences are
    /// negative where they speak for the second diode. `holds` where both are; where two diodes within their bounds cannot
    /// be the one with the free n (`free_n_is_nested` is False), only below −2.7: of one true diode the second is then
    /// claimed in at most 5 %. AICc: C. M. Hurvich, C.-L. Tsai, Biometrika 76 (1989) 297.
    support(py): PyResult<Option<Bound<'py, PyDict>>> = {
        let Some(support) = on!(fit, f => f.support) else { return Ok(None) };
        let found = PyDict::new(py);
        found.set_item("likelihood_ratio", support.likelihood_ratio)?;
        found.set_item("parameters", support.parameters)?;
        found.set_item("p", support.p)?;
        found.set_item("aicc_difference", support.aicc_difference)?;
        found.set_item("aicc_beside_free_n", support.aicc_beside_free_n)?;
        found.set_item("n_alone", support.n_alone)?;
        found.set_item("free_n", support.free_n)?;
        found.set_item("free_n_is_nested", support.free_n_is_nested)?;
        found.set_item("holds", support.holds())?;
        Ok(Some(found))
    },
    /// Correlation of `names`, pure numbers, one row and one column a name; NaN where the data give none.
    correlation(py): PyResult<Bound<'py, PyArray2<f64>>> = {
        let (n, c) = on!(fit, f => (f.names.len(), f.correlation()));
        let whole = if c.len() == n * n { c } else { vec![f64::NAN; n * n] };
        PyArray1::from_vec(py, whole).reshape([n, n])
    },
});

#[pymethods]
impl Fit {
    /// Isc, Voc, Pmax, FF and what follows, by the fitted curve and its covariance, as `KeyPoints`.
    ///
    /// A figure that lies beyond the readings is given by the model and says so in its note; its ± is the longer half of its
    /// 95 % profile interval over Student's t, and there is none where that interval is open.
    fn key_points(&self, py: Python<'_>) -> PyResult<KeyPoints> {
        on!(&self.0, f => Ok(KeyPoints::of(interruptible(py, || f.traced_key_points())?, &f.sweep)))
    }

    /// Free parameters and key points as `ufloat`s of the package `uncertainties`, with their correlations: a
    /// dictionary by name, in SI units. Raises `InputError` where the fit has no covariance.
    fn ufloats<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let joint = on!(&self.0, f => f.joint())
            .ok_or_else(|| input(py, "the fit has no covariance to make ufloats of: see its notes"))?;
        let n = joint.names.len();
        let covariance = PyArray1::from_vec(py, joint.covariance).reshape([n, n])?;
        let made =
            py.import("uncertainties")?.call_method1("correlated_values", (joint.values, covariance))?;
        let found = PyDict::new(py);
        for (figure, value) in joint.names.iter().zip(made.try_iter()?) {
            found.set_item(figure.name(), value?)?;
        }
        Ok(found)
    }

    /// The `Interval` of a parameter or of a key point, in SI units.
    ///
    /// ```text
    /// profile end: χ²(figure held) − χ²(optimum) = t²·s²        linear: Student's t on the figure's own scale
    /// ```
    ///
    /// - `name`: a parameter, or a key point that the fit gives: `isc voc pmax v_pmax i_pmax ff jsc efficiency`.
    /// - `level`: the probability with which it holds the truth, between 0 and 1.
    /// - `method`: "linear", "profile" (of the likelihood), or "default": linear, unless `needs_profile` or the figure is a
    ///   key point beyond the readings.
    ///
    /// An end that the data do not give is None and the note says so; a physical bound (Iph = 0, Rs = 0, Rsh infinite)
    /// is an end. Raises `InputError` for an unknown name or method and a level that is none.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    /// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    /// >>> fit = ld.fit_single_diode(sweep)
    /// >>> linear, profile = fit.interval("rsh", method="linear"), fit.interval("rsh", method="profile")
    /// >>> f"{linear.low:.0f} to {linear.high:.0f} Ω, {profile.low:.0f} to {profile.high:.0f} Ω"
    /// '854 to 914 Ω, 856 to 915 Ω'
    /// ```
    #[pyo3(signature = (name, level=0.95, *, method="default"))]
    fn interval(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::name)] name: &str,
        #[pyo3(from_py_with = named::level)] level: f64,
        #[pyo3(from_py_with = named::method)] method: &str,
    ) -> PyResult<Interval> {
        probability(py, level)?;
        let method = choice(py, "method", method, &METHODS)?;
        let found = match name.parse::<core::Figure>() {
            Ok(figure) => interruptible(py, || {
                on!(&self.0, f => match method {
                    Method::Default => f.interval(figure, level),
                    Method::Linear => f.linear_interval(figure, level),
                    Method::Profile => {
                        f.linear_interval(figure, level).map(|_| f.profile_interval(figure, level))
                    }
                })
            })?,
            Err(_) => None,
        };
        found.map(Interval).ok_or_else(|| {
            let known = self.0.known();
            input(py, format!("name = {name:?} is not a figure of this fit; pass one of {known}, or a key point that it gives"))
        })
    }

    /// The band that holds the true curve with probability `level` at each voltage by itself: (low, high), two arrays
    /// in A.
    ///
    /// - `voltage_v`: voltages in V, one-dimensional.
    /// - `level`: the probability, between 0 and 1.
    /// - `progress`: True shows a bar; a function is told the number of voltages done.
    ///
    /// First order, or by the profile where `needs_profile` and beyond the readings, which takes a search a voltage; NaN
    /// where the fit gives none. That the whole curve lies in the band is less probable. All threads work on it; Ctrl-C,
    /// or an exception of `progress`, stops them. Raises `InputError` for a voltage that is not finite and a level that is
    /// none.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    /// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    /// >>> low, high = ld.fit_single_diode(sweep).band([0.0, 0.45, 0.57])
    /// >>> [f"{1e6 * width:.0f} µA" for width in high - low]
    /// ['35 µA', '59 µA', '496 µA']
    /// ```
    #[pyo3(signature = (voltage_v, level=0.95, *, progress=None))]
    fn band<'py>(
        &self,
        py: Python<'py>,
        voltage_v: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::level)] level: f64,
        progress: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Band<'py>> {
        let v = vector("voltage_v", voltage_v)?;
        if let Some((index, value)) = v.iter().enumerate().find(|(_, v)| !v.is_finite()) {
            return Err(input(py, format!("voltage_v[{index}] = {value} is not a finite number")));
        }
        probability(py, level)?;
        let progress = Progress::of(progress, Some(v.len()), "voltage")?;
        let band = watched(py, progress, |watch| on!(&self.0, f => f.band_watched(&v, level, watch)))?;
        let ends = |end: fn(&litdiode::estimate::Interval) -> Option<f64>| {
            PyArray1::from_iter(py, band.iter().map(|i| end(i).unwrap_or(f64::NAN)))
        };
        Ok((ends(|i| i.low), ends(|i| i.high)))
    }

    /// Repeats the fit on sweeps that could as well have been measured (bootstrap); returns a `Resample`.
    ///
    /// - `draws`: how many sweeps, 1 to 10 million.
    /// - `seed`: a whole number from 0; the same seed gives the same draws, whatever the threads.
    /// - `scatter`: "parametric", normal noise of the stated or found size about the fitted curve; or "residual", the
    ///   residuals of the fit, rᵢ/√(1 − hᵢ) with the leverage hᵢ, drawn with replacement.
    /// - `threads`: how many work on it; None takes all there are.
    /// - `progress`: True shows a bar; a function is told the number of draws done.
    ///
    /// A stated gain or offset uncertainty is drawn once a sweep. Ctrl-C, or an exception of `progress`, stops the
    /// work. Raises `InputError` where the fit has no scatter to draw from. Source: A. C. Davison, D. V. Hinkley,
    /// Bootstrap Methods and their Application (1997), section 6.2 (from memory).
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    /// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    /// >>> fit = ld.fit_single_diode(sweep)
    /// >>> drawn = fit.resample(draws=200, seed=1)
    /// >>> len(drawn), drawn.failed
    /// (200, 0)
    /// >>> bool(0.8 < drawn.column("ff").std() / fit.key_points().ff.u < 1.2)
    /// True
    /// ```
    #[pyo3(signature = (draws=1000, seed=0, *, scatter="parametric", threads=None, progress=None))]
    fn resample(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::draws)] draws: i128,
        #[pyo3(from_py_with = named::seed)] seed: i128,
        #[pyo3(from_py_with = named::scatter)] scatter: &str,
        #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
        progress: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Resample> {
        let scatter = choice(py, "scatter", scatter, &SCATTERS)?;
        let draws = count(py, "draws", draws, 1)?;
        let seed = crate::arguments::seed(py, seed)?;
        let mut options = core::ResampleOptions::default().draws(draws).seed(seed).scatter(scatter);
        options.threads = threads_of(py, threads)?;
        let progress = Progress::of(progress, Some(draws), "draw")?;
        let found = watched(py, progress, |watch| on!(&self.0, f => f.resample(options, watch).transpose()))?;
        found.map(Resample).map_err(|e| input(py, e))
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows: Vec<String> =
            self.rows(py)?.iter().map(|(name, text)| format!("  {name:<4}{text}")).collect();
        let notes: String = self.notes(py).iter().map(|n| format!("\n  note: {n}")).collect();
        Ok(format!("Fit({})\n{}{notes}", self.headline(), rows.join("\n")))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let row =
            |(name, text): &(String, String)| format!("<tr><th>{name}</th><td>{}</td></tr>", escape(text));
        let table: String = self.rows(py)?.iter().map(row).collect();
        let notes: String = self.notes(py).iter().map(|n| format!("<li>{}</li>", escape(n))).collect();
        let notes = if notes.is_empty() { notes } else { format!("<ul>{notes}</ul>") };
        Ok(format!("<b>{}</b><table>{table}</table>{notes}", escape(&self.headline())))
    }
}

/// Remarks on a sweep that its fit does not make by itself.
fn on_readings(sweep: &litdiode::sweep::Sweep) -> impl Iterator<Item = String> {
    use litdiode::sweep::Kind::{Implausible, Outlier, SignContradicted};
    let own = |kind| matches!(kind, Implausible | Outlier | SignContradicted);
    litdiode::remarks::findings(sweep).into_iter().filter(move |f| own(f.kind)).map(|f| f.text)
}

/// One attribute a parameter; one that the model does not have is an `AttributeError`.
macro_rules! parameters {
    ($($(#[$doc:meta])* $name:ident = $parameter:ident,)*) => {
        #[pymethods]
        impl Fit {
            $(
                $(#[$doc])*
                #[getter]
                fn $name(&self) -> PyResult<Estimate> {
                    self.parameter(core::Parameter::$parameter)
                }
            )*
        }
    };
}

parameters! {
    /// The photocurrent as an `Estimate` in A.
    iph = Iph,
    /// The saturation current of the one diode as an `Estimate` in A; a fit of two has `i01` and `i02`.
    i0 = I0,
    /// The ideality factor of the one diode as an `Estimate`; a fit of two has `n1` and `n2`.
    n = N,
    /// The saturation current of the first of two diodes as an `Estimate` in A; a fit of one has `i0`.
    i01 = I01,
    /// The ideality factor of the first of two diodes as an `Estimate`; a fit of one has `n`.
    n1 = N1,
    /// The saturation current of the second of two diodes as an `Estimate` in A; a fit of one has `i0`.
    i02 = I02,
    /// The ideality factor of the second of two diodes as an `Estimate`; a fit of one has `n`.
    n2 = N2,
    /// The series resistance as an `Estimate` in Ω.
    rs = Rs,
    /// The shunt resistance as an `Estimate` in Ω.
    rsh = Rsh,
}

impl Fit {
    fn parameter(&self, parameter: core::Parameter) -> PyResult<Estimate> {
        let found = on!(&self.0, f => f.traced_parameter(parameter));
        found.map(Estimate).ok_or_else(|| {
            let known = self.0.known();
            PyAttributeError::new_err(format!("this fit has no {parameter}; its parameters are {known}"))
        })
    }

    fn headline(&self) -> String {
        on!(&self.0, f => f.headline())
    }

    fn rows(&self, py: Python<'_>) -> PyResult<Vec<(String, String)>> {
        self.0
            .parameters()
            .iter()
            .map(|(parameter, e)| {
                let note = e.note().map_or(String::new(), |n| format!("  ({n})"));
                Ok((parameter.to_string(), format!("{}{note}", self.shown(py, *parameter, e)?)))
            })
            .collect()
    }

    /// `value ± u`; the value with its 95 % interval where that is the profile's.
    fn shown(
        &self,
        py: Python<'_>,
        parameter: core::Parameter,
        e: &litdiode::estimate::Estimate,
    ) -> PyResult<String> {
        let is_free = on!(&self.0, f => f.names.contains(&parameter));
        let interval = if self.needs_profile() && is_free {
            interruptible(py, || on!(&self.0, f => f.interval(parameter, 0.95)))?
        } else {
            None
        };
        let Some(interval) = interval else { return render(py, e) };
        Ok(between(e.value, interval.low, interval.high, e.unit.symbol()))
    }
}
