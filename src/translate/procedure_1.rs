//! IEC 60891, procedure 1: currents move by one amount, voltages with them.
//!
//! ```text
//! I2 = I1 + Isc1·(G2/G1 − 1) + α·(T2 − T1)
//! V2 = V1 − Rs·(I2 − I1) − κ·I2·(T2 − T1) + β·(T2 − T1)
//! ```

use super::condition::{Measured, Range, Target, check};
use super::error::TranslateError;
use super::translated::{Points, Translated, change};
use super::warning::Warning;
use crate::quantity::estimate::{Estimate, Unit};
use crate::sweep::Sweep;
use std::fmt;

/// Parameters of procedure 1.
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::Procedure1;
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
/// let found = Procedure1::from_sweeps(&light, &heat)?;
/// assert!((found.alpha.value - 5e-4 * 0.03).abs() < 1e-7 && (found.rs.value - 0.5).abs() < 0.02);
/// assert_eq!(found.range.temperature_c, (25.0, 45.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Procedure1 {
    /// Change of Isc with temperature in A/K, of this device at the target irradiance.
    pub alpha: Estimate,
    /// Change of Voc with temperature in V/K.
    pub beta: Estimate,
    /// Series resistance in Ω.
    pub rs: Estimate,
    /// Curve correction factor in Ω/K.
    pub kappa: Estimate,
    /// Where they were found.
    pub range: Range,
}

/// `sweep` at the target condition by procedure 1; there and back at equal temperature is exact where the curve
/// is flat at V = 0 (else Isc, read again after the voltages moved, is another).
///
/// Needs Isc of the sweep only where the irradiance changes. Uncertain inputs: the parameters, the measured
/// irradiance and Isc; the measured temperature counts as exact.
///
/// # Errors
/// [`TranslateError`]: no irradiance, no Isc, a parameter or a target outside its domain or in another unit.
///
/// # Source
/// IEC 60891:2009, clause 3.2, equations (1) and (2) (from memory).
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{Procedure1, Range, Target, procedure_1};
/// let exact = |value, unit| Estimate::new(value, 0.0, unit);
/// let with = Procedure1 {
///     alpha: exact(1.5e-5, Unit::AmperePerKelvin), beta: exact(-2.1e-3, Unit::VoltPerKelvin),
///     rs: exact(0.4, Unit::Ohm), kappa: exact(2e-3, Unit::OhmPerKelvin), range: Range::UNLIMITED,
/// }; // invented
/// let (v, i) = ([0.0, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041]);
/// let lit = SweepOptions::default().irradiance_w_m2(Estimate::new(900.0, 9.0, Unit::WattPerM2));
/// let sweep = Sweep::new(&v, &i, lit)?;
/// let there = procedure_1(&sweep, &Target { irradiance_w_m2: 1000.0, temperature_c: 25.0 }, &with)?.sweep;
/// let rise = 0.030 * (1000.0 / 900.0 - 1.0); // I2 − I1 = Isc1·(G2/G1 − 1), V2 − V1 = −Rs·(I2 − I1)
/// assert!((there.current_a()[2] - (0.028 + rise)).abs() < 1e-6);
/// assert!((there.voltage_v()[2] - (0.4 - 0.4 * rise)).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn procedure_1(sweep: &Sweep, target: &Target, with: &Procedure1) -> Result<Translated, TranslateError> {
    target.validate()?;
    with.validate()?;
    let from = Measured::new(sweep, 0)?;
    let (g1, g2) = (from.irradiance.value, target.irradiance_w_m2);
    let warm = target.temperature_c - from.temperature_c;
    let more = (g2 - g1) / g1;
    let (isc, unknown) = match from.figure("isc") {
        Ok(isc) => (isc.clone(), None),
        Err(why) if more != 0.0 => return Err(why),
        Err(why) => (Estimate::new(0.0, 0.0, Unit::Ampere), Some(without_isc(why)?)),
    };
    let (rs, bend) = (with.rs.value, with.kappa.value * warm);
    let step = isc.value * more + with.alpha.value * warm;
    let current: Vec<f64> = sweep.current_a().iter().map(|i| i + step).collect();
    let voltage = sweep.voltage_v().iter().zip(&current);
    let voltage = voltage.map(|(v, i2)| v - rs * step - bend * i2 + with.beta.value * warm).collect();
    let mut points = Points::new(current.clone(), voltage);
    points.warnings = with.range.warnings(&from.condition(), target);
    points.warnings.extend(unknown);
    points.scatter(&from, |_, v, i| (v - bend * i, i), Some(0), |_| (more, -(rs + bend) * more));
    let through_current = |slope: f64| (slope, -(rs + bend) * slope);
    points.input("irradiance_w_m2", from.irradiance, |_| through_current(-isc.value * g2 / (g1 * g1)));
    points.figure(0, &isc, &from, |_| through_current(more));
    points.input("alpha", &with.alpha, |_| through_current(warm));
    points.input("beta", &with.beta, |_| (0.0, warm));
    points.input("rs", &with.rs, |_| (0.0, -step));
    points.input("kappa", &with.kappa, |k| (0.0, -current[k] * warm));
    let why = format!(
        "alpha = {} A/K, beta = {} V/K, rs = {} Ω, kappa = {} Ω/K",
        with.alpha.value, with.beta.value, with.rs.value, with.kappa.value
    );
    let options = sweep.options();
    let record = change(1, &from.condition(), target, why);
    points.at(target, &from, options.time_s.clone(), options.noise, record)
}

/// What a missing Isc costs a translation that does not need it.
fn without_isc(error: TranslateError) -> Result<Warning, TranslateError> {
    match error {
        TranslateError::KeyPoint { why, .. } => Ok(Warning::NoIsc { why }),
        TranslateError::NotLit { value, .. } => Ok(Warning::IscNotPositive { isc_a: value }),
        other => Err(other),
    }
}

impl Procedure1 {
    /// Every parameter finite and in its unit, the range in its order.
    ///
    /// # Errors
    /// [`TranslateError`] naming the parameter.
    pub fn validate(&self) -> Result<(), TranslateError> {
        check("alpha", &self.alpha, Unit::AmperePerKelvin)?;
        check("beta", &self.beta, Unit::VoltPerKelvin)?;
        check("rs", &self.rs, Unit::Ohm)?;
        check("kappa", &self.kappa, Unit::OhmPerKelvin)?;
        self.range.validate()
    }
}

/// A line a parameter, then where they hold.
impl fmt::Display for Procedure1 {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { alpha, beta, rs, kappa, range } = self;
        write!(f, "alpha {alpha}\nbeta {beta}\nrs {rs}\nkappa {kappa}\n{range}")
    }
}
