//! `InstrumentCheck`, `check_instrument`.

use crate::arguments::{given, vector};
use crate::error::input;
use crate::estimate::Estimate;
use crate::getters::getters;
use crate::json::plain;
use litdiode::instrument_check as core;
use pyo3::prelude::*;

/// What figures of a reference device say of a rig, from `check_instrument`; `str` is one sentence.
///
/// ```python
/// >>> import litdiode as ld
/// >>> read = [ld.Estimate(x, 0.003, unit="A") for x in (1.017, 1.018, 1.019)]  # invented
/// >>> found = ld.check_instrument(read, ld.Estimate(1.0, 0.002, unit="A"))
/// >>> print(found.bias, found.passes, f"{found.en:.2f}", sep="; ")
/// 0.0180 ± 0.0027; False; 3.40
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct InstrumentCheck(pub core::InstrumentCheck);

plain!(InstrumentCheck);

getters!(InstrumentCheck, check => {
    /// Mean of what was measured.
    mean: Estimate = Estimate(check.mean.clone()),
    /// The known figure.
    reference: Estimate = Estimate(check.reference.clone()),
    /// mean/reference − 1, a share: 0.018 is 1.8 % high.
    bias: Estimate = Estimate(check.bias.clone()),
    /// (mean − reference)/√(U² + U_ref²), U = 2u.
    en: f64 = check.en,
    /// Whether |`en`| ≤ 1: no bias beyond the uncertainties.
    passes: bool = check.passes(),
    /// Relative drift per hour; None without times or with fewer than three figures.
    drift: Option<Estimate> = check.drift.clone().map(Estimate),
    /// Whether the 95 % interval of the drift leaves 0 out.
    drifts: bool = check.drifts(),
});

#[pymethods]
impl InstrumentCheck {
    fn __str__(&self) -> String {
        self.0.to_string()
    }

    fn __repr__(&self) -> String {
        format!("InstrumentCheck({})", self.0)
    }
}

/// Checks figures of a reference device against its known one: bias, E_n score and drift of a rig.
///
/// ```text
/// bias = x̄/X − 1        E_n = (x̄ − X)/√(U² + U_ref²), U = 2u        drift: slope of x/X over the time
/// ```
///
/// - `measured`: a list of `Estimate`s of one figure, such as Isc of the reference cell after each batch.
/// - `reference`: its known value, an `Estimate` in the same unit.
/// - `time_h`: when each was measured, in hours, or None.
///
/// What the readings have in common (a gain, the lamp) is not averaged away. Where they scatter more than they state, the ±
/// of the mean grows. E_n after ISO 13528:2022, 9.7 (from memory). Raises `InputError` for an empty list, a figure without u, units
/// that differ, and times that do not fit.
///
/// ```python
/// >>> import litdiode as ld
/// >>> read = [ld.Estimate(x, 0.003, unit="A") for x in (1.017, 1.018, 1.019)]  # invented
/// >>> print(ld.check_instrument(read, ld.Estimate(1.0, 0.002, unit="A")))
/// the rig reads (1.80 ± 0.27) % high (E_n = 3.40, does not pass)
/// ```
#[pyfunction]
#[pyo3(signature = (measured, reference, *, time_h=None))]
pub fn check_instrument(
    py: Python<'_>,
    measured: &Bound<'_, PyAny>,
    reference: &Bound<'_, PyAny>,
    time_h: Option<&Bound<'_, PyAny>>,
) -> PyResult<InstrumentCheck> {
    let figures: Vec<Estimate> = given("measured", measured, "a list of litdiode.Estimate")?;
    let reference: Estimate = given("reference", reference, "a litdiode.Estimate")?;
    let figures: Vec<_> = figures.into_iter().map(|e| e.0).collect();
    let time = time_h.map(|t| vector("time_h", t)).transpose()?;
    let check = core::check_instrument(&figures, &reference.0, time.as_deref());
    check.map(InstrumentCheck).map_err(|e| input(py, e))
}
