//! Many sweeps on threads; one that cannot be fitted spoils no other.

use super::error::FitError;
use super::extraction::extract;
use super::options::Options;
use super::result::Fit;
use crate::numerics::threads;
use crate::sweep::Sweep;
use std::borrow::Borrow;
use std::num::NonZeroUsize;

/// Fits K diodes to every sweep, in order; `None` where `watch` stopped the work (see [`threads::rows`]).
pub fn fit_many<const K: usize>(
    sweeps: &[impl Borrow<Sweep> + Sync],
    options: &Options,
    threads: Option<NonZeroUsize>,
    watch: impl FnMut(usize) -> bool,
) -> Option<Vec<Result<Fit<K>, FitError>>> {
    threads::rows(sweeps.len(), threads, |k| extract::<K>(sweeps[k].borrow(), options), watch)
}
