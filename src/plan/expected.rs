//! The device that a sweep is planned for, and how far it may be off.
//!
//! ```text
//! spread s: Voc·(1 ± s), Voc·(1 ± s/2) for set voltages, by ln I0k −= ΔV/ak; Isc likewise for set currents
//! of a fit: θ ± √m·L_k, k = 1 … m        θ: its parameters, L·Lᵀ: their covariance, m: those that were free
//! ```
//!
//! Where the voltage is set, another Isc scales the readings and moves no set point, and the other way round: the axis that
//! is set is the one that matters. The points of a fit are those of the spherical cubature rule of third degree, which has
//! mean and covariance of a normal distribution (I. Arasaratnam, S. Haykin, IEEE Trans. Autom. Control 54 (2009) 1254, from
//! memory).

use super::error::PlanError;
use super::figures::all_figures;
use crate::diode::{Circuit, Device, DoubleDiode, Junction, Parameters, SingleDiode, thermal_voltage_v};
use crate::fit::{Figure, Fit, Residual};
use crate::numerics::linear_algebra::semidefinite_factor;
use crate::sweep::{Noise, Swept};

/// Models of one kind.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Devices<const K: usize> {
    /// Those that were given.
    pub given: Vec<Device<K>>,
    /// What the first may be instead.
    pub drawn: Vec<Device<K>>,
}

/// The device that a sweep is planned for, or several that one plan should serve.
///
/// # Examples
/// ```
/// use litdiode::{diode::{Parameters, SingleDiode}, plan::Expected};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?;
/// assert_eq!(Expected::one_diode(&[cell])?.len(), 1);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Expected {
    pub(super) kind: Kind,
    /// The noise of the sweep of a fit.
    pub(super) noise: Option<Noise>,
    /// The quantity that the sweep of a fit set.
    pub(super) swept: Option<Swept>,
    /// The degrees of freedom of a noise that was found from the residuals of a fit.
    pub(super) dof: Option<usize>,
    /// Whether nothing says how far the device may be off.
    pub(super) alone: bool,
}

#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(super) enum Kind {
    One(Devices<1>),
    Two(Devices<2>),
}

impl Expected {
    /// Devices of one diode.
    ///
    /// # Errors
    /// [`PlanError::NoDevice`] for none.
    pub fn one_diode(devices: &[SingleDiode]) -> Result<Self, PlanError> {
        Self::of(devices, Kind::One)
    }

    /// Devices of two diodes.
    ///
    /// # Errors
    /// [`PlanError::NoDevice`] for none.
    pub fn two_diodes(devices: &[DoubleDiode]) -> Result<Self, PlanError> {
        Self::of(devices, Kind::Two)
    }

    fn of<const K: usize>(devices: &[Device<K>], kind: fn(Devices<K>) -> Kind) -> Result<Self, PlanError> {
        if devices.is_empty() {
            return Err(PlanError::NoDevice);
        }
        let alone = devices.len() == 1;
        Ok(Self {
            kind: kind(Devices { given: devices.to_vec(), drawn: Vec::new() }),
            noise: None,
            swept: None,
            dof: None,
            alone,
        })
    }

    /// The device of a first fit, with its uncertainty and the noise of its sweep: what it states, or else the scatter that
    /// the fit found on the axis that was read.
    pub fn one_diode_fitted(fit: &Fit<1>) -> Self {
        Self::fitted(Kind::One(drawn_from(fit)), fit)
    }

    /// The same with two diodes.
    pub fn two_diodes_fitted(fit: &Fit<2>) -> Self {
        Self::fitted(Kind::Two(drawn_from(fit)), fit)
    }

    fn fitted<const K: usize>(kind: Kind, fit: &Fit<K>) -> Self {
        let dof = stated_noise(fit).is_none().then_some(fit.dof);
        Self { kind, noise: noise_of(fit), swept: Some(fit.sweep.options().swept), dof, alone: false }
    }

    /// The figures that can be a target.
    pub fn targets(&self) -> Vec<Figure> {
        let diodes = match &self.kind {
            Kind::One(_) => 1,
            Kind::Two(_) => 2,
        };
        all_figures(diodes).collect()
    }

    /// Number of devices that were given.
    pub fn len(&self) -> usize {
        match &self.kind {
            Kind::One(devices) => devices.given.len(),
            Kind::Two(devices) => devices.given.len(),
        }
    }

    /// Whether there is none; never so.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }
}

fn drawn_from<const K: usize>(fit: &Fit<K>) -> Devices<K> {
    let (free, covariance) = fit.free_coordinates();
    let m = free.len();
    let mut drawn = Vec::new();
    if covariance.len() == m * m {
        let factor = semidefinite_factor(covariance, m);
        for (column, sign) in (0..m).flat_map(|k| [(k, 1.0), (k, -1.0)]) {
            let mut theta = fit.theta.clone();
            for (row, &k) in free.iter().enumerate() {
                theta[k] += sign * (m as f64).sqrt() * factor[row * m + column];
            }
            drawn.extend(device_at(&theta, fit.model.parameters()));
        }
    }
    Devices { given: vec![fit.model], drawn }
}

/// The device of coordinates θ, where there is one; Iph, Rs and g no lower than 0.
fn device_at<const K: usize>(theta: &[f64], like: &Parameters<K>) -> Option<Device<K>> {
    let mut theta = theta.to_vec();
    for k in [0, 2 * K + 1, 2 * K + 2] {
        theta[k] = theta[k].max(0.0);
    }
    of_circuit(&Circuit::<K>::from_theta(&theta), like)
}

fn of_circuit<const K: usize>(circuit: &Circuit<K>, like: &Parameters<K>) -> Option<Device<K>> {
    let a_per_n = thermal_voltage_v(1.0, like.cells, like.temperature_c);
    let (iph_a, i0_a, rs_ohm, rsh_ohm) = (circuit.iph, circuit.i0, circuit.rs, 1.0 / circuit.g);
    Device::new(Parameters { iph_a, i0_a, n: circuit.a.map(|a| a / a_per_n), rs_ohm, rsh_ohm, ..*like }).ok()
}

/// What the sweep of a fit states.
fn stated_noise<const K: usize>(fit: &Fit<K>) -> Option<Noise> {
    fit.sweep.options().noise.filter(Noise::states_scatter)
}

/// The scatter of the sweep of a fit.
fn noise_of<const K: usize>(fit: &Fit<K>) -> Option<Noise> {
    let stated = stated_noise(fit);
    if stated.is_some() {
        return stated;
    }
    let share = if fit.dof > 0 { (fit.residuals.len() as f64 / fit.dof as f64).sqrt() } else { f64::NAN };
    let sigma = fit.rms * share;
    let none = fit.sweep.options().noise.unwrap_or_default();
    (sigma > 0.0 && sigma.is_finite()).then(|| match fit.residual {
        Residual::Voltage => none.voltage_v(sigma),
        _ => none.current_a(sigma),
    })
}

impl<const K: usize> Devices<K> {
    /// What each given device may be instead: what is drawn of a fit, and those that are off by `spread`.
    pub fn variations(&self, swept: Swept, spread: f64) -> Vec<Device<K>> {
        let mut all = self.drawn.clone();
        if spread > 0.0 {
            for device in &self.given {
                for share in [-spread, -0.5 * spread, 0.5 * spread, spread] {
                    all.extend(off_by(device, swept, share));
                }
            }
        }
        all
    }
}

/// The device with another Voc, or another Isc.
fn off_by<const K: usize>(device: &Device<K>, swept: Swept, share: f64) -> Option<Device<K>> {
    let mut circuit = *device.circuit();
    match swept {
        Swept::Voltage => {
            let shift = share * circuit.voc();
            circuit.i0 = std::array::from_fn(|k| circuit.i0[k] * (-shift / circuit.a[k]).exp());
        }
        Swept::Current => {
            // All currents in proportion: the same voltages.
            circuit.iph *= 1.0 + share;
            circuit.i0 = circuit.i0.map(|i0| i0 * (1.0 + share));
            circuit.g *= 1.0 + share;
            circuit.rs /= 1.0 + share;
        }
    }
    of_circuit(&circuit, device.parameters())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn cell() -> SingleDiode {
        let (n, cells, temperature_c) = ([1.9], 1, 25.0);
        let (iph_a, i0_a, rs_ohm, rsh_ohm) = (604e-6, [1.7e-9], 62.0, 9300.0);
        SingleDiode::new(Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c }).unwrap()
    }

    #[test]
    fn devices_are_off_by_what_is_asked() {
        let circuit = cell();
        let (isc, voc) = (circuit.circuit().isc(), circuit.circuit().voc());
        let devices = Devices { given: vec![cell()], drawn: Vec::new() };
        for (k, share) in [-0.1, -0.05, 0.05, 0.1].into_iter().enumerate() {
            let of_current = devices.variations(Swept::Current, 0.1)[k];
            assert_relative_eq!(of_current.circuit().isc(), isc * (1.0 + share), max_relative = 1e-12);
            assert_relative_eq!(of_current.circuit().voc(), voc, max_relative = 1e-12);
            // The shunt takes a little of the shift of Voc.
            let of_voltage = devices.variations(Swept::Voltage, 0.1)[k];
            assert_relative_eq!(of_voltage.circuit().voc(), voc * (1.0 + share), max_relative = 0.02);
        }
        assert!(devices.variations(Swept::Voltage, 0.0).is_empty());
    }
}
