//! Arrays in text: their numbers in C order, an infinite one as a word, and their shape.

use ndarray::{ArrayD, IxDyn, ShapeError};
use serde::{Deserialize, Serialize};

#[derive(Serialize, Deserialize)]
struct Stored {
    #[serde(with = "crate::numerics::serde_float::list")]
    values: Vec<f64>,
    shape: Vec<usize>,
}

impl From<&ArrayD<f64>> for Stored {
    fn from(array: &ArrayD<f64>) -> Self {
        Self { values: array.iter().copied().collect(), shape: array.shape().to_vec() }
    }
}

impl TryFrom<Stored> for ArrayD<f64> {
    type Error = ShapeError;

    fn try_from(stored: Stored) -> Result<Self, ShapeError> {
        Self::from_shape_vec(IxDyn(&stored.shape), stored.values)
    }
}

/// One array.
pub mod array {
    use super::{ArrayD, Stored};
    use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error};

    pub fn serialize<S: Serializer>(array: &ArrayD<f64>, to: S) -> Result<S::Ok, S::Error> {
        Stored::from(array).serialize(to)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<ArrayD<f64>, D::Error> {
        Stored::deserialize(from)?.try_into().map_err(D::Error::custom)
    }
}

/// Several arrays.
pub mod arrays {
    use super::{ArrayD, Stored};
    use serde::{Deserialize, Deserializer, Serializer, de::Error};

    pub fn serialize<S: Serializer>(arrays: &[ArrayD<f64>], to: S) -> Result<S::Ok, S::Error> {
        to.collect_seq(arrays.iter().map(Stored::from))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Vec<ArrayD<f64>>, D::Error> {
        let stored = Vec::<Stored>::deserialize(from)?;
        stored.into_iter().map(|one| one.try_into().map_err(D::Error::custom)).collect()
    }
}
