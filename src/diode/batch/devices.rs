//! [`Devices`]: the parameters of many devices, each a number or an array, validated once.

use super::super::device::{Device, Parameters, domains};
use super::super::error::{Domain, ModelError, check_points};
use super::super::simd::Wanted;
use super::super::thermal::thermal_voltage_v;
use super::broadcasting::{Walk, broadcast};
use super::kernel::{BatchKeyPoints, Columns};
#[cfg(feature = "serde")]
use super::serialization;
use ndarray::{ArrayD, ArrayViewD, ArrayViewMutD, IxDyn};
use std::num::NonZeroUsize;

/// [`Parameters`] of many devices; the shapes broadcast.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub struct DevicesParameters {
    /// Light-generated currents in A.
    #[cfg_attr(feature = "serde", serde(with = "serialization::array"))]
    pub iph_a: ArrayD<f64>,
    /// Saturation currents in A, one array a diode.
    #[cfg_attr(feature = "serde", serde(with = "serialization::arrays"))]
    pub i0_a: Vec<ArrayD<f64>>,
    /// Ideality factors of one cell, one array a diode.
    #[cfg_attr(feature = "serde", serde(with = "serialization::arrays"))]
    pub n: Vec<ArrayD<f64>>,
    /// Series resistances in Ω.
    #[cfg_attr(feature = "serde", serde(with = "serialization::array"))]
    pub rs_ohm: ArrayD<f64>,
    /// Shunt resistances in Ω; may be infinite.
    #[cfg_attr(feature = "serde", serde(with = "serialization::array"))]
    pub rsh_ohm: ArrayD<f64>,
    /// Cells in series: whole numbers from 1 on.
    #[cfg_attr(feature = "serde", serde(with = "serialization::array"))]
    pub cells: ArrayD<f64>,
    /// Temperatures in °C.
    #[cfg_attr(feature = "serde", serde(with = "serialization::array"))]
    pub temperature_c: ArrayD<f64>,
}

/// Many devices of K diodes, with validated parameters.
///
/// # Examples
/// ```
/// use litdiode::diode::{Devices, DevicesParameters};
/// use litdiode::diode::ndarray::{arr0, arr1};
/// let number = |x| arr0(x).into_dyn();
/// let cells = Devices::<1>::new(DevicesParameters {
///     iph_a: arr1(&[0.030, 0.031, 0.032]).into_dyn(),
///     i0_a: vec![number(2e-9)], n: vec![number(1.45)],
///     rs_ohm: number(1.0), rsh_ohm: number(800.0), cells: number(1.0), temperature_c: number(25.0),
/// })?;
/// let mut current_a = arr1(&[0.0; 3]).into_dyn();
/// cells.current(arr0(0.5).into_dyn().view(), None, current_a.view_mut())?;
/// assert!(current_a[[0]] < current_a[[1]] && current_a[[1]] < current_a[[2]]);
/// # Ok::<(), litdiode::diode::ModelError>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(into = "DevicesParameters", try_from = "DevicesParameters"))]
pub struct Devices<const K: usize> {
    parameters: DevicesParameters,
    shape: Vec<usize>,
    a: Vec<ArrayD<f64>>,
    g: ArrayD<f64>,
}

impl<const K: usize> Devices<K> {
    /// Validates the parameters.
    ///
    /// # Errors
    /// [`ModelError::Entry`] naming the first parameter outside its domain and its place, [`ModelError::Shape`] where
    /// shapes do not go together.
    pub fn new(parameters: DevicesParameters) -> Result<Self, ModelError> {
        for (name, list) in [("i0_a", &parameters.i0_a), ("n", &parameters.n)] {
            if list.len() != K {
                return Err(ModelError::Length { name, given: list.len(), wanted: K });
            }
        }
        let parameters = parameters.in_c_order();
        let p = &parameters;
        let mut named: Vec<(&'static str, &[usize])> = Vec::new();
        for (domain, array) in Self::entries(p) {
            check(&domain, array)?;
            named.push((domain.name, array.shape()));
        }
        let shape = broadcast(&named)?;
        if let Some(k) = p.cells.iter().position(|x| x.fract() != 0.0) {
            return Err(entry(&domains::CELLS, &p.cells, k));
        }
        let a = p.n.iter().map(|n| thermal(n, &p.cells, &p.temperature_c)).collect::<Result<_, _>>()?;
        let g = p.rsh_ohm.mapv(|rsh| 1.0 / rsh);
        Ok(Self { shape, a, g, parameters })
    }

    /// Every parameter with its domain, in the order of the arguments.
    fn entries(p: &DevicesParameters) -> Vec<(Domain, &ArrayD<f64>)> {
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
        let place = place(k, &self.shape);
        let of = |array: &ArrayD<f64>| {
            array.broadcast(IxDyn(&self.shape)).map_or(f64::NAN, |whole| whole[IxDyn(&place)])
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

    /// I in A at `voltage_v`, into `current_a` of the common shape, on `threads` threads (all that the
    /// machine offers if `None`).
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another shape; a voltage that is not finite.
    pub fn current(
        &self,
        voltage_v: ArrayViewD<'_, f64>,
        threads: Option<NonZeroUsize>,
        current_a: ArrayViewMutD<'_, f64>,
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Current, "voltage_v", voltage_v, threads, current_a)
    }

    /// V in V at `current_a`, into `voltage_v`; −∞ where no finite voltage carries the current.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another shape; a current that is not finite.
    pub fn voltage(
        &self,
        current_a: ArrayViewD<'_, f64>,
        threads: Option<NonZeroUsize>,
        voltage_v: ArrayViewMutD<'_, f64>,
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Voltage, "current_a", current_a, threads, voltage_v)
    }

    /// dI/dV in S at `voltage_v`, into `slope_s`.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another shape; a voltage that is not finite.
    pub fn slope(
        &self,
        voltage_v: ArrayViewD<'_, f64>,
        threads: Option<NonZeroUsize>,
        slope_s: ArrayViewMutD<'_, f64>,
    ) -> Result<(), ModelError> {
        self.fill(Wanted::Slope, "voltage_v", voltage_v, threads, slope_s)
    }

    /// P = V·I in W at `voltage_v`, into `power_w`.
    ///
    /// # Errors
    /// Shapes that do not go together; an output of another shape; a voltage that is not finite.
    pub fn power(
        &self,
        voltage_v: ArrayViewD<'_, f64>,
        threads: Option<NonZeroUsize>,
        mut power_w: ArrayViewMutD<'_, f64>,
    ) -> Result<(), ModelError> {
        self.current(voltage_v.view(), threads, power_w.view_mut())?;
        let (voltage_v, shape) = (voltage_v.as_standard_layout(), power_w.shape().to_vec());
        let (walk, list) = (Walk::new(&shape, &[voltage_v.view()]), voltage_v.as_slice().unwrap_or_default());
        // A run at a time: several times as fast as the arrays' own product, which goes by their last axis.
        match power_w.as_slice_mut() {
            Some(power_w) => {
                for (run, power_w) in power_w.chunks_mut(walk.run().max(1)).enumerate() {
                    let (from, step) = (walk.offset(0, run), usize::from(!walk.is_constant(0)));
                    power_w.iter_mut().enumerate().for_each(|(k, p)| *p *= list[from + k * step]);
                }
            }
            None => power_w *= &voltage_v,
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
        x: ArrayViewD<'_, f64>,
        threads: Option<NonZeroUsize>,
        mut out: ArrayViewMutD<'_, f64>,
    ) -> Result<(), ModelError> {
        let shape = self.shape_with(name, x.shape())?;
        if out.shape() != shape {
            return Err(ModelError::Shape { name: "the output", shape: out.shape().to_vec(), others: shape });
        }
        let x = x.as_standard_layout();
        check_points(name, x.as_slice().unwrap_or_default())?;
        match out.as_slice_mut() {
            Some(out) => self.columns().fill(wanted, x.view(), &shape, threads, out),
            None => {
                let mut made = vec![0.0; out.len()];
                self.columns().fill(wanted, x.view(), &shape, threads, &mut made);
                out.iter_mut().zip(made).for_each(|(out, made)| *out = made);
            }
        }
        Ok(())
    }
}

impl DevicesParameters {
    /// The same with every array in C order, as the vector code walks through them.
    fn in_c_order(self) -> Self {
        let one = |array: ArrayD<f64>| match array.is_standard_layout() {
            true => array,
            false => array.as_standard_layout().into_owned(),
        };
        let list = |arrays: Vec<ArrayD<f64>>| arrays.into_iter().map(one).collect();
        Self {
            iph_a: one(self.iph_a),
            i0_a: list(self.i0_a),
            n: list(self.n),
            rs_ohm: one(self.rs_ohm),
            rsh_ohm: one(self.rsh_ohm),
            cells: one(self.cells),
            temperature_c: one(self.temperature_c),
        }
    }
}

/// All entries in the domain, or the first that is not, with its place.
fn check(domain: &Domain, array: &ArrayD<f64>) -> Result<(), ModelError> {
    let outside = |x: &f64| domain.check(*x).is_err();
    // A plain list is looked through several times as fast.
    let first = match array.as_slice() {
        Some(list) => list.iter().position(outside),
        None => array.iter().position(outside),
    };
    first.map_or(Ok(()), |k| Err(entry(domain, array, k)))
}

/// Entry `k` in C order as an error.
fn entry(domain: &Domain, array: &ArrayD<f64>, k: usize) -> ModelError {
    let &Domain { name, low, high, cure } = domain;
    let index = place(k, array.shape());
    ModelError::Entry { name, value: array[IxDyn(&index)], index, low, high, cure }
}

/// Where entry `k` in C order stands, one number an axis.
fn place(k: usize, shape: &[usize]) -> Vec<usize> {
    let (mut rest, mut index) = (k, vec![0; shape.len()]);
    for (index, &length) in index.iter_mut().zip(shape).rev() {
        *index = rest % length;
        rest /= length;
    }
    index
}

/// a = n·cells·k·T/q over the common shape of the three.
fn thermal(
    n: &ArrayD<f64>,
    cells: &ArrayD<f64>,
    temperature_c: &ArrayD<f64>,
) -> Result<ArrayD<f64>, ModelError> {
    let operands = [("n", n), ("cells", cells), ("temperature_c", temperature_c)];
    let shape = broadcast(&operands.map(|(name, array)| (name, array.shape())))?;
    let walk = Walk::new(&shape, &operands.map(|(_, array)| array.view()));
    let lists = operands.map(|(_, array)| array.as_slice().unwrap_or_default());
    let (mut values, run) = (Vec::new(), walk.run().max(1));
    if values.try_reserve_exact(walk.count).is_err() {
        return Err(ModelError::TooMany { shape });
    }
    for run_index in 0..walk.count / run {
        let from: [usize; 3] = std::array::from_fn(|o| walk.offset(o, run_index));
        let step: [usize; 3] = std::array::from_fn(|o| usize::from(!walk.is_constant(o)));
        for k in 0..run {
            let of = |o: usize| lists[o][from[o] + k * step[o]];
            values.push(thermal_voltage_v(of(0), of(1) as u32, of(2)));
        }
    }
    ArrayD::from_shape_vec(IxDyn(&shape), values).map_err(|_| ModelError::TooMany { shape })
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
