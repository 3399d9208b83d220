//! What the data determine: the status of a fit, its notes, and which intervals need the profile.
//!
//! With noise a parameter is identified where its 95 % profile interval closes inside the bounds (a physical
//! bound, Rs = 0 or g = 0, makes it one-sided, not a failure). Where the residuals are rounding, χ²/ν means
//! nothing; there a parameter is identified where δp ≤ 1e-9 of its value.

use super::covariance::Linear;
use super::model_comparison::{Support, detected};
use super::note::Note;
use super::parameters::{Kind, Parameter, names};
use super::residuals::Problem;
use super::result::{Fit, Status, relative};
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Residuals, Solution};
use crate::quantity::reason::Reason;

/// u(ln n) above which the linear interval is not trusted.
const CURVED: f64 = 0.1;
/// Standard uncertainties from a bound within which the linear interval is not trusted.
const NEAR: f64 = 4.0;
/// δp/p of an identified parameter of a noise-free sweep.
const IDENTIFIED: f64 = 1e-9;
/// Times the rounding of the residuals below which a fit has no noise to speak of: an rms of 20 ε.
const NOISE_FREE: f64 = 6400.0;
/// Level of the profile interval that must close.
const LEVEL: f64 = 0.95;

/// Status, notes, kind of interval, remarks by position.
pub(super) struct Verdict {
    pub status: Status,
    pub notes: Vec<Note>,
    /// Whether some parameter needs the profile interval, which then is the default of all.
    pub by_profile: bool,
    pub remarks: Vec<(usize, Reason)>,
}

pub(super) fn assess<const K: usize>(fit: &Fit<K>, solution: &Solution, linear: &Linear) -> Verdict {
    let mut verdict =
        Verdict { status: Status::Converged, notes: Vec::new(), by_profile: false, remarks: Vec::new() };
    let detected = detected(&fit.weights.points, fit.noise_stated, solution.cost, fit.free.len());
    if !detected {
        verdict.status = Status::NotIdentified;
        verdict.notes.push(Note::NoSignal);
    }
    if !solution.stop.converged() {
        if detected {
            verdict.status = Status::NotConverged;
        }
        verdict.notes.push(Note::NotConverged { stop: solution.stop });
        return verdict;
    }
    let (bounded, at_search_bound) = at_bound(fit, &mut verdict);
    verdict.notes.extend(second_feet(fit));
    let mut open = open(fit, solution.cost, linear, &mut verdict);
    if let Some(stop) = budget::used_up() {
        verdict.status = Status::NotConverged;
        verdict.notes.push(Note::NotExamined { stop });
        return verdict;
    }
    open.extend(at_search_bound);
    verdict.conclude(fit, &open, bounded);
    verdict
}

impl Verdict {
    /// The status of an optimum that leaves the coordinates `open`; `bounded` where some parameter lies at a bound.
    fn conclude<const K: usize>(&mut self, fit: &Fit<K>, open: &[usize], bounded: bool) {
        if fit.dof == 0 && !fit.noise_stated {
            self.notes.push(Note::NoScatterLeft);
        }
        self.notes.extend(fit.support.map(Support::note));
        let supported = fit.support.is_none_or(|s| s.holds());
        if !open.is_empty() || !supported {
            self.status = Status::NotIdentified;
        }
        if !open.is_empty() {
            let named = |ks: &[usize]| ks.iter().map(|&k| names(K)[k]).collect();
            self.notes
                .push(Note::NotDetermined { parameters: named(open), against: named(&partners(fit, open)) });
            for &k in open {
                self.remarks.push((k, Reason::NotDetermined));
            }
        } else if bounded && self.status == Status::Converged {
            self.status = Status::AtBound;
        }
    }
}

/// Notes and remarks on parameters at a bound; whether there is one, and which lie on the end of the search
/// rather than on a bound of nature or of the caller.
fn at_bound<const K: usize>(fit: &Fit<K>, verdict: &mut Verdict) -> (bool, Vec<usize>) {
    let (mut any, mut at_search_bound) = (false, Vec::new());
    for (k, &parameter) in names(K).iter().enumerate() {
        let (low, high, x) = (fit.bounds.low[k], fit.bounds.high[k], fit.theta[k]);
        if low == high {
            verdict.remarks.push((k, Reason::Fixed));
        } else if x <= low || x >= high {
            any = true;
            if is_search_limit(parameter.kind(), K, x, fit.a_per_n()) {
                at_search_bound.push(k);
            }
            let (note, side) = on_bound(parameter, x <= low && low == 0.0);
            verdict.remarks.push((k, side));
            verdict.notes.push(note);
            verdict.by_profile = true;
        }
    }
    (any, at_search_bound)
}

/// What to say of a parameter at a bound: one of nature says something of the device, one that the caller set says
/// nothing.
fn on_bound(parameter: Parameter, is_of_nature: bool) -> (Note, Reason) {
    match (parameter.kind(), is_of_nature) {
        (Kind::Rsh, true) => (Note::NoShunt, Reason::NoShunt),
        (Kind::Rs, true) => (Note::NoSeriesResistance, Reason::NoSeriesResistance),
        _ => (Note::AtBound { parameter }, Reason::AtBound),
    }
}

/// Whether `x` is the end of the search that holds when no bounds are given: no physics lies there, unlike at
/// Iph = 0, Rs = 0, g = 0 and at the ideality factors 1 and 2 between which two diodes are told apart.
fn is_search_limit(kind: Kind, diodes: usize, x: f64, a_per_n: f64) -> bool {
    if kind == Kind::N && diodes > 1 {
        return false;
    }
    let (low, high) = kind.limits(diodes);
    let (low, high) = (kind.coordinate(low, a_per_n), kind.coordinate(high, a_per_n));
    let near = |end: f64| (end - x).abs() <= 1e-9 * end.abs().max(1e-9);
    near(low.max(high)) || near(low.min(high)) && !kind.is_physical_at_low()
}

/// Free coordinates that the data do not determine; notes what the residuals say against the model.
fn open<const K: usize>(fit: &Fit<K>, cost: f64, linear: &Linear, verdict: &mut Verdict) -> Vec<usize> {
    let problem = fit.problem();
    if cost <= NOISE_FREE * problem.rounding() {
        return open_without_noise(fit, linear, &problem);
    }
    verdict.notes.extend(fit.lack_of_fit());
    open_with_noise(fit, verdict)
}

/// Free coordinates that rounding alone moves by more than 1e-9 of their value.
fn open_without_noise<const K: usize>(fit: &Fit<K>, linear: &Linear, problem: &Problem<K>) -> Vec<usize> {
    let Some(delta) = linear.rounding(problem, &fit.theta) else { return linear.free.clone() };
    let share = |p: usize| relative(names(K)[linear.free[p]].kind(), delta[p], fit.theta[linear.free[p]]);
    (0..linear.free.len())
        .filter(|&p| share(p).is_nan() || share(p) > IDENTIFIED)
        .map(|p| linear.free[p])
        .collect()
}

/// Free coordinates whose profile interval does not close; all that need the profile are noted.
///
/// Beside a bound the linear u of the others is too small: what the coordinate there can take over when it leaves the bound
/// widens theirs. Those u are judged with it released.
fn open_with_noise<const K: usize>(fit: &Fit<K>, verdict: &mut Verdict) -> Vec<usize> {
    let m = fit.free.len();
    // As many parameters as points, no stated noise, and yet a misfit: neither noise nor rounding shows that one is
    // determined, and where Jᵀr = 0 with r ≠ 0 the square J is singular.
    if !fit.weights.s2.is_finite() {
        return fit.free.clone();
    }
    let released = released_u(fit);
    let own = |p: usize| fit.theta_covariance.get(p * m + p).map_or(f64::INFINITY, |v| v.sqrt());
    let u = |p: usize| released.as_ref().map_or_else(|| own(p), |u| u[fit.free[p]].max(own(p)));
    let curved = (0..m).any(|p| names(K)[fit.free[p]].kind() == Kind::N && (u(p).is_nan() || u(p) > CURVED));
    let mut open = Vec::new();
    for p in 0..m {
        let k = fit.free[p];
        let room = (fit.theta[k] - fit.bounds.low[k]).min(fit.bounds.high[k] - fit.theta[k]);
        if !curved && room > NEAR * u(p) {
            continue;
        }
        verdict.by_profile = true;
        if !fit.profile_closes(k, LEVEL) {
            open.push(k);
        }
    }
    open
}

/// Standard uncertainty of every coordinate with those at a bound of nature free, infinite where the readings give none;
/// `None` where there are no such.
fn released_u<const K: usize>(fit: &Fit<K>) -> Option<Vec<f64>> {
    let at_nature = |k: &usize| {
        let (low, high) = (fit.bounds.low[*k], fit.bounds.high[*k]);
        names(K)[*k].kind().is_physical_at_low() && low == 0.0 && low < high && fit.theta[*k] <= low
    };
    let count = fit.theta.len();
    let released: Vec<usize> = (0..count).filter(|k| fit.free.contains(k) || at_nature(k)).collect();
    if released.len() == fit.free.len() {
        return None;
    }
    let mut u = vec![f64::INFINITY; count];
    let m = released.len();
    if let Some(c) = Linear::new(&fit.problem(), &fit.theta, released.clone()).0.unscaled() {
        released.iter().enumerate().for_each(|(p, &k)| u[k] = (c[p * m + p] * fit.weights.s2).sqrt());
    }
    Some(u)
}

/// Readings that lie about as near to a second point of the curve as to the one that counts.
fn second_feet<const K: usize>(fit: &Fit<K>) -> Option<Note> {
    let (readings, first) = fit.problem().second_feet(fit.model.circuit(), fit.weights.s2.sqrt())?;
    Some(Note::SecondFeet { readings, first })
}

/// Free parameters correlated with the open ones beyond 0.95.
fn partners<const K: usize>(fit: &Fit<K>, open: &[usize]) -> Vec<usize> {
    let m = fit.free.len();
    if fit.theta_covariance.len() != m * m {
        return Vec::new();
    }
    let c = |i: usize, j: usize| fit.theta_covariance[i * m + j];
    let tied = |i: usize, j: usize| c(i, j).abs() > 0.95 * (c(i, i) * c(j, j)).sqrt();
    let is_open = |p: usize| open.contains(&fit.free[p]);
    (0..m).filter(|&j| !is_open(j) && (0..m).any(|i| is_open(i) && tied(i, j))).map(|j| fit.free[j]).collect()
}
