//! The independent sources behind an uncertainty, so that figures that share some can be combined.
//!
//! ```text
//! x = value + Σ uₖ·zₖ        u² = Σ uₖ²        cov(x, y) = Σ uₖ·wₖ over the sources that both have
//! ```
//!
//! zₖ are independent, with mean 0 and standard deviation 1; uₖ has a sign. What is common to two figures is told by the
//! [`Identity`] of a source (JCGM 100:2008, 5.2 and F.1.2).

use std::hash::{BuildHasher, RandomState};

/// What makes a source the same in several figures.
///
/// # Examples
/// ```
/// use litdiode::source::Identity;
/// assert_eq!(Identity::named("reference cell 4"), Identity::named("reference cell 4"));
/// assert!(Identity::distinct() != Identity::distinct());
/// assert!(Identity::named("lamp").is_named() && Identity::unknown(&[1.0, 0.1]).is_unknown());
/// ```
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Identity {
    /// Where it comes from: one quantity, or the readings of one sweep.
    pub origin: String,
    /// Which of the sources of that origin.
    pub part: u32,
}

/// Prefix of origins of which nothing is known but the numbers.
const UNKNOWN: &str = "unknown:";
/// Prefix of origins that are the readings of a sweep.
const READ: &str = "sweep:";
/// Prefix of origins that are known by a name.
const NAMED: &str = "name:";

impl Identity {
    /// The identity that everybody gives to a quantity of this name.
    pub fn named(name: &str) -> Self {
        Self { origin: format!("{NAMED}{name}"), part: 0 }
    }

    /// One that nothing else has.
    pub fn distinct() -> Self {
        Self { origin: format!("id:{:016x}", random()), part: 0 }
    }

    /// That of a quantity whose other correlations are not known; equal `numbers` are the same quantity.
    pub fn unknown(numbers: &[f64]) -> Self {
        Self { origin: format!("{UNKNOWN}{:016x}", digest(numbers)), part: 0 }
    }

    /// One that nothing else has, of a quantity whose correlations are not known.
    pub(crate) fn unknown_distinct() -> Self {
        Self { origin: format!("{UNKNOWN}{:016x}", random()), part: 0 }
    }

    /// The same origin, another part.
    #[must_use]
    pub fn part(&self, part: usize) -> Self {
        Self { origin: self.origin.clone(), part: u32::try_from(part).unwrap_or(u32::MAX) }
    }

    /// That of what is read from a sweep in one way, `kind`; `sweep` is a digest of its readings, 0 where they are not known.
    pub(crate) fn of_sweep(sweep: u64, kind: &str, numbers: &[f64]) -> Self {
        Self { origin: format!("{READ}{sweep:016x}:{kind}:{:016x}", digest(numbers)), part: 0 }
    }

    /// Whether both are read from the readings of one sweep in different ways, so that what they share is not known.
    pub(crate) fn shares_readings(&self, other: &Self) -> bool {
        let sweep = |origin: &str| Some(origin.strip_prefix(READ)?.split_once(':')?.0.to_owned());
        let known = sweep(&self.origin).filter(|sweep| !sweep.trim_start_matches('0').is_empty());
        self.origin != other.origin && known.is_some() && known == sweep(&other.origin)
    }

    /// Whether it is known by a name.
    pub fn is_named(&self) -> bool {
        self.origin.starts_with(NAMED)
    }

    /// Whether its correlations with other origins are not known.
    pub fn is_unknown(&self) -> bool {
        self.origin.starts_with(UNKNOWN)
    }
}

/// A source and what one standard deviation of it makes of a figure.
///
/// # Examples
/// ```
/// use litdiode::source::{Identity, Source};
/// let lamp = Source::new(Identity::named("lamp"), "lamp calibration", 0.02, f64::INFINITY);
/// assert_eq!((lamp.times(-0.5).u, lamp.times(-0.5).identity == lamp.identity), (-0.01, true));
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Source {
    /// What it has in common with other figures.
    pub identity: Identity,
    /// Its name for people.
    pub name: String,
    /// Change of the figure by one standard deviation, in its unit, with its sign.
    pub u: f64,
    /// Degrees of freedom behind it.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub dof: f64,
}

impl Source {
    /// From its parts.
    pub fn new(identity: Identity, name: impl Into<String>, u: f64, dof: f64) -> Self {
        Self { identity, name: name.into(), u, dof }
    }

    /// The same source of a figure that is `factor` times the first.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        Self { u: factor * self.u, ..self.clone() }
    }
}

/// What a value carries beside its numbers, which takes no part in comparison: two values are equal when their numbers are.
#[derive(Clone, Copy, Debug, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Aside<T>(pub T);

impl<T> PartialEq for Aside<T> {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// A source that other sweeps may share, and what one standard deviation of it makes of each of the key points, in the order of
/// [`KeyPoint::ALL`](crate::key_points::KeyPoint::ALL).
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct CommonSource {
    pub identity: Identity,
    pub name: String,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub dof: f64,
    pub by: [f64; 8],
}

/// Which instrument a stated noise belongs to, 0 where it is not said.
#[derive(Clone, Copy, Debug, Default)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Instrument(u64);

impl Instrument {
    /// One that no other noise has.
    pub fn distinct() -> Self {
        Self(random().max(1))
    }

    /// That of the instrument of this name.
    pub fn named(name: &str) -> Self {
        let bytes: Vec<f64> = name.bytes().map(f64::from).collect();
        Self(digest(&bytes).max(1))
    }

    /// The identity of its sources, where it is said.
    pub fn identity(self) -> Option<Identity> {
        (self.0 != 0).then(|| Identity { origin: format!("instrument:{:016x}", self.0), part: 0 })
    }
}

/// A number that differs between calls, threads and processes, those that a process forks among them.
fn random() -> u64 {
    let now = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap_or_default();
    RandomState::new().hash_one((std::process::id(), now.as_nanos()))
}

/// A digest of numbers, the same in every program: FNV-1a over their bits, 64 at a time.
pub(crate) fn digest(numbers: &[f64]) -> u64 {
    const BASIS: u64 = 0xcbf2_9ce4_8422_2325;
    const PRIME: u64 = 0x0100_0000_01b3;
    // The high bits of a word reach the low ones by the rotation alone.
    numbers.iter().fold(BASIS, |state, x| (state ^ x.to_bits()).wrapping_mul(PRIME).rotate_left(29))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The test vectors of FNV-1a in 64 bits for no bytes, and the same numbers twice.
    #[test]
    fn a_digest_is_the_same_in_every_program() {
        assert_eq!(digest(&[]), 0xcbf2_9ce4_8422_2325);
        assert_eq!(digest(&[1.5, -2.0]), digest(&[1.5, -2.0]));
        assert_ne!(digest(&[1.5, -2.0]), digest(&[-2.0, 1.5]));
    }

    #[test]
    fn identities_differ_unless_they_are_named() {
        assert_ne!(Identity::distinct(), Identity::distinct());
        assert_eq!(Identity::named("lamp"), Identity::named("lamp"));
        assert!(Identity::unknown(&[1.0]).is_unknown() && !Identity::named("unknown").is_unknown());
    }
}
