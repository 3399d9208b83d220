//! `ClosedForm` and the functions that give one.

use crate::arguments::named;
use crate::error::input;
use crate::getters::getters;
use crate::json::plain;
use crate::model::SingleDiode;
use litdiode::fit as core;
use pyo3::prelude::*;

/// A one-diode model from a few figures of a curve, from `from_end_slopes` or `from_key_points`.
///
/// A closed form believes its inputs: noise goes straight into the parameters, and there is no ±. It is judged by its
/// own curve: where Isc, Voc, Pmax or V_Pmax of the model is more than 1 % off the figure given (an end slope more than
/// 5 %), or an assumption failed on the way, `reservations` says so.
///
/// ```python
/// >>> import litdiode as ld
/// >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.47, i_pmax_a=0.0275, n=1.3)  # invented
/// >>> found.trustworthy, f"{found.model.rs_ohm:.2f} Ω", f"{found.model.rsh_ohm:.0f} Ω"
/// (True, '0.74 Ω', '951 Ω')
/// >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.45, i_pmax_a=0.0281, n=1.6)
/// >>> print(found.reservations[1])
/// V_Pmax of the found curve is +2.7 % off the one given
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct ClosedForm(core::ClosedForm);

plain!(ClosedForm);

getters!(ClosedForm, form => {
    /// The model, a `SingleDiode`.
    model: SingleDiode = SingleDiode(form.model),
    /// Whether the assumptions hold on these figures: no `reservations`.
    trustworthy: bool = form.is_trustworthy(),
    /// Where the assumptions do not hold, in sentences.
    reservations: Vec<String> = form.reservations.iter().map(ToString::to_string).collect(),
});

#[pymethods]
impl ClosedForm {
    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let model = Py::new(py, self.model())?.call_method0(py, "__repr__")?.extract::<String>(py)?;
        let verdict = if self.trustworthy() { "trustworthy".into() } else { self.reservations().join("; ") };
        Ok(format!("ClosedForm({model}; {verdict})"))
    }
}

/// One diode in closed form from Isc, Voc, the point of maximum power and both end slopes: a `ClosedForm`.
///
/// ```text
/// n  = (Vm + Im·Rs0 − Voc)/(VT·[ln(A − Im) − ln(B) + Im/B])      A = Isc − Vm/Rsh,  B = Isc − Voc/Rsh,  Rsh = Rsh0
/// I0 = B·e^(−Voc/nVT)      Rs = Rs0 − (nVT/I0)·e^(−Voc/nVT)      Iph = Isc·(1 + Rs/Rsh) + I0·(e^(Isc·Rs/nVT) − 1)
/// ```
///
/// - `isc_a`, `voc_v`: short-circuit current in A and open-circuit voltage in V, above 0.
/// - `v_pmax_v`, `i_pmax_a`: the point of maximum power in V and A, between 0 and `voc_v`, `isc_a`.
/// - `rs0_ohm`: Rs0 = −dV/dI at Voc in Ω, above 0.
/// - `rsh0_ohm`: Rsh0 = −dV/dI at Isc in Ω, above Voc/Isc.
/// - `cells`: cells in series, 1 unless given.
/// - `temperature_c`: temperature in °C, 25 unless given.
///
/// All are single numbers by keyword. A negative Rs is taken as 0, with a reservation. Raises `InputError` for a figure
/// outside its limits and for slopes that contradict the points. Source: J. C. H. Phang, D. S. H. Chan, J. R. Phillips,
/// Electronics Letters 20 (1984) 406.
///
/// ```python
/// >>> import litdiode as ld
/// >>> found = ld.from_end_slopes(isc_a=0.1023, voc_v=0.536, v_pmax_v=0.437, i_pmax_a=0.0925, rs0_ohm=0.45,
/// ...                            rsh0_ohm=1000, temperature_c=26.85)
/// >>> round(found.model.n, 3), round(found.model.rs_ohm, 4)
/// (1.503, 0.0683)
/// ```
///
/// The figures are the blue cell of Charles et al., Solar Cells 4 (1981) 169 (from memory).
#[pyfunction]
#[pyo3(signature = (*, isc_a, voc_v, v_pmax_v, i_pmax_a, rs0_ohm, rsh0_ohm, cells=None, temperature_c=25.0),
       text_signature = "(*, isc_a, voc_v, v_pmax_v, i_pmax_a, rs0_ohm, rsh0_ohm, cells=1, temperature_c=25.0)")]
#[allow(clippy::too_many_arguments)]
pub fn from_end_slopes(
    py: Python<'_>,
    #[pyo3(from_py_with = named::isc_a)] isc_a: f64,
    #[pyo3(from_py_with = named::voc_v)] voc_v: f64,
    #[pyo3(from_py_with = named::v_pmax_v)] v_pmax_v: f64,
    #[pyo3(from_py_with = named::i_pmax_a)] i_pmax_a: f64,
    #[pyo3(from_py_with = named::rs0_ohm)] rs0_ohm: f64,
    #[pyo3(from_py_with = named::rsh0_ohm)] rsh0_ohm: f64,
    cells: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::temperature_c)] temperature_c: f64,
) -> PyResult<ClosedForm> {
    let cells = crate::arguments::cells(cells)?;
    let points = core::ThreePoints { isc_a, voc_v, v_pmax_v, i_pmax_a, cells, temperature_c };
    core::from_end_slopes(&points, rs0_ohm, rsh0_ohm).map(ClosedForm).map_err(|e| input(py, e))
}

/// One diode from Isc, Voc, the point of maximum power and a given ideality factor: a `ClosedForm`.
///
/// The curve passes the three points and has its maximum at the second. For a given Rs that is linear in (Iph, I0,
/// 1/Rsh), so that one equation in Rs remains. It may have two roots: the smaller is taken, and the other is a
/// reservation. Where no shunt fits, Rsh is infinite, the curve passes the three points alone, and a reservation says
/// so.
///
/// - `isc_a`, `voc_v`: short-circuit current in A and open-circuit voltage in V, above 0.
/// - `v_pmax_v`, `i_pmax_a`: the point of maximum power in V and A, between 0 and `voc_v`, `isc_a`.
/// - `n`: ideality factor of one cell, 0.01 to 1000.
/// - `cells`: cells in series, 1 unless given.
/// - `temperature_c`: temperature in °C, 25 unless given.
///
/// All are single numbers by keyword. Raises `InputError` for a figure outside its limits, and for an n with which no
/// diode has so high a fill factor.
///
/// ```python
/// >>> import litdiode as ld
/// >>> found = ld.from_key_points(isc_a=0.030, voc_v=0.58, v_pmax_v=0.47, i_pmax_a=0.0275, n=1.3)  # invented
/// >>> f"{found.model.rs_ohm:.3f} Ω, {found.model.rsh_ohm:.0f} Ω, {1e9 * found.model.i0_a:.3f} nA"
/// '0.739 Ω, 951 Ω, 0.845 nA'
/// >>> f"{1e3 * found.model.key_points().pmax.value:.3f} mW"
/// '12.925 mW'
/// ```
#[pyfunction]
#[pyo3(signature = (*, isc_a, voc_v, v_pmax_v, i_pmax_a, n, cells=None, temperature_c=25.0),
       text_signature = "(*, isc_a, voc_v, v_pmax_v, i_pmax_a, n, cells=1, temperature_c=25.0)")]
#[allow(clippy::too_many_arguments)]
pub fn from_key_points(
    py: Python<'_>,
    #[pyo3(from_py_with = named::isc_a)] isc_a: f64,
    #[pyo3(from_py_with = named::voc_v)] voc_v: f64,
    #[pyo3(from_py_with = named::v_pmax_v)] v_pmax_v: f64,
    #[pyo3(from_py_with = named::i_pmax_a)] i_pmax_a: f64,
    #[pyo3(from_py_with = named::n)] n: f64,
    cells: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::temperature_c)] temperature_c: f64,
) -> PyResult<ClosedForm> {
    let cells = crate::arguments::cells(cells)?;
    let points = core::ThreePoints { isc_a, voc_v, v_pmax_v, i_pmax_a, cells, temperature_c };
    core::from_key_points(&points, n).map(ClosedForm).map_err(|e| input(py, e))
}
