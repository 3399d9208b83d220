//! `KeyPoints` and `Sweep.key_points`.

use crate::arguments::words;
use crate::change_finding::Finding;
use crate::error::input;
use crate::estimate::Estimate;
use crate::findings_source::{FindingsSource, WithFindings};
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::sweep::Sweep;
use litdiode::{curve, key_points as core, remarks, sweep as core_sweep};
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Isc, Voc, the point of maximum power and FF, and Jsc and efficiency where area and irradiance are known.
///
/// ```text
/// FF = Pmax/(Isc·Voc)      Jsc = Isc/area      η = Pmax/(area·irradiance)
/// ```
///
/// Each figure is an `Estimate`, or None with the reason in `absent`. Uncertainties are carried to first order with the
/// covariance of the figures (JCGM 100:2008, 5.2.2); degrees of freedom of Jsc and η by Welch–Satterthwaite (annex G).
/// FF and η are pure numbers from 0 to 1. Where area or irradiance has no uncertainty, the note of Jsc or η says
/// "electrical part only". `repr` shows the `findings` of the sweep beside the figures. Comes from `Sweep.key_points`, `Fit.key_points`, `Translated.key_points` and, exact and
/// without ±, from a model.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, noise_voltage_v=5e-4)
/// >>> sweep = ld.simulate_sweep(cell, tracer, seed=1)
/// >>> sweep = ld.Sweep(sweep.voltage_v, sweep.current_a, swept="current", area_cm2=ld.Estimate(1.0, 0.02))
/// >>> points = sweep.key_points()
/// >>> print(points.voc, points.ff, points.jsc, sep="; ")
/// 0.57444 ± 0.00028 V; 0.75148 ± 0.00092; 29.98 ± 0.60 mA/cm²
/// >>> points.absent
/// {'efficiency': 'η = Pmax/(area·irradiance) needs the irradiance: pass irradiance_w_m2'}
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct KeyPoints(pub WithFindings);

plain!(KeyPoints);

macro_rules! figures {
    ($($(#[$doc:meta])* $name:ident),* $(,)?) => {
        #[pymethods]
        impl KeyPoints {
            $(
                $(#[$doc])*
                #[getter]
                fn $name(&self) -> Option<Estimate> {
                    let figure = core::KeyPoint::ALL.into_iter().find(|f| f.name() == stringify!($name))?;
                    self.0.points.traced(figure).map(Estimate)
                }
            )*
        }
    };
}

figures!(
    /// Short-circuit current in A.
    isc,
    /// Open-circuit voltage in V.
    voc,
    /// Maximum power in W.
    pmax,
    /// Voltage of maximum power in V.
    v_pmax,
    /// Current of maximum power in A.
    i_pmax,
    /// Fill factor, 0 to 1.
    ff,
    /// Short-circuit current density in A/cm².
    jsc,
    /// Efficiency, 0 to 1.
    efficiency,
);

getters!(KeyPoints, known => {
    /// The figures that are not there, by name, with the reason.
    absent(py): PyResult<Bound<'py, PyDict>> = {
        let absent = PyDict::new(py);
        for a in &known.points.absent {
            absent.set_item(&a.figure, a.why.to_string())?;
        }
        Ok(absent)
    },
    /// The figures that `covariance` is over: those of the first six that have a ±.
    names: Vec<String> = known.points.names.iter().map(|n| n.to_string()).collect(),
    /// Covariance of `names` in SI units, one row and one column a name.
    covariance(py): PyResult<Bound<'py, PyArray2<f64>>> = {
        let n = known.points.names.len();
        PyArray1::from_slice(py, &known.points.covariance).reshape([n, n])
    },
    /// Remarks on the sweep that the figures come from, as `Finding`s; empty for those of a model.
    findings(py): Vec<Finding> = py.detach(|| known.source.findings()).into_iter().map(Finding).collect(),
});

#[pymethods]
impl KeyPoints {
    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        let rows = self.rows();
        let mut lines: Vec<String> =
            rows.iter().map(|(symbol, text)| format!("  {symbol:<7}{text}")).collect();
        lines.extend(self.remarks(py).iter().map(|text| format!("  remark: {text}")));
        Ok(format!("KeyPoints\n{}", lines.join("\n")))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let row =
            |(symbol, text): &(&str, String)| format!("<tr><th>{symbol}</th><td>{}</td></tr>", escape(text));
        let list: String = self.remarks(py).iter().map(|t| format!("<li>{}</li>", escape(t))).collect();
        let list = if list.is_empty() { list } else { format!("<ul>{list}</ul>") };
        Ok(format!("<table>{}</table>{list}", self.rows().iter().map(row).collect::<String>()))
    }
}

impl From<core::KeyPoints> for KeyPoints {
    fn from(points: core::KeyPoints) -> Self {
        Self(points.into())
    }
}

impl KeyPoints {
    /// Figures of `sweep`.
    pub fn of(points: core::KeyPoints, sweep: &core_sweep::Sweep) -> Self {
        Self(WithFindings { points, source: FindingsSource::Sweep(sweep.clone()) })
    }

    /// The remarks to print: what the sweep does not reach stands with the absent figures already.
    fn remarks(&self, py: Python<'_>) -> Vec<String> {
        use core_sweep::Kind::{ShortOfIsc, ShortOfVoc};
        let found = py.detach(|| self.0.source.findings());
        let told = |kind| matches!(kind, ShortOfIsc | ShortOfVoc);
        found.into_iter().filter(|f| !told(f.kind)).map(|f| f.text).collect()
    }

    fn rows(&self) -> Vec<(&'static str, String)> {
        let mut rows = Vec::new();
        for point in core::KeyPoint::ALL {
            let (name, symbol) = (point.name(), point.symbol());
            match (self.0.points.get(name), self.0.points.why_absent(name)) {
                (Some(estimate), _) => rows.push((symbol, core::shown(point, estimate))),
                (None, Some(why)) => rows.push((symbol, format!("absent: {why}"))),
                (None, None) => {}
            }
        }
        rows
    }
}

/// Text as HTML.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[pymethods]
impl Sweep {
    /// Isc, Voc, Pmax, FF and what follows, each with its ±, from the curve alone: without a model of the device.
    ///
    /// ```text
    /// curve: a quick diode fit (the pilot) + a Gaussian process of what the readings differ by from it
    /// Isc = I(0)        Voc = V(0)        Pmax: maximum of V·I(V)        FF = Pmax/(Isc·Voc)
    /// ```
    ///
    /// The quantity that was set counts as exact, the one that was read as noisy: say `swept="current"` to `Sweep` where
    /// the current was stepped. Where the pilot fits, the figures are nearly those of a fit; where it does not (an
    /// S-shape), they follow the readings. docs/key_points.md shows how often the intervals hold.
    ///
    /// - `extrapolate`: "isc", "voc" or both in a list or tuple. Such a figure is continued by up to a quarter of the range
    ///   swept; its u holds what that costs, and its note says so. Otherwise what the sweep does not reach is absent.
    ///
    /// Returns `KeyPoints`. The ± is that of the stated noise (infinite `dof`) or of the scatter found in the sweep,
    /// carried through with the correlations, with the stated gains and offsets, and with what the curve may do between
    /// the readings. Raises `InputError` for an unknown name in `extrapolate`; readings that give no figure are
    /// no error: `absent` says why.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> points = sweep.key_points()
    /// >>> round(points.voc.value, 2), points.voc.unit, points.jsc
    /// (0.57, 'V', None)
    /// ```
    #[pyo3(signature = (*, extrapolate=None), text_signature = "(self, *, extrapolate=())")]
    fn key_points(&self, py: Python<'_>, extrapolate: Option<&Bound<'_, PyAny>>) -> PyResult<KeyPoints> {
        let mut beyond = curve::Beyond::default();
        let named = extrapolate.map_or(Ok(Vec::new()), |given| words("extrapolate", given, "[\"isc\"]"))?;
        for name in &named {
            match name.as_str() {
                "isc" => beyond.isc = true,
                "voc" => beyond.voc = true,
                _ => {
                    return Err(input(
                        py,
                        format!(
                            "extrapolate: {name:?} cannot be extrapolated; pass [\"isc\"], [\"voc\"] or both"
                        ),
                    ));
                }
            }
        }
        Ok(KeyPoints::of(interruptible(py, || curve::key_points_beyond(&self.0, beyond))?, &self.0))
    }

    fn _repr_html_(&self, py: Python<'_>) -> PyResult<String> {
        let label = self.0.options().label.as_deref().map_or("Sweep".into(), escape);
        // The remarks stand in the list below, with the changes.
        let figures = KeyPoints::from(interruptible(py, || curve::key_points(&self.0))?);
        let table: String = Py::new(py, figures)?.call_method0(py, "_repr_html_")?.extract(py)?;
        let findings = interruptible(py, || remarks::findings(&self.0))?;
        let notes =
            self.0.changes().iter().map(ToString::to_string).chain(findings.into_iter().map(|f| f.text));
        let list: String = notes.map(|n| format!("<li>{}</li>", escape(&n))).collect();
        let list = if list.is_empty() { list } else { format!("<ul>{list}</ul>") };
        Ok(format!("<b>{label}</b> {}{table}{list}", escape(&self.0.summary())))
    }
}
