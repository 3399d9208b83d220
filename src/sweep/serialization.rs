//! A [`Sweep`] as plain data: what comes back is whole, or an error.

use super::{Sweep, validate};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

impl Serialize for Sweep {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        Self::serialize(self, s)
    }
}

/// What comes back has been checked like readings, or is an error.
impl<'de> Deserialize<'de> for Sweep {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let sweep = Self::deserialize(d)?;
        validate::points(sweep.voltage_v(), sweep.current_a())
            .and_then(|()| validate::options(sweep.options(), sweep.len()))
            .map_err(serde::de::Error::custom)?;
        Ok(sweep)
    }
}
