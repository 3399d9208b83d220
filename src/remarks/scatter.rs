//! A scatter of the readings that the stated noise does not explain.

use crate::curve::analysis_of;
use crate::fit::{Fit, FitError, Options, fit_double_diode, fit_single_diode};
use crate::sweep::{Finding, Kind, Noise, Sweep};

/// The remark, where the readings without `left_out` scatter more than stated beyond doubt (see [`crate::curve`]).
pub(super) fn finding(sweep: &Sweep, left_out: &[usize]) -> Option<Finding> {
    sweep.options().noise.filter(Noise::states_scatter)?;
    let kept = || (0..sweep.len()).filter(|k| !left_out.contains(k));
    let v: Vec<f64> = kept().map(|k| sweep.voltage_v()[k]).collect();
    let a: Vec<f64> = kept().map(|k| sweep.current_a()[k]).collect();
    let times = analysis_of(sweep, &v, &a)?.0.scatter.excess?;
    if a_diode_agrees(sweep) {
        return None;
    }
    let text = format!(
        "the readings scatter {times:.1} times the stated noise: state more noise, or look for what disturbs them; \
         every ± is as much too small"
    );
    Some(Finding { kind: Kind::Scatter, text, points: Vec::new() })
}

/// χ²/ν of a fit below which it agrees with the stated noise.
const AGREES: f64 = 1.6;

/// Whether the curve of one diode or of two explains the readings within the stated noise: a local polynomial of few readings does
/// not follow every bend of a curve that has little noise.
fn a_diode_agrees(sweep: &Sweep) -> bool {
    fn agrees<const K: usize>(fit: Result<Fit<K>, FitError>) -> bool {
        fit.is_ok_and(|fit| fit.noise_stated && fit.dof > 0 && fit.chi2 < AGREES * fit.dof as f64)
    }
    agrees(fit_single_diode(sweep, &Options::default()))
        || agrees(fit_double_diode(sweep, &Options::default()))
}
