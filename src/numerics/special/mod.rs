//! Elementary and special functions.

pub(crate) mod exp_ln;
pub(crate) mod linear_exponential;
