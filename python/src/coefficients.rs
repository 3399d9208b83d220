//! Functions that estimate the parameters of a translation from sets of sweeps.

use crate::error::input;
use crate::estimate::Estimate;
use crate::input::quantity;
use crate::procedure::TemperatureCoefficients;
use litdiode::estimate::Unit;
use litdiode::translate as core;
use pyo3::prelude::*;

/// α = dIsc/dT and β = dVoc/dT from sweeps at several temperatures and one irradiance (within 4 %), and their shares of
/// Isc and Voc at `reference_c`: Isc = Isc(T0) + α·(T − T0), Voc = Voc(T0) + β·(T − T0), weighted straight lines.
#[pyfunction]
#[pyo3(signature = (sweeps, reference_c=25.0))]
pub fn temperature_coefficients(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    reference_c: f64,
) -> PyResult<TemperatureCoefficients> {
    let set = crate::input::sweeps("sweeps", sweeps)?;
    let found = py.detach(|| core::temperature_coefficients(&set, reference_c));
    found.map(TemperatureCoefficients).map_err(|e| input(py, e))
}

/// The irradiance factor a of procedure 2 from sweeps at several irradiances and one temperature (within 4 K), for
/// sweeps measured at `from_w_m2`: a = B/Voc(G1) of the line Voc = A + B·ln G.
#[pyfunction]
pub fn irradiance_factor(py: Python<'_>, sweeps: &Bound<'_, PyAny>, from_w_m2: f64) -> PyResult<Estimate> {
    let set = crate::input::sweeps("sweeps", sweeps)?;
    let found = py.detach(|| core::irradiance_factor(&set, from_w_m2));
    found.map(|(a, _)| Estimate(a)).map_err(|e| input(py, e))
}

const PROCEDURES: &str = "pass 1 or 2; procedure 3 needs no parameters";

/// Rs of procedure 1 or R′s of procedure 2 in Ω, the one that makes translated curves coincide, from sweeps at several
/// irradiances and one temperature.
#[pyfunction]
#[pyo3(signature = (sweeps, *, procedure=1))]
pub fn translation_resistance(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    procedure: i64,
) -> PyResult<Estimate> {
    let set = crate::input::sweeps("sweeps", sweeps)?;
    let found = match procedure {
        1 => py.detach(|| core::series_resistance(&set)),
        2 => py.detach(|| core::relative_series_resistance(&set)),
        _ => return Err(input(py, format!("procedure = {procedure} is not known; {PROCEDURES}"))),
    };
    found.map(Estimate).map_err(|e| input(py, e))
}

/// The curve correction κ of procedure 1 (which needs `beta_v_per_k`) or κ′ of procedure 2 in Ω/K, from sweeps at several
/// temperatures and one irradiance. The ± holds the scatter and those of `rs_ohm` and `beta_v_per_k`.
#[pyfunction]
#[pyo3(signature = (sweeps, *, rs_ohm, beta_v_per_k=None, procedure=1))]
pub fn curve_correction(
    py: Python<'_>,
    sweeps: &Bound<'_, PyAny>,
    rs_ohm: &Bound<'_, PyAny>,
    beta_v_per_k: Option<&Bound<'_, PyAny>>,
    procedure: i64,
) -> PyResult<Estimate> {
    let set = crate::input::sweeps("sweeps", sweeps)?;
    let rs = quantity("rs_ohm", rs_ohm, Unit::Ohm)?;
    let found = match (procedure, beta_v_per_k) {
        (1, Some(beta)) => {
            let beta = quantity("beta_v_per_k", beta, Unit::VoltPerKelvin)?;
            py.detach(|| core::curve_correction(&set, &beta, &rs))
        }
        (2, None) => py.detach(|| core::relative_curve_correction(&set, &rs)),
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
