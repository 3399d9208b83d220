//! The noise of an instrument as one of its sweeps shows it.
//!
//! ```text
//! σ² = floor² + (rel·x)² on the axis that was read, from what the readings leave about the curve; u(σ) = σ/√(2ν)
//! ```

use super::figures_of_points::{analysis_of_noise, noise};
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Sweep, Swept};

/// Part of σ that counts as even along the sweep.
const EVEN: f64 = 1e-6;

/// The scatter of the readings of `sweep` on the axis that was read, with the degrees of freedom behind it, whatever noise the
/// sweep states; gains, offsets and the other axis are those stated.
///
/// # Errors
/// The reason why the readings show no scatter, for instance fewer than seven.
///
/// # Examples
/// ```
/// use litdiode::curve::estimate_noise;
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, mut i) = cell.curve(60);
/// i.iter_mut().enumerate().for_each(|(k, i)| *i += 2e-5 * (k as f64 * 12.9898).sin() * 2f64.sqrt()); // σ of 20 µA
/// let found = estimate_noise(&Sweep::new(&v, &i, SweepOptions::default())?)?;
/// assert!((found.current_a / 2e-5 - 1.0).abs() < 3.0 / (2.0 * found.scatter_dof).sqrt());
/// assert_eq!(found.voltage_v, 0.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn estimate_noise(sweep: &Sweep) -> Result<Noise, Reason> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let (stated, _) = noise(sweep);
    let (analysis, _) = analysis_of_noise(sweep, &Noise::default(), v, i).ok_or(Reason::NoDeviceCurve)?;
    let (scatter, readings) = (&analysis.scatter, &analysis.readings);
    if let Some(why) = &scatter.unknown {
        return Err(why.clone());
    }
    let scatter_dof = scatter.dof;
    Ok(match sweep.options().swept {
        Swept::Voltage => {
            let (floor, rel) = floor_and_part(&scatter.current, readings.smooth());
            let (current_a, current_rel) = (floor * readings.unit_a, rel);
            Noise { current_a, current_rel, current_step_a: 0.0, scatter_dof, ..stated }
        }
        Swept::Current => {
            let (floor, rel) = floor_and_part(&scatter.voltage, &readings.voltage);
            let (voltage_v, voltage_rel) = (floor * readings.unit_v, rel);
            Noise { voltage_v, voltage_rel, voltage_step_v: 0.0, scatter_dof, ..stated }
        }
    })
}

/// Floor and proportional part of σ along x: σ² is linear in x².
fn floor_and_part(sigma: &[f64], x: &[f64]) -> (f64, f64) {
    let by_size = |a: &&usize, b: &&usize| x[**a].abs().total_cmp(&x[**b].abs());
    let all: Vec<usize> = (0..sigma.len().min(x.len())).collect();
    let (Some(&small), Some(&large)) = (all.iter().min_by(by_size), all.iter().max_by(by_size)) else {
        return (0.0, 0.0);
    };
    let (s2, l2) = (sigma[small].powi(2), sigma[large].powi(2));
    let span = x[large].powi(2) - x[small].powi(2);
    let part = if span > 0.0 { (l2 - s2) / span } else { 0.0 };
    if part <= EVEN * s2 {
        return (s2.sqrt(), 0.0);
    }
    ((s2 - part * x[small].powi(2)).max(0.0).sqrt(), part.sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_floor_and_a_part_come_back() {
        let x = [0.9, -0.05, 0.4, 2.0];
        for (floor, part) in [(0.1, 0.05), (0.02, 0.2), (0.3, 0.0)] {
            let sigma = x.map(|x: f64| f64::hypot(floor, part * x));
            let found = floor_and_part(&sigma, &x);
            assert!((found.0 - floor).abs() < 1e-12 && (found.1 - part).abs() < 1e-12, "{found:?}");
        }
        // A scatter that falls with the size is taken as even.
        assert_eq!(floor_and_part(&[0.1, 0.3], &[1.0, 0.5]), (0.3, 0.0));
        assert_eq!(floor_and_part(&[], &[]), (0.0, 0.0));
    }
}
