//! `Estimate` computes; `ufloats`.

use crate::arguments::given;
use crate::budget::Budget;
use crate::error::input;
use crate::estimate::Estimate;
use litdiode::arithmetic::ArithmeticError;
use litdiode::estimate::{Estimate as Core, Unit};
use litdiode::reason::Reason;
use litdiode::source::{Identity, Source};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::cmp::Ordering;

/// The other operand: an estimate, or a known number in `unit`.
enum Operand {
    Estimate(Core),
    Number(f64),
}

fn operand(other: &Bound<'_, PyAny>) -> Option<Operand> {
    match other.extract::<Estimate>() {
        Ok(estimate) => Some(Operand::Estimate(recorded(&estimate.0))),
        Err(_) => other.extract::<f64>().ok().map(Operand::Number),
    }
}

/// A figure without a record of its sources is known again by its numbers.
fn recorded(estimate: &Core) -> Core {
    match estimate.u {
        Some(u) if u > 0.0 && !estimate.is_identified() => {
            let identity = Identity::unknown(&[estimate.value, u, estimate.dof]);
            estimate.clone().identified(identity, "a figure without a record")
        }
        _ => estimate.clone(),
    }
}

fn exact(value: f64, unit: Unit) -> Core {
    Core::new(value, 0.0, unit)
}

type Made = Result<Core, ArithmeticError>;

fn handed<'py>(py: Python<'py>, made: Made) -> PyResult<Bound<'py, PyAny>> {
    let made = made.map_err(|e| input(py, e))?;
    Ok(Estimate(made).into_pyobject(py)?.into_any())
}

impl Estimate {
    /// With the other operand in the unit of this one, if it is a number.
    fn alike<'py>(
        &self,
        other: &Bound<'py, PyAny>,
        make: impl FnOnce(Core, Core) -> Made,
    ) -> PyResult<Bound<'py, PyAny>> {
        self.with(other, self.0.unit, make)
    }

    fn with<'py>(
        &self,
        other: &Bound<'py, PyAny>,
        unit: Unit,
        make: impl FnOnce(Core, Core) -> Made,
    ) -> PyResult<Bound<'py, PyAny>> {
        let py = other.py();
        match operand(other) {
            Some(Operand::Estimate(other)) => handed(py, make(recorded(&self.0), other)),
            Some(Operand::Number(x)) => handed(py, make(recorded(&self.0), exact(x, unit))),
            None => Ok(py.NotImplemented().into_bound(py)),
        }
    }

    fn compare<'py>(
        &self,
        other: &Bound<'py, PyAny>,
        holds: impl FnOnce(Ordering) -> bool,
    ) -> PyResult<Bound<'py, PyAny>> {
        let py = other.py();
        let value = match operand(other) {
            Some(Operand::Estimate(other)) => {
                self.0.comparable(&other).map_err(|e| input(py, e))?;
                other.value
            }
            Some(Operand::Number(x)) => x,
            None => return Ok(py.NotImplemented().into_bound(py)),
        };
        let answer = self.0.value.partial_cmp(&value).is_some_and(holds);
        Ok(answer.into_pyobject(py)?.to_owned().into_any())
    }
}

#[pymethods]
impl Estimate {
    fn __add__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        // sum() begins with the number 0.
        self.alike(other, |x, y| x.plus(&y))
    }

    fn __radd__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.alike(other, |x, y| y.plus(&x))
    }

    fn __sub__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.alike(other, |x, y| x.minus(&y))
    }

    fn __rsub__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.alike(other, |x, y| y.minus(&x))
    }

    fn __mul__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.with(other, Unit::One, |x, y| x.times(&y))
    }

    fn __rmul__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.with(other, Unit::One, |x, y| y.times(&x))
    }

    fn __truediv__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.with(other, Unit::One, |x, y| x.over(&y))
    }

    fn __rtruediv__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.with(other, Unit::One, |x, y| y.over(&x))
    }

    fn __pow__<'py>(
        &self,
        exponent: &Bound<'py, PyAny>,
        modulo: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let py = exponent.py();
        match (operand(exponent), modulo) {
            (Some(Operand::Number(n)), None) => handed(py, recorded(&self.0).to_power(n)),
            _ => Ok(py.NotImplemented().into_bound(py)),
        }
    }

    fn __neg__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        handed(py, recorded(&self.0).scaled(-1.0))
    }

    fn __pos__(&self) -> Self {
        self.clone()
    }

    fn __abs__<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        handed(py, recorded(&self.0).scaled(if self.0.value < 0.0 { -1.0 } else { 1.0 }))
    }

    fn __eq__(&self, other: &Self) -> bool {
        self.0 == other.0
    }

    fn __lt__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.compare(other, Ordering::is_lt)
    }

    fn __le__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.compare(other, Ordering::is_le)
    }

    fn __gt__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.compare(other, Ordering::is_gt)
    }

    fn __ge__<'py>(&self, other: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.compare(other, Ordering::is_ge)
    }

    /// The independent sources that its ± is made of, as a `Budget`.
    ///
    /// ```text
    /// u² = Σ uₖ²
    /// ```
    ///
    /// Raises `InputError`, with the reason, where there is no `u`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> lamp = ld.Estimate(1.0, 0.02, name="lamp calibration")
    /// >>> (lamp * ld.Estimate(0.03, 0.0001, unit="A", name="meter")).budget()
    /// Budget
    ///   figure: 30.00 ± 0.61 mA
    ///     lamp calibration      600.0 µA   97.3 %
    ///     meter                 100.0 µA    2.7 %
    /// ```
    fn budget(&self, py: Python<'_>) -> PyResult<Budget> {
        litdiode::budget::Budget::of_estimate(&recorded(&self.0))
            .map(Budget)
            .map_err(|why| input(py, format!("the estimate has no budget: {why}")))
    }
}

/// Estimates as `ufloat`s of the package `uncertainties`, their correlations with each other kept.
///
/// - `estimates`: a list of `Estimate`s.
///
/// Figures that share sources share variables. Units and degrees of freedom are lost. Raises `InputError` for an estimate
/// without `u`; the package is the extra "uncertainties".
///
/// ```python
/// >>> import litdiode as ld
/// >>> lamp = ld.Estimate(1000.0, 20.0, unit="W/m²")
/// >>> a, b = ld.ufloats([0.1 * lamp, 0.3 * lamp])
/// >>> print(b - 3 * a)
/// 0.0+/-0
/// ```
#[pyfunction]
pub fn ufloats<'py>(py: Python<'py>, estimates: &Bound<'py, PyAny>) -> PyResult<Vec<Bound<'py, PyAny>>> {
    let listed: Vec<Estimate> = given("estimates", estimates, "a list of litdiode.Estimate")?;
    let ufloat = py.import("uncertainties")?.getattr("ufloat")?;
    let variables = PyDict::new(py);
    let variable = |source: &Source| -> PyResult<Bound<'py, PyAny>> {
        let key = (&source.identity.origin, source.identity.part);
        if let Some(known) = variables.get_item(key)? {
            return Ok(known);
        }
        let new = ufloat.call1((0.0, 1.0))?;
        variables.set_item(key, &new)?;
        Ok(new)
    };
    let one = |(index, estimate): (usize, &Estimate)| {
        if estimate.0.u.is_none() {
            let why = estimate.0.note().unwrap_or(Reason::Unrecorded.to_string());
            return Err(input(py, format!("estimates[{index}] has no u: {why}")));
        }
        let parts = recorded(&estimate.0).known_sources();
        if parts.is_empty() {
            return ufloat.call1((estimate.0.value, 0.0));
        }
        let mut sum = estimate.0.value.into_pyobject(py)?.into_any();
        for source in parts {
            sum = sum.add(variable(&source)?.mul(source.u)?)?;
        }
        Ok(sum)
    };
    listed.iter().enumerate().map(one).collect()
}
