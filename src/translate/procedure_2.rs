//! IEC 60891:2009, procedure 2: currents are multiplied, voltages move by shares of Voc.
//!
//! ```text
//! I2 = I1·(1 + α_rel·(T2 − T1))·G2/G1
//! V2 = V1 + Voc1·(β_rel·(T2 − T1) + a·ln(G2/G1)) − R′s·(I2 − I1) − κ′·I2·(T2 − T1)
//! ```
//!
//! For a diode with series resistance whose Rsh is infinite or proportional to 1/G the translation in light
//! is exact, with R′s = Rs and a = n·cells·k·T/(q·Voc1).

use super::condition::{Measured, Range, Target, check};
use super::error::TranslateError;
use super::translated::{Points, Translated, change};
use crate::quantity::estimate::{Estimate, Unit};
use crate::sweep::{Noise, Sweep};
use std::fmt;

/// Parameters of procedure 2.
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::Procedure2;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let light = [at(700.0, 25.0)?, at(850.0, 25.0)?, at(1000.0, 25.0)?];
/// let heat = [at(1000.0, 25.0)?, at(1000.0, 35.0)?, at(1000.0, 45.0)?];
/// let found = Procedure2::from_sweeps(&light, &heat, &light[2])?;
/// assert!((found.alpha_rel.value - 5e-4).abs() < 1e-6);
/// assert!((found.a.value - 1.3 * 0.025692579 / 0.5743).abs() < 2e-3); // nearly n·VT/Voc
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Procedure2 {
    /// Relative change of Isc with temperature in 1/K, of Isc at the sweep's temperature.
    pub alpha_rel: Estimate,
    /// Relative change of Voc with temperature in 1/K, of the sweep's Voc.
    pub beta_rel: Estimate,
    /// Irradiance factor a, a pure number: dVoc/d(ln G) over the sweep's Voc.
    pub a: Estimate,
    /// Series resistance R′s in Ω.
    pub rs: Estimate,
    /// Curve correction factor κ′ in Ω/K.
    pub kappa: Estimate,
    /// Where they were found.
    pub range: Range,
}

/// `sweep` at the target condition by procedure 2.
///
/// Uncertain inputs: the parameters, the measured irradiance and Voc; the measured temperature counts as
/// exact. The scatter of the current is multiplied with it, and moves the voltage through R′s·(I2 − I1) and κ′·I2·ΔT.
///
/// # Errors
/// [`TranslateError`]: no irradiance, no Voc, a parameter or a target outside its domain or in another unit.
///
/// # Source
/// IEC 60891:2009, clause 3.3 (from memory).
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{Procedure2, Range, Target, procedure_2};
/// let exact = |value, unit| Estimate::new(value, 0.0, unit);
/// let with = Procedure2 {
///     alpha_rel: exact(5e-4, Unit::PerKelvin), beta_rel: exact(-3.3e-3, Unit::PerKelvin),
///     a: exact(0.06, Unit::One), rs: exact(0.4, Unit::Ohm), kappa: exact(2e-3, Unit::OhmPerKelvin),
///     range: Range::UNLIMITED,
/// }; // invented
/// let (v, i) = ([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]);
/// let lit = SweepOptions::default().irradiance_w_m2(Estimate::new(900.0, 9.0, Unit::WattPerM2));
/// let bright = Target { irradiance_w_m2: 1000.0, temperature_c: 25.0 };
/// let there = procedure_2(&Sweep::new(&v, &i, lit)?, &bright, &with)?;
/// assert!((there.sweep.current_a()[2] - 0.028 * 1000.0 / 900.0).abs() < 1e-12); // I2 = I1·G2/G1 at equal T
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn procedure_2(sweep: &Sweep, target: &Target, with: &Procedure2) -> Result<Translated, TranslateError> {
    target.validate()?;
    with.validate()?;
    let from = Measured::new(sweep, 0)?;
    let voc = from.figure("voc")?.clone();
    let (g1, warm) = (from.irradiance.value, target.temperature_c - from.temperature_c);
    let light = target.irradiance_w_m2 / g1;
    let factor = (1.0 + with.alpha_rel.value * warm) * light;
    if !(factor > 0.0 && factor.is_finite()) {
        let cure = "1 + alpha_rel·(T2 − T1) must stay above 0; give the change of Isc as a share per kelvin";
        return Err(TranslateError::Number { name: "alpha_rel", value: with.alpha_rel.value, cure });
    }
    let share = with.beta_rel.value * warm + with.a.value * light.ln();
    let (rs, bend) = (with.rs.value, with.kappa.value * warm);
    let i1 = sweep.current_a();
    let i2: Vec<f64> = i1.iter().map(|i| i * factor).collect();
    let voltage = |k: usize| sweep.voltage_v()[k] + voc.value * share - rs * (i2[k] - i1[k]) - bend * i2[k];
    let mut points = Points::new(i2.clone(), (0..i2.len()).map(voltage).collect());
    points.warnings = with.range.warnings(&from.condition(), target);
    let drop = rs * (factor - 1.0) + bend * factor;
    points.scatter(&from, |_, v, i| (v - drop * i, factor * i), Some(1), |_| (0.0, share));
    let through_current = |slope: f64| (slope, -(rs + bend) * slope);
    points.input("irradiance_w_m2", from.irradiance, |k| {
        // A sweep that is not moved in light still had an uncertain irradiance: it is part of G2/G1 = 1.
        let (i, v) = through_current(-i2[k] / g1);
        (i, v - voc.value * with.a.value / g1)
    });
    points.figure(1, &voc, &from, |_| (0.0, share));
    points.input("alpha_rel", &with.alpha_rel, |k| through_current(i1[k] * warm * light));
    points.input("beta_rel", &with.beta_rel, |_| (0.0, voc.value * warm));
    points.input("a", &with.a, |_| (0.0, voc.value * light.ln()));
    points.input("rs", &with.rs, |k| (0.0, i1[k] - i2[k]));
    points.input("kappa", &with.kappa, |k| (0.0, -i2[k] * warm));
    let why = format!(
        "alpha_rel = {} 1/K, beta_rel = {} 1/K, a = {}, rs = {} Ω, kappa = {} Ω/K",
        with.alpha_rel.value, with.beta_rel.value, with.a.value, with.rs.value, with.kappa.value
    );
    let options = sweep.options();
    let noise = options.noise.map(|n| Noise {
        current_a: n.current_a * factor,
        current_step_a: n.current_step_a * factor,
        current_offset_u: n.current_offset_u * factor,
        ..n
    });
    points.at(target, &from, options.time_s.clone(), noise, change(2, &from.condition(), target, why))
}

impl Procedure2 {
    /// Every parameter finite and in its unit, the range in its order.
    ///
    /// # Errors
    /// [`TranslateError`] naming the parameter.
    pub fn validate(&self) -> Result<(), TranslateError> {
        check("alpha_rel", &self.alpha_rel, Unit::PerKelvin)?;
        check("beta_rel", &self.beta_rel, Unit::PerKelvin)?;
        check("a", &self.a, Unit::One)?;
        check("rs", &self.rs, Unit::Ohm)?;
        check("kappa", &self.kappa, Unit::OhmPerKelvin)?;
        self.range.validate()
    }
}

/// A line a parameter, then where they hold.
impl fmt::Display for Procedure2 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { alpha_rel, beta_rel, a, rs, kappa, range } = self;
        write!(f, "alpha_rel {alpha_rel}\nbeta_rel {beta_rel}\na {a}\nrs {rs}\nkappa {kappa}\n{range}")
    }
}
