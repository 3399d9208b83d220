//! `detection_limits`, `DetectionLimits`, `smallest_cell`.

use crate::arguments::{choice, count, given, named, vector};
use crate::error::input;
use crate::estimate::Estimate;
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::model::{DoubleDiode, SingleDiode};
use crate::noise::Noise;
use crate::sweep::SWEPT;
use litdiode::detection as core;
use litdiode::estimate::Unit;
use litdiode::key_points::KeyPoint;
use pyo3::prelude::*;

/// What can be detected against a blank, from `detection_limits`.
///
/// ```text
/// σ₀ = s·√(1 + 1/n)        critical = t₁₋α(ν)·σ₀        detection = δ(α, β, ν)·σ₀        quantification = 10·σ₀
/// ```
///
/// `repr` shows the three limits.
///
/// ```python
/// >>> import litdiode as ld
/// >>> blank = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6]  # invented, in A
/// >>> print(ld.detection_limits(blank, unit="A"))
/// DetectionLimits
///   critical level        490 ± 130 nA  (above it a signal is there; wrong in 5 %)
///   detection limit       950 ± 260 nA  (a signal of this size is missed in 5 %)
///   quantification limit  2.60 ± 0.69 µA  (a signal of this size is known to 10 %)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct DetectionLimits(pub core::Limits);

plain!(DetectionLimits);

getters!(DetectionLimits, limits => {
    /// Mean of the blank, which is to be subtracted from a reading.
    blank: Estimate = Estimate(limits.blank.clone()),
    /// Scatter of one reading, with what so few blanks leave uncertain of it.
    scatter: Estimate = Estimate(limits.scatter.clone()),
    /// Net signal above which something is there, but for a chance of `alpha`.
    critical: Estimate = Estimate(limits.critical.clone()),
    /// Smallest true signal that is found, but for a chance of `beta`.
    detection: Estimate = Estimate(limits.detection.clone()),
    /// Smallest signal with a relative standard uncertainty of 10 %.
    quantification: Estimate = Estimate(limits.quantification.clone()),
    /// Chance of finding what is not there.
    alpha: f64 = limits.alpha,
    /// Chance of missing what is there.
    beta: f64 = limits.beta,
});

#[pymethods]
impl DetectionLimits {
    fn __repr__(&self) -> String {
        format!("DetectionLimits\n  {}", self.0.to_string().replace('\n', "\n  "))
    }
}

/// Critical level, detection limit and quantification limit of a signal, from readings of nothing.
///
/// ```text
/// critical = t₁₋α(ν)·σ₀     detection = δ(α, β, ν)·σ₀     quantification = 10·σ₀     σ₀ = s·√(1 + 1/n)
/// ```
///
/// - `blank`: readings of the blank (in the dark, the cell replaced by an open or a short), two or more, all taken as one
///   reading of the signal will be.
/// - `unit`: the unit of the readings, one of those of `Estimate`.
/// - `alpha`, `beta`: chance of finding what is not there, and of missing what is, between 0 and 0.5.
/// - `scatter`: the standard deviation of one reading where it is known from elsewhere, in `unit`; else it is that of the
///   blank, with Student's t and the non-central t distribution for few readings.
///
/// L. A. Currie, Anal. Chem. 40 (1968) 586; Pure Appl. Chem. 67 (1995) 1699 (from memory). Raises `InputError` for fewer than
/// two readings without a `scatter`, readings that are not finite or all equal, and chances outside their range.
///
/// ```python
/// >>> import litdiode as ld
/// >>> blank = [0.4e-6, -0.2e-6, 0.1e-6, 0.3e-6, -0.1e-6, 0.0, 0.2e-6, -0.3e-6]  # invented, in A
/// >>> print(ld.detection_limits(blank, unit="A").detection)
/// 950 ± 260 nA
/// ```
#[pyfunction]
#[pyo3(signature = (blank, *, unit="", alpha=0.05, beta=0.05, scatter=None))]
pub fn detection_limits(
    py: Python<'_>,
    blank: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::unit)] unit: &str,
    #[pyo3(from_py_with = named::alpha)] alpha: f64,
    #[pyo3(from_py_with = named::beta)] beta: f64,
    #[pyo3(from_py_with = named::scatter)] scatter: Option<f64>,
) -> PyResult<DetectionLimits> {
    let readings = vector("blank", blank)?;
    let unit = Unit::ALL.into_iter().find(|x| x.symbol() == unit).ok_or_else(|| {
        let known = Unit::ALL.map(Unit::symbol);
        input(py, format!("unit = {unit:?} is not known; pass one of {known:?}"))
    })?;
    let limits = match scatter {
        None => core::limits_of_blank(&readings, unit, alpha, beta),
        Some(scatter) => {
            let mean = readings.iter().sum::<f64>() / readings.len().max(1) as f64;
            core::limits_of_known_blank(mean, scatter, readings.len(), unit, (alpha, beta))
        }
    };
    limits.map(DetectionLimits).map_err(|e| input(py, e))
}

/// The smallest cell of a kind of which a rig gives a figure as well as wanted, as its short-circuit current in A.
///
/// ```text
/// cell of s times the area: Iph, I0 → s·Iph, s·I0     Rs, Rsh → Rs/s, Rsh/s
/// ```
///
/// - `model`: a `SingleDiode` or `DoubleDiode` under light, of any size.
/// - `noise`: the `Noise` of the rig, with a stated scatter.
/// - `figure`: "isc", "voc", "pmax", "v_pmax", "i_pmax" or "ff".
/// - `relative_u`: the relative standard uncertainty that is wanted, between 0 and 1.
/// - `swept`: the quantity that is stepped; `points`: readings a sweep, from just before V = 0 (I = 0) to just beyond Voc (Isc).
///
/// The uncertainty is that which `Sweep.key_points` gives such readings, gains and offsets of the noise included. Returns the
/// current, 0 where a cell of any size will do; under it this rig does not give the figure. Raises `InputError` for arguments outside their domain, and where no size
/// does.
///
/// ```python
/// >>> import litdiode as ld
/// >>> dye = ld.SingleDiode(iph_a=5e-4, i0_a=1e-9, n=2.0, rs_ohm=60, rsh_ohm=2e4)  # invented
/// >>> rig = ld.Noise(current_a=3e-6)
/// >>> f"{1e6 * ld.smallest_cell(dye, rig, 'ff', 0.05):.0f} µA"
/// '43 µA'
/// ```
#[pyfunction]
#[pyo3(signature = (model, noise, figure="ff", relative_u=0.05, *, swept="voltage", points=25))]
pub fn smallest_cell(
    py: Python<'_>,
    model: &Bound<'_, PyAny>,
    noise: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::figure)] figure: &str,
    #[pyo3(from_py_with = named::relative_u)] relative_u: f64,
    #[pyo3(from_py_with = named::swept)] swept: &str,
    #[pyo3(from_py_with = named::points)] points: i128,
) -> PyResult<f64> {
    let noise: Noise = given("noise", noise, "a litdiode.Noise")?;
    let swept = choice(py, "swept", swept, &SWEPT)?;
    let known = &KeyPoint::ALL[..6];
    let point = known.iter().copied().find(|k| k.name() == figure).ok_or_else(|| {
        let names: Vec<&str> = known.iter().map(|k| k.name()).collect();
        input(py, format!("figure={figure:?} is not known; pass one of {}", names.join(", ")))
    })?;
    let points = count(py, "points", points, 8)?;
    let rig = core::Rig::new(noise.0).swept(swept).points(points);
    let found = if let Ok(one) = model.extract::<SingleDiode>() {
        interruptible(py, || core::smallest_cell(&one.0, &rig, point, relative_u))?
    } else {
        let two: DoubleDiode = given("model", model, "a litdiode.SingleDiode or DoubleDiode")?;
        interruptible(py, || core::smallest_cell(&two.0, &rig, point, relative_u))?
    };
    found.map(|cell| cell.isc_a).map_err(|e| input(py, e))
}
