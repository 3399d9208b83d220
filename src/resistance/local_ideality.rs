//! The ideality factor of a dark curve from place to place.
//!
//! ```text
//! n(V) = (q/kT·cells)·dV/d(ln I)        by a local line of ln I on V, five readings wide
//! ```
//!
//! Constant for one diode; a step from 2 to 1 shows two; the rise at high current is a series resistance
//! (n + Rs·I/VT), that at low current a shunt. Source: common practice.

use super::error::ResistanceError;
use super::local_line::Columns;
use super::prepared_sweep::Prepared;
use crate::quantity::estimate::Amount;
use crate::quantity::estimate::{Estimate, Scale, Unit};
use crate::sweep::Sweep;
use std::fmt;

const WIDTH: usize = 5;
/// Readings below this many of their standard deviations have no logarithm worth using.
const CLEAR: f64 = 6.0;

/// n at one voltage.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct LocalIdeality {
    /// Middle voltage of the five readings in V.
    pub voltage_v: f64,
    /// The ideality factor.
    pub n: Estimate,
}

/// n(V) of a dark sweep, one value for each five neighbouring readings of clear forward current.
///
/// # Errors
/// [`ResistanceError`] with fewer than five such readings.
///
/// # Examples
/// ```
/// use litdiode::resistance::local_ideality;
/// use litdiode::sweep::{Sign, Leads, Sweep, SweepOptions};
/// let a = litdiode::diode::thermal_voltage_v(1.6, 1, 25.0);
/// let v: Vec<f64> = (0..20).map(|k| 0.2 + 0.02 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| -1e-9 * (v / a).exp_m1()).collect(); // invented: n = 1.6, no resistances
/// let dark = Sweep::new(&v, &i, SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven))?;
/// let middle = &local_ideality(&dark)?[8];
/// assert!((middle.n.value - 1.6).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn local_ideality(dark: &Sweep) -> Result<Vec<LocalIdeality>, ResistanceError> {
    let trace = Prepared::of(dark, true)?.trace;
    let expected = trace.expected();
    let clear = |k: usize| trace.v[k] > 0.0 && trace.i[k] < 0.0 && -expected[k] > CLEAR * trace.sigma_i[k];
    let first = (0..trace.len()).rev().take_while(|&k| clear(k)).last().unwrap_or(trace.len());
    let given = trace.len() - first;
    let region = "of clear forward current";
    if given < WIDTH {
        return Err(ResistanceError::TooFewPoints { region, given, needed: WIDTH });
    }
    let local = |start: usize| {
        let cut = trace.cut(start..start + WIDTH);
        let ln: Vec<f64> = cut.i.iter().map(|i| (-i).ln()).collect();
        let sigma: Vec<f64> = (0..WIDTH).map(|k| cut.sigma_i[k] / -expected[start + k]).collect();
        let middle = cut.v[WIDTH / 2];
        let columns = Columns { x: &cut.v, y: &ln, sigma_x: &cut.sigma_v, sigma_y: &sigma };
        let line = columns.at(middle, 1)?;
        let n = 1.0 / (line.slope * trace.volts_per_n);
        let u = n * line.slope_variance.sqrt() / line.slope;
        let good = n > 0.0 && n.is_finite() && u.is_finite();
        let n = match &trace.unknown {
            Some(why) => Estimate::without_u(n, Unit::One, why.clone()),
            None => Estimate::new(n, u, Unit::One).with_dof(trace.dof).on(Scale::Reciprocal),
        };
        good.then_some(LocalIdeality { voltage_v: middle, n })
    };
    Ok((first..=trace.len() - WIDTH).filter_map(local).collect())
}

/// `n 1.52 ± 0.03 at 0.4500 V`.
impl fmt::Display for LocalIdeality {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "n {} at {}", self.n, Amount::volts(self.voltage_v))
    }
}
