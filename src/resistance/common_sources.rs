//! What moves all points of a sweep, in the uncertainty of every resistance.
//!
//! ```text
//! u² = u²(readings) + Σ hₛ²        hₛ: half the difference of R with the points of all sweeps at ± one u of source s
//! ```
//!
//! A source that several sweeps share moves them together (JCGM 100:2008, 5.2.2). Fits carry their sources themselves; gains of the
//! noise are in the ± of every method.

use super::estimated::{LEVEL, Resistance};
use super::measured::Measured;
use crate::numerics::cancel;
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::combined_dof;
use crate::sweep::{Effect, Sweep, half_difference, of_one_source};

/// Which sweep of a [`Measured`] an effect belongs to.
#[derive(Clone, Copy, PartialEq)]
enum Role {
    Lit,
    Dark,
    More(usize),
}

/// A source and what it does to each sweep that it moves.
type Source = Vec<(Role, Effect)>;

/// Adds the common sources of the sweeps to the resistances that are `found`; `of` finds them anew, without fits.
pub(super) fn carry(
    found: &mut [Resistance],
    measured: &Measured,
    of: impl Fn(&Measured) -> Vec<Resistance>,
) {
    for source in sources(measured) {
        if cancel::requested_now() {
            return;
        }
        let [up, down] = [1.0, -1.0].map(|sign| of_moved(measured, &source, sign, &of));
        let dof = source.iter().map(|s| s.1.dof).fold(f64::INFINITY, f64::min);
        for row in found.iter_mut().filter(|row| !row.method.starts_with("diode fit")) {
            let at = |rows: &[Resistance]| {
                let same = rows.iter().find(|r| r.quantity == row.quantity && r.method == row.method);
                same.map(|r| r.estimate.value).filter(|x| x.is_finite())
            };
            let half = half_difference(at(&up), row.estimate.value, at(&down)).unwrap_or(0.0);
            add(row, half * half, dof);
        }
    }
}

fn add(row: &mut Resistance, variance: f64, dof: f64) {
    let Some(u) = row.estimate.u.filter(|_| variance > 0.0) else { return };
    let whole = (u * u + variance).sqrt();
    let dof = combined_dof(&[(u * u, row.estimate.dof), (variance, dof)]);
    row.estimate = Estimate { u: Some(whole), dof, ..row.estimate.clone() };
    row.interval = row.estimate.interval(LEVEL);
}

/// The sources of all sweeps, those of one identity together.
fn sources(measured: &Measured) -> Vec<Source> {
    let more = measured.more_lit.iter().enumerate().map(|(k, sweep)| (Role::More(k), sweep));
    let first = [measured.lit.map(|s| (Role::Lit, s)), measured.dark.map(|s| (Role::Dark, s))];
    let mut all: Vec<Source> = Vec::new();
    for (role, sweep) in first.into_iter().flatten().chain(more) {
        for effect in of_one_source(sweep.options()) {
            let same = |s: &&mut Source| effect.identity.is_some() && s[0].1.identity == effect.identity;
            match all.iter_mut().find(same) {
                Some(source) => source.push((role, effect)),
                None => all.push(vec![(role, effect)]),
            }
        }
    }
    all
}

/// The resistances with all sweeps moved by a source; none where one of them is no sweep then.
fn of_moved(
    measured: &Measured,
    source: &Source,
    sign: f64,
    of: impl Fn(&Measured) -> Vec<Resistance>,
) -> Vec<Resistance> {
    let moved = |role: Role, sweep: &Sweep| {
        let mut own = source.iter().filter(|s| s.0 == role);
        own.try_fold(sweep.clone(), |sweep, (_, effect)| sweep.moved(effect, sign))
    };
    let lit = measured.lit.map(|sweep| moved(Role::Lit, sweep));
    let dark = measured.dark.map(|sweep| moved(Role::Dark, sweep));
    let more: Option<Vec<Sweep>> =
        measured.more_lit.iter().enumerate().map(|(k, sweep)| moved(Role::More(k), sweep)).collect();
    let (Some(more), false) = (more, lit == Some(None) || dark == Some(None)) else { return Vec::new() };
    let (lit, dark) = (lit.flatten(), dark.flatten());
    of(&Measured { lit: lit.as_ref(), dark: dark.as_ref(), more_lit: &more, ..*measured })
}
