//! The smallest cell of a kind whose figure a rig can give with a wanted uncertainty.
//!
//! ```text
//! cell of s times the area: Iph, I0 → s·Iph, s·I0     Rs, Rsh → Rs/s, Rsh/s        same voltages, same shape
//! ```
//!
//! The uncertainty is that which [`crate::curve::key_points`] gives the exact readings of the cell with the noise that the rig
//! states; it falls as the cell grows, and the size is found by bisection.

use super::error::DetectionError;
use crate::curve::key_points;
use crate::diode::{Device, Junction, ModelError, Parameters};
use crate::quantity::estimate::Amount;
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use crate::setters::setters;
use crate::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};
use std::fmt;

/// Share of Voc or Isc by which a sweep begins before 0 and ends beyond.
const MARGIN: f64 = 0.03;
/// Sizes that are looked at, times the device that was given.
const SMALLEST: f64 = 1e-9;
const LARGEST: f64 = 1e9;
/// Relative width to which the size is found.
const CLOSE: f64 = 1e-3;

/// How a rig takes a sweep.
///
/// # Examples
/// ```
/// use litdiode::detection::Rig;
/// use litdiode::sweep::{Noise, Swept};
/// let rig = Rig::new(Noise::default().voltage_v(1e-3)).swept(Swept::Current).points(40);
/// assert_eq!((rig.swept, rig.points, rig.noise.voltage_v), (Swept::Current, 40, 1e-3));
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Rig {
    /// Its noise.
    pub noise: Noise,
    /// The quantity that is stepped.
    pub swept: Swept,
    /// Readings a sweep.
    pub points: usize,
}

impl Rig {
    /// A rig of this noise that steps the voltage in 25 readings.
    pub const fn new(noise: Noise) -> Self {
        Self { noise, swept: Swept::Voltage, points: 25 }
    }
}

setters!(Rig {
    /// With its noise.
    noise: Noise,
    /// With the quantity that is stepped.
    swept: Swept,
    /// With so many readings a sweep.
    points: usize,
});

/// The smallest cell, and what it would give.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SmallestCell {
    /// Its short-circuit current in A; 0 where a cell of any size will do.
    pub isc_a: f64,
    /// Its size in those of the device that was given.
    pub scale: f64,
    /// The relative standard uncertainty of the figure at that size.
    pub relative_u: f64,
}

/// The smallest cell like `device` of which `rig` gives `figure` with at most the relative standard uncertainty `relative_u`.
///
/// # Errors
/// [`DetectionError::Number`] for a `relative_u` outside 0 to 1, a rig of fewer than 8 or more than 10,000 readings or without
/// a stated scatter, and a dark device; [`DetectionError::Unreachable`] where no size does.
///
/// # Examples
/// ```
/// use litdiode::detection::{Rig, smallest_cell};
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::{key_points::KeyPoint, sweep::Noise};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let rig = Rig::new(Noise::default().current_a(3e-6));
/// let found = smallest_cell(&cell, &rig, KeyPoint::Ff, 0.05)?;
/// assert!(found.relative_u <= 0.05 && found.isc_a < 3e-4);
/// let noisy = smallest_cell(&cell, &Rig::new(Noise::default().current_a(3e-5)), KeyPoint::Ff, 0.05)?;
/// assert!((noisy.isc_a / found.isc_a - 10.0).abs() < 0.5); // ten times the noise, ten times the cell
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn smallest_cell<const K: usize>(
    device: &Device<K>,
    rig: &Rig,
    figure: KeyPoint,
    relative_u: f64,
) -> Result<SmallestCell, DetectionError> {
    let number = |name, value, cure| Err(DetectionError::Number { name, index: None, value, cure });
    if !(relative_u > 0.0 && relative_u < 1.0) {
        return number("relative_u", relative_u, "give a share between 0 and 1, such as 0.05");
    }
    if !(8..=10_000).contains(&rig.points) {
        return number("points", rig.points as f64, "give 8 to 10,000 readings a sweep");
    }
    if !rig.noise.states_scatter() {
        return number("noise", 0.0, "state the scatter of a reading: current_a, voltage_v or a step");
    }
    if device.circuit().is_dark() {
        return number("iph_a", 0.0, "give a device under light");
    }
    let u_at = |scale: f64| relative_u_of(device, rig, figure, scale).filter(|u| u.is_finite());
    let reaches = |scale: f64| u_at(scale).is_some_and(|u| u <= relative_u);
    // The first decade that does; a larger cell may fail by its leads' share alone, so that the largest is no test.
    if reaches(SMALLEST) {
        return Ok(SmallestCell { isc_a: 0.0, scale: 0.0, relative_u: u_at(SMALLEST).unwrap_or(relative_u) });
    }
    let mut high = SMALLEST;
    while !reaches(high) {
        high *= 10.0;
        if high > LARGEST {
            return Err(DetectionError::Unreachable { figure, wanted: relative_u });
        }
    }
    let mut low = 0.1 * high;
    while high / low > 1.0 + CLOSE {
        let middle = (high * low).sqrt();
        if reaches(middle) { high = middle } else { low = middle }
    }
    let found = u_at(high).unwrap_or(relative_u);
    Ok(SmallestCell { isc_a: high * device.circuit().isc(), scale: high, relative_u: found })
}

/// u of the figure in parts of it; `None` where the readings do not give it.
fn relative_u_of<const K: usize>(device: &Device<K>, rig: &Rig, figure: KeyPoint, scale: f64) -> Option<f64> {
    let cell = scaled(device, scale).ok()?;
    let (isc, voc) = (cell.circuit().isc(), cell.circuit().voc());
    let at =
        |full: f64, k: usize| full * (-MARGIN + (1.0 + 2.0 * MARGIN) * k as f64 / (rig.points - 1) as f64);
    let (mut v, mut i) = (vec![0.0; rig.points], vec![0.0; rig.points]);
    match rig.swept {
        Swept::Voltage => {
            v.iter_mut().enumerate().for_each(|(k, v)| *v = at(voc, k));
            cell.current(&v, &mut i).ok()?;
        }
        Swept::Current => {
            i.iter_mut().enumerate().for_each(|(k, i)| *i = at(isc, k));
            cell.voltage(&i, &mut v).ok()?;
        }
    }
    let parameters = device.parameters();
    let options = SweepOptions::default()
        .swept(rig.swept)
        .sign(Sign::Generator)
        .leads(Leads::AsGiven)
        .noise(rig.noise)
        .cells(parameters.cells)
        .temperature_c(parameters.temperature_c);
    let sweep = Sweep::new(&v, &i, options).ok()?;
    key_points(&sweep).get(figure.name())?.relative_u()
}

/// A cell of `scale` times the area.
fn scaled<const K: usize>(device: &Device<K>, scale: f64) -> Result<Device<K>, ModelError> {
    let p = *device.parameters();
    Device::new(Parameters {
        iph_a: scale * p.iph_a,
        i0_a: p.i0_a.map(|i0| scale * i0),
        rs_ohm: p.rs_ohm / scale,
        rsh_ohm: p.rsh_ohm / scale,
        ..p
    })
}

/// Its current, its size, and the uncertainty at that size.
impl fmt::Display for SmallestCell {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (isc, percent) = (Amount::amperes(self.isc_a), 100.0 * self.relative_u);
        let times = quantity(self.scale, "");
        write!(f, "Isc {isc}, {times} times the size of the device, {percent:.2} % uncertainty")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn cell() -> Device<1> {
        // A dye cell, invented.
        Device::new(Parameters {
            iph_a: 5e-4,
            i0_a: [1e-9],
            n: [2.0],
            rs_ohm: 60.0,
            rsh_ohm: 2e4,
            cells: 1,
            temperature_c: 25.0,
        })
        .unwrap()
    }

    /// A floor of the current scales the problem exactly: with ten times the noise the smallest cell is ten times as large.
    #[test]
    fn the_smallest_cell_goes_with_the_noise() {
        let of = |sigma: f64| {
            let rig = Rig::new(Noise::default().current_a(sigma));
            smallest_cell(&cell(), &rig, KeyPoint::Ff, 0.05).unwrap()
        };
        let (small, large) = (of(1e-7), of(1e-6));
        assert!((large.isc_a / small.isc_a / 10.0 - 1.0).abs() < 0.03, "{small:?} {large:?}");
        assert!(small.relative_u <= 0.05 && small.relative_u > 0.04, "{small:?}");
    }

    #[test]
    fn a_rig_that_cannot_is_told() {
        let rig = Rig::new(Noise::default().current_a(1e-9).current_rel(0.2));
        let found = smallest_cell(&cell(), &rig, KeyPoint::Isc, 1e-4);
        assert_eq!(found, Err(DetectionError::Unreachable { figure: KeyPoint::Isc, wanted: 1e-4 }));
        let silent = smallest_cell(&cell(), &Rig::new(Noise::default()), KeyPoint::Isc, 0.1);
        assert!(silent.unwrap_err().to_string().contains("state the scatter"));
    }
}
