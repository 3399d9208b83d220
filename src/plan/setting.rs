//! What a plan is made in: the devices, the noise, what may be set, and the readings that would be taken there.
//!
//! | set | from | to |
//! |---|---|---|
//! | voltage | −0.05·Voc | 1.05·Voc, and Voc of every device that the expected one may be instead |
//! | current | 0 | the current at −0.05·Voc: beyond, the expected device is reverse-biased |
//!
//! A limit of the quantity that is set takes the place of that end. Limits hold at every device that was given. What those
//! that it may be instead would show beyond −Voc counts as no reading.
//!
//! Whatever the limits, no set point goes further than every lit device that was given stands:
//!
//! ```text
//! V ≥ −0.5·Voc and I ≥ −3·Isc of each        V ≤ (1 + max(0.1, spread))·Voc of the largest
//! ```

use super::error::PlanError;
use super::expected::Devices;
use super::information::{Reading, figure_by_theta, without_readings};
use super::options::{Limits, Method, PlanOptions};
use crate::diode::{Circuit, Device, Junction, thermal_voltage_v};
use crate::fit::{Figure, names};
use crate::numerics::cancel;
use crate::numerics::optimal_design::{Rows, Scene, Task};
use crate::sweep::{Noise, Swept};

/// Where a sweep begins and ends unless told, in Voc.
const ENDS: (f64, f64) = (-0.05, 1.05);
/// What to pass where no plan determines the target of the model.
pub(super) const WIDER: &str = "give wider limits, more points, or name parameters to hold in fix";
/// Reverse bias that a device stands, in its Voc.
const REVERSE: f64 = -0.5;
/// Current into a device that it stands, in its Isc.
const INTO: f64 = -3.0;
/// How far above the largest Voc voltages go at least, as a share of it.
const BEYOND: f64 = 0.1;
/// u of a parameter above which it counts as open, in units of itself.
const OPEN_PARAMETER: f64 = 10.0;
/// Candidates in equal steps of each axis.
const CANDIDATES: usize = 121;
/// κ, the weight of the term that keeps all parameters determined: it costs 2 to 6 % of u(FF), and at most 9 % of another target
/// (docs/planning.md).
const DETERMINED: f64 = 0.2;

/// What a plan is made in. N = 2K + 3.
pub(super) struct Setting<const K: usize, const N: usize> {
    /// The devices that were given.
    given: Vec<Device<K>>,
    /// What they may be instead.
    variations: Vec<Device<K>>,
    pub noise: Noise,
    pub swept: Swept,
    limits: Limits,
    pub step: f64,
    /// Parameters that the fit will hold, in the order of θ.
    pub held: [bool; N],
    pub target: Figure,
    /// From where to where the plan may go.
    range: (f64, f64),
    /// By what share the device may be off.
    spread: f64,
    /// Whether a limit reaches further than the devices stand.
    pub narrowed: bool,
    /// Whether devices of a higher Isc are left out.
    pub one_sided: bool,
    /// What may be set, in equal steps of both axes, or the multiples of the step of the source nearest to them.
    pub candidates: Candidates<N>,
}

/// Set points that are allowed, rising and each once.
pub(super) struct Candidates<const N: usize> {
    pub set: Vec<f64>,
    /// Their rows at every device.
    pub rows: Vec<Rows<N>>,
}

impl<const K: usize, const N: usize> Setting<K, N> {
    pub fn new(
        devices: &Devices<K>,
        noise: Option<Noise>,
        alone: bool,
        options: &PlanOptions,
    ) -> Result<Self, PlanError> {
        let noise = noise.ok_or(PlanError::NoNoise)?;
        noise.validate()?;
        if !noise.states_voltage() && !noise.states_current() {
            return Err(PlanError::NoNoise);
        }
        let spread = options.allowance(alone);
        let held = held(K, options)?;
        let mut setting = Self {
            given: devices.given.clone(),
            variations: devices.variations(options.set_quantity(), spread),
            noise,
            swept: options.set_quantity(),
            limits: options.limits,
            step: options.step,
            held,
            target: options.target,
            range: (0.0, 0.0),
            spread,
            narrowed: false,
            one_sided: false,
            candidates: Candidates { set: Vec::new(), rows: Vec::new() },
        };
        setting
            .variations
            .retain(|d| !d.circuit().is_dark() && figure_of(d, options.target, &held).is_some());
        for (index, device) in setting.given.iter().enumerate() {
            if cancel::requested_now() {
                return Err(PlanError::Stopped);
            }
            if figure_of(device, options.target, &held).is_none_or(|(_, by)| by.iter().all(|d| *d == 0.0)) {
                return Err(PlanError::NoTarget { index, target: options.target.name() });
            }
        }
        let asked = setting.range_of(&setting.given, &setting.variations)?;
        let (low, high) = setting.safe_range();
        setting.range = (asked.0.max(low), asked.1.min(high));
        if options.method == Method::Local && setting.swept == Swept::Current {
            setting.leave_out_unreached();
        }
        let limit = setting.limits.of_set_points(setting.swept);
        setting.narrowed = (limit.0.is_finite() && limit.0 < low) || (limit.1.is_finite() && limit.1 > high);
        setting.candidates = setting.steps_of_both_axes();
        if cancel::requested_now() { Err(PlanError::Stopped) } else { Ok(setting) }
    }

    /// Leaves out those whose Isc lies beyond what may be set: nothing is read there, and nothing is extrapolated without a
    /// model.
    fn leave_out_unreached(&mut self) {
        let (before, most) = (self.variations.len(), self.range.1);
        self.variations.retain(|d| d.circuit().isc() <= most);
        self.one_sided = self.variations.len() < before;
    }

    /// The voltage in V that no set point exceeds.
    fn highest_voltage(&self) -> f64 {
        let voc = self.given.iter().map(|d| d.circuit().voc()).fold(0.0, f64::max);
        (1.0 + BEYOND.max(self.spread)) * voc
    }

    /// From where to where set points may go at every lit device that was given.
    fn safe_range(&self) -> (f64, f64) {
        let most = self.highest_voltage();
        let mut range = (f64::NEG_INFINITY, f64::INFINITY);
        for device in self.given.iter().filter(|d| !d.circuit().is_dark()) {
            let own = self.safe_range_of(device, most);
            range = (range.0.max(own.0), range.1.min(own.1));
        }
        range
    }

    /// From where to where set points may go at a lit device, voltages no higher than `most`.
    fn safe_range_of(&self, device: &Device<K>, most: f64) -> (f64, f64) {
        let circuit = device.circuit();
        let (reverse, into) = (REVERSE * circuit.voc(), INTO * circuit.isc());
        let highest = circuit.voltage_at(into).min(most);
        match self.swept {
            Swept::Voltage => (reverse, highest),
            Swept::Current => (circuit.current_at(highest), circuit.current_at(reverse)),
        }
    }

    /// Where one of the other devices would be driven further than it withstands if the sweep of the device `index` went to its
    /// own end: its number, voltage in V and current in A.
    pub fn overdriven_device(&self, index: usize) -> Option<(usize, f64, f64)> {
        let own = self.range_of(self.given.get(index..=index)?, &[]).ok()?;
        let most = self.highest_voltage();
        let beyond = |(other, device): (usize, &Device<K>)| {
            if other == index || device.circuit().is_dark() {
                return None;
            }
            let limit = match self.swept {
                Swept::Voltage => self.safe_range_of(device, most).1,
                // The plan ends where the device is driven backwards.
                Swept::Current => device.circuit().current_at(ENDS.0 * device.circuit().voc()),
            };
            if own.1 <= limit {
                return None;
            }
            let (v, i) = match self.swept {
                Swept::Voltage => (own.1, device.circuit().current_at(own.1)),
                Swept::Current => (device.circuit().voltage_at(own.1), own.1),
            };
            Some((other, v, i))
        };
        self.given.iter().enumerate().find_map(beyond)
    }

    /// Voltage in V and current in A of the first device at both ends of what may be set.
    pub fn ends(&self) -> [(f64, f64); 2] {
        [self.range.0, self.range.1].map(|x| match self.swept {
            Swept::Voltage => (x, self.other_axis(x)),
            Swept::Current => (self.other_axis(x), x),
        })
    }

    /// The first of the devices that were given.
    pub fn first(&self) -> &Device<K> {
        &self.given[0]
    }

    /// The devices that were given.
    pub fn given(&self) -> &[Device<K>] {
        &self.given
    }

    /// Why no plan serves the device `index`.
    pub fn not_determined_error(&self, index: usize, cure: &'static str) -> PlanError {
        let target = self.target.name();
        match self.overdriven_device(index) {
            Some((other, voltage_v, current_a)) => {
                PlanError::Apart { target, index, other, voltage_v, current_a }
            }
            None => PlanError::NotDetermined { target, index, cure },
        }
    }

    /// Devices of the setting: the given ones, then what they may be instead.
    pub fn scenes(&self) -> impl Iterator<Item = &Device<K>> {
        self.given.iter().chain(&self.variations)
    }

    /// Number of free parameters.
    pub fn free(&self) -> usize {
        self.held.iter().filter(|held| !**held).count()
    }

    /// The ends of what may be set, before the limits of the other axis.
    fn range_of(&self, given: &[Device<K>], variations: &[Device<K>]) -> Result<(f64, f64), PlanError> {
        let (low, high) = self.limits.of_set_points(self.swept);
        if low.is_finite() && high.is_finite() {
            return Ok((low, high));
        }
        if let Some(index) = given.iter().position(|d| d.circuit().is_dark()) {
            return Err(PlanError::NoRange { index });
        }
        let largest = |list: &[Device<K>], f: &dyn Fn(&Circuit<K>) -> f64| {
            list.iter().map(|d| f(d.circuit())).fold(f64::NEG_INFINITY, f64::max)
        };
        let own = match self.swept {
            Swept::Voltage => {
                let voc = largest(given, &|c| c.voc());
                (ENDS.0 * voc, (ENDS.1 * voc).max(largest(variations, &|c| c.voc())))
            }
            // The least of them: a higher one drives the others backwards.
            Swept::Current => (0.0, -largest(given, &|c| -c.current_at(ENDS.0 * c.voc()))),
        };
        let end = |limit: f64, own: f64| if limit.is_finite() { limit } else { own };
        Ok((end(low, own.0), end(high, own.1)))
    }

    /// What the device would show at the set point `x`.
    pub fn reading(&self, device: &Device<K>, x: f64) -> Option<Reading<N>> {
        Reading::at_set_point(device.circuit(), self.swept, x, &self.noise).map(|r| r.holding(&self.held))
    }

    /// The rows of the set point `x` at every device; `None` where a given one does not allow it.
    pub fn rows(&self, x: f64) -> Option<Rows<N>> {
        if x < self.range.0 || x > self.range.1 {
            return None;
        }
        let mut rows = Rows::with_capacity(self.given.len() + self.variations.len());
        for device in &self.given {
            let reading = self.reading(device, x)?;
            if !self.limits.hold(reading.voltage_v, reading.current_a) {
                return None;
            }
            rows.push(reading.by_theta);
        }
        for device in &self.variations {
            let shown = |r: &Reading<N>| r.voltage_v >= -device.circuit().voc();
            rows.push(self.reading(device, x).filter(shown).map_or([0.0; N], |r| r.by_theta));
        }
        Some(rows)
    }

    /// The candidates.
    fn steps_of_both_axes(&self) -> Candidates<N> {
        let (low, high) = self.range;
        let mut all = between(low, high, CANDIDATES);
        let other: Vec<f64> = [low, high].iter().map(|x| self.other_axis(*x)).collect();
        if other.iter().all(|x| x.is_finite()) {
            all.extend(between(other[0], other[1], CANDIDATES).into_iter().map(|y| self.set_for(y)));
        }
        self.as_set(all)
    }

    /// The set points among `all` that are allowed, as multiples of the step.
    pub fn as_set(&self, mut all: Vec<f64>) -> Candidates<N> {
        if self.step > 0.0 {
            all.iter_mut().for_each(|x| *x = (*x / self.step).round() * self.step);
        }
        all.sort_by(f64::total_cmp);
        all.dedup();
        let in_time = all.into_iter().take_while(|_| !cancel::requested_now());
        let (set, rows) = in_time.filter_map(|x| Some((x, self.rows(x)?))).unzip();
        Candidates { set, rows }
    }

    /// What the first device shows on the other axis.
    fn other_axis(&self, x: f64) -> f64 {
        match self.swept {
            Swept::Voltage => self.first().circuit().current_at(x),
            Swept::Current => self.first().circuit().voltage_at(x),
        }
    }

    /// The set point at which the first device shows `y` on the other axis.
    fn set_for(&self, y: f64) -> f64 {
        match self.swept {
            Swept::Voltage => self.first().circuit().voltage_at(y),
            Swept::Current => self.first().circuit().current_at(y),
        }
    }

    /// The first device alone, from where to where its sweep goes within the limits: the ends of the candidates, no further
    /// than the device itself asks.
    fn own_ends(&self) -> Option<(f64, f64)> {
        let own = self.range_of(&self.given[..1], &[]).ok()?;
        let (first, last) = (*self.candidates.set.first()?, *self.candidates.set.last()?);
        let (low, high) = (own.0.max(first), own.1.min(last));
        (low < high).then_some((low, high))
    }

    /// Equal steps of the voltage of the first device, as set points.
    pub fn in_equal_voltages(&self, points: usize) -> Option<Vec<f64>> {
        let (low, high) = self.own_ends()?;
        let set = match self.swept {
            Swept::Voltage => between(low, high, points),
            Swept::Current => {
                let (a, b) = (self.other_axis(high), self.other_axis(low));
                between(a, b, points).into_iter().map(|v| self.set_for(v).clamp(low, high)).collect()
            }
        };
        set.iter().all(|x| x.is_finite()).then_some(set)
    }

    /// Equal steps of its current, not below 0 unless a limit of the current says so.
    pub fn in_equal_currents(&self, points: usize) -> Option<Vec<f64>> {
        let (low, high) = self.own_ends()?;
        let set = match self.swept {
            Swept::Current => between(low, high, points),
            Swept::Voltage => {
                let (most, least) = (self.other_axis(low), self.other_axis(high));
                let least = if self.limits.current_a.0.is_finite() { least } else { least.max(0.0) };
                between(least, most, points).into_iter().map(|i| self.set_for(i).clamp(low, high)).collect()
            }
        };
        set.iter().all(|x| x.is_finite()).then_some(set)
    }

    /// The design problem over all scenes; `vague` is the information on each coordinate before the first reading, as a
    /// share of that of all candidates.
    pub fn task(&self, vague: f64) -> Task<N> {
        let of = |(s, device): (usize, &Device<K>)| {
            let mut base = without_readings(&self.held);
            for k in 0..N {
                let all = self.candidates.rows.iter().map(|row| row[s][k] * row[s][k]);
                base.add_to(k, vague * all.sum::<f64>());
            }
            figure_of(device, self.target, &self.held).map(|(_, c)| Scene { base, c })
        };
        let scenes = self.scenes().enumerate().filter_map(of).collect();
        Task { scenes, determined: DETERMINED / self.free() as f64 }
    }
}

/// A figure of a device and its derivatives by θ.
pub(super) fn figure_of<const K: usize, const N: usize>(
    device: &Device<K>,
    figure: Figure,
    held: &[bool; N],
) -> Option<(f64, [f64; N])> {
    let parameters = device.parameters();
    let a_per_n = thermal_voltage_v(1.0, parameters.cells, parameters.temperature_c);
    figure_by_theta(figure, device.circuit(), a_per_n, held)
}

fn held<const N: usize>(diodes: usize, options: &PlanOptions) -> Result<[bool; N], PlanError> {
    let known = names(diodes);
    let mut held = [false; N];
    for parameter in &options.fix {
        let place = known.iter().position(|p| p == parameter).ok_or_else(|| PlanError::UnknownName {
            name: parameter.name(),
            known: known.iter().map(|p| p.name()).collect::<Vec<_>>().join(", "),
        })?;
        held[place] = true;
    }
    if held.iter().all(|held| *held) { Err(PlanError::NothingFree) } else { Ok(held) }
}

/// Whether readings determine a figure: a key point to less than itself, a parameter to less than ten times itself.
pub(super) fn determined(figure: Figure, value: f64, u: f64) -> bool {
    match figure {
        Figure::KeyPoint(_) => u < value.abs(),
        Figure::Parameter(_) => value == 0.0 || u < OPEN_PARAMETER * value.abs(),
    }
}

/// `count` numbers in equal steps.
pub(super) fn between(low: f64, high: f64, count: usize) -> Vec<f64> {
    let last = (count.max(2) - 1) as f64;
    (0..count).map(|k| low * (1.0 - k as f64 / last) + high * (k as f64 / last)).collect()
}
