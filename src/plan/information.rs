//! What a reading at a point of the curve would tell of the parameters: its row of the Fisher information.
//!
//! ```text
//! g = ∂r/∂θ at r = 0        M = Σ g·gᵀ        u²(figure) = cᵀ·M⁻¹·c,  c = ∂figure/∂θ
//! ```
//!
//! r is the residual of the fits, the signed distance to the curve in units of the noise of both axes, and θ = (Iph, ln I0₁,
//! ln a₁, …, Rs, g): with V′ = 1 − Rs·J′ and S = hypot(J′·σV, V′·σI),
//!
//! ```text
//! ∂r/∂p = (∂J/∂p)/S for p ≠ Rs        ∂r/∂Rs = J·J′/S        ∂r/∂V = J′/S        ∂r/∂I = −V′/S
//! ```
//!
//! A parameter on a physical bound (Rs = 0, g = 0) counts as free: a fit may leave the bound to one side, so that the u of
//! the others is at most what is found here. Holding it would make them too small.

use crate::diode::{Circuit, Junction};
use crate::fit::Figure;
use crate::numerics::linear_algebra::information::Information;
use crate::sweep::{Noise, Swept};

/// A reading that could be taken: where it lies, and its derivatives in units of its noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Reading<const N: usize> {
    /// In V.
    pub voltage_v: f64,
    /// In A.
    pub current_a: f64,
    /// ∂r/∂θ.
    pub by_theta: [f64; N],
    /// ∂r/∂V in 1/V and ∂r/∂I in 1/A.
    pub by_reading: (f64, f64),
}

impl<const N: usize> Reading<N> {
    /// At the junction voltage `u` in V; N = 2K + 3. `None` where the noise gives the reading no weight, and beyond the
    /// range of f64.
    pub fn at<const K: usize>(circuit: &Circuit<K>, u: f64, noise: &Noise) -> Option<Self> {
        const { assert!(N == Circuit::<K>::PARAMETERS, "N is the number of coordinates") };
        let (j, d) = circuit.current_and_drop(u);
        let (voltage_v, current_a, v1) = (u - d.value, j.value, 1.0 - d.slope * j.slope);
        let s = (j.slope * noise.sigma_voltage(voltage_v)).hypot(v1 * noise.sigma_current(current_a));
        let mut by_theta = [0.0; N];
        circuit.current_by_theta(u, &mut by_theta);
        by_theta[2 * K + 1] = j.value * j.slope;
        by_theta.iter_mut().for_each(|d| *d /= s);
        let by_reading = (j.slope / s, -v1 / s);
        let whole =
            by_theta.iter().all(|d| d.is_finite()) && by_reading.0.is_finite() && by_reading.1.is_finite();
        (s > 0.0 && whole).then_some(Self { voltage_v, current_a, by_theta, by_reading })
    }

    /// Where the instrument sets `value`, in V or in A.
    pub fn at_set_point<const K: usize>(
        circuit: &Circuit<K>,
        swept: Swept,
        value: f64,
        noise: &Noise,
    ) -> Option<Self> {
        let u = match swept {
            Swept::Voltage => circuit.at_voltage(value),
            Swept::Current => circuit.at_current(value),
        };
        if u.is_finite() { Self::at(circuit, u, noise) } else { None }
    }

    /// What one standard uncertainty of each source that is common to all readings does to r, in the order of
    /// [`Noise::COMMON`].
    pub fn by_common(&self, noise: &Noise) -> [f64; 4] {
        let [gain_v, offset_v, gain_i, offset_i] = noise.common();
        let (by_v, by_i) = self.by_reading;
        [by_v * self.voltage_v * gain_v, by_v * offset_v, by_i * self.current_a * gain_i, by_i * offset_i]
    }

    /// The same with the coordinates `held` known.
    pub fn holding(mut self, held: &[bool; N]) -> Self {
        self.by_theta.iter_mut().zip(held).filter(|(_, held)| **held).for_each(|(d, _)| *d = 0.0);
        self
    }
}

/// The information of no reading where the coordinates `held` are known: their entries of M are 1 and touch no other.
pub(crate) fn without_readings<const N: usize>(held: &[bool; N]) -> Information<N> {
    let mut information = Information::none();
    held.iter().enumerate().filter(|(_, held)| **held).for_each(|(k, _)| information.add_to(k, 1.0));
    information
}

/// A figure in SI units and its derivatives by θ, 0 for the coordinates `held`; `None` where the circuit has no such
/// figure or the figure no derivative. `a_per_n` is cells·k·T/q in V.
pub(crate) fn figure_by_theta<const K: usize, const N: usize>(
    figure: Figure,
    circuit: &Circuit<K>,
    a_per_n: f64,
    held: &[bool; N],
) -> Option<(f64, [f64; N])> {
    const { assert!(N == Circuit::<K>::PARAMETERS, "N is the number of coordinates") };
    let mut by = [0.0; N];
    let value = figure.evaluate(circuit, a_per_n, &mut by)?;
    by.iter_mut().zip(held).filter(|(_, held)| **held).for_each(|(d, _)| *d = 0.0);
    Some((value, by))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fit::{Parameter, Points, Problem, Residual, Residuals};
    use crate::quantity::key_points::KeyPoint;
    use approx::assert_relative_eq;

    fn noises() -> [(Noise, Residual); 3] {
        let none = Noise::default();
        [
            (none.current_a(1e-3).current_rel(0.01), Residual::Current),
            (none.voltage_v(2e-3), Residual::Voltage),
            (none.voltage_v(2e-3).current_a(1e-3), Residual::Nearest),
        ]
    }

    /// The rows of the Jacobian that the fits use, at readings on the curve.
    fn rows_are_those_of_the_fit<const K: usize, const N: usize>(circuit: &Circuit<K>) {
        for (noise, residual) in noises() {
            let readings: Vec<Reading<N>> = (0..13)
                .map(|k| {
                    Reading::at_set_point(circuit, Swept::Voltage, -0.05 + 0.05 * f64::from(k), &noise)
                        .unwrap()
                })
                .collect();
            let list = |f: &dyn Fn(&Reading<N>) -> f64| readings.iter().map(f).collect::<Vec<f64>>();
            let points = Points::new(
                list(&|r| r.voltage_v),
                list(&|r| r.current_a),
                list(&|r| noise.sigma_voltage(r.voltage_v)),
                list(&|r| noise.sigma_current(r.current_a)),
            )
            .unwrap();
            let problem = Problem::<K> { points: &points, residual };
            let (mut r, mut jacobian) = (vec![0.0; 13], vec![0.0; 13 * N]);
            assert!(problem.evaluate(&circuit.theta(), &mut r, Some(&mut jacobian)));
            let by_readings = problem.by_readings(circuit);
            for (i, reading) in readings.iter().enumerate() {
                for k in 0..N {
                    assert_relative_eq!(
                        reading.by_theta[k],
                        jacobian[13 * k + i],
                        max_relative = 1e-9,
                        epsilon = 1e-12
                    );
                }
                assert_relative_eq!(reading.by_reading.0, by_readings[i].0, max_relative = 1e-9);
                assert_relative_eq!(reading.by_reading.1, by_readings[i].1, max_relative = 1e-9);
            }
        }
    }

    #[test]
    fn rows_are_those_of_the_fit_for_one_diode_and_two() {
        rows_are_those_of_the_fit::<1, 5>(&Circuit::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189));
        rows_are_those_of_the_fit::<1, 5>(&Circuit::new(0.76, [3.1e-7], [0.039], 0.0, 0.0));
        rows_are_those_of_the_fit::<2, 7>(&Circuit::new(0.76, [1e-10, 3e-7], [0.026, 0.052], 0.03, 0.01));
    }

    /// A set current lies at the same point of the curve as the voltage that it gives.
    #[test]
    fn a_set_current_and_its_voltage_are_one_point() {
        let circuit = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189);
        let noise = Noise::default().voltage_v(1e-3).current_a(1e-3);
        let by_current = Reading::<5>::at_set_point(&circuit, Swept::Current, 0.5, &noise).unwrap();
        let by_voltage =
            Reading::<5>::at_set_point(&circuit, Swept::Voltage, by_current.voltage_v, &noise).unwrap();
        assert_relative_eq!(by_voltage.current_a, 0.5, max_relative = 1e-12);
        for (a, b) in by_current.by_theta.iter().zip(&by_voltage.by_theta) {
            assert_relative_eq!(a, b, max_relative = 1e-9);
        }
        let open = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0);
        assert!(Reading::<5>::at_set_point(&open, Swept::Current, 0.77, &noise).is_none());
        assert!(Reading::<5>::at(&circuit, 0.3, &Noise::default()).is_none());
    }

    /// A coordinate that is held leaves the others as if it were not there.
    #[test]
    fn a_coordinate_that_is_held_is_known() {
        let circuit = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189);
        let noise = Noise::default().current_a(1e-3);
        let held = [false, false, true, false, true];
        let mut information = without_readings(&held);
        let mut three = Information::<3>::none();
        for k in 0..12 {
            let reading =
                Reading::<5>::at_set_point(&circuit, Swept::Voltage, 0.05 * f64::from(k), &noise).unwrap();
            information.add(&reading.holding(&held).by_theta, 1.0);
            three.add(&[0, 1, 3].map(|k| reading.by_theta[k]), 1.0);
        }
        let (c, d) = (information.inverse().unwrap(), three.inverse().unwrap());
        let (_, by) = figure_by_theta(KeyPoint::Ff.into(), &circuit, 0.0264, &held).unwrap();
        assert_relative_eq!(c.variance(&by), d.variance(&[0, 1, 3].map(|k| by[k])), max_relative = 1e-10);
        assert_eq!(by[4], 0.0);
    }

    #[test]
    fn figures_have_their_values_and_the_derivatives_of_their_scale() {
        let circuit = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0189);
        let free = [false; 5];
        let of = |p: Parameter| figure_by_theta(p.into(), &circuit, 0.0264, &free).unwrap();
        assert_eq!(of(Parameter::Rs), (0.0365, [0.0, 0.0, 0.0, 1.0, 0.0]));
        assert_relative_eq!(of(Parameter::N).0, 0.039 / 0.0264, max_relative = 1e-14);
        assert_relative_eq!(of(Parameter::N).1[2], 0.039 / 0.0264, max_relative = 1e-14);
        assert_relative_eq!(of(Parameter::Rsh).1[4], -1.0 / 0.0189f64.powi(2), max_relative = 1e-14);
        let open = Circuit::<1>::new(0.76, [3.1e-7], [0.039], 0.0365, 0.0);
        assert!(figure_by_theta(Parameter::Rsh.into(), &open, 0.0264, &free).is_none());
        assert!(figure_by_theta(Parameter::I01.into(), &open, 0.0264, &free).is_none());
    }
}
