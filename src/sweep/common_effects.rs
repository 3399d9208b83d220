//! What one standard uncertainty of each source that is common to all points does to the readings.

use super::{Effect, Leads, Noise, Reach, Sign, Sweep, SweepOptions};

/// The gains and offsets of the noise that are stated, then the effects of the sweep that have one source, at points (v, i).
pub(crate) fn common_effects((v, i): (&[f64], &[f64]), options: &SweepOptions) -> Vec<Effect> {
    of_noise((v, i), options.noise).into_iter().chain(of_one_source(options)).collect()
}

fn of_noise((v, i): (&[f64], &[f64]), noise: Option<Noise>) -> Vec<Effect> {
    let noise = noise.unwrap_or_default();
    let none = || vec![0.0; v.len()];
    let gain = |u: f64, x: &[f64]| x.iter().map(|x| u * x).collect::<Vec<f64>>();
    let offset = |u: f64| vec![u; v.len()];
    let [gain_v, offset_v, gain_i, offset_i] = noise.common();
    let stated = [
        (gain_v, gain(gain_v, v), none()),
        (offset_v, offset(offset_v), none()),
        (gain_i, none(), gain(gain_i, i)),
        (offset_i, none(), offset(offset_i)),
    ];
    let named = Noise::COMMON.into_iter().zip(stated).zip(noise.identities());
    let made = named.filter(|((_, (u, ..)), _)| *u > 0.0).map(|((name, (_, dv, di)), identity)| {
        let mut effect = Effect::new(name, Reach::Common, dv, di);
        effect.identity = identity;
        effect
    });
    made.collect()
}

/// The effects of a sweep that have one source.
pub(crate) fn of_one_source(options: &SweepOptions) -> impl Iterator<Item = Effect> {
    options.effects.iter().filter(|e| e.reach == Reach::Common).cloned()
}

/// What one standard uncertainty of a source makes of a figure: half its difference with the points at ± one; from one side where
/// the other gives none, `None` where neither does.
pub(crate) fn half_difference(up: Option<f64>, here: f64, down: Option<f64>) -> Option<f64> {
    match (up, down) {
        (Some(up), Some(down)) => Some(0.5 * (up - down)),
        (Some(up), None) => Some(up - here),
        (None, Some(down)) => Some(here - down),
        (None, None) => None,
    }
}

impl Sweep {
    /// The sweep with its points moved by `sign` standard uncertainties of `effect`, without what is common to them otherwise;
    /// `None` where they are no sweep then.
    pub(crate) fn moved(&self, effect: &Effect, sign: f64) -> Option<Self> {
        let shift =
            |x: &[f64], by: &[f64]| -> Vec<f64> { x.iter().zip(by).map(|(x, e)| x + sign * e).collect() };
        let voltage_v = shift(self.voltage_v(), &effect.voltage_v);
        let current_a = shift(self.current_a(), &effect.current_a);
        let mut options = self.options().clone().sign(Sign::Generator).leads(Leads::AsGiven);
        options.effects.retain(|e| e.reach == Reach::Each);
        Self::new(&voltage_v, &current_a, options).ok()
    }
}
