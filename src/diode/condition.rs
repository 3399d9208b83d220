//! A model at another irradiance and temperature.
//!
//! ```text
//! Iph = Iph₀·(1 + α·(T − T₀))·G/G₀        I0 = I0₀·[(T/T₀)³·exp(Eg/k·(1/T₀ − 1/T))]^(1/n)        Rsh = Rsh₀·G₀/G (option)
//! ```
//!
//! The photocurrent is proportional to the light. The intrinsic carrier density squared grows as the square bracket,
//! n_i² ∝ T³·exp(−Eg/kT) (S. M. Sze, Physics of Semiconductor Devices, chapter 1; from memory), and the saturation
//! current of a diode of ideality n as its n-th root: I0₀·(T/T₀)^(3/n)·exp((T/T₀ − 1)·Eg/(n·kT/q)) (L. W. Nagel, SPICE2,
//! ERL-M520, University of California, Berkeley, 1975; from memory). Then
//!
//! ```text
//! dVoc/dT = (Voc − Eg/q − 3kT/q)/T        about −2 mV/K in silicon, whatever n; of two diodes as well
//! ```
//!
//! With n_i² itself for every n ([`SaturationLaw::Intrinsic`]) dVoc/dT would be (Voc − n·(Eg/q + 3kT/q))/T: −6 mV/K at
//! n = 2. n and Rs stay. A shunt that light opens, as in thin films, is proportional to 1/G (common practice).

use super::device::{Device, Parameters};
use super::error::{Domain, ModelError};
use super::thermal::{kelvin, thermal_voltage_v};
use crate::setters::setters;

const IRRADIANCE: Domain = Domain {
    name: "irradiance_w_m2",
    low: 0.0,
    high: 1e8,
    cure: "give the irradiance in W/m², 0 in the dark",
};
const REFERENCE: Domain = Domain {
    name: "reference_irradiance_w_m2",
    low: 1e-9,
    high: 1e8,
    cure: "give the irradiance in W/m² that the parameters hold at, above 0",
};
const ISC_PER_K: Domain = Domain {
    name: "isc_per_k",
    low: -0.1,
    high: 0.1,
    cure: "give the relative change of the photocurrent per kelvin, such as 0.0005",
};
const GAP: Domain = Domain { name: "gap_ev", low: 0.0, high: 10.0, cure: "give the band gap in eV" };

/// How the saturation current follows the temperature.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SaturationLaw {
    /// As n_i^(2/n), each diode with its own n: Voc falls by the same at any n.
    #[default]
    Ideality,
    /// As n_i², whatever n: the law of a junction with n = 1.
    Intrinsic,
}

/// The condition to change to, and how the parameters follow.
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let hot = cell.at(&Condition::default().irradiance_w_m2(500.0).temperature_c(60.0).isc_per_k(5e-4))?;
/// assert!((hot.parameters().iph_a - 0.03 * 0.5 * (1.0 + 5e-4 * 35.0)).abs() < 1e-12);
/// assert!(hot.key_points().voc.unwrap().value < 0.5743 - 35.0 * 0.0015); // about −2 mV/K
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Condition {
    /// Irradiance in W/m²; `None` keeps that of the model.
    pub irradiance_w_m2: Option<f64>,
    /// Temperature in °C; `None` keeps that of the model.
    pub temperature_c: Option<f64>,
    /// Irradiance in W/m² that the model's parameters hold at.
    pub reference_irradiance_w_m2: f64,
    /// Relative change of the photocurrent per kelvin.
    pub isc_per_k: f64,
    /// Band gap in eV.
    pub gap_ev: f64,
    /// How I0 follows the temperature.
    pub saturation_law: SaturationLaw,
    /// Whether Rsh is proportional to 1/G.
    pub shunt_follows_light: bool,
}

setters!(Condition {
    /// With an irradiance in W/m².
    irradiance_w_m2: impl Into<Option<f64>>,
    /// With a temperature in °C.
    temperature_c: impl Into<Option<f64>>,
    /// With the irradiance in W/m² that the model's parameters hold at.
    reference_irradiance_w_m2: f64,
    /// With the relative change of the photocurrent per kelvin.
    isc_per_k: f64,
    /// With a band gap in eV.
    gap_ev: f64,
    /// With the way that I0 follows the temperature.
    saturation_law: SaturationLaw,
    /// With Rsh proportional to 1/G, or not.
    shunt_follows_light: bool,
});

impl Default for Condition {
    /// The model as it is, at 1000 W/m², with the gap of silicon and no temperature coefficient.
    fn default() -> Self {
        Self {
            irradiance_w_m2: None,
            temperature_c: None,
            reference_irradiance_w_m2: 1000.0,
            isc_per_k: 0.0,
            gap_ev: 1.12,
            saturation_law: SaturationLaw::Ideality,
            shunt_follows_light: false,
        }
    }
}

impl<const K: usize> Device<K> {
    /// The device at another irradiance or temperature; see the module for the dependences.
    ///
    /// # Errors
    /// [`ModelError::Parameter`] naming what is outside its domain, also where a parameter leaves it.
    pub fn at(&self, condition: &Condition) -> Result<Self, ModelError> {
        let p = *self.parameters();
        let reference = REFERENCE.check(condition.reference_irradiance_w_m2)?;
        let light = IRRADIANCE.check(condition.irradiance_w_m2.unwrap_or(reference))? / reference;
        let gap_ev = GAP.check(condition.gap_ev)?;
        let temperature_c = condition.temperature_c.unwrap_or(p.temperature_c);
        // Validates the temperature before it is divided by.
        Self::new(Parameters { temperature_c, ..p })?;
        let (from, to) = (kelvin(p.temperature_c), kelvin(temperature_c));
        let gain = 1.0 + ISC_PER_K.check(condition.isc_per_k)? * (to - from);
        // Eg/kT with Eg in eV is Eg over the thermal voltage of one cell.
        let volt = |t: f64| thermal_voltage_v(1.0, 1, t);
        let exponent = gap_ev / volt(p.temperature_c) - gap_ev / volt(temperature_c);
        // ln of the growth of n_i².
        let carriers = 3.0 * (to / from).ln() + exponent;
        let growth = |n: f64| match condition.saturation_law {
            SaturationLaw::Ideality => (carriers / n).exp(),
            SaturationLaw::Intrinsic => carriers.exp(),
        };
        Self::new(Parameters {
            iph_a: (p.iph_a * gain * light).max(0.0),
            i0_a: std::array::from_fn(|k| p.i0_a[k] * growth(p.n[k])),
            rsh_ohm: if condition.shunt_follows_light { p.rsh_ohm / light } else { p.rsh_ohm },
            temperature_c,
            ..p
        })
    }
}
