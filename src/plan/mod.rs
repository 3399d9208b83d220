//! Which set points the next sweep should take, and how many a wanted uncertainty takes.
//!
//! ```text
//! Expected (a device, several, a first fit) ─▶ Setting (devices, noise, limits) ─rows─▶ numerics::optimal_design
//!       ─▶ set points ─▶ Plan: expected u of every figure, equal steps beside it
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `information` | the Fisher information of a reading, the derivatives of a figure |
//! | `options`, `expected`, `error`, `note` | what is asked; the devices; what can be wrong; what must be known |
//! | `figures` | what can be the target |
//! | `setting` | what may be set, and what would be read there |
//! | `of_model`, `without_model` | set points for the fitted model; for key points without one |
//! | `planner` | what both give |
//! | `result`, `needed` | [`Plan`]; [`PointsNeeded`] |

mod error;
mod expected;
mod figures;
pub(crate) mod information;
mod needed;
mod note;
mod of_model;
mod options;
mod planner;
mod result;
mod setting;
mod without_model;

pub use error::PlanError;
pub use expected::Expected;
pub use needed::{PointsNeeded, points_needed};
pub use note::PlanNote;
pub use options::{Limits, Method, PlanOptions};
pub use result::{AtPoints, Plan, PlannedFigure, plan_sweep};
