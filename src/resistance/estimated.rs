//! A resistance as it is handed out, and how scatter, truncation and gains become its standard uncertainty.
//!
//! ```text
//! u² = scatter + bias² + R²·(uV² + uI²)       uV, uI: relative uncertainties of the gains
//! ```
//!
//! A common offset shifts no slope; where the current enters a logarithm (dark regression, Werner's plot) the scatter
//! holds what its uncertainty does.
//!
//! An assumption is said to be broken when what it makes wrong of the fitted diode curve exceeds half the standard
//! deviation from scatter, or when a test of the residuals says so.

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::prepared_sweep::Trace;
use super::quantity::Quantity;
use crate::quantity::estimate::{Amount, Estimate, Interval, Scale, Unit, student_t};
use crate::quantity::format::sentences;
use crate::quantity::reason::Reason;
use std::fmt;

/// Probability of the intervals that resistances carry.
pub const LEVEL: f64 = 0.95;

/// A resistance by one method.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::resistance::{Measured, Quantity, resistances};
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, mut i) = cell.curve(30);
/// let jitter = |k: usize| 3f64.sqrt() * ((k as f64 * 12.9898).sin() * 43758.5453).fract(); // σ of 1, uniform
/// i.iter_mut().enumerate().for_each(|(k, i)| *i += 1e-6 * jitter(k));
/// let lit = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-6)))?;
/// let all = resistances(&Measured::default().lit(&lit));
/// let series = all.get(Quantity::Series, "diode fit, lit").unwrap();
/// assert!(series.holds() && series.measures == "lumped, over the whole sweep");
/// let u = series.estimate.u.unwrap();
/// assert!((series.estimate.value - 0.5).abs() < 3.0 * u && u < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct Resistance {
    /// Series or shunt.
    pub quantity: Quantity,
    /// The method, in a few words.
    pub method: &'static str,
    /// The resistance in Ω.
    pub estimate: Estimate,
    /// The interval that holds it with a probability of [`LEVEL`]: that of the estimate, the profile's where a fit
    /// needs one, one-sided where there is a bound alone.
    pub interval: Interval,
    /// What the figure means: lumped or not, at which bias.
    pub measures: &'static str,
    /// What speaks against the assumptions on these data; empty where they hold.
    pub doubts: Vec<Doubt>,
    /// Where the method comes from.
    pub source: &'static str,
}

impl Resistance {
    /// Whether the assumptions of the method hold on these data.
    pub fn holds(&self) -> bool {
        self.doubts.is_empty()
    }
}

/// The fixed words of a method.
#[derive(Clone, Copy)]
pub(super) struct Words {
    pub quantity: Quantity,
    pub method: &'static str,
    pub measures: &'static str,
    pub source: &'static str,
}

/// What a method found, before it is dressed: series resistances in Ω, shunts as conductances in S.
pub(super) struct Raw {
    pub value: f64,
    pub variance: f64,
    pub dof: f64,
    pub bias: f64,
    pub doubts: Vec<Doubt>,
}

/// What the fitted diode curve shows of truncation counts as a doubt beyond this part of the scatter. The fitted curve
/// scatters with the readings, and a truncation of the size of the scatter was seen as smaller in the sweeps that
/// happened to hide it: at 1 the figures without a doubt held in 75 to 91 % for several kinds of device, at ½ in 91 to 97 %
/// (`examples/resistances.rs`).
const TOLERATED: f64 = 0.5;

/// Standard uncertainties below 0 that no series resistance has by chance.
const CLEAR: f64 = 3.0;

impl Raw {
    /// The estimate in Ω or the reason why the numbers make none.
    pub fn dress(mut self, words: Words, trace: &Trace) -> Result<Resistance, ResistanceError> {
        let scatter = self.variance.sqrt();
        let (value, bias) = (self.value, self.bias);
        if !(value.is_finite() && scatter.is_finite() && bias.is_finite()) {
            return Err(ResistanceError::Undetermined { axis: "voltages and currents" });
        }
        if bias.abs() > (TOLERATED * scatter).max(1e-9 * value.abs()) {
            self.doubts.push(Doubt::Truncation { quantity: words.quantity, bias, scatter });
        }
        if words.quantity == Quantity::Series && value < -CLEAR * scatter.hypot(bias) {
            self.doubts.push(Doubt::Negative { rs_ohm: value });
        }
        let total = self.variance + bias * bias + (value * trace.gain_u).powi(2);
        let dof =
            if self.variance > 0.0 { self.dof * (total / self.variance).powi(2) } else { f64::INFINITY };
        let estimate = match words.quantity {
            Quantity::Series => Estimate::new(value, total.sqrt(), Unit::Ohm).with_dof(dof),
            Quantity::Shunt => shunt(value, total.sqrt(), dof),
        };
        let bound = (estimate.u.is_none()).then(|| at_least(value, total.sqrt(), dof));
        let estimate = trace.as_far_as_known(estimate);
        let interval = match bound {
            Some(low) if trace.unknown.is_none() => above(low),
            _ => estimate.interval(LEVEL),
        };
        let (Words { quantity, method, measures, source }, doubts) = (words, self.doubts);
        Ok(Resistance { quantity, method, estimate, interval, measures, doubts, source })
    }
}

/// 1/g; without a shunt that differs from none, infinite with its lower limit in the note.
fn shunt(g: f64, u: f64, dof: f64) -> Estimate {
    let r = 1.0 / g;
    if g > 0.0 && r.is_finite() && (u * r * r).is_finite() {
        return Estimate::new(r, u * r * r, Unit::Ohm).with_dof(dof).on(Scale::Reciprocal);
    }
    let limit = at_least(g, u, dof);
    let above = (limit > 0.0 && limit.is_finite()).then_some(Amount::new(limit, Unit::Ohm));
    let conductance = Amount::new(g, Unit::Siemens);
    Estimate::without_u(f64::INFINITY, Unit::Ohm, Reason::NoConductance { conductance, above })
}

/// The lower end of the two-sided interval of 1/g, which holds whether g comes out above 0 or not; 0 where there is none.
fn at_least(g: f64, u: f64, dof: f64) -> f64 {
    let limit = 1.0 / (g + student_t(LEVEL, dof) * u);
    if limit > 0.0 && limit.is_finite() { limit } else { 0.0 }
}

fn above(low: f64) -> Interval {
    let notes = vec![Reason::OpenAbove];
    Interval { low: Some(low), high: Some(f64::INFINITY), level: LEVEL, notes }
}

/// Its kind, `value ± u`, the method, and what speaks against it.
impl fmt::Display for Resistance {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {} by {}", self.quantity, self.estimate, self.method)?;
        if self.holds() { Ok(()) } else { write!(f, "; doubts: {}", sentences(&self.doubts)) }
    }
}
