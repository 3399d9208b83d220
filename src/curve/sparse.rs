//! What few readings hide: figures of a sweep whose points lie far apart are found again without some of them.
//!
//! ```text
//! t² = Σ [(f₋ₖ − f)² − (s₋ₖ² − s²) − ½t₋ₖ²]  +  (c·h³·f)²     over the readings k beside the place, where positive
//! f₋ₖ, s₋ₖ, t₋ₖ: the figure found without reading k, its scatter and truncation;   h: spacing there / Voc
//! ```
//!
//! A guide through few readings follows them whatever the curve does between them, and so does a polynomial: neither
//! shows how wrong it is. But a figure that hangs on one reading is not known better than to what it moves by when that
//! reading is left out, beyond scatter and half of the truncation that it states then: this is added to its truncation.
//! As such moves may vanish by chance, a term of the third order in the spacing stays. Its weight, and where readings
//! count as far apart, were set by simulation.

use super::figure::Figure;
use super::readings::Readings;
use super::scatter::Scatter;
use std::ops::Range;

/// Readings lie far apart beyond this part of Voc: with 13 points over 1.1 Voc and fewer.
const FAR_APART: f64 = 1.0 / 11.0;

/// Different voltages on each side of the place that are left out in turn.
const BESIDE: usize = 2;

/// A figure that can be found without fewer of its readings than these is not given.
const FEWEST_MOVES: usize = 2;

/// Nor one of the bend from fewer different voltages than this.
const FEWEST_OF_BEND: usize = 7;

/// The squared truncation of a figure without a reading explains this much of its square move.
const KNOWN: f64 = 0.5;

/// What may stay hidden between readings that are h·Voc apart is this much of h³ of a figure of the bend.
const HIDDEN: f64 = 2.0;

/// Isc, Voc, Pmax, V_Pmax and I_Pmax, or why there are none.
pub type Figures = [Result<Figure, String>; 5];

const NAMES: [&str; 5] = ["Isc", "Voc", "Pmax", "V_Pmax", "I_Pmax"];

/// Runs of readings at one voltage beside the place of a figure, where they lie far apart.
struct Beside {
    runs: Range<usize>,
    /// Mean spacing as a part of Voc.
    apart: f64,
    place: f64,
}

/// Widens the truncation of `figures` where readings lie far apart; `again` finds them in other readings.
pub fn widen(
    figures: &mut Figures,
    (readings, scatter): (&Readings, &Scatter),
    again: impl Fn(&Readings) -> (Figures, Scatter),
) {
    let runs = runs(readings);
    let value = |k: usize| figures[k].as_ref().ok().map(|f| f.value);
    // A Voc that is known badly may lie anywhere.
    let end = readings.range().1;
    let voc = value(1).map_or(end, |voc| voc.min(end)).abs();
    // Isc, Voc, and the three of the maximum.
    let places = [Some(0.0), value(1), value(3)].map(|place| Beside::of(&runs, readings, place?, voc));
    if places.iter().all(Option::is_none) {
        return;
    }
    let wanted = |r: &usize| places.iter().flatten().any(|beside| beside.runs.contains(r));
    let found_again = |r: usize| {
        let rest = wanted(&r).then(|| readings.without(&runs[r])).flatten()?;
        Some(again(&rest))
    };
    let without: Vec<Option<(Figures, Scatter)>> = (0..runs.len()).map(found_again).collect();
    for (k, figure) in figures.iter_mut().enumerate() {
        let (Some(beside), Ok(whole)) = (&places[k.min(2)], &mut *figure) else { continue };
        let less = without[beside.runs.clone()].iter().flatten();
        let moves: Vec<f64> = less
            .filter_map(|(less, scatter_less)| {
                Some(moved((less[k].as_ref().ok()?, scatter_less), (whole, scatter)))
            })
            .collect();
        if moves.len() < FEWEST_MOVES || (k > 0 && runs.len() < FEWEST_OF_BEND) {
            *figure = Err(too_few(k, &runs, beside.place * readings.unit_v));
            continue;
        }
        let hidden = if k > 0 { HIDDEN * beside.apart.powi(3) * whole.value } else { 0.0 };
        let more = moves.iter().sum::<f64>() + hidden * hidden;
        whole.truncation = whole.truncation.hypot(more.sqrt()).copysign(whole.truncation);
    }
}

/// The square of what a figure moves by when readings are left out, beyond what is known of its scatter and truncation.
fn moved((less, scatter_less): (&Figure, &Scatter), (whole, scatter): (&Figure, &Scatter)) -> f64 {
    let noise = less.scatter_covariance(less, scatter_less) - whole.scatter_covariance(whole, scatter);
    let known = noise.max(0.0) + KNOWN * less.truncation.powi(2);
    ((less.value - whole.value).powi(2) - known).max(0.0)
}

fn too_few(k: usize, runs: &[Range<usize>], volts: f64) -> String {
    format!(
        "{}: {} different voltages, too far apart to tell what the curve does between them; measure more points \
         near {}",
        NAMES[k],
        runs.len(),
        crate::quantity_format::quantity(volts, "V")
    )
}

/// Runs of readings at the same voltage.
fn runs(readings: &Readings) -> Vec<Range<usize>> {
    let mut end = 0;
    let of = |run: &[f64]| {
        end += run.len();
        end - run.len()..end
    };
    readings.voltage.chunk_by(|a, b| a == b).map(of).collect()
}

impl Beside {
    fn of(runs: &[Range<usize>], readings: &Readings, place: f64, voc: f64) -> Option<Self> {
        let volts = |r: usize| readings.voltage[runs[r].start];
        // A reading at the place itself is on neither side, and belongs to them.
        let left = runs.partition_point(|run| readings.voltage[run.start] < place);
        let right = runs.partition_point(|run| readings.voltage[run.start] <= place);
        let own = left.saturating_sub(BESIDE)..(right + BESIDE).min(runs.len());
        let steps = own.len() as f64 - 1.0;
        let apart = (volts(own.end - 1) - volts(own.start)) / steps / voc;
        (apart > FAR_APART).then_some(Self { runs: own, apart, place })
    }
}
