//! Generator sign and polarity, recognised from the data and recorded.
//!
//! ```text
//! sign:   a passive device has dI/dV < 0 in generator sign; a rising current is load sign
//! leads:  a lit device delivers power: V·I > 0 at V > 0, I > 0. With swapped leads the power is delivered
//!         at V < 0, I < 0
//! dark:   no power is delivered; the branch on which the current grows faster than ohmic is forward
//! ```

use super::error::SweepError;
use super::{Change, Leads, Sign, SweepOptions, by_voltage};

/// Delivered power of one quadrant over that of the other that decides the polarity.
const CLEAR: f64 = 4.0;
/// Points that must deliver power.
const ENOUGH_POINTS: usize = 2;
/// Points below which scatter cannot be told from bending.
const FEW: usize = 9;
/// Standard deviations of scatter above which a current is seen.
const VISIBLE: f64 = 6.0;
/// Standard deviations by which signs must agree.
const SIGNS: f64 = 3.5;
/// Ratio of forward to reverse conductance that shows a junction in the dark.
const RECTIFIES: f64 = 1.5;

/// Factors for voltage and current, and what was changed.
pub(super) struct Turn {
    pub voltage: f64,
    pub current: f64,
    pub changes: Vec<Change>,
}

/// How the readings must be turned to be in generator sign.
pub(super) fn turn(voltage_v: &[f64], current_a: &[f64], options: &SweepOptions) -> Result<Turn, SweepError> {
    let mut turn = Turn { voltage: 1.0, current: 1.0, changes: Vec::new() };
    turn_sign(voltage_v, current_a, options.sign, &mut turn)?;
    let turned: Vec<f64> = current_a.iter().map(|a| turn.current * a).collect();
    // A wrong sign leaves no curve to tell the leads by: it is what must be told.
    if let (Some(sign), Leads::Auto) = (options.sign.name(), options.leads)
        && rises(voltage_v, &turned) == Some(true)
    {
        return Err(SweepError::SignContradicted { sign, other: options.sign.other() });
    }
    turn_leads(voltage_v, &turned, options.leads, &mut turn)?;
    Ok(turn)
}

fn turn_sign(v: &[f64], a: &[f64], sign: Sign, turn: &mut Turn) -> Result<(), SweepError> {
    let (load, why, automatic) = match sign {
        Sign::Generator => return Ok(()),
        Sign::Load => (true, "sign was set to load".into(), false),
        Sign::Auto => {
            let Some(rises) = rises(v, a) else {
                return Err(SweepError::Undecided {
                    what: "the sign convention of the current",
                    why: "it neither falls nor rises clearly as the voltage rises".into(),
                    cure: "set sign to generator or load",
                });
            };
            (rises, "the current rises with voltage, as it does in load sign".into(), true)
        }
    };
    if load {
        turn.current = -1.0;
        turn.changes.push(Change {
            what: "current turned from load sign to generator sign".into(),
            why,
            automatic,
        });
    }
    Ok(())
}

/// Whether the current rises with voltage: by the readings at both ends where they differ by more than
/// scatter, else by ranks; `None` where neither shows it.
pub(super) fn rises(v: &[f64], a: &[f64]) -> Option<bool> {
    let order = by_voltage(v);
    let (first, last) = (*order.first()?, *order.last()?);
    let change = a[last] - a[first];
    if v.len() >= FEW && change.abs() > 2.0 * VISIBLE * scatter(v, a) {
        return Some(change > 0.0);
    }
    let trend = rank_trend(v, a);
    (trend.abs() >= 3.0).then_some(trend > 0.0)
}

/// Kendall's S over its standard deviation under no trend (M. G. Kendall, Biometrika 30 (1938) 81).
fn rank_trend(v: &[f64], a: &[f64]) -> f64 {
    // A few hundred points show the trend; more only cost time.
    let stride = v.len().div_ceil(400);
    let pick: Vec<usize> = (0..v.len()).step_by(stride).collect();
    let n = pick.len() as f64;
    let (mut rising, mut falling) = (0.0, 0.0);
    for (k, &i) in pick.iter().enumerate() {
        for &j in &pick[..k] {
            let product = (v[i] - v[j]) * (a[i] - a[j]);
            rising += f64::from(u8::from(product > 0.0));
            falling += f64::from(u8::from(product < 0.0));
        }
    }
    // A few points that all agree are as clear as they can be, though S cannot leave its spread.
    if rising == 0.0 || falling == 0.0 {
        return 10.0 * (rising - falling);
    }
    (rising - falling) / (n * (n - 1.0) * (2.0 * n + 5.0) / 18.0).sqrt()
}

/// Delivered power (V·I > 0 in generator sign) on each side of V = 0: sum and number of points.
struct Power {
    right: f64,
    right_points: usize,
    left: f64,
    left_points: usize,
}

fn power(v: &[f64], a: &[f64]) -> Power {
    let mut p = Power { right: 0.0, right_points: 0, left: 0.0, left_points: 0 };
    for (&v, &a) in v.iter().zip(a) {
        let w = v * a;
        if w > 0.0 && v > 0.0 {
            p.right += w;
            p.right_points += 1;
        } else if w > 0.0 {
            p.left += w;
            p.left_points += 1;
        }
    }
    p
}

fn turn_leads(v: &[f64], a: &[f64], leads: Leads, turn: &mut Turn) -> Result<(), SweepError> {
    let (swapped, why, automatic) = match leads {
        Leads::AsGiven => return Ok(()),
        Leads::Swapped => (true, "leads was set to swapped".to_owned(), false),
        Leads::Auto => {
            (looks_swapped(v, a)?, "the readings show the device with its leads swapped".into(), true)
        }
    };
    if swapped {
        turn.voltage = -1.0;
        turn.current = -turn.current;
        turn.changes.push(Change {
            what: "leads taken as swapped: voltage and current turned".into(),
            why,
            automatic,
        });
    }
    Ok(())
}

/// Whether a device in generator sign shows power, or the forward branch, on the wrong side.
fn looks_swapped(v: &[f64], a: &[f64]) -> Result<bool, SweepError> {
    let p = power(v, a);
    let sigma = scatter(v, a);
    let enough = if v.len() < FEW { 1 } else { ENOUGH_POINTS };
    let scatter_power = sigma * v.iter().map(|v| v.abs()).sum::<f64>();
    let clear =
        |one: f64, points: usize, other: f64| points >= enough && one > CLEAR * (other + scatter_power);
    if clear(p.right, p.right_points, p.left) {
        return Ok(false);
    }
    if clear(p.left, p.left_points, p.right) {
        return Ok(true);
    }
    dark_swapped(v, a, sigma).or_else(|undecided| by_signs(v, a).ok_or(undecided))
}

/// Whether the readings deliver power on the left only, by how many do on either side of V = 0: coarse or noisy readings of a lit
/// cell show a sign where they show no power above their scatter. `None` where neither side is beyond chance.
fn by_signs(v: &[f64], a: &[f64]) -> Option<bool> {
    let beyond_chance = |side: f64| {
        let of = |sense: f64| {
            v.iter().zip(a).filter(|(v, a)| **v * side > 0.0 && **a * side * sense > 0.0).count() as f64
        };
        let (deliver, consume) = (of(1.0), of(-1.0));
        deliver - consume > SIGNS * (deliver + consume).sqrt()
    };
    match (beyond_chance(1.0), beyond_chance(-1.0)) {
        (true, false) => Some(false),
        (false, true) => Some(true),
        _ => None,
    }
}

/// Scatter of the current from its second differences, by their lower quartile: the bend of a forward branch
/// stands in the upper ones. A quarter of normal deviates lies within 0.3186 σ; a second difference of
/// independent readings has √6 σ. Few points show only their bend: 0. By voltage, or as the readings follow each
/// other: the two ways of a sweep up and down may lie apart by more than their scatter.
pub(super) fn scatter(v: &[f64], a: &[f64]) -> f64 {
    if v.len() < FEW {
        return 0.0;
    }
    let along = |order: &[usize]| {
        let mut seconds: Vec<f64> =
            order.windows(3).map(|w| (a[w[0]] - 2.0 * a[w[1]] + a[w[2]]).abs()).collect();
        let quarter = seconds.len() / 4;
        let (_, quartile, _) = seconds.select_nth_unstable_by(quarter, f64::total_cmp);
        *quartile / (0.3186 * 6f64.sqrt())
    };
    let as_given: Vec<usize> = (0..v.len()).collect();
    along(&by_voltage(v)).min(along(&as_given))
}

/// For a dark device: forward is where the conductance |I/V| is clearly larger or grows with |V|.
fn dark_swapped(v: &[f64], a: &[f64], sigma: f64) -> Result<bool, SweepError> {
    let side = |sign: f64| -> Vec<(f64, f64)> {
        let mut side: Vec<(f64, f64)> =
            v.iter().zip(a).filter(|(v, _)| **v * sign > 0.0).map(|(v, a)| (v.abs(), a.abs())).collect();
        side.sort_by(|x, y| x.0.total_cmp(&y.0));
        side
    };
    let (right, left) = (side(1.0), side(-1.0));
    let reach = |s: &[(f64, f64)]| s.last().map_or(0.0, |p| p.0);
    let common = reach(&right).min(reach(&left));
    if common > 0.0 && right.len() > 1 && left.len() > 1 {
        // The same voltage on both sides: the larger current is forward, if it is more than scatter.
        let at =
            |s: &[(f64, f64)]| s.iter().rev().find(|p| p.0 <= 1.01 * common).copied().unwrap_or_default();
        let (r, l) = (at(&right), at(&left));
        let above = |x: (f64, f64), y: (f64, f64)| {
            x.1 > VISIBLE * sigma && x.1 * y.0 > RECTIFIES * (y.1 + 2.0 * sigma) * x.0
        };
        if above(r, l) {
            return Ok(false);
        }
        if above(l, r) {
            return Ok(true);
        }
    }
    // The branch with the larger current is forward if it grows faster than an ohmic one.
    let swapped = right.last().map_or(0.0, |p| p.1) < left.last().map_or(0.0, |p| p.1);
    if grows_faster_than_ohmic(if swapped { &left } else { &right }, sigma) {
        return Ok(swapped);
    }
    Err(SweepError::Undecided {
        what: "which lead is which",
        why: "no power is delivered and neither direction conducts clearly better, as in a dark or ohmic device".into(),
        cure: "set leads to as_given or swapped (and sign)",
    })
}

/// Whether |I/V| in the outer third of a branch is clearly above that of its middle third.
fn grows_faster_than_ohmic(branch: &[(f64, f64)], sigma: f64) -> bool {
    if branch.len() < 6 || branch[branch.len() - 1].1 < VISIBLE * sigma {
        return false;
    }
    let third = branch.len() / 3;
    let mean = |part: &[(f64, f64)]| part.iter().map(|p| p.1 / p.0).sum::<f64>() / part.len() as f64;
    mean(&branch[branch.len() - third..]) > 2.0 * RECTIFIES * mean(&branch[third..branch.len() - third])
}
