//! A measured sweep at another irradiance and temperature: IEC 60891, procedures 1, 2 and 3.
//!
//! ```text
//! 1:  I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT              V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT
//! 2:  I2 = I1·(1 + α_rel·ΔT)·G2/G1                   V2 = V1 + Voc1·(β_rel·ΔT + a·ln(G2/G1)) − R′s·(I2 − I1) − κ′·I2·ΔT
//! 3:  X3 = X1 + c·(X2 − X1), X = V, I, G, T          pairs of points with I2 − I1 = Isc2 − Isc1
//! ```
//!
//! ΔT = T2 − T1. The result is a [`Translated`]: the sweep at exactly the target condition, and what every
//! uncertain input (parameter, irradiance, Isc1 or Voc1) does to each of its points, so that the covariance
//! of all points and the uncertainty of every figure follow.
//!
//! | file | holds |
//! |---|---|
//! | `procedure_1`, `procedure_2`, `procedure_3` | the procedures |
//! | `condition` | where a sweep was measured, where it goes, where parameters hold |
//! | `translated` | the result and its uncertainties |
//! | `pairing` | the voltage at which a sweep carries a current |
//! | `straight_line` | weighted regression with the covariance of both coefficients |
//! | `set` | several sweeps of one device, and the levels at which their voltages are compared |
//! | `resistance` | Rs and R′s from several irradiances, κ and κ′ from several temperatures |
//! | `coefficients` | α and β from several temperatures, a from several irradiances |

mod coefficients;
mod condition;
mod error;
mod pairing;
mod procedure_1;
mod procedure_2;
mod procedure_3;
mod resistance;
mod set;
mod straight_line;
mod translated;

pub use coefficients::{TemperatureCoefficients, irradiance_factor, temperature_coefficients};
pub use condition::{Range, Target};
pub use error::TranslateError;
pub use procedure_1::{Procedure1, procedure_1};
pub use procedure_2::{Procedure2, procedure_2};
pub use procedure_3::procedure_3;
pub use resistance::{
    curve_correction, relative_curve_correction, relative_series_resistance, series_resistance,
};
pub use straight_line::{Line, straight_line};
pub use translated::{Effect, Translated};
