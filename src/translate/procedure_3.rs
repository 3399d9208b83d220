//! IEC 60891, procedure 3: between two measured sweeps, without any parameter.
//!
//! ```text
//! X3 = X1 + c·(X2 − X1)    X = V, I, G, T         pairs of points with I2 − I1 = Isc2 − Isc1
//! ```
//!
//! The result belongs to exactly the G3 of the stated irradiances. That these are uncertain moves its points:
//! an error dG1 or dG2 means that another c would have led to G3,
//!
//! ```text
//! dc = −[(1 − c)·dG1 + c·dG2]/(G2 − G1)
//! ```

use super::condition::{Measured, Target, condition};
use super::error::TranslateError;
use super::pairing::Curve;
use super::translated::{Points, Translated, change};
use crate::estimate::{Estimate, Unit};
use crate::sweep::{Noise, Sweep};

/// Least number of pairs that is still a curve.
const FEWEST: usize = 5;

/// The sweep at the share `c` of the way from `first` (c = 0) to `second` (c = 1); beyond, it extrapolates and
/// warns.
///
/// Each point of `first` is paired with the point of `second` that carries Isc2 − Isc1 more, found between
/// readings. Points without a partner are left out, and a warning says how many. `correlation` (−1 to 1)
/// is that of the errors of the two irradiances: 1 for one reference device, 0 for two. A stated
/// scatter is not carried over, for the new points mix both sweeps; gains and offsets of the first are.
///
/// # Errors
/// [`TranslateError`]: no irradiance, no Isc, a `c` that leads below zero light, too few pairs.
///
/// # Source
/// IEC 60891:2009, clause 3.4 (from memory).
pub fn procedure_3(
    first: &Sweep,
    second: &Sweep,
    c: f64,
    correlation: f64,
) -> Result<Translated, TranslateError> {
    let (one, two) = (Measured::new(first, 0)?, Measured::new(second, 1)?);
    if !correlation.is_finite() || correlation.abs() > 1.0 {
        let cure = "give the correlation of the errors of both irradiances, −1 to 1";
        return Err(TranslateError::Number { name: "correlation", value: correlation, cure });
    }
    let between = |a: f64, b: f64| a + c * (b - a);
    let (g1, g2) = (one.irradiance.value, two.irradiance.value);
    let target = Target {
        irradiance_w_m2: between(g1, g2),
        temperature_c: between(one.temperature_c, two.temperature_c),
    };
    target.validate()?;
    let pairs = Pairs::of(&one, &two)?;
    let (i1, v1) = (first.current_a(), first.voltage_v());
    let current = pairs.kept.iter().map(|&k| i1[k] + c * pairs.step_a).collect();
    let voltage = pairs.kept.iter().zip(&pairs.voltage_step_v).map(|(&k, step)| v1[k] + c * step).collect();
    let mut points = Points::new(current, voltage);
    points.warnings = warnings(c, first.len() - pairs.kept.len(), first.len());
    light(&mut points, &one, &two, &pairs, c, correlation);
    let time_s = first.options().time_s.as_ref().map(|t| pairs.kept.iter().map(|&k| t[k]).collect());
    let noise = first.options().noise.map(|n| Noise {
        voltage_gain_u: n.voltage_gain_u,
        current_gain_u: n.current_gain_u,
        voltage_offset_u: n.voltage_offset_u,
        current_offset_u: n.current_offset_u,
        ..Noise::default()
    });
    let why = format!(
        "c = {c} towards a sweep at {g2} W/m², {} °C; {} of {} points paired",
        two.temperature_c,
        pairs.kept.len(),
        first.len()
    );
    points.at(&target, &one, time_s, noise, change(3, &one.condition(), &target, why))
}

/// The share `c` of the way from `first` to `second` at which the irradiance is `irradiance_w_m2` (W/m²).
///
/// # Errors
/// [`TranslateError`]: no irradiance, two equal ones, a number that is not finite.
pub fn share_for_irradiance(
    first: &Sweep,
    second: &Sweep,
    irradiance_w_m2: f64,
) -> Result<f64, TranslateError> {
    let (one, two) = (condition(first, 0)?, condition(second, 1)?);
    share("irradiance_w_m2", [one.irradiance_w_m2, two.irradiance_w_m2], irradiance_w_m2)
}

/// The same for a temperature in °C.
///
/// # Errors
/// [`TranslateError`]: two equal temperatures, a number that is not finite.
pub fn share_for_temperature(
    first: &Sweep,
    second: &Sweep,
    temperature_c: f64,
) -> Result<f64, TranslateError> {
    share("temperature_c", [first, second].map(|s| s.options().temperature_c), temperature_c)
}

fn share(name: &'static str, [x1, x2]: [f64; 2], x3: f64) -> Result<f64, TranslateError> {
    if x1 == x2 {
        let cure = "it is the same in both sweeps and says nothing of the way between them: give c";
        return Err(TranslateError::Number { name, value: x3, cure });
    }
    let c = (x3 - x1) / (x2 - x1);
    if !c.is_finite() {
        return Err(TranslateError::Number { name, value: x3, cure: "give a finite number" });
    }
    Ok(c)
}

/// Points of the first sweep with a partner, and how far away it is.
struct Pairs {
    kept: Vec<usize>,
    voltage_step_v: Vec<f64>,
    step_a: f64,
}

impl Pairs {
    fn of(one: &Measured, two: &Measured) -> Result<Self, TranslateError> {
        let (isc1, isc2) = (one.figure("isc")?, two.figure("isc")?);
        let step_a = isc2.value - isc1.value;
        // On the flat part readings end where scatter lets them: a partner may miss by that much.
        let scatter = one.scatter_a().hypot(two.scatter_a());
        let slack = (3.0 * scatter).max(1e-6 * isc2.value);
        let curve = Curve::of(two.sweep);
        let (v, i) = (one.sweep.voltage_v(), one.sweep.current_a());
        let partner = |k: usize| Some((k, curve.voltage_at(i[k] + step_a, v[k], slack)? - v[k]));
        let (kept, voltage_step_v): (Vec<usize>, Vec<f64>) = (0..v.len()).filter_map(partner).unzip();
        if kept.len() < FEWEST {
            let (given, points) = (kept.len(), v.len());
            return Err(TranslateError::Unpaired { given, points, shift_a: step_a });
        }
        Ok(Self { kept, voltage_step_v, step_a })
    }
}

impl Measured<'_> {
    /// Scatter of a current reading near Isc, in A: as stated, else as the ± of Isc shows it; an upper bound
    /// by the number of points, all of which may stand behind Isc.
    fn scatter_a(&self) -> f64 {
        let isc = self.key_points.isc.as_ref();
        let stated = self.sweep.options().noise.zip(isc).map_or(0.0, |(n, isc)| n.sigma_current(isc.value));
        if stated > 0.0 {
            return stated;
        }
        isc.and_then(|isc| isc.u).unwrap_or(0.0) * (self.sweep.len() as f64).sqrt()
    }
}

fn warnings(c: f64, unpaired: usize, points: usize) -> Vec<String> {
    let mut warnings = Vec::new();
    if !(0.0..=1.0).contains(&c) {
        warnings.push(format!("c = {c} extrapolates: between 0 and 1 the result lies between the sweeps"));
    }
    if unpaired > 0 {
        warnings.push(format!(
            "{unpaired} of {points} points have no partner within the second sweep and are left out"
        ));
    }
    warnings
}

/// The effect of both irradiances, as two independent ones.
fn light(points: &mut Points, one: &Measured, two: &Measured, pairs: &Pairs, c: f64, correlation: f64) {
    let span = two.irradiance.value - one.irradiance.value;
    let (u1, u2) = (one.irradiance.u, two.irradiance.u);
    if span == 0.0 {
        if u1.or(u2).is_some_and(|u| u > 0.0) {
            points.warnings.push(
                "both sweeps have the same irradiance: what its uncertainty does is not known from them"
                    .into(),
            );
        }
        return;
    }
    let (by_one, by_two) = (-(1.0 - c) / span, -c / span);
    let shared = by_one * u1.unwrap_or(0.0) + correlation * by_two * u2.unwrap_or(0.0);
    let own = (1.0 - correlation * correlation).sqrt() * by_two * u2.unwrap_or(0.0);
    for (name, known, dc) in
        [("irradiance_w_m2 of the first", u1, shared), ("irradiance_w_m2 of the second", u2, own)]
    {
        let unit = Unit::One;
        let input = Estimate { u: known.map(|_| dc.abs()), ..Estimate::new(c, 0.0, unit) };
        points.input(name, &input, |n| (dc.signum() * pairs.step_a, dc.signum() * pairs.voltage_step_v[n]));
    }
}
