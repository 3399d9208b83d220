//! What one standard uncertainty of each source that is common to all points does to the readings.

use super::residuals::Points;
use crate::sweep::{Effect, Noise, Reach, SweepOptions};

/// The gains and offsets of the noise that are stated, then the effects of the sweep that have one source.
pub(super) fn common_sources(points: &Points, options: &SweepOptions) -> Vec<Effect> {
    let (v, i) = (&points.voltage_v, &points.current_a);
    let none = || vec![0.0; v.len()];
    let gain = |u: f64, x: &[f64]| x.iter().map(|x| u * x).collect::<Vec<f64>>();
    let offset = |u: f64| vec![u; v.len()];
    let [gain_v, offset_v, gain_i, offset_i] = options.noise.unwrap_or_default().common();
    let stated = [
        (gain_v, gain(gain_v, v), none()),
        (offset_v, offset(offset_v), none()),
        (gain_i, none(), gain(gain_i, i)),
        (offset_i, none(), offset(offset_i)),
    ];
    let identities = options.noise.unwrap_or_default().identities();
    let named = Noise::COMMON.into_iter().zip(stated).zip(identities);
    let of_noise = named.filter(|((_, (u, ..)), _)| *u > 0.0).map(|((name, (_, dv, di)), identity)| {
        let mut effect = Effect::new(name, Reach::Common, dv, di);
        effect.identity = identity;
        effect
    });
    of_noise.chain(options.effects.iter().filter(|e| e.reach == Reach::Common).cloned()).collect()
}
