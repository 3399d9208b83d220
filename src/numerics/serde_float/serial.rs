//! Real numbers as plain data: finite ones as numbers, the others as "inf", "-inf", "nan".
//!
//! JSON has no infinity, and Rsh, degrees of freedom and bounds may be infinite; a value written
//! with these functions comes back to the bit.

use serde::{Deserialize, Deserializer, Serialize, Serializer};

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum Plain {
    Number(f64),
    Word(String),
}

fn plain(x: f64) -> Plain {
    if x.is_finite() { Plain::Number(x) } else { Plain::Word(format!("{x}").to_lowercase()) }
}

fn number<E: serde::de::Error>(p: Plain) -> Result<f64, E> {
    match p {
        Plain::Number(x) => Ok(x),
        Plain::Word(w) => w.parse().map_err(|_| E::custom(format!("{w:?} is not a number"))),
    }
}

/// For a field of type `f64`: `#[serde(with = "crate::numerics::serde_float::real")]`.
pub mod real {
    use super::*;

    /// Writes one number.
    pub fn serialize<S: Serializer>(x: &f64, s: S) -> Result<S::Ok, S::Error> {
        plain(*x).serialize(s)
    }

    /// Reads one number.
    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<f64, D::Error> {
        number(Plain::deserialize(d)?)
    }
}

/// For a field of type `Option<f64>`: `#[serde(with = "crate::numerics::serde_float::option")]`.
pub mod option {
    use super::*;

    /// Writes a number or nothing.
    pub fn serialize<S: Serializer>(x: &Option<f64>, s: S) -> Result<S::Ok, S::Error> {
        x.map(plain).serialize(s)
    }

    /// Reads a number or nothing.
    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Option<f64>, D::Error> {
        Option::<Plain>::deserialize(d)?.map(number).transpose()
    }
}

/// For a field of type `(f64, f64)`: `#[serde(with = "crate::numerics::serde_float::pair")]`.
pub mod pair {
    use super::*;

    /// Writes two numbers.
    pub fn serialize<S: Serializer>(x: &(f64, f64), s: S) -> Result<S::Ok, S::Error> {
        (plain(x.0), plain(x.1)).serialize(s)
    }

    /// Reads two numbers.
    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<(f64, f64), D::Error> {
        let (low, high) = <(Plain, Plain)>::deserialize(d)?;
        Ok((number(low)?, number(high)?))
    }
}

/// For a field of type `Vec<f64>`: `#[serde(with = "crate::numerics::serde_float::list")]`.
pub mod list {
    use super::*;

    /// Writes a list of numbers.
    pub fn serialize<S: Serializer>(xs: &[f64], s: S) -> Result<S::Ok, S::Error> {
        s.collect_seq(xs.iter().copied().map(plain))
    }

    /// Reads a list of numbers.
    pub fn deserialize<'de, D: Deserializer<'de>>(d: D) -> Result<Vec<f64>, D::Error> {
        Vec::<Plain>::deserialize(d)?.into_iter().map(number).collect()
    }
}
