//! Numbers as plain data, and in messages.

#[cfg(feature = "serde")]
mod serial;

#[cfg(feature = "serde")]
pub use serial::{list, option, pair, real};

/// A number in a message: not in hundreds of digits.
pub(crate) fn shown(x: &f64) -> String {
    let ordinary = *x == 0.0 || !x.is_finite() || (1e-5..1e16).contains(&x.abs());
    if ordinary { format!("{x}") } else { format!("{x:e}") }
}
