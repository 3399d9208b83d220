//! `Procedure1`, `Procedure2`, `TemperatureCoefficients`: the parameters of a translation.

use crate::arguments::named;
use crate::error::input;
use crate::estimate::{Estimate, quantity, render};
use crate::interrupt::interruptible;
use crate::json::plain;
use crate::sweep::{Sweep, sweeps};
use litdiode::estimate::Unit;
use litdiode::translate::{self as core, Range};
use pyo3::prelude::*;

/// Parameters of procedure 1 of IEC 60891, which adds to the currents; for `Sweep.translate`.
///
/// ```text
/// I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT        V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT        ΔT = T2 − T1
/// ```
///
/// - `alpha_a_per_k`: α, change of Isc with temperature in A/K, at the irradiance of the target.
/// - `beta_v_per_k`: β, change of Voc with temperature in V/K.
/// - `rs_ohm`: series resistance Rs in Ω.
/// - `kappa_ohm_per_k`: curve correction factor κ in Ω/K.
/// - `irradiance_range_w_m2`, `temperature_range_c`: (low, high) in which the parameters were found, in W/m² and °C; no
///   limits unless given. A translation beyond them says so in `Translated.warnings`.
///
/// Each is a number, which has no uncertainty, or an `Estimate` in that unit. Raises `InputError` for another unit, a
/// number that is not finite, and a range in the wrong order. Source: IEC 60891:2009, clause 3.2 (from memory).
///
/// ```python
/// >>> import litdiode as ld
/// >>> with_ = ld.Procedure1(alpha_a_per_k=1.5e-5, beta_v_per_k=-0.0021, rs_ohm=0.4, kappa_ohm_per_k=0.002)  # invented
/// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041], irradiance_w_m2=900)
/// >>> sweep.translate(with_, irradiance_w_m2=1000).sweep.irradiance_w_m2.value
/// 1000.0
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Procedure1(pub core::Procedure1);

plain!(Procedure1);

/// Parameters of procedure 2 of IEC 60891, which multiplies the currents; for `Sweep.translate`.
///
/// ```text
/// I2 = I1·(1 + α_rel·ΔT)·G2/G1                                                            ΔT = T2 − T1
/// V2 = V1 + Voc1·(β_rel·ΔT + a·ln(G2/G1)) − R′s·(I2 − I1) − κ′·I2·ΔT
/// ```
///
/// - `alpha_rel_per_k`: α_rel in 1/K, relative to Isc of the sweep that is translated.
/// - `beta_rel_per_k`: β_rel in 1/K, relative to its Voc.
/// - `a`: irradiance factor a, a pure number: dVoc/d(ln G) over its Voc.
/// - `rs_ohm`: R′s in Ω.
/// - `kappa_ohm_per_k`: κ′ in Ω/K.
/// - `irradiance_range_w_m2`, `temperature_range_c`: (low, high) in which the parameters were found, in W/m² and °C; no
///   limits unless given. A translation beyond them says so in `Translated.warnings`.
///
/// Each is a number, which has no uncertainty, or an `Estimate` in that unit; errors as in `Procedure1`. Source: IEC
/// 60891:2009, clause 3.3 (from memory).
///
/// ```python
/// >>> import litdiode as ld
/// >>> rules = ld.Procedure2(alpha_rel_per_k=5e-4, beta_rel_per_k=-0.0033, a=0.06, rs_ohm=0.4, kappa_ohm_per_k=2e-3)
/// >>> voltage_v, current_a = [-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]  # invented
/// >>> sweep = ld.Sweep(voltage_v, current_a, irradiance_w_m2=900)
/// >>> there = sweep.translate(rules, irradiance_w_m2=1000)
/// >>> there.procedure, there.sweep.current_a.round(4).tolist()
/// (2, [0.0333, 0.0333, 0.0311, 0.0189, -0.0456])
/// ```
#[pyclass(frozen, module = "litdiode", from_py_object)]
#[derive(Clone)]
pub struct Procedure2(pub core::Procedure2);

plain!(Procedure2);

/// α = dIsc/dT and β = dVoc/dT of one device, from `temperature_coefficients`.
///
/// Absolute (`alpha`, `beta`) and as shares of Isc and Voc at the reference temperature (`alpha_rel`, `beta_rel`), each
/// an `Estimate`, with the irradiances and temperatures in which they were found.
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> def at(irradiance_w_m2, temperature_c):
/// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
/// ...     voltage_v, current_a = model.curve(points=30)
/// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
/// >>> found = ld.temperature_coefficients([at(1000, 25), at(1000, 35), at(1000, 45)])
/// >>> f"α {1e6 * found.alpha.value:.1f} µA/K, β {100 * found.beta_rel.value:.2f} %/K"
/// 'α 15.0 µA/K, β -0.36 %/K'
/// >>> found.temperature_range_c
/// (25.0, 45.0)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct TemperatureCoefficients(pub core::TemperatureCoefficients);

plain!(TemperatureCoefficients);

type Limits = Option<(f64, f64)>;

fn range(irradiance_w_m2: Limits, temperature_c: Limits) -> Range {
    Range {
        irradiance_w_m2: irradiance_w_m2.unwrap_or(Range::UNLIMITED.irradiance_w_m2),
        temperature_c: temperature_c.unwrap_or(Range::UNLIMITED.temperature_c),
    }
}

/// What both procedures have beside their constructors; `$name` are their parameters, `$symbol` as they are written.
macro_rules! procedure {
    ($class:ident, $($(#[$doc:meta])* $name:ident $symbol:literal),* $(,)?) => {
        #[pymethods]
        impl $class {
            $(
                $(#[$doc])*
                #[getter]
                fn $name(&self) -> Estimate {
                    Estimate(self.0.$name.clone())
                }
            )*

            /// Irradiances (low, high) in W/m² in which the parameters were found.
            #[getter]
            fn irradiance_range_w_m2(&self) -> (f64, f64) {
                self.0.range.irradiance_w_m2
            }

            /// Temperatures (low, high) in °C in which the parameters were found.
            #[getter]
            fn temperature_range_c(&self) -> (f64, f64) {
                self.0.range.temperature_c
            }

            fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
                let mut text = String::from(concat!(stringify!($class), "\n"));
                $(text += &line(py, $symbol, &self.0.$name)?;)*
                Ok(text + &limits(&self.0.range))
            }
        }
    };
}

procedure!(
    Procedure1,
    /// α, change of Isc with temperature, in A/K.
    alpha "α",
    /// β, change of Voc with temperature, in V/K.
    beta "β",
    /// Series resistance Rs in Ω.
    rs "Rs",
    /// Curve correction factor κ in Ω/K.
    kappa "κ",
);
procedure!(
    Procedure2,
    /// Relative change of Isc with temperature, in 1/K.
    alpha_rel "α_rel",
    /// Relative change of Voc with temperature, in 1/K.
    beta_rel "β_rel",
    /// Irradiance factor a, a pure number.
    a "a",
    /// Series resistance R′s in Ω.
    rs "R′s",
    /// Curve correction factor κ′ in Ω/K.
    kappa "κ′",
);
procedure!(
    TemperatureCoefficients,
    /// dIsc/dT in A/K.
    alpha "α",
    /// dVoc/dT in V/K.
    beta "β",
    /// α over Isc at the reference temperature, in 1/K.
    alpha_rel "α_rel",
    /// β over Voc at the reference temperature, in 1/K.
    beta_rel "β_rel",
);

fn line(py: Python<'_>, symbol: &str, e: &litdiode::estimate::Estimate) -> PyResult<String> {
    let note = e.note().map_or(String::new(), |n| format!("  ({n})"));
    Ok(format!("  {symbol:<6}{}{note}\n", render(py, e)?))
}

fn limits(range: &Range) -> String {
    if *range == Range::UNLIMITED {
        return "  no range stated".into();
    }
    let ((g1, g2), (t1, t2)) = (range.irradiance_w_m2, range.temperature_c);
    format!("  found from {g1} to {g2} W/m², {t1} to {t2} °C")
}

#[pymethods]
impl Procedure1 {
    #[new]
    #[pyo3(signature = (*, alpha_a_per_k, beta_v_per_k, rs_ohm, kappa_ohm_per_k, irradiance_range_w_m2=None,
        temperature_range_c=None))]
    fn new(
        py: Python<'_>,
        alpha_a_per_k: &Bound<'_, PyAny>,
        beta_v_per_k: &Bound<'_, PyAny>,
        rs_ohm: &Bound<'_, PyAny>,
        kappa_ohm_per_k: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = named::irradiance_range_w_m2)] irradiance_range_w_m2: Limits,
        #[pyo3(from_py_with = named::temperature_range_c)] temperature_range_c: Limits,
    ) -> PyResult<Self> {
        let made = core::Procedure1 {
            alpha: quantity("alpha_a_per_k", alpha_a_per_k, Unit::AmperePerKelvin)?,
            beta: quantity("beta_v_per_k", beta_v_per_k, Unit::VoltPerKelvin)?,
            rs: quantity("rs_ohm", rs_ohm, Unit::Ohm)?,
            kappa: quantity("kappa_ohm_per_k", kappa_ohm_per_k, Unit::OhmPerKelvin)?,
            range: range(irradiance_range_w_m2, temperature_range_c),
        };
        made.validate().map_err(|e| input(py, e))?;
        Ok(Self(made))
    }

    /// All parameters of procedure 1 from two sets of sweeps of one device: a `Procedure1` with its ranges.
    ///
    /// - `at_irradiances`: a list of `Sweep`s at several irradiances and one temperature (within 4 K); they give Rs.
    /// - `at_temperatures`: sweeps at several temperatures and one irradiance (within 4 %), that of the target; they
    ///   give α, β, κ.
    ///
    /// The ± are the scatter about straight lines, N − 2 degrees of freedom; two conditions give none. Raises
    /// `InputError` for sets that hold fewer than two conditions or mix them, and sweeps without irradiance, Isc or
    /// Voc.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> def at(irradiance_w_m2, temperature_c):
    /// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    /// ...     voltage_v, current_a = model.curve(points=30)
    /// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    /// >>> light, heat = [at(700, 25), at(850, 25), at(1000, 25)], [at(1000, 25), at(1000, 35), at(1000, 45)]
    /// >>> found = ld.Procedure1.from_sweeps(at_irradiances=light, at_temperatures=heat)
    /// >>> f"Rs {found.rs.value:.2f} Ω, β {1e3 * found.beta.value:.2f} mV/K"
    /// 'Rs 0.49 Ω, β -2.08 mV/K'
    /// >>> found.irradiance_range_w_m2, found.temperature_range_c
    /// ((700.0, 1000.0), (25.0, 45.0))
    /// ```
    #[staticmethod]
    #[pyo3(signature = (*, at_irradiances, at_temperatures))]
    fn from_sweeps(
        py: Python<'_>,
        at_irradiances: &Bound<'_, PyAny>,
        at_temperatures: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let light = sweeps("at_irradiances", at_irradiances)?;
        let warmth = sweeps("at_temperatures", at_temperatures)?;
        interruptible(py, || core::Procedure1::from_sweeps(&light, &warmth))?
            .map(Self)
            .map_err(|e| input(py, e))
    }
}

#[pymethods]
impl Procedure2 {
    #[new]
    #[pyo3(signature = (*, alpha_rel_per_k, beta_rel_per_k, a, rs_ohm, kappa_ohm_per_k, irradiance_range_w_m2=None,
        temperature_range_c=None))]
    #[allow(clippy::too_many_arguments)]
    fn new(
        py: Python<'_>,
        alpha_rel_per_k: &Bound<'_, PyAny>,
        beta_rel_per_k: &Bound<'_, PyAny>,
        a: &Bound<'_, PyAny>,
        rs_ohm: &Bound<'_, PyAny>,
        kappa_ohm_per_k: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = named::irradiance_range_w_m2)] irradiance_range_w_m2: Limits,
        #[pyo3(from_py_with = named::temperature_range_c)] temperature_range_c: Limits,
    ) -> PyResult<Self> {
        let made = core::Procedure2 {
            alpha_rel: quantity("alpha_rel_per_k", alpha_rel_per_k, Unit::PerKelvin)?,
            beta_rel: quantity("beta_rel_per_k", beta_rel_per_k, Unit::PerKelvin)?,
            a: quantity("a", a, Unit::One)?,
            rs: quantity("rs_ohm", rs_ohm, Unit::Ohm)?,
            kappa: quantity("kappa_ohm_per_k", kappa_ohm_per_k, Unit::OhmPerKelvin)?,
            range: range(irradiance_range_w_m2, temperature_range_c),
        };
        made.validate().map_err(|e| input(py, e))?;
        Ok(Self(made))
    }

    /// All parameters of procedure 2 from two sets of sweeps of one device: a `Procedure2` with its ranges.
    ///
    /// - `at_irradiances`: a list of `Sweep`s at several irradiances and one temperature (within 4 K); they give R′s
    ///   and a.
    /// - `at_temperatures`: sweeps at several temperatures and one irradiance (within 4 %); they give α_rel, β_rel and
    ///   κ′.
    /// - `start`: the `Sweep` that will be translated, or one of its condition, to which α_rel, β_rel and a refer.
    ///
    /// ± and errors as in `Procedure1.from_sweeps`; `start` needs an irradiance.
    ///
    /// ```python
    /// >>> import litdiode as ld
    /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
    /// >>> def at(irradiance_w_m2, temperature_c):
    /// ...     model = cell.at(irradiance_w_m2, temperature_c, isc_per_k=5e-4)
    /// ...     voltage_v, current_a = model.curve(points=30)
    /// ...     return ld.Sweep(voltage_v, current_a, irradiance_w_m2=irradiance_w_m2, temperature_c=temperature_c)
    /// >>> light, heat = [at(700, 25), at(850, 25), at(1000, 25)], [at(1000, 25), at(1000, 35), at(1000, 45)]
    /// >>> found = ld.Procedure2.from_sweeps(at_irradiances=light, at_temperatures=heat, start=light[1])
    /// >>> f"R′s {found.rs.value:.2f} Ω, a {found.a.value:.4f}, β {100 * found.beta_rel.value:.3f} %/K"
    /// 'R′s 0.16 Ω, a 0.0602, β -0.362 %/K'
    /// ```
    #[staticmethod]
    #[pyo3(signature = (*, at_irradiances, at_temperatures, start))]
    fn from_sweeps(
        py: Python<'_>,
        at_irradiances: &Bound<'_, PyAny>,
        at_temperatures: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = named::start)] start: Bound<'_, Sweep>,
    ) -> PyResult<Self> {
        let light = sweeps("at_irradiances", at_irradiances)?;
        let warmth = sweeps("at_temperatures", at_temperatures)?;
        let start = start.get();
        let made = interruptible(py, || core::Procedure2::from_sweeps(&light, &warmth, &start.0))?;
        made.map(Self).map_err(|e| input(py, e))
    }
}
