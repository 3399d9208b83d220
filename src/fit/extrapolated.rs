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

use super::figure::Figure;
use super::result::{Fit, open_ends};
use crate::diode::Circuit;
use crate::estimate::{Estimate, coverage_factor};
use crate::key_points::{Found, KeyPoints, NAMES, Surroundings};
use crate::sweep::{Swept, range};

/// Level of the profile interval that stands for ±.
const LEVEL: f64 = 0.95;

/// What the profile says of a figure beyond the readings.
enum Spread {
    /// Its standard uncertainty.
    Known(f64),
    /// Why it has none.
    Open(String),
}

impl<const K: usize> Fit<K> {
    /// Isc, Voc, the point of maximum power, FF and what follows, by the fitted curve and its covariance.
    ///
    /// A figure beyond the readings says so in its note, and its u is that of the profile interval: the longer half over t.
    pub fn key_points(&self) -> KeyPoints {
        let mut points = self.linear_key_points();
        let beyond = self.beyond(&points);
        for (name, _) in NAMES.iter().zip(beyond).filter(|(_, beyond)| *beyond) {
            let spread = self.spread(name);
            self.spread_out(&mut points, name, spread);
        }
        points
    }

    /// All of them to first order.
    pub(super) fn linear_key_points(&self) -> KeyPoints {
        let options = self.sweep.options();
        let around = Surroundings {
            area_cm2: options.area_cm2.as_ref(),
            irradiance_w_m2: options.irradiance_w_m2.as_ref(),
        };
        KeyPoints::new(&self.found(self.model.circuit()), around)
    }

    /// Why the key point `name` has to be taken with care, if it lies beyond the readings.
    pub(super) fn extrapolation(&self, name: &str, points: &KeyPoints) -> Option<String> {
        let name = match name {
            "jsc" => "isc",
            "efficiency" => "pmax",
            _ => name,
        };
        let position = NAMES.iter().position(|n| *n == name)?;
        let (low, high) = self.swept_range();
        let unit = if self.sweep.options().swept == Swept::Current { "A" } else { "V" };
        self.beyond(points)[position]
            .then(|| format!("extrapolated by the model: the readings go from {low:.4} to {high:.4} {unit}"))
    }

    /// The ends of the readings on the axis that was set, which noise does not widen.
    fn swept_range(&self) -> (f64, f64) {
        match self.sweep.options().swept {
            Swept::Current => range(self.sweep.current_a()),
            _ => range(self.sweep.voltage_v()),
        }
    }

    /// Which of [`NAMES`] lie beyond the readings.
    fn beyond(&self, points: &KeyPoints) -> [bool; 6] {
        let (low, high) = self.swept_range();
        let is_beyond = |x: f64| x < low || x > high;
        let at = |e: &Option<Estimate>| e.as_ref().is_some_and(|e| is_beyond(e.value));
        let (isc, voc, top) = match self.sweep.options().swept {
            Swept::Current => (at(&points.isc), points.voc.is_some() && is_beyond(0.0), at(&points.i_pmax)),
            _ => (points.isc.is_some() && is_beyond(0.0), at(&points.voc), at(&points.v_pmax)),
        };
        [isc, voc, top, top, top, isc || voc || top]
    }

    fn spread(&self, name: &str) -> Option<Spread> {
        let (best, ends) = self.figure_interval(Figure::named(name)?, LEVEL)?;
        let half = match ends {
            (Some(low), Some(high)) => (high - best).max(best - low),
            _ => return open_ends(name, ends).map(Spread::Open),
        };
        Some(Spread::Known(half / coverage_factor(LEVEL, self.effective_dof())))
    }

    /// Writes the uncertainty of one figure, and of what follows from it, into `points`.
    fn spread_out(&self, points: &mut KeyPoints, name: &str, spread: Option<Spread>) {
        let Some(why) = self.extrapolation(name, points) else { return };
        let note = match &spread {
            Some(Spread::Open(open)) => format!("{why}; {open}, so that there is no ±"),
            _ => format!("{why}; fit.interval(\"{name}\") says how far that can be believed"),
        };
        let u = match spread {
            Some(Spread::Known(u)) => Some(u),
            Some(Spread::Open(_)) => None,
            // Without a covariance there is no ± to replace.
            None => points.get(name).and_then(|e| e.u),
        };
        let old = points.get(name).and_then(|e| e.u);
        rescale(points, name, old, u);
        let KeyPoints { isc, voc, pmax, v_pmax, i_pmax, ff, jsc, efficiency, .. } = points;
        let (figure, follows) = match name {
            "isc" => (isc, Some(jsc)),
            "pmax" => (pmax, Some(efficiency)),
            "voc" => (voc, None),
            "v_pmax" => (v_pmax, None),
            "i_pmax" => (i_pmax, None),
            _ => (ff, None),
        };
        let Some(figure) = figure else { return };
        if let Some(follows) = follows.and_then(Option::as_mut) {
            // Of the square of its u, the part of the figure is exchanged; area and irradiance keep theirs.
            let factor = follows.value / figure.value;
            let part = |u: f64| (factor * u).powi(2);
            follows.u = follows
                .u
                .zip(old)
                .zip(u)
                .map(|((all, old), u)| ((all * all - part(old)).max(0.0) + part(u)).sqrt());
            remark(follows, &note);
        }
        figure.u = u;
        remark(figure, &note);
    }

    fn found(&self, circuit: &Circuit<K>) -> Found {
        let dof = self.effective_dof();
        if circuit.iph == 0.0 {
            let why = "a dark curve: the model puts it at 0";
            return Found { values: [0.0; 5].map(Ok), covariance: Err(why.into()), dof: [dof; 5] };
        }
        let jacobian = circuit.key_point_jacobian();
        Found { values: jacobian.values.map(Ok), covariance: self.propagate(&jacobian.rows), dof: [dof; 5] }
    }
}

/// Adds a remark to those that a figure has.
fn remark(figure: &mut Estimate, note: &str) {
    figure.note = Some(match figure.note.take() {
        Some(own) => format!("{own}; {note}"),
        None => note.to_owned(),
    });
}

/// Row and column of a figure in the covariance for its new u: correlations stay. Without one it is left out.
fn rescale(points: &mut KeyPoints, name: &str, old: Option<f64>, new: Option<f64>) {
    let Some(k) = points.names.iter().position(|n| n == name) else { return };
    let m = points.names.len();
    let Some((old, new)) = old.zip(new) else {
        points.names.remove(k);
        let mut place = 0;
        points.covariance.retain(|_| {
            place += 1;
            (place - 1) / m != k && (place - 1) % m != k
        });
        return;
    };
    let factor = if old > 0.0 { new / old } else { 1.0 };
    for j in 0..m {
        points.covariance[k * m + j] *= factor;
        points.covariance[j * m + k] *= factor;
    }
}
