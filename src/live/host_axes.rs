//! The host's sign and leads. Within, all is in generator sign: turned by
//!
//! ```text
//! V = v·(leads: ±1)        I = i·(leads: ±1)·(sign: ±1)
//! ```

use super::options::LiveOptions;
use crate::plan::Limits;
use crate::sweep::{Leads, Sign, SweepOptions, Swept};

/// Factors from the host's readings to generator sign, 1 or −1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct HostAxes {
    voltage: f64,
    current: f64,
}

impl HostAxes {
    pub fn of(options: &SweepOptions) -> Self {
        let voltage = if options.leads == Leads::Swapped { -1.0 } else { 1.0 };
        let sign = if options.sign == Sign::Load { -1.0 } else { 1.0 };
        Self { voltage, current: voltage * sign }
    }

    /// A reading in generator sign, or one in the host's: the turn is its own inverse.
    pub fn turned(self, voltage_v: f64, current_a: f64) -> (f64, f64) {
        (self.voltage * voltage_v, self.current * current_a)
    }

    /// A value of the axis that is set.
    pub fn turned_set_point(self, value: f64, swept: Swept) -> f64 {
        value * if swept == Swept::Voltage { self.voltage } else { self.current }
    }

    /// Limits in generator sign.
    pub fn limits(self, options: &LiveOptions) -> Limits {
        let turn = |(low, high): (f64, f64), by: f64| if by > 0.0 { (low, high) } else { (-high, -low) };
        Limits {
            voltage_v: turn(options.limits_v, self.voltage),
            current_a: turn(options.limits_a, self.current),
            power_w: options.limit_w.unwrap_or(f64::INFINITY),
        }
    }
}
