//! Which of the resistances to quote, and why.
//!
//! The order of preference is fixed and not the order of the uncertainties found: the smallest of several ± is the one
//! that scatter favoured. The first method comes to be quoted whose assumptions hold on the data and that has an
//! interval; docs/resistances.md shows how often these intervals hold.

use super::estimated::Resistance;
use super::quantity::Quantity;
use std::fmt;

/// Under light before in the dark, for current crowds otherwise there; all readings before a few; methods whose u is
/// that of a difference of two curves last of their kind.
const SERIES: [&str; 10] = [
    "diode fit, lit",
    "several irradiances",
    "two irradiances",
    "lit against implied voltage",
    "lit against dark",
    "co-content",
    "slope at Voc",
    "diode fit, dark",
    "dark regression (Cheung)",
    "conductance plot (Werner)",
];

const SHUNT: [&str; 7] = [
    "diode fit, lit",
    "slope at Isc",
    "reverse bias, lit",
    "co-content",
    "diode fit, dark",
    "dark ohmic region",
    "reverse bias, dark",
];

/// The resistance to quote, where there is one, and the reason.
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct Quote {
    /// The figure.
    pub resistance: Option<Resistance>,
    /// Why that one, or why none.
    pub why: QuoteReason,
}

/// Why a resistance is quoted, or why none is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub enum QuoteReason {
    /// No method gave a figure.
    #[default]
    NoMethod,
    /// Every method has a doubt.
    AllDoubted,
    /// The methods without a doubt have no interval.
    NoInterval,
    /// The first in the order of preference whose assumptions hold.
    Chosen {
        /// Whether it uses every reading.
        every_reading: bool,
        /// Methods preferred to it that have a figure and a doubt.
        doubted: Vec<&'static str>,
        /// The other methods that hold and have an interval.
        others: Vec<&'static str>,
        /// Those of them whose interval does not meet its own.
        apart: Vec<&'static str>,
    },
}

impl fmt::Display for QuoteReason {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let Self::Chosen { every_reading, doubted, others, apart } = self else {
            return f.write_str(match self {
                Self::AllDoubted => "none: the assumptions of every method are broken on these data",
                Self::NoInterval => {
                    "none: the methods whose assumptions hold have no interval; state the noise"
                }
                _ => "none: no method gave a figure",
            });
        };
        f.write_str("its assumptions hold on these data")?;
        if *every_reading {
            f.write_str(" and it uses every reading")?;
        }
        if !doubted.is_empty() {
            write!(f, "; preferred to it, but not to be believed here: {}", doubted.join(", "))?;
        }
        match (others.as_slice(), apart.as_slice()) {
            ([], _) => Ok(()),
            ([other], []) => write!(f, "; the interval of the {other} meets its own"),
            (others, []) => {
                write!(f, "; the intervals of the {} other methods that hold meet its own", others.len())
            }
            (_, apart) => write!(f, "; not within its interval and theirs: {}", apart.join(", ")),
        }
    }
}

/// As plain data it is its text.
#[cfg(feature = "serde")]
impl serde::Serialize for QuoteReason {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}

/// The first of the order that holds.
pub(super) fn quote(found: &[Resistance], quantity: Quantity) -> Quote {
    let own: Vec<&Resistance> = found.iter().filter(|r| r.quantity == quantity).collect();
    let sound = |r: &&Resistance| r.holds() && has_interval(r);
    let order: &[&str] = if quantity == Quantity::Series { &SERIES } else { &SHUNT };
    let best = order.iter().find_map(|name| own.iter().copied().filter(sound).find(|r| r.method == *name));
    let Some(best) = best else {
        return Quote { resistance: None, why: none(&own) };
    };
    let before = order.iter().take_while(|name| **name != best.method);
    let others = || own.iter().copied().filter(sound).filter(|r| r.method != best.method);
    let why = QuoteReason::Chosen {
        every_reading: matches!(best.method, "diode fit, lit" | "diode fit, dark"),
        doubted: before.filter(|name| own.iter().any(|r| r.method == **name)).copied().collect(),
        others: others().map(|r| r.method).collect(),
        apart: others().filter(|r| !meet(best, r)).map(|r| r.method).collect(),
    };
    Quote { resistance: Some(best.clone()), why }
}

fn has_interval(r: &Resistance) -> bool {
    r.interval.low.is_some() || r.interval.high.is_some()
}

/// Whether both intervals have a value in common.
fn meet(a: &Resistance, b: &Resistance) -> bool {
    let ends = |r: &Resistance| {
        (r.interval.low.unwrap_or(f64::NEG_INFINITY), r.interval.high.unwrap_or(f64::INFINITY))
    };
    let ((low_a, high_a), (low_b, high_b)) = (ends(a), ends(b));
    low_a <= high_b && low_b <= high_a
}

fn none(own: &[&Resistance]) -> QuoteReason {
    match own.len() {
        0 => QuoteReason::NoMethod,
        _ if own.iter().all(|r| !r.holds()) => QuoteReason::AllDoubted,
        _ => QuoteReason::NoInterval,
    }
}

/// The figure and why it is quoted, or why none is.
impl fmt::Display for Quote {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.resistance {
            Some(one) => write!(f, "{} by {}: {}", one.estimate, one.method, self.why),
            None => self.why.fmt(f),
        }
    }
}
