//! The device of all simulations: up to two diodes, resistances, and a barrier in series that bends the curve into an S.
//!
//! ```text
//! I = J(u)        V = u − Rs·J(u) − b·asinh(J(u)/Ib)
//! ```

use litdiode::diode::{Circuit, Junction, thermal_voltage_v};

/// The saturation current with which a diode of n carries `current_a` at `voc_v`, at 25 °C.
pub fn saturation_a(current_a: f64, voc_v: f64, n: f64, cells: u32) -> f64 {
    current_a / (voc_v / thermal_voltage_v(n, cells, 25.0)).exp_m1()
}

/// A current-voltage curve of known truth.
#[derive(Clone, Copy)]
pub struct Device {
    circuit: Circuit<2>,
    barrier_v: f64,
    barrier_a: f64,
}

impl Device {
    /// A single diode: the second carries nothing that a double holds beside the first.
    pub fn single(iph_a: f64, i0_a: f64, a_v: f64, rs_ohm: f64, g_s: f64) -> Self {
        Self::new(Circuit::new(iph_a, [i0_a, 1e-300], [a_v, a_v], rs_ohm, g_s))
    }

    pub fn new(circuit: Circuit<2>) -> Self {
        Self { circuit, barrier_v: 0.0, barrier_a: 1.0 }
    }

    pub fn barrier(self, barrier_v: f64, barrier_a: f64) -> Self {
        Self { barrier_v, barrier_a, ..self }
    }

    pub fn is_diode(&self) -> bool {
        self.barrier_v == 0.0
    }

    fn less_drops(&self, u: f64, j: f64) -> f64 {
        u - self.circuit.rs * j - self.barrier_v * (j / self.barrier_a).asinh()
    }

    /// I at V; with a barrier by bisection in u, in which V rises.
    pub fn current_at(&self, v: f64) -> f64 {
        if self.is_diode() {
            return self.circuit.current_at(v);
        }
        let (mut low, mut high) = (-60.0 * self.voc(), 3.0 * self.voc());
        for _ in 0..100 {
            let u = 0.5 * (low + high);
            if self.less_drops(u, self.circuit.current(u).value) < v { low = u } else { high = u }
        }
        self.circuit.current(0.5 * (low + high)).value
    }

    /// V at I.
    pub fn voltage_at(&self, i: f64) -> f64 {
        self.less_drops(self.circuit.at_current(i), i)
    }

    pub fn isc(&self) -> f64 {
        self.current_at(0.0)
    }

    pub fn voc(&self) -> f64 {
        self.circuit.voc()
    }

    /// Isc, Voc, Pmax, FF and V_Pmax, the maximum by golden section about the best of a fine grid.
    pub fn figures(&self) -> [f64; 5] {
        let (isc, voc) = (self.isc(), self.voc());
        let power = |v: f64| v * self.current_at(v);
        let step = voc / 2000.0;
        let best =
            (0..2000).max_by(|&a, &b| power(a as f64 * step).total_cmp(&power(b as f64 * step))).unwrap_or(0);
        let (mut low, mut high) = ((best as f64 - 1.0) * step, (best as f64 + 1.0) * step);
        for _ in 0..80 {
            let (a, b) = (low + 0.381966 * (high - low), low + 0.618034 * (high - low));
            if power(a) < power(b) { low = a } else { high = b }
        }
        let v = 0.5 * (low + high);
        [isc, voc, power(v), power(v) / (isc * voc), v]
    }
}
