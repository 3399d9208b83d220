//! `DarkSweep`, the correction that needs a sweep.

use crate::arguments::given;
use crate::correction::{Correction, Made, made};
use crate::sweep::Sweep;
use litdiode::sweep as core;
use pyo3::prelude::*;

/// The currents of a sweep in the dark are subtracted at the same voltages: I = I_read − I_dark(V).
///
/// - `sweep`: that `Sweep`, which reaches all voltages of the readings; between its readings its current is linear.
///
/// Each of its readings is a source of uncertainty, by the `noise` that it states or else by its scatter.
///
/// ```python
/// >>> import litdiode as ld
/// >>> voltage_v, leak_a = [0.0, 0.2, 0.4, 0.5, 0.6], [0.0, -0.0002, -0.0004, -0.0005, -0.0006]  # invented
/// >>> dark = ld.Sweep(voltage_v, leak_a, sign="generator", leads="as_given")
/// >>> sweep = ld.Sweep(voltage_v, [0.030, 0.0298, 0.0276, 0.0165, -0.0416], corrections=[ld.DarkSweep(dark)])
/// >>> sweep.current_a.round(4).tolist()
/// [0.03, 0.03, 0.028, 0.017, -0.041]
/// ```
#[pyclass(frozen, extends = Correction, module = "litdiode")]
pub struct DarkSweep;

#[pymethods]
impl DarkSweep {
    #[new]
    fn new(py: Python<'_>, sweep: &Bound<'_, PyAny>) -> Made<Self> {
        let sweep: Sweep = given("sweep", sweep, "the litdiode.Sweep of the device in the dark")?;
        made(py, Self, core::Correction::Dark { sweep: Box::new(sweep.0) })
    }
}
