//! `Interpolant` and `Sweep.interpolate`.

use crate::arguments::{choice, map_all, named};
use crate::error::input;
use crate::getters::getters;
use crate::interpolant_kind::{self, Drawing, Drawn, KINDS, Maximum, ShapeTest, draw_curve};
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::sweep::Sweep;
use litdiode::estimate::Interval;
use litdiode::interpolant::{self as core, InterpolantError};
use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Shares of all readings in current and slope.
type Row<'py> = (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>);

/// A curve I(V) of cubic pieces through the readings of a sweep, or near them; no model of the device.
///
/// ```text
/// I(V) = c0 + c1·s + c2·s² + c3·s³        s = (V − Vk)/(Vk+1 − Vk)  between the breakpoints Vk ≤ V ≤ Vk+1
/// ```
///
/// From `Sweep.interpolate`, which names the kinds. Breakpoints and coefficients are `breakpoints_v` and
/// `coefficients_a`. Arguments are numbers or arrays of any shape; results have the same shape. A voltage outside the
/// sweep is an `InputError` unless `extrapolate`, which continues the end pieces; so is one that is not finite.
///
/// ```python
/// >>> import litdiode as ld
/// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
/// >>> curve = sweep.interpolate("monotone_cubic")
/// >>> round(curve.current(0.45), 4), curve.breakpoints_v.size
/// (0.0246, 5)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Interpolant(pub Drawing);

plain!(Interpolant);

impl Interpolant {
    fn evaluated<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        f: impl Fn(&core::Piecewise, &[f64]) -> Result<core::Evaluated, InterpolantError> + Sync,
    ) -> PyResult<Bound<'py, PyAny>> {
        let [made] = map_all("voltage_v", voltage_v, |v| f(self.0.curve(), v).map(|e| [e.values]))?;
        Ok(made)
    }
}

getters!(Interpolant, drawing => {
    /// "linear", "monotone_cubic", "natural_cubic", "smoothing" or "shape_constrained".
    kind: &'static str = drawing.kind(),
    /// The sweep it was drawn through.
    sweep: Sweep = Sweep(drawing.sweep.clone()),
    /// Lowest and highest voltage in V.
    range_v: (f64, f64) = drawing.curve().range_v(),
    /// Voltages in V at which one piece ends and the next begins.
    breakpoints_v(py): Bound<'py, PyArray1<f64>> = PyArray1::from_slice(py, drawing.curve().breaks_v()),
    /// c0 to c3 of each piece in A, a row a piece.
    coefficients_a(py): PyResult<Bound<'py, PyArray2<f64>>> = {
        let rows = drawing.curve().coefficients_a();
        PyArray1::from_vec(py, rows.as_flattened().to_vec()).reshape([rows.len(), 4])
    },
    /// The points of distinct, rising voltages (in a smoothing of a sweep stepped in current: of currents) that the
    /// readings were gathered to: arrays `voltage_v`, `current_a`,
    /// `weight` (Σ 1/σ² in 1/A², or 1/V² of the latter, where the noise weighs, else the number of readings) and `count`.
    points(py): PyResult<Bound<'py, PyDict>> = {
        let (points, found) = (drawing.measured(), PyDict::new(py));
        found.set_item("voltage_v", PyArray1::from_slice(py, points.voltage_v()))?;
        found.set_item("current_a", PyArray1::from_slice(py, points.current_a()))?;
        found.set_item("weight", PyArray1::from_slice(py, points.weight()))?;
        found.set_item("count", PyArray1::from_iter(py, points.count().iter().map(|n| *n as i64)))?;
        Ok(found)
    },
    /// λ of a smoothing in V³/A² where the noise weighs, else in V³, A³/V² or A³ where the current was set; None for other
    /// kinds.
    penalty: Option<f64> = drawing.smooth().map(core::Smooth::lambda),
    /// How λ was chosen: "cross_validation", "stated_noise" or "given"; None for other kinds.
    penalty_chosen_by: Option<&'static str> = drawing.penalty_chosen_by(),
    /// Effective degrees of freedom: of a smoothing the trace of the smoother (2 for a line), of a shape-constrained
    /// curve its parameters in use, of the others the number of points.
    effective_dof: f64 = drawing.effective_dof(),
    /// For a smoothing: the number of readings less `effective_dof`; None for other kinds.
    residual_dof: Option<f64> = drawing.smooth().map(core::Smooth::residual_dof),
    /// Σ w(I − s)² over the readings: χ² where the noise weighs, else in A² (V² where the current was set and smoothed); None for the kinds that pass through them.
    chi2: Option<f64> = match &drawing.drawn {
        Drawn::Smoothing(s, _) => Some(s.chi2()),
        Drawn::ShapeConstrained(s) => Some(s.chi2()),
        _ => None,
    },
    /// For a smoothing: √(chi2/ν), ν = `residual_dof` where λ was given, `residual_dof`·(1 − 0.4·`effective_dof`/N) where it
    /// was chosen from the same N readings: the standard deviation of a reading in A (in V where the current was set), or, where the noise weighs, a
    /// number to be compared with 1. None where no degrees of freedom are left, and for other kinds.
    scatter: Option<f64> = drawing.smooth().and_then(core::Smooth::scatter),
    /// Whether the stated noise of the sweep weighs the readings.
    noise_stated: bool = drawing.measured().noise_stated(),
});

#[pymethods]
impl Interpolant {
    /// I in A at `voltage_v` in V; `extrapolate` continues the end pieces beyond the sweep.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    /// >>> curve = sweep.interpolate("monotone_cubic")
    /// >>> round(curve.current(0.45), 4), round(curve.current(0.61, extrapolate=True), 4)
    /// (0.0246, -0.0492)
    /// ```
    #[pyo3(signature = (voltage_v, extrapolate=false))]
    fn current<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::extrapolate)] extrapolate: bool,
    ) -> PyResult<Bound<'py, PyAny>> {
        self.evaluated(voltage_v, |c, v| c.current(v, extrapolate))
    }

    /// dI/dV in S at `voltage_v` in V; at a kink that of the piece to the right. `extrapolate` as in `current`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    /// >>> curve = sweep.interpolate("linear")
    /// >>> f"{curve.slope(0.45):.3f} S", f"{-1 / curve.slope(0.55):.2f} Ω"
    /// ('-0.110 S', '1.72 Ω')
    /// ```
    #[pyo3(signature = (voltage_v, extrapolate=false))]
    fn slope<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::extrapolate)] extrapolate: bool,
    ) -> PyResult<Bound<'py, PyAny>> {
        self.evaluated(voltage_v, |c, v| c.slope(v, extrapolate))
    }

    /// P = V·I(V) in W at `voltage_v` in V; `extrapolate` as in `current`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    /// >>> sweep.interpolate("linear").power([0.4, 0.45, 0.5]).round(5).tolist()
    /// [0.0112, 0.01012, 0.0085]
    /// ```
    #[pyo3(signature = (voltage_v, extrapolate=false))]
    fn power<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::extrapolate)] extrapolate: bool,
    ) -> PyResult<Bound<'py, PyAny>> {
        self.evaluated(voltage_v, |c, v| c.power(v, extrapolate))
    }

    /// The voltage in V at which the curve has each current `current_a` in A.
    ///
    /// Raises `InputError` where there are several (see `voltages`) or none. With `extrapolate` a current that the
    /// sweep does not carry is met at the nearest place beyond it.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
    /// >>> curve = sweep.interpolate("monotone_cubic")
    /// >>> f"Voc {curve.voltage(0.0):.4f} V, {curve.voltage(0.02):.4f} V at 20 mA"
    /// 'Voc 0.5431 V, 0.4828 V at 20 mA'
    /// ```
    #[pyo3(signature = (current_a, extrapolate=false))]
    fn voltage<'py>(
        &self,
        current_a: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::extrapolate)] extrapolate: bool,
    ) -> PyResult<Bound<'py, PyAny>> {
        let [made] = map_all("current_a", current_a, |i| {
            let found = self.0.curve().voltage(i, extrapolate).map_err(|e| e.to_string())?;
            let range = self.0.curve().range_v();
            let one = |(index, all): (usize, core::Voltages)| match all.within_or_nearest(range)[..] {
                [v] => Ok(v),
                ref several => Err(format!(
                    "current_a[{index}] = {} A is met at {} voltages from {} to {} V; voltages(current_a) gives them all",
                    i[index],
                    several.len(),
                    several[0],
                    several[several.len() - 1],
                )),
            };
            found.into_iter().enumerate().map(one).collect::<Result<_, _>>().map(|v| [v])
        })?;
        Ok(made)
    }

    /// All voltages in V, rising, at which the curve has the one current `current_a` in A; of a flat stretch its two
    /// ends.
    ///
    /// `extrapolate` continues the end pieces beyond the sweep. Raises `InputError` where the current is not reached.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> voltage_v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    /// >>> current_a = [0.030, 0.030, 0.031, 0.030, 0.027, 0.017, -0.041]  # invented: rises at first
    /// >>> sweep = ld.Sweep(voltage_v, current_a, sign="generator", leads="as_given")
    /// >>> sweep.interpolate("linear").voltages(0.0305).round(3).tolist()
    /// [0.15, 0.25]
    /// ```
    #[pyo3(signature = (current_a, extrapolate=false))]
    fn voltages<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = named::current_a)] current_a: f64,
        #[pyo3(from_py_with = named::extrapolate)] extrapolate: bool,
    ) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let found = self.0.curve().voltage(&[current_a], extrapolate).map_err(|e| input(py, e))?;
        Ok(PyArray1::from_iter(py, found.into_iter().flat_map(|all| all.voltage_v)))
    }

    /// The largest V·I between the first and the last reading: the best of the breakpoints and the zeros of (V·I)′, a
    /// `Maximum`, exact for the curve and without ±.
    fn maximum_power(&self, py: Python<'_>) -> PyResult<Maximum> {
        self.0.curve().maximum_power().map(Maximum).map_err(|e| input(py, e))
    }

    /// For a smoothing: the band in A, (low, high), that holds the current with probability `level` at each voltage.
    ///
    /// ```text
    /// u² = Σ lk·mk·σk², m the row of the curve of least roughness through the points        without bias: u² = Σ lk²·σk²
    /// ```
    ///
    /// - `voltage_v`: voltages in V within the sweep; low and high have their shape.
    /// - `level`: between 0 and 1.
    /// - `with_bias`: whether what the penalty bends away counts, beside the noise that l (see `shares`) carries. Then the
    ///   band holds the curve with probability `level` averaged over the sweep, not place by place (Wahba, J. R. Stat.
    ///   Soc. B 45 (1983) 133); without, 1 to 5 % less often (docs/smoothing.md).
    ///
    /// Of a sweep stepped in current: the currents at which such a band of V(I) holds the voltage, with all that the
    /// neighbours allow between readings far apart.
    ///
    /// Gains and offsets of the noise and the sweep's effects of one source count beside it. σ is as stated, or as the
    /// scatter shows it (Student's t). Raises `InputError` for other kinds, a voltage outside
    /// the sweep, a level that is none, and where no degrees of freedom are left.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> low, high = sweep.interpolate("smoothing").band(0.4)
    /// >>> bool(low < cell.current(0.4) < high), f"{1e6 * (high - low):.0f} µA wide"
    /// (True, '131 µA wide')
    /// ```
    #[pyo3(signature = (voltage_v, level=0.95, *, with_bias=true))]
    fn band<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = named::level)] level: f64,
        #[pyo3(from_py_with = named::with_bias)] with_bias: bool,
    ) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let smooth = self.0.smooth_or(voltage_v.py(), "band: it takes the readings for the curve")?;
        let [low, high] = map_all("voltage_v", voltage_v, |v| {
            let band = if with_bias { smooth.band_with_bias(v, level) } else { smooth.band(v, level) };
            let band = band.map_err(|e| e.to_string())?;
            let end = |pick: fn(&Interval) -> Option<f64>| {
                let one = |i: &Interval| pick(i).ok_or_else(|| i.note().unwrap_or_default());
                band.iter().map(one).collect::<Result<Vec<f64>, String>>()
            };
            Ok::<_, String>([end(|i| i.low)?, end(|i| i.high)?])
        })?;
        Ok((low, high))
    }

    /// For a smoothing: the standard uncertainty of the current in A at `voltage_v` in V within the sweep.
    ///
    /// It carries the noise and what moves all readings together, not what the penalty bends away (see `band`), and has the degrees of freedom of `scatter`
    /// where the noise is not stated. Errors as in `band`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
    /// >>> [f"{1e6 * u:.1f} µA" for u in curve.u_current([0.0, 0.4, 0.56])]
    /// ['14.4 µA', '24.2 µA', '24.3 µA']
    /// ```
    fn u_current<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.uncertainties(voltage_v, |smooth, v| smooth.current(v))
    }

    /// For a smoothing: the standard uncertainty of the slope dI/dV in S at `voltage_v` in V, as `u_current`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
    /// >>> f"{1e3 * curve.slope(0.2):.2f} ± {1e3 * curve.u_slope(0.2):.2f} mS"
    /// '-1.65 ± 0.45 mS'
    /// ```
    fn u_slope<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        self.uncertainties(voltage_v, |smooth, v| smooth.slope(v))
    }

    /// For a smoothing: what the reading at each of `points` contributes to the current (a pure number) and to the
    /// slope (1/V) at one voltage, `voltage_v` in V: the row of the smoother, two arrays. Of a sweep stepped in current the voltages
    /// read contribute, in S and S/V. Errors as in `band`.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> curve = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1).interpolate("smoothing")
    /// >>> to_current, to_slope = curve.shares(0.4)
    /// >>> round(float(to_current.sum()), 6), abs(float(to_slope.sum())) < 1e-9
    /// (1.0, True)
    /// >>> float(curve.points["voltage_v"][to_current.argmax()].round(3))
    /// 0.4
    /// ```
    fn shares<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = named::voltage_v)] voltage_v: f64,
    ) -> PyResult<Row<'py>> {
        let row = self.0.smooth_or(py, "row")?.row(voltage_v).map_err(|e| input(py, e))?;
        Ok((PyArray1::from_vec(py, row.current), PyArray1::from_vec(py, row.slope)))
    }

    /// For a shape-constrained curve: whether the readings speak against the falling, concave shape, a `ShapeTest`.
    ///
    /// ```text
    /// T = χ²(shape) − χ²(smooth), over χ²(smooth) where the noise is not stated        p = (1 + number of T* ≥ T)/(1 + draws)
    /// ```
    ///
    /// `level`: the probability, 0 to 1, with which readings of that shape pass. T* are drawn by up to 199 fits to the
    /// fitted shape with fresh noise, always from the same seed (Efron, Tibshirani, An Introduction to the Bootstrap
    /// (1993), ch. 16); drawing stops when it cannot change the verdict. Raises `InputError` for other kinds, a level
    /// that is none, and too few readings.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> voltage_v = [0.0, 0.1, 0.2, 0.3, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65]
    /// >>> current_a = [10.0, 9.9, 9.7, 8.9, 6.5, 4.9, 3.6, 2.7, 1.7, 0.3]  # invented, in mA: an S-shape
    /// >>> sweep = ld.Sweep(voltage_v, [1e-3 * i for i in current_a], noise=ld.Noise(current_a=5e-5))
    /// >>> test = sweep.interpolate("shape_constrained").shape_test()
    /// >>> test.fits, test.p < 0.05
    /// (False, True)
    /// ```
    #[pyo3(signature = (level=0.95))]
    fn shape_test(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::level)] level: f64,
    ) -> PyResult<ShapeTest> {
        let Drawn::ShapeConstrained(shape) = &self.0.drawn else {
            let kind = self.kind();
            let cure = "use sweep.interpolate(\"shape_constrained\")";
            return Err(input(
                py,
                format!("an interpolant of kind {kind:?} imposes no shape to test; {cure}"),
            ));
        };
        interruptible(py, || shape.fits_the_shape(level))?.map(ShapeTest).map_err(|e| input(py, e))
    }

    fn __repr__(&self) -> String {
        format!("Interpolant({})", self.0.described())
    }
}

impl Interpolant {
    fn uncertainties<'py>(
        &self,
        voltage_v: &Bound<'py, PyAny>,
        f: impl Fn(&core::Smooth, &[f64]) -> Result<Vec<litdiode::estimate::Estimate>, InterpolantError> + Sync,
    ) -> PyResult<Bound<'py, PyAny>> {
        let smooth = self.0.smooth_or(voltage_v.py(), "uncertainty: it takes the readings for the curve")?;
        let [made] = map_all("voltage_v", voltage_v, |v| {
            let found = f(smooth, v).map_err(|e| e.to_string())?;
            let one = |e: litdiode::estimate::Estimate| e.u.ok_or_else(|| e.note().unwrap_or_default());
            found.into_iter().map(one).collect::<Result<Vec<f64>, String>>().map(|u| [u])
        })?;
        Ok(made)
    }
}

#[pymethods]
impl Sweep {
    /// The curve of a `kind` through the readings (or near them), an `Interpolant`:
    ///
    /// - "linear": straight lines from point to point;
    /// - "monotone_cubic": a cubic that rises where the points rise and falls where they fall (Fritsch, Carlson, SIAM
    ///   J. Numer. Anal. 17 (1980) 238);
    /// - "natural_cubic": the curve through the points of the least ∫ (d²I/dV²)² dV;
    /// - "smoothing": minimises Σ w(I − s(V))² + λ·∫ ρ(V)·(d²s/dV²)² dV (Reinsch, Numer. Math. 10 (1967) 177), with a
    ///   band; ρ is small where a pilot of the curve bends, 1 throughout where λ is given (Abramovich, Steinberg, J.
    ///   Stat. Plan. Inference 49 (1996) 327; from memory).
    ///   Where the current was set it is V(I) that is smoothed, w = 1/σ² of the voltages, and I(V) its inverse, kept
    ///   falling; between readings far apart the band holds all that the neighbours allow a falling curve of one bend.
    ///   docs/smoothing.md says how far it can be believed;
    /// - "shape_constrained": the falling, concave curve nearest to the readings; ask its `shape_test` first.
    ///
    /// `penalty` of a smoothing: "cross_validation" (if not said; generalised: Craven, Wahba, Numer. Math. 31 (1979)
    /// 377, a degree of freedom counted 1.2-fold, with 0.3 of the restricted likelihood in ln λ), "stated_noise" (χ² = N − effective degrees of freedom), or λ itself, 0 or more, in V³/A² where the sweep
    /// states its noise, else in V³ (A³/V² and A³ where the current was set). The last two kinds weigh each reading by the stated noise. Readings at one voltage
    /// count as their mean. Raises `InputError` for an unknown kind or penalty, a penalty of another kind,
    /// "stated_noise" of a sweep that states none or that no curve comes near.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
    /// >>> curve = sweep.interpolate("smoothing", penalty="cross_validation")
    /// >>> curve.penalty_chosen_by, f"{1e3 * curve.current(0.45):.2f} mA", f"{1e3 * cell.current(0.45):.2f} mA"
    /// ('cross_validation', '28.39 mA', '28.40 mA')
    /// ```
    #[pyo3(signature = (kind, *, penalty=None))]
    fn interpolate(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = named::kind)] kind: &str,
        penalty: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Interpolant> {
        let kind = choice(py, "kind", kind, &KINDS)?;
        let penalty = interpolant_kind::penalty(kind, penalty)?;
        let drawn = interruptible(py, || draw_curve(&self.0, kind, penalty))?.map_err(|e| input(py, e))?;
        Ok(Interpolant(Drawing { sweep: self.0.clone(), drawn }))
    }
}
