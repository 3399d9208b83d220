//! Elementary and special functions.
//!
//! | file | holds |
//! |---|---|
//! | `exp_ln` | exp, exp − 1 and ln, the same bits on every machine |
//! | `linear_exponential` | x + eˣ = y and its kin, to the last bits |

pub(crate) mod exp_ln;
pub(crate) mod linear_exponential;
