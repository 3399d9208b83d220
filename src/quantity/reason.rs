//! Why a figure, its ± or an end of its interval is missing, and what must be known with one that is there.
//!
//! One variant a cause, with the numbers that it rests on. The text is that of [`Display`](std::fmt::Display);
//! [`Coded`](crate::code::Coded) gives the number of the cause.

use crate::numerics::least_squares::problem::Stop;
use crate::numerics::serde_float::shown;
use crate::quantity::coverage::LevelError;
use crate::quantity::format::{plus_minus, span};
use crate::quantity::key_point::KeyPoint;
use crate::quantity::names::Name;
use crate::quantity::unit::{Amount, Unit};
use thiserror::Error;

/// A cause, with its numbers.
///
/// # Examples
/// ```
/// use litdiode::code::Coded;
/// use litdiode::{curve, reason::Reason, sweep::{Sweep, SweepOptions}};
/// let sweep = Sweep::new(&[0.1, 0.2, 0.3, 0.4, 0.5], &[0.03, 0.03, 0.029, 0.02, 0.0], SweepOptions::default())?;
/// let points = curve::key_points(&sweep);
/// let why = points.why_absent("isc").unwrap();
/// assert!(matches!(why, Reason::NotReached { .. }));
/// assert_eq!(why.code(), 803);
/// assert!(why.to_string().contains("measure across 0 V"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq, Error)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Reason {
    /// Text of a caller for a figure of his own.
    #[error("{0}")]
    Remark(String),

    // The readings do not give the figure.
    /// Fewer than two different finite voltages, or no current.
    #[error("the readings are no curve: at least two different finite voltages and a current are needed")]
    NoCurve,
    /// No curve of a device can be laid through the readings.
    #[error(
        "the readings lie on no curve that a device might have: at least five that fall across V = 0 and I = 0 are needed"
    )]
    NoDeviceCurve,
    /// The readings do not reach the axis where the figure lies.
    #[error("{}", not_reached(*figure, nearest))]
    NotReached {
        /// Isc or Voc.
        figure: KeyPoint,
        /// The voltage nearest to V = 0, or the current nearest to I = 0.
        nearest: Amount,
    },
    /// The same, and the figure is beyond extrapolation.
    #[error(
        "{}; {} lies too far from the readings to be extrapolated",
        not_reached(*figure, nearest),
        figure.symbol()
    )]
    TooFar {
        /// Isc or Voc.
        figure: KeyPoint,
        /// The voltage nearest to V = 0, or the current nearest to I = 0.
        nearest: Amount,
    },
    /// The readings about the axis where the figure lies lie on no falling curve.
    #[error(
        "{}: the readings near {} = 0 contradict each other, no crossing within the sweep; measure more points there",
        figure.symbol(), axis(*figure)
    )]
    Contradiction {
        /// Isc or Voc.
        figure: KeyPoint,
    },
    /// Set points too far apart for a figure of the bend.
    #[error(
        "{}: {different} different {}, too far apart to tell what the curve does between them; measure more points near {near}",
        figure.symbol(),
        if *set == Unit::Ampere { "currents" } else { "voltages" }
    )]
    FarApart {
        /// The figure.
        figure: KeyPoint,
        /// Number of different set points.
        different: usize,
        /// Volt or ampere: what was set.
        set: Unit,
        /// Where more are needed.
        near: Amount,
    },
    /// Too few different voltages to show a maximum of the power.
    #[error(
        "Pmax: {different} different voltages do not show a maximum (at least {fewest}); measure more points"
    )]
    FewVoltages {
        /// Number of different voltages.
        different: usize,
        /// Fewest that work.
        fewest: usize,
    },
    /// The power has no maximum about the best reading.
    #[error("Pmax: the readings about the best one show no maximum; measure more points there")]
    NoMaximum,
    /// The power is highest at the end of the sweep.
    #[error("Pmax: the power is highest at the end of the sweep ({voltage}): measure beyond it")]
    MaximumAtEnd {
        /// The voltage there.
        voltage: Amount,
    },
    /// The maximum of the fitted curve lies outside the currents of the readings.
    #[error("Pmax: the fit about the knee leaves the readings; measure more points there")]
    OutsideReadings,
    /// Voltages at set currents that do not fall.
    #[error(
        "the voltage does not change with the current beyond its scatter: a short circuit in the cell, its contacts or the rig"
    )]
    NoFall,
    /// No power is delivered.
    #[error("Pmax: no reading with V > 0 and I > 0, the device delivers no power in this sweep")]
    NoPower,
    /// The power is not clearly above zero.
    #[error("Pmax: the power does not stand above its scatter, as with a dark curve")]
    PowerInScatter,
    /// The curve runs along I = 0.
    #[error("Voc: the curve runs along I = 0 within its scatter, any voltage would do")]
    AlongAxis,
    /// A product beyond the range of numbers.
    #[error("the result is beyond the range of numbers: look at the units")]
    Overflow,
    /// Other figures that the figure follows from are absent.
    #[error("{} needs {}, which this sweep does not give", definition(*figure), symbols(missing))]
    Needs {
        /// The figure.
        figure: KeyPoint,
        /// Those that it needs and that are absent.
        missing: Vec<KeyPoint>,
    },
    /// Area or irradiance was not stated.
    #[error("{} needs {}", definition(*figure), unstated(*area, *irradiance))]
    Unstated {
        /// Jsc or η.
        figure: KeyPoint,
        /// Whether the area is missing.
        area: bool,
        /// Whether the irradiance is missing.
        irradiance: bool,
    },
    /// A factor of the fill factor is not clearly above zero.
    #[error("{} is not clearly above zero, and FF = Pmax/(Isc·Voc) rests on it: a dark curve has none; else measure more closely about that figure", figure.symbol())]
    NotAboveZero {
        /// Isc, Voc or Pmax.
        figure: KeyPoint,
    },
    /// A fill factor that no curve has.
    #[error(
        "Pmax/(Isc·Voc) = {fill_factor:.3} is not between 0 and 1: the readings contradict each other; measure again, and look at light and contacts"
    )]
    FillFactor {
        /// Pmax/(Isc·Voc).
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        fill_factor: f64,
    },

    // There is no ±.
    /// Neither is the noise stated nor are there readings enough to find it.
    #[error(
        "no ± without the noise: {readings} readings are too few to find their scatter (at least {fewest}); state the noise"
    )]
    FewReadings {
        /// Number of readings.
        readings: usize,
        /// Fewest that show a scatter.
        fewest: usize,
    },
    /// Neither is the noise stated nor are there different voltages enough to find it.
    #[error("no ± without the noise: too few different voltages to find the scatter; state the noise")]
    NoScatter,
    /// As many free parameters as readings.
    #[error("the data leave no degrees of freedom for a ±; state the noise, or measure more points")]
    NoDegreesOfFreedom,
    /// The figure is exact for the parameters of a model.
    #[error("a figure of the model itself, exact for its parameters")]
    Exact,
    /// The model of a dark curve has its figures at 0.
    #[error("a dark curve: the model puts it at 0")]
    Dark,
    /// The fit has no covariance.
    #[error("the fit has no covariance: see its notes")]
    NoCovariance,
    /// A figure is lost where the points are moved by what is common to them.
    #[error(
        "the uncertainty of {effect} moves the points so far that {figure} is lost: state it more closely or sweep further"
    )]
    Lost {
        /// The source of the uncertainty.
        effect: String,
        /// The figure.
        figure: KeyPoint,
    },
    /// A line through two conditions.
    #[error("two conditions give a line without scatter: measure at a third for a ±")]
    TwoConditions,
    /// A conductance that is not above 0 makes no resistance with a ±.
    #[error("the conductance {conductance} is not above 0: {}", beyond(above.as_ref()))]
    NoConductance {
        /// The conductance.
        conductance: Amount,
        /// The lower end of the 95 % interval of the resistance; none where the current rises with the voltage.
        above: Option<Amount>,
    },
    /// The bias and spread of the highest sample are not known.
    #[error("its bias and spread need the scatter of the readings")]
    BiasUnknown,
    /// A number that was passed without an uncertainty.
    #[error("given without uncertainty")]
    Given,
    /// A time constant needs times.
    #[error("the times of the readings are not known: pass time_s")]
    NoTimes,
    /// Two ways of a sweep have no set points in common.
    #[error("both ways need the same {fewest} set points or more, each reading at the one of the other way")]
    DifferentSetPoints {
        /// Fewest that show a lag.
        fewest: usize,
    },
    /// Times that show steps of different length.
    #[error(
        "the dwell times differ, from {} s to {} s: a time constant needs equal ones",
        shown(shortest_s),
        shown(longest_s)
    )]
    UnevenDwell {
        /// Shortest in s.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        shortest_s: f64,
        /// Longest in s.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        longest_s: f64,
    },
    /// A device that follows a step in another way than by one time constant.
    #[error(
        "one time constant leaves {} times the noise: the device follows in another way; measure at two speeds",
        shown(times)
    )]
    NotFirstOrder {
        /// What is left, in standard deviations of a reading.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        times: f64,
    },
    /// Two ways of a sweep differ by no more than their scatter.
    #[error(
        "the two ways differ by no more than their scatter: of a step {} ± {} is left at the next reading",
        shown(left),
        shown(u)
    )]
    NoLag {
        /// Part of a step that is left.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        left: f64,
        /// Its standard uncertainty.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        u: f64,
    },
    /// A reading that does not change after a step.
    #[error(
        "the readings change by {} after the step, which is no more than their scatter: make the step larger, or average more readings",
        plus_minus(*step, Some(*u))
    )]
    NoStep {
        /// Change of the reading, in its unit.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        step: f64,
        /// Its standard uncertainty.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        u: f64,
    },
    /// Readings after a step that follow in another way than by one exponential.
    #[error(
        "the readings do not settle along one exponential: their residuals are alike by {} standard deviations; another time constant is there, or a drift",
        shown(times)
    )]
    NotExponential {
        /// How far the correlation of successive residuals lies from that of scatter.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        times: f64,
    },
    /// Readings after a step that bound the time constant on one side only.
    #[error(
        "the readings over {} after the step do not bound the time constant on both sides: read more often at first, and longer",
        super::format::quantity(*longest_s, "s")
    )]
    StepNotFollowed {
        /// Time from the first to the last reading in s.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        longest_s: f64,
    },
    /// No cause is recorded.
    #[error("no standard uncertainty")]
    Unrecorded,

    // What must be known with a figure that is there.
    /// The ± holds no part of what was given without one.
    #[error("electrical part only: no uncertainty of {} was given", area_or_irradiance(*area, *irradiance))]
    ElectricalPartOnly {
        /// Whether the area was given without.
        area: bool,
        /// Whether the irradiance was given without.
        irradiance: bool,
    },
    /// A figure was combined with others, and what it shares with them is not recorded.
    #[error("what it is made of counts as independent: it holds a figure whose sources are not recorded")]
    UnknownCorrelation,
    /// The ± leaves out a parameter.
    #[error("without the uncertainty of a parameter that was given none")]
    PartLeftOut,
    /// A value that is known to be biased.
    #[error("not corrected for its bias")]
    Biased,
    /// The readings scatter more than stated.
    #[error("the readings scatter {times:.1} times the stated noise: the ± is as much too small")]
    Excess {
        /// Ratio of both.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        times: f64,
    },
    /// One diode does not describe the readings that it was fitted to.
    #[error(
        "one diode does not describe the readings, which lie {times:.1} times the stated noise off it: this figure may be off by more than its ±; take that of the sweep itself"
    )]
    OffModel {
        /// √(χ²/ν).
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        times: f64,
    },
    /// The errors of successive readings are correlated.
    #[error("the errors of successive readings are correlated (about {correlation:.1}): the ± allows for it")]
    Correlated {
        /// Mean correlation of neighbours.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        correlation: f64,
    },
    /// A figure beyond the readings, by the estimated curve.
    #[error("{} extrapolated to {} = 0 from {nearest}", figure.symbol(), axis(*figure))]
    Extrapolated {
        /// Isc or Voc.
        figure: KeyPoint,
        /// The voltage nearest to V = 0, or the current nearest to I = 0.
        nearest: Amount,
    },
    /// A figure beyond the readings, by the fitted model.
    #[error("extrapolated by the model: the readings go from {}", span(low.value, high.value, low.unit.symbol()))]
    ExtrapolatedByModel {
        /// Lowest set point.
        low: Amount,
        /// Highest set point.
        high: Amount,
    },
    /// The ± of a figure beyond the readings.
    #[error("the ± is that of the profile interval, which says how far it can be believed")]
    ByProfile,

    // Parameters of a fit.
    /// A parameter with a fixed value.
    #[error("fixed by the caller")]
    Fixed,
    /// The data leave the parameter open.
    #[error("not determined by these data")]
    NotDetermined,
    /// A parameter at its bound.
    #[error("at its bound: the interval is one-sided")]
    AtBound,
    /// No shunt conductance.
    #[error("at its bound: no shunt is visible; the interval is one-sided")]
    NoShunt,
    /// No series resistance.
    #[error("at its bound: no series resistance is visible; the interval is one-sided")]
    NoSeriesResistance,

    // An end of an interval is missing.
    /// A level that is none.
    #[error(transparent)]
    Level(#[from] LevelError),
    /// A figure or parameter that there is not.
    #[error("this fit gives no {figure}")]
    NoFigure {
        /// Its name.
        figure: Name,
    },
    /// A value that is not on its scale.
    #[error("a value of {} with u = {} has no interval on its scale", shown(value), shown(u))]
    NoInterval {
        /// The value.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        value: f64,
        /// Its standard uncertainty.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        u: f64,
    },
    /// A figure of 0 that follows from another.
    #[error("a {figure} of 0 has no profile")]
    NoProfile {
        /// The figure.
        figure: KeyPoint,
    },
    /// The profile was not followed to its end.
    #[error("the profile could not be followed to its end: {}", stop.reason())]
    ProfileStopped {
        /// Why the search stopped.
        stop: Stop,
    },
    /// The profile does not close.
    #[error("the data do not limit {figure} {}", side(*below, *above))]
    Open {
        /// The figure.
        figure: Name,
        /// Whether the lower end is missing.
        below: bool,
        /// Whether the upper end is missing.
        above: bool,
    },
    /// The profile does not close before the bound of a parameter.
    #[error("the data do not limit {figure} before its bound {bound}")]
    OpenToBound {
        /// The parameter.
        figure: Name,
        /// Its bound.
        bound: Amount,
    },
    /// A shunt that no conductance shows.
    #[error("no conductance that differs from 0 was seen: open above")]
    OpenAbove,
    /// A number that has no place on a curve.
    #[error("{argument} = {} is not a finite number", shown(value))]
    NotFinite {
        /// The argument.
        argument: Name,
        /// The number.
        #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
        value: f64,
    },
    /// The work was stopped before its end.
    #[error("the work was stopped before its end")]
    Stopped,
    /// Too few of the drawn sweeps could be fitted.
    #[error("fewer than two draws converged")]
    FewDraws,
    /// Some of the drawn sweeps could not be fitted.
    #[error("{failed} draws did not converge")]
    FailedDraws {
        /// How many.
        failed: usize,
    },
    /// Readings that the fitted curve does not reach.
    #[error("the fitted curve does not reach every reading")]
    Unreached,
}

impl From<&str> for Reason {
    fn from(remark: &str) -> Self {
        Self::Remark(remark.to_owned())
    }
}

impl From<String> for Reason {
    fn from(remark: String) -> Self {
        Self::Remark(remark)
    }
}

/// The reasons in one text; `None` for none.
pub(super) fn joined(reasons: &[Reason]) -> Option<String> {
    let texts: Vec<String> = reasons.iter().map(ToString::to_string).collect();
    (!texts.is_empty()).then(|| texts.join("; "))
}

/// The axis that is 0 where the figure lies.
fn axis(figure: KeyPoint) -> &'static str {
    if figure == KeyPoint::Isc { "V" } else { "I" }
}

fn not_reached(figure: KeyPoint, nearest: &Amount) -> String {
    if figure == KeyPoint::Isc {
        let end = if nearest.value > 0.0 { "begins at" } else { "ends at" };
        return format!("Isc is the current at V = 0, and the sweep {end} {nearest}: measure across 0 V");
    }
    format!("Voc is the voltage at I = 0, and the sweep comes no nearer than {nearest}: measure across it")
}

/// What a figure follows from.
fn definition(figure: KeyPoint) -> String {
    let of = match figure {
        KeyPoint::Ff => "Pmax/(Isc·Voc)",
        KeyPoint::Jsc => "Isc/area",
        KeyPoint::Efficiency => "Pmax/(area·irradiance)",
        _ => return figure.symbol().into(),
    };
    format!("{} = {of}", figure.symbol())
}

fn symbols(figures: &[KeyPoint]) -> String {
    figures.iter().map(|f| f.symbol()).collect::<Vec<_>>().join(" and ")
}

fn unstated(area: bool, irradiance: bool) -> &'static str {
    match (area, irradiance) {
        (true, true) => "both: pass area_cm2 and irradiance_w_m2",
        (true, false) => "the area: pass area_cm2",
        _ => "the irradiance: pass irradiance_w_m2",
    }
}

fn area_or_irradiance(area: bool, irradiance: bool) -> &'static str {
    match (area, irradiance) {
        (true, true) => "area or irradiance",
        (true, false) => "area",
        _ => "irradiance",
    }
}

fn side(below: bool, above: bool) -> &'static str {
    match (below, above) {
        (true, true) => "on either side",
        (true, false) => "from below",
        _ => "from above",
    }
}

fn beyond(above: Option<&Amount>) -> String {
    above.map_or("the current rises with the voltage".into(), |r| format!("the shunt is above {r} (95 %)"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_hold_the_numbers_and_what_to_do() {
        // Isc lies where the voltage is 0, Voc where the current is.
        for (figure, axis) in [(KeyPoint::Isc, "V = 0"), (KeyPoint::Voc, "I = 0")] {
            let beyond = Reason::Extrapolated { figure, nearest: Amount::volts(0.1) };
            assert!(beyond.to_string().contains(axis), "{beyond}");
        }
        let isc = |nearest| Reason::NotReached { figure: KeyPoint::Isc, nearest: Amount::volts(nearest) };
        let text = isc(0.1248).to_string();
        assert_eq!(text, "Isc is the current at V = 0, and the sweep begins at 0.1248 V: measure across 0 V");
        assert!(isc(-0.02).to_string().contains("ends at −20.00 mV"), "{}", isc(-0.02));
        let unstated = Reason::Unstated { figure: KeyPoint::Efficiency, area: true, irradiance: true };
        assert_eq!(
            unstated.to_string(),
            "η = Pmax/(area·irradiance) needs both: pass area_cm2 and irradiance_w_m2"
        );
        let open = Reason::Open { figure: "rsh".into(), below: false, above: true };
        assert_eq!(
            joined(&[Reason::AtBound, open]).unwrap(),
            "at its bound: the interval is one-sided; the data do not limit rsh from above"
        );
        assert_eq!(joined(&[]), None);
    }

    /// A reason written down comes back as it was, with what JSON has no number for.
    #[cfg(feature = "serde")]
    #[test]
    fn reasons_come_back() {
        for reason in [
            Reason::Remark("one reading only".into()),
            Reason::NoDegreesOfFreedom,
            Reason::NoInterval { value: f64::NEG_INFINITY, u: 0.1 + 0.2 },
            Reason::TooFar { figure: KeyPoint::Voc, nearest: Amount::amperes(f64::INFINITY) },
            Reason::ProfileStopped { stop: Stop::Budget },
            Reason::Level(LevelError { level: 2.0 }),
            Reason::Needs { figure: KeyPoint::Ff, missing: vec![KeyPoint::Isc, KeyPoint::Voc] },
        ] {
            let text = serde_json::to_string(&reason).unwrap();
            assert_eq!(serde_json::from_str::<Reason>(&text).unwrap(), reason, "{text}");
        }
        assert!(serde_json::from_str::<Reason>("\"NoSuchCause\"").is_err());
    }
}
