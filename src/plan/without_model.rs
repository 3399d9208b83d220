//! Set points for a key point that is found without a model.
//!
//! ```text
//! n points = n₀ even from end to end + clusters of n₁ about Isc, n₂ about the maximum power, n₃ about Voc,
//! each even in the voltage over ±w·Voc        least Σ_s ln u²(target; s) over nₖ, wₖ
//! ```
//!
//! u is what [`crate::curve::key_points`] states of the exact readings of the expected device with the noise of the instrument:
//! the variance of an estimator that is linear in the readings, of the discrepancy from its pilot, and the bracket of the
//! neighbours. Narrow clusters at one device that is known for certain would exploit that exact readings leave no doubt of the
//! pilot: the scatter of simulated sweeps was then up to 3.7 times u. So the devices s always include some that are 10 % off,
//! which keeps the clusters wide; the scatter is then 0.98 to 0.99 times u (docs/planning.md). The expected device says where
//! the clusters lie; the figures do not rest on it. The numbers and widths are sought from an even share, one change after the
//! other, so that the plan is good but not proved to be the best.

use super::error::PlanError;
use super::note::PlanNote;
use super::planner::Planner;
use super::setting::{Setting, between, determined, figure_of};
use crate::curve::key_points;
use crate::diode::{Device, Junction};
use crate::fit::Figure;
use crate::numerics::cancel;
use crate::quantity::key_points::{KeyPoint, NAMES};
use crate::sweep::{Leads, Noise, Sign, Sweep, SweepOptions, Swept};

/// Fewest readings of which key points without a model are planned.
const FEWEST: usize = 8;
/// What to pass where no plan determines the target.
const WITHOUT: &str = "without a model Isc, Voc and the maximum power are read, not extrapolated: give limits that reach them, or \
                       more points";
/// Half widths of a cluster that are tried, in Voc.
const WIDTHS: [f64; 7] = [0.01, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3];
/// Devices that a plan is made for.
const MOST_DEVICES: usize = 16;
/// Changes after which the search ends in any case.
const MOST_CHANGES: usize = 60;

/// By the curve through the readings.
pub(super) struct WithoutModel<const K: usize, const N: usize> {
    pub setting: Setting<K, N>,
}

/// Numbers of points: even, about Isc, about the maximum power, about Voc; and the places of the half widths.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Clusters {
    counts: [usize; 4],
    widths: [usize; 3],
}

impl<const K: usize, const N: usize> WithoutModel<K, N> {
    /// What may be set, rising.
    fn allowed(&self) -> &[f64] {
        &self.setting.candidates.set
    }

    /// What key points say of the exact readings of a device.
    fn stated(&self, device: &Device<K>, set: &[f64]) -> Option<[Option<f64>; 6]> {
        self.stated_with(device, set, self.setting.noise)
    }

    fn stated_with(&self, device: &Device<K>, set: &[f64], noise: Noise) -> Option<[Option<f64>; 6]> {
        let circuit = device.circuit();
        let mut other = vec![0.0; set.len()];
        let parameters = device.parameters();
        let options = SweepOptions::default()
            .swept(self.setting.swept)
            .sign(Sign::Generator)
            .leads(Leads::AsGiven)
            .noise(noise)
            .temperature_c(parameters.temperature_c)
            .cells(parameters.cells);
        let sweep = match self.setting.swept {
            Swept::Voltage => {
                circuit.currents_at(set, &mut other);
                Sweep::new(set, &other, options)
            }
            Swept::Current => {
                circuit.voltages_at(set, &mut other);
                // What the device does not carry is not read.
                let shown: Vec<usize> = (0..set.len()).filter(|k| other[*k] >= -circuit.voc()).collect();
                let of = |list: &[f64]| shown.iter().map(|k| list[*k]).collect::<Vec<f64>>();
                Sweep::new(&of(&other), &of(set), options)
            }
        };
        let points = key_points(&sweep.ok()?);
        Some(NAMES.map(|name| points.get(name).and_then(|e| e.u)))
    }

    /// The mean of ln u² of the target over the devices; infinite where one does not give it.
    fn criterion(&self, set: &[f64]) -> f64 {
        let place = KeyPoint::ALL.iter().position(|p| Figure::KeyPoint(*p) == self.setting.target);
        let (mut sum, mut count) = (0.0, 0.0);
        for device in self.setting.scenes().take(MOST_DEVICES) {
            let stated = self.stated(device, set);
            let u = place.and_then(|k| stated.and_then(|s| s.get(k).copied().flatten()));
            sum += u.map_or(f64::INFINITY, |u| 2.0 * u.ln());
            count += 1.0;
        }
        sum / count
    }

    /// The set points of clusters, rising, within what may be set.
    fn place(&self, clusters: &Clusters) -> Vec<f64> {
        let [first, .., last] = self.allowed() else { return Vec::new() };
        let circuit = self.setting.first().circuit();
        let (voc, best) = (circuit.voc(), circuit.maximum_power().v_pmax);
        let mut set = between(*first, *last, clusters.counts[0].max(2));
        set.truncate(clusters.counts[0]);
        for (k, centre) in [0.0, best, voc].into_iter().enumerate() {
            let (count, half) = (clusters.counts[1 + k], WIDTHS[clusters.widths[k]] * voc);
            let (from, to) = if count == 1 { (centre, centre) } else { (centre - half, centre + half) };
            let set_for = |v: f64| match self.setting.swept {
                Swept::Voltage => v,
                Swept::Current => circuit.current_at(v),
            };
            set.extend(between(from, to, count).into_iter().map(set_for));
        }
        set.iter_mut().for_each(|x| *x = self.allowed_near(x.clamp(*first, *last)));
        set.sort_by(f64::total_cmp);
        set
    }

    /// The set point itself where it is allowed, else the candidate nearest to it.
    fn allowed_near(&self, x: f64) -> f64 {
        if self.setting.step == 0.0 && self.setting.rows(x).is_some() {
            return x;
        }
        let near = |best: f64, one: &f64| if (one - x).abs() < (best - x).abs() { *one } else { best };
        self.allowed().iter().fold(f64::INFINITY, near)
    }

    fn search(&self, points: usize) -> (f64, Vec<f64>) {
        let quarter = points / 4;
        let mut now =
            Clusters { counts: [points - 3 * quarter, quarter, quarter, quarter], widths: [3, 3, 2] };
        let mut set = self.place(&now);
        let mut least = self.criterion(&set);
        let mut step = (points / 8).max(1);
        for _ in 0..MOST_CHANGES {
            let mut better = None;
            for next in neighbours(&now, step) {
                if cancel::requested_now() {
                    return (least, set);
                }
                let there = self.place(&next);
                let value = self.criterion(&there);
                if value < least - 1e-6 {
                    least = value;
                    better = Some((next, there));
                }
            }
            match better {
                Some((next, there)) => (now, set) = (next, there),
                None if step > 1 => step /= 2,
                None => break,
            }
        }
        (least, set)
    }
}

/// u of a figure among those that key points state, where it is determined.
fn u_of(stated: &[Option<f64>; 6], figure: Figure, value: f64) -> Option<f64> {
    let place = KeyPoint::ALL.iter().position(|p| Figure::KeyPoint(*p) == figure)?;
    stated.get(place).copied().flatten().filter(|u| determined(figure, value, *u))
}

/// Clusters that differ by `step` points of two groups, or by the next width of one.
fn neighbours(now: &Clusters, step: usize) -> Vec<Clusters> {
    let mut all = Vec::new();
    for (from, to) in (0..4).flat_map(|from| (0..4).map(move |to| (from, to))) {
        // Two even ones stay, at the ends.
        let left = now.counts[from].checked_sub(step).filter(|left| from > 0 || *left >= 2);
        if let Some(left) = left.filter(|_| from != to) {
            let mut next = *now;
            next.counts[from] = left;
            next.counts[to] += step;
            all.push(next);
        }
    }
    for k in 0..3 {
        let narrower = now.widths[k].checked_sub(1);
        let wider = Some(now.widths[k] + 1).filter(|w| *w < WIDTHS.len());
        for width in [narrower, wider].into_iter().flatten() {
            let mut next = *now;
            next.widths[k] = width;
            all.push(next);
        }
    }
    all
}

impl<const K: usize, const N: usize> Planner for WithoutModel<K, N> {
    fn fewest(&self) -> usize {
        FEWEST
    }

    fn plan(&self, points: usize) -> Result<Vec<f64>, PlanError> {
        let different = self.allowed().len();
        if different < FEWEST {
            return Err(PlanError::NoRoom { different, needed: FEWEST });
        }
        let even = [self.equal_voltages(points), self.equal_currents(points)];
        let even = even.into_iter().flatten().map(|mut set| {
            set.iter_mut().for_each(|x| *x = self.allowed_near(*x));
            set.sort_by(f64::total_cmp);
            (self.criterion(&set), set)
        });
        let (least, set) =
            even.fold(self.search(points), |best, one| if one.0 < best.0 { one } else { best });
        if least.is_finite() { Ok(set) } else { Err(self.setting.not_determined_error(0, WITHOUT)) }
    }

    fn equal_voltages(&self, points: usize) -> Option<Vec<f64>> {
        self.setting.in_equal_voltages(points)
    }

    fn equal_currents(&self, points: usize) -> Option<Vec<f64>> {
        self.setting.in_equal_currents(points)
    }

    fn shown(&self, x: f64) -> Option<(f64, f64)> {
        self.setting.shown(x)
    }

    fn figures(&self) -> Vec<(Figure, f64)> {
        let is_point = |f: &(Figure, f64)| matches!(f.0, Figure::KeyPoint(_));
        self.setting.figures().into_iter().filter(is_point).collect()
    }

    fn u(&self, set: &[f64]) -> Vec<Option<f64>> {
        self.u_repeated(set, 1)
    }

    /// The scatter of a mean is that of one reading over √times; gains, offsets, the discrepancy and the bracket are no less.
    fn u_repeated(&self, set: &[f64], times: usize) -> Vec<Option<f64>> {
        let mut noise = self.setting.noise;
        let share = (times.max(1) as f64).sqrt().recip();
        for scatter in
            [&mut noise.voltage_v, &mut noise.voltage_rel, &mut noise.current_a, &mut noise.current_rel]
        {
            *scatter *= share;
        }
        let stated = self.stated_with(self.setting.first(), set, noise);
        let of = |f: (Figure, f64)| stated.and_then(|stated| u_of(&stated, f.0, f.1));
        self.figures().into_iter().map(of).collect()
    }

    fn serve(&self, set: &[f64]) -> Result<(), PlanError> {
        let setting = &self.setting;
        let open = |device: &Device<K>| {
            let u = || {
                let (value, _) = figure_of(device, setting.target, &setting.held)?;
                u_of(&self.stated(device, set)?, setting.target, value)
            };
            u().is_none()
        };
        setting
            .given()
            .iter()
            .position(open)
            .map_or(Ok(()), |index| Err(setting.not_determined_error(index, WITHOUT)))
    }

    fn notes(&self) -> Vec<PlanNote> {
        self.setting.notes()
    }
}
