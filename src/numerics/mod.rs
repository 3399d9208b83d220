//! Numerical methods that know nothing of photovoltaics: what the other rooms compute with.
//!
//! | room | holds |
//! |---|---|
//! | `linear_algebra` | QR of small dense matrices, non-negative least squares, tridiagonal covariances, Fisher information |
//! | `least_squares` | bounded Levenberg–Marquardt; linear, weighted and straight-line regression |
//! | `local_polynomial` | weighted local polynomials, one window at a time and several in vector code |
//! | `optimal_design` | exact designs: where to observe so that one combination is known best |
//! | `roots` | roots of a function in a bracket, of a cubic in an interval |
//! | `special` | exp and ln that are the same bits everywhere, the linear–exponential equation |
//! | `statistics` | variance ratios, the truncated normal distribution, ranges |
//! | `serde_float` | f64 in stored text, with infinities (feature `serde`), and in messages |
//! | [`threads`] | the same job for many rows |
//! | [`cancel`] | stopping long work |

pub mod cancel;
pub(crate) mod least_squares;
pub(crate) mod linear_algebra;
pub(crate) mod local_polynomial;
pub(crate) mod optimal_design;
pub(crate) mod roots;
pub mod serde_float;
pub(crate) mod special;
pub(crate) mod statistics;
pub mod threads;
