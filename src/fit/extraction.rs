//! The fit as a whole: weights, search, uncertainty, verdict.

use super::at_bounds::settle_on_bounds;
use super::covariance::Linear;
use super::error::FitError;
use super::identifiability::{Verdict, assess};
use super::model_comparison::OfTwo;
use super::multistart::{Effort, descend, search};
use super::nested::{Nested, lowest};
use super::options::{NoiseScale, Options, default_budget};
use super::parameters::{Parameter, names};
use super::residuals::{Points, Problem, Residual};
use super::result::{Fit, Status, Weights};
use super::weights::{Place, automatic_residual, is_absolute, is_in_stated_units, weigh, weights_follow};
use super::wishes::Wishes;
use crate::diode::{Device, Parameters, one_or_two, thermal_voltage_v};
use crate::numerics::cancel::Token;
use crate::numerics::least_squares::budget;
use crate::numerics::least_squares::problem::{Bounds, Residuals, Solution, Step};
use crate::quantity::estimate::Estimate;
use crate::quantity::reason::Reason;
use crate::sweep::{Sweep, SweepOptions};

/// Rounds in which weights that depend on the curve follow it.
const MOST_ROUNDS: usize = 12;

/// Fits two diodes to a sweep.
///
/// Formula: `I = Iph − Σk I0k·(exp((V + I·Rs)/(nk·cells·k·T/q)) − 1) − (V + I·Rs)/Rsh`, n1 ≤ n2.
///
/// # Errors
/// As [`fit_single_diode`].
///
/// # Examples
/// ```
/// use litdiode::diode::{DoubleDiode, Parameters};
/// use litdiode::fit::{Options, Parameter, Wishes, fit_double_diode};
/// use litdiode::sweep::{Swept, Sweep, SweepOptions};
/// let cell = DoubleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [3e-12, 1e-7], n: [1.0, 2.0], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(40);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default().swept(Swept::Current))?;
/// let ideal = Wishes::default().fix(Parameter::N1, 1.0).fix(Parameter::N2, 2.0);
/// let fit = fit_double_diode(&sweep, &Options::default().wishes(ideal))?;
/// assert!((fit.parameter(Parameter::I02).unwrap().value - 1e-7).abs() < 1e-11);
/// assert!(fit.support.is_some_and(|support| support.holds()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit_double_diode(sweep: &Sweep, options: &Options) -> Result<Fit<2>, FitError> {
    extract::<2>(sweep, options)
}

/// Fits one diode to a sweep.
///
/// Formula: `I = Iph − I0·(exp((V + I·Rs)/(n·cells·k·T/q)) − 1) − (V + I·Rs)/Rsh`.
///
/// # Errors
/// [`FitError`] for options that contradict the model or leave too few points; a fit that does not
/// converge is not an error but a [`Status`].
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, Parameter, Status, fit_single_diode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let fit = fit_single_diode(&sweep, &Options::default())?;
/// assert_eq!(fit.status, Status::Converged);
/// assert!((fit.parameter(Parameter::N).unwrap().value - 1.3).abs() < 1e-6);
/// assert!((fit.parameter(Parameter::Rs).unwrap().value - 0.5).abs() < 1e-5);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fit_single_diode(sweep: &Sweep, options: &Options) -> Result<Fit<1>, FitError> {
    extract::<1>(sweep, options)
}

/// Fits K diodes, one or two, to a sweep; any other number does not compile.
///
/// ```compile_fail
/// # use litdiode::{fit, sweep::{Sweep, SweepOptions}};
/// let sweep = Sweep::new(&[0.0, 0.5], &[1.0, 0.0], SweepOptions::default()).unwrap();
/// let none = fit::extract::<0>(&sweep, &fit::Options::default());
/// ```
///
/// # Errors
/// As [`fit_single_diode`].
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::fit::{Options, Parameter, Wishes, extract};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let known_rs = Options::default().wishes(Wishes::default().fix(Parameter::Rs, 0.5));
/// let fit = extract::<1>(&sweep, &known_rs)?;
/// assert_eq!(fit.names, [Parameter::Iph, Parameter::I0, Parameter::N, Parameter::Rsh]);
/// assert!((fit.parameter(Parameter::Rsh).unwrap().value - 900.0).abs() < 0.01);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn extract<const K: usize>(sweep: &Sweep, options: &Options) -> Result<Fit<K>, FitError> {
    const { one_or_two(K) };
    let evaluations = options.most_evaluations.unwrap_or_else(|| default_budget(K, sweep.len()));
    let fit = || budget::within(evaluations, || unlimited(sweep, options));
    match options.deadline {
        Some(limit) => Token::within(limit).enforce(fit).0,
        None => fit(),
    }
}

fn unlimited<const K: usize>(sweep: &Sweep, options: &Options) -> Result<Fit<K>, FitError> {
    let residual = options.residual.unwrap_or_else(|| automatic_residual(sweep));
    let a_per_n = thermal_voltage_v(1.0, sweep.options().cells, sweep.options().temperature_c);
    let bounds = options.wishes.limits(K, a_per_n)?;
    let open = bounds.low.iter().zip(&bounds.high).filter(|(l, h)| l < h).count();
    if sweep.len() < open.max(1) {
        return Err(FitError::TooFewPoints { points: sweep.len(), free: open });
    }
    let descent = weighted_descent::<K>(sweep, residual, &bounds, &options.wishes, a_per_n)?;
    if !descent.solution.cost.is_finite() {
        let &crate::sweep::SweepOptions { cells, temperature_c, .. } = sweep.options();
        let voltage_v = sweep.voltage_v().iter().fold(0.0f64, |m, v| m.max(v.abs()));
        return Err(FitError::OutOfReach { voltage_v, cells, temperature_c });
    }
    let noise_stated = options.noise_scale == NoiseScale::Stated && is_absolute(sweep, residual);
    finish(sweep, residual, noise_stated, bounds, a_per_n, descent)
}

/// Where the search ended, with the weighted points of its last round, and the optima of one diode within two.
struct WeightedOptimum {
    points: Points,
    solution: Solution,
    trace: Vec<Step>,
    nested: Vec<Nested>,
}

/// Search with weights that follow the fitted curve where the noise depends on it.
fn weighted_descent<const K: usize>(
    sweep: &Sweep,
    residual: Residual,
    bounds: &Bounds,
    wishes: &Wishes,
    a_per_n: f64,
) -> Result<WeightedOptimum, FitError> {
    let alone = |bounds: &Bounds| -> Result<_, FitError> {
        let WeightedOptimum { points, solution, trace, .. } =
            weighted_descent::<1>(sweep, residual, bounds, &Wishes::default(), a_per_n)?;
        Ok((points, solution, trace))
    };
    let nested = if K == 2 { Nested::all(bounds, alone)? } else { Vec::new() };
    let one = nested.iter().min_by(|a, b| a.solution.cost.total_cmp(&b.solution.cost));
    // Readings serve as weights for the start only; the rounds below replace them by the curve. Two diodes start with
    // the weights of one.
    let points = match one {
        Some(one) if one.solution.cost.is_finite() => one.points.clone(),
        _ => weigh(sweep, residual, &Place::of_readings(sweep))?,
    };
    let problem = Problem::<K> { points: &points, residual };
    let wanted = wanted_start(&problem, bounds, wishes, a_per_n)?;
    let found = search::<K>(&points, residual, bounds, wanted.as_deref());
    let (solution, trace) = lowest(&problem, bounds, &nested, found);
    let first = WeightedOptimum { points, solution, trace, nested };
    if !weights_follow(sweep) {
        return Ok(first);
    }
    let least = first.nested.iter().map(|n| n.solution.cost).fold(f64::INFINITY, f64::min);
    let (mut points, mut solution, mut trace) =
        (first.points.clone(), first.solution.clone(), first.trace.clone());
    for _ in 0..MOST_ROUNDS {
        let weights = weigh(sweep, residual, &Place::on_curve::<K>(&solution.x, sweep, residual))?;
        if !solution.cost.is_finite() || settled(&points, &weights) || budget::used_up().is_some() {
            break;
        }
        points = weights;
        (solution, trace) = descend::<K>(&points, residual, bounds, &solution.x, Effort::SHORT);
    }
    // Weights that follow the curve may raise χ² by more than a second diode lowers it: then those of one diode stay.
    Ok(if solution.cost <= least { WeightedOptimum { points, solution, trace, ..first } } else { first })
}

/// The user's start, the grid's best where it is silent; `None` without wishes.
fn wanted_start<const K: usize>(
    problem: &Problem<K>,
    bounds: &Bounds,
    wishes: &Wishes,
    a_per_n: f64,
) -> Result<Option<Vec<f64>>, FitError> {
    if wishes.start.is_empty() {
        return Ok(None);
    }
    let grid = super::initial_guess::starts(problem, bounds, 1);
    let mut theta = grid.into_iter().next().unwrap_or_else(|| bounds.low.clone());
    wishes.apply_start(K, a_per_n, &mut theta)?;
    Ok(Some(theta))
}

/// Whether the weights have come to rest.
fn settled(old: &Points, new: &Points) -> bool {
    let close =
        |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(x, y)| (x - y).abs() <= 1e-9 * x.abs().max(y.abs()));
    close(&old.sigma_v, &new.sigma_v) && close(&old.sigma_a, &new.sigma_a)
}

fn finish<const K: usize>(
    sweep: &Sweep,
    residual: Residual,
    noise_stated: bool,
    bounds: Bounds,
    a_per_n: f64,
    descent: WeightedOptimum,
) -> Result<Fit<K>, FitError> {
    let WeightedOptimum { points, mut solution, trace, nested } = descent;
    let problem = Problem::<K> { points: &points, residual };
    settle_on_bounds(&problem, &bounds, &mut solution);
    let free = bounds.inside(&solution.x);
    let spread = Spread::about(&problem, &solution, &free, noise_stated, sweep.options());
    let Spread { linear, mut residuals, dof, s2, common, covariance } = spread;
    let cost = solution.cost;
    let of_two = OfTwo { points: &points, residual, noise_stated, bounds: &bounds, a_per_n, cost };
    let support = of_two.support(&nested);
    in_own_unit(&mut residuals, residual, &points);
    let sum = residuals.iter().map(|x| x * x).sum::<f64>();
    let fit = Fit {
        sweep: sweep.clone(),
        model: device::<K>(&solution.x, sweep, a_per_n)?,
        residual,
        parameters: Vec::new(),
        names: free.iter().map(|&k| names(K)[k]).collect(),
        covariance: in_si::<K>(&covariance, &free, &solution.x, a_per_n),
        theta_covariance: covariance,
        theta: solution.x.clone(),
        rms: (sum / residuals.len() as f64).sqrt(),
        chi2: if is_in_stated_units(sweep, residual) { cost } else { sum },
        dof,
        noise_stated,
        status: Status::Converged,
        notes: Vec::new(),
        residuals,
        trace,
        stop: solution.stop,
        support,
        free,
        bounds,
        weights: Weights { points, s2, cost, common },
        by_profile: false,
    };
    Ok(judged(fit, &solution, &linear))
}

/// The fit with its status, its notes and its estimates.
fn judged<const K: usize>(mut fit: Fit<K>, solution: &Solution, linear: &Linear) -> Fit<K> {
    let Verdict { status, notes, by_profile, remarks } = assess(&fit, solution, linear);
    fit.parameters = parameters(&fit, &remarks);
    (fit.status, fit.notes, fit.by_profile) = (status, notes, by_profile);
    fit
}

/// What the residuals about an optimum make of the free coordinates.
struct Spread {
    linear: Linear,
    /// In units of σ.
    residuals: Vec<f64>,
    dof: usize,
    /// What scales σ²; NaN where nothing does.
    s2: f64,
    /// Shifts of the free coordinates by each source that is common to the points.
    common: Vec<Vec<f64>>,
    /// Covariance of the free coordinates, row by row; empty where the data give none.
    covariance: Vec<f64>,
}

impl Spread {
    fn about<const K: usize>(
        problem: &Problem<K>,
        solution: &Solution,
        free: &[usize],
        noise_stated: bool,
        options: &SweepOptions,
    ) -> Self {
        let dof = problem.len() - free.len().min(problem.len());
        let s2 = if noise_stated { 1.0 } else { scatter(problem, solution.cost, dof) };
        let (mut linear, residuals) = Linear::new(problem, &solution.x, free.to_vec());
        if s2.is_nan() {
            linear.give_up();
        }
        let common = linear.common_shifts(problem, &solution.x, options);
        let covariance = covariance(&linear, s2, &common);
        Self { linear, residuals, dof, s2, common, covariance }
    }
}

/// Residuals in the unit of the readings, from those in units of σ; those of nearest stay.
fn in_own_unit(residuals: &mut [f64], residual: Residual, points: &Points) {
    let sigma = match residual {
        Residual::Nearest => return,
        Residual::Voltage => &points.sigma_v,
        Residual::Current | Residual::Implicit => &points.sigma_a,
    };
    residuals.iter_mut().zip(sigma).for_each(|(r, s)| *r *= s);
}

/// χ²/ν plus what rounding contributes; NaN where no degrees of freedom are left.
fn scatter<const K: usize>(problem: &Problem<K>, cost: f64, dof: usize) -> f64 {
    if dof == 0 { f64::NAN } else { cost / dof as f64 + problem.rounding() / problem.len() as f64 }
}

/// Scatter times s², and what is common to all points.
fn covariance(linear: &Linear, s2: f64, common: &[Vec<f64>]) -> Vec<f64> {
    let Some(mut c) = linear.unscaled() else { return Vec::new() };
    let m = linear.free.len();
    c.iter_mut().for_each(|c| *c *= s2);
    for shift in common {
        c.iter_mut().enumerate().for_each(|(k, c)| *c += shift[k / m] * shift[k % m]);
    }
    c
}

/// Covariance of the SI parameters from that of the coordinates.
fn in_si<const K: usize>(c: &[f64], free: &[usize], theta: &[f64], a_per_n: f64) -> Vec<f64> {
    let m = free.len();
    let by: Vec<f64> = free
        .iter()
        .map(|&k| {
            let kind = names(K)[k].kind();
            kind.derivative(kind.value(theta[k], a_per_n))
        })
        .collect();
    c.iter().enumerate().map(|(k, c)| by[k / m] * c * by[k % m]).collect()
}

fn device<const K: usize>(theta: &[f64], sweep: &Sweep, a_per_n: f64) -> Result<Device<K>, FitError> {
    let si = |k: usize| names(K)[k].kind().value(theta[k], a_per_n);
    let parameters = Parameters {
        iph_a: si(0),
        i0_a: std::array::from_fn(|k| si(1 + 2 * k)),
        n: std::array::from_fn(|k| si(2 + 2 * k)),
        rs_ohm: si(2 * K + 1),
        rsh_ohm: si(2 * K + 2),
        cells: sweep.options().cells,
        temperature_c: sweep.options().temperature_c,
    };
    Ok(Device::new(parameters)?)
}

/// Every parameter as an estimate; `remarks` hold what is to be said of some.
fn parameters<const K: usize>(fit: &Fit<K>, remarks: &[(usize, Reason)]) -> Vec<(Parameter, Estimate)> {
    let (m, a_per_n) = (fit.free.len(), fit.a_per_n());
    let dof = fit.effective_dof();
    let estimate = |k: usize| {
        let kind = names(K)[k].kind();
        let value = kind.value(fit.theta[k], a_per_n);
        let u = fit
            .free
            .iter()
            .position(|f| *f == k)
            .and_then(|p| fit.covariance.get(p * m + p))
            .map(|v| v.sqrt());
        let remark = remarks.iter().find(|r| r.0 == k).map(|r| r.1.clone());
        let none = if fit.weights.s2.is_finite() { Reason::NoCovariance } else { Reason::NoDegreesOfFreedom };
        let estimate = match (u.filter(|u| u.is_finite()), remark) {
            (Some(u), None) => Estimate::new(value, u, kind.unit()).with_dof(dof),
            (Some(u), Some(remark)) => Estimate::new(value, u, kind.unit()).with_dof(dof).noted(remark),
            (None, remark) => Estimate::without_u(value, kind.unit(), remark.unwrap_or(none)),
        };
        estimate.on(kind.scale())
    };
    (0..fit.theta.len()).map(|k| (names(K)[k], estimate(k))).collect()
}
