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
