//! Functions that estimate the parameters of a translation from sets of sweeps.

use crate::arguments::named;
use crate::error::input;
use crate::estimate::{Estimate, quantity};
use crate::iec60891_parameters::TemperatureCoefficients;
use crate::interrupt::interruptible;
use crate::sweep::sweeps as listed;
use litdiode::estimate::Unit;
use litdiode::translate as core;
use pyo3::prelude::*;

/// α = dIsc/dT and β = dVoc/dT, and their shares of Isc and Voc: a `TemperatureCoefficients`.
///
/// ```text
/// Isc = Isc(T0) + α·(T − T0)     α_rel = α/Isc(T0)          Voc = Voc(T0) + β·(T − T0)     β_rel = β/Voc(T0)
/// ```
///
/// - `sweeps`: a list of `Sweep`s of one device at two or more temperatures, 1 K apart or more, and one irradiance
///   (within 4 %; the rest is taken out of Isc by proportion).
/// - `reference_c`: T0 in °C, 25 unless given. For procedure 2 give the temperature of the sweep to be translated.
///
/// Straight lines, weighted by the key points' own uncertainties where all have one. The ± is the scatter about the
/// line, N − 2 degrees of freedom; two temperatures give none. Raises `InputError` for other sets, and sweeps without
/// irradiance, Isc or Voc.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2, temperature_c):
/// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
/// ...     voltage_v, current_a = model.curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
/// >>> found = ld.temperature_coefficients([at(1000, 25), at(1000, 35), at(1000, 45)])
/// >>> f"α {1e6 * found.alpha.value:.1f} µA/K, β {1e3 * found.beta.value:.2f} mV/K"
/// 'α 15.0 µA/K, β -2.08 mV/K'
/// ```
#[pyfunction]
#[pyo3(signature = (sweeps, reference_c=25.0))]
pub fn temperature_coefficients(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::reference_c)] reference_c: f64,
) -> PyResult<TemperatureCoefficients> {
    let set = listed("sweeps", sweeps)?;
    let found = interruptible(py, || core::temperature_coefficients(&set, reference_c))?;
    found.map(TemperatureCoefficients).map_err(|e| input(py, e))
}

/// The irradiance factor a of procedure 2, an `Estimate` without unit.
///
/// ```text
/// Voc = A + B·ln G        a = B/Voc(G1)
/// ```
///
/// - `sweeps`: a list of `Sweep`s of one device at two or more irradiances, 2 % apart or more, and one temperature
///   (within 4 K).
/// - `from_w_m2`: G1, the irradiance in W/m² of the sweeps that will be translated, above 0.
///
/// A weighted straight line; ± and errors as in `temperature_coefficients`.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2, temperature_c):
/// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
/// ...     voltage_v, current_a = model.curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
/// >>> light = [at(500, 25), at(700, 25), at(1000, 25)]
/// >>> f"{ld.irradiance_factor(light, from_w_m2=700).value:.4f}"
/// '0.0611'
/// ```
#[pyfunction]
pub fn irradiance_factor(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::from_w_m2)] from_w_m2: f64,
) -> PyResult<Estimate> {
    let set = listed("sweeps", sweeps)?;
    let found = interruptible(py, || core::irradiance_factor(&set, from_w_m2))?;
    found.map(|(a, _)| Estimate(a)).map_err(|e| input(py, e))
}

const PROCEDURES: &str = "pass 1 or 2; procedure 3 needs no parameters";

/// Rs of procedure 1 or R′s of procedure 2, the one that makes translated curves coincide: an `Estimate` in Ω.
///
/// ```text
/// 1:  V_k(Isc_k − d) = h(d) − Rs·Isc_k        2:  V_k(s·Isc_k) − Voc_k = h(s) − R′s·s·Isc_k        h common to all sweeps k
/// ```
///
/// - `sweeps`: a list of `Sweep`s of one device at two or more irradiances, 2 % apart or more, and one temperature
///   (within 4 K).
/// - `procedure`: 1 or 2; 1 unless given.
///
/// The levels d and s lie about the points of maximum power. The ± is the scatter of the sweeps about the line, N − 2
/// degrees of freedom; two irradiances give none. Raises `InputError` for other sets, and sweeps that do not reach from
/// Isc to Voc.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2, temperature_c):
/// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
/// ...     voltage_v, current_a = model.curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
/// >>> light = [at(700, 25), at(850, 25), at(1000, 25)]
/// >>> f"{ld.translation_resistance(light).value:.2f} Ω"
/// '0.49 Ω'
/// ```
#[pyfunction]
#[pyo3(signature = (sweeps, *, procedure=1))]
pub fn translation_resistance(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::procedure)] procedure: i64,
) -> PyResult<Estimate> {
    let set = listed("sweeps", sweeps)?;
    let found = match procedure {
        1 => interruptible(py, || core::series_resistance(&set))?,
        2 => interruptible(py, || core::relative_series_resistance(&set))?,
        _ => return Err(input(py, format!("procedure = {procedure} is not known; {PROCEDURES}"))),
    };
    found.map(Estimate).map_err(|e| input(py, e))
}

/// The curve correction κ of procedure 1 or κ′ of procedure 2, an `Estimate` in Ω/K.
///
/// ```text
/// 1:  V_k(Isc_k − d) + Rs·Isc_k = h(d) + [β − κ·(Isc − d)]·T_k
/// 2:  V_k(s·Isc_k) − Voc_k + R′s·s·Isc_k = h(s) − κ′·s·Isc·T_k        h common to all sweeps k
/// ```
///
/// - `sweeps`: a list of `Sweep`s of one device at two or more temperatures, 1 K apart or more, and one irradiance
///   (within 4 %).
/// - `rs_ohm`: Rs or R′s in Ω, a number or an `Estimate`.
/// - `beta_v_per_k`: β in V/K, a number or an `Estimate`; procedure 1 needs it, procedure 2 takes Voc from each sweep.
/// - `procedure`: 1 or 2; 1 unless given.
///
/// The ± holds the scatter about the line and those of `rs_ohm` and `beta_v_per_k`; two temperatures give none. Errors
/// as in `translation_resistance`.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2, temperature_c):
/// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
/// ...     voltage_v, current_a = model.curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
/// >>> rs, heat = ld.Estimate(0.5, 0.02, unit="Ω"), [at(1000, 25), at(1000, 35), at(1000, 45)]
/// >>> found = ld.curve_correction(heat, rs_ohm=rs, beta_v_per_k=ld.temperature_coefficients(heat).beta)
/// >>> f"{1e3 * found.value:.2f} ± {1e3 * found.u:.2f} mΩ/K"
/// '9.53 ± 0.10 mΩ/K'
/// ```
#[pyfunction]
#[pyo3(signature = (sweeps, *, rs_ohm, beta_v_per_k=None, procedure=1))]
pub fn curve_correction(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    rs_ohm: &Bound<'_, PyAny>,
    beta_v_per_k: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::procedure)] procedure: i64,
) -> PyResult<Estimate> {
    let set = listed("sweeps", sweeps)?;
    let rs = quantity("rs_ohm", rs_ohm, Unit::Ohm)?;
    let found = match (procedure, beta_v_per_k) {
        (1, Some(beta)) => {
            let beta = quantity("beta_v_per_k", beta, Unit::VoltPerKelvin)?;
            interruptible(py, || core::curve_correction(&set, &beta, &rs))?
        }
        (2, None) => interruptible(py, || core::relative_curve_correction(&set, &rs))?,
        (1, None) => {
            return Err(input(
                py,
                "procedure 1 needs beta_v_per_k, the change of Voc with temperature in V/K",
            ));
        }
        (2, Some(_)) => {
            return Err(input(py, "procedure 2 takes Voc from each sweep: leave beta_v_per_k out"));
        }
        _ => return Err(input(py, format!("procedure = {procedure} is not known; {PROCEDURES}"))),
    };
    found.map(Estimate).map_err(|e| input(py, e))
}
