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
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, Parameter, fit_many};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let short = sweep.subset(&[0, 1, 2], Vec::new())?;
/// let fits = fit_many::<1>(&[sweep, short], &Options::default(), None, |_| true).unwrap();
/// let n = fits[0].as_ref().unwrap().parameter(Parameter::N).unwrap().value;
/// assert!((n - 1.3).abs() < 1e-6);
/// assert!(fits[1].as_ref().is_err_and(|why| why.to_string().contains("3 points")));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit_many<const K: usize>(
    sweeps: &[impl Borrow<Sweep> + Sync],
    options: &Options,
    threads: Option<NonZeroUsize>,
    watch: impl FnMut(usize) -> bool,
) -> Option<Vec<Result<Fit<K>, FitError>>> {
    threads::rows(sweeps.len(), threads, |k| extract::<K>(sweeps[k].borrow(), options), watch)
}
