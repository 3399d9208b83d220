//! Parameters of one diode from a few figures of its curve, in closed form: for teaching, and as a check by hand.
//!
//! ```text
//! n  = (Vm + Im·Rs0 − Voc)/(VT·[ln(A − Im) − ln(B) + Im/B])      A = Isc − Vm/Rsh,  B = Isc − Voc/Rsh,  Rsh = Rsh0
//! I0 = B·e^(−Voc/nVT)      Rs = Rs0 − (nVT/I0)·e^(−Voc/nVT)      Iph = Isc·(1 + Rs/Rsh) + I0·(e^(Isc·Rs/nVT) − 1)
//! ```
//!
//! J. C. H. Phang, D. S. H. Chan, J. R. Phillips, Electronics Letters 20 (1984) 406: Rs0 and Rsh0 are −dV/dI at Voc
//! and at Isc. With n given instead of the slopes, the point of maximum power gives two equations, and (Iph, I0, g)
//! are linear for a given Rs, so that one equation in Rs remains; it may have two roots.
//!
//! A closed form believes its inputs: noise goes straight into the parameters. How far the assumptions hold is
//! judged by the curve that comes out: where its own figures are off those given, it says so.

use super::reservation::Reservation;
use crate::diode::{Circuit, Device, Junction, ModelError, Parameters, SingleDiode, thermal_voltage_v};
use crate::numerics::serde_float::shown;
use crate::quantity::key_points::KeyPoint;
use std::fmt;
use thiserror::Error;

/// Deviation of a figure of the found curve from the given one that is still called agreement.
const AGREEMENT: f64 = 0.01;
/// The same for the end slopes, which Rsh = Rsh0 takes as equal.
const SLOPE_AGREEMENT: f64 = 0.05;
/// dP/dV as a share of Im that is rounding, for a device without series resistance.
const AT_ZERO: f64 = 1e-9;
/// Trial values of Rs between 0 and its largest.
const TRIALS: usize = 400;

/// Isc, Voc and the point of maximum power of one device.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThreePoints {
    /// Short-circuit current in A.
    pub isc_a: f64,
    /// Open-circuit voltage in V.
    pub voc_v: f64,
    /// Voltage at maximum power in V.
    pub v_pmax_v: f64,
    /// Current at maximum power in A.
    pub i_pmax_a: f64,
    /// Cells in series.
    pub cells: u32,
    /// Temperature in °C.
    pub temperature_c: f64,
}

/// What a closed form gives.
///
/// # Examples
/// ```
/// use litdiode::fit::{ThreePoints, from_key_points};
/// let points = ThreePoints {
///     isc_a: 0.030, voc_v: 0.58, v_pmax_v: 0.45, i_pmax_a: 0.0281, cells: 1, temperature_c: 25.0,
/// }; // invented
/// let found = from_key_points(&points, 1.6)?;
/// assert!(!found.is_trustworthy() && found.model.parameters().rsh_ohm == f64::INFINITY);
/// assert_eq!(found.reservations[1].to_string(), "V_Pmax of the found curve is +2.7 % off the one given");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct ClosedForm {
    /// The model.
    pub model: SingleDiode,
    /// Where its assumptions do not hold on these figures; empty where it can be trusted.
    pub reservations: Vec<Reservation>,
}

impl ClosedForm {
    /// Whether the assumptions hold on these figures.
    pub fn is_trustworthy(&self) -> bool {
        self.reservations.is_empty()
    }
}

/// Where a figure must lie, both ends excluded.
fn between(low: f64, high: f64) -> String {
    if high < f64::MAX {
        format!("between {} and {} (both excluded)", shown(&low), shown(&high))
    } else {
        format!("above {}", shown(&low))
    }
}

/// Figures that no diode curve has.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ClosedError {
    /// A figure outside its domain.
    #[error("{name} = {} must lie {}; check units and order", shown(value), between(*low, *high))]
    Domain {
        /// The argument.
        name: &'static str,
        /// The value given.
        value: f64,
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// The slopes contradict the points.
    #[error(
        "no diode has these figures: {what} = {value:.4e} must be above 0; check the slopes, which are −dV/dI in Ω"
    )]
    Slopes {
        /// The expression.
        what: &'static str,
        /// Its value.
        value: f64,
    },
    /// FF contradicts the ideality factor.
    #[error(
        "no diode with n = {n} has these figures: FF = {ff:.4}, and without losses it would be {ideal:.4}; give a \
         smaller n, or check the figures"
    )]
    Ideality {
        /// The ideality factor given.
        n: f64,
        /// The fill factor given.
        ff: f64,
        /// The fill factor of that n and Voc without resistances.
        ideal: f64,
    },
    /// A parameter outside the domain of the models.
    #[error(transparent)]
    Model(#[from] ModelError),
}

/// From Isc, Voc, the point of maximum power and the slopes −dV/dI at Voc (`rs0_ohm`) and at Isc (`rsh0_ohm`).
///
/// # Errors
/// [`ClosedError`] for figures that contradict each other.
///
/// # Examples
/// ```
/// use litdiode::fit::{ThreePoints, from_end_slopes};
/// // The blue cell of Charles et al., Solar Cells 4 (1981) 169 (from memory).
/// let points = ThreePoints {
///     isc_a: 0.1023, voc_v: 0.536, v_pmax_v: 0.437, i_pmax_a: 0.0925, cells: 1, temperature_c: 26.85,
/// };
/// let found = from_end_slopes(&points, 0.45, 1000.0)?;
/// let model = found.model.parameters();
/// assert!((model.n[0] - 1.5027).abs() < 1e-4 && (model.rs_ohm - 0.06826).abs() < 1e-5);
/// assert!((model.i0_a[0] - 1.0361e-7).abs() < 1e-11);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn from_end_slopes(points: &ThreePoints, rs0_ohm: f64, rsh0_ohm: f64) -> Result<ClosedForm, ClosedError> {
    points.check()?;
    let &ThreePoints { isc_a: isc, voc_v: voc, v_pmax_v: vm, i_pmax_a: im, .. } = points;
    inside("rs0_ohm", rs0_ohm, 0.0, f64::INFINITY)?;
    inside("rsh0_ohm", rsh0_ohm, voc / isc, f64::MAX)?;
    let vt = points.thermal_voltage_v(1.0);
    let a = isc - vm / rsh0_ohm;
    let b = isc - voc / rsh0_ohm;
    positive("Isc − Vm/Rsh0 − Im", a - im)?;
    // Both sides of the quotient are negative for a diode.
    let below = b.ln() - (a - im).ln() - im / b;
    positive("ln(Isc − Voc/Rsh0) − ln(Isc − Vm/Rsh0 − Im) − Im/(Isc − Voc/Rsh0)", below)?;
    positive("Voc − Vm − Im·Rs0", voc - vm - im * rs0_ohm)?;
    let n = (voc - vm - im * rs0_ohm) / (vt * below);
    let nvt = n * vt;
    let i0 = b * (-voc / nvt).exp();
    let rs = rs0_ohm - nvt / b;
    let mut reservations = Vec::new();
    if rs < 0.0 {
        reservations.push(Reservation::NegativeRs { rs_ohm: rs });
    }
    let rs = rs.max(0.0);
    let iph = isc * (1.0 + rs / rsh0_ohm) + i0 * (isc * rs / nvt).exp_m1();
    let found = points.judged([iph, i0, n, rs, 1.0 / rsh0_ohm], reservations)?;
    Ok(with_slopes_judged(found, rs0_ohm, rsh0_ohm))
}

/// From Isc, Voc, the point of maximum power and the ideality factor `n`.
///
/// # Errors
/// [`ClosedError`] for figures that contradict each other, and for an n with which no such diode exists.
///
/// # Examples
/// ```
/// use litdiode::fit::{ThreePoints, from_key_points};
/// // Isc, Voc and the point of maximum power of an invented diode with n = 1.3, Rs = 0.5 Ω, Rsh = 900 Ω.
/// let points = ThreePoints {
///     isc_a: 0.029983342, voc_v: 0.574325986, v_pmax_v: 0.470403216, i_pmax_a: 0.027488633,
///     cells: 1, temperature_c: 25.0,
/// };
/// let found = from_key_points(&points, 1.3)?;
/// assert!(found.is_trustworthy());
/// assert!((found.model.parameters().rs_ohm - 0.5).abs() < 1e-4);
/// assert!((found.model.parameters().rsh_ohm - 900.0).abs() < 0.5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn from_key_points(points: &ThreePoints, n: f64) -> Result<ClosedForm, ClosedError> {
    points.check()?;
    inside("n", n, 0.01, 1e3)?;
    let a = points.thermal_voltage_v(n);
    let most = (points.voc_v - points.v_pmax_v) / points.i_pmax_a;
    let at = |k: usize| most * k as f64 / TRIALS as f64;
    let excess = |rs: f64| points.balanced(rs, a).map(|c| slope_of_power(points, &c) / points.i_pmax_a);
    let mut roots: Vec<f64> = excess(0.0).filter(|e| e.abs() < AT_ZERO).map(|_| 0.0).into_iter().collect();
    for k in 1..TRIALS {
        let (Some(before), Some(here)) = (excess(at(k - 1)), excess(at(k))) else { continue };
        if before * here <= 0.0 && before.abs() >= AT_ZERO {
            roots.push(bisect(at(k - 1), at(k), |rs| excess(rs).unwrap_or(here)));
        }
    }
    let real: Vec<(f64, Circuit<1>)> = roots
        .into_iter()
        .filter_map(|rs| points.balanced(rs, a).map(|c| (rs, c)))
        .filter(|(_, c)| c.g >= 0.0)
        .collect();
    if let Some((rs, c)) = real.first() {
        let others =
            real[1..].iter().map(|(rs, c)| Reservation::SecondCircuit { rs_ohm: *rs, rsh_ohm: 1.0 / c.g });
        return points.judged([c.iph, c.i0[0], n, *rs, c.g], others.collect());
    }
    without_shunt(points, n, a)
}

/// No shunt fits both conditions of the maximum: g = 0, and the three points alone.
fn without_shunt(points: &ThreePoints, n: f64, a: f64) -> Result<ClosedForm, ClosedError> {
    let most = (points.voc_v - points.v_pmax_v) / points.i_pmax_a;
    // The current at Vm without a shunt falls as Rs rises.
    let excess = |rs: f64| {
        let (iph, i0) = points.unshunted(rs, a);
        Circuit::<1>::new(iph, [i0], [a], rs, 0.0).current_at(points.v_pmax_v) - points.i_pmax_a
    };
    let (low, high) = (excess(0.0), excess(most * (1.0 - 1e-9)));
    if low.is_nan() || high.is_nan() || low < 0.0 || high > 0.0 {
        let ideal = Device::new(points.parameters([points.isc_a, points.unshunted(0.0, a).1, n, 0.0, 0.0]))?;
        let ideal = ideal.key_points().ff.map_or(f64::NAN, |f| f.value);
        let ff = points.v_pmax_v * points.i_pmax_a / (points.isc_a * points.voc_v);
        return Err(ClosedError::Ideality { n, ff, ideal });
    }
    let rs = bisect(0.0, most * (1.0 - 1e-9), excess);
    let (iph, i0) = points.unshunted(rs, a);
    points.judged([iph, i0, n, rs, 0.0], vec![Reservation::NoShunt])
}

impl ThreePoints {
    fn check(&self) -> Result<(), ClosedError> {
        inside("isc_a", self.isc_a, 0.0, f64::MAX)?;
        inside("voc_v", self.voc_v, 0.0, f64::MAX)?;
        inside("v_pmax_v", self.v_pmax_v, 0.0, self.voc_v)?;
        inside("i_pmax_a", self.i_pmax_a, 0.0, self.isc_a)?;
        inside("temperature_c", self.temperature_c, -273.15, 3000.0)?;
        if self.cells == 0 {
            return Err(ModelError::NoCells.into());
        }
        Ok(())
    }

    fn thermal_voltage_v(&self, n: f64) -> f64 {
        thermal_voltage_v(n, self.cells, self.temperature_c)
    }

    /// (Iph, I0, g) that pass the three points for a given Rs; `None` where I0 would not be positive.
    ///
    /// With e(u) = exp((u − Voc)/a): Iph − D·(e(u) − e(0)) − g·u = I at u = V + I·Rs, D = I0·exp(Voc/a).
    fn balanced(&self, rs: f64, a: f64) -> Option<Circuit<1>> {
        let e = |u: f64| ((u - self.voc_v) / a).exp();
        let (u1, u2) = (rs * self.isc_a, self.voc_v);
        let u3 = self.v_pmax_v + rs * self.i_pmax_a;
        // Differences of the equations at short circuit and at maximum power from the one at open circuit.
        let (d1, d3) = (e(u2) - e(u1), e(u2) - e(u3));
        let (w1, w3) = (u2 - u1, u2 - u3);
        let determinant = d1 * w3 - d3 * w1;
        let big = (self.isc_a * w3 - self.i_pmax_a * w1) / determinant;
        let g = (d1 * self.i_pmax_a - d3 * self.isc_a) / determinant;
        let i0 = big * e(0.0);
        let iph = big * (e(u2) - e(0.0)) + g * u2;
        let circuit = Circuit::new(iph, [i0], [a], rs, g);
        (i0 > 0.0 && iph > 0.0 && i0.is_finite() && g.is_finite()).then_some(circuit)
    }

    /// (Iph, I0) that pass short and open circuit without a shunt.
    fn unshunted(&self, rs: f64, a: f64) -> (f64, f64) {
        let (high, low) = ((self.voc_v / a).exp_m1(), (rs * self.isc_a / a).exp_m1());
        let i0 = self.isc_a / (high - low);
        (i0 * high, i0)
    }

    fn parameters(&self, [iph_a, i0, n, rs_ohm, g]: [f64; 5]) -> Parameters<1> {
        let (cells, temperature_c) = (self.cells, self.temperature_c);
        Parameters { iph_a, i0_a: [i0], n: [n], rs_ohm, rsh_ohm: 1.0 / g, cells, temperature_c }
    }

    /// The model, with a reservation for every figure that it does not give back.
    fn judged(
        &self,
        values: [f64; 5],
        mut reservations: Vec<Reservation>,
    ) -> Result<ClosedForm, ClosedError> {
        let model = Device::new(self.parameters(values))?;
        let own = model.key_points();
        let pmax = self.v_pmax_v * self.i_pmax_a;
        let given = [
            (KeyPoint::Isc, self.isc_a),
            (KeyPoint::Voc, self.voc_v),
            (KeyPoint::Pmax, pmax),
            (KeyPoint::VPmax, self.v_pmax_v),
        ];
        for (figure, given) in given {
            let share = own.get(figure.name()).map_or(f64::INFINITY, |e| e.value / given - 1.0);
            if share.abs() > AGREEMENT {
                reservations.push(Reservation::FigureOff { figure, share });
            }
        }
        Ok(ClosedForm { model, reservations })
    }
}

fn with_slopes_judged(mut found: ClosedForm, rs0_ohm: f64, rsh0_ohm: f64) -> ClosedForm {
    let circuit = found.model.circuit();
    let at_ends = [(KeyPoint::Voc, circuit.voc(), rs0_ohm), (KeyPoint::Isc, 0.0, rsh0_ohm)];
    for (end, v, given) in at_ends {
        let share = -1.0 / circuit.slope_at(v) / given - 1.0;
        if share.abs() > SLOPE_AGREEMENT {
            found.reservations.push(Reservation::SlopeOff { end, share });
        }
    }
    found
}

/// dP/dV at the given maximum of the curve of `circuit`, which should be 0.
fn slope_of_power(points: &ThreePoints, circuit: &Circuit<1>) -> f64 {
    let j1 = circuit.current(points.v_pmax_v + circuit.rs * points.i_pmax_a).slope;
    points.i_pmax_a + points.v_pmax_v * j1 / (1.0 - circuit.rs * j1)
}

/// Root of a function that changes sign between `low` and `high`, to rounding.
fn bisect(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let rising = f(low) < f(high);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if (f(middle) < 0.0) == rising {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn inside(name: &'static str, value: f64, low: f64, high: f64) -> Result<(), ClosedError> {
    if value > low && value < high { Ok(()) } else { Err(ClosedError::Domain { name, value, low, high }) }
}

fn positive(what: &'static str, value: f64) -> Result<(), ClosedError> {
    if value > 0.0 { Ok(()) } else { Err(ClosedError::Slopes { what, value }) }
}

/// The model, then a line a reservation.
impl fmt::Display for ClosedForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.model)?;
        self.reservations.iter().try_for_each(|why| write!(f, "\nreservation: {why}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn points(isc_a: f64, voc_v: f64, v_pmax_v: f64, i_pmax_a: f64, kelvin: f64) -> ThreePoints {
        ThreePoints { isc_a, voc_v, v_pmax_v, i_pmax_a, cells: 1, temperature_c: kelvin - 273.15 }
    }

    /// The exact figures of a device at 25 °C.
    fn points_of(device: &SingleDiode) -> ThreePoints {
        let own = device.key_points();
        let value = |name: &str| own.get(name).unwrap().value;
        points(value("isc"), value("voc"), value("v_pmax"), value("i_pmax"), 298.15)
    }

    /// The two cells of Charles et al., Solar Cells 4 (1981) 169 (input from memory); the expected numbers are the
    /// formulas of Phang et al. (1984) worked out by hand.
    #[test]
    fn blue_and_grey_cell() {
        let blue = from_end_slopes(&points(0.1023, 0.536, 0.437, 0.0925, 300.0), 0.45, 1000.0).unwrap();
        let grey = from_end_slopes(&points(0.561, 0.524, 0.390, 0.481, 307.0), 0.162, 25.9).unwrap();
        for (found, [n, i0, rs, iph]) in
            [(blue, [1.5027, 1.0361e-7, 0.06826, 0.10231]), (grey, [1.7233, 5.5140e-6, 0.07769, 0.56269])]
        {
            let p = *found.model.parameters();
            assert_relative_eq!(p.n[0], n, max_relative = 4e-5);
            assert_relative_eq!(p.i0_a[0], i0, max_relative = 6e-5);
            assert_relative_eq!(p.rs_ohm, rs, max_relative = 1e-4);
            assert_relative_eq!(p.iph_a, iph, max_relative = 5e-5);
            assert!(found.is_trustworthy(), "{:?}", found.reservations);
        }
    }

    /// The exact key points of known devices and their n give the devices back.
    #[test]
    fn key_points_and_n_give_the_device_back() {
        // The last two have a Voc of a few a only: there the "− 1" of the diode counts.
        for (voc, n, rs, rsh) in [
            (0.6, 1.2, 0.2, 400.0),
            (0.6, 1.8, 1.0, 150.0),
            (0.6, 1.0, 0.02, 5000.0),
            (0.6, 2.4, 0.0, 90.0),
            (0.12, 1.5, 0.1, 60.0),
            (0.2, 3.0, 0.3, 80.0),
        ] {
            let parameters = Parameters {
                iph_a: 0.035,
                i0_a: [0.035 / (voc / thermal_voltage_v(n, 1, 25.0)).exp_m1()],
                n: [n],
                rs_ohm: rs,
                rsh_ohm: rsh,
                cells: 1,
                temperature_c: 25.0,
            };
            let device = Device::new(parameters).unwrap();
            let given = points_of(&device);
            let found = from_key_points(&given, n).unwrap();
            let p = found.model.parameters();
            assert_relative_eq!(p.rs_ohm, rs, max_relative = 1e-6, epsilon = 1e-6);
            assert_relative_eq!(p.rsh_ohm, rsh, max_relative = 1e-4);
            assert_relative_eq!(p.i0_a[0], parameters.i0_a[0], max_relative = 1e-5);
            assert_relative_eq!(p.iph_a, parameters.iph_a, max_relative = 1e-6);
            assert!(found.is_trustworthy(), "{:?}", found.reservations);
        }
    }

    #[test]
    fn contradicting_figures_are_named() {
        let good = points(0.035, 0.6, 0.49, 0.033, 298.15);
        let text = |e: ClosedError| e.to_string();
        assert!(text(from_key_points(&good, 3.0).unwrap_err()).contains("n = 3"));
        assert!(
            text(from_key_points(&ThreePoints { v_pmax_v: 0.7, ..good }, 1.2).unwrap_err())
                .contains("v_pmax_v = 0.7")
        );
        assert!(text(from_end_slopes(&good, 4.0, 1000.0).unwrap_err()).contains("Rs0"));
        assert!(from_end_slopes(&good, f64::NAN, 1000.0).is_err());
    }

    /// A leaky cell of large Rs breaks Rsh = −dV/dI at Isc, which the formulas assume.
    #[test]
    fn broken_assumptions_are_said() {
        let parameters = Parameters {
            iph_a: 0.035,
            i0_a: [1e-8],
            n: [1.7],
            rs_ohm: 8.0,
            rsh_ohm: 60.0,
            cells: 1,
            temperature_c: 25.0,
        };
        let device = Device::new(parameters).unwrap();
        let given = points_of(&device);
        let slope = |v: f64| -1.0 / device.circuit().slope_at(v);
        let found = from_end_slopes(&given, slope(given.voc_v), slope(0.0)).unwrap();
        assert!(!found.is_trustworthy());
    }
}
