//! What the data determine: the status of a fit, its notes, and which intervals need the profile.
//!
//! With noise a parameter is identified where its 95 % profile interval closes inside the bounds (a physical
//! bound, Rs = 0 or g = 0, makes it one-sided, not a failure). Where the residuals are rounding, χ²/ν means
//! nothing; there a parameter is identified where δp ≤ 1e-9 of its value.

use super::covariance::Linear;
use super::model_comparison::detected;
use super::parameters::{Kind, names};
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
    pub notes: Vec<String>,
    /// Whether some parameter needs the profile interval, which then is the default of all.
    pub by_profile: bool,
    pub remarks: Vec<(usize, Reason)>,
}

pub(super) fn assess<const K: usize>(fit: &Fit<K>, solution: &Solution, linear: &Linear) -> Verdict {
    let problem = &fit.problem();
    let mut verdict =
        Verdict { status: Status::Converged, notes: Vec::new(), by_profile: false, remarks: Vec::new() };
    let detected = detected(problem.points, fit.noise_stated, solution.cost, fit.free.len());
    if !detected {
        verdict.status = Status::NotIdentified;
        verdict.notes.push(
            "the readings do not differ from noise about zero: nothing is determined; check light and wiring, or \
             average more readings"
                .into(),
        );
    }
    if !solution.stop.converged() {
        if detected {
            verdict.status = Status::NotConverged;
        }
        let reason = solution.stop.reason();
        verdict.notes.push(format!("not converged: {reason}; the last good state is given"));
        return verdict;
    }
    let (bounded, at_search_bound) = at_bound(fit, &mut verdict);
    verdict.notes.extend(second_feet(fit));
    let mut open = if solution.cost <= NOISE_FREE * problem.rounding() {
        open_without_noise(fit, linear, problem)
    } else {
        verdict.notes.extend(fit.lack_of_fit());
        open_with_noise(fit, &mut verdict)
    };
    if let Some(stop) = budget::used_up() {
        verdict.status = Status::NotConverged;
        verdict.notes.push(format!(
            "not converged: {} before it was examined what the readings determine; the last good state is given",
            stop.reason()
        ));
        return verdict;
    }
    open.extend(at_search_bound);
    if fit.dof == 0 && !fit.noise_stated {
        verdict
            .notes
            .push("as many free parameters as points: no scatter is left to judge the fit by".into());
    }
    let supported = fit.support.is_none_or(|s| s.holds());
    verdict.notes.extend(fit.support.map(|s| s.sentence()));
    if !open.is_empty() || !supported {
        verdict.status = Status::NotIdentified;
    }
    if !open.is_empty() {
        verdict.notes.push(direction(fit, &open));
        for &k in &open {
            verdict.remarks.push((k, Reason::NotDetermined));
        }
    } else if bounded && verdict.status == Status::Converged {
        verdict.status = Status::AtBound;
    }
    verdict
}

/// Notes and remarks on parameters at a bound; whether there is one, and which lie on the end of the search
/// rather than on a bound of nature or of the caller.
fn at_bound<const K: usize>(fit: &Fit<K>, verdict: &mut Verdict) -> (bool, Vec<usize>) {
    let (mut any, mut at_search_bound) = (false, Vec::new());
    for (k, n) in names(K).iter().enumerate() {
        let (low, high, x) = (fit.bounds.low[k], fit.bounds.high[k], fit.theta[k]);
        if low == high {
            verdict.remarks.push((k, Reason::Fixed));
        } else if x <= low || x >= high {
            any = true;
            if is_search_limit(n.kind(), K, x, fit.a_per_n()) {
                at_search_bound.push(k);
            }
            // A bound of nature says something of the device, one that the caller set says nothing.
            let side = match (n.kind(), x <= low && low == 0.0) {
                (Kind::Rsh, true) => Reason::NoShunt,
                (Kind::Rs, true) => Reason::NoSeriesResistance,
                _ => Reason::AtBound,
            };
            verdict.notes.push(format!("{n} is {side}"));
            verdict.remarks.push((k, side));
            verdict.by_profile = true;
        }
    }
    (any, at_search_bound)
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

/// What to say where readings lie about as near to a second point of the curve as to the one that counts.
fn second_feet<const K: usize>(fit: &Fit<K>) -> Option<String> {
    let (count, first) = fit.problem().second_feet(fit.model.circuit(), fit.weights.s2.sqrt())?;
    let which = if count == 1 {
        format!("reading {first} lies")
    } else {
        format!("{count} readings lie, the first at {first},")
    };
    Some(format!(
        "{which} about as near to a second point of the curve as to the nearest one: which of them counts decides the fit, and \
         ± leaves that out; average more readings, or choose residual=\"current\""
    ))
}

/// Which parameters trade against each other, and what measurement would settle it.
fn direction<const K: usize>(fit: &Fit<K>, open: &[usize]) -> String {
    let list = |ks: &[usize]| ks.iter().map(|&k| names(K)[k].name()).collect::<Vec<_>>().join(", ");
    let kinds: Vec<Kind> = open.iter().map(|&k| names(K)[k].kind()).collect();
    let cure = if kinds.contains(&Kind::N) || kinds.contains(&Kind::I0) {
        if K > 1 {
            "measure over a wider range of current, in the dark as well, or fix= n1 and n2"
        } else {
            "measure with less noise and further beyond Voc, or fix= n"
        }
    } else if kinds.contains(&Kind::Rsh) {
        "points in reverse bias would settle the shunt"
    } else {
        "points beyond Voc would settle the series resistance"
    };
    let partner = partners(fit, open);
    let trade = match (partner.is_empty(), open.len()) {
        (false, _) => format!(" (they trade against {})", list(&partner)),
        (true, 2..) => " (they trade against each other)".into(),
        _ => String::new(),
    };
    format!("not determined by these data: {}{trade}; {cure}", list(open))
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
