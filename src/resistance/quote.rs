//! Which of the resistances to quote, and why.
//!
//! The order of preference is fixed and not the order of the uncertainties found: the smallest of several ± is the one
//! that scatter favoured. The first method comes to be quoted whose assumptions hold on the data and that has an
//! interval; docs/resistances.md shows how often these intervals hold.

use super::estimated::Resistance;
use super::quantity::Quantity;

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
    pub why: String,
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
    let failed: Vec<&str> = before.filter(|name| own.iter().any(|r| r.method == **name)).copied().collect();
    let mut why = String::from("its assumptions hold on these data");
    why += match best.method {
        "diode fit, lit" | "diode fit, dark" => " and it uses every reading",
        _ => "",
    };
    if !failed.is_empty() {
        why += &format!("; preferred to it, but not to be believed here: {}", failed.join(", "));
    }
    let others: Vec<&Resistance> =
        own.iter().copied().filter(sound).filter(|r| r.method != best.method).collect();
    if !others.is_empty() {
        let apart: Vec<&str> = others.iter().filter(|r| !meet(best, r)).map(|r| r.method).collect();
        why += &match apart.len() {
            0 if others.len() == 1 => format!("; the interval of the {} meets its own", others[0].method),
            0 => format!("; the intervals of all {} other methods that hold meet its own", others.len()),
            _ => format!("; not within its interval and theirs: {}", apart.join(", ")),
        };
    }
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

fn none(own: &[&Resistance]) -> String {
    match own.len() {
        0 => "none: no method gave a figure".into(),
        _ if own.iter().all(|r| !r.holds()) => {
            "none: the assumptions of every method are broken on these data".into()
        }
        _ => "none: the methods whose assumptions hold have no interval; state the noise".into(),
    }
}
