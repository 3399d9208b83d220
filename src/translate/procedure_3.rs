//! IEC 60891, procedure 3: between two measured sweeps, without any parameter.
//!
//! ```text
//! X3 = X1 + c·(X2 − X1)    X = V, I, G, T         pairs of points with I2 − I1 = Isc2 − Isc1
//! ```
//!
//! The pairs are found on smooth curves (`partner`): a partner that a reading's scatter chose would lie anywhere on the
//! flat part. Each new point then carries (1 − c) times the scatter of its reading and c times that of its partner's.
//!
//! The result belongs to exactly the G3 of the stated irradiances. That these are uncertain moves its points:
//! an error dG1 or dG2 means that another c would have led to G3,
//!
//! ```text
//! dc = −[(1 − c)·dG1 + c·dG2]/(G2 − G1)
//! ```

use super::condition::{Measured, Target, condition};
use super::error::TranslateError;
use super::partner::{Partner, Smoothed, partners};
use super::translated::{Points, Translated, change};
use super::warning::Warning;
use crate::quantity::estimate::{Estimate, Unit};
use crate::sweep::{Effect, Noise, Reach, Sweep, Swept};

/// Least number of pairs that is still a curve.
const FEWEST: usize = 5;

/// The sweep at the share `c` of the way from `first` (c = 0) to `second` (c = 1); beyond, it extrapolates and
/// warns.
///
/// Each point of the sweep with fewer points is paired with the place on the other that carries Isc2 − Isc1 more or less.
/// Points without a partner are left out, and a warning says how many. `correlation` (−1 to 1) is that of the errors of
/// the two irradiances: 1 for one reference device, 0 for two. The scatter of both sweeps is carried; of gains and
/// offsets those of the first are, for one instrument.
///
/// # Errors
/// [`TranslateError`]: no irradiance, no Isc, a `c` that leads below zero light, too few pairs.
///
/// # Source
/// IEC 60891:2009, clause 3.4 (from memory).
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::{procedure_3, share_for_irradiance};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let (dim, bright) = (at(500.0, 25.0)?, at(1000.0, 25.0)?);
/// let c = share_for_irradiance(&dim, &bright, 800.0)?;
/// let isc = procedure_3(&dim, &bright, c, 0.0)?.key_points().isc.unwrap();
/// assert!((isc.value - 0.8 * 0.0299833).abs() < 1e-6);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
    // The sweep with fewer points gives its points: none of the other's readings then stands behind two of them.
    let turned = second.len() < first.len();
    let (base, other, share) = if turned { (&two, &one, 1.0 - c) } else { (&one, &two, c) };
    let pairs = Pairs::of(base, other)?;
    let mut points = pairs.points(base, share);
    points.warnings = warnings(c, base.sweep.len() - pairs.kept.len(), base.sweep.len());
    pairs.scatter(&mut points, base, other, share);
    let way = Way { c, correlation, towards: if turned { -1.0 } else { 1.0 } };
    light(&mut points, &one, &two, &pairs, &way);
    let times = base.sweep.options().time_s.as_ref();
    let time_s = times.map(|t| pairs.kept.iter().map(|&k| t[k]).collect());
    let why = format!(
        "c = {c} towards a sweep at {g2} W/m², {} °C; {} of {} points paired",
        two.temperature_c,
        pairs.kept.len(),
        base.sweep.len()
    );
    let noise = noise(first, second, c);
    points.at(&target, &one, time_s, noise, change(3, &one.condition(), &target, why))
}

/// Gains and offsets of the first sweep, and the scatter of both where both state one that is the same everywhere.
fn noise(first: &Sweep, second: &Sweep, c: f64) -> Option<Noise> {
    let (one, two) = (first.options().noise, second.options().noise);
    let n = one?;
    let common = Noise {
        voltage_gain_u: n.voltage_gain_u,
        current_gain_u: n.current_gain_u,
        voltage_offset_u: n.voltage_offset_u,
        current_offset_u: n.current_offset_u,
        ..Noise::default()
    };
    let even = |n: &Noise| n.voltage_rel == 0.0 && n.current_rel == 0.0;
    Some(match two.filter(|two| even(two) && even(&n)) {
        Some(two) => Noise {
            voltage_v: ((1.0 - c) * n.sigma_voltage(0.0)).hypot(c * two.sigma_voltage(0.0)),
            current_a: ((1.0 - c) * n.sigma_current(0.0)).hypot(c * two.sigma_current(0.0)),
            ..common
        },
        None => common,
    })
}

/// The share `c` of the way from `first` to `second` at which the irradiance is `irradiance_w_m2` (W/m²).
///
/// # Errors
/// [`TranslateError`]: no irradiance, two equal ones, a number that is not finite.
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::share_for_irradiance;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let c = share_for_irradiance(&at(500.0, 25.0)?, &at(1000.0, 25.0)?, 800.0)?;
/// assert!((c - 0.6).abs() < 1e-12); // (800 − 500)/(1000 − 500)
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
///
/// # Examples
/// ```
/// use litdiode::diode::{Condition, Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// use litdiode::translate::share_for_temperature;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// // What a tracer would read of it at an irradiance in W/m² and a temperature in °C.
/// let at = |g: f64, t: f64| -> Result<Sweep, Box<dyn std::error::Error>> {
///     let (v, i) = cell.at(&Condition::default().irradiance_w_m2(g).temperature_c(t).isc_per_k(5e-4))?.curve(30);
///     let light = Estimate::new(g, 0.0, Unit::WattPerM2);
///     Ok(Sweep::new(&v, &i, SweepOptions::default().irradiance_w_m2(light).temperature_c(t))?)
/// };
/// let c = share_for_temperature(&at(1000.0, 25.0)?, &at(1000.0, 45.0)?, 40.0)?;
/// assert!((c - 0.75).abs() < 1e-12);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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

/// Points of a sweep with their partners on another.
struct Pairs {
    set: Swept,
    kept: Vec<usize>,
    partners: Vec<Partner>,
}

impl Pairs {
    fn of(base: &Measured, other: &Measured) -> Result<Self, TranslateError> {
        let (isc1, isc2) = (base.figure("isc")?, other.figure("isc")?);
        let step_a = isc2.value - isc1.value;
        let both = [base, other].map(|s| s.sweep.options().swept);
        let set = if both == [Swept::Current; 2] { Swept::Current } else { Swept::Voltage };
        let (first, second) = (Smoothed::of(base, set)?, Smoothed::of(other, set)?);
        let points = base.sweep.len();
        let found = partners(&first, &second, step_a, isc1.value.max(isc2.value));
        let found = found.into_iter().enumerate().filter_map(|(k, p)| Some((k, p?)));
        let (kept, partners): (Vec<usize>, Vec<Partner>) = found.unzip();
        if kept.len() < FEWEST {
            return Err(TranslateError::Unpaired {
                given: kept.len(),
                points,
                needed: FEWEST,
                shift_a: step_a,
            });
        }
        Ok(Self { set, kept, partners })
    }

    /// (V, I) of what lies along x and y.
    fn axes(&self, x: f64, y: f64) -> (f64, f64) {
        if self.set == Swept::Voltage { (x, y) } else { (y, x) }
    }

    fn points(&self, base: &Measured, share: f64) -> Points {
        let (v, i) = (base.sweep.voltage_v(), base.sweep.current_a());
        let between = |(k, p): (&usize, &Partner)| {
            let (v2, i2) = self.axes(p.x, p.y);
            (i[*k] + share * (i2 - i[*k]), v[*k] + share * (v2 - v[*k]))
        };
        let (current, voltage) = self.kept.iter().zip(&self.partners).map(between).unzip();
        Points::new(current, voltage)
    }

    /// What moved the points of both sweeps, each with its share.
    fn scatter(&self, points: &mut Points, base: &Measured, other: &Measured, share: f64) {
        let own: Vec<usize> = self.kept.clone();
        let partners: Vec<usize> = self.partners.iter().map(|p| p.reading).collect();
        for (name, sweep, places, part) in
            [("own", base, own, 1.0 - share), ("partner", other, partners, share)]
        {
            let along = |x: &[f64]| places.iter().map(|&k| part * x[k]).collect::<Vec<f64>>();
            let common = sweep.sweep.options().effects.iter().filter(|e| e.reach == Reach::Common);
            let all: Vec<Effect> = sweep
                .sources()
                .iter()
                .chain(common)
                .map(|e| Effect {
                    name: format!("{} ({name} sweep)", e.name),
                    voltage_v: along(&e.voltage_v),
                    current_a: along(&e.current_a),
                    shared: None,
                    ..e.clone()
                })
                .collect();
            points.effects.extend(all);
        }
    }
}

fn warnings(c: f64, unpaired: usize, points: usize) -> Vec<Warning> {
    let mut warnings = Vec::new();
    if !(0.0..=1.0).contains(&c) {
        warnings.push(Warning::Extrapolated { c });
    }
    if unpaired > 0 {
        warnings.push(Warning::Unpaired { unpaired, points });
    }
    warnings
}

/// The way from the first sweep to the second.
struct Way {
    /// The share of it.
    c: f64,
    /// Of the errors of both irradiances.
    correlation: f64,
    /// 1 where the partners lie on the second sweep, −1 where they lie on the first.
    towards: f64,
}

/// The effect of both irradiances, as two independent ones.
fn light(points: &mut Points, one: &Measured, two: &Measured, pairs: &Pairs, way: &Way) {
    let &Way { c, correlation, towards } = way;
    let span = two.irradiance.value - one.irradiance.value;
    let (u1, u2) = (one.irradiance.u, two.irradiance.u);
    if span == 0.0 {
        if u1.or(u2).is_some_and(|u| u > 0.0) {
            points.warnings.push(Warning::SameIrradiance { irradiance_w_m2: one.irradiance.value });
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
        points.input(name, &input, |n| {
            let p = &pairs.partners[n];
            let (v, i) = pairs.axes(p.step_x, p.step_y);
            (dc.signum() * towards * i, dc.signum() * towards * v)
        });
    }
}
