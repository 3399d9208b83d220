//! Photovoltaic current–voltage curves: from a raw sweep to figures that can be quoted.
//!
//! ```text
//! readings ─▶ sweep ─▶ curve ─▶ KeyPoints (Isc, Voc, Pmax, FF, η with their uncertainties)
//!                └───▶ fit ──▶ Fit (Iph, I0, n, Rs, Rsh) ─▶ diode (the model) ─▶ KeyPoints
//! ```
//!
//! `reading` makes sweeps of files as instruments, spreadsheets and microcontrollers write them.
//!
//! [`interpolant`] draws curves through a sweep or smooths it, with exact maxima and bands.
//!
//! `translate` carries a sweep to another irradiance and temperature (IEC 60891).
//!
//! `simulate` simulates an instrument: model in, sweep with known truth out.
//!
//! [`sweep`] validates and turns readings; [`curve`] finds key points without a model; [`diode`] is the
//! forward models; [`fit`] finds their parameters. Every figure is an [`estimate::Estimate`].
//!
//! `resistance` sets the estimators of Rs and Rsh side by side, `maximum_power` those of the maximum power.
//! `numerics` holds what knows nothing of photovoltaics, among it [`cancel`], which stops long work; [`code`] numbers the
//! errors and the reasons.
//!
//! Where a figure, its ± or an end of its interval is missing, a [`reason::Reason`] says why.
//!
//! `detection` says what an instrument can detect, `instrument_check` whether it reads right, `hysteresis` and `step_response` how slowly a device
//! follows a sweep.
//!
//! `live` is a sweep while it is measured: running figures, and the set point that tells most.
//!
//! `plan` says where the next sweep should be measured, and how many readings a wanted uncertainty takes.
//!
//! `remarks` says what must be known with the figures of a sweep; [`quantity_format`] writes every number with a unit.
//!
//! # Features
//! All are on by default; a host that leaves them out has nothing to do with what they depend on.
//!
//! | feature | adds |
//! |---|---|
//! | `argmin` | `fit::BoundedLevenbergMarquardt`, the solver of [`fit::minimise`] with the observers of `argmin` |
//! | `methods` | `resistance`, `maximum_power`, `translate`, `remarks`, `hysteresis`, `step_response`, `detection`, `instrument_check`, `plan`, `live` |
//! | `reading` | `reading`, files of text to sweeps |
//! | `serde` | `Serialize` and `Deserialize` for options and results, and `serde_float`, their forms of numbers |
//! | `simulate` | `simulate`, the simulated instrument |
//!
//! # Examples
//! ```
//! use litdiode::{curve, fit, sweep::{Sweep, SweepOptions}};
//! let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.025 * f64::from(k)).collect();
//! let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0).collect();
//! let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
//! let points = curve::key_points(&sweep);
//! assert!((points.isc.unwrap().value - 0.030).abs() < 1e-4);
//! let fitted = fit::fit_single_diode(&sweep, &fit::Options::default())?;
//! assert!((fitted.parameter(fit::Parameter::Rsh).unwrap().value - 500.0).abs() < 0.5);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#![warn(missing_docs)]
#![warn(clippy::too_many_lines, clippy::excessive_nesting)]
// Rooms of `methods` stand on parts of the others that nobody else uses.
#![cfg_attr(not(feature = "methods"), allow(dead_code, unused_imports))]
#![cfg_attr(not(test), warn(clippy::unwrap_used, clippy::expect_used, clippy::panic))]

pub mod code;
pub mod curve;
#[cfg(feature = "methods")]
pub mod detection;
pub mod diode;
pub mod fit;
#[cfg(feature = "methods")]
pub mod hysteresis;
#[cfg(feature = "methods")]
pub mod instrument_check;
pub mod interpolant;
#[cfg(feature = "methods")]
pub mod live;
#[cfg(feature = "methods")]
pub mod maximum_power;
mod numerics;
#[cfg(feature = "methods")]
pub mod plan;
mod quantity;
#[cfg(feature = "reading")]
pub mod reading;
#[cfg(feature = "methods")]
pub mod remarks;
#[cfg(feature = "methods")]
pub mod resistance;
mod setters;
#[cfg(feature = "simulate")]
pub mod simulate;
#[cfg(feature = "methods")]
pub mod step_response;
pub mod sweep;
#[cfg(feature = "methods")]
pub mod translate;

#[cfg(feature = "serde")]
pub use numerics::serde_float;
pub use numerics::{cancel, threads};
pub use quantity::{arithmetic, budget, estimate, format as quantity_format, key_points, reason, source};
