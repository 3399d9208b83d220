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

/// Reads and writes a type that is derived with `#[serde(remote = "Self")]`; what its `wrong` says of it refuses it.
#[cfg(feature = "serde")]
macro_rules! checked {
    ($type:ty) => {
        impl serde::Serialize for $type {
            fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
                <$type>::serialize(self, s)
            }
        }

        impl<'de> serde::Deserialize<'de> for $type {
            fn deserialize<D: serde::Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
                let read = <$type>::deserialize(d)?;
                match read.wrong() {
                    Some(why) => Err(serde::de::Error::custom(why)),
                    None => Ok(read),
                }
            }
        }
    };
}
#[cfg(feature = "serde")]
pub(crate) use checked;
