//! Key points of many sweeps on threads.

use super::key_points::key_points;
use crate::numerics::threads;
use crate::quantity::key_points::KeyPoints;
use crate::sweep::Sweep;
use std::borrow::Borrow;
use std::num::NonZeroUsize;

/// [`key_points`] of every sweep, in order; `None` where `watch` stopped the work (see [`threads::rows`]). The result
/// does not depend on the number of threads.
///
/// # Examples
/// ```
/// use litdiode::curve::{key_points, key_points_many};
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let mut done = 0;
/// let rows = key_points_many(&[sweep.clone(), sweep.clone()], None, |rows| { done = rows; true }).unwrap();
/// assert_eq!(rows[1].isc, key_points(&sweep).isc);
/// assert_eq!(done, 2);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn key_points_many(
    sweeps: &[impl Borrow<Sweep> + Sync],
    threads: Option<NonZeroUsize>,
    watch: impl FnMut(usize) -> bool,
) -> Option<Vec<KeyPoints>> {
    threads::rows(sweeps.len(), threads, |k| key_points(sweeps[k].borrow()), watch)
}
