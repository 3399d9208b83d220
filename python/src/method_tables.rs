//! Rows of the tables that set several methods side by side; `litdiode.analysis` makes tables of them.

use crate::arguments::{named, vector};
use crate::error::input;
use crate::estimate::Estimate;
use crate::interrupt::watched;
use crate::progress::Progress;
use crate::sweep::{Sweep, sweeps};
use litdiode::estimate::{Estimate as CoreEstimate, Unit};
use litdiode::maximum_power as power;
use litdiode::quantity_format::sentences;
use litdiode::resistance as core;
use pyo3::prelude::*;

/// Method, Pmax, V_Pmax, remark.
type PowerRow = (String, Estimate, f64, String);
/// Method and why it gave nothing.
type Absence = (String, String);
/// Ends of an interval; none where there is no end.
type Ends = (Option<f64>, Option<f64>);
/// Quantity, method, figure, its 95 % interval, what it measures, why its assumptions do not hold (empty where they do),
/// source.
type ResistanceRow = (String, String, Estimate, Ends, String, String, String);

/// Rows, (quantity, method, why) of the methods that gave nothing, and (quantity, method to quote, why).
type ResistanceTable =
    (Vec<ResistanceRow>, Vec<(String, String, String)>, Vec<(String, Option<String>, String)>);

fn row(e: power::PowerEstimate) -> PowerRow {
    (
        e.method.to_owned(),
        Estimate(e.pmax),
        e.v_pmax,
        e.remark.map_or_else(String::new, |remark| remark.to_string()),
    )
}

/// Rows, absences, the row to quote, why, and the window of the guided curve.
type PowerTable = (Vec<PowerRow>, Vec<Absence>, Option<PowerRow>, String, Option<(f64, f64)>);

/// All methods for Pmax. `progress` is told the methods done.
#[pyfunction]
#[pyo3(signature = (sweep, progress=None))]
pub fn power_rows(
    py: Python<'_>,
    #[pyo3(from_py_with = named::sweep)] sweep: Bound<'_, Sweep>,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<PowerTable> {
    let (sweep, progress) = (sweep.get(), Progress::of(progress, None, "method")?);
    let found = watched(py, progress, |watch| power::maximum_powers_watched(&sweep.0, watch))?;
    let absent = found.absent.into_iter().map(|(method, why)| (method.to_owned(), why.to_string())).collect();
    let rows = found.estimates.into_iter().map(row).collect();
    Ok((rows, absent, found.quote.map(row), found.why.to_string(), found.window_v))
}

/// All methods for Rs and Rsh: rows, (quantity, method, why) of those that gave nothing, and the methods to quote.
/// `progress` is told the methods done.
#[pyfunction]
#[pyo3(signature = (lit, dark, more_lit, implied_v, suns, n, progress=None))]
#[allow(clippy::too_many_arguments)]
pub fn resistance_rows(
    py: Python<'_>,
    #[pyo3(from_py_with = named::lit)] lit: Option<Bound<'_, Sweep>>,
    #[pyo3(from_py_with = named::dark)] dark: Option<Bound<'_, Sweep>>,
    more_lit: &Bound<'_, PyAny>,
    implied_v: Option<&Bound<'_, PyAny>>,
    suns: Option<&Bound<'_, PyAny>>,
    n: Option<&Bound<'_, PyAny>>,
    progress: Option<&Bound<'_, PyAny>>,
) -> PyResult<ResistanceTable> {
    let more = sweeps("more_lit", more_lit)?;
    let implied = match (implied_v, suns) {
        (Some(v), Some(suns)) => Some(
            core::Implied::new(&vector("implied_v", v)?, &vector("suns", suns)?, None)
                .map_err(|e| input(py, e))?,
        ),
        (None, None) => None,
        _ => return Err(input(py, "implied_v and suns go together: pass one value of each a point")),
    };
    let n = n.map(|n| ideality(n).and_then(|found| plausible(py, found))).transpose()?;
    let measured = core::Measured::default()
        .lit(lit.as_ref().map(|s| &s.get().0))
        .more_lit(&more)
        .dark(dark.as_ref().map(|s| &s.get().0))
        .implied(implied.as_ref())
        .n(n.as_ref());
    let progress = Progress::of(progress, None, "method")?;
    let found = watched(py, progress, |watch| core::resistances_watched(&measured, watch))?;
    let name = |q: core::Quantity| if q == core::Quantity::Series { "series" } else { "shunt" }.to_owned();
    let rows = found.found.into_iter().map(|r| {
        let doubt = sentences(&r.doubts);
        let words = (r.measures.to_owned(), doubt, r.source.to_owned());
        let ends = (r.interval.low, r.interval.high);
        (name(r.quantity), r.method.to_owned(), Estimate(r.estimate), ends, words.0, words.1, words.2)
    });
    let absent = found.absent.into_iter().map(|a| (name(a.quantity), a.method.to_owned(), a.why.to_string()));
    let quoted = [(core::Quantity::Series, found.series), (core::Quantity::Shunt, found.shunt)]
        .map(|(quantity, q)| (name(quantity), q.resistance.map(|r| r.method.to_owned()), q.why.to_string()));
    Ok((rows.collect(), absent.collect(), quoted.into()))
}

/// A number or an `Estimate` of the ideality factor.
fn ideality(n: &Bound<'_, PyAny>) -> PyResult<CoreEstimate> {
    if let Ok(estimate) = n.extract::<Estimate>() {
        return Ok(estimate.0.in_unit(Unit::One));
    }
    let value: f64 = n.extract().map_err(|_| {
        input(n.py(), format!("n = {n:?} is neither a number nor an Estimate; pass one of them"))
    })?;
    Ok(CoreEstimate::without_u(value, Unit::One, litdiode::reason::Reason::Given))
}

/// An ideality factor that a diode can have.
fn plausible(py: Python<'_>, n: CoreEstimate) -> PyResult<CoreEstimate> {
    if (0.3..=10.0).contains(&n.value) {
        return Ok(n);
    }
    Err(input(py, format!("n = {} is no ideality factor; give one between 0.3 and 10", n.value)))
}
