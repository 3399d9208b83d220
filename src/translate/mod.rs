//! A measured sweep at another irradiance and temperature: IEC 60891, procedures 1, 2 and 3.
//!
//! ```text
//! 1:  I2 = I1 + Isc1·(G2/G1 − 1) + α·ΔT              V2 = V1 − Rs·(I2 − I1) − κ·I2·ΔT + β·ΔT
//! 2:  I2 = I1·(1 + α_rel·ΔT)·G2/G1                   V2 = V1 + Voc1·(β_rel·ΔT + a·ln(G2/G1)) − R′s·(I2 − I1) − κ′·I2·ΔT
//! 3:  X3 = X1 + c·(X2 − X1), X = V, I, G, T          pairs of points with I2 − I1 = Isc2 − Isc1
//! ```
//!
//! ΔT = T2 − T1. The result is a [`Translated`]: the sweep at exactly the target condition, which carries as effects what
//! the scatter of the readings and every uncertain input (parameter, irradiance, Isc1 or Voc1) do to each of its points, so
//! that the covariance of all points and the uncertainty of every key point follow.
//!
//! | file | holds |
//! |---|---|
//! | `procedure_1`, `procedure_2`, `procedure_3` | the procedures |
//! | `condition` | where a sweep was measured, where it goes, where parameters hold |
//! | `translated`, `warning` | the result and its uncertainties; what must be known with it |
//! | `voltage_at_current` | the voltage at which a sweep carries a current |
//! | `partner` | the places on a second curve that belong to the points of a first |
//! | `straight_line` | weighted regression with the covariance of both coefficients |
//! | `sweep_set` | several sweeps of one device, and the levels at which their voltages are compared |
//! | `resistance` | Rs and R′s from several irradiances, κ and κ′ from several temperatures |
//! | `parameters` | all parameters of a procedure from two sets of sweeps |
//! | `coefficients` | α and β from several temperatures, a from several irradiances |
//!
//! # Examples
//! ```
//! use litdiode::estimate::{Estimate, Unit};
//! use litdiode::sweep::{Sweep, SweepOptions};
//! use litdiode::translate::{Procedure1, Range, Target, procedure_1};
//! let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.026 * f64::from(k)).collect();
//! let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0)).collect();
//! let light = Some(Estimate::new(900.0, 9.0, Unit::WattPerM2));
//! let sweep = Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light))?;
//! let with = Procedure1 {
//!     alpha: Estimate::new(1.5e-5, 2e-6, Unit::AmperePerKelvin),
//!     beta: Estimate::new(-0.0021, 1e-4, Unit::VoltPerKelvin),
//!     rs: Estimate::new(0.4, 0.1, Unit::Ohm),
//!     kappa: Estimate::new(0.002, 0.001, Unit::OhmPerKelvin),
//!     range: Range { irradiance_w_m2: (700.0, 1100.0), temperature_c: (20.0, 60.0) },
//! };
//! let target = Target { irradiance_w_m2: 1000.0, temperature_c: 25.0 };
//! let isc = procedure_1(&sweep, &target, &with)?.key_points().isc.unwrap();
//! // 1 % of irradiance is 1 % of Isc; the temperature did not change.
//! assert!((isc.value - 0.030 / 0.9).abs() < 1e-5 && (isc.relative_u().unwrap() - 0.01).abs() < 1e-3);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod coefficients;
mod condition;
mod error;
mod parameters;
mod partner;
mod procedure_1;
mod procedure_2;
mod procedure_3;
mod resistance;
mod straight_line;
mod sweep_set;
mod translated;
mod voltage_at_current;
mod warning;

pub use coefficients::{TemperatureCoefficients, irradiance_factor, temperature_coefficients};
pub use condition::{Range, Target};
pub use error::TranslateError;
pub use procedure_1::{Procedure1, procedure_1};
pub use procedure_2::{Procedure2, procedure_2};
pub use procedure_3::{procedure_3, share_for_irradiance, share_for_temperature};
pub use resistance::{
    curve_correction, relative_curve_correction, relative_series_resistance, series_resistance,
};
pub use straight_line::{Line, straight_line};
pub use translated::Translated;
pub use warning::{End, Warning};
