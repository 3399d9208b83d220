//! What the readings say of the rig before any figure: a bias that was not subtracted, a signal in the noise, too few readings at
//! the knee, two ways that part.

use super::plausible::HIGHEST_VOC;
use crate::hysteresis::hysteresis;
use crate::quantity::estimate::Estimate;
use crate::quantity::format::{quantity, quoted};
use crate::quantity::key_points::KeyPoints;
use crate::quantity::reason::Reason;
use crate::sweep::{Finding, Kind, Sweep, begins_at_zero, range};

/// Share of the largest voltage that the lowest must be for a bias to be suspected.
const FAR: f64 = 0.5;
/// Share of the voltage range, from the lowest up, over which the current changes by less than [`FLAT`] of its own range.
const OVER: f64 = 0.25;
const FLAT: f64 = 0.05;
/// Voc of one junction in V that those in use do not reach (common practice).
const USUAL_VOC: f64 = 1.7;
/// Standard uncertainties by which a current is clearly there.
const THERE: f64 = 10.0;
/// Readings that the knee needs, and how far in parts of Voc and Isc it reaches about the point of maximum power.
const AT_KNEE: usize = 3;
const KNEE: (f64, f64) = (0.15, 0.3);
/// Standard uncertainties by which two ways must part.
const PART: f64 = 3.0;

/// The remarks.
pub(super) fn findings(sweep: &Sweep, points: &KeyPoints) -> Vec<Finding> {
    let all = [
        bias(sweep).or_else(|| high_voltage(sweep, points)),
        no_signal(points),
        no_voltage(points),
        few_at_the_knee(sweep, points),
        ways_part(sweep),
    ];
    all.into_iter().flatten().collect()
}

fn whole(kind: Kind, text: String) -> Option<Finding> {
    Some(Finding { kind, text, points: Vec::new() })
}

/// Readings that begin far from V = 0 on a current that is flat already.
fn bias(sweep: &Sweep) -> Option<Finding> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let ((low, high), (least, most)) = (range(v), range(i));
    if low <= FAR * high || least > 0.5 * most || most <= 0.0 || begins_at_zero(v) {
        return None;
    }
    let early = v.iter().zip(i).filter(|(v, _)| **v <= low + OVER * (high - low)).map(|(_, i)| *i);
    let (first, last) =
        early.clone().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), i| (a.min(i), b.max(i)));
    let flat = early.count() >= 2 && last - first <= FLAT * (most - least) && last >= (1.0 - FLAT) * most;
    let volts = quantity(low, "V");
    flat.then_some(())?;
    whole(
        Kind::Bias,
        format!(
            "the current is flat already at the lowest voltage, {volts}, as it is about V = 0: a bias may be in the voltages; \
             correct for it (an offset), or begin the sweep below 0 V"
        ),
    )
}

/// More voltage than one junction gives.
fn high_voltage(sweep: &Sweep, points: &KeyPoints) -> Option<Finding> {
    let (voc, cells) = (points.voc.as_ref()?, sweep.options().cells);
    let each = voc.value / f64::from(cells);
    (each > USUAL_VOC && each <= HIGHEST_VOC).then_some(())?;
    whole(
        Kind::Bias,
        format!(
            "Voc is {voc}, and single junctions in use stay below {}: if a bias is in the voltages, correct for it (an \
             offset); if the device has several junctions in series, pass cells",
            quantity(USUAL_VOC * f64::from(cells), "V")
        ),
    )
}

/// Isc or Voc below its detection limit, or no power at all above the scatter.
fn no_signal(points: &KeyPoints) -> Option<Finding> {
    if let Some(Reason::PowerInScatter | Reason::NoPower) = points.why_absent("pmax") {
        let text = "no power stands out of the scatter of the readings: more light, a larger cell, or the mean of repeated sweeps";
        return whole(Kind::BelowNoise, text.into());
    }
    let below = |e: &Option<Estimate>| {
        let e = e.as_ref()?;
        Some((e.value, e.u?, e.detection_limit()?))
    };
    let (name, (value, u, limit), unit) = below(&points.isc)
        .map(|x| ("Isc", x, "A"))
        .or_else(|| below(&points.voc).map(|x| ("Voc", x, "V")))?;
    whole(
        Kind::BelowNoise,
        format!(
            "{name}, {}, is below the detection limit of {}: more light, a larger cell, or the mean of repeated sweeps",
            quoted(value, Some(u), unit),
            quantity(limit, unit)
        ),
    )
}

/// A current without a voltage: a short circuit in the cell or the rig.
fn no_voltage(points: &KeyPoints) -> Option<Finding> {
    if let Some(why @ Reason::NoFall) = points.why_absent("voc") {
        return whole(Kind::NoVoltage, why.to_string());
    }
    let (isc, voc) = (points.isc.as_ref()?, points.voc.as_ref()?);
    let (there, none) = (isc.value > THERE * isc.u?, voc.detection_limit().is_some());
    (there && none).then_some(())?;
    whole(
        Kind::NoVoltage,
        format!(
            "there is a current of {isc} and no voltage ({voc}): a short circuit in the cell, its contacts or the rig"
        ),
    )
}

/// Readings about the point of maximum power.
fn few_at_the_knee(sweep: &Sweep, points: &KeyPoints) -> Option<Finding> {
    let value = |e: &Option<Estimate>| e.as_ref().map(|e| e.value);
    let (v, i) = (value(&points.v_pmax)?, value(&points.i_pmax)?);
    let (voc, isc) = (value(&points.voc)?, value(&points.isc)?);
    let near = sweep
        .voltage_v()
        .iter()
        .zip(sweep.current_a())
        .filter(|(x, y)| ((*x - v) / voc).abs() <= KNEE.0 && ((*y - i) / isc).abs() <= KNEE.1);
    let count = near.count();
    (count < AT_KNEE).then_some(())?;
    whole(
        Kind::FewAtKnee,
        format!(
            "{count} of the {} readings {} about the point of maximum power ({}): take smaller steps there, since Pmax and FF rest \
             on them",
            sweep.len(),
            if count == 1 { "lies" } else { "lie" },
            quantity(v, "V")
        ),
    )
}

/// Two ways whose maximum powers differ.
fn ways_part(sweep: &Sweep) -> Option<Finding> {
    let ways = sweep.branches().ok()?;
    let [first, second] = ways.as_slice() else { return None };
    let compared = hysteresis(first, second).ok()?;
    let index = compared.index.as_ref().ok()?;
    let apart = index.value.abs() > PART * index.u?;
    apart.then_some(())?;
    let follows = match &compared.time_constant_s {
        Ok(tau) => format!("the device follows with a time constant of {tau}"),
        Err(_) => "the device does not settle within a step".to_owned(),
    };
    whole(
        Kind::NotSettled,
        format!(
            "the maximum powers of the two ways part (hysteresis index {index}): {follows}; wait longer at each step, or quote both"
        ),
    )
}
