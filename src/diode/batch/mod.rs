//! Many devices at once: every parameter, and every voltage or current, a number or an array, broadcast.
//!
//! ```text
//! I = Iph − Σk I0k·(exp((V + I·Rs)/(nk·cells·k·T/q)) − 1) − (V + I·Rs)/Rsh          at each place of the common shape
//! ```
//!
//! | file | holds |
//! |---|---|
//! | `broadcasting` | broadcasting, and a walk through operands of different shapes |
//! | `kernel` | the work: block by block, on threads |
//! | `devices` | [`Devices`]: validated parameters of many devices |
//! | `serialization` | arrays as plain data (feature `serde`) |

mod broadcasting;
mod devices;
mod kernel;
#[cfg(feature = "serde")]
mod serialization;

pub use broadcasting::broadcast;
pub use devices::{Devices, DevicesParameters};
pub use kernel::BatchKeyPoints;

use super::circuit::Circuit;
use super::device::Device;
use super::error::{ModelError, check_points};
use super::simd::{self, Wanted};
use std::num::NonZeroUsize;

impl<const K: usize> Device<K> {
    /// [`Self::current`] on `threads` threads (all that the machine offers if `None`).
    ///
    /// # Errors
    /// Unequal lengths; a voltage that is not finite.
    pub fn current_on(
        &self,
        voltage_v: &[f64],
        threads: Option<NonZeroUsize>,
        current_a: &mut [f64],
    ) -> Result<(), ModelError> {
        one(self.circuit(), Wanted::Current, ("voltage_v", voltage_v), threads, current_a)
    }

    /// [`Self::voltage`] on `threads` threads (all that the machine offers if `None`).
    ///
    /// # Errors
    /// Unequal lengths; a current that is not finite.
    pub fn voltage_on(
        &self,
        current_a: &[f64],
        threads: Option<NonZeroUsize>,
        voltage_v: &mut [f64],
    ) -> Result<(), ModelError> {
        one(self.circuit(), Wanted::Voltage, ("current_a", current_a), threads, voltage_v)
    }
}

/// One circuit at many points.
fn one<const K: usize>(
    c: &Circuit<K>,
    wanted: Wanted,
    (name, x): (&'static str, &[f64]),
    threads: Option<NonZeroUsize>,
    out: &mut [f64],
) -> Result<(), ModelError> {
    if x.len() != out.len() {
        return Err(ModelError::Length { name, given: x.len(), wanted: out.len() });
    }
    check_points(name, x)?;
    kernel::shared(threads, out, |from, out| simd::along(wanted, c, &x[from..][..out.len()], out));
    Ok(())
}
