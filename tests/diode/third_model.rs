//! A third model in one file: a diode in series, the wrong way round, bends the curve into an S.
//!
//! ```text
//! J(u) = Iph − I0·expm1(u/a) − g·u        D(j) = Rs·j + a2·ln(1 + j/Is2)
//! ```
//!
//! The reverse diode carries at most its saturation current Is2 against its direction (from j = −Is2 on), so
//! that beyond Voc the curve flattens. All solvers come from the trait.

use approx::assert_relative_eq;
use litdiode::diode::{Circuit, Jet, Junction};

struct ReverseDiode {
    inner: Circuit<1>,
    a2: f64,
    is2: f64,
}

impl Junction for ReverseDiode {
    fn current(&self, u: f64) -> Jet {
        self.inner.current(u)
    }

    fn drop(&self, j: f64) -> Jet {
        // Beyond −Is2 nothing flows: a wall, kept finite for the solver.
        let x = (j / self.is2).max(-1.0 + 1e-15);
        let ohmic = self.inner.drop(j);
        let conductance = self.is2 * (1.0 + x);
        Jet {
            value: ohmic.value + self.a2 * x.ln_1p(),
            slope: ohmic.slope + self.a2 / conductance,
            curvature: -self.a2 / (conductance * conductance),
        }
    }

    fn is_dark(&self) -> bool {
        self.inner.iph == 0.0
    }

    fn bend(&self) -> f64 {
        self.inner.bend()
    }
}

fn s_shaped() -> ReverseDiode {
    ReverseDiode { inner: Circuit::new(0.02, [1e-10], [0.035], 2.0, 1e-4), a2: 0.03, is2: 2e-4 }
}

/// The current at V by bisection of the terminal voltage in j, which shares nothing with the solvers.
fn by_bisection(v: f64) -> f64 {
    let m = s_shaped();
    let voltage = |j: f64| m.inner.at_current(j) - 2.0 * j - 0.03 * (j / 2e-4).ln_1p();
    let (mut low, mut high) = (-2e-4 * (1.0 - 1e-12), 0.02);
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if voltage(middle) > v { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

#[test]
fn forward_and_inverse_come_with_the_trait() {
    let m = s_shaped();
    for k in 0..60 {
        let v = 0.012 * f64::from(k);
        let i = m.current_at(v);
        assert_relative_eq!(i, by_bisection(v), max_relative = 1e-9, epsilon = 1e-12);
        assert_relative_eq!(m.voltage_at(i), v, epsilon = 1e-9);
    }
}

#[test]
fn the_curve_is_an_s() {
    let m = s_shaped();
    let slope = |v: f64| m.slope_at(v);
    // Steep through the knee, flat again beyond: the second derivative changes sign.
    let top = m.voc();
    assert!(slope(top - 0.05) < 3.0 * slope(top + 0.05), "{} {}", slope(top - 0.05), slope(top + 0.05));
}

#[test]
fn its_maximum_is_the_highest_of_a_fine_scan() {
    let m = s_shaped();
    let best = m.maximum_power();
    let scan =
        (0..200_000).map(|k| m.voc() * f64::from(k) / 2e5).map(|v| v * m.current_at(v)).fold(0.0, f64::max);
    assert_relative_eq!(best.pmax, scan, max_relative = 1e-9);
    assert!(best.pmax >= scan * (1.0 - 1e-14));
}
