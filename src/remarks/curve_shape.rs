//! What the curve says of the device: a shunt, a series resistance, an ideality that no junction has, an S-shape, readings that
//! rise.
//!
//! ```text
//! loss of FF by a shunt ≈ Voc/(Isc·Rsh)      by a series resistance ≈ Rs·Isc/Voc
//! ```
//!
//! M. A. Green, Solar Cells (1982), section 5.4.2, to first order (from memory). A loss of a tenth is told.

use super::plausible::LOWEST_N;
use crate::curve::estimate_noise;
use crate::fit::{Fit, Options, Parameter, Residual, Status, fit_single_diode};
use crate::interpolant::shape_sweep;
use crate::quantity::estimate::Estimate;
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoints;
use crate::sweep::{Finding, Kind, Sweep, Swept};

/// Share of FF that is told.
const LOSS: f64 = 0.1;
/// Standard uncertainties by which a parameter must stand clear of 0 or of a limit.
const CLEAR: f64 = 4.0;
/// Level of the test of the shape, and the ratio of both χ² that counts beside it: of 400 clean sweeps the level alone rejects two.
const LEVEL: f64 = 0.995;
const BENT: f64 = 2.0;
/// χ²/ν of a diode fit, in units of the noise, below which it agrees with the readings.
const AGREES: f64 = 3.0;
/// Fewest readings that show a shape.
const FEWEST: usize = 10;
/// Readings beyond which the test, which draws many, takes too long for a remark.
const MOST: usize = 400;
/// Combined standard deviations of two neighbours by which the later rises.
const RISE: f64 = 6.0;

/// The remarks, of which a shape that no diode has comes first and leaves out what a diode's parameters would say.
pub(super) fn findings(sweep: &Sweep, points: &KeyPoints, left_out: &[usize]) -> Vec<Finding> {
    let (Some(isc), Some(voc)) = (&points.isc, &points.voc) else { return Vec::new() };
    if isc.value <= 0.0 || voc.value <= 0.0 || !left_out.is_empty() {
        return Vec::new();
    }
    if let Some(rising) = rising(sweep) {
        return vec![rising];
    }
    let fit = fit_single_diode(sweep, &Options::default()).ok();
    // A curve that one diode describes is none.
    let is_diode = fit.as_ref().is_some_and(|fit| agrees(sweep, fit));
    if let Some(bent) = s_shape(sweep).filter(|_| !is_diode) {
        return vec![bent];
    }
    let Some(fit) = fit.filter(|fit| fit.status != Status::NotConverged) else { return Vec::new() };
    let resistance = voc.value / isc.value;
    [shunted(&fit, resistance), series_limited(&fit, resistance), ideality(&fit)]
        .into_iter()
        .flatten()
        .collect()
}

/// Whether the residuals of a fit are no larger than the noise that is stated, or that the sweep itself shows.
fn agrees(sweep: &Sweep, fit: &Fit<1>) -> bool {
    let per_degree = fit.chi2 / fit.dof.max(1) as f64;
    if fit.noise_stated {
        return per_degree < AGREES;
    }
    let scatter = estimate_noise(sweep).map(|noise| match fit.residual {
        Residual::Voltage => noise.voltage_v,
        _ => noise.current_a,
    });
    scatter.is_ok_and(|scatter| scatter > 0.0 && per_degree < AGREES * scatter * scatter)
}

fn clear(estimate: Option<&Estimate>) -> Option<(f64, f64)> {
    let (value, u) = (estimate?.value, estimate?.u?);
    (value > CLEAR * u).then_some((value, u))
}

fn shunted(fit: &Fit<1>, resistance: f64) -> Option<Finding> {
    let rsh = fit.parameter(Parameter::Rsh)?;
    let loss = resistance / rsh.value;
    clear(Some(rsh)).filter(|_| loss > LOSS)?;
    let text = format!(
        "a shunt of {rsh} takes about {} of FF: look for pinholes, edges and wet insulation before anything else is concluded from FF \
         or Voc",
        quantity(100.0 * loss.min(1.0), "%")
    );
    Some(Finding { kind: Kind::Shunted, text, points: Vec::new() })
}

fn series_limited(fit: &Fit<1>, resistance: f64) -> Option<Finding> {
    let rs = fit.parameter(Parameter::Rs)?;
    let loss = rs.value / resistance;
    clear(Some(rs)).filter(|_| loss > LOSS)?;
    let text = format!(
        "a series resistance of {rs} takes about {} of FF: measure with four wires, or correct for the leads; what is left is the \
         device's",
        quantity(100.0 * loss.min(1.0), "%")
    );
    Some(Finding { kind: Kind::SeriesLimited, text, points: Vec::new() })
}

fn ideality(fit: &Fit<1>) -> Option<Finding> {
    let n = fit.parameter(Parameter::N)?;
    let below = n.value + CLEAR * n.u? < LOWEST_N;
    let text = format!(
        "the curve bends as that of a junction with n = {n}, and none is below {}: check temperature_c, cells and the gain of the \
         voltage",
        quantity(LOWEST_N, "")
    );
    below.then_some(Finding { kind: Kind::LowIdeality, text, points: Vec::new() })
}

/// Readings that fall and then bend the other way, beyond chance.
fn s_shape(sweep: &Sweep) -> Option<Finding> {
    if !(FEWEST..=MOST).contains(&sweep.len()) || sweep.options().swept == Swept::Current {
        return None;
    }
    let shape = shape_sweep(sweep).ok()?;
    let verdict = shape.fits_the_shape(LEVEL).ok()?;
    let bent = !verdict.fits && verdict.chi2_shape > BENT * verdict.chi2_smooth;
    let text = "the curve is not bent one way only (an S-shape): a barrier or a blocking contact; no diode model holds, FF and Pmax \
                are those of the readings alone";
    bent.then(|| Finding { kind: Kind::SShape, text: text.into(), points: Vec::new() })
}

fn largest(x: &[f64]) -> f64 {
    x.iter().fold(0.0, |m, x| m.max(x.abs()))
}

/// Neighbours of which the later rises where a passive device falls, beyond the stated noise.
fn rising(sweep: &Sweep) -> Option<Finding> {
    let noise = sweep.options().noise?;
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    // Neighbours whose order is in doubt rise without meaning.
    let apart = |of_set: f64| RISE * std::f64::consts::SQRT_2 * of_set;
    let (set, read, sigma, step): (&[f64], &[f64], Vec<f64>, f64) = match sweep.options().swept {
        Swept::Voltage if noise.states_current() => (
            v,
            i,
            i.iter().map(|i| noise.sigma_current(*i)).collect(),
            apart(noise.sigma_voltage(largest(v))),
        ),
        Swept::Current if noise.states_voltage() => (
            i,
            v,
            v.iter().map(|v| noise.sigma_voltage(*v)).collect(),
            apart(noise.sigma_current(largest(i))),
        ),
        _ => return None,
    };
    let mut order: Vec<usize> = (0..set.len()).collect();
    order.sort_by(|&a, &b| set[a].total_cmp(&set[b]));
    let up = |w: &&[usize]| {
        set[w[1]] - set[w[0]] > step && read[w[1]] - read[w[0]] > RISE * sigma[w[0]].hypot(sigma[w[1]])
    };
    let points: Vec<usize> = order.windows(2).filter(up).map(|w| w[1]).collect();
    let text = || {
        format!(
            "{} where a passive device falls, by more than {RISE} times the stated noise: the light flickers, a contact is \
             loose, or the readings belong to different sweeps",
            if points.len() == 1 {
                format!("reading {} rises", points[0])
            } else {
                format!("{} readings rise", points.len())
            }
        )
    };
    (!points.is_empty()).then(|| Finding { kind: Kind::NotMonotone, text: text(), points: points.clone() })
}
