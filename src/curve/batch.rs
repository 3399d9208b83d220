//! Key points of many sweeps on threads.

use super::key_points::key_points;
use crate::numerics::threads;
use crate::quantity::key_points::KeyPoints;
use crate::sweep::Sweep;
use std::borrow::Borrow;
use std::num::NonZeroUsize;

/// [`key_points`] of every sweep, in order; `None` where `watch` stopped the work (see [`threads::rows`]). The result
/// does not depend on the number of threads.
pub fn key_points_many(
    sweeps: &[impl Borrow<Sweep> + Sync],
    threads: Option<NonZeroUsize>,
    watch: impl FnMut(usize) -> bool,
) -> Option<Vec<KeyPoints>> {
    threads::rows(sweeps.len(), threads, |k| key_points(sweeps[k].borrow()), watch)
}
