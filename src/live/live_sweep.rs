//! What a host drives: set points out, readings in, running figures out.

use super::bracket::{self, Step};
use super::error::LiveError;
use super::host_axes::HostAxes;
use super::information::{Way, best, widest_gap};
use super::options::{LiveOptions, Order};
use super::reach::Reach;
use super::readings::{Flag, Readings};
use super::running_figures::relative_u;
use super::running_fit::RunningFit;
#[cfg(feature = "serde")]
use super::serialization::Stored;
use super::stop::StopReason;
use crate::diode::thermal_voltage_v;
use crate::numerics::cancel;
use crate::quantity::estimate::Amount;
use crate::quantity::format::quantity;
use crate::quantity::key_points::KeyPoint;
use crate::sweep::{Noise, SweepOptions, Swept, is_reading};
use std::fmt;

/// Readings in a row without a number, or off their set point, after which a sweep stops.
const MOST_FAULTS: usize = 8;
/// Readings in a row outside the limits after which a sweep stops: each halves the set current.
const MOST_BEYOND: usize = 16;
/// Share of the way to a set point in the bracket that a reading has to go.
const GOES: f64 = 0.25;
/// Share of the range of set points, and of the set point, that a reading of it may be off; and of the range of what is read
/// that the compliance of a source may be off its limit.
const FOLLOWS: f64 = 0.01;
/// Standard deviations off the running curve at which a reading is wild, and within which a second one confirms it.
const WILD: f64 = 6.0;
const CONFIRMS: f64 = 5.0;
/// Readings less parameters from which the target may count as reached: with stated noise, and with noise from the scatter.
const SURPLUS: (f64, f64) = (3.0, 6.0);
/// From so many readings on, an Isc or a Voc whose relative ± exceeds that of [`HARDLY_SHOWN`] counts as no signal.
const SHOWN: usize = 16;
/// Relative ± above which an Isc or a Voc is not told from 0.
const HARDLY_SHOWN: f64 = 0.3;
/// Times what a reading may deceive by, where the noise is stated, above which one alone shows power.
const CLEARLY: f64 = 3.0;
/// Share of the wanted ± below which scatter no longer matters beside what is common to all readings.
const LITTLE: f64 = 0.3;

/// Why a set point is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Purpose {
    /// The curve is being bracketed.
    Bracket,
    /// It tells most of the target.
    Information,
    /// It is in the widest gap of a curve that one diode does not describe.
    Gap,
    /// It repeats a wild reading.
    Confirmation,
}

impl Purpose {
    /// The word of the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bracket => "bracket",
            Self::Information => "information",
            Self::Gap => "gap",
            Self::Confirmation => "confirmation",
        }
    }
}

/// What to set next, how long to wait, and why.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct SetPoint {
    /// Voltage in V or current in A, in the host's sign, by what is swept.
    pub value: f64,
    /// How long to wait before the reading, in s.
    pub dwell_s: f64,
    /// Why it is asked for.
    pub purpose: Purpose,
}

/// A sweep while it is measured.
///
/// # Examples
/// ```
/// use litdiode::diode::{Circuit, Junction};
/// use litdiode::live::{LiveOptions, LiveSweep};
/// use litdiode::sweep::{Noise, SweepOptions};
/// // An invented cell in place of the instrument.
/// let cell = Circuit::<1>::new(0.03, [1e-9], [0.035], 0.4, 1e-3);
/// let stated = SweepOptions::default().noise(Noise::default().current_a(1e-4));
/// let mut live = LiveSweep::new(LiveOptions::within((-0.1, 0.9), (-0.1, 0.1)).sweep(stated))?;
/// while let Some(next) = live.next_set_point() {
///     live.push(next.value, cell.current_at(next.value))?;
/// }
/// assert!(live.reason().is_some_and(|reason| reason.is_reached()));
/// let ff = live.key_points().ff.unwrap();
/// assert!(ff.relative_u().unwrap() <= 0.01);
/// # Ok::<(), litdiode::live::LiveError>(())
/// ```
pub struct LiveSweep {
    pub(super) options: LiveOptions,
    pub(super) axes: HostAxes,
    reach: Reach,
    pub(super) readings: Readings,
    pub(super) fit: RunningFit,
    /// Room for the order of readings.
    order: Vec<usize>,
    /// What was asked for and is not read yet, in generator sign.
    asked: Option<(f64, Purpose)>,
    last: Option<(f64, Purpose)>,
    bracketed: bool,
    /// The wild reading that is to be repeated.
    doubted: Option<usize>,
    upwards: bool,
    no_numbers: usize,
    not_followed: usize,
    /// Readings in a row outside the limits.
    beyond: usize,
    stale: bool,
    stop: Option<StopReason>,
}

impl LiveSweep {
    /// Makes all room that it will need.
    ///
    /// # Errors
    /// [`LiveError`] for an option outside its domain.
    pub fn new(options: LiveOptions) -> Result<Self, LiveError> {
        options.validate()?;
        let SweepOptions { swept, noise, cells, temperature_c, .. } = options.sweep;
        let axes = HostAxes::of(&options.sweep);
        let limits = axes.limits(&options);
        let steepest_v = thermal_voltage_v(1.0, cells, temperature_c);
        let reach = Reach::new(swept, limits, steepest_v, noise.as_ref().and_then(|n| sigma(n, swept)));
        let capacity = options.capacity;
        Ok(Self {
            axes,
            reach: reach.knowing(axes.turned_set_point(options.safe, swept)),
            readings: Readings::with_capacity(capacity),
            fit: RunningFit::with_capacity(capacity, swept, noise, steepest_v),
            order: Vec::with_capacity(capacity),
            asked: None,
            last: None,
            bracketed: false,
            doubted: None,
            upwards: true,
            no_numbers: 0,
            not_followed: 0,
            beyond: 0,
            stale: false,
            stop: None,
            options,
        })
    }

    /// Takes a reading in V and A, in the host's sign; what is odd about it.
    ///
    /// # Errors
    /// [`LiveError::NotFinite`] and [`LiveError::Full`]; the sweep stays as it was, and its next set point is the same.
    pub fn push(&mut self, voltage_v: f64, current_a: f64) -> Result<Option<Flag>, LiveError> {
        self.take(voltage_v, current_a, None)
    }

    /// The same with the time of the reading in s, by the host's clock.
    ///
    /// # Errors
    /// [`LiveError::Time`] as well, for a time before that of the reading before.
    pub fn push_at(
        &mut self,
        voltage_v: f64,
        current_a: f64,
        time_s: f64,
    ) -> Result<Option<Flag>, LiveError> {
        self.take(voltage_v, current_a, Some(time_s))
    }

    fn take(&mut self, v: f64, a: f64, time_s: Option<f64>) -> Result<Option<Flag>, LiveError> {
        let index = self.readings.len();
        if self.readings.is_full() {
            return Err(LiveError::Full { capacity: self.options.capacity });
        }
        for (name, value) in [("voltage_v", v), ("current_a", a), ("time_s", time_s.unwrap_or(0.0))] {
            if !is_reading(value) {
                self.no_numbers += 1;
                return Err(LiveError::NotFinite { name, index, value });
            }
        }
        let before = self.readings.time_s.last().copied().filter(|t| !t.is_nan());
        if let (Some(value), Some(before)) = (time_s, before)
            && value < before
        {
            return Err(LiveError::Time { index, value, before });
        }
        self.no_numbers = 0;
        let (v, a) = self.axes.turned(v, a);
        let asked = self.asked.take();
        let flag = self.judge(v, a, asked);
        self.readings.push(v, a, time_s, flag);
        self.last = asked.or(self.last);
        self.stale = true;
        Ok(flag)
    }

    /// What is odd about a reading; moves the walls.
    fn judge(&mut self, v: f64, a: f64, asked: Option<(f64, Purpose)>) -> Option<Flag> {
        let read = if self.swept() == Swept::Voltage { v } else { a };
        if !self.within_limits(v, a) {
            self.beyond += 1;
            let (set, off) = (asked.map_or(read, |a| a.0), self.reach.deceit());
            let nearer = match self.swept() {
                Swept::Voltage => (v, a - off.copysign(a)),
                Swept::Current => (v - off.copysign(v), a),
            };
            // So close to a limit is where the device is, rather than a lost reading.
            if self.within_limits(nearer.0, nearer.1) {
                self.reach.wall_off(set);
            } else {
                self.reach.doubt(set);
            }
            return Some(Flag::BeyondLimits);
        }
        let set = asked.map_or(read, |asked| asked.0);
        if self.at_limit(set, v, a) {
            self.beyond += 1;
            self.reach.doubt(set);
            return Some(Flag::BeyondLimits);
        }
        let missed = asked.filter(|(set, _)| !self.follows(*set, read));
        let missing = missed.is_some() || asked.is_some_and(|asked| self.stands(asked, read));
        self.beyond = 0;
        self.not_followed = if missing { self.not_followed + 1 } else { 0 };
        if let Some((set, _)) = missed {
            self.reach.doubt(set);
            return Some(Flag::NotFollowed { set: self.amount(set), read: self.amount(read) });
        }
        if let Some(flag) = self.wild(v, a, asked) {
            return Some(flag);
        }
        self.reach.extend(v, a);
        None
    }

    /// Whether a reading lies off the curve; a second one there confirms a first.
    fn wild(&mut self, v: f64, a: f64, asked: Option<(f64, Purpose)>) -> Option<Flag> {
        let repeated = asked.is_some_and(|asked| asked.1 == Purpose::Confirmation);
        let doubted = if repeated { self.doubted.take() } else { None };
        if let Some(k) = doubted {
            let (noise, scale) = self.fit.noise();
            let apart = match self.swept() {
                Swept::Voltage => (a - self.readings.current_a[k]) / noise.sigma_current(a),
                Swept::Current => (v - self.readings.voltage_v[k]) / noise.sigma_voltage(v),
            };
            if apart.abs() <= CONFIRMS * scale {
                self.readings.flags[k] = None;
                self.reach.extend(self.readings.voltage_v[k], self.readings.current_a[k]);
                return None;
            }
        }
        let deviations = self.fit.deviations(v, a)?;
        if deviations <= WILD {
            return None;
        }
        // One that was asked for again and is elsewhere once more is not asked for a third time.
        if doubted.is_none() {
            self.doubted = Some(self.readings.len());
        }
        Some(Flag::Wild { deviations })
    }

    fn within_limits(&self, v: f64, a: f64) -> bool {
        let limits = self.reach.limits();
        let (low, high) = limits.of_set_points(self.swept());
        // The axis that is set was set within its limits, and is read with an error of its own.
        let slack = FOLLOWS * (high - low);
        let (v, a) = match self.swept() {
            Swept::Voltage if v >= low - slack && v <= high + slack => (v.clamp(low, high), a),
            Swept::Current if a >= low - slack && a <= high + slack => (v, a.clamp(low, high)),
            _ => (v, a),
        };
        limits.hold(v, a)
    }

    /// Whether what is read where `set` was set may be the source's compliance at a limit rather than the device. At a set
    /// current of 0 no compliance acts.
    fn at_limit(&self, set: f64, v: f64, a: f64) -> bool {
        let limits = self.reach.limits();
        let (read, (low, high)) = match self.swept() {
            Swept::Voltage => (a, limits.current_a),
            Swept::Current if set == 0.0 => return false,
            Swept::Current => (v, limits.voltage_v),
        };
        let margin = self.reach.deceit() + FOLLOWS * (high - low);
        read < low + margin || read > high - margin
    }

    fn follows(&self, set: f64, read: f64) -> bool {
        let (low, high) = self.reach.limits().of_set_points(self.swept());
        let sigma = self.options.sweep.noise.map_or(0.0, |noise| match self.swept() {
            Swept::Voltage => noise.sigma_voltage(set),
            Swept::Current => noise.sigma_current(set),
        });
        (read - set).abs() <= FOLLOWS * ((high - low) + set.abs()) + WILD * sigma
    }

    /// Whether a bracket that was to go on upwards stands where it was.
    fn stands(&self, (set, purpose): (f64, Purpose), read: f64) -> bool {
        let Some((_, high)) = self.reach.ends() else { return false };
        purpose == Purpose::Bracket && set > high.set && read - high.set < GOES * (set - high.set)
    }

    fn swept(&self) -> Swept {
        self.options.sweep.swept
    }

    fn amount(&self, value: f64) -> Amount {
        let value = self.axes.turned_set_point(value, self.swept());
        if self.swept() == Swept::Voltage { Amount::volts(value) } else { Amount::amperes(value) }
    }

    /// The next set point; `None` where there is none, and [`LiveSweep::reason`] says why. The same again until a reading
    /// was taken.
    pub fn next_set_point(&mut self) -> Option<SetPoint> {
        if matches!(self.stop, Some(StopReason::Cancelled)) {
            self.stop = None;
        }
        if self.stop.is_none() && (self.asked.is_none() || self.no_numbers >= MOST_FAULTS) {
            match self.decide() {
                Ok(asked) => self.asked = Some(asked),
                Err(reason) => self.stop = Some(reason),
            }
        }
        if self.stop.is_some() {
            return None;
        }
        let (set, purpose) = self.asked?;
        let value = self.axes.turned_set_point(set, self.swept());
        Some(SetPoint { value, dwell_s: self.options.dwell_s, purpose })
    }

    fn decide(&mut self) -> Result<(f64, Purpose), StopReason> {
        self.used_up()?;
        if let Some(again) = self.confirmation() {
            return Ok(again);
        }
        if !self.bracketed {
            match bracket::step(&self.reach, self.swept(), self.options.target, self.readings.len()) {
                Step::Ask(set) => {
                    let on_the_way = self.on_the_way();
                    return Ok(self.confirmation().or(on_the_way).unwrap_or((set, Purpose::Bracket)));
                }
                Step::Stop(reason) => return Err(reason),
                Step::Limit { figure, set } => {
                    let (at, walled_off) = (self.amount(set), self.reach.is_walled_off());
                    return Err(StopReason::LimitReached { figure, at, walled_off });
                }
                Step::Done => self.bracketed = true,
            }
        }
        self.update();
        if let Some(again) = self.confirmation() {
            return Ok(again);
        }
        if self.known().is_err() {
            // What an unfinished fit says does not end a sweep.
            self.fit.settle();
            self.known()?;
        }
        Ok(self.most_telling())
    }

    /// Where the reading in doubt was set.
    fn confirmation(&self) -> Option<(f64, Purpose)> {
        let k = self.doubted?;
        let last = self.last.filter(|_| k + 1 == self.len());
        let set = last.map_or(self.readings.set(self.swept())[k], |last| last.0);
        Some((self.reach.held(set), Purpose::Confirmation))
    }

    /// Beyond the knee, before the end of the bracket: the most telling set point so far, until the target is known.
    fn on_the_way(&mut self) -> Option<(f64, Purpose)> {
        if !self.reach.bends() {
            return None;
        }
        self.update();
        let known = relative_u(&self.fit, self.options.target)?.whole() <= self.options.wanted;
        Some(self.most_telling()).filter(|_| !known && self.fit.suits())
    }

    /// Whether readings, time, instrument or the work of this thread are at an end.
    fn used_up(&self) -> Result<(), StopReason> {
        let (figure, wanted, points) = (self.options.target, self.options.wanted, self.readings.len());
        let relative_u = || relative_u(&self.fit, figure).map(|r| r.whole());
        if cancel::requested_now() {
            return Err(StopReason::Cancelled);
        }
        if self.no_numbers >= MOST_FAULTS {
            return Err(StopReason::NoNumbers { times: self.no_numbers });
        }
        if self.beyond >= MOST_BEYOND {
            return Err(StopReason::BeyondLimits { times: self.beyond });
        }
        if self.not_followed >= MOST_FAULTS {
            let set = self.last.map_or(0.0, |last| last.0);
            let read = self.readings.set(self.swept()).last().copied().unwrap_or(0.0);
            let (set, read, times) = (self.amount(set), self.amount(read), self.not_followed);
            return Err(StopReason::NotFollowed { set, read, times });
        }
        if self.readings.is_full() {
            let (relative_u, suits) = (relative_u(), self.fit.suits());
            return Err(StopReason::PointsUsedUp { points, figure, relative_u, wanted, suits });
        }
        match (self.options.time_limit_s, self.readings.elapsed_s()) {
            (Some(limit_s), Some(time_s)) if time_s + self.options.dwell_s > limit_s => {
                Err(StopReason::TimeUsedUp { time_s, limit_s, figure, relative_u: relative_u(), wanted })
            }
            _ => Ok(()),
        }
    }

    /// Whether the target is known, or will not be.
    fn known(&self) -> Result<(), StopReason> {
        let (figure, wanted, points) = (self.options.target, self.options.wanted, self.readings.len());
        let fewest = if self.fit.noise_is_stated() { SURPLUS.0 } else { SURPLUS.1 };
        let Some(relative) = relative_u(&self.fit, figure) else { return Ok(()) };
        if self.fit.surplus() >= fewest && self.fit.suits() {
            if relative.whole() <= wanted {
                return Err(StopReason::Reached { figure, relative_u: relative.whole(), wanted, points });
            }
            let (common, scatter) = (relative.common, relative.student * relative.scatter);
            if common >= wanted && scatter <= LITTLE * common {
                return Err(StopReason::CommonToAll { figure, common, wanted });
            }
        }
        let first = if self.swept() == Swept::Voltage { KeyPoint::Isc } else { KeyPoint::Voc };
        let shown = self.fit.noise_is_stated() && self.reach.largest_read() > CLEARLY * self.reach.deceit();
        if !shown && points >= SHOWN && relative_u(&self.fit, first).is_none_or(|u| u.scatter > HARDLY_SHOWN)
        {
            return Err(StopReason::NoPower { points });
        }
        Ok(())
    }

    fn most_telling(&mut self) -> (f64, Purpose) {
        let way = (self.options.order == Order::UpAndDown)
            .then(|| Way { from: self.last.map_or(0.0, |last| last.0), upwards: self.upwards });
        let swept = self.swept();
        if self.fit.suits()
            && let Some(best) = best(&self.fit, &self.reach, swept, self.options.target, way)
        {
            self.upwards ^= best.turned;
            return (best.set, Purpose::Information);
        }
        let gap = widest_gap(&self.readings, swept, &mut self.order);
        (self.reach.held(gap.unwrap_or(0.0)), Purpose::Gap)
    }

    /// The same to its end, however long that takes.
    pub(super) fn settle(&mut self) {
        self.update();
        self.fit.settle();
    }

    /// The running fit follows the readings.
    pub(super) fn update(&mut self) {
        if std::mem::take(&mut self.stale) {
            self.fit.update(&self.readings);
            self.leave_out();
        }
    }

    /// Flags the one reading that contradicts all others.
    fn leave_out(&mut self) {
        let Some((k, deviations)) = self.fit.contradiction(&self.readings) else { return };
        self.readings.flags[k] = Some(Flag::Wild { deviations });
        self.doubted = Some(k);
        self.reach.forget_readings();
        for k in (0..self.readings.len()).filter(|&k| self.readings.is_fitted(k)) {
            self.reach.extend(self.readings.voltage_v[k], self.readings.current_a[k]);
        }
        self.fit.update(&self.readings);
    }

    /// Why there is no next set point; `None` while there is one.
    pub fn reason(&self) -> Option<&StopReason> {
        self.stop.as_ref()
    }

    /// Number of readings taken.
    pub fn len(&self) -> usize {
        self.readings.len()
    }

    /// Whether none was taken.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Voltages in V, generator sign, in the order of measurement.
    pub fn voltage_v(&self) -> &[f64] {
        &self.readings.voltage_v
    }

    /// Currents in A, generator sign, in the order of measurement.
    pub fn current_a(&self) -> &[f64] {
        &self.readings.current_a
    }

    /// What is odd about each reading.
    pub fn flags(&self) -> &[Option<Flag>] {
        &self.readings.flags
    }

    /// What was fixed at the start.
    pub fn options(&self) -> &LiveOptions {
        &self.options
    }

    #[cfg(feature = "serde")]
    pub(super) fn stored(&self) -> Stored {
        Stored {
            options: self.options.clone(),
            voltage_v: self.readings.voltage_v.clone(),
            current_a: self.readings.current_a.clone(),
            time_s: self.readings.time_s.clone(),
            flags: self.readings.flags.clone(),
            walls: self.reach.walls(),
            walled_off: self.reach.is_walled_off(),
            doubts: self.reach.doubts(),
            asked: self.asked,
            last: self.last,
            bracketed: self.bracketed,
            doubted: self.doubted,
            upwards: self.upwards,
            no_numbers: self.no_numbers,
            not_followed: self.not_followed,
            beyond: self.beyond,
            stop: self.stop.clone(),
        }
    }

    /// What is asked for, in generator sign, where it lies beyond the walls.
    #[cfg(feature = "serde")]
    pub(super) fn asked_beyond(&self) -> Option<f64> {
        let (low, high) = self.reach.walls();
        self.asked.map(|asked| asked.0).filter(|set| !(low..=high).contains(set))
    }

    #[cfg(feature = "serde")]
    pub(super) fn restored(stored: Stored) -> Result<Self, LiveError> {
        let mut live = Self::new(stored.options)?;
        for k in 0..stored.voltage_v.len() {
            let (v, a, flag) = (stored.voltage_v[k], stored.current_a[k], stored.flags[k]);
            live.readings.push(v, a, Some(stored.time_s[k]), flag);
            if flag.is_none() {
                live.reach.extend(v, a);
            }
        }
        live.reach.set_walls(stored.walls, stored.walled_off);
        live.reach.set_doubts(stored.doubts);
        live.beyond = stored.beyond;
        live.stale = !live.is_empty();
        (live.asked, live.last) = (stored.asked, stored.last);
        (live.bracketed, live.doubted, live.upwards) = (stored.bracketed, stored.doubted, stored.upwards);
        (live.no_numbers, live.not_followed, live.stop) =
            (stored.no_numbers, stored.not_followed, stored.stop);
        Ok(live)
    }
}

/// Standard deviation of what is read about 0, where it is stated.
fn sigma(noise: &Noise, swept: Swept) -> Option<f64> {
    let sigma = match swept {
        Swept::Voltage => noise.sigma_current(0.0),
        Swept::Current => noise.sigma_voltage(0.0),
    };
    (sigma > 0.0).then_some(sigma)
}

impl fmt::Display for Purpose {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.name())
    }
}

/// Its value in V or A as the sweep is stepped, the wait, and why it is asked for.
impl fmt::Display for SetPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (value, wait) = (quantity(self.value, ""), quantity(self.dwell_s, "s"));
        write!(f, "{value} after {wait}: {}", self.purpose)
    }
}
