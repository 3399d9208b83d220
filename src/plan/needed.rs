//! How many points, or how many repeats of a plan, a wanted uncertainty takes.
//!
//! ```text
//! the fewest n with u(n) ≤ u_wanted        u falls about as 1/√n, down to what gains and offsets leave
//! ```

use super::error::PlanError;
use super::expected::Expected;
use super::options::{MOST_POINTS, PlanOptions};
use super::planner::Planner;
use super::result::planner;
use crate::fit::Figure;
use crate::numerics::cancel;
use std::fmt;

/// Set points above which a plan is repeated as a whole.
const PLANNED: usize = 100;
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
    /// Set points, planned; above 100 in whole repeats of the plan of 100.
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
}

/// How many set points the relative standard uncertainty `wanted` of the target takes: planned, in equal steps, and as
/// repeats of the plan of `options.points`.
///
/// # Errors
/// [`PlanError`], those of [`plan_sweep`](super::plan_sweep) and that of a `wanted` outside 0 to 1.
pub fn points_needed(
    expected: &Expected,
    wanted: f64,
    options: &PlanOptions,
) -> Result<PointsNeeded, PlanError> {
    if !(wanted > 0.0 && wanted < 1.0) {
        let cure = "give a share between 0 and 1, such as 0.01 for 1 %";
        return Err(PlanError::Option { name: "wanted", value: wanted, cure });
    }
    let mut options = options.clone();
    options.noise = options.noise.or(expected.noise);
    let planner = planner(expected, &options)?;
    let search = Search::new(planner.as_ref(), &options, wanted)?;
    let fewest = planner.fewest();
    let own = planner.plan(options.points)?;
    let relative_u = search
        .relative_u(Some(own.clone()))
        .ok_or(PlanError::NotDetermined { target: options.target.name() })?;
    let guess = (options.points as f64 * (relative_u / wanted).powi(2)).min(MOST_READINGS as f64) as usize;
    let most = MOST_READINGS / options.points;
    let mut planned = search.fewest(fewest, PLANNED, guess, |n| planner.plan(n).ok());
    if planned.is_none() {
        let whole = planner.plan(PLANNED)?;
        let repeats = |n: usize| Some(whole.repeat(n));
        planned = search.fewest(2, MOST_READINGS / PLANNED, guess / PLANNED, repeats).map(|n| n * PLANNED);
    }
    let found = PointsNeeded {
        target: options.target,
        wanted,
        planned,
        equal_voltage: search.fewest(fewest, MOST_READINGS, guess, |n| planner.equal_voltages(n)),
        equal_current: search.fewest(fewest, MOST_READINGS, guess, |n| planner.equal_currents(n)),
        points: options.points,
        relative_u,
        repeats: search.fewest(1, most, guess / options.points, |n| Some(own.repeat(n))),
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
        let fewest = planner.fewest();
        if !(fewest..=MOST_POINTS).contains(&options.points) {
            return Err(PlanError::Points { given: options.points, fewest, most: MOST_POINTS });
        }
        let found =
            planner.figures().iter().enumerate().find(|(_, f)| f.0 == options.target).map(|(k, f)| (k, f.1));
        let (place, value) = found.ok_or(PlanError::NoTarget { index: 0, target: options.target.name() })?;
        if value == 0.0 {
            return Err(PlanError::NoTarget { index: 0, target: options.target.name() });
        }
        Ok(Self { planner, place, value: value.abs(), wanted })
    }

    fn relative_u(&self, set: Option<Vec<f64>>) -> Option<f64> {
        let u = self.planner.u(&set?).get(self.place).copied().flatten()?;
        Some(u / self.value)
    }

    /// The fewest n from `least` to `most` that suffice, sought about `guess`; `None` where `most` do not.
    fn fewest(
        &self,
        least: usize,
        most: usize,
        guess: usize,
        set: impl Fn(usize) -> Option<Vec<f64>>,
    ) -> Option<usize> {
        let suffices =
            |n: usize| !cancel::requested_now() && self.relative_u(set(n)).is_some_and(|u| u <= self.wanted);
        let mut high = guess.clamp(least, most);
        while !suffices(high) {
            if high == most || cancel::requested_now() {
                return None;
            }
            high = (high + high.div_ceil(4)).min(most);
        }
        if high == least {
            return Some(high);
        }
        // Below what suffices: half of it, until it does not.
        let mut low = (high * 4 / 5).max(least);
        while suffices(low) {
            if low == least {
                return Some(low);
            }
            (high, low) = (low, (low * 4 / 5).max(least));
        }
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            if suffices(middle) { high = middle } else { low = middle }
        }
        Some(high)
    }
}

impl fmt::Display for PointsNeeded {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let shown = |n: Option<usize>| n.map_or(format!("more than {MOST_READINGS}"), |n| n.to_string());
        write!(
            f,
            "u({}) of {} % takes {} planned points, {} in equal steps of voltage, {} in equal steps of current; the plan of {} \
             points ({:.2} %) taken {} times",
            self.target,
            100.0 * self.wanted,
            shown(self.planned),
            shown(self.equal_voltage),
            shown(self.equal_current),
            self.points,
            100.0 * self.relative_u,
            shown(self.repeats),
        )
    }
}
