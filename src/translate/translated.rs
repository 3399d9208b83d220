//! A translated sweep and what the uncertain inputs of the translation do to it.
//!
//! ```text
//! e_k = u(x_k)·(∂I/∂x_k, ∂V/∂x_k) at every point          Cov(point i, point j) = Σk e_k(i)·e_k(j)ᵀ
//! ```
//!
//! Each input x_k (a parameter, the irradiance, Isc1, Voc1) moves all points together, which is why its
//! effect is kept whole and not as one ± a point (JCGM 100:2008, 5.2.2). The inputs count as independent of
//! each other and of the scatter of the readings, but for Isc1 and Voc1, which come from those readings: with the pulls p
//! of each source on the figures F of the translated points and on x = Isc1 or Voc1,
//!
//! ```text
//! cov(Fj, Fk) += sj·⟨p(x), p(Fk)⟩ + sk·⟨p(x), p(Fj)⟩ + sj·sk·⟨p(x), p(x)⟩        sk = ∂Fk/∂x
//! ```
//!
//! A gain of the axis of x multiplies the points, x among them, and is in the ± of the points already.

use super::condition::{Measured, Target};
use super::error::TranslateError;
use crate::curve::{self, Pull};
use crate::estimate::Estimate;
use crate::key_points::{KeyPoints, NAMES, Surroundings};
use crate::sweep::{Change, Leads, Noise, Sign, Sweep, SweepOptions};
use serde::{Deserialize, Serialize};

/// What one standard uncertainty of one input does to every point.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Effect {
    /// The input.
    pub name: String,
    /// Change of each current in A.
    pub current_a: Vec<f64>,
    /// Change of each voltage in V.
    pub voltage_v: Vec<f64>,
    /// Where the input is a figure of the readings themselves.
    of_readings: Option<OfReadings>,
}

/// An input that was read from the points which it moves: Isc (0) or Voc (1) of the sweep.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
struct OfReadings {
    figure: usize,
    pull: Pull,
}

/// A sweep at another condition.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Translated {
    /// The points at the target condition; the translation is the last of its changes. Its noise is the
    /// scatter of the readings alone: `effects` come on top.
    pub sweep: Sweep,
    /// What each uncertain input does to the points.
    pub effects: Vec<Effect>,
    /// What must be known before the points are believed.
    pub warnings: Vec<String>,
}

impl Translated {
    /// Standard uncertainty in A that the inputs add to the current of each point.
    pub fn u_current_a(&self) -> Vec<f64> {
        self.root_sum(|e| &e.current_a)
    }

    /// Standard uncertainty in V that the inputs add to the voltage of each point.
    pub fn u_voltage_v(&self) -> Vec<f64> {
        self.root_sum(|e| &e.voltage_v)
    }

    fn root_sum(&self, axis: impl Fn(&Effect) -> &Vec<f64>) -> Vec<f64> {
        let at = |k: usize| self.effects.iter().map(|e| axis(e)[k].powi(2)).sum::<f64>().sqrt();
        (0..self.sweep.len()).map(at).collect()
    }

    /// Covariance that the inputs add between point `i` and point `j`, in SI units: (V, I) by (V, I), row by
    /// row; `None` where there is no such point.
    pub fn covariance(&self, i: usize, j: usize) -> Option<[[f64; 2]; 2]> {
        let points = self.sweep.len();
        (i < points && j < points).then(|| {
            let mut sum = [[0.0; 2]; 2];
            for e in &self.effects {
                let (first, second) = ([e.voltage_v[i], e.current_a[i]], [e.voltage_v[j], e.current_a[j]]);
                (0..2).for_each(|r| (0..2).for_each(|c| sum[r][c] += first[r] * second[c]));
            }
            sum
        })
    }

    /// Key points at the target condition with everything in their uncertainties: scatter and calibration as
    /// in [`curve::key_points`], and the effects of the inputs.
    ///
    /// Formula: each effect is a half difference of the figures with the points moved by ±e_k; degrees of
    /// freedom are those of the scatter, spread over the sum (JCGM 100:2008, G.4).
    pub fn key_points(&self) -> KeyPoints {
        let (v, i) = (self.sweep.voltage_v(), self.sweep.current_a());
        let (mut found, pulls) = curve::traced(&self.sweep, v, i);
        let mut scatter = found.covariance.clone();
        for e in &self.effects {
            let halves = self.change_of_figures(e, &found.values);
            let more = halves.map(|half| e.covariance(&half, &pulls));
            if e.of_readings.is_some() {
                scatter = sum(scatter, &more);
            }
            found.covariance = sum(found.covariance, &more);
        }
        if let (Ok(before), Ok(after)) = (&scatter, &found.covariance) {
            for k in (0..5).filter(|&k| before[k][k] > 0.0) {
                found.dof[k] *= (after[k][k] / before[k][k]).powi(2);
            }
        }
        let options = self.sweep.options();
        // The target is exact; what was not known of the light lies on the points.
        let irradiance = options
            .irradiance_w_m2
            .as_ref()
            .map(|g| if g.u.is_none() { Estimate::new(g.value, 0.0, g.unit) } else { g.clone() });
        let around =
            Surroundings { area_cm2: options.area_cm2.as_ref(), irradiance_w_m2: irradiance.as_ref() };
        let mut points = KeyPoints::new(&found, around);
        self.keep_remarks(&mut points);
        points
    }

    /// What the effect does to the five figures; an error where a figure vanishes under it.
    fn change_of_figures(&self, e: &Effect, here: &[Result<f64, String>; 5]) -> Result<[f64; 5], String> {
        let (v, i) = (self.sweep.voltage_v(), self.sweep.current_a());
        let moved = |sign: f64| {
            let shift =
                |x: &[f64], by: &[f64]| -> Vec<f64> { x.iter().zip(by).map(|(x, e)| x + sign * e).collect() };
            curve::found_in(&self.sweep, &shift(v, &e.voltage_v), &shift(i, &e.current_a)).values
        };
        let (up, down) = (moved(1.0), moved(-1.0));
        let mut change = [0.0; 5];
        for k in 0..5 {
            let Ok(here) = here[k] else { continue };
            change[k] = match (&up[k], &down[k]) {
                (Ok(up), Ok(down)) => 0.5 * (up - down),
                (Ok(up), Err(_)) => up - here,
                (Err(_), Ok(down)) => here - down,
                (Err(_), Err(_)) => {
                    return Err(format!(
                        "the uncertainty of {} moves the points so far that {} is lost: state it more closely or sweep further",
                        e.name, NAMES[k]
                    ));
                }
            };
        }
        Ok(change)
    }

    /// What the curve has to say on its ±, such as a scatter beyond the stated noise.
    fn keep_remarks(&self, points: &mut KeyPoints) {
        let plain = curve::key_points(&self.sweep);
        let pairs = [
            (&mut points.isc, plain.isc),
            (&mut points.voc, plain.voc),
            (&mut points.pmax, plain.pmax),
            (&mut points.v_pmax, plain.v_pmax),
            (&mut points.i_pmax, plain.i_pmax),
            (&mut points.ff, plain.ff),
        ];
        for (figure, plain) in pairs {
            if let (Some(figure), Some(plain)) = (figure, plain) {
                figure.note = figure.note.take().or(plain.note);
            }
        }
    }
}

type Square = [[f64; 5]; 5];

fn sum(to: Result<Square, String>, more: &Result<Square, String>) -> Result<Square, String> {
    let (mut to, more) = (to?, more.as_ref().map_err(Clone::clone)?);
    to.iter_mut().flatten().zip(more.iter().flatten()).for_each(|(to, more)| *to += more);
    Ok(to)
}

impl Effect {
    /// What the input adds to the covariance of the figures that it changes by `half`, of which the readings pull `pulls`.
    fn covariance(&self, half: &[f64; 5], pulls: &[Option<Pull>; 5]) -> Square {
        let shared: [f64; 5] = std::array::from_fn(|k| match (&self.of_readings, &pulls[k]) {
            (Some(own), Some(pull)) => {
                let same = own.figure == k;
                let shape = if same { own.pull.truncation * pull.truncation } else { 0.0 };
                (own.pull.covariance(pull) + shape) / own.pull.u()
            }
            _ => 0.0,
        });
        let entry = |j: usize, k: usize| half[j] * half[k] + half[j] * shared[k] + half[k] * shared[j];
        std::array::from_fn(|j| std::array::from_fn(|k| entry(j, k)))
    }
}

/// The new points, and the derivatives of (I, V) of each by every input.
pub(super) struct Points {
    pub current_a: Vec<f64>,
    pub voltage_v: Vec<f64>,
    pub effects: Vec<Effect>,
    pub warnings: Vec<String>,
}

impl Points {
    pub fn new(current_a: Vec<f64>, voltage_v: Vec<f64>) -> Self {
        Self { current_a, voltage_v, effects: Vec::new(), warnings: Vec::new() }
    }

    /// Adds the input `x` with its derivatives (∂I, ∂V) at point k; one that changes nothing is left out, one
    /// whose uncertainty is unknown gives a warning.
    pub fn input(&mut self, name: &str, x: &Estimate, by: impl Fn(usize) -> (f64, f64)) {
        self.add(name, x.u, None, by);
    }

    /// Adds Isc or Voc of the sweep that is translated.
    pub fn figure(&mut self, figure: usize, x: &Estimate, from: &Measured, by: impl Fn(usize) -> (f64, f64)) {
        let of_readings = from.pull(figure).map(|mut pull| {
            // The gain of its own axis: of the current for Isc, of the voltage for Voc.
            pull.common[1 - figure] = 0.0;
            OfReadings { figure, pull }
        });
        let u = of_readings.as_ref().map(|own| own.pull.u()).or(x.u);
        self.add(NAMES[figure], u, of_readings, by);
    }

    fn add(
        &mut self,
        name: &str,
        u: Option<f64>,
        of_readings: Option<OfReadings>,
        by: impl Fn(usize) -> (f64, f64),
    ) {
        let slopes: Vec<(f64, f64)> = (0..self.current_a.len()).map(by).collect();
        if slopes.iter().all(|s| *s == (0.0, 0.0)) {
            return;
        }
        match u {
            None => self.warnings.push(format!("{name} has no uncertainty: the ± leaves it out")),
            Some(0.0) => {}
            Some(u) => {
                let (current_a, voltage_v) = slopes.into_iter().map(|(i, v)| (u * i, u * v)).unzip();
                self.effects.push(Effect { name: name.to_owned(), current_a, voltage_v, of_readings });
            }
        }
    }

    /// The sweep of the points, with all that `from` carries.
    pub fn at(
        self,
        target: &Target,
        from: &Measured,
        time_s: Option<Vec<f64>>,
        noise: Option<Noise>,
        change: Change,
    ) -> Result<Translated, TranslateError> {
        let old = from.sweep.options();
        let mut changes = from.sweep.changes().to_vec();
        changes.push(change);
        let why = "the target is exact: the uncertainty of the measured light lies on the points";
        let options = SweepOptions {
            sign: Sign::Generator,
            leads: Leads::AsGiven,
            noise,
            irradiance_w_m2: Some(Estimate::without_u(target.irradiance_w_m2, from.irradiance.unit, why)),
            temperature_c: target.temperature_c,
            time_s,
            changes,
            ..old.clone()
        };
        let sweep = Sweep::new(&self.voltage_v, &self.current_a, options)?;
        Ok(Translated { sweep, effects: self.effects, warnings: self.warnings })
    }
}

/// The record of a translation.
pub(super) fn change(procedure: u8, from: &Target, to: &Target, why: String) -> Change {
    let what = format!(
        "translated by procedure {procedure} of IEC 60891 from {} W/m², {} °C to {} W/m², {} °C",
        from.irradiance_w_m2, from.temperature_c, to.irradiance_w_m2, to.temperature_c
    );
    Change { what, why, automatic: false }
}
