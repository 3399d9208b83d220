//! All key points of a sweep without a model.

use super::beyond::Beyond;
use super::contributions::OF_NOISE;
use super::figures_of_points::as_measured;
use crate::quantity::key_points::{KeyPoints, Surroundings};
use crate::quantity::source::Aside;
use crate::sweep::{Noise, Sweep};

/// Isc, Voc, the point of maximum power and FF of `sweep`, each with its standard uncertainty.
///
/// The curve is a diode fitted quickly to the readings plus a Gaussian process of what they differ by from it (see the
/// module): Isc is I(0), Voc is V(0), Pmax the maximum of V·I(V). The covariance is that of the readings carried through
/// (with the noise stated: its degrees of freedom; else the scatter found in the sweep, with its own), plus that of the
/// discrepancy, plus the common gains and offsets; no figure leaves what its neighbours allow.
/// Nothing is extrapolated: what the sweep does not reach is absent with the reason. Never fails.
///
/// # Examples
/// ```
/// use litdiode::curve::key_points;
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::sweep::{Noise, Swept, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let options = SweepOptions::default().swept(Swept::Current).noise(Noise::default().voltage_v(1e-4));
/// let points = key_points(&Sweep::new(&v, &i, options)?);
/// let (voc, ff) = (points.voc.clone().unwrap(), points.ff.clone().unwrap());
/// assert!((voc.value - 0.5743260).abs() < 1e-6 && (ff.value - 0.750905).abs() < 1e-4);
/// assert!(voc.u.unwrap() < 1.1e-4 && voc.dof == f64::INFINITY);
/// assert_eq!(points.why_absent("jsc").unwrap().to_string(), "Jsc = Isc/area needs the area: pass area_cm2");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn key_points(sweep: &Sweep) -> KeyPoints {
    key_points_beyond(sweep, Beyond::default())
}

/// [`key_points`], where Isc and Voc may be extrapolated by up to a quarter of the range swept, each on request.
///
/// Isc is then the estimated curve continued to V = 0, Voc that continued to I = 0; where the ideality of the diode makes
/// Voc more uncertain than the first order says, mean and variance are those over the idealities. What the curve does where
/// it was not measured remains an assumption. An extrapolated figure, and FF with it, says so in its note.
///
/// # Examples
/// ```
/// use litdiode::curve::{Beyond, key_points, key_points_beyond};
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let v: Vec<f64> = (0..23).map(|k| 0.025 * f64::from(k)).collect(); // up to 0.55 V
/// let mut i = vec![0.0; v.len()];
/// cell.current(&v, &mut i)?;
/// let short = Sweep::new(&v, &i, SweepOptions::default())?;
/// assert!(key_points(&short).voc.is_none());
/// let voc = key_points_beyond(&short, Beyond::default().voc(true)).voc.unwrap();
/// assert!((voc.value - 0.5743260).abs() < 1e-4 && voc.note().is_some());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn key_points_beyond(sweep: &Sweep, beyond: Beyond) -> KeyPoints {
    let options = sweep.options();
    let (mut found, remarks) = as_measured(sweep, sweep.voltage_v(), sweep.current_a(), beyond);
    let carried = if options.effects.is_empty() {
        Vec::new()
    } else {
        super::effects::carry(sweep, &mut found, beyond)
    };
    let around = Surroundings {
        area_cm2: options.area_cm2.as_ref(),
        irradiance_w_m2: options.irradiance_w_m2.as_ref(),
    };
    let mut points = KeyPoints::new(&found, around);
    points.readings = Aside(sweep.digest());
    if let Some(noise) = &options.noise {
        attribute_noise(&mut points, noise, &remarks.common);
    }
    for (effect, five) in &carried {
        if let Some(identity) = &effect.identity {
            points.attribute(identity.clone(), &effect.name, effect.dof, five);
        }
    }
    if let Some(remark) = remarks.all {
        points.remark(&remark);
    }
    if let Some(remark) = remarks.isc {
        [&mut points.isc, &mut points.ff, &mut points.jsc]
            .into_iter()
            .flatten()
            .for_each(|f| f.notes.push(remark.clone()));
    }
    if let Some(remark) = remarks.voc {
        [&mut points.voc, &mut points.ff].into_iter().flatten().for_each(|f| f.notes.push(remark.clone()));
    }
    points
}

/// Records gains and offsets of an instrument that is known, in the order of `Contributions::common`.
fn attribute_noise(points: &mut KeyPoints, noise: &Noise, common: &[[f64; 5]; 4]) {
    let identities = noise.identities();
    for (five, place) in common.iter().zip(OF_NOISE) {
        if let Some(identity) = identities[place].clone().filter(|_| five.iter().any(|x| *x != 0.0)) {
            points.attribute(identity, Noise::COMMON[place], f64::INFINITY, five);
        }
    }
}

/// Part of Voc on each side of V_Pmax within which readings decide the point of maximum power.
const ABOUT_MAXIMUM: f64 = 0.2;

/// Lowest and highest voltage in V of the readings about the point of maximum power; `None` where the sweep gives none.
///
/// # Examples
/// ```
/// use litdiode::curve::window_of_maximum;
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let (low, high) = window_of_maximum(&sweep).unwrap();
/// assert!(0.35 < low && low < 0.4704 && 0.4704 < high && high <= 0.57433); // V_Pmax 0.4704 V, Voc 0.5743 V
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn window_of_maximum(sweep: &Sweep) -> Option<(f64, f64)> {
    let points = key_points(sweep);
    let (at, reach) = (points.v_pmax?.value, ABOUT_MAXIMUM * points.voc.map_or(0.0, |voc| voc.value.abs()));
    let reach = if reach > 0.0 { reach } else { ABOUT_MAXIMUM * at.abs() };
    let inside = sweep.voltage_v().iter().copied().filter(|v| (v - at).abs() <= reach);
    let (low, high) = inside.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    (low < high).then_some((low, high))
}
