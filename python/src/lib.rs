//! Python bindings: they convert, release the interpreter and render; the mathematics is in the core.

mod analysis;
mod batch;
mod beside;
mod closed_form;
mod coefficients;
mod device_arrays;
mod elementwise;
mod error;
mod estimate;
mod fit;
mod iec60891_parameters;
mod input;
mod interpolant;
mod interpolation;
mod interrupt;
mod json;
mod key_points;
mod model;
mod quote;
mod reading;
mod resample;
mod result_lists;
mod sweep;
mod sweep_rows;
mod synth;
mod translate;

use pyo3::prelude::*;

/// The compiled core of litdiode.
#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    error::add(module)?;
    module.add_class::<estimate::Estimate>()?;
    module.add_class::<estimate::Interval>()?;
    module.add_class::<key_points::KeyPoints>()?;
    module.add_class::<sweep::Noise>()?;
    module.add_class::<sweep::Change>()?;
    module.add_class::<sweep::Finding>()?;
    module.add_class::<sweep::Sweep>()?;
    module.add_class::<model::SingleDiode>()?;
    module.add_class::<model::DoubleDiode>()?;
    module.add_class::<device_arrays::SingleDiodes>()?;
    module.add_class::<device_arrays::DoubleDiodes>()?;
    module.add_class::<device_arrays::KeyPointsTable>()?;
    module.add_class::<fit::Fit>()?;
    module.add_class::<result_lists::FitList>()?;
    module.add_class::<result_lists::KeyPointList>()?;
    module.add_class::<sweep_rows::SweepRows>()?;
    module.add_class::<resample::Resample>()?;
    module.add_class::<closed_form::ClosedForm>()?;
    module.add_class::<synth::Instrument>()?;
    module.add_class::<interpolant::Interpolant>()?;
    module.add_class::<interpolation::Maximum>()?;
    module.add_class::<interpolation::ShapeTest>()?;
    module.add_class::<iec60891_parameters::Procedure1>()?;
    module.add_class::<iec60891_parameters::Procedure2>()?;
    module.add_class::<iec60891_parameters::TemperatureCoefficients>()?;
    module.add_class::<translate::Translated>()?;
    module.add_function(wrap_pyfunction!(reading::sweeps_of, module)?)?;
    module.add_function(wrap_pyfunction!(translate::translate_between, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::temperature_coefficients, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::irradiance_factor, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::translation_resistance, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::curve_correction, module)?)?;
    module.add_function(wrap_pyfunction!(closed_form::from_end_slopes, module)?)?;
    module.add_function(wrap_pyfunction!(closed_form::from_key_points, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_rows, module)?)?;
    module.add_function(wrap_pyfunction!(batch::key_point_rows, module)?)?;
    module.add_function(wrap_pyfunction!(quote::quoted, module)?)?;
    module.add_function(wrap_pyfunction!(quote::plus_minus, module)?)?;
    module.add_function(wrap_pyfunction!(quote::between, module)?)?;
    module.add_function(wrap_pyfunction!(quote::prefix_exponent, module)?)?;
    module.add_function(wrap_pyfunction!(quote::prefixed, module)?)?;
    module.add_function(wrap_pyfunction!(quote::span, module)?)?;
    module.add_function(wrap_pyfunction!(analysis::power_rows, module)?)?;
    module.add_function(wrap_pyfunction!(analysis::resistance_rows, module)?)?;
    module.add_function(wrap_pyfunction!(synth::simulate_sweep, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_single_diode, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_double_diode, module)?)
}
