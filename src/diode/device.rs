//! The public models: parameters as users state them, validated once.
//!
//! ```text
//! I = Iph − Σk I0k·(exp((V + I·Rs)/(nk·cells·k·T/q)) − 1) − (V + I·Rs)/Rsh
//! ```

use super::circuit::{Circuit, one_or_two};
use super::error::{ModelError, check_points};
use super::gradient::CurrentGradient;
use super::junction::Junction;
use super::maximum::MaximumPower;
use super::thermal::thermal_voltage_v;
use crate::quantity::format::{as_given, quantity};
use crate::quantity::key_points::{Found, KeyPoints, Surroundings};
use crate::quantity::reason::Reason;
use std::fmt;

/// Domains of the parameters.
pub(super) mod domains {
    use super::super::error::Domain;

    pub const IPH: Domain = Domain {
        name: "iph_a",
        low: 0.0,
        high: 1e9,
        cure: "give the light-generated current in A, 0 in the dark",
    };
    pub const RS: Domain =
        Domain { name: "rs_ohm", low: 0.0, high: 1e12, cure: "give the series resistance in Ω, 0 for none" };
    pub const RSH: Domain = Domain {
        name: "rsh_ohm",
        low: 1e-12,
        high: f64::INFINITY,
        cure: "give the shunt resistance in Ω, infinite for none",
    };
    pub const CELLS: Domain = Domain {
        name: "cells",
        low: 1.0,
        high: 4_294_967_295.0,
        cure: "give the whole number of cells in series, 1 for a single cell",
    };
    pub const TEMPERATURE: Domain = Domain {
        name: "temperature_c",
        low: -272.15,
        high: 3000.0,
        cure: "give the temperature in °C, above absolute zero",
    };
    const I0_CURE: &str = "give the saturation current in A, above 0";
    const N_CURE: &str = "give the ideality factor of one cell, usually 1 to 2";

    pub const I0: [Domain; 3] = [i0_domain("i0_a"), i0_domain("i01_a"), i0_domain("i02_a")];
    pub const N: [Domain; 3] = [n_domain("n"), n_domain("n1"), n_domain("n2")];

    const fn i0_domain(name: &'static str) -> Domain {
        Domain { name, low: 1e-300, high: 1e6, cure: I0_CURE }
    }

    const fn n_domain(name: &'static str) -> Domain {
        Domain { name, low: 1e-2, high: 1e3, cure: N_CURE }
    }
}

/// Parameters of K diodes with light, shunt and series resistance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Parameters<const K: usize> {
    /// Light-generated current in A.
    pub iph_a: f64,
    /// Saturation currents in A.
    pub i0_a: [f64; K],
    /// Ideality factors of one cell.
    pub n: [f64; K],
    /// Series resistance in Ω.
    pub rs_ohm: f64,
    /// Shunt resistance in Ω; may be infinite.
    pub rsh_ohm: f64,
    /// Cells in series.
    pub cells: u32,
    /// Temperature in °C.
    pub temperature_c: f64,
}

/// A model with validated parameters.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let mut i = [0.0; 2];
/// cell.current(&[0.0, 0.5], &mut i)?;
/// assert!((i[0] - 0.02998334).abs() < 1e-8 && (i[1] - 0.02483045).abs() < 1e-8);
/// let mut v = [0.0];
/// cell.voltage(&[0.0], &mut v)?;
/// assert!((v[0] - 0.5743260).abs() < 1e-7);
/// let best = cell.maximum_power();
/// assert!((best.pmax - 0.01293074).abs() < 1e-8 && (best.v_pmax - 0.470403).abs() < 1e-6);
/// assert!((cell.key_points().ff.unwrap().value - 0.7509049).abs() < 1e-7);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(
    feature = "serde",
    serde(into = "super::serialization::Plain", try_from = "super::serialization::Plain")
)]
pub struct Device<const K: usize> {
    parameters: Parameters<K>,
    circuit: Circuit<K>,
}

/// One diode: `Parameters { iph_a, i0_a: [i0], n: [n], … }`.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.760788, i0_a: [3.1068e-7], n: [1.47727],
///     rs_ohm: 0.036547, rsh_ohm: 52.89, cells: 1, temperature_c: 33.0,
/// })?;
/// let points = cell.key_points();
/// assert!((points.voc.unwrap().value - 0.5728).abs() < 1e-4);
/// # Ok::<(), litdiode::diode::ModelError>(())
/// ```
pub type SingleDiode = Device<1>;

/// Two diodes in parallel.
pub type DoubleDiode = Device<2>;

impl<const K: usize> Device<K> {
    /// Validates the parameters.
    ///
    /// # Errors
    /// [`ModelError::Parameter`] naming the first parameter outside its domain.
    pub fn new(parameters: Parameters<K>) -> Result<Self, ModelError> {
        const { one_or_two(K) };
        let Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c } = parameters;
        domains::IPH.check(iph_a)?;
        let first = usize::from(K > 1);
        for k in 0..K {
            domains::I0[(first + k).min(2)].check(i0_a[k])?;
            domains::N[(first + k).min(2)].check(n[k])?;
        }
        domains::RS.check(rs_ohm)?;
        domains::RSH.check(rsh_ohm)?;
        if cells == 0 {
            return Err(ModelError::NoCells);
        }
        domains::TEMPERATURE.check(temperature_c)?;
        let a = n.map(|n| thermal_voltage_v(n, cells, temperature_c));
        Ok(Self { parameters, circuit: Circuit::new(iph_a, i0_a, a, rs_ohm, 1.0 / rsh_ohm) })
    }

    /// The parameters.
    pub fn parameters(&self) -> &Parameters<K> {
        &self.parameters
    }

    /// The kernel, for calls in a loop.
    pub fn circuit(&self) -> &Circuit<K> {
        &self.circuit
    }

    /// I in A at each of `voltage_v`, into `current_a` of the same length.
    ///
    /// A current beyond the range of f64 is ±∞.
    ///
    /// # Errors
    /// Unequal lengths; a voltage that is not finite.
    pub fn current(&self, voltage_v: &[f64], current_a: &mut [f64]) -> Result<(), ModelError> {
        check_lengths("voltage_v", voltage_v, current_a)?;
        self.circuit.currents_at(voltage_v, current_a);
        Ok(())
    }

    /// V in V at each of `current_a`, into `voltage_v` of the same length.
    ///
    /// −∞ where Rsh is infinite and I ≥ Iph + ΣI0: no finite voltage carries that current.
    ///
    /// # Errors
    /// Unequal lengths; a current that is not finite.
    pub fn voltage(&self, current_a: &[f64], voltage_v: &mut [f64]) -> Result<(), ModelError> {
        check_lengths("current_a", current_a, voltage_v)?;
        self.circuit.voltages_at(current_a, voltage_v);
        Ok(())
    }

    /// dI/dV in S at each of `voltage_v`; the dynamic resistance is −1/(dI/dV).
    ///
    /// # Errors
    /// Unequal lengths; a voltage that is not finite.
    pub fn slope(&self, voltage_v: &[f64], slope_s: &mut [f64]) -> Result<(), ModelError> {
        check_lengths("voltage_v", voltage_v, slope_s)?;
        slope_s.iter_mut().zip(voltage_v).for_each(|(y, &v)| *y = self.circuit.slope_at(v));
        Ok(())
    }

    /// P = V·I in W at each of `voltage_v`.
    ///
    /// # Errors
    /// Unequal lengths; a voltage that is not finite.
    pub fn power(&self, voltage_v: &[f64], power_w: &mut [f64]) -> Result<(), ModelError> {
        self.current(voltage_v, power_w)?;
        power_w.iter_mut().zip(voltage_v).for_each(|(p, v)| *p *= v);
        Ok(())
    }

    /// dI/dV and the derivatives of I by every parameter at the voltage `voltage_v`.
    ///
    /// # Errors
    /// A voltage that is not finite.
    pub fn gradient(&self, voltage_v: f64) -> Result<CurrentGradient<K>, ModelError> {
        check_points("voltage_v", &[voltage_v])?;
        let Parameters { cells, temperature_c, .. } = self.parameters;
        Ok(self.circuit.gradient_at(voltage_v, &[thermal_voltage_v(1.0, cells, temperature_c); K]))
    }

    /// The point of maximum power; all zero in the dark.
    pub fn maximum_power(&self) -> MaximumPower {
        self.circuit.maximum_power()
    }

    /// Isc, Voc, the point of maximum power and FF, exact for the parameters and so without ±.
    pub fn key_points(&self) -> KeyPoints {
        let best = self.maximum_power();
        let values = [self.circuit.isc(), self.circuit.voc(), best.pmax, best.v_pmax, best.i_pmax];
        let covariance = Err(Reason::Exact);
        let found = Found { values: values.map(Ok), covariance, dof: [f64::INFINITY; 5] };
        KeyPoints::new(&found, Surroundings::default())
    }

    /// `points` pairs (V, I) for a plot, dense at the knee: from V = 0 to Voc under light, from −5 to
    /// 25 thermal voltages of the junction in the dark.
    pub fn curve(&self, points: usize) -> (Vec<f64>, Vec<f64>) {
        let circuit = &self.circuit;
        let (low, high) = if circuit.is_dark() {
            let terminal =
                |x: f64| x * circuit.bend() - circuit.rs * circuit.current(x * circuit.bend()).value;
            (terminal(-5.0), terminal(25.0))
        } else {
            (0.0, circuit.voc())
        };
        circuit.trace(low, high, points)
    }
}

fn check_lengths(name: &'static str, x: &[f64], out: &[f64]) -> Result<(), ModelError> {
    if x.len() != out.len() {
        return Err(ModelError::Length { name, given: x.len(), wanted: out.len() });
    }
    check_points(name, x)
}

/// Its parameters: `1 diode: Iph 30.00 mA, I0 1.000 nA, n 1.3, Rs 500.0 mΩ, Rsh 900.0 Ω; 1 cell, 25 °C`.
impl<const K: usize> fmt::Display for Device<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let p = &self.parameters;
        write!(f, "{K} diode{}: Iph {}", if K == 1 { "" } else { "s" }, quantity(p.iph_a, "A"))?;
        for (k, (i0, n)) in p.i0_a.iter().zip(&p.n).enumerate() {
            let place = if K == 1 { String::new() } else { (k + 1).to_string() };
            write!(f, ", I0{place} {}, n{place} {}", quantity(*i0, "A"), quantity(*n, ""))?;
        }
        let cells = if p.cells == 1 { "cell" } else { "cells" };
        let (rs, rsh) = (quantity(p.rs_ohm, "Ω"), quantity(p.rsh_ohm, "Ω"));
        write!(f, ", Rs {rs}, Rsh {rsh}; {} {cells}, {} °C", p.cells, as_given(p.temperature_c))
    }
}
