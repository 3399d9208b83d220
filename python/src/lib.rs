//! Python bindings: they convert, release the interpreter and render; the mathematics is in the core.

mod analysis;
mod closed;
mod devices;
mod error;
mod estimate;
mod fit;
mod input;
mod key_points;
mod model;
mod plain;
mod points;
mod resample;
mod sweep;
mod synth;

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
    module.add_class::<devices::SingleDiodes>()?;
    module.add_class::<devices::DoubleDiodes>()?;
    module.add_class::<devices::KeyPointsTable>()?;
    module.add_class::<fit::Fit>()?;
    module.add_class::<resample::Resample>()?;
    module.add_class::<closed::ClosedForm>()?;
    module.add_class::<synth::Instrument>()?;
    module.add_function(wrap_pyfunction!(closed::from_end_slopes, module)?)?;
    module.add_function(wrap_pyfunction!(closed::from_key_points, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_rows, module)?)?;
    module.add_function(wrap_pyfunction!(analysis::power_rows, module)?)?;
    module.add_function(wrap_pyfunction!(analysis::resistance_rows, module)?)?;
    module.add_function(wrap_pyfunction!(synth::simulate_sweep, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_single_diode, module)?)?;
    module.add_function(wrap_pyfunction!(fit::fit_double_diode, module)?)
}
