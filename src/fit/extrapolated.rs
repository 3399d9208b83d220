//! Key points of the fitted curve, those beyond the readings with what the profile likelihood gives them.
//!
//! There the curve is hardly held by the readings: a shunt or a series resistance at its bound has no linear ±, and a figure
//! hangs on it as a whole. The standard uncertainty of such a figure is
//!
//! ```text
//! u = max(high − ĥ, ĥ − low)/t        low, high: 95 % profile interval of the figure h
//! ```
//!
//! so that ĥ ± t·u holds the profile interval; it has none where the interval is open.

use super::derived_quantity::Derived;
use super::result::{Fit, open_ends};
use crate::diode::Junction;
use crate::quantity::estimate::{Amount, Estimate, Unit, student_t};
use crate::quantity::key_points::{Found, KeyPoint, KeyPoints, NAMES, Surroundings};
use crate::quantity::reason::Reason;
use crate::sweep::{Swept, range};

/// Share of u at which a figure that is not clearly above zero still counts as one.
const SMALL: f64 = 1e-6;
/// Level of the profile interval that stands for ±.
const LEVEL: f64 = 0.95;

/// What the profile says of a figure beyond the readings.
enum Spread {
    /// Its standard uncertainty.
    Known(f64),
    /// Why it has none.
    Open(Reason),
}

impl<const K: usize> Fit<K> {
    /// Isc, Voc, the point of maximum power, FF and what follows, by the fitted curve and its covariance.
    ///
    /// A figure beyond the readings says so in its note, and its u is that of the profile interval: the longer half over t.
    pub fn key_points(&self) -> KeyPoints {
        let found = self.found();
        let beyond = self.beyond(&found);
        if !beyond[5] {
            return self.points(&found);
        }
        let spreads: Vec<Option<Spread>> =
            (0..6).map(|k| if beyond[k] { self.spread(KeyPoint::ALL[k]) } else { None }).collect();
        let own = |k: usize, u: f64| match &spreads[k] {
            Some(Spread::Known(own)) => *own,
            Some(Spread::Open(_)) => 0.0,
            None => u,
        };
        // FF = Pmax/(Isc·Voc) is there whatever the ± of what lies beyond: they are worked out with small ones.
        let mut points = self.points(&rescaled(found, |k, u| if beyond[k] { SMALL * own(k, u) } else { u }));
        for (k, name) in NAMES.iter().enumerate().filter(|(k, _)| beyond[*k]) {
            let small = points.get(name).and_then(|e| e.u);
            if let Some(small) = small {
                let u = if k == 5 { own(k, small) } else { small / SMALL };
                set_u(&mut points, name, small, u);
            }
        }
        for (k, name) in NAMES.iter().enumerate().filter(|(k, _)| beyond[*k]) {
            self.remark(&mut points, name, spreads[k].as_ref());
        }
        points
    }

    /// All of them to first order.
    pub(super) fn linear_key_points(&self) -> KeyPoints {
        self.points(&self.found())
    }

    /// Those that there are, with the covariance of those among the readings only: what lies beyond may have a linear u as
    /// large as itself and still be there.
    pub(super) fn present_key_points(&self) -> KeyPoints {
        let found = self.found();
        let beyond = self.beyond(&found);
        self.points(&rescaled(found, |k, u| if beyond[k] { 0.0 } else { u }))
    }

    fn points(&self, found: &Found) -> KeyPoints {
        let options = self.sweep.options();
        let around = Surroundings {
            area_cm2: options.area_cm2.as_ref(),
            irradiance_w_m2: options.irradiance_w_m2.as_ref(),
        };
        KeyPoints::new(found, around)
    }

    /// That the key point `name` lies beyond the readings, if it does.
    pub(super) fn extrapolation(&self, name: &str) -> Option<Reason> {
        let name = match name {
            "jsc" => "isc",
            "efficiency" => "pmax",
            _ => name,
        };
        let position = NAMES.iter().position(|n| *n == name)?;
        let (low, high) = self.swept_range();
        let unit = if self.sweep.options().swept == Swept::Current { Unit::Ampere } else { Unit::Volt };
        let (low, high) = (Amount::new(low, unit), Amount::new(high, unit));
        self.beyond(&self.found())[position].then_some(Reason::ExtrapolatedByModel { low, high })
    }

    /// The ends of the readings on the axis that was set, which noise does not widen.
    fn swept_range(&self) -> (f64, f64) {
        match self.sweep.options().swept {
            Swept::Current => range(self.sweep.current_a()),
            _ => range(self.sweep.voltage_v()),
        }
    }

    /// Which of [`NAMES`] lie beyond the readings.
    fn beyond(&self, found: &Found) -> [bool; 6] {
        if self.model.circuit().is_dark() {
            return [false; 6];
        }
        let (low, high) = self.swept_range();
        let is_beyond = |x: f64| x < low || x > high;
        let at = |k: usize| found.values[k].as_ref().is_ok_and(|x| is_beyond(*x));
        let (isc, voc, top) = match self.sweep.options().swept {
            Swept::Current => (at(0), is_beyond(0.0), at(4)),
            _ => (is_beyond(0.0), at(1), at(3)),
        };
        [isc, voc, top, top, top, isc || voc || top]
    }

    fn spread(&self, point: KeyPoint) -> Option<Spread> {
        let (best, ends) = match self.figure_interval(Derived::behind(point), LEVEL) {
            Ok(found) => found,
            Err(why) => return Some(Spread::Open(why)),
        };
        let half = match ends {
            (Some(low), Some(high)) => (high - best).max(best - low),
            _ => return open_ends(point.name(), ends).map(Spread::Open),
        };
        Some(Spread::Known(half / student_t(LEVEL, self.effective_dof())))
    }

    /// Says of a figure beyond the readings, and of what follows from it, that it is; takes its ± where it has none.
    fn remark(&self, points: &mut KeyPoints, name: &str, spread: Option<&Spread>) {
        let Some(why) = self.extrapolation(name) else { return };
        let (how_far, is_open) = match spread {
            Some(Spread::Open(open)) => (open.clone(), true),
            _ => (Reason::ByProfile, false),
        };
        if is_open {
            leave_out(points, name);
        }
        for (figure, _) in figures(points, name) {
            figure.u = figure.u.filter(|_| !is_open);
            figure.notes.extend([why.clone(), how_far.clone()]);
        }
    }

    fn found(&self) -> Found {
        let (dof, circuit) = (self.effective_dof(), self.model.circuit());
        if circuit.iph == 0.0 {
            return Found { values: [0.0; 5].map(Ok), covariance: Err(Reason::Dark), dof: [dof; 5] };
        }
        let jacobian = circuit.key_point_jacobian();
        Found { values: jacobian.values.map(Ok), covariance: self.propagate(&jacobian.rows), dof: [dof; 5] }
    }
}

/// The key point `name` and what follows from it, each with its derivative by that key point.
fn figures<'a>(points: &'a mut KeyPoints, name: &str) -> Vec<(&'a mut Estimate, f64)> {
    let KeyPoints { isc, voc, pmax, v_pmax, i_pmax, ff, jsc, efficiency, .. } = points;
    let (figure, follows) = match name {
        "isc" => (isc, Some(jsc)),
        "pmax" => (pmax, Some(efficiency)),
        "voc" => (voc, None),
        "v_pmax" => (v_pmax, None),
        "i_pmax" => (i_pmax, None),
        _ => (ff, None),
    };
    let Some(figure) = figure.as_mut() else { return Vec::new() };
    let value = figure.value;
    let follows = follows.and_then(Option::as_mut).map(|f| {
        let by = f.value / value;
        (f, by)
    });
    [(figure, 1.0)].into_iter().chain(follows).collect()
}

/// The same with a new u for each figure, from its position and its u; correlations stay.
fn rescaled(mut found: Found, u: impl Fn(usize, f64) -> f64) -> Found {
    if let Ok(c) = &mut found.covariance {
        let factor: [f64; 5] = std::array::from_fn(|k| {
            let old = c[k][k].max(0.0).sqrt();
            if old > 0.0 && old.is_finite() { u(k, old) / old } else { 1.0 }
        });
        (0..25).for_each(|k| c[k / 5][k % 5] *= factor[k / 5] * factor[k % 5]);
    }
    found
}

/// Puts `u` in the place of the standard uncertainty `old` of a figure, of what follows from it, and of its row and column
/// in the covariance.
fn set_u(points: &mut KeyPoints, name: &str, old: f64, u: f64) {
    for figure in figures(points, name) {
        // Of the square of its u, the part of the figure is exchanged; area and irradiance keep theirs.
        let part = |share: f64| (share * figure.1).powi(2);
        figure.0.u = figure.0.u.map(|all| ((all * all - part(old)).max(0.0) + part(u)).sqrt());
    }
    let Some(k) = points.names.iter().position(|n| n == name) else { return };
    let (m, factor) = (points.names.len(), if old > 0.0 { u / old } else { 1.0 });
    for j in 0..m {
        points.covariance[k * m + j] *= factor;
        points.covariance[j * m + k] *= factor;
    }
}

/// Takes a figure without ± out of the covariance.
fn leave_out(points: &mut KeyPoints, name: &str) {
    let Some(k) = points.names.iter().position(|n| n == name) else { return };
    let m = points.names.len();
    points.names.remove(k);
    let mut place = 0;
    points.covariance.retain(|_| {
        place += 1;
        (place - 1) / m != k && (place - 1) % m != k
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_covariance_of_what_is_left_is_the_minor() {
        let found = Found { values: [0.0; 5].map(Ok), covariance: Err(Reason::Dark), dof: [1.0; 5] };
        let mut points = KeyPoints::new(&found, Surroundings::default());
        points.names = ["isc", "voc", "pmax"].map(Into::into).to_vec();
        points.covariance = vec![1.0, 2.0, 3.0, 2.0, 5.0, 6.0, 3.0, 6.0, 9.0];
        leave_out(&mut points, "ff");
        assert_eq!(points.covariance.len(), 9);
        leave_out(&mut points, "voc");
        assert_eq!(
            (points.names.join(" "), points.covariance),
            ("isc pmax".to_owned(), vec![1.0, 3.0, 3.0, 9.0])
        );
    }
}
