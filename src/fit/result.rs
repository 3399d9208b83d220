//! What a fit found, as plain data.

use super::covariance::Linear;
use super::derived_quantity::Derived;
use super::model_comparison::Support;
use super::note::Note;
use super::options::default_budget;
use super::parameters::{Figure, Kind, Parameter, names};
use super::profile_likelihood::Profile;
use super::residuals::{Points, Problem, Residual};
use crate::diode::Device;
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Step, Stop};
use crate::quantity::estimate::{Amount, Estimate, Interval, student_t};
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use crate::quantity::reason::Reason;
use crate::sweep::Sweep;
use std::fmt;

/// How far a fit can be believed; the first that holds, in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Status {
    /// The solver did not reach an optimum, or its budget or deadline ended before; the last good state is in the result.
    NotConverged,
    /// The data leave at least one parameter open.
    NotIdentified,
    /// An optimum with a parameter at its bound.
    AtBound,
    /// An optimum inside the bounds.
    Converged,
}

impl Status {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Status::NotConverged => "not_converged",
            Status::NotIdentified => "not_identified",
            Status::AtBound => "at_bound",
            Status::Converged => "converged",
        }
    }

    /// The same as a number: 0 for converged, above for what is to be known first.
    pub const fn code(self) -> u16 {
        match self {
            Status::Converged => 0,
            Status::AtBound => 1,
            Status::NotIdentified => 2,
            Status::NotConverged => 3,
        }
    }
}

/// A fitted model with its uncertainties.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, Parameter, fit_single_diode};
/// use litdiode::key_points::KeyPoint;
/// use litdiode::sweep::{Noise, Swept, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let options = SweepOptions::default().swept(Swept::Current).noise(Noise::default().voltage_v(1e-3));
/// let fit = fit_single_diode(&Sweep::new(&v, &i, options)?, &Options::default())?;
/// let n = fit.parameter(Parameter::N).unwrap();
/// let interval = fit.linear_interval(Parameter::N, 0.95).unwrap();
/// assert!((interval.high.unwrap() / n.value - (1.959964 * n.u.unwrap() / n.value).exp()).abs() < 1e-6);
/// assert!((fit.key_points().voc.unwrap().value - 0.5743260).abs() < 1e-6);
/// assert_eq!(fit.budget(KeyPoint::Voc)?.contributions[0].source, "scatter of the readings");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(remote = "Self"))]
#[non_exhaustive]
pub struct Fit<const K: usize> {
    /// The measured points.
    pub sweep: Sweep,
    /// The fitted model.
    pub model: Device<K>,
    /// The distance that was made small.
    pub residual: Residual,
    /// Every parameter, in the order of the model.
    pub parameters: Vec<(Parameter, Estimate)>,
    /// The free parameters, which `covariance` is over.
    pub names: Vec<Parameter>,
    /// Covariance of `names` in SI units, row by row; empty where the data give none.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub covariance: Vec<f64>,
    /// Covariance of the free coordinates among (Iph, ln I0, ln a, …, Rs, g), row by row.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub theta_covariance: Vec<f64>,
    /// (Iph, ln I0, ln a, …, Rs, g).
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub theta: Vec<f64>,
    /// Root mean square of the residuals in their own unit; √(χ²/N) for nearest.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub rms: f64,
    /// Σr², the sum that was made small: in units of the noise that the sweep states; of the residual's own unit squared
    /// where it states none.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub chi2: f64,
    /// Points less free parameters.
    pub dof: usize,
    /// Whether the noise was stated, so that ± is absolute.
    pub noise_stated: bool,
    /// How far the fit can be believed.
    pub status: Status,
    /// What must be known with it.
    pub notes: Vec<Note>,
    /// model − measured, in the unit of the residual.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::list"))]
    pub residuals: Vec<f64>,
    /// The path of the descent that won.
    pub trace: Vec<Step>,
    /// Why that descent stopped.
    pub stop: Stop,
    /// How well the data support a second diode; `None` for one.
    pub support: Option<Support>,
    /// Positions of the free coordinates in θ.
    pub(super) free: Vec<usize>,
    pub(super) bounds: Bounds,
    pub(super) weights: Weights,
    /// Whether the default interval is the profile's.
    pub(super) by_profile: bool,
}

/// The points as the last round of the fit weighed them, and s² that scales their σ.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(super) struct Weights {
    pub points: Points,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub s2: f64,
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub cost: f64,
    /// Shifts of the free coordinates by each source that is common to the points.
    pub common: Vec<Vec<f64>>,
}

impl<const K: usize> Fit<K> {
    /// A parameter; `None` where the model does not have it.
    pub fn parameter(&self, parameter: Parameter) -> Option<&Estimate> {
        self.parameters.iter().find(|p| p.0 == parameter).map(|p| &p.1)
    }

    /// The interval of a [`Parameter`] or [`KeyPoint`] at `level`; `None` where the fit does not have it.
    ///
    /// Student's t on the natural scale of the figure (ln I0, ln n, 1/Rsh); the profile-likelihood interval for
    /// all figures where the problem is curved (u(ln n) > 0.1) or a parameter lies within 4 u of a bound, and for a key
    /// point beyond the readings.
    pub fn interval(&self, figure: impl Into<Figure>, level: f64) -> Option<Interval> {
        let figure = figure.into();
        let is_beyond =
            |figure| matches!(figure, Figure::KeyPoint(point) if self.extrapolation(point.name()).is_some());
        if self.by_profile || is_beyond(figure) {
            self.has(figure).then(|| self.profile_interval(figure, level))
        } else {
            self.linear_interval(figure, level)
        }
    }

    /// Whether [`Fit::interval`] is the profile's.
    pub fn needs_profile(&self) -> bool {
        self.by_profile
    }

    fn has(&self, figure: Figure) -> bool {
        match figure {
            Figure::Parameter(parameter) => self.parameter(parameter).is_some(),
            Figure::KeyPoint(point) => self.present_key_points().get(point.name()).is_some(),
        }
    }

    /// The interval of a parameter or key point by Student's t, first order.
    pub fn linear_interval(&self, figure: impl Into<Figure>, level: f64) -> Option<Interval> {
        let point = match figure.into() {
            Figure::Parameter(parameter) => return self.parameter(parameter).map(|e| e.interval(level)),
            Figure::KeyPoint(point) => point,
        };
        let points = self.linear_key_points();
        let why = || points.why_absent(point.name()).cloned().unwrap_or(Reason::Unrecorded);
        let absent = || Interval::absent(level, why());
        match points.get(point.name()) {
            Some(estimate) => Some(estimate.interval(level)),
            None => self.has(point.into()).then(absent),
        }
    }

    /// The profile-likelihood interval of a parameter or key point; an end beyond a bound is absent, or
    /// the physical bound itself, and the note says so.
    pub fn profile_interval(&self, figure: impl Into<Figure>, level: f64) -> Interval {
        if let Some(refused) = Interval::refused(level) {
            return refused;
        }
        if !self.weights.s2.is_finite() || self.weights.s2 <= 0.0 {
            return Interval::absent(level, Reason::NoDegreesOfFreedom);
        }
        let found = match figure.into() {
            Figure::Parameter(parameter) => self.profile_of_parameter(parameter, level),
            Figure::KeyPoint(point) => self.profile_of_key_point(point, level),
        };
        found.unwrap_or_else(|why| Interval::absent(level, why))
    }

    /// The interval of a parameter; `Err` with the reason where there is none.
    fn profile_of_parameter(&self, parameter: Parameter, level: f64) -> Result<Interval, Reason> {
        let k = names(K).iter().position(|p| *p == parameter).ok_or_else(|| no_figure(parameter.name()))?;
        if self.bounds.low[k] == self.bounds.high[k] {
            return Err(Reason::Fixed);
        }
        let (low, high) = self.profile_ends(k, level)?;
        Ok(self.ends_in_si(k, low, high, level))
    }

    /// Runs `f` on the profile whose ends lie at `level`, and t; all searches of it share one budget, and `Err` says that
    /// it ended before them.
    fn with_profile<T>(&self, level: f64, f: impl FnOnce(&Profile<K>, f64) -> T) -> Result<T, Reason> {
        let problem = self.problem();
        let t = student_t(level, self.effective_dof());
        let (theta, cost) = (&self.theta, self.weights.cost);
        let profile =
            Profile { problem: &problem, bounds: &self.bounds, theta, cost, rise: t * t * self.weights.s2 };
        budget::within(default_budget(K, problem.len()), || {
            let found = f(&profile, t);
            match budget::used_up() {
                Some(stop) => Err(Reason::ProfileStopped { stop }),
                None => Ok(found),
            }
        })
    }

    /// Whether the profile interval of coordinate `k` closes within the bounds; a physical bound needs no end.
    pub(super) fn profile_closes(&self, k: usize, level: f64) -> bool {
        let physical = names(K)[k].kind().is_physical_at_low();
        self.weights.s2 > 0.0
            && self
                .with_profile(level, |profile, t| {
                    let reach = self.reach(k, t);
                    profile.closes(k, 1.0, reach) && (physical || profile.closes(k, -1.0, reach))
                })
                .unwrap_or(false)
    }

    fn profile_ends(&self, k: usize, level: f64) -> Result<Ends, Reason> {
        let common = self.common_u(&unit_row(k, self.theta.len()));
        self.with_profile(level, |profile, t| {
            let reach = self.reach(k, t);
            let end = |sign: f64| {
                profile.end(k, sign, reach).map(|x| {
                    widened(x, self.theta[k], t * common).clamp(self.bounds.low[k], self.bounds.high[k])
                })
            };
            (end(-1.0), end(1.0))
        })
    }

    /// The interval of a key point; `Err` with the reason where there is none.
    fn profile_of_key_point(&self, point: KeyPoint, level: f64) -> Result<Interval, Reason> {
        let (points, name) = (self.present_key_points(), point.name());
        let estimate = points.get(name).ok_or_else(|| no_figure(name))?;
        let figure = Derived::behind(point);
        let (best, ends) = self.figure_interval(figure, level)?;
        // Jsc and η follow from Isc and Pmax; area and irradiance bring their own uncertainty.
        let follows = matches!(point, KeyPoint::Jsc | KeyPoint::Efficiency);
        let factor = if follows { estimate.value / best } else { 1.0 };
        if !factor.is_finite() {
            return Err(Reason::NoProfile { figure: point });
        }
        let from = |x: Option<&Estimate>| x.and_then(Estimate::relative_u).unwrap_or(0.0);
        let options = self.sweep.options();
        let own = match point {
            KeyPoint::Jsc => from(options.area_cm2.as_ref()),
            KeyPoint::Efficiency => {
                from(options.area_cm2.as_ref()).hypot(from(options.irradiance_w_m2.as_ref()))
            }
            _ => 0.0,
        };
        let spread = student_t(level, estimate.dof) * own * estimate.value;
        let end = |x: Option<f64>| x.map(|x| widened(factor * x, estimate.value, spread));
        let own_notes = estimate.notes.iter().cloned();
        let notes =
            self.extrapolation(name).into_iter().chain(open_ends(name, ends)).chain(own_notes).collect();
        Ok(Interval { low: end(ends.0), high: end(ends.1), level, notes })
    }

    /// Value and profile interval of a figure of the fitted curve; `Err` says why there is none.
    pub(super) fn figure_interval(&self, figure: Derived, level: f64) -> Result<(f64, Ends), Reason> {
        let mut by = vec![0.0; self.theta.len()];
        let value = figure.evaluate(self.model.circuit(), &mut by);
        let (Some(best), Some(scatter)) = (value, self.scatter_u(&by)) else {
            return Err(Reason::NoCovariance);
        };
        let common = self.common_u(&by);
        self.with_profile(level, |profile, t| {
            let u = scatter / self.weights.s2.sqrt();
            let end = |sign: f64| profile.end_of(figure, best, u, sign).map(|x| widened(x, best, t * common));
            (best, (end(-1.0), end(1.0)))
        })
    }

    /// Standard uncertainty of a figure with derivatives `by`, first order, without the common errors.
    fn scatter_u(&self, by: &[f64]) -> Option<f64> {
        let m = self.free.len();
        if m == 0 || self.theta_covariance.len() != m * m {
            return None;
        }
        let all = bilinear(&self.theta_covariance, &self.free, by, by);
        Some((all - self.common_u(by).powi(2)).max(0.0).sqrt())
    }

    /// What the gains and offsets that the noise states do to it.
    fn common_u(&self, by: &[f64]) -> f64 {
        let moved = |shift: &Vec<f64>| self.free.iter().zip(shift).map(|(&k, s)| by[k] * s).sum::<f64>();
        self.weights.common.iter().map(moved).fold(0.0, f64::hypot)
    }

    /// Variance of a figure with derivatives `by`, first order; `None` where the data give none.
    pub(super) fn variance_of(&self, by: &[f64]) -> Option<f64> {
        let m = self.free.len();
        (m > 0 && self.theta_covariance.len() == m * m)
            .then(|| bilinear(&self.theta_covariance, &self.free, by, by))
            .filter(|v| *v > 0.0)
    }

    /// Positions of the free coordinates in θ, and their covariance row by row; empty where the data give none.
    pub(crate) fn free_coordinates(&self) -> (&[usize], &[f64]) {
        (&self.free, &self.theta_covariance)
    }

    /// Where to look first: t·u, or a tenth of the coordinate's own scale.
    fn reach(&self, k: usize, t: f64) -> f64 {
        let own = match names(K)[k].kind() {
            Kind::I0 | Kind::N => 0.1,
            Kind::Rsh => self.theta[k].max(1e-3 * self.theta[0].abs().max(1e-12) / self.theta[2].exp()),
            _ => 0.1 * self.theta[k].abs().max(1e-3 * self.theta[2].exp() / self.theta[0].abs().max(1e-12)),
        };
        let position = self.free.iter().position(|f| *f == k);
        let m = self.free.len();
        match position {
            Some(p) if self.theta_covariance.len() == m * m => {
                let u = self.theta_covariance[p * m + p].sqrt();
                if u.is_finite() && u > 0.0 { t * u } else { own }
            }
            _ => own,
        }
    }

    fn ends_in_si(&self, k: usize, low: Option<f64>, high: Option<f64>, level: f64) -> Interval {
        let parameter = names(K)[k];
        let (kind, a_per_n) = (parameter.kind(), self.a_per_n());
        let mut notes = Vec::new();
        let mut end = |x: Option<f64>, bound: f64, side: &str| match x {
            Some(x) => Some(kind.value(x, a_per_n)),
            None if side == "low" && kind.is_physical_at_low() => Some(kind.value(bound, a_per_n)),
            None => {
                let bound = Amount::new(kind.value(bound, a_per_n), kind.unit());
                notes.push(Reason::OpenToBound { figure: parameter.name().into(), bound });
                None
            }
        };
        let a = end(low, self.bounds.low[k], "low");
        let b = end(high, self.bounds.high[k], "high");
        // Rsh falls as g rises.
        let (low, high) = if kind == Kind::Rsh { (b, a) } else { (a, b) };
        Interval { low, high, level, notes }
    }

    pub(super) fn propagate(&self, rows: &[Vec<f64>; 5]) -> Result<[[f64; 5]; 5], Reason> {
        let m = self.free.len();
        if self.theta_covariance.len() != m * m || m == 0 {
            return Err(Reason::NoCovariance);
        }
        let c = &self.theta_covariance;
        Ok(std::array::from_fn(|i| std::array::from_fn(|j| bilinear(c, &self.free, &rows[i], &rows[j]))))
    }

    /// The steps of the descent that won, each with its parameters in SI units.
    pub fn path(&self) -> Vec<(&Step, Vec<(Parameter, f64)>)> {
        let a_per_n = self.a_per_n();
        let in_si =
            |x: &[f64]| names(K).iter().zip(x).map(|(p, x)| (*p, p.kind().value(*x, a_per_n))).collect();
        self.trace.iter().map(|step| (step, in_si(&step.x))).collect()
    }

    /// What the residuals say against the model; empty where they look like noise.
    pub fn lack_of_fit(&self) -> Vec<Note> {
        let ordered: Vec<f64> = self.sweep.by_voltage().iter().map(|&k| self.residuals[k]).collect();
        super::lack_of_fit::notes(&ordered, self.noise_stated.then_some(self.chi2), self.dof)
    }

    /// Degrees of freedom behind ±: infinite where the noise is stated.
    pub(super) fn effective_dof(&self) -> f64 {
        if self.noise_stated { f64::INFINITY } else { self.dof as f64 }
    }

    /// What rounding of readings and model alone can move each free parameter by, as a share of it, in the order of
    /// `names`; `None` where the problem is singular.
    ///
    /// δp² = Σi (P_pi·ε·[|Ii| + |V·∂I/∂V| + Σ|q·∂I/∂q|])², P being the weighted pseudo-inverse of the Jacobian. A fit
    /// of exact readings cannot be expected to be closer than a few of these.
    pub fn resolution(&self) -> Option<Vec<f64>> {
        let problem = self.problem();
        let (linear, _) = Linear::new(&problem, &self.theta, self.free.clone());
        let delta = linear.rounding(&problem, &self.theta)?;
        Some(
            linear
                .free
                .iter()
                .zip(delta)
                .map(|(&k, d)| relative(names(K)[k].kind(), d, self.theta[k]))
                .collect(),
        )
    }

    /// The problem that it solves.
    pub(super) fn problem(&self) -> Problem<'_, K> {
        Problem { points: &self.weights.points, residual: self.residual }
    }

    pub(super) fn a_per_n(&self) -> f64 {
        let options = self.sweep.options();
        crate::diode::thermal_voltage_v(1.0, options.cells, options.temperature_c)
    }
}

/// Lower and upper end of an interval, where the data give one.
pub(super) type Ends = (Option<f64>, Option<f64>);

/// A shift of a coordinate as a share of its parameter.
pub(super) fn relative(kind: Kind, shift: f64, theta: f64) -> f64 {
    match kind {
        Kind::I0 | Kind::N => shift,
        _ => shift / theta.abs(),
    }
}

/// What to say of a figure whose profile does not close.
pub(super) fn open_ends(name: &'static str, ends: Ends) -> Option<Reason> {
    let (below, above) = (ends.0.is_none(), ends.1.is_none());
    (below || above).then(|| Reason::Open { figure: name.into(), below, above })
}

fn no_figure(name: &'static str) -> Reason {
    Reason::NoFigure { figure: name.into() }
}

/// aᵀ·C·b over the free coordinates.
pub(super) fn bilinear(c: &[f64], free: &[usize], a: &[f64], b: &[f64]) -> f64 {
    let m = free.len();
    (0..m * m).map(|k| a[free[k / m]] * c[k] * b[free[k % m]]).sum()
}

/// `end` moved away from `best` by `spread`, in quadrature.
fn widened(end: f64, best: f64, spread: f64) -> f64 {
    best + (end - best).signum() * (end - best).hypot(spread)
}

fn unit_row(k: usize, n: usize) -> Vec<f64> {
    (0..n).map(|j| f64::from(u8::from(j == k))).collect()
}

impl fmt::Display for Status {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

impl<const K: usize> Fit<K> {
    /// Status, residual, rms, degrees of freedom, and where ± comes from.
    pub fn headline(&self) -> String {
        let unit = match self.residual {
            Residual::Nearest => "",
            Residual::Voltage => "V",
            Residual::Current | Residual::Implicit => "A",
        };
        let basis =
            if self.noise_stated { "from the stated noise" } else { "from the scatter about the curve" };
        let (status, residual, rms, dof) = (self.status, self.residual, quantity(self.rms, unit), self.dof);
        format!("{status}, {residual} residual, rms {rms}, {dof} degrees of freedom, ± {basis}")
    }
}

/// Status, residual and rms in a line, then a line a parameter and a note. ± is first order: [`Fit::interval`] is the
/// profile's where that does not hold.
impl<const K: usize> fmt::Display for Fit<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.headline())?;
        for (parameter, estimate) in &self.parameters {
            let notes = estimate.note().map_or(String::new(), |note| format!("  ({note})"));
            write!(f, "\n{parameter:<4}{estimate}{notes}")?;
        }
        self.notes.iter().try_for_each(|note| write!(f, "\nnote: {note}"))
    }
}
