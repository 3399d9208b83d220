//! Remarks on a sweep that its figures do not show by themselves.

use super::range;
use serde::{Deserialize, Serialize};

/// What kind of remark it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
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
        }
    }
}

/// One remark.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    /// What it is about.
    pub kind: Kind,
    /// The remark, in one sentence that says what to do.
    pub text: String,
    /// The points it is about; empty where it is about the whole.
    pub points: Vec<usize>,
}

/// Points below which the local fits lose their ±.
const FEW: usize = 10;
/// Identical extreme readings that show a limit.
const STUCK: usize = 3;

/// All remarks on a sweep.
pub(super) fn findings(v: &[f64], a: &[f64]) -> Vec<Finding> {
    let (v_low, v_high) = range(v);
    let (a_low, a_high) = range(a);
    let mut found = Vec::new();
    let mut say = |kind, text: String, points| found.push(Finding { kind, text, points });
    let backwards = v.iter().zip(a).filter(|(v, a)| **v < 0.0 && **a < 0.0).count();
    let forwards = v.iter().zip(a).filter(|(v, a)| **v > 0.0 && **a > 0.0).count();
    if backwards > 2 && backwards > 4 * forwards {
        let text =
            "power is delivered at negative voltage: swapped leads, or a fault of the cell or the rig".into();
        say(Kind::NegativeVoltage, text, Vec::new());
    }
    if v_low > 0.0 || v_high < 0.0 {
        say(
            Kind::ShortOfIsc,
            format!("the sweep from {v_low:.4} to {v_high:.4} V does not reach V = 0: start it below 0 V"),
            Vec::new(),
        );
    }
    if a_low > 0.0 || a_high < 0.0 {
        say(
            Kind::ShortOfVoc,
            format!("the sweep ends at {v_high:.4} V without reaching I = 0: sweep further"),
            Vec::new(),
        );
    }
    if v.len() < FEW {
        say(
            Kind::FewPoints,
            format!("{} points are few: 20 or more give figures with an uncertainty", v.len()),
            Vec::new(),
        );
    }
    for extreme in [a_low, a_high] {
        let stuck: Vec<usize> = (0..a.len()).filter(|&k| a[k] == extreme).collect();
        if stuck.len() >= STUCK && stuck.windows(2).all(|w| w[1] == w[0] + 1) && a_low < a_high {
            let text = format!(
                "{} readings in a row are exactly {extreme:e} A: a current limit or a full range",
                stuck.len()
            );
            say(Kind::Clipped, text, stuck);
        }
    }
    found
}
