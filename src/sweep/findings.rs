//! Remarks on a sweep that its figures do not show by themselves.

use super::sign_convention::rises;
use super::{Sign, Swept, begins_at_zero, range};
use crate::quantity::format::{quantity, span};
use crate::quantity::key_points::KeyPoint;
use std::fmt;

/// What kind of remark it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Kind {
    /// The voltage under light is negative, and the leads were to be taken as given.
    NegativeVoltage,
    /// The range does not hold V = 0.
    ShortOfIsc,
    /// The range does not hold I = 0.
    ShortOfVoc,
    /// Fewer points than the local fits want.
    FewPoints,
    /// Several readings at the very same extreme current.
    Clipped,
    /// The voltage goes one way and comes back.
    TurnsBack,
    /// The steps are those of the current, though the voltage counts as set.
    CurrentStepped,
    /// The sign that was passed is not that of the readings.
    SignContradicted,
    /// A reading far from the curve through the others.
    Outlier,
    /// The readings scatter more than the stated noise allows.
    Scatter,
    /// What was set is read back in the steps of a converter.
    Quantised,
    /// A figure that no device has.
    Implausible,
    /// The current is flat far from V = 0: a bias may be in the voltages.
    Bias,
    /// Isc or Voc is below its detection limit.
    BelowNoise,
    /// A current and no voltage.
    NoVoltage,
    /// Too few readings about the point of maximum power.
    FewAtKnee,
    /// Two ways of the sweep give different maximum powers.
    NotSettled,
    /// Readings that rise where a passive device falls.
    NotMonotone,
    /// A curve that is bent both ways.
    SShape,
    /// A shunt takes a tenth of FF or more.
    Shunted,
    /// A series resistance takes a tenth of FF or more.
    SeriesLimited,
    /// An ideality factor that no junction has.
    LowIdeality,
}

/// How much a remark says against the figures.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Severity {
    /// Good to know: the figures are what they say.
    Note,
    /// A figure may be off by more than its ±, or is missing.
    Warning,
    /// A figure is that of a fault, and not of the device.
    Fault,
}

impl Severity {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Fault => "fault",
        }
    }
}

impl Kind {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Kind::NegativeVoltage => "negative_voltage",
            Kind::ShortOfIsc => "short_of_isc",
            Kind::ShortOfVoc => "short_of_voc",
            Kind::FewPoints => "few_points",
            Kind::Clipped => "clipped",
            Kind::TurnsBack => "turns_back",
            Kind::CurrentStepped => "current_stepped",
            Kind::SignContradicted => "sign_contradicted",
            Kind::Outlier => "outlier",
            Kind::Scatter => "scatter",
            Kind::Quantised => "quantised",
            Kind::Implausible => "implausible",
            Kind::Bias => "bias",
            Kind::BelowNoise => "below_noise",
            Kind::NoVoltage => "no_voltage",
            Kind::FewAtKnee => "few_at_knee",
            Kind::NotSettled => "not_settled",
            Kind::NotMonotone => "not_monotone",
            Kind::SShape => "s_shape",
            Kind::Shunted => "shunted",
            Kind::SeriesLimited => "series_limited",
            Kind::LowIdeality => "low_ideality",
        }
    }
}

impl Kind {
    /// How much it says against the figures.
    pub const fn severity(self) -> Severity {
        match self {
            Kind::FewPoints | Kind::CurrentStepped | Kind::Shunted | Kind::SeriesLimited => Severity::Note,
            Kind::NegativeVoltage | Kind::SignContradicted | Kind::Implausible | Kind::NoVoltage => {
                Severity::Fault
            }
            _ => Severity::Warning,
        }
    }

    /// The figures that it is about; all of them where it is about the whole sweep.
    pub const fn figures(self) -> &'static [KeyPoint] {
        use KeyPoint::{Efficiency, Ff, IPmax, Isc, Jsc, Pmax, VPmax, Voc};
        match self {
            Kind::ShortOfIsc => &[Isc, Ff, Jsc],
            Kind::ShortOfVoc => &[Voc, Ff],
            Kind::NegativeVoltage | Kind::NoVoltage => &[Voc, Pmax, Ff, Efficiency],
            Kind::FewAtKnee => &[Pmax, VPmax, IPmax, Ff, Efficiency],
            Kind::Shunted | Kind::SeriesLimited => &[Ff, Pmax, Efficiency],
            Kind::Bias | Kind::LowIdeality => &[Voc, VPmax, Pmax, Ff, Efficiency],
            _ => &KeyPoint::ALL,
        }
    }
}

/// One remark.
///
/// # Examples
/// ```
/// use litdiode::sweep::{Kind, Severity, Sweep, SweepOptions};
/// // Invented; neither V = 0 nor I = 0 is reached.
/// let (v, i) = ([0.1, 0.2, 0.4, 0.5], [0.030, 0.030, 0.028, 0.017]);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let kinds: Vec<_> = sweep.findings().iter().map(|finding| (finding.kind, finding.severity())).collect();
/// assert!(kinds.contains(&(Kind::ShortOfVoc, Severity::Warning)));
/// assert!(kinds.contains(&(Kind::FewPoints, Severity::Note)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Finding {
    /// What it is about.
    pub kind: Kind,
    /// The remark, in one sentence that says what to do.
    pub text: String,
    /// The points it is about; empty where it is about the whole.
    pub points: Vec<usize>,
}

impl Finding {
    /// How much it says against the figures.
    pub const fn severity(&self) -> Severity {
        self.kind.severity()
    }
}

/// Its text.
impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// Points below which a ± is large.
const FEW: usize = 10;
/// Identical extreme readings that show a limit.
const STUCK: usize = 3;
/// The same of voltages read while the current is stepped, which run together on one code near Voc.
const STUCK_VOLTAGES: usize = 5;
/// Share of a step by which even steps may differ: what the digits of a file make of them.
const EVEN: f64 = 0.01;
/// Points on each way, and the share of the range that the way back must cover.
const WAY: usize = 3;
const BACK: f64 = 0.5;
/// Times the two ways that all steps may add up to: readings in any order go to and fro by more.
const DETOUR: f64 = 1.2;

/// The remarks that the readings show at once.
pub(super) fn findings(v: &[f64], a: &[f64], sign: Sign, swept: Swept) -> Vec<Finding> {
    let single = [
        sign_contradicted(v, a, sign),
        current_stepped(v, a, swept),
        negative_voltage(v, a),
        short_of_isc(v, swept),
        short_of_voc(v, a, swept),
        few_points(v),
        turns_back(v, a),
    ];
    let limits_of_voltage =
        if swept == Swept::Voltage { Vec::new() } else { clipped(v, "V", STUCK_VOLTAGES, "a full range") };
    let limits = clipped(a, "A", STUCK, "a current limit or a full range");
    single.into_iter().flatten().chain(limits).chain(limits_of_voltage).collect()
}

/// A remark about the whole sweep.
fn whole(kind: Kind, text: String) -> Finding {
    Finding { kind, text, points: Vec::new() }
}

fn sign_contradicted(v: &[f64], a: &[f64], sign: Sign) -> Option<Finding> {
    let word = sign.name().filter(|_| rises(v, a) == Some(true))?;
    let text = format!(
        "sign = {word} contradicts the readings: with it the current rises with voltage, as that of no passive device \
         does; set sign to {} or auto",
        sign.other()
    );
    Some(whole(Kind::SignContradicted, text))
}

fn current_stepped(v: &[f64], a: &[f64], swept: Swept) -> Option<Finding> {
    let text = "the currents rise in even steps and the voltages do not: if the current was stepped, set swept to current, \
                so that the voltage carries the noise";
    let stepped = swept == Swept::Voltage && v.len() >= FEW && is_even(a) && !is_even(v);
    stepped.then(|| whole(Kind::CurrentStepped, text.into()))
}

fn negative_voltage(v: &[f64], a: &[f64]) -> Option<Finding> {
    let text = "power is delivered at negative voltage: swapped leads, or a fault of the cell or the rig";
    let backwards = v.iter().zip(a).filter(|(v, a)| **v < 0.0 && **a < 0.0).count();
    let forwards = v.iter().zip(a).filter(|(v, a)| **v > 0.0 && **a > 0.0).count();
    (backwards > 2 && backwards > 4 * forwards).then(|| whole(Kind::NegativeVoltage, text.into()))
}

fn short_of_isc(v: &[f64], swept: Swept) -> Option<Finding> {
    let (low, high) = range(v);
    let cure = match swept {
        Swept::Voltage => "start it below 0 V",
        Swept::Current => "step the current further, beyond Isc",
    };
    let text = || format!("the sweep from {} does not reach V = 0: {cure}", span(low, high, "V"));
    ((low > 0.0 || high < 0.0) && !begins_at_zero(v)).then(|| whole(Kind::ShortOfIsc, text()))
}

fn short_of_voc(v: &[f64], a: &[f64], swept: Swept) -> Option<Finding> {
    let (low, high) = range(a);
    let text = || match swept {
        Swept::Voltage => {
            let end = quantity(range(v).1, "V");
            format!("the sweep ends at {end} without reaching I = 0: sweep further")
        }
        Swept::Current => {
            format!("the sweep from {} does not reach I = 0: start it at 0 A or below", span(low, high, "A"))
        }
    };
    ((low > 0.0 || high < 0.0) && !begins_at_zero(a)).then(|| whole(Kind::ShortOfVoc, text()))
}

fn few_points(v: &[f64]) -> Option<Finding> {
    let text = || format!("{} points are few: 20 or more give figures with a smaller uncertainty", v.len());
    (v.len() < FEW).then(|| whole(Kind::FewPoints, text()))
}

fn turns_back(v: &[f64], a: &[f64]) -> Option<Finding> {
    let (turn, apart) = way_back(v, a)?;
    let (low, high) = range(a);
    let share = 100.0 * apart / low.abs().max(high.abs());
    let text = format!(
        "the sweep goes to {} and back: its figures are those of both ways together, which are {share:.2} % of \
         the largest current apart on average; pass them as two sweeps to see each",
        quantity(v[turn], "V")
    );
    Some(Finding { kind: Kind::TurnsBack, text, points: vec![turn] })
}

/// Readings of one axis that stand still at an end of its range, `enough` or more in a row: `what` it may be.
fn clipped(read: &[f64], unit: &str, enough: usize, what: &str) -> Vec<Finding> {
    let (low, high) = range(read);
    let at = |extreme: f64| {
        let stuck: Vec<usize> = (0..read.len()).filter(|&k| read[k] == extreme).collect();
        let in_a_row = stuck.len() >= enough && stuck.windows(2).all(|w| w[1] == w[0] + 1);
        let text =
            format!("{} readings in a row are exactly {}: {what}", stuck.len(), quantity(extreme, unit));
        (in_a_row && low < high).then_some(Finding { kind: Kind::Clipped, text, points: stuck })
    };
    [low, high].into_iter().filter_map(at).collect()
}

/// Whether all steps are the same but for their last digits.
fn is_even(x: &[f64]) -> bool {
    let mean = (x[x.len() - 1] - x[0]) / (x.len() - 1) as f64;
    mean != 0.0 && x.windows(2).all(|w| (w[1] - w[0] - mean).abs() <= EVEN * mean.abs())
}

/// Whether a sweep goes one way and comes back.
pub(super) fn returns(v: &[f64], a: &[f64]) -> bool {
    v.len() > 1 && way_back(v, a).is_some()
}

/// The point where a sweep turns back, and how far the currents of the two ways are apart on average.
fn way_back(v: &[f64], a: &[f64]) -> Option<(usize, f64)> {
    let from_start = |k: &usize| (v[*k] - v[0]).abs();
    let turn = (0..v.len()).max_by(|j, k| from_start(j).total_cmp(&from_start(k)))?;
    let (there, back) = (from_start(&turn), (v[turn] - v[v.len() - 1]).abs());
    let steps: f64 = v.windows(2).map(|w| (w[1] - w[0]).abs()).sum();
    let ways = turn + 1 >= WAY && v.len() - turn > WAY && back > BACK * there;
    if !ways || steps > DETOUR * (there + back) {
        return None;
    }
    let mut returned: Vec<usize> = (turn..v.len()).collect();
    returned.sort_by(|&j, &k| v[j].total_cmp(&v[k]));
    let apart: Vec<f64> =
        (0..turn).filter_map(|k| Some((between(v, a, &returned, v[k])? - a[k]).abs())).collect();
    (!apart.is_empty()).then(|| (turn, apart.iter().sum::<f64>() / apart.len() as f64))
}

/// The current at `x` on the straight line between the readings of `order` (rising in v) on either side.
fn between(v: &[f64], a: &[f64], order: &[usize], x: f64) -> Option<f64> {
    let after = order.partition_point(|&k| v[k] < x);
    let (&left, &right) = (order.get(after.checked_sub(1)?)?, order.get(after)?);
    let t = (x - v[left]) / (v[right] - v[left]);
    Some(a[left] + t * (a[right] - a[left]))
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn line(v: &[f64], shift: impl Fn(usize) -> f64) -> Vec<f64> {
        v.iter().enumerate().map(|(k, v)| 1.0 - v + shift(k)).collect()
    }

    /// On a straight line the interpolation is exact: ways that are 0.02 A apart are found 0.02 A apart.
    #[test]
    fn a_sweep_that_comes_back_is_told() {
        let v = [0.0, 0.2, 0.4, 0.6, 0.8, 1.0, 0.9, 0.7, 0.5, 0.3, 0.1];
        let a = line(&v, |k| if k > 5 { 0.02 } else { 0.0 });
        let (turn, apart) = way_back(&v, &a).unwrap();
        // Between 0.9 and 1.0 V the line leads from one way to the other, but no reading of the first lies there.
        assert_eq!(turn, 5);
        assert_relative_eq!(apart, 0.02, max_relative = 1e-12);
        let found = findings(&v, &a, Sign::Auto, Swept::Voltage);
        let told = found.iter().find(|f| f.kind == Kind::TurnsBack).unwrap();
        assert!(told.text.contains("1.000 V and back") && told.text.contains("2.00 %"), "{}", told.text);
    }

    /// Even steps of the current with the voltages of a logarithm, as a diode has them; even steps of both tell nothing.
    #[test]
    fn steps_of_the_current_are_told() {
        let a: Vec<f64> = (0..20).map(|k| 1e-3 * f64::from(k)).collect();
        let v: Vec<f64> = a.iter().map(|a| 0.6 + 0.05 * (1.0 - a / 0.0195).ln()).collect();
        let told = |v: &[f64], swept| {
            findings(v, &a, Sign::Auto, swept).iter().any(|f| f.kind == Kind::CurrentStepped)
        };
        assert!(told(&v, Swept::Voltage) && !told(&v, Swept::Current));
        assert!(!told(&a.iter().map(|a| 1.0 - a).collect::<Vec<f64>>(), Swept::Voltage));
    }

    /// One way, a little scatter of the voltage, and readings in any order are no way back.
    #[test]
    fn other_orders_are_no_way_back() {
        for v in [
            vec![0.0, 0.2, 0.4, 0.6, 0.8, 1.0],
            vec![1.0, 0.8, 0.6, 0.4, 0.2, 0.0],
            vec![0.0, 0.2, 0.19, 0.4, 0.6, 0.8, 1.0, 0.99, 0.98, 0.97],
            vec![0.4, 0.0, 1.0, 0.2, 0.8, 0.1, 0.6, 0.3, 0.9, 0.5, 0.7],
        ] {
            assert_eq!(way_back(&v, &line(&v, |_| 0.0)), None, "{v:?}");
        }
    }
}
