//! Small dense and banded matrices on plain slices.

pub(crate) mod non_negative_least_squares;
pub(crate) mod qr;
pub(crate) mod tridiagonal;
