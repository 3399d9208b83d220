//! Least squares: bounded and nonlinear, or linear.
//!
//! | file | holds |
//! |---|---|
//! | `problem` | residuals, bounds, why a descent stops |
//! | `levenberg_marquardt` | one descent, advanced a step at a time |
//! | `minimise` | a descent from its start to its end |
//! | `bounded_step` | one damped step within a box |
//! | `budget` | evaluations that all stages of a search share |
//! | `argmin_adapter` | the descent as a solver of `argmin` (feature `argmin`) |
//! | `linear` | minimise |A·c − b|² |
//! | `regression` | weighted regression with scatter on both axes, with its covariance |

#[cfg(feature = "argmin")]
pub(crate) mod argmin_adapter;
pub(crate) mod bounded_step;
pub(crate) mod budget;
pub(crate) mod error;
pub(crate) mod levenberg_marquardt;
pub(crate) mod linear;
pub(crate) mod minimise;
pub(crate) mod problem;
pub(crate) mod regression;
