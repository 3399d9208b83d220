//! Readings as an interpolant wants them: by rising voltage, one mean at each distinct voltage.
//!
//! ```text
//! Iₖ = Σ wⱼ Iⱼ / wₖ      wₖ = Σ wⱼ      over the readings j at Vₖ;  wⱼ = 1/σⱼ², or 1 where no noise is stated
//! ```
//!
//! Of a smooth of V(I) the axes change places: one mean voltage at each distinct, rising current.
//!
//! The means with their weights, and the scatter Σ wⱼ (Iⱼ − Iₖ)² about them, tell least squares all that the
//! single readings do.

use super::checks::finite;
use super::error::InterpolantError;
use crate::sweep::{Sweep, by_voltage};

/// Points of distinct, rising voltages, or, for a smooth of V(I), of distinct, rising currents.
///
/// # Examples
/// ```
/// use litdiode::interpolant::Points;
/// let points = Points::with_noise(&[0.4, 0.0, 0.4], &[0.028, 0.030, 0.026], &[1e-3, 1e-3, 1e-3])?;
/// assert_eq!((points.voltage_v(), points.count()), (&[0.0, 0.4][..], &[1, 2][..])); // two readings at 0.4 V
/// assert!((points.current_a()[1] - 0.027).abs() < 1e-15 && (points.weight()[1] - 2e6).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(try_from = "super::serialization::PlainPoints"))]
pub struct Points {
    pub(super) voltage_v: Vec<f64>,
    pub(super) current_a: Vec<f64>,
    pub(super) weight: Vec<f64>,
    pub(super) count: Vec<usize>,
    pub(super) noise_stated: bool,
    pub(super) of_current: bool,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub(super) within: f64,
}

impl Points {
    /// Sorts readings (V, A) by voltage and averages those of equal voltage.
    ///
    /// # Errors
    /// [`InterpolantError`]: unequal lengths, values that are no finite numbers, fewer than 2 distinct voltages.
    pub fn new(voltage_v: &[f64], current_a: &[f64]) -> Result<Self, InterpolantError> {
        Self::weighted(voltage_v, current_a, &vec![1.0; voltage_v.len()], false)
    }

    /// The same with the standard uncertainty of every current in A, which weighs the means and the smooths.
    ///
    /// # Errors
    /// As [`Points::new`]; also a `sigma_a` that is not positive, or whose 1/σ² is beyond a double.
    pub fn with_noise(
        voltage_v: &[f64],
        current_a: &[f64],
        sigma_a: &[f64],
    ) -> Result<Self, InterpolantError> {
        let cure = "give a standard uncertainty above 0 in A";
        for (index, &value) in sigma_a.iter().enumerate() {
            if !(value > 0.0 && (value * value).is_normal() && (1.0 / (value * value)).is_normal()) {
                return Err(InterpolantError::Value { name: "sigma_a", index, value, cure });
            }
        }
        let weight: Vec<f64> = sigma_a.iter().map(|s| 1.0 / (s * s)).collect();
        Self::weighted(voltage_v, current_a, &weight, true)
    }

    /// Voltages at distinct, rising currents, for a smooth of V(I); `sigma_v` is the standard uncertainty of every voltage
    /// in V, 1 for each where no noise is stated.
    pub(super) fn by_current(
        voltage_v: &[f64],
        current_a: &[f64],
        sigma_v: Option<&[f64]>,
    ) -> Result<Self, InterpolantError> {
        let points = match sigma_v {
            Some(sigma) => Self::with_noise(current_a, voltage_v, sigma)?,
            None => Self::new(current_a, voltage_v)?,
        };
        let (voltage_v, current_a) = (points.current_a, points.voltage_v);
        Ok(Self { voltage_v, current_a, of_current: true, ..points })
    }

    /// The readings of a sweep, without its noise.
    ///
    /// # Errors
    /// As [`Points::new`].
    pub fn of_sweep(sweep: &Sweep) -> Result<Self, InterpolantError> {
        Self::new(sweep.voltage_v(), sweep.current_a())
    }

    fn weighted(v: &[f64], i: &[f64], w: &[f64], noise_stated: bool) -> Result<Self, InterpolantError> {
        for (name, values) in [("voltage_v", v), ("current_a", i), ("sigma_a", w)] {
            if values.len() != v.len() {
                return Err(InterpolantError::Lengths { name, needed: v.len(), given: values.len() });
            }
            finite(name, values)?;
        }
        let mut points = Self {
            voltage_v: Vec::new(),
            current_a: Vec::new(),
            weight: Vec::new(),
            count: Vec::new(),
            noise_stated,
            of_current: false,
            within: 0.0,
        };
        for group in by_voltage(v).chunk_by(|&a, &b| v[a] == v[b]) {
            points.push(v[group[0]], group.iter().map(|&k| (i[k], w[k])));
        }
        if points.len() < 2 {
            return Err(InterpolantError::TooFewVoltages { needed: 2, given: points.len() });
        }
        match points.weight.iter().position(|w| !w.is_finite()) {
            Some(index) => Err(InterpolantError::NotRepresentable { what: "weight of a mean", index }),
            None => Ok(points),
        }
    }

    /// Points that were written down, of which the plain form has been checked.
    #[cfg(feature = "serde")]
    pub(super) fn checked(plain: super::serialization::PlainPoints) -> Self {
        let super::serialization::PlainPoints {
            voltage_v,
            current_a,
            weight,
            count,
            noise_stated,
            of_current,
            within,
        } = plain;
        Self { voltage_v, current_a, weight, count, noise_stated, of_current, within }
    }

    /// Adds the mean of readings (current, weight) at one voltage, by steps that stay between the readings.
    fn push(&mut self, voltage_v: f64, readings: impl Iterator<Item = (f64, f64)>) {
        let (mut mean, mut weight, mut count) = (0.0, 0.0, 0);
        for (i, w) in readings {
            count += 1;
            let before = weight;
            weight += w;
            let share = w / weight;
            // Where the readings agree the mean is exactly theirs.
            if count == 1 || i != mean {
                let moved = if count == 1 { i } else { mean * (1.0 - share) + i * share };
                self.within += before * share * (i - mean) * (i - mean);
                mean = moved;
            }
        }
        self.voltage_v.push(voltage_v);
        self.current_a.push(mean);
        self.weight.push(weight);
        self.count.push(count);
    }

    /// Number of distinct voltages, 2 or more.
    pub fn len(&self) -> usize {
        self.voltage_v.len()
    }

    /// Never: there are at least two points.
    pub fn is_empty(&self) -> bool {
        self.voltage_v.is_empty()
    }

    /// Distinct voltages in V, rising; of a smooth of V(I) the mean voltage at each current.
    pub fn voltage_v(&self) -> &[f64] {
        &self.voltage_v
    }

    /// Mean current in A at each of them; of a smooth of V(I) the distinct currents, rising.
    pub fn current_a(&self) -> &[f64] {
        &self.current_a
    }

    /// Whether the currents were set: the points are those of a smooth of V(I).
    pub fn of_current(&self) -> bool {
        self.of_current
    }

    /// Places on the axis that was set, rising.
    pub(super) fn places(&self) -> &[f64] {
        if self.of_current { &self.current_a } else { &self.voltage_v }
    }

    /// Mean values of the axis that was read at each of them.
    pub(super) fn values(&self) -> &[f64] {
        if self.of_current { &self.voltage_v } else { &self.current_a }
    }

    /// Weight of each mean: Σ 1/σ² in 1/A² (of a smooth of V(I) in 1/V²), or the number of readings where no noise is
    /// stated.
    pub fn weight(&self) -> &[f64] {
        &self.weight
    }

    /// How many readings each mean is made of.
    pub fn count(&self) -> &[usize] {
        &self.count
    }

    /// Number of readings in all.
    pub fn readings(&self) -> usize {
        self.count.iter().sum()
    }

    /// Whether the weights are those of a stated noise.
    pub fn noise_stated(&self) -> bool {
        self.noise_stated
    }

    /// Σ w (I − mean)² of the readings about the means of their voltages.
    pub fn within(&self) -> f64 {
        self.within
    }

    /// The same points with other means, and other scatter about them.
    pub(super) fn with_currents(&self, current_a: Vec<f64>, within: f64) -> Self {
        Self { current_a, within, ..self.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: readings 1, 2, 6 with σ 1, 1, 2: weights 1, 1, 1/4: mean 4.5/2.25 = 2, scatter 1 + 0 + 16/4 = 5.
    #[test]
    fn repeated_voltages_are_averaged_with_their_weights() {
        let p =
            Points::with_noise(&[0.5, 0.0, 0.5, 0.5], &[1.0, 7.0, 2.0, 6.0], &[1.0, 1.0, 1.0, 2.0]).unwrap();
        assert_eq!((p.voltage_v(), p.count()), (&[0.0, 0.5][..], &[1, 3][..]));
        assert!((p.current_a()[1] - 2.0).abs() < 1e-15 && (p.weight()[1] - 2.25).abs() < 1e-15);
        assert!((p.within() - 5.0).abs() < 1e-14);
    }

    #[test]
    fn the_two_zeros_are_one_voltage() {
        let p = Points::new(&[0.0, 1.0, -0.0], &[1.0, 0.0, 3.0]).unwrap();
        assert_eq!((p.len(), p.current_a()[0], p.count()[0]), (2, 2.0, 2));
    }
}
