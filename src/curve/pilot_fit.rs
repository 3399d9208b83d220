//! The pilot fit: a diode fitted quickly to the readings, about which the rest of the curve is estimated.
//!
//! ```text
//! y = m(x; θ)        x: the quantity that was set, y: the one that was read;   θ = (Iph, ln I0, ln a, Rs, g)
//! s = V/V₀ − I/I₀    position along the falling curve        h = ds/d|x| = 1 + |dy/dx|
//! ```
//!
//! V₀ and I₀ are the pilot's own Voc and Isc; everything here is in these units. A displacement z of the curve along both
//! axes alike changes y at fixed x by h·z, whichever quantity was set. The pilot's knee is hardly sharper than that of
//! a diode of n = 1, since a sharper one stands for several devices in series or for a defect, and misleads between readings.

use super::scaled_readings::Readings;
use crate::diode::{BLOCK, Circuit, Junction, Roots};
use crate::fit::{Bounds, Points, Residual, approximate_optimum};
use crate::sweep::Swept;

/// Number of parameters that are fitted.
pub const FITTED: usize = Circuit::<1>::PARAMETERS;

/// With the spread of ln a: a junction of several diodes, to second order, is one whose ln a is spread.
pub const PARAMETERS: usize = FITTED + 1;

/// Where no thermal voltage is known: the highest voltage is at most so many times a. A diode of n = 1 and 1.15 V at
/// 25 °C has 45.
const SHARPEST: f64 = 45.0;

/// a is at most this part of the range of voltages.
const SOFTEST: f64 = 0.5;

/// Below this slope, in units of I₀/V₀, the voltage carries no current worth the name, and a reading is compared at its
/// voltage, whichever quantity was set.
const FLAT: f64 = 0.03;

/// A diode with the scales V₀ and I₀.
#[derive(Clone, Debug)]
pub struct Pilot {
    circuit: Circuit<1>,
    /// θ of the fit and what bounded it, in units of the readings.
    pub theta: Vec<f64>,
    pub bounds: Bounds,
    /// V₀ in units of the readings.
    pub v0: f64,
    /// I₀ in units of the readings.
    pub i0: f64,
    /// Its Voc and V_Pmax, in its own units.
    pub voc: f64,
    pub v_pmax: f64,
}

/// A point of the pilot with what is needed of the curve there.
#[derive(Clone, Copy, Debug, Default)]
pub struct Foot {
    /// y.
    pub y: f64,
    /// dy/dx.
    pub slope: f64,
    /// d²y/dx².
    pub curvature: f64,
    /// Position along the curve.
    pub s: f64,
    /// h.
    pub stretch: f64,
    /// ∂z/∂θ = (∂y/∂θ)/h.
    pub by: [f64; PARAMETERS],
}

/// Which coordinate a curve is a function of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Over {
    /// I(V).
    Voltage,
    /// V(I).
    Current,
}

impl Foot {
    /// Size of the discrepancy along the curve at this point of I(V) or V(I), relative to τ, where `set` was set: 1/√h.
    ///
    /// The noise along the curve falls with 1/h. A size of 1 everywhere makes u at the steep end two to three times the
    /// spread that a diode has there; with 1/h Voc of two diodes holds in 60 % with ten readings (simulation on the devices
    /// of `tests/support/tracers.rs` that are named for tuning).
    pub fn amplitude(&self, over: Over, set: Over) -> f64 {
        let steepest = 1.0 + 1.0 / FLAT;
        let h = if over == set { self.stretch } else { 1.0 + 1.0 / self.slope.abs().max(FLAT) };
        h.min(steepest).sqrt().recip()
    }
}

impl From<Swept> for Over {
    fn from(swept: Swept) -> Self {
        if swept == Swept::Current { Over::Current } else { Over::Voltage }
    }
}

impl Pilot {
    /// Fits the pilot; `thermal` is cells·k·T/q in units of the readings where it is known, `sigma` the standard
    /// deviations of voltages and currents (any common scale). `None` where no diode comes near.
    pub fn fit(
        readings: &Readings,
        thermal: Option<f64>,
        sigma: (&[f64], &[f64]),
        over: Over,
    ) -> Option<Self> {
        let (low, high) = readings.range();
        let top = readings
            .voltage
            .iter()
            .zip(&readings.current)
            .filter(|(_, i)| **i > 0.0)
            .map(|(v, _)| *v)
            .fold(0.0f64, f64::max);
        let top = if top > 0.0 { top } else { low.abs().max(high.abs()) };
        let softest = SOFTEST * top.max(0.1 * (high - low));
        let sharpest = thermal.unwrap_or(top / SHARPEST).min(0.1 * softest);
        let bounds = Bounds {
            low: vec![0.0, -690.0, sharpest.ln(), 0.0, 0.0],
            high: vec![10.0, 5.0, softest.ln(), 100.0 * (high - low), 1e6 / (high - low)],
        };
        let points = Points {
            voltage_v: readings.voltage.clone(),
            current_a: readings.current.clone(),
            sigma_v: sigma.0.to_vec(),
            sigma_a: sigma.1.to_vec(),
        };
        let residual = if over == Over::Current { Residual::Voltage } else { Residual::Current };
        let theta = approximate_optimum(&points, residual, &bounds)?;
        let circuit = Circuit::<1>::from_theta(&theta);
        let (isc, voc) = (circuit.isc(), circuit.voc());
        let scale = |of: f64, range: f64| if of > 0.05 * range && of < 1e3 * range { of } else { range };
        let v0 = scale(voc, low.abs().max(high.abs()));
        let i0 = scale(isc, 1.0);
        let normal = Circuit::new(
            circuit.iph / i0,
            [circuit.i0[0] / i0],
            [circuit.a[0] / v0],
            circuit.rs * i0 / v0,
            circuit.g * v0 / i0,
        );
        let normal = Circuit { ln_i0: [circuit.ln_i0[0] - i0.ln()], ..normal };
        let maximum = normal.maximum_power();
        let (voc, v_pmax) = (voc / v0, maximum.v_pmax);
        let pilot = Self { circuit: normal, theta, bounds, v0, i0, voc, v_pmax };
        maximum.pmax.is_finite().then_some(pilot)
    }

    /// The points of the pilot at each of `x`, a voltage or a current.
    pub fn feet(&self, over: Over, x: &[f64]) -> Vec<Foot> {
        let mut feet = Vec::with_capacity(x.len());
        let mut roots = Roots::default();
        for block in x.chunks(BLOCK) {
            match over {
                Over::Voltage => self.circuit.roots_at_voltages(block, &mut roots),
                Over::Current => self.circuit.roots_at_currents(block, &mut roots),
            }
            feet.extend(block.iter().enumerate().map(|(k, x)| self.foot(over, *x, &roots, k)));
        }
        feet
    }

    /// One point.
    pub fn at(&self, over: Over, x: f64) -> Foot {
        self.feet(over, &[x])[0]
    }

    fn foot(&self, over: Over, x: f64, roots: &Roots<1>, k: usize) -> Foot {
        let Circuit { iph, a: [a], rs, g, .. } = self.circuit;
        let (u, minus_one, whole) = (roots.u[k], roots.diode_a[0][k], roots.whole_a[0][k]);
        let by_u = -whole / a - g;
        let loss = 1.0 - rs * by_u;
        let j = iph - minus_one - g * u;
        // J(u) or the series drop, whichever is the better conditioned.
        let current = if over == Over::Voltage && loss > 2.0 { (u - x) / rs } else { j };
        let voltage = if over == Over::Voltage { x } else { u - rs * x };
        let current = if over == Over::Voltage { current } else { x };
        let slope = by_u / loss;
        let curvature = -whole / (a * a) / loss.powi(3);
        let x = u / a;
        let at_fixed_v =
            [1.0, -minus_one, whole * x, j * by_u, -u, -whole * x * (1.0 + x)].map(|by| by / loss);
        let s = voltage - current;
        match over {
            Over::Voltage => {
                let stretch = 1.0 - slope;
                Foot { y: current, slope, curvature, s, stretch, by: at_fixed_v.map(|by| by / stretch) }
            }
            Over::Current => {
                // ∂V/∂θ at fixed I is −(∂I/∂θ)/(dI/dV); h is 1 − 1/slope, and their ratio (∂I/∂θ)/(1 − slope).
                let stretch = 1.0 - 1.0 / slope;
                let by = at_fixed_v.map(|by| by / (1.0 - slope));
                Foot { y: voltage, slope: 1.0 / slope, curvature: -curvature / slope.powi(3), s, stretch, by }
            }
        }
    }

    /// For each reading: what it was compared over, its foot, and z, the reading less the pilot.
    pub fn compare(&self, readings: &Readings, over: Over) -> Vec<(Over, Foot, f64)> {
        let v: Vec<f64> = readings.voltage.iter().map(|v| v / self.v0).collect();
        let i: Vec<f64> = readings.current.iter().map(|i| i / self.i0).collect();
        let at_voltage = |k: usize| {
            let foot = self.at(Over::Voltage, v[k]);
            (Over::Voltage, foot, (i[k] - foot.y) / foot.stretch)
        };
        match over {
            Over::Voltage => {
                let feet = self.feet(over, &v);
                feet.into_iter().zip(&i).map(|(foot, i)| (over, foot, (i - foot.y) / foot.stretch)).collect()
            }
            Over::Current => {
                let feet = self.feet(over, &i);
                let own = |(k, foot): (usize, Foot)| {
                    let steep = foot.y.is_finite() && -1.0 / foot.slope > FLAT;
                    if steep { (over, foot, (v[k] - foot.y) / foot.stretch) } else { at_voltage(k) }
                };
                feet.into_iter().enumerate().map(own).collect()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A point has the same amplitude whichever quantity it is compared over.
    #[test]
    fn amplitude_belongs_to_the_point() {
        let pilot = pilot([0.0; FITTED]);
        for v in [0.5, 0.8, 0.95] {
            let over_voltage = pilot.at(Over::Voltage, v);
            let over_current = pilot.at(Over::Current, over_voltage.y);
            for set in [Over::Voltage, Over::Current] {
                let [a, b] = [(over_voltage, Over::Voltage), (over_current, Over::Current)]
                    .map(|(f, over)| f.amplitude(over, set));
                assert_relative_eq!(a, b, max_relative = 1e-6);
                // h = 1 + |dy/dx| of the quantity that was set.
                let steep = over_voltage.slope.abs();
                let h = 1.0 + if set == Over::Voltage { steep } else { 1.0 / steep.max(FLAT) };
                assert_relative_eq!(a * a * h, 1.0, max_relative = 1e-6);
            }
        }
    }

    fn bare(circuit: Circuit<1>) -> Pilot {
        let bounds = Bounds { low: Vec::new(), high: Vec::new() };
        Pilot { v0: 1.0, i0: 1.0, voc: 1.0, v_pmax: 0.8, theta: Vec::new(), bounds, circuit }
    }

    fn pilot(change: [f64; FITTED]) -> Pilot {
        let [iph, ln_i0, ln_a, rs, g] = change;
        let circuit =
            Circuit::new(1.02 + iph, [1e-9 * ln_i0.exp()], [0.048 * ln_a.exp()], 0.06 + rs, 0.02 + g);
        let (voc, v_pmax) = (circuit.voc(), circuit.maximum_power().v_pmax);
        Pilot { voc, v_pmax, ..bare(circuit) }
    }

    /// Derivatives along the curve and by the parameters against central differences, over either quantity.
    #[test]
    fn derivatives_are_those_of_the_curve() {
        let (step, still) = (1e-5, [0.0; FITTED]);
        for (over, x) in
            [(Over::Voltage, 0.3), (Over::Voltage, 0.9), (Over::Current, 0.1), (Over::Current, 0.97)]
        {
            let foot = pilot(still).at(over, x);
            let [before, behind] = [x - step, x + step].map(|x| pilot(still).at(over, x));
            assert_relative_eq!(foot.slope, (behind.y - before.y) / (2.0 * step), max_relative = 1e-6);
            let second = (behind.slope - before.slope) / (2.0 * step);
            assert_relative_eq!(foot.curvature, second, max_relative = 1e-6);
            // h = |ds/dx|.
            assert_relative_eq!(
                foot.stretch,
                (behind.s - before.s).abs() / (2.0 * step),
                max_relative = 1e-6
            );
            for p in 0..FITTED {
                let at = |sign: f64| {
                    let mut change = still;
                    change[p] = sign * step;
                    pilot(change).at(over, x).y
                };
                let by = (at(1.0) - at(-1.0)) / (2.0 * step) / foot.stretch;
                assert_relative_eq!(foot.by[p], by, max_relative = 1e-5, epsilon = 1e-9);
            }
        }
    }

    /// The last column is the change by half the variance of ln a: the mean of two curves whose ln a lies at ±d is
    /// ½d²·∂²y/∂(ln a)² off, at a given junction voltage; without a series resistance that is the terminal voltage.
    #[test]
    fn the_spread_of_ln_a_is_the_second_derivative() {
        let without_rs = |ln_a: f64| Circuit::new(1.0, [1e-9], [0.048 * ln_a.exp()], 0.0, 0.02);
        let pilot = bare(without_rs(0.0));
        let (v, d) = (0.93, 1e-3);
        let foot = pilot.at(Over::Voltage, v);
        let [low, here, high] = [-d, 0.0, d].map(|d| without_rs(d).current_at(v));
        let second = (low - 2.0 * here + high) / (d * d) / foot.stretch;
        assert_relative_eq!(foot.by[FITTED], second, max_relative = 1e-3);
    }
}
