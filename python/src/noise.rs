//! `Noise`.

use crate::arguments::{given, named};
use crate::error::input;
use crate::json::plain;
use litdiode::sweep as core;
use pyo3::prelude::*;

/// Standard uncertainties of an instrument, in SI units; a part that is 0 is not stated.
///
/// ```text
/// σ² = floor² + (rel·x)² + step²/12        scatter of one reading of the size x, on each axis
/// ```
///
/// Floor, proportional part and step are independent from point to point and average down. A gain or an offset is
/// common to all points: it does not average down, and is added to the figures after the fit. For the weight of a
/// current, x is taken from the fitted curve or from a smooth, not from the reading itself. The 1/12 of the step is
/// that of a rectangular distribution (JCGM 100:2008, 4.3.7).
///
/// - `voltage_v`, `current_a`: floor of the scatter in V and in A.
/// - `voltage_rel`, `current_rel`: scatter as a share of the reading; needs a floor or a step on its axis.
/// - `voltage_step_v`, `current_step_a`: quantisation step in V and in A.
/// - `voltage_gain_u`, `current_gain_u`: standard uncertainty of the gain as a share; 0.005 is half a per cent.
/// - `voltage_offset_u`, `current_offset_u`: standard uncertainty of the offset in V and in A.
/// - `scatter_dof`: degrees of freedom behind the scatter where it was estimated; 0 for a scatter that is known. Key points
///   without a model then use Student's t; fits take the scatter as known.
///
/// - `instrument`: a name, or None. Gains and offsets are common to all sweeps that are given one `Noise` object, its copies
///   and pickles; with a name also to those of other programs that give the same.
///
/// All others are single numbers by keyword, 0 unless given. Raises `InputError` for a part that is negative or not finite,
/// and for a proportional part without a floor, which leaves a reading of 0 no uncertainty at all.
///
/// ```python
/// >>> import litdiode as ld
/// >>> ld.Noise(current_a=1e-5, current_rel=0.002, current_gain_u=0.005)
/// Noise(current_a=0.00001, current_rel=0.002, current_gain_u=0.005)
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Noise(pub core::Noise);

plain!(Noise);

macro_rules! noise {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        #[pymethods]
        impl Noise {
            #[new]
            #[pyo3(signature = (*, $($name=0.0,)* instrument=None))]
            #[allow(clippy::too_many_arguments)]
            fn new(
                py: Python<'_>,
                $(#[pyo3(from_py_with = named::$name)] $name: f64,)*
                #[pyo3(from_py_with = named::instrument)] instrument: Option<&str>,
            ) -> PyResult<Self> {
                let noise = core::Noise::default()$(.$name($name))*;
                let noise = match instrument {
                    Some(name) => noise.of_instrument(name),
                    None => noise.of_one_instrument(),
                };
                noise.validate().map_err(|e| input(py, e))?;
                Ok(Self(noise))
            }

            $(
                $(#[$doc])*
                #[getter]
                fn $name(&self) -> f64 {
                    self.0.$name
                }
            )*

            fn __repr__(&self) -> String {
                let mut parts = Vec::new();
                $(
                    if self.0.$name != 0.0 {
                        parts.push(format!("{}={}", stringify!($name), self.0.$name));
                    }
                )*
                format!("Noise({})", parts.join(", "))
            }
        }
    };
}

noise!(
    /// Floor of the voltage's scatter in V.
    voltage_v,
    /// Floor of the current's scatter in A.
    current_a,
    /// Scatter of a voltage as a share of it.
    voltage_rel,
    /// Scatter of a current as a share of it.
    current_rel,
    /// Quantisation step of the voltage in V.
    voltage_step_v,
    /// Quantisation step of the current in A.
    current_step_a,
    /// Standard uncertainty of the voltage gain, a share.
    voltage_gain_u,
    /// Standard uncertainty of the current gain, a share.
    current_gain_u,
    /// Standard uncertainty of the voltage offset in V.
    voltage_offset_u,
    /// Standard uncertainty of the current offset in A.
    current_offset_u,
    /// Degrees of freedom behind the scatter; 0 where it is known.
    scatter_dof,
);

/// The noise of an instrument, or a `TypeError` that says what to write in place of a bare number.
pub fn noise(value: &Bound<'_, PyAny>) -> PyResult<Option<core::Noise>> {
    let cure = match value.extract::<f64>() {
        Ok(number) => format!(
            "litdiode.Noise(current_a={number:?}) for currents that scatter by so many A, \
             litdiode.Noise(voltage_v={number:?}) for voltages in V"
        ),
        Err(_) => "a litdiode.Noise, such as litdiode.Noise(current_a=1e-6), or None".into(),
    };
    Ok(given::<Option<Noise>>("noise", value, &cure)?.map(|n| n.0))
}
