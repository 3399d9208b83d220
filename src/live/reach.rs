//! How far the next set point may go beyond what was measured, for the other limits to hold.
//!
//! The axis that is set is limited by itself; the current at a set voltage is bounded by the steepest junction there is, n = 1
//! without series resistance, on which what the junction takes up grows by
//!
//! ```text
//! I_d(V + ΔV) ≤ I_d(V)·exp(ΔV/a₁)      I_d = Imax − I      ΔV ≤ a₁·ln((Imax − I_floor)/I_d),  a₁ = cells·k·T/q
//! ```
//!
//! where I_floor is the lowest current that the limits of current and power allow. With a set current the photocurrent must
//! not be passed, beyond which the voltage has no bound but the shunt and the compliance of the source. The voltage has
//! fallen by D = Vmax − V, of which the junction has at most all:
//!
//! ```text
//! Iph ≥ I/(1 − exp(−D/a₁))
//! ```
//!
//! Both hold for one and for two diodes, and for readings that follow their set points. With n above 1 or series resistance the
//! second bound is far below the photocurrent. The set current is then raised by 15 % a step, which may pass the photocurrent:
//! there the compliance of the source must limit the voltage. Where a reading leaves the limits or does not
//! follow, the next set point goes half of the way back to the last good one. A second such reading walls the side off for
//! good: a set voltage does not go beyond the last good reading, a set current at most half of the way from there to the wall.
//! Good readings on three quarters of the way to the first end the doubt.

use super::readings::UNSTATED;
use crate::plan::Limits;
use crate::sweep::Swept;

/// Standard deviations by which a reading may deceive.
const DECEIVED: f64 = 2.5;
/// Share of the way to the bound that is gone.
const CAUTION: f64 = 0.95;
/// Share of the range of set currents that the first step takes.
const FIRST: f64 = 1.0 / 32.0;
/// Share of a set current by which it grows where the bound of the photocurrent allows less.
const GROWS: f64 = 0.15;
/// Reverse bias as a share of Voc, and forward current as a share of Isc, that set points go to at most.
const BEYOND: (f64, f64) = (0.05, 0.2);
/// Share of the way to a set point in doubt after which good readings end the doubt.
const REFUTED: f64 = 0.75;
/// Share of the largest reading at which the curve has begun to bend.
const KNEE: f64 = 0.9;
/// Share of the range of set points below which a step is none.
const NO_STEP: f64 = 1e-4;

/// A reading as set and read values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Point {
    pub set: f64,
    pub read: f64,
}

/// The ends of what was measured, and how far to go beyond.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Reach {
    swept: Swept,
    limits: Limits,
    /// a of one ideal junction a cell, in V.
    steepest_v: f64,
    /// Standard deviation of what is read, where it is stated.
    sigma: Option<f64>,
    /// No set point lies outside.
    walls: (f64, f64),
    /// Whether the upper wall lies below the limit.
    walled_off: bool,
    /// Below and above: the set point of one reading that was bad, and the last good one when it was taken.
    doubts: [Option<(f64, f64)>; 2],
    /// The good readings with the lowest and the highest set point.
    ends: Option<(Point, Point)>,
    largest_read: f64,
    /// A set point that is known to be safe.
    safe: f64,
    /// Sum and number of the readings before the last.
    before: (f64, f64),
    last_read: Option<f64>,
}

impl Reach {
    pub fn new(swept: Swept, limits: Limits, steepest_v: f64, sigma: Option<f64>) -> Self {
        let walls = limits.of_set_points(swept);
        Self {
            swept,
            limits,
            steepest_v,
            sigma,
            walls,
            walled_off: false,
            doubts: [None; 2],
            ends: None,
            largest_read: f64::NEG_INFINITY,
            safe: 0.0,
            before: (0.0, 0.0),
            last_read: None,
        }
    }

    /// A reading within the limits that followed its set point.
    pub fn extend(&mut self, voltage_v: f64, current_a: f64) {
        let (set, read) = match self.swept {
            Swept::Voltage => (voltage_v, current_a),
            Swept::Current => (current_a, voltage_v),
        };
        let point = Point { set, read };
        if let Some(last) = self.last_read.replace(read) {
            self.before = (self.before.0 + last, self.before.1 + 1.0);
        }
        self.largest_read = self.largest_read.max(read);
        let (low, high) = self.ends.unwrap_or((point, point));
        self.ends =
            Some((if set < low.set { point } else { low }, if set > high.set { point } else { high }));
        let refuted = |(bad, from): &(f64, f64)| (set - from) / (bad - from) >= REFUTED;
        self.doubts.iter_mut().for_each(|doubt| *doubt = doubt.filter(|d| !refuted(d)));
    }

    /// Forgets the readings, but neither walls nor doubts.
    pub fn forget_readings(&mut self) {
        (self.ends, self.last_read) = (None, None);
        (self.largest_read, self.before) = (f64::NEG_INFINITY, (0.0, 0.0));
    }

    /// A bad reading at `set`: the first on its side is doubted, the second walls the side off for good.
    pub fn doubt(&mut self, set: f64) {
        let Some((low, high)) = self.ends.map(|(low, high)| (low.set, high.set)) else { return };
        let (side, from) = if set > high { (1, high) } else { (0, low) };
        if set >= low && set <= high {
            return;
        }
        match self.doubts[side].take() {
            None if side == 0 || !self.walled_off => self.doubts[side] = Some((set, from)),
            None => self.wall_off(set),
            Some((first, _)) => self.wall_off(if side == 1 { first.min(set) } else { first.max(set) }),
        }
    }

    /// Walls off the side of `set` at the last good reading there; for good.
    pub fn wall_off(&mut self, set: f64) {
        let (low, high) = self.set_ends();
        if set > high {
            // A set current may come nearer to the photocurrent, by half of the way each time.
            let next = if self.swept == Swept::Voltage { high } else { set };
            self.walls.1 = self.walls.1.min(next.max(self.walls.0));
            self.walled_off = true;
        } else if set < low {
            self.walls.0 = self.walls.0.max(low.min(self.walls.1));
        }
    }

    /// Beyond which no set point lies.
    #[cfg(feature = "serde")]
    pub fn walls(&self) -> (f64, f64) {
        self.walls
    }

    /// Bad readings below and above that no second one confirmed.
    #[cfg(feature = "serde")]
    pub fn doubts(&self) -> [Option<(f64, f64)>; 2] {
        self.doubts
    }

    /// With doubts that were there before.
    #[cfg(feature = "serde")]
    pub fn set_doubts(&mut self, doubts: [Option<(f64, f64)>; 2]) {
        self.doubts = doubts;
    }

    /// With walls that were there before, within the limits.
    #[cfg(feature = "serde")]
    pub fn set_walls(&mut self, walls: (f64, f64), walled_off: bool) {
        let (low, high) = self.limits.of_set_points(self.swept);
        self.walls = (walls.0.clamp(low, high), walls.1.clamp(low, high));
        // A wall below the limit is one of readings; one at the limit may be either.
        self.walled_off = walled_off || self.walls.1 < high;
    }

    /// Limits in generator sign.
    pub fn limits(&self) -> &Limits {
        &self.limits
    }

    /// Whether bad readings set the upper wall.
    pub fn is_walled_off(&self) -> bool {
        self.walled_off
    }

    /// The good readings with the lowest and the highest set point.
    pub fn ends(&self) -> Option<(Point, Point)> {
        self.ends
    }

    /// Their set points; 0 before there is one.
    fn set_ends(&self) -> (f64, f64) {
        self.ends.map_or((0.0, 0.0), |(low, high)| (low.set, high.set))
    }

    /// Whether the last reading on the way up lies clearly below the largest.
    pub fn bends(&self) -> bool {
        self.ends.is_some_and(|(_, high)| high.read < KNEE * self.largest_read - self.deceit())
    }

    /// The largest good reading.
    pub fn largest_read(&self) -> f64 {
        self.largest_read
    }

    /// Adds a set point that is known to be safe.
    #[must_use]
    pub fn knowing(mut self, safe: f64) -> Self {
        self.safe = safe;
        self
    }

    /// What a reading may be off by, in its unit.
    pub fn deceit(&self) -> f64 {
        let (low, high) = match self.swept {
            Swept::Voltage => self.limits.current_a,
            Swept::Current => self.limits.voltage_v,
        };
        // Before anything is read, and on a dark device, a thousandth of the range stands for its noise.
        let unstated = UNSTATED * self.largest_read.max(0.1 * high.max(-low));
        DECEIVED * self.sigma.unwrap_or(unstated)
    }

    /// Within walls and limits.
    pub fn held(&self, set: f64) -> f64 {
        let (low, high) = self.set_ends();
        let half = |from: f64, to: f64| from + 0.5 * (to - from);
        let mut held = set.clamp(self.walls.0, self.walls.1);
        if self.walled_off && self.ends.is_some() && held > high {
            held = held.min(half(high, self.walls.1)).max(self.walls.0);
        }
        if let Some((bad, _)) = self.doubts[1].filter(|(bad, _)| *bad > high) {
            held = held.min(half(high, bad)).max(self.walls.0);
        }
        if let Some((bad, _)) = self.doubts[0].filter(|(bad, _)| *bad < low) {
            held = held.max(half(low, bad)).min(self.walls.1);
        }
        held
    }

    /// Whether a point of the curve may be set, by the limits of both axes and of power.
    pub fn allows(&self, voltage_v: f64, current_a: f64) -> bool {
        let margin = self.sigma.unwrap_or(0.0);
        let (dv, di) = if self.swept == Swept::Voltage { (0.0, margin) } else { (margin, 0.0) };
        self.limits.hold(voltage_v + dv, current_a + di) && self.limits.hold(voltage_v - dv, current_a - di)
    }

    /// The highest set point that may come next; `None` where there is no step to it.
    pub fn upwards(&self) -> Option<f64> {
        let (_, from) = self.ends?;
        let next = match self.swept {
            Swept::Voltage => from.set + self.voltage_step(from),
            Swept::Current => from.set + self.current_step(from),
        };
        let next = self.held(next.max(self.safe));
        (next - from.set > NO_STEP * (self.walls.1 - self.walls.0)).then_some(next)
    }

    /// The lowest set point that may come next.
    pub fn downwards(&self) -> f64 {
        let Some((low, high)) = self.ends else { return self.held(0.0) };
        let share = if self.swept == Swept::Voltage { BEYOND.0 } else { BEYOND.1 };
        self.held(low.set.min(-share * high.set))
    }

    /// ΔV of the steepest junction until the lowest current that is allowed.
    fn voltage_step(&self, from: Point) -> f64 {
        let most = self.largest_read + self.deceit();
        // Before the knee the mean of what was read on the way is less deceived than the largest.
        let flat = if self.before.1 > 0.0 && !self.bends() {
            self.before.0 / self.before.1
        } else {
            self.largest_read
        };
        let taken = (flat - from.read).max(0.0) + self.deceit();
        let floor = |v: f64| {
            let by_power = if v > 0.0 { -self.limits.power_w / v } else { f64::NEG_INFINITY };
            self.limits.current_a.0.max(by_power) + self.deceit()
        };
        let step = |v: f64| self.steepest_v * ((most - floor(v)) / taken).max(1.0).ln();
        // The power allows less current the higher the voltage: a second look from where the first leads.
        let first = CAUTION * step(from.set);
        let second = first.min(CAUTION * step(from.set + first));
        // Power delivered: the current does not rise with voltage.
        let delivered = (from.read + self.deceit()).max(0.0);
        let most_v = if delivered > 0.0 { self.limits.power_w / delivered } else { f64::INFINITY };
        second.min(most_v - from.set).max(0.0)
    }

    /// ΔI towards the photocurrent that the fall of the voltage allows.
    fn current_step(&self, from: Point) -> f64 {
        let first = FIRST * self.limits.current_a.1;
        if from.set <= 0.0 {
            return first - from.set;
        }
        let fall = (self.largest_read - from.read).max(0.0) + self.deceit();
        let lit = from.set / -(-fall / self.steepest_v).exp_m1();
        let highest_v = self.largest_read + self.deceit();
        let by_power = if highest_v > 0.0 { self.limits.power_w / highest_v } else { f64::INFINITY };
        let by_bound = (CAUTION * (lit - from.set)).min(from.set.max(first));
        // Series resistance and n above 1 make the bound close in long before the photocurrent.
        let step = by_bound.max(GROWS * from.set).min(by_power - from.set);
        let to_wall = self.walls.1 - from.set;
        if self.walled_off { step.min(0.5 * to_wall) } else { step }.max(0.0)
    }
}
