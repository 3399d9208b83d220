//! `SingleDiode` and `DoubleDiode`.

use crate::arguments::{choice, count, named, threads_of};
use crate::device_parameters::{Shown, parameters};
use crate::elementwise::at_each;
use crate::error::input;
use crate::getters::getters;
use crate::json::plain;
use crate::key_points::KeyPoints;
use litdiode::diode as core;
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

const SATURATION_LAWS: [(&str, core::SaturationLaw); 2] =
    [("ideality", core::SaturationLaw::Ideality), ("intrinsic", core::SaturationLaw::Intrinsic)];

/// A class of one device: what its docstring says beside the parameters that both share, and its own properties.
macro_rules! device_class {
    ($class:ident, $core:ty, { $(#[$head:meta])* } { $(#[$diodes:meta])* } { $(#[$tail:meta])* }) => {
        $(#[$head])*
        /// - `iph_a`: light-generated current in A, 0 (in the dark) to 1e9.
        $(#[$diodes])*
        /// - `rs_ohm`: series resistance in Ω, 0 to 1e12.
        /// - `rsh_ohm`: shunt resistance in Ω, 1e-12 up to `float("inf")`, which is none.
        /// - `cells`: cells in series, a whole number, 1 unless given.
        /// - `temperature_c`: temperature in °C, −272.15 to 3000, 25 unless given.
        $(#[$tail])*
        #[pyclass(frozen, module = "litdiode", from_py_object)]
        #[derive(Clone)]
        pub struct $class(pub $core);

        plain!($class);
    };
}

device_class!(
    SingleDiode,
    core::SingleDiode,
    {
        /// One diode with light, shunt and series resistance; many such devices where a parameter is an array.
        ///
        /// ```text
        /// I = Iph − I0·(exp((V + I·Rs)/a) − 1) − (V + I·Rs)/Rsh        a = n·cells·k·T/q
        /// ```
        ///
    }
    {
        /// - `i0_a`: saturation current in A, 1e-300 to 1e6.
        /// - `n`: ideality factor of one cell, 0.01 to 1000.
    }
    {
        ///
        /// Numbers make a `SingleDiode`. An array among them makes a `SingleDiodes`: the parameters broadcast. k and q are the
        /// exact constants of the SI of 2019. Raises `InputError` naming the parameter, its place in an array, the value and
        /// its limits.
        ///
        /// ```python
        /// >>> import litdiode as ld
        /// >>> cell = ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)  # invented
        /// >>> round(cell.current(0.5), 4)
        /// 0.0322
        /// >>> cell.current([0.0, 0.5]).round(4).tolist()
        /// [0.035, 0.0322]
        /// ```
    }
);

device_class!(
    DoubleDiode,
    core::DoubleDiode,
    {
        /// Two diodes in parallel with light, shunt and series resistance; many such devices where a parameter is an array.
        ///
        /// ```text
        /// I = Iph − Σk I0k·(exp((V + I·Rs)/ak) − 1) − (V + I·Rs)/Rsh        ak = nk·cells·k·T/q,  k = 1, 2
        /// ```
        ///
    }
    {
        /// - `i01_a`, `i02_a`: saturation currents in A, 1e-300 to 1e6.
        /// - `n1`, `n2`: ideality factors of one cell, 0.01 to 1000; often 1 and 2.
    }
    {
        ///
        /// Numbers make a `DoubleDiode`, an array among them a `DoubleDiodes`; errors as in `SingleDiode`.
        ///
        /// ```python
        /// >>> import litdiode as ld
        /// >>> cell = ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)  # invented
        /// >>> round(cell.key_points().voc.value, 4)
        /// 0.6219
        /// ```
    }
);

parameters!(SingleDiode: [i0_a, n, 0, ""]);
parameters!(DoubleDiode: [i01_a, n1, 0, " of the first diode"], [i02_a, n2, 1, " of the second diode"]);

#[pymethods]
impl SingleDiode {
    fn __repr__(&self) -> String {
        let p = self.0.parameters();
        format!(
            "SingleDiode(iph_a={}, i0_a={:e}, n={}, rs_ohm={}, rsh_ohm={}, cells={}, temperature_c={})",
            p.iph_a, p.i0_a[0], p.n[0], p.rs_ohm, p.rsh_ohm, p.cells, p.temperature_c
        )
    }
}

#[pymethods]
impl DoubleDiode {
    fn __repr__(&self) -> String {
        let p = self.0.parameters();
        format!(
            "DoubleDiode(iph_a={}, i01_a={:e}, n1={}, i02_a={:e}, n2={}, rs_ohm={}, rsh_ohm={}, cells={}, temperature_c={})",
            p.iph_a, p.i0_a[0], p.n[0], p.i0_a[1], p.n[1], p.rs_ohm, p.rsh_ohm, p.cells, p.temperature_c
        )
    }
}

/// What both models do.
macro_rules! device {
    ($class:ident, $i0:expr, $n:expr, $made:literal, {
        $current:literal $voltage:literal $power:literal $slope:literal $gradient:literal $curve:literal $at:literal
    }) => {
        #[pymethods]
        impl $class {
            /// I in A at `voltage_v` in V: a number for a number, an array of the same shape for anything array-like.
            ///
            /// `threads`: how many work on it, 1 unless given, None for all there are. A current beyond the range of a
            /// double is infinite. Raises `InputError` for a voltage that is not finite.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> cell.current([0.0, 0.5, 0.7]).round(4).tolist()
            #[doc = $current]
            /// ```
            #[pyo3(signature = (voltage_v, *, threads=Some(1)), text_signature = "($self, voltage_v, *, threads=1)")]
            fn current<'py>(
                &self,
                voltage_v: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                let threads = threads_of(voltage_v.py(), threads)?;
                at_each("voltage_v", voltage_v, |v, out| self.0.current_on(v, threads, out))
            }

            /// V in V at `current_a` in A, shapes and `threads` as in `current`.
            ///
            /// −inf where no finite voltage carries the current: Rsh infinite and I ≥ Iph plus the saturation currents.
            /// Raises `InputError` for a current that is not finite.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> cell.voltage([0.035, 0.02, 0.0]).round(4).tolist()
            #[doc = $voltage]
            /// ```
            #[pyo3(signature = (current_a, *, threads=Some(1)), text_signature = "($self, current_a, *, threads=1)")]
            fn voltage<'py>(
                &self,
                current_a: &Bound<'py, PyAny>,
                #[pyo3(from_py_with = named::threads)] threads: Option<i64>,
            ) -> PyResult<Bound<'py, PyAny>> {
                let threads = threads_of(current_a.py(), threads)?;
                at_each("current_a", current_a, |i, out| self.0.voltage_on(i, threads, out))
            }

            /// P = V·I in W, delivered, at `voltage_v` in V; shapes and errors as in `current`.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> f"{1e3 * cell.power(0.5):.2f} mW"
            #[doc = $power]
            /// ```
            fn power<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                at_each("voltage_v", voltage_v, |v, out| self.0.power(v, out))
            }

            /// dI/dV in S at `voltage_v` in V, below 0; shapes and errors as in `current`. The dynamic resistance is
            /// −1/(dI/dV).
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> f"{-1 / cell.slope(0.0):.0f} Ω at Isc, {-1 / cell.slope(cell.voltage(0.0)):.2f} Ω at Voc"
            #[doc = $slope]
            /// ```
            fn slope<'py>(&self, voltage_v: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
                at_each("voltage_v", voltage_v, |v, out| self.0.slope(v, out))
            }

            /// Derivatives of I at one voltage, `voltage_v` in V: a dictionary of numbers in SI units.
            ///
            /// Keys: `voltage` (dI/dV) and the parameters as fits name them: `iph i0 n rs rsh`, or `iph i01 n1 i02 n2
            /// rs rsh`. Raises `InputError` for a voltage that is not finite.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> slopes = cell.gradient(0.5)
            /// >>> {name: f"{slopes[name]:.3g}" for name in ("voltage", "iph", "rs", "rsh")}
            #[doc = $gradient]
            /// ```
            fn gradient<'py>(&self, py: Python<'py>, #[pyo3(from_py_with = named::voltage_v)] voltage_v: f64) -> PyResult<Bound<'py, PyDict>> {
                let g = self.0.gradient(voltage_v).map_err(|e| input(py, e))?;
                let found = PyDict::new(py);
                found.set_item("voltage", g.voltage)?;
                found.set_item("iph", g.iph)?;
                for (k, (i0, n)) in $i0.iter().zip($n).enumerate() {
                    found.set_item(*i0, g.i0[k])?;
                    found.set_item(n, g.n[k])?;
                }
                found.set_item("rs", g.rs)?;
                found.set_item("rsh", g.rsh)?;
                Ok(found)
            }

            /// Isc, Voc, the point of maximum power and FF of the model, as `KeyPoints`: exact for the parameters, so
            /// without ±.
            ///
            /// In the dark (Iph = 0) all are 0, and FF is absent with the reason.
            fn key_points(&self) -> KeyPoints {
                self.0.key_points().into()
            }

            /// The model at another irradiance G and temperature T; n, Rs and cells stay.
            ///
            /// ```text
            /// Iph = Iph₀·(1 + isc_per_k·(T − T₀))·G/G₀      Rsh = Rsh₀·G₀/G on request
            /// I0 = I0₀·(T/T₀)^(3/n)·exp((T/T₀ − 1)·Eg/(n·kT/q))      each diode with its own n
            /// ```
            ///
            /// Voc then falls by (Eg/q + 3kT/q − Voc)/T, about 2 mV/K in silicon, at any n.
            ///
            /// - `irradiance_w_m2`: G in W/m², 0 (dark) to 1e8; G₀ unless given.
            /// - `temperature_c`: T in °C; that of the model, T₀, unless given.
            /// - `reference_irradiance_w_m2`: G₀ in W/m², at which the parameters hold; 1000 unless given.
            /// - `isc_per_k`: relative change of the photocurrent per kelvin, −0.1 to 0.1; 0 unless given.
            /// - `gap_ev`: band gap Eg in eV, 0 to 10; 1.12, silicon, unless given.
            /// - `shunt_follows_light`: whether Rsh is proportional to 1/G, as in thin films (common practice).
            /// - `saturation_law`: "ideality" (unless given) as above, or "intrinsic": I0 = I0₀·(T/T₀)³·exp(Eg/k·(1/T₀ −
            ///   1/T)), the intrinsic carrier density squared, whatever n; the same at n = 1, at n = 2 Voc falls by 6 mV/K.
            ///
            /// Raises `InputError` for a value outside its limits, also of a parameter that leaves its own. Sources: L. W.
            /// Nagel, SPICE2, ERL-M520, University of California, Berkeley (1975); for "intrinsic" S. M. Sze, Physics of
            /// Semiconductor Devices, chapter 1; both from memory.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> hot = cell.at(irradiance_w_m2=500, temperature_c=60)
            /// >>> f"{cell.key_points().voc.value:.4f} V, {hot.key_points().voc.value:.4f} V, {hot.iph_a:.4f} A"
            #[doc = $at]
            /// ```
            #[pyo3(signature = (irradiance_w_m2=None, temperature_c=None, *, reference_irradiance_w_m2=1000.0,
                                                isc_per_k=0.0, gap_ev=1.12, shunt_follows_light=false,
                                                saturation_law="ideality"))]
            #[allow(clippy::too_many_arguments)]
            fn at(
                &self,
                py: Python<'_>,
                #[pyo3(from_py_with = named::irradiance_w_m2)] irradiance_w_m2: Option<f64>,
                #[pyo3(from_py_with = named::temperature_c)] temperature_c: Option<f64>,
                #[pyo3(from_py_with = named::reference_irradiance_w_m2)] reference_irradiance_w_m2: f64,
                #[pyo3(from_py_with = named::isc_per_k)] isc_per_k: f64,
                #[pyo3(from_py_with = named::gap_ev)] gap_ev: f64,
                #[pyo3(from_py_with = named::shunt_follows_light)] shunt_follows_light: bool,
                #[pyo3(from_py_with = named::saturation_law)] saturation_law: &str,
            ) -> PyResult<Self> {
                let condition = core::Condition::default()
                    .saturation_law(choice(py, "saturation_law", saturation_law, &SATURATION_LAWS)?)
                    .irradiance_w_m2(irradiance_w_m2)
                    .temperature_c(temperature_c)
                    .reference_irradiance_w_m2(reference_irradiance_w_m2)
                    .isc_per_k(isc_per_k)
                    .gap_ev(gap_ev)
                    .shunt_follows_light(shunt_follows_light);
                self.0.at(&condition).map(Self).map_err(|e| input(py, e))
            }

            /// (voltage_v, current_a) in V and A for a plot: two arrays of `points` numbers (2 or more), dense at the
            /// knee.
            ///
            /// From V = 0 to Voc under light; in the dark over −5 to 25 thermal voltages of the junction.
            ///
            /// ```python
            /// >>> import litdiode as ld
            #[doc = concat!(">>> cell = ", $made, "  # invented")]
            /// >>> voltage_v, current_a = cell.curve(points=5)
            /// >>> voltage_v.round(3).tolist()
            #[doc = $curve]
            /// ```
            #[pyo3(signature = (points=200))]
            #[allow(clippy::type_complexity)]
            fn curve<'py>(
                &self,
                py: Python<'py>,
                #[pyo3(from_py_with = named::points)] points: i128,
            ) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>)> {
                let points = count(py, "points", points, 2)?;
                let (v, i) = py.detach(|| self.0.curve(points));
                Ok((PyArray1::from_vec(py, v), PyArray1::from_vec(py, i)))
            }
        }
    };
}

device!(SingleDiode, ["i0"], ["n"], "ld.SingleDiode(iph_a=0.035, i0_a=1e-9, n=1.4, rs_ohm=0.8, rsh_ohm=900)", {
    "[0.035, 0.0322, -0.0529]"
    "[-0.028, 0.5767, 0.6241]"
    "'16.09 mW'"
    "'901 Ω at Isc, 1.85 Ω at Voc'"
    "{'voltage': '-0.06', 'iph': '0.952', 'rs': '-0.00193', 'rsh': '6.18e-07'}"
    "[0.0, 0.43, 0.498, 0.559, 0.624]"
    "'0.6241 V, 0.5279 V, 0.0175 A'"
});
device!(DoubleDiode, ["i01", "i02"], ["n1", "n2"], "ld.DoubleDiode(iph_a=0.035, i01_a=1e-12, n1=1, i02_a=1e-8, n2=2, rs_ohm=0.8, rsh_ohm=900)", {
    "[0.035, 0.0333, -0.0634]"
    "[-0.028, 0.5827, 0.6219]"
    "'16.67 mW'"
    "'901 Ω at Isc, 1.57 Ω at Voc'"
    "{'voltage': '-0.0366', 'iph': '0.971', 'rs': '-0.00122', 'rsh': '6.31e-07'}"
    "[0.0, 0.455, 0.514, 0.565, 0.622]"
    "'0.6219 V, 0.5329 V, 0.0175 A'"
});
