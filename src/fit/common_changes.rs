//! What one standard uncertainty of each source that is common to all points does to the readings.

use super::residuals::Points;
use crate::sweep::{Effect, Reach, SweepOptions};

/// The names of the sources, in the order of [`common_changes`].
pub(super) fn common_names(options: &SweepOptions) -> Vec<String> {
    let mut names = Vec::new();
    if let Some(noise) = &options.noise {
        let stated = [
            (noise.voltage_gain_u, "voltage gain"),
            (noise.voltage_offset_u, "voltage offset"),
            (noise.current_gain_u, "current gain"),
            (noise.current_offset_u, "current offset"),
        ];
        names.extend(stated.into_iter().filter(|s| s.0 > 0.0).map(|s| s.1.to_owned()));
    }
    names.extend(effects(options).map(|e| e.name.clone()));
    names
}

/// Changes of all voltages in V and of all currents in A by each source: gains and offsets of the noise, effects of reach
/// Common.
pub(super) fn common_changes(points: &Points, options: &SweepOptions) -> Vec<(Vec<f64>, Vec<f64>)> {
    let (v, i) = (&points.voltage_v, &points.current_a);
    let none = || vec![0.0; v.len()];
    let gain = |u: f64, x: &[f64]| x.iter().map(|x| u * x).collect::<Vec<f64>>();
    let mut changes = Vec::new();
    if let Some(noise) = &options.noise {
        let offset = |u: f64| vec![u; v.len()];
        let stated = [
            (noise.voltage_gain_u, (gain(noise.voltage_gain_u, v), none())),
            (noise.voltage_offset_u, (offset(noise.voltage_offset_u), none())),
            (noise.current_gain_u, (none(), gain(noise.current_gain_u, i))),
            (noise.current_offset_u, (none(), offset(noise.current_offset_u))),
        ];
        changes.extend(stated.into_iter().filter(|(u, _)| *u > 0.0).map(|(_, change)| change));
    }
    changes.extend(effects(options).map(|e| (e.voltage_v.clone(), e.current_a.clone())));
    changes
}

fn effects(options: &SweepOptions) -> impl Iterator<Item = &Effect> {
    options.effects.iter().filter(|e| e.reach == Reach::Common)
}
