//! Key points of the running fit.
//!
//! ```text
//! cov = INFLATION²·T·C·Tᵀ + Σ (T·δθₖ)·(T·δθₖ)ᵀ        T = ∂(Isc, Voc, Pmax, V_Pmax, I_Pmax)/∂θ
//! ```
//!
//! δθₖ is what one standard uncertainty of gain and offset of either axis does to θ. A sweep that stops as soon as the ± is
//! small enough stops by preference where the readings make it too small: INFLATION makes up for that.

use super::readings::Readings;
use super::running_fit::RunningFit;
use crate::numerics::linear_algebra::information::dot;
use crate::quantity::estimate::{Amount, student_t};
use crate::quantity::key_points::{Found, KeyPoint, KeyPoints, Surroundings};
use crate::quantity::reason::Reason;
use crate::sweep::{SweepOptions, Swept};

/// With stated noise, and with noise from the scatter. Chosen on half of the devices of `tests/live/points_saved.rs`; what it
/// gives is shown on the others.
const INFLATION: (f64, f64) = (1.04, 1.1);

/// Share of Voc that a set current must bring the voltage down to for Isc.
const NEAR: f64 = 0.6;

/// The five figures of the curve that share a covariance.
const FIVE: [KeyPoint; 5] = [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax, KeyPoint::VPmax, KeyPoint::IPmax];

/// How far the readings go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Span {
    pub voltage_v: (f64, f64),
    pub current_a: (f64, f64),
}

impl Span {
    /// Of the readings that count.
    pub fn of(readings: &Readings) -> Self {
        let ends = |xs: &[f64]| {
            let counted = (0..xs.len()).filter(|&k| readings.is_fitted(k)).map(|k| xs[k]);
            counted.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
        };
        Self { voltage_v: ends(&readings.voltage_v), current_a: ends(&readings.current_a) }
    }
}

/// Relative standard uncertainties of the target: of scatter, and of what is common to all readings.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Relative {
    pub scatter: f64,
    pub common: f64,
    /// Student's t over the normal quantile, at 95 %: what few degrees of freedom cost.
    pub student: f64,
}

impl Relative {
    /// Both together, as wide as their interval.
    pub fn whole(self) -> f64 {
        (self.student * self.scatter).hypot(self.common)
    }
}

/// What is known of the target; `None` where there is no ± yet.
pub(super) fn relative_u(fit: &RunningFit, target: KeyPoint) -> Option<Relative> {
    let (value, by) = fit.figure(target)?;
    let covariance = fit.covariance()?;
    let share = |variance: f64| variance.sqrt() / value.abs();
    let common = fit.common().iter().map(|moved| dot(moved, &by).powi(2)).sum::<f64>();
    let relative = Relative {
        scatter: inflation(fit) * share(covariance.variance(&by)),
        common: share(common),
        student: student_t(0.95, fit.dof()) / student_t(0.95, f64::INFINITY),
    };
    relative.whole().is_finite().then_some(relative)
}

fn inflation(fit: &RunningFit) -> f64 {
    if fit.noise_is_stated() { INFLATION.0 } else { INFLATION.1 }
}

/// Why a figure is not given though there is a fit; `None` where the readings reach it.
fn unreached(figure: KeyPoint, span: &Span, swept: Swept, values: &[f64; 5]) -> Option<Reason> {
    let [_, voc, _, v_pmax, _] = *values;
    match figure {
        // A set current comes close to Isc long before the voltage is 0, where the curve is steep.
        KeyPoint::Isc if span.voltage_v.0 > if swept == Swept::Voltage { 0.0 } else { NEAR * voc } => {
            Some(Reason::NotReached { figure, nearest: Amount::volts(span.voltage_v.0) })
        }
        KeyPoint::Voc if span.current_a.0 > 0.0 && swept == Swept::Voltage => {
            Some(Reason::NotReached { figure, nearest: Amount::amperes(span.current_a.0) })
        }
        KeyPoint::Pmax | KeyPoint::VPmax | KeyPoint::IPmax if v_pmax > span.voltage_v.1 => {
            Some(Reason::MaximumAtEnd { voltage: Amount::volts(span.voltage_v.1) })
        }
        KeyPoint::Pmax | KeyPoint::VPmax | KeyPoint::IPmax if v_pmax < span.voltage_v.0 => {
            Some(Reason::MaximumAtEnd { voltage: Amount::volts(span.voltage_v.0) })
        }
        _ => None,
    }
}

/// The key points of the running fit.
pub(super) fn key_points(fit: &RunningFit, span: &Span, options: &SweepOptions) -> KeyPoints {
    let found = found(fit, span, options.swept);
    let around = Surroundings::default()
        .area_cm2(options.area_cm2.as_ref())
        .irradiance_w_m2(options.irradiance_w_m2.as_ref());
    let mut points = KeyPoints::new(&found, around);
    let beyond = span.voltage_v.0 > 0.0;
    if let Some(isc) = points.isc.as_mut().filter(|_| beyond) {
        let (low, high) = (Amount::amperes(span.current_a.0), Amount::amperes(span.current_a.1));
        isc.notes.push(Reason::ExtrapolatedByModel { low, high });
    }
    if !fit.suits() {
        points.remark(&Reason::OffModel { times: fit.noise().1 });
    }
    points
}

fn found(fit: &RunningFit, span: &Span, swept: Swept) -> Found {
    let dof = [fit.dof(); 5];
    let Some((values, by)) = fit.figures() else {
        let values = FIVE.map(|figure| Err(early(figure, span)));
        return Found { values, covariance: Err(Reason::NoDegreesOfFreedom), dof };
    };
    let value = |k: usize| unreached(FIVE[k], span, swept, &values).map_or(Ok(values[k]), Err);
    let covariance = fit.covariance().ok_or(Reason::NoDegreesOfFreedom).map(|c| {
        let entry = |i: usize, j: usize| {
            let scatter = dot(&by[i], &c.times(&by[j]));
            let common: f64 = fit.common().iter().map(|m| dot(m, &by[i]) * dot(m, &by[j])).sum();
            inflation(fit).powi(2) * scatter + common
        };
        std::array::from_fn(|i| std::array::from_fn(|j| entry(i, j)))
    });
    Found { values: std::array::from_fn(value), covariance, dof }
}

/// Why a figure is missing before there is a fit.
fn early(figure: KeyPoint, span: &Span) -> Reason {
    match figure {
        KeyPoint::Isc if span.voltage_v.0.is_finite() && span.voltage_v.0 > 0.0 => {
            Reason::NotReached { figure, nearest: Amount::volts(span.voltage_v.0) }
        }
        KeyPoint::Voc if span.current_a.0.is_finite() && span.current_a.0 > 0.0 => {
            Reason::NotReached { figure, nearest: Amount::amperes(span.current_a.0) }
        }
        _ => Reason::NoDeviceCurve,
    }
}
