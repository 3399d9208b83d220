//! Rs and Rsh of the single-diode model fitted to the whole sweep.
//!
//! ```text
//! I = Iph − I0·(exp((V + I·Rs)/a) − 1) − (V + I·Rs)/Rsh
//! ```

use super::doubt::Doubt;
use super::estimated::{LEVEL, Resistance};
use super::prepared_sweep::Prepared;
use super::quantity::Quantity;
use crate::fit::{Parameter, Status};

/// Rs and Rsh of the fit.
pub(super) fn by_fit(sweep: &Prepared, lit: bool) -> [Option<Resistance>; 2] {
    [Quantity::Series, Quantity::Shunt].map(|quantity| {
        let parameter = if quantity == Quantity::Series { Parameter::Rs } else { Parameter::Rsh };
        let (doubts, fit) = (doubts(sweep), &sweep.fit);
        // A profile costs a hundred fits: where the model does not hold its interval says nothing.
        let interval = if doubts.is_empty() {
            fit.interval(parameter, LEVEL)
        } else {
            fit.linear_interval(parameter, LEVEL)
        };
        Some(Resistance {
            quantity,
            method: if lit { "diode fit, lit" } else { "diode fit, dark" },
            estimate: fit.parameter(parameter)?.clone(),
            interval: interval?,
            measures: "lumped, over the whole sweep",
            doubts,
            source: "weighted least squares on the single-diode model",
        })
    })
}

/// The fit's own verdict; notes on its residuals speak against the model.
fn doubts(sweep: &Prepared) -> Vec<Doubt> {
    match sweep.fit.status {
        Status::Converged | Status::AtBound => sweep.lack_of_fit().take(1).collect(),
        status => vec![Doubt::FitEnded { status, notes: sweep.fit.notes.clone() }],
    }
}
