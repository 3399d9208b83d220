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
//! | `circuit` | [`Circuit`]: K diodes in parallel, the kernel of both public models |
//! | `linexp` | the one scalar equation behind I(V) and V(I) |
//! | `key_points` | Isc, Voc and the point of maximum power of a model |
//! | `gradient` | derivatives by voltage and by every parameter |
//! | `single`, `double` | the validated public models |
//! | `thermal` | a = n·cells·k·T/q |

mod circuit;
mod double;
mod error;
mod gradient;
mod junction;
mod key_points;
mod linexp;
mod single;
mod thermal;

pub use circuit::Circuit;
pub use double::DoubleDiode;
pub use error::ModelError;
pub use gradient::CurrentGradient;
pub use junction::{Jet, Junction};
pub use key_points::ModelKeyPoints;
pub use single::SingleDiode;
pub use thermal::{kelvin, thermal_voltage_v};

pub(crate) use error::check_points;
