//! How many points, or how many repeats of a plan, a wanted uncertainty takes.
//!
//! ```text
//! the fewest n with u(n) ≤ u_wanted        u falls about as 1/√n, down to what gains and offsets leave
//! ```
//!
//! Repeats of a set point count by their mean. Without a model the discrepancy from the pilot and the bracket of the neighbours
//! stay too, and u(n) of plans that are sought anew is not monotonic: below a number that suffices others are tried although
//! one in between does not.

use super::error::PlanError;
use super::expected::Expected;
use super::options::{Method, PlanOptions};
use super::planner::Planner;
use super::result::planner;
use crate::fit::Figure;
use crate::numerics::cancel;
use crate::quantity::format::percent;
use std::fmt;

/// Set points above which a plan is repeated as a whole.
const PLANNED: usize = 100;
/// Numbers in turn that do not suffice, after which the search for a lower one ends.
const MISSES: usize = 2;
/// Readings in all that are looked at.
const MOST_READINGS: usize = 20_000;

/// How many set points a wanted uncertainty takes; absent where no number up to 20,000 does, such as for gains and offsets.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct PointsNeeded {
    /// The figure.
    pub target: Figure,
    /// The relative standard uncertainty that is wanted.
    pub wanted: f64,
    /// Set points, planned; above 100 in whole repeats of the plan of 100. Where repeats of the plan of `points` take fewer,
    /// their number.
    pub planned: Option<usize>,
    /// In equal steps of the voltage.
    pub equal_voltage: Option<usize>,
    /// In equal steps of the current.
    pub equal_current: Option<usize>,
    /// Number of points of the plan that is repeated.
    pub points: usize,
    /// Its relative standard uncertainty, taken once.
    pub relative_u: f64,
    /// How often it is taken.
    pub repeats: Option<usize>,
    /// The relative standard uncertainty that 20,000 readings at its set points leave; absent where they leave it open.
    pub left: Option<f64>,
    /// Whose uncertainty it is.
    pub method: Method,
}

/// How many set points the relative standard uncertainty `wanted` of the target takes: planned, in equal steps, and as
/// repeats of the plan of `options.points`.
///
/// # Errors
/// [`PlanError`], those of [`plan_sweep`](super::plan_sweep) and that of a `wanted` outside 0 to 1.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::plan::{Expected, PlanOptions, points_needed};
/// use litdiode::sweep::Noise;
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let options = PlanOptions::default().noise(Noise::default().current_a(3e-4));
/// let needed = points_needed(&Expected::one_diode(&[cell])?, 0.005, &options)?;
/// let (planned, equal) = (needed.planned.unwrap(), needed.equal_voltage.unwrap());
/// assert!(needed.relative_u <= 0.02 && planned < equal);
/// let half = points_needed(&Expected::one_diode(&[SingleDiode::new(*cell.parameters())?])?, 0.0025, &options)?;
/// assert!((half.planned.unwrap() as f64 / planned as f64 - 4.0).abs() < 0.6); // u falls as 1/√n
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn points_needed(
    expected: &Expected,
    wanted: f64,
    options: &PlanOptions,
) -> Result<PointsNeeded, PlanError> {
    if !(wanted > 0.0 && wanted < 1.0) {
        let cure = "give a share between 0 and 1, such as 0.01 for 1 %";
        return Err(PlanError::Option { name: "wanted", value: wanted, cure });
    }
    let options = options.completed(expected);
    let planner = planner(expected, &options)?;
    let search = Search::new(planner.as_ref(), &options, wanted)?;
    let fewest = planner.fewest();
    let own = planner.plan(options.points)?;
    planner.serve(&own)?;
    let relative_u = search
        .relative_u(Some(own.clone()))
        .ok_or(PlanError::NoTarget { index: 0, target: options.target.name() })?;
    let guess = (options.points as f64 * (relative_u / wanted).powi(2)).min(MOST_READINGS as f64) as usize;
    let most = MOST_READINGS / options.points;
    let mut planned = search.fewest((fewest, PLANNED), guess, |n| search.relative_u(planner.plan(n).ok()));
    if planned.is_none() {
        let whole = planner.plan(PLANNED)?;
        let ends = (2, MOST_READINGS / PLANNED);
        planned = search.fewest(ends, guess / PLANNED, |n| search.repeated(&whole, n)).map(|n| n * PLANNED);
    }
    let repeats = search.fewest((1, most), guess / options.points, |n| search.repeated(&own, n));
    let planned = planned.into_iter().chain(repeats.map(|n| n * options.points)).min();
    let equal = (fewest, MOST_READINGS);
    let found = PointsNeeded {
        target: options.target,
        wanted,
        planned,
        equal_voltage: search.fewest(equal, guess, |n| search.relative_u(planner.equal_voltages(n))),
        equal_current: search.fewest(equal, guess, |n| search.relative_u(planner.equal_currents(n))),
        points: options.points,
        relative_u,
        repeats,
        left: search.repeated(&own, most),
        method: options.method,
    };
    if cancel::requested_now() { Err(PlanError::Stopped) } else { Ok(found) }
}

/// The search for the fewest.
struct Search<'a> {
    planner: &'a dyn Planner,
    /// Place of the target among the figures, and the size of it.
    place: usize,
    value: f64,
    wanted: f64,
}

impl<'a> Search<'a> {
    fn new(planner: &'a dyn Planner, options: &PlanOptions, wanted: f64) -> Result<Self, PlanError> {
        planner.allows(options.points)?;
        let found = planner.place_of(options.target).filter(|(_, value)| *value != 0.0);
        let (place, value) = found.ok_or(PlanError::NoTarget { index: 0, target: options.target.name() })?;
        Ok(Self { planner, place, value: value.abs(), wanted })
    }

    fn relative_u(&self, set: Option<Vec<f64>>) -> Option<f64> {
        let u = self.planner.u(&set?).get(self.place).copied().flatten()?;
        Some(u / self.value)
    }

    fn repeated(&self, set: &[f64], times: usize) -> Option<f64> {
        let u = self.planner.u_repeated(set, times).get(self.place).copied().flatten()?;
        Some(u / self.value)
    }

    /// The fewest n from `least` to `most` that suffice, sought about `guess`; `None` where `most` do not.
    fn fewest(
        &self,
        (least, most): (usize, usize),
        guess: usize,
        relative_u: impl Fn(usize) -> Option<f64>,
    ) -> Option<usize> {
        let suffices = |n: usize| !cancel::requested_now() && relative_u(n).is_some_and(|u| u <= self.wanted);
        let mut high = guess.clamp(least, most);
        while !suffices(high) {
            if high == most || cancel::requested_now() {
                return None;
            }
            high = (high + high.div_ceil(4)).min(most);
        }
        // Below what suffices: four fifths of it, until that does not, twice in turn.
        let (mut low, mut below, mut misses) = (None, high, 0);
        while below > least && misses < MISSES {
            below = (below * 4 / 5).max(least);
            if suffices(below) {
                (high, low, misses) = (below, None, 0);
            } else {
                low = low.or(Some(below));
                misses += 1;
            }
        }
        let Some(mut low) = low else { return Some(high) };
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if suffices(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }
}

impl PointsNeeded {
    /// What no number of readings takes away, where that is why none suffices.
    fn rest(&self) -> Option<String> {
        let left = self.left.filter(|left| *left > self.wanted)?;
        let scatter = self.relative_u / (MOST_READINGS as f64 / self.points as f64).sqrt();
        let what = match self.method {
            Method::Model => "gains and offsets",
            Method::Local => {
                "gains, offsets, the discrepancy from the pilot and the bracket of the neighbours"
            }
        };
        let mostly = if left > 1.5 * scatter {
            format!(", most of it {what}, which no number of readings takes away")
        } else {
            String::new()
        };
        Some(format!("; {MOST_READINGS} readings leave {} %{mostly}", percent(left)))
    }
}

impl fmt::Display for PointsNeeded {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let shown = |n: Option<usize>| n.map_or(format!("more than {MOST_READINGS}"), |n| n.to_string());
        let times = match self.repeats {
            Some(1) => "taken once".into(),
            Some(n) => format!("taken {n} times"),
            None => format!("repeated up to {MOST_READINGS} readings does not reach it"),
        };
        write!(
            f,
            "u({}) of {} % takes {} planned points, {} in equal steps of voltage, {} in equal steps of current; the plan of {} \
             points ({:.2} %) {times}{}",
            self.target,
            percent(self.wanted),
            shown(self.planned),
            shown(self.equal_voltage),
            shown(self.equal_current),
            self.points,
            100.0 * self.relative_u,
            self.rest().unwrap_or_default(),
        )
    }
}
