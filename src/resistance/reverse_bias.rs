//! Rsh from the readings below 0 V.
//!
//! ```text
//! I = c₀ − g·V        V < 0, where the diode is shut
//! ```
//!
//! A straight line; a further term in V² that is significant says that the current there is no ohmic one
//! (a breakdown, a photocurrent that the field collects).
//!
//! Source: common practice.

use super::doubt::Doubt;
use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::polynomial::current_on_voltage;
use super::prepared_sweep::Prepared;
use super::quantity::Quantity;

const FEWEST: usize = 4;

/// A curvature is believed beyond this many standard deviations.
const CURVED: f64 = 4.0;

/// Rsh by a straight line through the readings below 0 V.
pub(super) fn reverse(sweep: &Prepared, lit: bool) -> Result<Resistance, ResistanceError> {
    let trace = &sweep.trace;
    let below = trace.v.partition_point(|v| *v < 0.0);
    if below < FEWEST {
        return Err(ResistanceError::TooFewPoints { region: "below 0 V", given: below, needed: FEWEST });
    }
    let cut = trace.cut(0..below);
    let undetermined = ResistanceError::Undetermined { axis: "voltages below 0 V" };
    let real = current_on_voltage(&cut, 1).ok_or(undetermined.clone())?;
    let ideal = current_on_voltage(&cut.ideal(), 1).ok_or(undetermined)?;
    let mut doubts: Vec<Doubt> = sweep.doubt().into_iter().collect();
    if let Some(bent) = current_on_voltage(&cut, 2).map(|r| r.significance(2)).filter(|s| *s > CURVED) {
        doubts.push(Doubt::BentReverse { significance: bent });
    }
    let words = Words {
        quantity: Quantity::Shunt,
        method: if lit { "reverse bias, lit" } else { "reverse bias, dark" },
        measures: "lumped with the series resistance, at reverse bias",
        source: "common practice",
    };
    let (value, variance, bias) = (-real.c[1], real.covariance(1, 1), -ideal.c[1] - trace.circuit.g);
    Raw { value, variance, dof: trace.dof, bias, doubts }.dress(words, trace)
}
