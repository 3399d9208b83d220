//! Thermal voltage: a = n·cells·k·T/q, rounded once.
//!
//! k = 1.380649e-23 J/K and q = 1.602176634e-19 C are exact (SI Brochure, 9th edition, 2019). The
//! conversion T = t + 273.15 alone costs up to 2.6 ε below 80 K, so the product is carried as an
//! unevaluated sum of two doubles (T. J. Dekker, Numer. Math. 18 (1971) 224).

/// k/q in V/K as the sum of two doubles.
const K_OVER_Q: Pair = Pair { high: 8.617333262145177e-5, low: -9.121711590757523e-23 };
/// 273.15 K as the sum of two doubles.
const ICE_POINT: Pair = Pair { high: 273.15, low: 2.2737367544323206e-14 };

/// The unevaluated sum of two doubles.
#[derive(Clone, Copy)]
struct Pair {
    high: f64,
    low: f64,
}

impl Pair {
    /// The exact sum a + b.
    fn sum(a: f64, b: f64) -> Self {
        let high = a + b;
        let part = high - a;
        Self { high, low: (a - (high - part)) + (b - part) }
    }

    fn times(self, other: Pair) -> Self {
        let high = self.high * other.high;
        let low = self.high.mul_add(other.high, -high) + (self.high * other.low + self.low * other.high);
        Self::sum(high, low)
    }
}

/// Absolute temperature in K of a Celsius temperature.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::diode::kelvin(25.0), 298.15);
/// ```
pub fn kelvin(temperature_c: f64) -> f64 {
    let t = kelvin_pair(temperature_c);
    t.high + t.low
}

fn kelvin_pair(temperature_c: f64) -> Pair {
    let t = Pair::sum(temperature_c, ICE_POINT.high);
    Pair::sum(t.high, t.low + ICE_POINT.low)
}

/// a = n·cells·k·T/q in V, correctly rounded but for rare ties.
///
/// # Examples
/// ```
/// let v_t = litdiode::diode::thermal_voltage_v(1.0, 1, 25.0); // kT/q with the constants of the SI of 2019
/// assert!((v_t - 0.025692579121).abs() < 1e-12);
/// assert!((litdiode::diode::thermal_voltage_v(1.5, 36, 25.0) / v_t - 54.0).abs() < 1e-12);
/// ```
pub fn thermal_voltage_v(n: f64, cells: u32, temperature_c: f64) -> f64 {
    let per_ideality = kelvin_pair(temperature_c).times(K_OVER_Q);
    let a = per_ideality.times(Pair { high: f64::from(cells), low: 0.0 }).times(Pair { high: n, low: 0.0 });
    a.high + a.low
}
