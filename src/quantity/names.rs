//! Names of figures, and words that should be names and are none.

use std::borrow::Cow;

/// The name of a figure.
pub type Name = Cow<'static, str>;

/// A name that stands for nothing of its kind.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{name:?} is no {what}; use one of {known}")]
#[non_exhaustive]
pub struct UnknownName {
    /// The name given.
    pub name: String,
    /// What it should stand for.
    pub what: &'static str,
    /// The names that there are.
    pub known: String,
}

/// The one of `all` that has the name `given`.
pub(crate) fn named<T: Copy>(
    given: &str,
    what: &'static str,
    all: &[T],
    name: impl Fn(T) -> &'static str,
) -> Result<T, UnknownName> {
    all.iter().copied().find(|one| name(*one) == given).ok_or_else(|| UnknownName {
        name: given.into(),
        what,
        known: all.iter().map(|one| name(*one)).collect::<Vec<_>>().join(", "),
    })
}
