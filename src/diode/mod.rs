//! Diode models of an illuminated (or dark) photovoltaic device.
//!
//! Every model is explicit in the junction voltage u, the voltage across its diodes:
//!
//! ```text
//! J(u) = Iph − Σk I0k·(exp(u/ak) − 1) − g·u        I = J(u)        V = u − D(J(u))
//! ```
//!
//! with ak = nk·cells·k·T/q, g = 1/Rsh and the series drop D(j) = Rs·j. J falls and V rises with u, so
//! the curve is smooth, strictly monotone and parametrised; nothing here needs an explicit I(V).
//!
//! | file | holds |
//! |---|---|
//! | `junction` | the trait [`Junction`]: what a model must give, and all that follows from it |
//! | `circuit` | [`Circuit`]: K diodes in parallel, the kernel of both public models, by `numerics::special::linear_exponential` |
//! | `orthogonal_distance` | the point of the curve nearest to a reading |
//! | `junction_voltages` | junction states at many points, for the fits |
//! | `simd` | many points or many circuits as vector code |
//! | `batch` | [`Devices`]: arrays of parameters and points, broadcast, on threads |
//! | `maximum` | the point of maximum power |
//! | `gradient` | derivatives of the current and of the key points by every parameter |
//! | `curve_sampling` | points along a curve, dense at its knee |
//! | `device` | [`Device`]: validated parameters; [`SingleDiode`] and [`DoubleDiode`] |
//! | `serialization` | a device as plain data (feature `serde`) |
//! | `condition` | the model at another irradiance and temperature |
//! | `thermal` | a = n·cells·k·T/q |
//! | `quadratic_map` | numbers for the unit tests |

mod batch;
mod circuit;
mod condition;
mod curve_sampling;
mod device;
mod error;
mod gradient;
mod junction;
mod junction_voltages;
mod maximum;
mod orthogonal_distance;
#[cfg(test)]
mod quadratic_map;
#[cfg(feature = "serde")]
mod serialization;
mod simd;
mod thermal;

pub(crate) use crate::numerics::special::exp_ln::{exp_coarse, exp_pair};
pub use batch::{BatchKeyPoints, Devices, DevicesParameters, broadcast};
pub use circuit::Circuit;
pub(crate) use circuit::one_or_two;
pub use condition::{Condition, SaturationLaw};
pub use device::{Device, DoubleDiode, Parameters, SingleDiode};
pub use error::ModelError;
pub use gradient::{CurrentGradient, KeyPointJacobian};
pub use junction::{Jet, Junction};
pub use junction_voltages::{BLOCK, Roots};
pub use maximum::MaximumPower;
/// The arrays of [`Devices`].
pub use ndarray;
pub(crate) use simd::shares;
pub use thermal::{kelvin, thermal_voltage_v};
