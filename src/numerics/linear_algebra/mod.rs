//! Small dense and banded matrices on plain slices.
//!
//! | file | holds |
//! |---|---|
//! | `qr` | thin QR and triangular solves |
//! | `non_negative_least_squares` | min |A·x − b| with x ≥ 0 |
//! | `tridiagonal` | a tridiagonal covariance made independent |

pub(crate) mod non_negative_least_squares;
pub(crate) mod qr;
pub(crate) mod tridiagonal;
