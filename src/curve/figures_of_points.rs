//! The chain from points to their five figures, with the noise of a sweep or a stated one.

use super::analysis::{Analysis, Setup, hidden};
use super::averages::Averages;
use super::beyond::Beyond;
use super::contributions::Contributions;
use super::figures::{gap_of_isc, gap_of_voc};
use super::linear_estimator::{Common, Figures};
use super::noise_estimate::Stated;
use super::scaled_readings::Readings;
use super::stated_scatter::stated;
use crate::diode::thermal_voltage_v;
use crate::numerics::statistics::trend::has_trend;
use crate::quantity::estimate::Amount;
use crate::quantity::key_points::{Found, KeyPoint};
use crate::quantity::reason::Reason;
use crate::sweep::{Noise, Sweep, Swept};

/// Part of a figure that the iterations and differences leave open: without it exact readings had a u below the last digit
/// of their figure.
const TOLERANCE: f64 = 1e-9;

/// A mean correlation of the errors of successive readings that is told.
const NOTICED: f64 = 0.2;

/// What must be known with the figures.
#[derive(Default)]
pub(super) struct Remarks {
    /// With all that carry a ±.
    pub all: Option<Reason>,
    pub isc: Option<Reason>,
    pub voc: Option<Reason>,
    /// Changes of the five figures by voltage gain, current gain, voltage offset, current offset, in SI units.
    pub common: [[f64; 5]; 4],
}

/// The five figures of other points (V and A, generator sign) with the noise, stated or not, of `sweep`.
pub(crate) fn found_in(sweep: &Sweep, voltage_v: &[f64], current_a: &[f64], beyond: Beyond) -> Found {
    as_measured(sweep, voltage_v, current_a, beyond).0
}

pub(super) fn as_measured(sweep: &Sweep, v: &[f64], i: &[f64], beyond: Beyond) -> (Found, Remarks) {
    let (noise, common) = noise(sweep);
    let is_current = sweep.exact_axis() == Swept::Current;
    let (set, read) = if is_current { (i, v) } else { (v, i) };
    with_setup(sweep, &noise, v, i, |setup| match Averages::of(set, read) {
        Some(Averages { set, read, count }) => {
            let (v, i) = if is_current { (&read, &set) } else { (&set, &read) };
            outcome(v, i, &Setup { count: Some(&count), ..*setup }, &common, beyond)
        }
        None => outcome(v, i, setup, &common, beyond),
    })
}

/// The five figures with their covariance, from plain slices in V and A (generator sign, any order).
///
/// `common` is in SI units. Readings that are not finite or have no slope give reasons instead of figures.
///
/// # Examples
/// ```
/// use litdiode::curve::{Common, Stated, found};
/// use litdiode::diode::{Parameters, SingleDiode};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let none = |_: f64| 0.0;
/// let ten_microampere = |_: f64| 1e-5;
/// let figures = found(&v, &i, &Stated::Known(&none, &ten_microampere), &Common::default());
/// assert!((figures.values[0].clone()? - 0.02998334).abs() < 1e-6); // Isc
/// assert!((figures.values[1].clone()? - 0.5743260).abs() < 1e-5); // Voc
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn found(voltage_v: &[f64], current_a: &[f64], stated: &Stated, common: &Common) -> Found {
    let swept = if let Stated::ReadVoltage = stated { Swept::Current } else { Swept::Voltage };
    outcome(
        voltage_v,
        current_a,
        &Setup { stated, swept, thermal_v: None, dof: f64::INFINITY, hidden: (0.0, 0.0), count: None },
        common,
        Beyond::default(),
    )
    .0
}

/// What was found, and remarks where they are due.
fn outcome(v: &[f64], i: &[f64], setup: &Setup, common: &Common, beyond: Beyond) -> (Found, Remarks) {
    match Work::new(v, i, setup, beyond) {
        Some(work) => (work.collect(common), Remarks { common: work.common(common), ..work.remarks() }),
        None => (no_curve(v, i, setup), Remarks::default()),
    }
}

/// Readings that give no figure at all, and why.
fn no_curve(v: &[f64], i: &[f64], setup: &Setup) -> Found {
    let is_curve = Readings::new(v, i, 1.0).is_some();
    let why = || match is_curve {
        true if setup.swept == Swept::Current && !has_trend(i, v) => Reason::NoFall,
        true => Reason::NoDeviceCurve,
        false => Reason::NoCurve,
    };
    Found { values: [0; 5].map(|_| Err(why())), covariance: Err(why()), dof: [0.0; 5] }
}

/// The five figures of other points with the noise of `sweep`, and what every source of uncertainty does to each.
pub(crate) fn traced(
    sweep: &Sweep,
    v: &[f64],
    i: &[f64],
    beyond: Beyond,
) -> (Found, [Option<Contributions>; 5]) {
    const NONE: [Option<Contributions>; 5] = [const { None }; 5];
    let (noise, common) = noise(sweep);
    with_setup(sweep, &noise, v, i, |setup| {
        let Some(work) = Work::new(v, i, setup, beyond) else {
            return (no_curve(v, i, setup), NONE);
        };
        let is_known = work.analysis.scatter.unknown.is_none();
        (work.collect(&common), if is_known { work.contributions(v, i, &common) } else { NONE })
    })
}

/// The analysis of the points (v, i) with the noise of `sweep`, stated or found, and −1 where the device was turned round for
/// it; `None` where they are no curve.
pub(crate) fn analysis_of(sweep: &Sweep, v: &[f64], i: &[f64]) -> Option<(Analysis, f64)> {
    analysis_of_noise(sweep, &noise(sweep).0, v, i)
}

/// The same with another noise than that of `sweep`.
pub(super) fn analysis_of_noise(
    sweep: &Sweep,
    noise: &Noise,
    v: &[f64],
    i: &[f64],
) -> Option<(Analysis, f64)> {
    with_setup(sweep, noise, v, i, |setup| analysed(v, i, setup))
}

fn analysed(v: &[f64], i: &[f64], setup: &Setup) -> Option<(Analysis, f64)> {
    let sense = sense(v, i);
    // Voltages that are scatter alone are those of a short circuit, on which no point is a figure.
    if setup.swept == Swept::Current && !has_trend(i, v) {
        return None;
    }
    let readings = match setup.count {
        Some(count) => Readings::of_means(v, i, count, sense),
        None => Readings::new(v, i, sense),
    };
    Some((Analysis::new(readings?, setup)?, sense))
}

pub(super) fn noise(sweep: &Sweep) -> (Noise, Common) {
    let noise = sweep.options().noise.unwrap_or_default();
    let common = Common {
        voltage_gain: noise.voltage_gain_u,
        current_gain: noise.current_gain_u,
        voltage_offset: noise.voltage_offset_u,
        current_offset: noise.current_offset_u,
    };
    (noise, common)
}

/// Calls `f` with what `sweep` and `noise` say beside the points (v, i).
fn with_setup<T>(sweep: &Sweep, noise: &Noise, v: &[f64], i: &[f64], f: impl FnOnce(&Setup) -> T) -> T {
    let options = sweep.options();
    let thermal_v = Some(thermal_voltage_v(1.0, options.cells, options.temperature_c));
    stated(sweep, noise, v, i, |stated| {
        let (swept, dof, hidden) = (sweep.exact_axis(), noise.dof(), hidden(noise));
        f(&Setup { stated, swept, thermal_v, dof, hidden, count: None })
    })
}

/// The figures with what they were read from, in its units.
struct Work {
    analysis: Analysis,
    figures: Figures,
    /// −1 for a device that was turned round.
    sense: f64,
}

impl Work {
    /// `None` where the readings are no curve.
    fn new(v: &[f64], i: &[f64], setup: &Setup, beyond: Beyond) -> Option<Self> {
        let (analysis, sense) = analysed(v, i, setup)?;
        let figures = Figures::of(&analysis, beyond);
        Some(Self { analysis, figures, sense })
    }

    fn units(&self) -> [f64; 5] {
        let (v, a) = (self.analysis.readings.unit_v, self.analysis.readings.unit_a);
        [self.sense * a, self.sense * v, v * a, self.sense * v, self.sense * a]
    }

    fn scaled(&self, common: &Common) -> Common {
        Common {
            voltage_offset: common.voltage_offset / self.analysis.readings.unit_v,
            current_offset: common.current_offset / self.analysis.readings.unit_a,
            ..*common
        }
    }

    fn remarks(&self) -> Remarks {
        let (readings, scatter) = (&self.analysis.readings, &self.analysis.scatter);
        let all = scatter.excess.map(|times| Reason::Excess { times });
        let correlation = self.analysis.posterior.correlation;
        let correlated = (correlation > NOTICED).then_some(Reason::Correlated { correlation });
        let beyond = |figure, nearest| Reason::Extrapolated { figure, nearest };
        let isc =
            gap_of_isc(readings, scatter).map(|v| beyond(KeyPoint::Isc, Amount::volts(v * readings.unit_v)));
        let voc = gap_of_voc(readings, scatter)
            .map(|i| beyond(KeyPoint::Voc, Amount::amperes(i * readings.unit_a)));
        Remarks { all: all.or(correlated), isc, voc, ..Remarks::default() }
    }

    fn common(&self, common: &Common) -> [[f64; 5]; 4] {
        let (common, units) = (self.scaled(common), self.units());
        let mut by = [[0.0; 5]; 4];
        for (j, figure) in self.figures.values.iter().enumerate() {
            let Ok(figure) = figure else { continue };
            let changes = figure.common(&self.analysis.readings, &common);
            changes.iter().enumerate().for_each(|(k, change)| by[k][j] = change * units[j]);
        }
        by
    }

    fn collect(&self, common: &Common) -> Found {
        let (common, units) = (self.scaled(common), self.units());
        let Analysis { readings, scatter, .. } = &self.analysis;
        let mut covariance = [[0.0; 5]; 5];
        let mut dof = [f64::INFINITY; 5];
        for j in 0..5 {
            for k in 0..=j {
                let (Ok(f), Ok(h)) = (&self.figures.values[j], &self.figures.values[k]) else { continue };
                let own = f.scatter_covariance(h, scatter) + self.figures.shape[j][k];
                let effects = f.common(readings, &common).into_iter().zip(h.common(readings, &common));
                let numeric = if j == k { (TOLERANCE * f.value).powi(2) } else { 0.0 };
                let total = own + effects.map(|(a, b)| a * b).sum::<f64>() + numeric;
                covariance[j][k] = total * units[j] * units[k];
                covariance[k][j] = covariance[j][k];
                if j == k && own > 0.0 && !self.figures.bracketed[j] {
                    dof[j] = scatter.dof * (total / own).powi(2);
                }
            }
        }
        let values = std::array::from_fn(|k| match &self.figures.values[k] {
            Ok(f) if (f.value * units[k]).is_finite() => Ok(f.value * units[k]),
            Ok(_) => Err(Reason::Overflow),
            Err(why) => Err(why.clone()),
        });
        let covariance = match &scatter.unknown {
            None => Ok(covariance),
            Some(why) => Err(why.clone()),
        };
        Found { values, covariance, dof }
    }

    fn contributions(&self, v: &[f64], i: &[f64], common: &Common) -> [Option<Contributions>; 5] {
        let readings = &self.analysis.readings;
        let (order, common) = (readings.order(v, i, self.sense), self.scaled(common));
        let (from, units) = ((readings, &common), self.units());
        std::array::from_fn(|k| {
            let figure = self.figures.values[k].as_ref().ok()?;
            let shape = std::array::from_fn(|j| self.figures.shape[k][j] * units[j] * units[k]);
            Some(Contributions::new(figure, (units[k], shape), from, (&order, v.len(), self.sense)))
        })
    }
}

/// −1 for a device that delivers its power at V < 0 and I < 0: it is turned round for the work.
fn sense(voltage_v: &[f64], current_a: &[f64]) -> f64 {
    let best = |sense: f64| {
        voltage_v
            .iter()
            .zip(current_a)
            .filter(|(v, i)| sense * **v > 0.0 && sense * **i > 0.0)
            .map(|(v, i)| v.abs().ln() + i.abs().ln())
            .fold(f64::NEG_INFINITY, f64::max)
    };
    // Logarithms, because the product of two readings may leave the range of numbers: a factor of 4.
    if best(-1.0) > best(1.0) + 4f64.ln() { -1.0 } else { 1.0 }
}
