//! What the functions have in common.

use crate::handles;
use crate::misuse::{Answer, Fault, Misuse, Outcome};
use crate::objects::Kind;
use crate::pointers::Out;
use litdiode::cancel::{Cancelled, Token};
use litdiode::estimate::{Estimate, Interval, Unit, coverage_factor};
use litdiode::quantity_format::sentences;
use litdiode::reason::Reason;
use std::sync::Arc;
use std::time::Duration;

/// What stands for a number that is not there.
pub const ABSENT: f64 = f64::NAN;

/// Runs `work` with a request to stop in force; none for the handle 0.
pub fn under<T>(cancel: u64, work: impl FnOnce() -> T) -> Result<T, Fault> {
    match handles::optional::<Token>("cancel", cancel)? {
        Some(token) if token.is_cancelled() => Err(Cancelled.into()),
        Some(token) => Ok(token.run(work)?),
        None => Ok(work()),
    }
}

/// Gives the caller a handle for what `make` makes.
pub fn give<T: Kind>(
    argument: &'static str,
    out: Out<u64>,
    make: impl FnOnce() -> Result<T, Fault>,
) -> Result<(), Fault> {
    out.check(argument)?;
    let handle = handles::insert(make()?.object())?;
    out.set(argument, handle)
}

/// Changes what a handle stands for; work that uses it keeps what it began with.
pub fn edit<T: Clone>(argument: &'static str, handle: u64, by: impl FnOnce(T) -> T) -> Outcome
where
    Arc<T>: Kind,
{
    handles::change(argument, handle, |shared: &mut Arc<T>| *shared = Arc::new(by(T::clone(shared))))?;
    Ok(Answer::Done)
}

/// The entry at `index`.
pub fn place<'a, T>(
    list: &'a [T],
    argument: &'static str,
    index: usize,
    what: &'static str,
) -> Result<&'a T, Fault> {
    list.get(index).ok_or_else(|| Misuse::NoPlace { argument, index, count: list.len(), what }.into())
}

/// A number that may be left out as NaN.
pub fn optional(x: f64) -> Option<f64> {
    if x.is_nan() { None } else { Some(x) }
}

/// A number with its standard uncertainty, NaN for none.
pub fn estimate(value: f64, u: f64, unit: Unit) -> Estimate {
    match optional(u) {
        Some(u) => Estimate::new(value, u, unit),
        None => Estimate::without_u(value, unit, Reason::Given),
    }
}

/// A time in seconds; none for NaN and for what no clock counts.
pub fn duration(argument: &'static str, seconds: f64) -> Result<Option<Duration>, Fault> {
    if seconds < 0.0 {
        let cure = "give seconds, 0 or more, or NaN for no deadline";
        return Err(Misuse::Number { argument, value: seconds, cure }.into());
    }
    Ok(Duration::try_from_secs_f64(seconds).ok())
}

/// That a level is the probability of an interval.
pub fn check_level(level: f64) -> Result<(), Fault> {
    coverage_factor(level, f64::INFINITY)?;
    Ok(())
}

/// Lists that go together.
pub fn same_length(
    argument: &'static str,
    given: usize,
    wanted: usize,
    cure: &'static str,
) -> Result<(), Fault> {
    if given == wanted { Ok(()) } else { Err(Misuse::Length { argument, given, wanted, cure }.into()) }
}

/// Writes value, u and degrees of freedom; the notes are returned.
pub fn write_estimate(e: &Estimate, value: Out<f64>, u: Out<f64>, dof: Out<f64>) -> Result<String, Fault> {
    value.set("value", e.value)?;
    u.set("u", e.u.unwrap_or(ABSENT))?;
    dof.set("dof", e.dof)?;
    Ok(sentences(&e.notes))
}

/// Writes the ends; the notes are returned.
pub fn write_interval(i: &Interval, low: Out<f64>, high: Out<f64>) -> Result<String, Fault> {
    low.set("low", i.low.unwrap_or(ABSENT))?;
    high.set("high", i.high.unwrap_or(ABSENT))?;
    Ok(sentences(&i.notes))
}
