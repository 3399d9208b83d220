//! `Resample`.

use crate::arguments::{named, probability};
use crate::error::input;
use crate::estimate::Interval;
use crate::getters::getters;
use crate::json::plain;
use litdiode::fit as core;
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;

/// Parameters and key points of every drawn sweep, from `Fit.resample`: one row a draw, in SI units.
///
/// `names` are all parameters of the model, fixed ones too, then `isc voc pmax v_pmax i_pmax ff` (not in the dark).
/// Draws whose fit did not converge are left out and counted in `failed`; `len` is the number of rows.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
/// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
/// >>> drawn = ld.fit_single_diode(sweep).resample(draws=100, seed=1)
/// >>> drawn.names
/// ['iph', 'i0', 'n', 'rs', 'rsh', 'isc', 'voc', 'pmax', 'v_pmax', 'i_pmax', 'ff']
/// >>> drawn.values.shape, len(drawn), drawn.failed
/// ((100, 11), 100, 0)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Resample(pub core::Resample);

plain!(Resample);

pub const SCATTERS: [(&str, core::Scatter); 2] =
    [("parametric", core::Scatter::Parametric), ("residual", core::Scatter::Residual)];

getters!(Resample, drawn => {
    /// The names of the columns of `values`.
    names: Vec<&'static str> = drawn.names.iter().map(|figure| figure.name()).collect(),
    /// One row a draw, one column a figure, SI units.
    values(py): PyResult<Bound<'py, PyArray2<f64>>> = {
        let columns = drawn.names.len();
        PyArray1::from_slice(py, &drawn.values).reshape([drawn.values.len() / columns, columns])
    },
    /// Draws whose fit did not converge; their rows are left out.
    failed: usize = drawn.failed,
});

#[pymethods]
impl Resample {
    /// The draws of the figure `name`: an array in SI units. Raises `InputError` for an unknown name.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    /// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    /// >>> ff = ld.fit_single_diode(sweep).resample(draws=100, seed=1).column("ff")
    /// >>> ff.shape, f"{ff.mean():.2f}"
    /// ((100,), '0.75')
    /// ```
    fn column<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = named::name)] name: &str,
    ) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let column = name.parse().ok().and_then(|figure: core::Figure| self.0.column(figure));
        column.map(|c| PyArray1::from_vec(py, c)).ok_or_else(|| self.unknown(py, name))
    }

    /// The `Interval` of the figure `name` between the quantiles (1 ± `level`)/2 of its draws, in SI units.
    ///
    /// Linear between the draws in order. Without ends where fewer than two draws converged; the note says so, and how
    /// many draws failed. Raises `InputError` for an unknown name and for a level that is not between 0 and 1.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
    /// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
    /// >>> interval = ld.fit_single_diode(sweep).resample(draws=200, seed=1).interval("n", 0.9)
    /// >>> interval.level, interval.low < 1.3 < interval.high
    /// (0.9, True)
    /// ```
    #[pyo3(signature = (name, level=0.95))]
    fn interval(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::name)] name: &str,
        #[pyo3(from_py_with = named::level)] level: f64,
    ) -> PyResult<Interval> {
        probability(py, level)?;
        let found = name.parse().ok().and_then(|figure: core::Figure| self.0.interval(figure, level));
        found.map(Interval).ok_or_else(|| self.unknown(py, name))
    }

    fn __len__(&self) -> usize {
        self.0.values.len() / self.0.names.len()
    }

    fn __repr__(&self) -> String {
        format!("Resample({} draws of {}, {} failed)", self.__len__(), self.names().join(", "), self.0.failed)
    }
}

impl Resample {
    fn unknown(&self, py: Python<'_>, name: &str) -> PyErr {
        input(py, format!("name = {name:?} is not a column; pass one of {}", self.names().join(", ")))
    }
}
