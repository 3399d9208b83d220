//! [`Devices`]: the parameters of many devices, each a number or an array, validated once.

use super::super::device::{Device, Parameters, domains};
use super::super::error::{Domain, ModelError, check_points};
use super::super::simd::Wanted;
use super::super::thermal::thermal_voltage_v;
use super::broadcasting::{View, Walk, broadcast};
use super::kernel::{BatchKeyPoints, Columns};
use std::num::NonZeroUsize;

/// Numbers of any shape in C order; no axes: a single number.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct Array {
    /// The numbers.
    #[cfg_attr(feature = "serde", serde(with = "reals"))]
    pub values: Vec<f64>,
    /// Their shape.
    pub shape: Vec<usize>,
}

impl Array {
    /// A single number.
    pub fn number(value: f64) -> Self {
        Self { values: vec![value], shape: vec![] }
    }

    /// The numbers with their shape.
    pub fn view(&self) -> View<'_> {
        View { values: &self.values, shape: &self.shape }
    }
}

/// [`Parameters`] of many devices; the shapes broadcast.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct DevicesParameters {
    /// Light-generated currents in A.
    pub iph_a: Array,
    /// Saturation currents in A, one array a diode.
    pub i0_a: Vec<Array>,
    /// Ideality factors of one cell, one array a diode.
    pub n: Vec<Array>,
    /// Series resistances in Ω.
    pub rs_ohm: Array,
    /// Shunt resistances in Ω; may be infinite.
    pub rsh_ohm: Array,
    /// Cells in series: whole numbers from 1 on.
    pub cells: Array,
    /// Temperatures in °C.
    pub temperature_c: Array,
}

/// Many devices of K diodes, with validated parameters.
///
/// # Examples
/// ```
/// use litdiode::diode::{Array, Devices, DevicesParameters, View};
/// let cells = Devices::<1>::new(DevicesParameters {
///     iph_a: Array { values: vec![0.030, 0.031, 0.032], shape: vec![3] },
///     i0_a: vec![Array::number(2e-9)], n: vec![Array::number(1.45)],
///     rs_ohm: Array::number(1.0), rsh_ohm: Array::number(800.0),
///     cells: Array::number(1.0), temperature_c: Array::number(25.0),
/// })?;
/// let mut current_a = [0.0; 3];
/// cells.current(View { values: &[0.5], shape: &[] }, None, &mut current_a)?;
/// assert!(current_a[0] < current_a[1] && current_a[1] < current_a[2]);
/// # Ok::<(), litdiode::diode::ModelError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(into = "DevicesParameters", try_from = "DevicesParameters"))]
pub struct Devices<const K: usize> {
    parameters: DevicesParameters,
    shape: Vec<usize>,
    a: Vec<Array>,
    g: Array,
}

impl<const K: usize> Devices<K> {
    /// Validates the parameters.
    ///
    /// # Errors
    /// [`ModelError::Entry`] naming the first parameter outside its domain and its place, [`ModelError::Shape`] where
    /// shapes do not go together.
    pub fn new(parameters: DevicesParameters) -> Result<Self, ModelError> {
        let p = &parameters;
        for (name, list) in [("i0_a", &p.i0_a), ("n", &p.n)] {
            if list.len() != K {
                return Err(ModelError::Length { name, given: list.len(), wanted: K });
            }
        }
        let mut named: Vec<(&'static str, &[usize])> = Vec::new();
        for (domain, array) in Self::entries(p) {
            if array.values.len() != array.shape.iter().product::<usize>() {
                let (given, wanted) = (array.values.len(), array.shape.iter().product());
                return Err(ModelError::Length { name: domain.name, given, wanted });
            }
            check(&domain, array)?;
            named.push((domain.name, &array.shape));
        }
        let shape = broadcast(&named)?;
        if let Some(k) = p.cells.values.iter().position(|x| x.fract() != 0.0) {
            return Err(entry(&domains::CELLS, &p.cells, k));
        }
        let a = p.n.iter().map(|n| thermal(n, &p.cells, &p.temperature_c)).collect::<Result<_, _>>()?;
        let g = Array {
            values: p.rsh_ohm.values.iter().map(|rsh| 1.0 / rsh).collect(),
            shape: p.rsh_ohm.shape.clone(),
        };
        Ok(Self { shape, a, g, parameters })
    }

    /// Every parameter with its domain, in the order of the arguments.
    fn entries(p: &DevicesParameters) -> Vec<(Domain, &Array)> {
        let first = usize::from(K > 1);
        let mut list = vec![(domains::IPH, &p.iph_a)];
        for k in 0..K {
            list.push((domains::I0[(first + k).min(2)], &p.i0_a[k]));
            list.push((domains::N[(first + k).min(2)], &p.n[k]));
        }
        list.extend([
            (domains::RS, &p.rs_ohm),
            (domains::RSH, &p.rsh_ohm),
            (domains::CELLS, &p.cells),
            (domains::TEMPERATURE, &p.temperature_c),
        ]);
        list
    }

    /// The parameters.
    pub fn parameters(&self) -> &DevicesParameters {
        &self.parameters
    }

    /// The common shape of the parameters.
    pub fn shape(&self) -> &[usize] {
        &self.shape
    }

    /// Number of devices.
    pub fn count(&self) -> usize {
        self.shape.iter().product()
    }

    /// The device at place `k` in C order; none beyond the last.
    pub fn device(&self, k: usize) -> Option<Device<K>> {
        if k >= self.count() {
            return None;
        }
        let p = &self.parameters;
        let of = |array: &Array| {
            let walk = Walk::new(&self.shape, &[&array.shape]);
            let within = if walk.is_constant(0) { 0 } else { k % walk.run() };
            array.values[walk.offset(0, k / walk.run()) + within]
        };
        Device::new(Parameters {
            iph_a: of(&p.iph_a),
            i0_a: std::array::from_fn(|d| of(&p.i0_a[d])),
            n: std::array::from_fn(|d| of(&p.n[d])),
            rs_ohm: of(&p.rs_ohm),
            rsh_ohm: of(&p.rsh_ohm),
            cells: of(&p.cells) as u32,
            temperature_c: of(&p.temperature_c),
        })
        .ok()
    }

    /// The shape of a result for points of shape `points`.
    ///
    /// # Errors
    /// [`ModelError::Shape`] where it does not go with the parameters.
    pub fn shape_with(&self, name: &'static str, points: &[usize]) -> Result<Vec<usize>, ModelError> {
        broadcast(&[("the parameters", &self.shape), (name, points)])
    }

    /// I in A at `voltage_v`, into `current_a` in C order of the common shape, on `threads` threads (all that the
    /// machine offers if `None`).
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another length; a voltage that is not finite.
    pub fn current(
        &self,
        voltage_v: View<'_>,
        threads: Option<NonZeroUsize>,
        current_a: &mut [f64],
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Current, "voltage_v", voltage_v, threads, current_a)
    }

    /// V in V at `current_a`, into `voltage_v`; −∞ where no finite voltage carries the current.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another length; a current that is not finite.
    pub fn voltage(
        &self,
        current_a: View<'_>,
        threads: Option<NonZeroUsize>,
        voltage_v: &mut [f64],
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Voltage, "current_a", current_a, threads, voltage_v)
    }

    /// dI/dV in S at `voltage_v`, into `slope_s`.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another length; a voltage that is not finite.
    pub fn slope(
        &self,
        voltage_v: View<'_>,
        threads: Option<NonZeroUsize>,
        slope_s: &mut [f64],
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Slope, "voltage_v", voltage_v, threads, slope_s)
    }

    /// P = V·I in W at `voltage_v`, into `power_w`.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another length; a voltage that is not finite.
    pub fn power(
        &self,
        voltage_v: View<'_>,
        threads: Option<NonZeroUsize>,
        power_w: &mut [f64],
    ) -> Result<(), ModelError> {
        self.current(voltage_v, threads, power_w)?;
        let walk = Walk::new(&self.shape_with("voltage_v", voltage_v.shape)?, &[voltage_v.shape]);
        for (run, power_w) in power_w.chunks_mut(walk.run().max(1)).enumerate() {
            let (from, step) = (walk.offset(0, run), usize::from(!walk.is_constant(0)));
            power_w.iter_mut().enumerate().for_each(|(k, p)| *p *= voltage_v.values[from + k * step]);
        }
        Ok(())
    }

    /// Isc, Voc, the point of maximum power and FF of each device, on `threads` threads.
    pub fn key_points(&self, threads: Option<NonZeroUsize>) -> BatchKeyPoints {
        self.columns().key_points(&self.shape, threads)
    }

    fn columns(&self) -> Columns<'_, K> {
        let p = &self.parameters;
        Columns {
            iph: p.iph_a.view(),
            rs: p.rs_ohm.view(),
            g: self.g.view(),
            i0: std::array::from_fn(|d| p.i0_a[d].view()),
            a: std::array::from_fn(|d| self.a[d].view()),
        }
    }

    fn fill(
        &self,
        wanted: Wanted,
        name: &'static str,
        x: View<'_>,
        threads: Option<NonZeroUsize>,
        out: &mut [f64],
    ) -> Result<(), ModelError> {
        let shape = self.shape_with(name, x.shape)?;
        let (given, wanted_length) = (x.values.len(), x.shape.iter().product::<usize>());
        if given != wanted_length {
            return Err(ModelError::Length { name, given, wanted: wanted_length });
        }
        if out.len() != shape.iter().product::<usize>() {
            return Err(ModelError::Length { name, given: shape.iter().product(), wanted: out.len() });
        }
        check_points(name, x.values)?;
        self.columns().fill(wanted, x, &shape, threads, out);
        Ok(())
    }
}

/// All entries in the domain, or the first that is not, with its place.
fn check(domain: &Domain, array: &Array) -> Result<(), ModelError> {
    let outside = |x: &f64| domain.check(*x).is_err();
    array.values.iter().position(outside).map_or(Ok(()), |k| Err(entry(domain, array, k)))
}

fn entry(domain: &Domain, array: &Array, k: usize) -> ModelError {
    let (mut rest, mut index) = (k, vec![0; array.shape.len()]);
    for (index, &length) in index.iter_mut().zip(&array.shape).rev() {
        *index = rest % length;
        rest /= length;
    }
    let &Domain { name, low, high, cure } = domain;
    ModelError::Entry { name, index, value: array.values[k], low, high, cure }
}

/// a = n·cells·k·T/q over the common shape of the three.
fn thermal(n: &Array, cells: &Array, temperature_c: &Array) -> Result<Array, ModelError> {
    let operands = [n, cells, temperature_c];
    let named = ["n", "cells", "temperature_c"];
    let shapes: Vec<_> = named.into_iter().zip(operands.map(|o| o.shape.as_slice())).collect();
    let shape = broadcast(&shapes)?;
    let walk = Walk::new(&shape, &operands.map(|o| o.shape.as_slice()));
    let run = walk.run().max(1);
    let mut values = Vec::new();
    if values.try_reserve_exact(walk.count).is_err() {
        return Err(ModelError::TooMany { shape });
    }
    for run_index in 0..walk.count / run {
        let from: [usize; 3] = std::array::from_fn(|o| walk.offset(o, run_index));
        let step: [usize; 3] = std::array::from_fn(|o| usize::from(!walk.is_constant(o)));
        for k in 0..run {
            let of = |o: usize| operands[o].values[from[o] + k * step[o]];
            values.push(thermal_voltage_v(of(0), of(1) as u32, of(2)));
        }
    }
    Ok(Array { values, shape })
}

impl<const K: usize> From<Devices<K>> for DevicesParameters {
    fn from(devices: Devices<K>) -> Self {
        devices.parameters
    }
}

impl<const K: usize> TryFrom<DevicesParameters> for Devices<K> {
    type Error = ModelError;

    fn try_from(parameters: DevicesParameters) -> Result<Self, ModelError> {
        Self::new(parameters)
    }
}

/// Lists of numbers in text, an infinite one as a word.
#[cfg(feature = "serde")]
mod reals {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[derive(Serialize, Deserialize)]
    struct Real(#[serde(with = "crate::numerics::serde_float::real")] f64);

    pub fn serialize<S: Serializer>(values: &[f64], to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(values.iter().map(|&x| Real(x)))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<f64>, D::Error> {
        Ok(Vec::<Real>::deserialize(from)?.into_iter().map(|r| r.0).collect())
    }
}
