//! `Estimate` and `Interval`.

use crate::arguments::{named, probability, refuse_complex};
use crate::error::input;
use crate::getters::getters;
use crate::json::{json, plain};
use litdiode::estimate::{self as core, Unit};
use litdiode::reason::Reason;
use litdiode::source::Identity;
use pyo3::prelude::*;

/// A value with its standard uncertainty, degrees of freedom and unit.
///
/// ```text
/// value ± t·u        t: Student's t for the level and dof, two-sided (JCGM 100:2008, annex G)
/// ```
///
/// - `value`: the best value, in `unit`.
/// - `u`: its standard uncertainty (one standard deviation) in `unit`, 0 or more; None where no ± exists.
/// - `dof`: degrees of freedom behind `u`, above 0; infinite, the noise being known, unless given.
/// - `unit`: one of "", "A", "V", "W", "Ω", "A/cm²", "cm²", "W/m²", "S", "K", "1/K", "A/K", "V/K", "Ω/K", "s", "1/h"; "" is a pure
///   number.
/// - `name`: a name, or None. An estimate is one source of uncertainty: what is computed with it, its copies and its pickles
///   has it in common, so that the difference of two figures that rest on it is free of it. A name makes it common to
///   other programs as well that give the same.
///
/// Estimates compute: `+`, `-`, `*`, `/`, powers with a known exponent, `abs` and order by value (`==` asks for the same value, u,
/// dof and unit), with numbers in the same
/// unit and with each other, to first order and with all correlations that are recorded (those of key points, of parameters
/// of a fit and of what was given); a note says where one is not. The unit of the result goes with it; `InputError` where
/// there is none.
///
/// `float(estimate)` is the value; `str` and `format` without a specification quote value ± u with two digits of u and
/// a prefixed unit, and `format(estimate, ".3f")` applies the specification to both numbers in the unit itself. Raises
/// `InputError` for an unknown unit, a `u` that is negative or not finite, and a `dof` that is not above 0.
///
/// ```python
/// >>> import litdiode as ld
/// >>> area = ld.Estimate(0.25, 0.01, unit="cm²")
/// >>> print(area, f"{area:.3f}", sep="; ")
/// 0.250 ± 0.010 cm²; (0.250 ± 0.010) cm²
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Estimate(pub core::Estimate);

/// An interval at a stated level, from `Estimate.interval`, `Fit.interval` or `Resample.interval`.
///
/// `low` and `high` are in the unit of the figure. An end that the data do not give is None, and `note` says why; a
/// physical bound (Rs = 0, Rsh infinite) is an end like any other.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(points=12, noise_current_a=3e-4), seed=1)
/// >>> interval = ld.fit_single_diode(sweep).interval("rsh")
/// >>> f"{interval.low:.0f} Ω", interval.high, interval.level
/// ('451 Ω', inf, 0.95)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Interval(pub core::Interval);

json!(Estimate);
plain!(Interval);

getters!(Estimate, estimate => {
    /// The best value, in `unit`.
    value: f64 = estimate.value,
    /// Standard uncertainty in `unit`; None where no ± exists.
    u: Option<f64> = estimate.u,
    /// Degrees of freedom behind `u`; infinite when the noise is known.
    dof: f64 = estimate.dof,
    /// The unit's symbol; empty for a pure number.
    unit: &'static str = estimate.unit.symbol(),
    /// What must be known with the figure: why `u` is absent, or what it leaves out; None where there is nothing to
    /// say.
    note: Option<String> = estimate.note(),
});

#[pymethods]
impl Estimate {
    #[new]
    #[pyo3(signature = (value, u=None, *, dof=f64::INFINITY, unit="", name=None))]
    fn new(
        py: Python<'_>,
        #[pyo3(from_py_with = named::value)] value: f64,
        #[pyo3(from_py_with = named::u)] u: Option<f64>,
        #[pyo3(from_py_with = named::dof)] dof: f64,
        #[pyo3(from_py_with = named::unit)] unit: &str,
        #[pyo3(from_py_with = named::name)] name: Option<&str>,
    ) -> PyResult<Self> {
        let unit = Unit::ALL.into_iter().find(|x| x.symbol() == unit).ok_or_else(|| {
            let known = Unit::ALL.map(Unit::symbol);
            input(py, format!("unit = {unit:?} is not known; pass one of {known:?}"))
        })?;
        if let Some(bad) = u.filter(|u| !(*u >= 0.0 && u.is_finite())) {
            return Err(input(
                py,
                format!("u = {bad} is no standard uncertainty; give a number, 0 or more, or None"),
            ));
        }
        if dof.is_nan() || dof <= 0.0 {
            return Err(input(py, format!("dof = {dof} must be above 0")));
        }
        if value.is_nan() {
            return Err(input(py, "value = nan is no number; leave the figure out"));
        }
        Ok(Self(match u {
            Some(u) => {
                let (identity, name) = match name {
                    Some(name) => (Identity::named(name), name.to_owned()),
                    None => (Identity::distinct(), "a figure that was given".to_owned()),
                };
                core::Estimate::new(value, u, unit).with_dof(dof).identified(identity, name)
            }
            None => core::Estimate::without_u(value, unit, Reason::Given),
        }))
    }

    /// The interval that holds the true value with probability `level` (0 to 1, both excluded), by Student's t.
    ///
    /// ```text
    /// value ± t·u       I0, n: value·exp(±t·u/value)       Rsh: 1/(1/value ± t·u/value²), which may reach infinity
    /// ```
    ///
    /// The ends are in `unit`. Without `u` both are None, and the note says why. Raises `InputError` for a level that
    /// is none.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> area = ld.Estimate(0.250, 0.010, dof=4, unit="cm²")
    /// >>> interval = area.interval(0.95)
    /// >>> f"{interval.low:.3f} to {interval.high:.3f} cm²"
    /// '0.222 to 0.278 cm²'
    /// ```
    #[pyo3(signature = (level=0.95))]
    fn interval(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::level)] level: f64,
    ) -> PyResult<Interval> {
        probability(py, level)?;
        Ok(Interval(self.0.interval(level)))
    }

    /// The figure as a `ufloat` of the package `uncertainties`, without its unit and its degrees of freedom.
    ///
    /// Raises `InputError` where there is no `u`.
    fn ufloat<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let u = self.0.u.ok_or_else(|| {
            input(py, format!("no ufloat without u: {}", self.0.note().unwrap_or("u is absent".into())))
        })?;
        py.import("uncertainties")?.call_method1("ufloat", (self.0.value, u))
    }

    fn __float__(&self) -> f64 {
        self.0.value
    }

    fn __str__(&self, py: Python<'_>) -> PyResult<String> {
        render(py, &self.0)
    }

    fn __format__(&self, py: Python<'_>, spec: &str) -> PyResult<String> {
        if spec.is_empty() {
            return render(py, &self.0);
        }
        let number = |x: f64| -> PyResult<String> {
            x.into_pyobject(py)?.call_method1("__format__", (spec,))?.extract()
        };
        let unit = self.0.unit.symbol();
        let text = match self.0.u {
            Some(u) => format!("{} ± {}", number(self.0.value)?, number(u)?),
            None => number(self.0.value)?,
        };
        Ok(if unit.is_empty() { text } else { format!("({text}) {unit}") })
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        Ok(format!("Estimate({})", render(py, &self.0)?))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        render(py, &self.0)
    }
}

/// `value ± u unit` as the package writes figures everywhere.
pub fn render(_: Python<'_>, e: &core::Estimate) -> PyResult<String> {
    Ok(e.to_string())
}

getters!(Interval, interval => {
    /// Lower end in the unit of the figure; None where the data give none.
    low: Option<f64> = interval.low,
    /// Upper end in the unit of the figure; None where the data give none.
    high: Option<f64> = interval.high,
    /// Probability that the interval is stated to hold.
    level: f64 = interval.level,
    /// Why an end is missing, where one is.
    note: Option<String> = interval.note(),
});

#[pymethods]
impl Interval {
    fn __repr__(&self) -> String {
        let end = |x: Option<f64>| x.map_or("None".into(), |x| format!("{x}"));
        let note = self.0.note().map_or(String::new(), |n| format!(", note={n:?}"));
        format!("Interval(low={}, high={}, level={}{note})", end(self.0.low), end(self.0.high), self.0.level)
    }
}

/// A number or an `Estimate` in `unit`; a number has no uncertainty, an estimate without a unit is in `unit`.
pub fn quantity(name: &str, given: &Bound<'_, PyAny>, unit: Unit) -> PyResult<core::Estimate> {
    let py = given.py();
    if let Ok(estimate) = given.extract::<Estimate>() {
        let stated = estimate.0.unit;
        if stated != unit && stated != Unit::One {
            let needed = if unit == Unit::One { "a pure number" } else { unit.symbol() };
            return Err(input(
                py,
                format!("{name} is an Estimate in {}, and {needed} is needed: convert it", stated.symbol()),
            ));
        }
        return Ok(estimate.0.in_unit(unit));
    }
    refuse_complex(name, given)?;
    let value: f64 = given.extract().map_err(|_| {
        input(py, format!("{name} = {given:?} is neither a number nor an Estimate; pass one of them"))
    })?;
    Ok(core::Estimate::without_u(value, unit, Reason::Given))
}
