//! What the functions have in common.

use crate::handles;
use crate::misuse::{Fault, Misuse};
use crate::objects::Kind;
use crate::pointers::Out;
use litdiode::cancel::{Cancelled, Token};
use litdiode::estimate::{Estimate, Interval};
use litdiode::quantity_format::sentences;

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
