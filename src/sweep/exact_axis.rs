//! Which axis of a sweep was set, and which counts as exact.

use super::{Noise, Sweep, Swept, range};

impl Sweep {
    /// What was set, and what was read.
    pub(crate) fn set_and_read(&self) -> (&[f64], &[f64]) {
        match self.options().swept {
            Swept::Voltage => (self.voltage_v(), self.current_a()),
            Swept::Current => (self.current_a(), self.voltage_v()),
        }
    }

    /// The axis whose readings count as exact: the one that was set, but for a sweep whose current was set and scatters more, as
    /// a share of its range, than the voltage by the stated noise. About Isc, where the voltage falls over a step or two of the
    /// current, the scatter of the current is all of the voltage's, which then counts for nothing there.
    pub(crate) fn exact_axis(&self) -> Swept {
        let swept = self.options().swept;
        let stated = self.options().noise.filter(Noise::states_scatter);
        let Some(noise) = stated.filter(|_| swept == Swept::Current) else { return swept };
        let size = |x: &[f64]| {
            let (low, high) = range(x);
            (high - low, low.abs().max(high.abs()))
        };
        let ((span_v, most_v), (span_i, most_i)) = (size(self.voltage_v()), size(self.current_a()));
        let of_current = noise.sigma_current(most_i) * span_v > noise.sigma_voltage(most_v) * span_i;
        if of_current { Swept::Voltage } else { Swept::Current }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sweep::SweepOptions;

    /// Voltages over 0.5 V and currents over 10 mA.
    #[test]
    fn of_stepped_currents_the_axis_of_less_noise_is_exact() {
        let axis = |swept, noise: Option<Noise>| {
            let options = SweepOptions::default().swept(swept).noise(noise);
            Sweep::new(&[0.5, 0.4, 0.0], &[0.0, 6e-3, 10e-3], options).unwrap().exact_axis()
        };
        let noise = |volt: f64, ampere: f64| Some(Noise::default().voltage_v(volt).current_a(ampere));
        assert_eq!(axis(Swept::Current, None), Swept::Current);
        assert_eq!(axis(Swept::Current, noise(5e-3, 0.0)), Swept::Current);
        assert_eq!(axis(Swept::Current, noise(5e-3, 99e-6)), Swept::Current);
        assert_eq!(axis(Swept::Current, noise(5e-3, 101e-6)), Swept::Voltage);
        assert_eq!(axis(Swept::Current, noise(0.0, 1e-6)), Swept::Voltage);
        for stated in [None, noise(5e-3, 0.0), noise(5e-3, 101e-6)] {
            assert_eq!(axis(Swept::Voltage, stated), Swept::Voltage);
        }
    }
}
