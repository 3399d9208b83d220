//! `Budget`, `Sweep.budget` and `Fit.budget`.

use crate::arguments::named;
use crate::error::input;
use crate::estimate::Estimate;
use crate::fit::Fit;
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::sweep::Sweep;
use litdiode::budget as core;
use litdiode::fit::Figure;
use litdiode::key_points::KeyPoint;
use litdiode::quantity_format::quoted;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// What the ± of a figure is made of; from `Sweep.budget` and `Fit.budget`.
///
/// ```text
/// u² = Σ uₖ²        uₖ = |∂F/∂xₖ|·u(xₖ), the source xₖ independent of the others (JCGM 100:2008, 5.1.2)
/// ```
///
/// The sources are the scatter of the readings, the shape of the curve between them (of key points without a model), the
/// gains and offsets of the `noise`, each correction, and area and irradiance where they enter. `repr` is a table, the
/// largest first.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
/// >>> sweep = measured.correct([ld.Gain(current=ld.Estimate(1.0, 0.01))])
/// >>> budget = sweep.budget("isc")
/// >>> source, u, share = budget.contributions[0]
/// >>> f"{source}: {1e3 * u:.2f} mA, {100 * share:.0f} % of u²"
/// 'current gain: 0.30 mA, 100 % of u²'
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Budget(pub core::Budget);

plain!(Budget);

getters!(Budget, budget => {
    /// The name of the figure.
    figure: String = budget.figure.to_string(),
    /// The figure as the trade writes it, such as "FF".
    symbol: String = {
        let point = KeyPoint::ALL.into_iter().find(|point| budget.figure == point.name());
        point.map_or_else(|| budget.figure.to_string(), |point| point.symbol().to_owned())
    },
    /// Its value and ±.
    estimate: Estimate = Estimate(budget.estimate.clone()),
    /// A tuple a source, the largest first: its name, its u in the unit of the figure, its share of u², 0 to 1.
    contributions: Vec<(String, f64, f64)> =
        budget.contributions.iter().map(|c| (c.source.clone(), c.u, budget.share(c))).collect(),
});

#[pymethods]
impl Budget {
    /// The contributions as a frame of pandas: source, u in the unit of the figure, share of u².
    fn frame<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let all = &self.0.contributions;
        let columns = PyDict::new(py);
        columns.set_item("source", all.iter().map(|c| c.source.as_str()).collect::<Vec<_>>())?;
        columns.set_item("u", all.iter().map(|c| c.u).collect::<Vec<_>>())?;
        columns.set_item("share", all.iter().map(|c| self.0.share(c)).collect::<Vec<_>>())?;
        py.import("pandas")?.getattr("DataFrame")?.call1((columns,))
    }

    fn __repr__(&self) -> String {
        format!("Budget\n  {}", self.0.to_string().replace('\n', "\n  "))
    }

    fn _repr_html_(&self) -> String {
        let unit = self.0.estimate.unit.symbol();
        let row = |c: &core::Contribution| {
            let share = 100.0 * self.0.share(c);
            format!("<tr><td>{}</td><td>{}</td><td>{share:.1} %</td></tr>", c.source, quoted(c.u, None, unit))
        };
        let rows: String = self.0.contributions.iter().map(row).collect();
        let head = "<tr><th>source</th><th>u</th><th>share of u²</th></tr>";
        format!("<p>{}: {}</p><table>{head}{rows}</table>", self.0.figure, self.0.estimate)
    }
}

#[pymethods]
impl Sweep {
    /// The sources of the ± of a key point, as a `Budget`: what to improve first.
    ///
    /// - `name`: "isc", "voc", "pmax", "v_pmax", "i_pmax", "ff", "jsc" or "efficiency".
    ///
    /// Raises `InputError` for another name, and with the reason where the figure or its ± is absent.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> sweep = measured.correct([ld.Gain(current=ld.Estimate(1.0, 0.01))])
    /// >>> sweep.budget("isc").contributions[0][0]
    /// 'current gain'
    /// ```
    fn budget(&self, py: Python<'_>, #[pyo3(from_py_with = named::name)] name: &str) -> PyResult<Budget> {
        let figure = KeyPoint::ALL.into_iter().find(|point| point.name() == name);
        let known = KeyPoint::ALL.map(KeyPoint::name).join(", ");
        let figure =
            figure.ok_or_else(|| input(py, format!("name={name:?} is no key point; pass one of {known}")))?;
        let found = interruptible(py, || litdiode::curve::budget(&self.0, figure))?;
        found.map(Budget).map_err(|why| input(py, format!("{name} has no budget: {why}")))
    }
}

#[pymethods]
impl Fit {
    /// The sources of the ± of a parameter or key point of the fit, to first order, as a `Budget`.
    ///
    /// - `name`: a parameter, or a key point: `isc voc pmax v_pmax i_pmax ff jsc efficiency`.
    ///
    /// Raises `InputError` for another name, and with the reason where the figure or its ± is absent.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> noise = ld.Noise(current_a=2e-5, current_gain_u=0.01)
    /// >>> measured = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> sweep = ld.Sweep(measured.voltage_v, measured.current_a, noise=noise)
    /// >>> ld.fit_single_diode(sweep).budget("isc")
    /// Budget
    ///   isc: 29.98 ± 0.30 mA
    ///     current gain                 299.8 µA   99.9 %
    ///     scatter of the readings      6.929 µA    0.1 %
    /// ```
    fn budget(&self, py: Python<'_>, #[pyo3(from_py_with = named::name)] name: &str) -> PyResult<Budget> {
        let figure = name
            .parse::<Figure>()
            .map_err(|_| input(py, format!("name={name:?} is no parameter or key point of this fit")))?;
        let found = self.0.budget(figure);
        found.map(Budget).map_err(|why| input(py, format!("{name} has no budget: {why}")))
    }
}
