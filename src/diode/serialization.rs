//! A [`Device`] as plain data: what comes back has been validated, or is an error.

use super::device::{Device, Parameters};
use super::error::ModelError;
use serde::{Deserialize, Serialize};

/// The serialised form: lists in place of arrays, an infinite Rsh as a word.
#[derive(Serialize, Deserialize)]
pub(super) struct Plain {
    iph_a: f64,
    i0_a: Vec<f64>,
    n: Vec<f64>,
    rs_ohm: f64,
    #[serde(with = "crate::numerics::serde_float::real")]
    rsh_ohm: f64,
    cells: u32,
    temperature_c: f64,
}

impl<const K: usize> From<Device<K>> for Plain {
    fn from(device: Device<K>) -> Self {
        let Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c } = *device.parameters();
        Self { iph_a, i0_a: i0_a.to_vec(), n: n.to_vec(), rs_ohm, rsh_ohm, cells, temperature_c }
    }
}

impl<const K: usize> TryFrom<Plain> for Device<K> {
    type Error = ModelError;

    fn try_from(plain: Plain) -> Result<Self, ModelError> {
        let Plain { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c } = plain;
        let array = |name, list: Vec<f64>| {
            let given = list.len();
            <[f64; K]>::try_from(list).map_err(|_| ModelError::Length { name, given, wanted: K })
        };
        let (i0_a, n) = (array("i0_a", i0_a)?, array("n", n)?);
        Self::new(Parameters { iph_a, i0_a, n, rs_ohm, rsh_ohm, cells, temperature_c })
    }
}
