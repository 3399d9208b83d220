//! A plan, as plain data, and what it says of other devices and other numbers of points.

use super::error::PlanError;
use super::expected::{Expected, Kind};
use super::note::PlanNote;
use super::options::{Method, PlanOptions};
use super::planner::Planner;
use super::setting::Setting;
use super::without_model::WithoutModel;
use crate::diode::Junction;
use crate::fit::{Figure, Parameter};
use crate::numerics::cancel;
use crate::quantity::format::{plus_minus, quoted, sentences, span};
use crate::sweep::Swept;
use std::fmt;

/// Voltage d.c. above which a caution is given, in V.
const DANGEROUS: f64 = 60.0;

/// Degrees of freedom below which a noise that a fit found is noted: it is uncertain by more than 16 %.
const FEW: usize = 20;

/// A figure of the expected device with the uncertainties that readings would give it; absent where they leave it open.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct PlannedFigure {
    /// Which.
    pub figure: Figure,
    /// Its value in SI units.
    pub value: f64,
    /// Standard uncertainty from the planned set points.
    pub u: Option<f64>,
    /// From as many in equal steps of the voltage.
    pub u_equal_voltage: Option<f64>,
    /// From as many in equal steps of the current.
    pub u_equal_current: Option<f64>,
}

/// The uncertainty of the target from so many set points.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct AtPoints {
    /// Set points.
    pub points: usize,
    /// Standard uncertainty where they are planned.
    pub u: Option<f64>,
    /// In equal steps of the voltage.
    pub u_equal_voltage: Option<f64>,
    /// In equal steps of the current.
    pub u_equal_current: Option<f64>,
}

/// The set points of a sweep, and what it would give.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::plan::{Expected, PlanOptions, plan_sweep};
/// use litdiode::sweep::{Noise, Swept};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let options = PlanOptions::default().swept(Swept::Current).noise(Noise::default().voltage_v(1e-3)).points(20);
/// let plan = plan_sweep(&Expected::one_diode(&[cell])?, &options)?;
/// assert_eq!((plan.set_points.len(), plan.fewest_points()?), (20, 5));
/// let [twenty, eighty] = [plan.at_points(&[20])?[0].u.unwrap(), plan.at_points(&[80])?[0].u.unwrap()];
/// assert!((twenty / eighty - 2.0).abs() < 0.1); // u falls as 1/√n
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(remote = "Self"))]
#[non_exhaustive]
pub struct Plan {
    /// What to set, rising, in V or A; equal ones are set as often as they stand here.
    pub set_points: Vec<f64>,
    /// Voltages in V that the first expected device would show there.
    pub voltage_v: Vec<f64>,
    /// Currents in A.
    pub current_a: Vec<f64>,
    /// Figures of the first expected device.
    pub figures: Vec<PlannedFigure>,
    /// What must be known with it.
    pub notes: Vec<PlanNote>,
    /// What was asked for; the noise is there.
    pub options: PlanOptions,
    pub(super) expected: Expected,
}

#[cfg(feature = "serde")]
crate::numerics::serde_float::checked!(Plan);

/// Set points for the next sweep of the expected device that make the uncertainty of a figure least.
///
/// By the model: the criterion of `numerics::optimal_design` on the Fisher information of the fits' own residual, over the
/// expected devices and what the first may be instead (see [`Expected`] and [`PlanOptions::spread`]). Without a model: see
/// [`Method::Local`].
///
/// # Errors
/// [`PlanError`] naming what is wrong, or that no plan within the limits determines the target.
///
/// # Examples
/// ```
/// use litdiode::{diode::{Parameters, SingleDiode}, plan::{Expected, PlanOptions, plan_sweep}, sweep::Noise};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?;
/// let options = PlanOptions::default().noise(Noise::default().current_a(3e-5));
/// let plan = plan_sweep(&Expected::one_diode(&[cell])?, &options)?;
/// let target = plan.target();
/// assert!(target.u.unwrap() < 0.8 * target.u_equal_voltage.unwrap());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plan_sweep(expected: &Expected, options: &PlanOptions) -> Result<Plan, PlanError> {
    let mut options = options.completed(expected);
    options.swept = Some(options.set_quantity());
    let planner = planner(expected, &options)?;
    planner.allows(options.points)?;
    let set_points = planner.plan(options.points)?;
    if cancel::requested_now() {
        return Err(PlanError::Stopped);
    }
    let shown: Vec<(f64, f64)> =
        set_points.iter().map(|x| planner.shown(*x).unwrap_or((f64::NAN, f64::NAN))).collect();
    let (voltage_v, current_a): (Vec<f64>, Vec<f64>) = shown.into_iter().unzip();
    planner.serve(&set_points)?;
    let figures = compared(planner.as_ref(), &set_points);
    let mut notes = notes(expected, &options, &set_points, &voltage_v);
    notes.extend(planner.notes());
    Ok(Plan { set_points, voltage_v, current_a, figures, notes, options, expected: expected.clone() })
}

/// Something that plans for the devices by the method.
pub(super) fn planner(expected: &Expected, options: &PlanOptions) -> Result<Box<dyn Planner>, PlanError> {
    options.validate()?;
    let (noise, alone) = (options.noise, expected.alone);
    Ok(match (&expected.kind, options.method) {
        (Kind::One(d), Method::Model) => Box::new(Setting::<1, 5>::new(d, noise, alone, options)?),
        (Kind::Two(d), Method::Model) => Box::new(Setting::<2, 7>::new(d, noise, alone, options)?),
        (Kind::One(d), Method::Local) => {
            Box::new(WithoutModel { setting: Setting::<1, 5>::new(d, noise, alone, options)? })
        }
        (Kind::Two(d), Method::Local) => {
            Box::new(WithoutModel { setting: Setting::<2, 7>::new(d, noise, alone, options)? })
        }
    })
}

/// Every figure, with equal steps beside the set points.
fn compared(planner: &dyn Planner, set: &[f64]) -> Vec<PlannedFigure> {
    let figures = planner.figures();
    let of = |set: Option<Vec<f64>>| set.map_or_else(|| vec![None; figures.len()], |set| planner.u(&set));
    let planned = planner.u(set);
    let (voltage, current) = (of(planner.equal_voltages(set.len())), of(planner.equal_currents(set.len())));
    let all = figures.iter().zip(planned).zip(voltage.into_iter().zip(current));
    all.map(|((&(figure, value), u), (u_equal_voltage, u_equal_current))| PlannedFigure {
        figure,
        value,
        u,
        u_equal_voltage,
        u_equal_current,
    })
    .collect()
}

fn notes(expected: &Expected, options: &PlanOptions, set: &[f64], voltage_v: &[f64]) -> Vec<PlanNote> {
    let mut notes = Vec::new();
    let share = options.allowance(expected.alone);
    if share > 0.0 {
        notes.push(PlanNote::Spread { share });
    }
    let mut different = set.to_vec();
    different.dedup();
    if different.len() < set.len() {
        notes.push(PlanNote::Repeated { points: set.len(), different: different.len() });
    }
    match options.method {
        Method::Local => notes.push(PlanNote::WithoutModel),
        Method::Model => {
            let (rs, g) = expected.resistances();
            let bounds = [(rs, Parameter::Rs), (g, Parameter::Rsh)];
            let on_bound = |(x, p): &(f64, Parameter)| *x == 0.0 && !options.fix.contains(p);
            notes.extend(bounds.iter().filter(|b| on_bound(b)).map(|b| PlanNote::OnBound { parameter: b.1 }));
        }
    }
    if options.set_quantity() == Swept::Current {
        let highest_a = set.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        notes.push(PlanNote::ReverseBias { highest_a, isc_a: expected.isc() });
    }
    if let Some(dof) = expected.dof.filter(|dof| *dof < FEW && expected.noise == options.noise) {
        notes.push(PlanNote::FewDegrees { dof });
    }
    let highest = voltage_v.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
    if highest > DANGEROUS {
        notes.push(PlanNote::HighVoltage { voltage_v: highest });
    }
    notes
}

impl Expected {
    /// Rs in Ω and 1/Rsh in S of the first device.
    fn resistances(&self) -> (f64, f64) {
        match &self.kind {
            Kind::One(d) => (d.given[0].circuit().rs, d.given[0].circuit().g),
            Kind::Two(d) => (d.given[0].circuit().rs, d.given[0].circuit().g),
        }
    }

    /// Isc in A of the first device.
    fn isc(&self) -> f64 {
        match &self.kind {
            Kind::One(d) => d.given[0].circuit().isc(),
            Kind::Two(d) => d.given[0].circuit().isc(),
        }
    }

    /// `points` (V, I) along the curve of the first device, for a picture.
    fn trace(&self, (low, high): (f64, f64), points: usize) -> (Vec<f64>, Vec<f64>) {
        match &self.kind {
            Kind::One(d) => d.given[0].circuit().trace(low, high, points),
            Kind::Two(d) => d.given[0].circuit().trace(low, high, points),
        }
    }
}

impl Plan {
    /// The figure whose uncertainty was made small.
    pub fn target(&self) -> PlannedFigure {
        let own = self.figures.iter().find(|f| f.figure == self.options.target);
        own.copied().unwrap_or(PlannedFigure {
            figure: self.options.target,
            value: f64::NAN,
            u: None,
            u_equal_voltage: None,
            u_equal_current: None,
        })
    }

    /// The figures of the first of other devices, read at the same set points.
    ///
    /// # Errors
    /// [`PlanError`] where it does not have the target.
    pub fn figures_of(&self, expected: &Expected) -> Result<Vec<PlannedFigure>, PlanError> {
        Ok(compared(planner(expected, &self.options)?.as_ref(), &self.set_points))
    }

    /// The uncertainty of the target from other numbers of set points, each planned anew.
    ///
    /// # Errors
    /// [`PlanError`] for a number that cannot be planned.
    pub fn at_points(&self, numbers: &[usize]) -> Result<Vec<AtPoints>, PlanError> {
        let planner = planner(&self.expected, &self.options)?;
        let place = planner.place_of(self.options.target);
        let of = |set: Option<Vec<f64>>| place.and_then(|(k, _)| *planner.u(&set?).get(k)?);
        let at = |&points: &usize| {
            planner.allows(points)?;
            let u = if points == self.set_points.len() {
                of(Some(self.set_points.clone()))
            } else {
                of(Some(planner.plan(points)?))
            };
            let u_equal_voltage = of(planner.equal_voltages(points));
            Ok(AtPoints { points, u, u_equal_voltage, u_equal_current: of(planner.equal_currents(points)) })
        };
        numbers.iter().map(at).collect()
    }

    /// Fewest set points that can be planned for the devices.
    ///
    /// # Errors
    /// None for a plan that was made.
    pub fn fewest_points(&self) -> Result<usize, PlanError> {
        Ok(planner(&self.expected, &self.options)?.fewest())
    }

    /// `points` (V, I) of the curve of the first expected device, from end to end of the set points.
    pub fn curve(&self, points: usize) -> (Vec<f64>, Vec<f64>) {
        self.expected.trace(crate::sweep::range(&self.voltage_v), points)
    }

    /// What makes no plan.
    #[cfg(feature = "serde")]
    fn wrong(&self) -> Option<String> {
        let n = self.set_points.len();
        if n == 0 || self.voltage_v.len() != n || self.current_a.len() != n {
            return Some("set_points, voltage_v and current_a of a plan are of one length, above 0".into());
        }
        let all = self.set_points.iter().chain(&self.voltage_v).chain(&self.current_a);
        if all.into_iter().any(|x| !x.is_finite()) {
            return Some("a plan has finite set points, voltages and currents".into());
        }
        let wrong_u = |u: &Option<f64>| u.is_some_and(|u| !(u > 0.0 && u.is_finite()));
        let us = |f: &PlannedFigure| [f.u, f.u_equal_voltage, f.u_equal_current];
        if self.figures.iter().any(|f| !f.value.is_finite() || us(f).iter().any(wrong_u)) {
            return Some("a figure of a plan is finite, and its uncertainties are above 0".into());
        }
        if self.expected.is_empty() {
            return Some(PlanError::NoDevice.to_string());
        }
        planner(&self.expected, &self.options).err().map(|e| e.to_string())
    }
}

impl fmt::Display for Plan {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let (what, unit) = match self.options.set_quantity() {
            Swept::Voltage => ("voltages", "V"),
            Swept::Current => ("currents", "A"),
        };
        let (first, last) = crate::sweep::range(&self.set_points);
        let method = if self.options.method == Method::Local { " without a model" } else { "" };
        let count = self.set_points.len();
        writeln!(f, "{count} {what} of {} for {}{method}", span(first, last, unit), self.options.target)?;
        writeln!(
            f,
            "{:<8}{:<28}{:>12}{:>16}{:>16}",
            "", "expected", "u planned", "equal voltage", "equal current"
        )?;
        for one in &self.figures {
            let times = |u: Option<f64>| match (u, one.u) {
                (Some(u), Some(own)) => format!("{:.2} times", u / own),
                _ => "open".into(),
            };
            let relative = one.u.map_or("open".into(), |u| format!("{:.2} %", 100.0 * (u / one.value).abs()));
            let relative = if one.value == 0.0 { "of 0".into() } else { relative };
            let value = quoted(one.value, one.u, one.figure.unit().symbol());
            let (v, i) = (times(one.u_equal_voltage), times(one.u_equal_current));
            writeln!(f, "{:<8}{value:<28}{relative:>12}{v:>16}{i:>16}", one.figure)?;
        }
        write!(f, "{}", sentences(&self.notes))
    }
}

impl fmt::Display for AtPoints {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        let shown = |u: Option<f64>| u.map_or("open".into(), |u| plus_minus(u, None));
        let (voltage, current) = (shown(self.u_equal_voltage), shown(self.u_equal_current));
        write!(
            f,
            "{} points: u {}, equal voltage {voltage}, equal current {current}",
            self.points,
            shown(self.u)
        )
    }
}

/// Its name and `value ± u`.
impl fmt::Display for PlannedFigure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.figure, quoted(self.value, self.u, self.figure.unit().symbol()))
    }
}
