//! Python bindings: they convert, release the interpreter and render; the mathematics is in the core.

mod arguments;
mod budget;
mod change_finding;
mod closed_form;
mod coefficients;
mod correction;
mod dark_sweep;
mod detection;
mod device_arrays;
mod device_parameters;
mod elementwise;
mod error;
mod estimate;
mod estimate_arithmetic;
mod findings_source;
mod fit;
mod fit_functions;
mod getters;
mod hysteresis;
mod iec60891_parameters;
mod instrument_check;
mod interpolant;
mod interpolant_kind;
mod interpreters;
mod interrupt;
mod json;
mod key_points;
mod live;
mod method_tables;
mod model;
mod model_constructors;
mod noise;
mod plan;
mod progress;
mod quantity_format;
mod reading;
mod resample;
mod result_lists;
mod simulate;
mod step_response;
mod sweep;
mod sweep_rows;
mod translate;

use pyo3::prelude::*;

/// The compiled core of litdiode.
#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    interpreters::claim(module.py())?;
    error::add(module)?;
    add_classes(module)?;
    add_functions(module)
}

fn add_classes(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<estimate::Estimate>()?;
    module.add_class::<estimate::Interval>()?;
    module.add_class::<key_points::KeyPoints>()?;
    module.add_class::<noise::Noise>()?;
    module.add_class::<budget::Budget>()?;
    module.add_class::<change_finding::Change>()?;
    module.add_class::<change_finding::Finding>()?;
    module.add_class::<sweep::Sweep>()?;
    module.add_class::<correction::Correction>()?;
    module.add_class::<correction::Offset>()?;
    module.add_class::<correction::SenseResistor>()?;
    module.add_class::<correction::Gain>()?;
    module.add_class::<correction::Calibration>()?;
    module.add_class::<correction::LeadResistance>()?;
    module.add_class::<correction::Leakage>()?;
    module.add_class::<dark_sweep::DarkSweep>()?;
    module.add_class::<correction::Monitor>()?;
    module.add_class::<detection::DetectionLimits>()?;
    module.add_class::<hysteresis::Hysteresis>()?;
    module.add_class::<step_response::StepResponse>()?;
    module.add_class::<instrument_check::InstrumentCheck>()?;
    module.add_class::<live::LiveSweep>()?;
    module.add_class::<live::SetPoint>()?;
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
    module.add_class::<simulate::Instrument>()?;
    module.add_class::<interpolant::Interpolant>()?;
    module.add_class::<interpolant_kind::Maximum>()?;
    module.add_class::<interpolant_kind::ShapeTest>()?;
    module.add_class::<iec60891_parameters::Procedure1>()?;
    module.add_class::<iec60891_parameters::Procedure2>()?;
    module.add_class::<iec60891_parameters::TemperatureCoefficients>()?;
    module.add_class::<translate::Translated>()?;
    module.add_class::<plan::Plan>()?;
    module.add_class::<plan::PointsNeeded>()
}

fn add_functions(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(reading::sweeps_of, module)?)?;
    module.add_function(wrap_pyfunction!(translate::translate_between, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::temperature_coefficients, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::irradiance_factor, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::translation_resistance, module)?)?;
    module.add_function(wrap_pyfunction!(coefficients::curve_correction, module)?)?;
    module.add_function(wrap_pyfunction!(closed_form::from_end_slopes, module)?)?;
    module.add_function(wrap_pyfunction!(closed_form::from_key_points, module)?)?;
    module.add_function(wrap_pyfunction!(result_lists::fit_rows, module)?)?;
    module.add_function(wrap_pyfunction!(result_lists::key_point_rows, module)?)?;
    module.add_function(wrap_pyfunction!(estimate_arithmetic::ufloats, module)?)?;
    module.add_function(wrap_pyfunction!(detection::detection_limits, module)?)?;
    module.add_function(wrap_pyfunction!(detection::smallest_cell, module)?)?;
    module.add_function(wrap_pyfunction!(hysteresis::hysteresis, module)?)?;
    module.add_function(wrap_pyfunction!(step_response::step_response, module)?)?;
    module.add_function(wrap_pyfunction!(instrument_check::check_instrument, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::quoted, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::plus_minus, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::between, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::prefix_exponent, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::prefixed, module)?)?;
    module.add_function(wrap_pyfunction!(quantity_format::span, module)?)?;
    module.add_function(wrap_pyfunction!(method_tables::power_rows, module)?)?;
    module.add_function(wrap_pyfunction!(method_tables::resistance_rows, module)?)?;
    module.add_function(wrap_pyfunction!(simulate::simulate_sweep, module)?)?;
    module.add_function(wrap_pyfunction!(plan::plan_sweep, module)?)?;
    module.add_function(wrap_pyfunction!(plan::points_needed, module)?)?;
    module.add_function(wrap_pyfunction!(fit_functions::fit_single_diode, module)?)?;
    module.add_function(wrap_pyfunction!(fit_functions::fit_double_diode, module)?)
}
