//! `Plan`, `PointsNeeded`, `plan_sweep`, `points_needed`.

use crate::arguments::{choice, count, given, named, shown, word, words, wrong_type};
use crate::error::input;
use crate::estimate::Estimate;
use crate::fit::{Either, Fit};
use crate::getters::getters;
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::model::{DoubleDiode, SingleDiode};
use crate::noise::Noise;
use crate::sweep::SWEPT;
use litdiode::estimate as core_estimate;
use litdiode::fit::{Figure, Parameter};
use litdiode::plan as core;
use litdiode::reason::Reason;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping};

const METHODS: [(&str, core::Method); 2] = [("model", core::Method::Model), ("local", core::Method::Local)];

/// The set points of a sweep, from `plan_sweep`, and the uncertainty that each figure would have.
///
/// `set_points` is what to set. `figures`, `equal_voltage` and `equal_current` are dictionaries of name to `Estimate`, whose
/// `u` is what a fit (or key points without a model) of readings there would state; `u` is None where the readings leave
/// the figure open. `str` shows them side by side, `notes` what must be known. `plot()` draws the plan on the curve, and
/// u against the number of points.
///
/// ```python
/// >>> import litdiode as ld
/// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
/// >>> plan = ld.plan_sweep(dye, noise=ld.Noise(voltage_v=0.002), swept="current")
/// >>> plan.swept, len(plan.set_points), f"{1e6 * plan.set_points[0]:.0f} to {1e6 * plan.set_points[-1]:.0f} µA"
/// ('current', 25, '0 to 599 µA')
/// >>> [f"{estimates['ff'].u:.4f}" for estimates in (plan.figures, plan.equal_voltage, plan.equal_current)]
/// ['0.0012', '0.0024', '0.0016']
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Plan(pub core::Plan);

plain!(Plan);

/// How many set points a wanted uncertainty takes, from `points_needed`; `str` is one sentence.
///
/// ```python
/// >>> import litdiode as ld
/// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
/// >>> needed = ld.points_needed(dye, 0.01, noise=ld.Noise(current_a=6e-6))
/// >>> needed.planned, needed.equal_voltage, needed.equal_current
/// (8, 14, 29)
/// >>> needed.points, needed.repeats, round(needed.relative_u, 4)
/// (25, 1, 0.0053)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct PointsNeeded(pub core::PointsNeeded);

plain!(PointsNeeded);

fn estimate(one: &core::PlannedFigure, u: Option<f64>) -> Estimate {
    let unit = one.figure.unit();
    Estimate(match u {
        Some(u) => core_estimate::Estimate::new(one.value, u, unit),
        None => core_estimate::Estimate::without_u(one.value, unit, Reason::NotDetermined),
    })
}

/// Figures by name.
fn by_name<'py>(
    py: Python<'py>,
    figures: &[core::PlannedFigure],
    u: fn(&core::PlannedFigure) -> Option<f64>,
) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    for one in figures {
        found.set_item(one.figure.name(), estimate(one, u(one)))?;
    }
    Ok(found)
}

getters!(Plan, plan => {
    /// What to set, rising: V, or A where the current is set. Equal ones are read as often as they stand here.
    set_points(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, &plan.set_points),
    /// Voltages in V that the first expected device would show there.
    voltage_v(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, &plan.voltage_v),
    /// Currents in A that it would show there.
    current_a(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, &plan.current_a),
    /// Name to `Estimate` of every figure of the first expected device, read at the set points.
    figures(py): PyResult<Bound<'py, PyDict>> = by_name(py, &plan.figures, |f| f.u),
    /// The same, read at as many points in equal steps of the voltage.
    equal_voltage(py): PyResult<Bound<'py, PyDict>> = by_name(py, &plan.figures, |f| f.u_equal_voltage),
    /// The same, read at as many points in equal steps of the current.
    equal_current(py): PyResult<Bound<'py, PyDict>> = by_name(py, &plan.figures, |f| f.u_equal_current),
    /// What must be known with the plan, in sentences.
    notes: Vec<String> = plan.notes.iter().map(ToString::to_string).collect(),
    /// The quantity that is set: "voltage" or "current".
    swept: &'static str = word(&plan.options.swept.unwrap_or_default(), &SWEPT),
    /// The name of the figure whose uncertainty was made small.
    target: &'static str = plan.options.target.name(),
    /// "model" or "local".
    method: &'static str = word(&plan.options.method, &METHODS),
    /// The noise that was planned with.
    noise: Option<Noise> = plan.options.noise.map(Noise),
    /// The fewest points that can be planned: as many as the fit has free parameters.
    fewest_points(py): PyResult<usize> = plan.fewest_points().map_err(|e| input(py, e)),
});

#[pymethods]
impl Plan {
    /// Name to `Estimate` of every figure of another device, read at the same set points.
    ///
    /// - `expected`: a `SingleDiode`, `DoubleDiode` or `Fit`, or a list of models, the first of which counts.
    ///
    /// Raises `InputError` for a device without the target.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    /// >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
    /// >>> better = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=20, rsh_ohm=9e3)
    /// >>> print(plan.figures["ff"], plan.figures_of(better)["ff"], sep="; ")
    /// 0.6329 ± 0.0034; 0.6572 ± 0.0032
    /// ```
    fn figures_of<'py>(&self, py: Python<'py>, expected: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyDict>> {
        let expected = devices(expected)?;
        let figures = interruptible(py, || self.0.figures_of(&expected))?.map_err(|e| input(py, e))?;
        by_name(py, &figures, |f| f.u)
    }

    /// The standard uncertainty of the target from other numbers of points, in its unit.
    ///
    /// - `points`: a list of numbers of points, each of which is planned anew.
    ///
    /// Returns a list of (points, planned, equal steps of voltage, equal steps of current), None where the readings leave the
    /// target open. Raises `InputError` for a number that cannot be planned.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    /// >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
    /// >>> [(points, round(planned, 4)) for points, planned, _, _ in plan.at_points([10, 25, 50])]
    /// [(10, 0.0055), (25, 0.0034), (50, 0.0024)]
    /// ```
    #[allow(clippy::type_complexity)]
    fn at_points(
        &self,
        py: Python<'_>,
        points: &Bound<'_, PyAny>,
    ) -> PyResult<Vec<(usize, Option<f64>, Option<f64>, Option<f64>)>> {
        let asked: Vec<i64> = given("points", points, "a list of whole numbers, such as [10, 25, 50]")?;
        let numbers =
            asked.iter().map(|n| count(py, "points", i128::from(*n), 1)).collect::<PyResult<Vec<_>>>()?;
        let found = interruptible(py, || self.0.at_points(&numbers))?.map_err(|e| input(py, e))?;
        Ok(found.iter().map(|a| (a.points, a.u, a.u_equal_voltage, a.u_equal_current)).collect())
    }

    /// Voltages in V and currents in A of the first expected device, from end to end of the set points.
    ///
    /// - `points`: how many, 200 unless given.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
    /// >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6))
    /// >>> voltage_v, current_a = plan.curve(points=50)
    /// >>> bool(voltage_v[0] == plan.set_points[0]), len(current_a)
    /// (True, 50)
    /// ```
    #[pyo3(signature = (points=200))]
    #[allow(clippy::type_complexity)]
    fn curve<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = named::points)] points: i128,
    ) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>)> {
        let (v, i) = self.0.curve(count(py, "points", points, 2)?);
        Ok((PyArray1::from_vec(py, v), PyArray1::from_vec(py, i)))
    }

    fn __len__(&self) -> usize {
        self.0.set_points.len()
    }

    fn __str__(&self) -> String {
        self.0.to_string()
    }

    fn __repr__(&self) -> String {
        format!(
            "Plan({} points of the {} for {})",
            self.0.set_points.len(),
            self.swept_word(),
            self.0.options.target
        )
    }
}

impl Plan {
    fn swept_word(&self) -> &'static str {
        word(&self.0.options.swept.unwrap_or_default(), &SWEPT)
    }
}

getters!(PointsNeeded, needed => {
    /// Planned points; above 100 in whole repeats of the plan of 100. Where repeats of the plan of `points` take fewer, as they
    /// may with the method "local", their number: `repeats`·`points`. None where no number up to 20,000 suffices.
    planned: Option<usize> = needed.planned,
    /// Points in equal steps of the voltage.
    equal_voltage: Option<usize> = needed.equal_voltage,
    /// Points in equal steps of the current.
    equal_current: Option<usize> = needed.equal_current,
    /// How often the plan of `points` is taken instead.
    repeats: Option<usize> = needed.repeats,
    /// Points of the plan that is repeated.
    points: usize = needed.points,
    /// Relative standard uncertainty that it gives, taken once.
    relative_u: f64 = needed.relative_u,
    /// Relative standard uncertainty that is wanted.
    wanted: f64 = needed.wanted,
    /// The name of the figure.
    target: &'static str = needed.target.name(),
});

#[pymethods]
impl PointsNeeded {
    fn __str__(&self) -> String {
        self.0.to_string()
    }

    fn __repr__(&self) -> String {
        format!("PointsNeeded({})", self.0)
    }
}

/// Devices: one model, a list of models of one kind, or a fit.
fn devices(expected: &Bound<'_, PyAny>) -> PyResult<core::Expected> {
    let py = expected.py();
    let made = if let Ok(fit) = expected.cast::<Fit>() {
        return Ok(match &fit.get().0 {
            Either::One(fit) => core::Expected::one_diode_fitted(fit),
            Either::Two(fit) => core::Expected::two_diodes_fitted(fit),
        });
    } else if let Ok(one) = expected.extract::<SingleDiode>() {
        core::Expected::one_diode(&[one.0])
    } else if let Ok(two) = expected.extract::<DoubleDiode>() {
        core::Expected::two_diodes(&[two.0])
    } else if let Ok(list) = expected.extract::<Vec<SingleDiode>>() {
        core::Expected::one_diode(&list.iter().map(|m| m.0).collect::<Vec<_>>())
    } else {
        let cure = "a litdiode.SingleDiode, DoubleDiode or Fit, or a list of models of one kind";
        let list: Vec<DoubleDiode> =
            expected.extract().map_err(|_| wrong_type("expected", expected, cure))?;
        core::Expected::two_diodes(&list.iter().map(|m| m.0).collect::<Vec<_>>())
    };
    made.map_err(|e| input(py, e))
}

/// The limits of a dictionary.
fn limits(given: Option<&Bound<'_, PyAny>>) -> PyResult<core::Limits> {
    let mut limits = core::Limits::default();
    let Some(given) = given else { return Ok(limits) };
    let cure =
        "a dictionary such as {\"voltage_v\": (-0.1, 0.7), \"current_a\": (0, 0.1), \"power_w\": 0.02}";
    let mapping = given.cast::<PyMapping>().map_err(|_| wrong_type("limits", given, cure))?;
    for item in mapping.items()?.iter() {
        let (name, value): (Bound<'_, PyAny>, Bound<'_, PyAny>) = item.extract()?;
        let bad = |what: &str| {
            input(given.py(), format!("limits[{}] = {}; pass {what}", shown(&name), shown(&value)))
        };
        let pair = || -> PyResult<(f64, f64)> {
            let (low, high): (Option<f64>, Option<f64>) =
                value.extract().map_err(|_| bad("(low, high), None for an open end"))?;
            Ok((low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY)))
        };
        match name.extract::<String>().unwrap_or_default().as_str() {
            "voltage_v" => limits.voltage_v = pair()?,
            "current_a" => limits.current_a = pair()?,
            "power_w" => limits.power_w = value.extract().map_err(|_| bad("the largest power in W"))?,
            _ => {
                let text =
                    format!("limits: {} is not known; pass voltage_v, current_a or power_w", shown(&name));
                return Err(input(given.py(), text));
            }
        }
    }
    Ok(limits)
}

/// What a call asks of a plan.
struct Request<'a, 'py> {
    points: i128,
    swept: Option<&'a str>,
    noise: Option<&'a Bound<'py, PyAny>>,
    target: &'a str,
    method: &'a str,
    limits: Option<&'a Bound<'py, PyAny>>,
    step: f64,
    spread: Option<f64>,
    fix: Option<&'a Bound<'py, PyAny>>,
}

impl Request<'_, '_> {
    fn options(&self, py: Python<'_>, expected: &core::Expected) -> PyResult<core::PlanOptions> {
        let noise: Option<Noise> = self
            .noise
            .map(|n| given("noise", n, "a litdiode.Noise, or None for that of a fit"))
            .transpose()?;
        let unknown = |_| {
            let names: Vec<&str> = expected.targets().iter().map(|figure| figure.name()).collect();
            input(py, format!("target: '{}' is not known; pass one of {}", self.target, names.join(", ")))
        };
        let target: Figure = self.target.parse().map_err(unknown)?;
        let mut fix = Vec::new();
        if let Some(names) = self.fix {
            for name in words("fix", names, "[\"n1\", \"n2\"]")? {
                let named: Parameter =
                    name.parse().map_err(|e| input(py, format!("fix: {e}; pass names of parameters")))?;
                fix.push(named);
            }
        }
        Ok(core::PlanOptions::default()
            .points(count(py, "points", self.points, 0)?)
            .swept(self.swept.map(|swept| choice(py, "swept", swept, &SWEPT)).transpose()?)
            .noise(noise.map(|n| n.0))
            .target(target)
            .method(choice(py, "method", self.method, &METHODS)?)
            .limits(limits(self.limits)?)
            .step(self.step)
            .spread(self.spread)
            .fix(fix))
    }
}

/// Set points for the next sweep that make the uncertainty of a figure smallest, a `Plan`.
///
/// ```text
/// M = Σ g·gᵀ,  g = ∂r/∂θ of the residual r of the fits at each set point        u²(figure) = cᵀ·M⁻¹·c,  c = ∂figure/∂θ
/// least over the set points: mean of [ln u²(target) − 0.2·ln det M/m] over the devices, m free parameters θ
/// ```
///
/// - `expected`: the device that will be measured, a `SingleDiode` or `DoubleDiode`; a list of models that one plan should serve;
///   or a first `Fit`, whose uncertainty the plan allows for.
/// - `points`: how many readings, repeated ones counted, up to 1000; 25 unless given.
/// - `swept`: the quantity that is set, "voltage" or "current"; None takes that of a fit's sweep, else the voltage.
/// - `noise`: the `Noise` of the instrument; the axis that is set is exact unless it has scatter too. None takes that of a fit's
///   sweep, or the scatter that the fit found.
/// - `target`: a key point ("isc", "voc", "pmax", "v_pmax", "i_pmax", "ff") or a parameter of the model ("rs", "n1", …).
/// - `limits`: what every expected device keeps to, a dictionary of "voltage_v" and "current_a" to (low, high), None for an open
///   end, and of "power_w" to the largest |V·I|. A low end of the voltage limits the reverse bias. Unless limited, voltages are
///   set from −0.05 to 1.05·Voc (or to Voc of a device off by `spread`), currents from 0 to that at −0.05·Voc, beyond which the
///   device is reverse-biased. Whatever the limits, no set point lies below −0.5·Voc, above 1.1·Voc (more where `spread` is) or
///   beyond 3·Isc into any lit device that was given.
/// - `method`: "model" plans for the diode fit; "local" for `Sweep.key_points`, which need no model: clusters about Isc, the
///   maximum power and Voc, whose sizes and widths make the u that it states least.
/// - `step`: step of the source in V or A; set points are multiples of it. 0 for none.
/// - `spread`: by what share Voc (where currents are set, Isc) of the device may be off, 0 to 0.3. None is 0.1 for one model, and
///   0 for a list and a fit; the method "local" takes no less than 0.1.
/// - `fix`: names of parameters that the fit will hold, such as ["n1", "n2"].
///
/// The term ln det M keeps all parameters determined, at a cost of 2 to 6 % of u(FF) and at most 9 % of the u of another target;
/// without it a plan for FF would be three points, which no diode can be fitted to. Gains and offsets of the noise are in every
/// u. Source: A. C. Atkinson, A. N. Donev, R. D. Tobias, Optimum Experimental Designs, with SAS, 2007 (from memory). Raises
/// `InputError` for arguments outside their domain, a device without the target, limits that leave too few set points, and a
/// target that no readings determine. Two diodes whose idealities are both free are planned far from the best: fix them.
///
/// ```python
/// >>> import litdiode as ld
/// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
/// >>> plan = ld.plan_sweep(dye, noise=ld.Noise(current_a=6e-6), step=0.001)
/// >>> len(plan.set_points), plan.equal_voltage["ff"].u > 1.3 * plan.figures["ff"].u
/// (25, True)
/// ```
#[pyfunction]
#[pyo3(signature = (expected, points=25, *, swept=None, noise=None, target="ff", limits=None, method="model", step=0.0,
    spread=None, fix=None))]
#[allow(clippy::too_many_arguments)]
pub fn plan_sweep(
    py: Python<'_>,
    expected: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::points)] points: i128,
    #[pyo3(from_py_with = named::swept)] swept: Option<&str>,
    noise: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::target)] target: &str,
    limits: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::method)] method: &str,
    #[pyo3(from_py_with = named::step)] step: f64,
    #[pyo3(from_py_with = named::spread)] spread: Option<f64>,
    fix: Option<&Bound<'_, PyAny>>,
) -> PyResult<Plan> {
    let expected = devices(expected)?;
    let request = Request { points, swept, noise, target, method, limits, step, spread, fix };
    let options = request.options(py, &expected)?;
    interruptible(py, || core::plan_sweep(&expected, &options))?.map(Plan).map_err(|e| input(py, e))
}

/// How many set points, or repeats of a plan, a wanted uncertainty takes, a `PointsNeeded`.
///
/// - `wanted`: the relative standard uncertainty of the target, between 0 and 1; 0.01 is 1 %.
/// - `expected`, `points`, `swept`, `noise`, `target`, `limits`, `method`, `step`, `spread`, `fix`: those of `plan_sweep`;
///   `points` is the size of the plan that would be repeated.
///
/// The fewest n with u(n) ≤ wanted, for planned points and for equal steps of voltage and of current. What gains and offsets
/// leave no number of points takes away: the counts are then None. Raises `InputError` as `plan_sweep`, and for `wanted`
/// outside its domain.
///
/// ```python
/// >>> import litdiode as ld
/// >>> dye = ld.SingleDiode(iph_a=6e-4, i0_a=2e-9, n=1.9, rs_ohm=60, rsh_ohm=9e3)  # invented
/// >>> needed = ld.points_needed(dye, 0.01, noise=ld.Noise(current_a=6e-6))
/// >>> needed.planned < needed.equal_voltage < needed.equal_current
/// True
/// ```
#[pyfunction]
#[pyo3(signature = (expected, wanted, points=25, *, swept=None, noise=None, target="ff", limits=None, method="model",
    step=0.0, spread=None, fix=None))]
#[allow(clippy::too_many_arguments)]
pub fn points_needed(
    py: Python<'_>,
    expected: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = named::wanted)] wanted: f64,
    #[pyo3(from_py_with = named::points)] points: i128,
    #[pyo3(from_py_with = named::swept)] swept: Option<&str>,
    noise: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::target)] target: &str,
    limits: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = named::method)] method: &str,
    #[pyo3(from_py_with = named::step)] step: f64,
    #[pyo3(from_py_with = named::spread)] spread: Option<f64>,
    fix: Option<&Bound<'_, PyAny>>,
) -> PyResult<PointsNeeded> {
    let expected = devices(expected)?;
    let request = Request { points, swept, noise, target, method, limits, step, spread, fix };
    let options = request.options(py, &expected)?;
    let found = interruptible(py, || core::points_needed(&expected, wanted, &options))?;
    found.map(PointsNeeded).map_err(|e| input(py, e))
}
