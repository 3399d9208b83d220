//! A scatter of the readings that the stated noise does not explain.

use crate::curve::analysis_of;
use crate::sweep::{Finding, Kind, Sweep};

/// The remark, where the readings without `left_out` scatter more than stated beyond doubt (see [`crate::curve`]).
pub(super) fn finding(sweep: &Sweep, left_out: &[usize]) -> Option<Finding> {
    sweep.options().noise.filter(|n| n.states_voltage() || n.states_current())?;
    let kept = || (0..sweep.len()).filter(|k| !left_out.contains(k));
    let v: Vec<f64> = kept().map(|k| sweep.voltage_v()[k]).collect();
    let a: Vec<f64> = kept().map(|k| sweep.current_a()[k]).collect();
    let times = analysis_of(sweep, &v, &a)?.0.scatter.excess?;
    let text = format!(
        "the readings scatter {times:.1} times the stated noise: state more noise, or look for what disturbs them; \
         every ± is as much too small"
    );
    Some(Finding { kind: Kind::Scatter, text, points: Vec::new() })
}
