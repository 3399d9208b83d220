//! Small dense and banded matrices on plain slices.
//!
//! | file | holds |
//! |---|---|
//! | `information` | Fisher information, its inverse, one observation more |
//! | `qr` | thin QR and triangular solves |
//! | `non_negative_least_squares` | min |A·x − b| with x ≥ 0 |
//! | `semidefinite` | Cholesky factor of a covariance that may be singular |
//! | `tridiagonal` | a tridiagonal covariance made independent |

pub(crate) mod information;
pub(crate) mod non_negative_least_squares;
pub(crate) mod qr;
mod semidefinite;
pub(crate) mod tridiagonal;

pub(crate) use semidefinite::semidefinite_factor;
