//! The junction at many points at once, with the exponentials that current and derivatives are made of.

use super::circuit::Circuit;
use super::simd;
use crate::numerics::special::linear_exponential::ScaledExp;

/// Points that are worked on together.
pub const BLOCK: usize = 32;

/// The states of a junction at up to [`BLOCK`] points, one list a quantity: u, and of each diode I0·(e^(u/a) − 1) and
/// I0·e^(u/a).
///
/// # Examples
/// ```
/// use litdiode::diode::{Circuit, Junction, Roots};
/// let circuit = Circuit::<1>::new(0.03, [1e-9], [0.0334], 0.5, 1.0 / 900.0); // invented
/// let mut roots = Roots::default();
/// circuit.roots_at_voltages(&[0.0, 0.5], &mut roots);
/// assert!((roots.u[1] - (0.5 + 0.5 * circuit.current_at(0.5))).abs() < 1e-12); // u = V + Rs·I
/// ```
#[derive(Clone, Debug)]
pub struct Roots<const K: usize> {
    /// Junction voltages in V.
    pub u: [f64; BLOCK],
    /// Currents of each diode in A.
    pub diode_a: [[f64; BLOCK]; K],
    /// The same with its saturation current added.
    pub whole_a: [[f64; BLOCK]; K],
    /// Points so far that took about a microsecond instead of some fifty nanoseconds: the careful solver answered, or
    /// the vector code took many steps.
    pub(crate) hard: usize,
}

impl<const K: usize> Default for Roots<K> {
    fn default() -> Self {
        Self { u: [0.0; BLOCK], diode_a: [[0.0; BLOCK]; K], whole_a: [[0.0; BLOCK]; K], hard: 0 }
    }
}

impl<const K: usize> Roots<K> {
    /// The state of `circuit` at the junction voltage `u`, as number `k`.
    pub fn set(&mut self, k: usize, circuit: &Circuit<K>, u: f64) {
        self.u[k] = u;
        for d in 0..K {
            let e = ScaledExp::new(u / circuit.a[d], circuit.i0[d]);
            (self.diode_a[d][k], self.whole_a[d][k]) = (e.minus_one, e.whole);
        }
    }
}

impl<const K: usize> Circuit<K> {
    /// The states at up to [`BLOCK`] terminal voltages.
    pub fn roots_at_voltages(&self, voltage_v: &[f64], roots: &mut Roots<K>) {
        simd::roots_at_voltages(self, voltage_v, roots);
    }

    /// The states at up to [`BLOCK`] terminal currents.
    pub fn roots_at_currents(&self, current_a: &[f64], roots: &mut Roots<K>) {
        simd::roots_at_currents(self, current_a, roots);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::junction::Junction;
    use crate::diode::quadratic_map::numbers;

    /// A point that takes more steps changes no bit of the points beside it, nor they of it; each solves its equation.
    #[test]
    fn a_block_has_the_bits_of_its_points() {
        let (mut mixed, mut number) = (0, numbers(0.3));
        for _ in 0..300 {
            let (a, i0) = (number(0.02, 0.06), [number(-60.0, -10.0).exp(), number(-40.0, 0.0).exp()]);
            let (rs, g) = (number(-9.0, 5.0).exp(), number(-40.0, 0.0).exp());
            let c = Circuit::new(0.03, i0, [a, a * number(0.3, 4.0)], rs, g);
            let v: [f64; BLOCK] = std::array::from_fn(|k| -1.0 + 0.1 * k as f64);
            let i: [f64; BLOCK] = std::array::from_fn(|k| 0.04 - 0.01 * k as f64);
            let (mut block, mut single) = (Roots::default(), Roots::default());
            for (x, at_voltage) in [(v, true), (i, false)] {
                let solve = |x: &[f64], roots: &mut Roots<2>| match at_voltage {
                    true => c.roots_at_voltages(x, roots),
                    false => c.roots_at_currents(x, roots),
                };
                block.hard = 0;
                solve(&x, &mut block);
                mixed += usize::from((1..BLOCK).contains(&block.hard));
                for k in 0..BLOCK {
                    solve(&x[k..=k], &mut single);
                    let of = |roots: &Roots<2>, k: usize| {
                        let parts =
                            [0, 1].map(|d| [roots.diode_a[d][k], roots.whole_a[d][k]].map(f64::to_bits));
                        (roots.u[k].to_bits(), parts)
                    };
                    assert_eq!(of(&block, k), of(&single, 0), "{c:?} {k}");
                    let (u, u_careful) =
                        (block.u[k], if at_voltage { c.at_voltage(x[k]) } else { c.at_current(x[k]) });
                    // Without digits where two large numbers cancel; the careful solver is another program.
                    assert!((u - u_careful).abs() <= 1e-9 * a.max(u.abs()), "{c:?} {k}: {u} {u_careful}");
                }
            }
        }
        assert!(mixed > 100, "{mixed}");
    }
}
