//! The set point that tells most of the target.
//!
//! ```text
//! var(target) falls by w·(gᵀ·C·t)²/(1 + w·gᵀ·C·g)        g = ∂r/∂θ there, t = ∂target/∂θ, w = 1/s²
//! ```
//!
//! (J. Sherman, W. J. Morrison, Ann. Math. Stat. 21 (1950) 124), among places evenly spread over the voltages that may be
//! set. Where one diode does not suit the readings, its information means nothing, and the widest gap of the curve is halved.

use super::reach::Reach;
use super::readings::Readings;
use super::running_fit::RunningFit;
use crate::diode::{Circuit, Junction};
use crate::numerics::linear_algebra::information::dot;
use crate::plan::information::Reading;
use crate::quantity::key_points::KeyPoint;
use crate::sweep::Swept;

/// In place of 1 in the fall of the variance above: the fall by a reading of half the weight, so that one step is less greedy
/// and set points come nearer to where many readings should lie in the end. Chosen on the cells of `tests/support/live.rs`
/// that are not kept aside.
const READING_DIVISOR: f64 = 2.0;
/// What a place beyond Voc counts more while no reading lies there.
const OVER_VOC: f64 = 2.0;
/// Places that are looked at.
const PLACES: usize = 60;
/// Share of the best gain anywhere below which an ordered sweep turns round.
const TURN: f64 = 0.5;

/// Where a set point may lie in an ordered sweep: beyond the last one on the way that it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Way {
    pub from: f64,
    pub upwards: bool,
}

impl Way {
    fn holds(self, set: f64) -> bool {
        if self.upwards { set >= self.from } else { set <= self.from }
    }
}

/// The best set point; on a way the best of that way, or `turned` where one behind tells far more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Best {
    pub set: f64,
    pub turned: bool,
}

/// The lowest and highest voltage that may be set.
fn voltages(circuit: &Circuit<1>, reach: &Reach, swept: Swept) -> Option<(f64, f64)> {
    let (_, high) = reach.ends()?;
    let (low, high) = (reach.downwards(), reach.upwards().unwrap_or(high.set));
    if swept == Swept::Voltage {
        return Some((low, high));
    }
    let (least, most) = (circuit.voltage_at(high), circuit.voltage_at(low));
    Some((least.max(-0.05 * circuit.voc()), most))
}

/// The set point after which the target has the least variance; `None` where no fit can tell.
pub(super) fn best(
    fit: &RunningFit,
    reach: &Reach,
    swept: Swept,
    target: KeyPoint,
    way: Option<Way>,
) -> Option<Best> {
    let (circuit, covariance) = (fit.circuit()?, fit.planning()?);
    let (_, by) = fit.figure(target)?;
    let times = covariance.times(&by);
    let (noise, scale) = fit.noise();
    let w = 1.0 / (scale * scale);
    let (low, high) = voltages(circuit, reach, swept)?;
    // A set voltage that has not gone over Voc yet does so where that tells almost as much.
    let short = swept == Swept::Voltage && reach.ends()?.1.read > 0.0;
    let (mut anywhere, mut ahead) = (None::<(f64, f64)>, None::<(f64, f64)>);
    for k in 0..=PLACES {
        let v = low + (high - low) * k as f64 / PLACES as f64;
        let Some(on) = Reading::at_set_point(circuit, Swept::Voltage, v, noise) else { continue };
        let set = if swept == Swept::Voltage { v } else { on.current_a };
        if !reach.allows(on.voltage_v, on.current_a) || reach.held(set) != set {
            continue;
        }
        let gain =
            w * dot(&on.by_theta, &times).powi(2) / (READING_DIVISOR + w * covariance.variance(&on.by_theta));
        let gain = if short && on.current_a < -reach.deceit() { OVER_VOC * gain } else { gain };
        let better = |best: Option<(f64, f64)>| best.is_none_or(|(most, _)| gain > most);
        if better(anywhere) {
            anywhere = Some((gain, set));
        }
        if way.is_some_and(|way| way.holds(set)) && better(ahead) {
            ahead = Some((gain, set));
        }
    }
    let (most, set) = anywhere?;
    Some(match (way, ahead) {
        (Some(_), Some((gain, set))) if gain >= TURN * most => Best { set, turned: false },
        (way, _) => Best { set, turned: way.is_some() },
    })
}

/// Share of the range of set points below which a gap counts only where all are as narrow.
const NARROW: f64 = 1.0 / 200.0;

/// The middle of the widest gap of the curve, by shares of the largest voltage and current; `order` is room for as many
/// numbers as there are readings.
pub(super) fn widest_gap(readings: &Readings, swept: Swept, order: &mut Vec<usize>) -> Option<f64> {
    let (v, i, set) = (&readings.voltage_v, &readings.current_a, readings.set(swept));
    order.clear();
    order.extend((0..readings.len()).filter(|&k| readings.is_fitted(k)));
    order.sort_unstable_by(|&a, &b| set[a].total_cmp(&set[b]));
    let largest = |xs: &[f64]| xs.iter().fold(f64::MIN_POSITIVE, |m, x| m.max(*x));
    let (full_v, full_i) = (largest(v), largest(i));
    let width =
        |pair: &[usize]| ((v[pair[1]] - v[pair[0]]) / full_v).hypot((i[pair[1]] - i[pair[0]]) / full_i);
    let (&first, &last) = (order.first()?, order.last()?);
    let span = set[last] - set[first];
    // The set points may coincide where the readings do not; and no number of readings closes a gap between two that
    // contradict each other.
    let apart = |least: f64| move |pair: &&[usize]| set[pair[1]] - set[pair[0]] > least;
    let widest =
        |least: f64| order.windows(2).filter(apart(least)).max_by(|a, b| width(a).total_cmp(&width(b)));
    let widest = widest(NARROW * span).or_else(|| widest(0.0))?;
    Some(0.5 * (set[widest[0]] + set[widest[1]]))
}
