//! Key points of a sweep whose points are moved by more than the noise of its instrument.
//!
//! ```text
//! cov(Fj, Fk) = Σ over sources at every point of rj·rk + gains, offsets, truncation        r = ∂F/∂I·dI + ∂F/∂V·dV
//!             + Σ over common sources of hj·hk + hj·sk + hk·sj        h: half difference of F with the points at ±
//! ```
//!
//! s is the covariance of a common source with what else moves the figure, for sources that were read from the same
//! points (Isc or Voc of a sweep that is translated). JCGM 100:2008, 5.2.2; degrees of freedom G.4.

use super::beyond::Beyond;
use super::contributions::Contributions;
use super::figures_of_points::{analysis_of, found_in, traced};
use crate::numerics::linear_algebra::non_negative_least_squares::dot;
use crate::quantity::key_points::{Found, KeyPoint, combined_dof};
use crate::quantity::reason::Reason;
use crate::sweep::{Effect, Reach, Sweep, half_difference};

type Square = [[f64; 5]; 5];

/// Adds the effects of `sweep` to the covariance of its figures; gives what each common source changes of them.
pub(super) fn carry<'a>(sweep: &'a Sweep, found: &mut Found, beyond: Beyond) -> Vec<(&'a Effect, [f64; 5])> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let (_, contributions) = traced(sweep, v, i, beyond);
    let mut carried = Vec::new();
    let Ok(plain) = found.covariance.clone() else { return carried };
    let rows = Rows::of(sweep, &contributions);
    let mut total = rows.replace(plain, &contributions);
    // What rests on the scatter, and the sources with degrees of freedom of their own.
    let mut scatter: [f64; 5] = std::array::from_fn(|k| rows.variance(k).unwrap_or(plain[k][k]));
    let mut parts: [Vec<(f64, f64)>; 5] = [const { Vec::new() }; 5];
    for e in sweep.options().effects.iter().filter(|e| e.reach == Reach::Common) {
        let half = match change(sweep, e, &found.values, beyond) {
            Ok(half) => half,
            Err(why) => {
                found.covariance = Err(why);
                return Vec::new();
            }
        };
        let shared: [f64; 5] = std::array::from_fn(|k| rows.shared(e, k, contributions[k].as_ref()));
        carried.push((e, half));
        for j in 0..5 {
            for k in 0..5 {
                total[j][k] += half[j] * half[k] + half[j] * shared[k] + half[k] * shared[j];
            }
            let own = half[j] * half[j] + 2.0 * half[j] * shared[j];
            if e.shared.is_some() { scatter[j] += own } else { parts[j].push((own, e.dof)) }
        }
    }
    for k in 0..5 {
        let dof = rows.dof.unwrap_or(found.dof[k]);
        // Gains and truncation are known.
        let known = total[k][k] - scatter[k] - parts[k].iter().map(|p| p.0).sum::<f64>();
        parts[k].extend([(scatter[k].max(0.0), dof), (known.max(0.0), f64::INFINITY)]);
        if total[k][k] > 0.0 {
            found.dof[k] = combined_dof(&parts[k]);
        }
    }
    found.covariance = Ok(total);
    carried
}

/// What the sources at every point do to each figure.
struct Rows {
    /// For each figure and each effect of reach Each, the change by the source at each point.
    rows: [Option<Vec<Vec<f64>>>; 5],
    dof: Option<f64>,
}

impl Rows {
    fn of(sweep: &Sweep, contributions: &[Option<Contributions>; 5]) -> Self {
        let each: Vec<&Effect> = sweep.options().effects.iter().filter(|e| e.reach == Reach::Each).collect();
        if each.is_empty() {
            return Self { rows: [const { None }; 5], dof: None };
        }
        let rows = std::array::from_fn(|k| {
            let contribution = contributions[k].as_ref()?;
            Some(each.iter().map(|e| through(contribution, &e.voltage_v, &e.current_a)).collect())
        });
        Self { rows, dof: each.iter().map(|e| e.dof).reduce(f64::min) }
    }

    /// The covariance with the sources at every point in place of the scatter.
    fn replace(&self, mut plain: Square, contributions: &[Option<Contributions>; 5]) -> Square {
        for j in 0..5 {
            for k in 0..5 {
                let (Some(a), Some(b)) = (&self.rows[j], &self.rows[k]) else { continue };
                let (Some(p), Some(q)) = (&contributions[j], &contributions[k]) else { continue };
                let scatter: f64 = a.iter().zip(b).map(|(a, b)| dot(a, b)).sum();
                plain[j][k] = scatter + dot(&p.common, &q.common) + p.shape[k];
            }
        }
        plain
    }

    fn variance(&self, k: usize) -> Option<f64> {
        Some(self.rows[k].as_ref()?.iter().map(|row| dot(row, row)).sum())
    }

    /// Covariance of the common source `e` with what else moves figure `k`.
    fn shared(&self, e: &Effect, k: usize, contribution: Option<&Contributions>) -> f64 {
        let (Some(own), Some(contribution), Some(rows)) = (&e.shared, contribution, &self.rows[k]) else {
            return 0.0;
        };
        let scatter: f64 = own.each.iter().zip(rows).map(|(a, b)| dot(a, b)).sum();
        let shape = own.truncation.filter(|t| t.0 == k).map_or(0.0, |t| t.1 * contribution.truncation);
        scatter + dot(&own.common, &contribution.common) + shape
    }
}

/// The change of a figure by a source at each point.
fn through(contribution: &Contributions, voltage_v: &[f64], current_a: &[f64]) -> Vec<f64> {
    let by = contribution.by_voltage.iter().zip(voltage_v).zip(contribution.by_current.iter().zip(current_a));
    by.map(|((by_v, v), (by_i, i))| by_v * v + by_i * i).collect()
}

/// What a common effect does to the five figures; an error where a figure vanishes under it.
pub(crate) fn change(
    sweep: &Sweep,
    e: &Effect,
    here: &[Result<f64, Reason>; 5],
    beyond: Beyond,
) -> Result<[f64; 5], Reason> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let moved = |sign: f64| {
        let shift =
            |x: &[f64], by: &[f64]| -> Vec<f64> { x.iter().zip(by).map(|(x, e)| x + sign * e).collect() };
        found_in(sweep, &shift(v, &e.voltage_v), &shift(i, &e.current_a), beyond).values
    };
    let (up, down) = (moved(1.0), moved(-1.0));
    let mut change = [0.0; 5];
    for k in 0..5 {
        let Ok(here) = &here[k] else { continue };
        let of = |values: &[Result<f64, Reason>; 5]| values[k].as_ref().ok().copied();
        let lost = || Reason::Lost { effect: e.name.to_string(), figure: KeyPoint::ALL[k] };
        change[k] = half_difference(of(&up), *here, of(&down)).ok_or_else(lost)?;
    }
    Ok(change)
}

/// The independent sources at every point of a sweep: its effects of reach Each, or else the scatter of its readings on
/// either axis, as stated or found; none where the scatter is not known.
pub(crate) fn sources(sweep: &Sweep) -> Vec<Effect> {
    let options = sweep.options();
    let carried: Vec<Effect> = options.effects.iter().filter(|e| e.reach == Reach::Each).cloned().collect();
    if !carried.is_empty() {
        return carried;
    }
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let Some((analysis, sense)) = analysis_of(sweep, v, i) else { return Vec::new() };
    let (readings, scatter) = (&analysis.readings, &analysis.scatter);
    if scatter.unknown.is_some() {
        return Vec::new();
    }
    let order = readings.order(v, i, sense);
    let spread = |sigma: &[f64], unit: f64| {
        // A reading that is there twice counts once and has the scatter of the others.
        let mean = sigma.iter().sum::<f64>() / sigma.len() as f64;
        let mut all = vec![mean * unit; v.len()];
        order.iter().zip(sigma).for_each(|(k, s)| all[*k] = s * unit);
        all
    };
    let none = vec![0.0; v.len()];
    let [current, voltage] =
        [spread(&scatter.current, readings.unit_a), spread(&scatter.voltage, readings.unit_v)];
    let of = |name: &str, voltage_v: Vec<f64>, current_a: Vec<f64>| Effect {
        dof: scatter.dof,
        ..Effect::new(name, Reach::Each, voltage_v, current_a)
    };
    [of("scatter of the current", none.clone(), current), of("scatter of the voltage", voltage, none)]
        .into_iter()
        .filter(|e| e.voltage_v.iter().chain(&e.current_a).any(|x| *x != 0.0))
        .collect()
}

/// What a figure shares with the sources at every point of its sweep: one row a source of `sources`.
pub(crate) fn shares(contribution: &Contributions, sources: &[Effect]) -> Vec<Vec<f64>> {
    sources.iter().map(|e| through(contribution, &e.voltage_v, &e.current_a)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diode::{Circuit, Junction};
    use crate::sweep::{Leads, Noise, Sign, SweepOptions};

    /// Each reading of a device with its leads swapped has the scatter that it has the right way round.
    #[test]
    fn sources_of_a_mirrored_sweep_are_those_of_its_readings() {
        let cell = Circuit::<1>::new(0.03, [1e-9], [0.036], 0.8, 1.0 / 900.0);
        let v: Vec<f64> = (0..25).map(|k| 0.62 * f64::from(k) / 24.0).collect();
        let i: Vec<f64> = v.iter().map(|v| cell.current_at(*v)).collect();
        let scatter = |sense: f64| {
            let options = SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven);
            let turned = |x: &[f64]| x.iter().map(|x| sense * x).collect::<Vec<f64>>();
            let noise = Noise::default().current_a(1e-6).current_rel(0.02);
            let sweep = Sweep::new(&turned(&v), &turned(&i), options.noise(noise)).unwrap();
            sources(&sweep)[0].current_a.clone()
        };
        let (right, mirrored) = (scatter(1.0), scatter(-1.0));
        assert!(right[0] > 5.0 * right[24], "{right:?}");
        for (a, b) in right.iter().zip(&mirrored) {
            assert!((a / b - 1.0).abs() < 1e-6, "{right:?} {mirrored:?}");
        }
    }
}
