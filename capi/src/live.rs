//! A sweep while it is measured: set points out, readings in, running figures out.

use crate::choices::{KEY_POINT, ODDITY, ORDER, Oddity, PURPOSE};
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault};
use crate::objects::{Fitted, Live};
use crate::pointers::Out;
use crate::work::{ABSENT, duration, edit, give, optional, under};
use litdiode::code::Coded;
use litdiode::live::{Flag, LiveOptions, LiveSweep};
use litdiode::sweep::SweepOptions;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

fn get(live: u64) -> Result<Live, Fault> {
    handles::get("live", live)
}

/// Calls of other threads wait: a live sweep is one measurement.
fn locked(live: &Live) -> MutexGuard<'_, LiveSweep> {
    live.lock().unwrap_or_else(PoisonError::into_inner)
}

fn oddity(flag: Option<&Flag>) -> Oddity {
    match flag {
        None => Oddity::None,
        Some(Flag::Wild { .. }) => Oddity::Wild,
        Some(Flag::NotFollowed { .. }) => Oddity::NotFollowed,
        Some(Flag::BeyondLimits) => Oddity::BeyondLimits,
        Some(_) => Oddity::Other,
    }
}

interface! {
    /// Settings of a live sweep within voltages in V and currents in A that hold 0: FF to 1 % in at most 200 readings. What
    /// they hold is checked by `litdiode_live_new`. Keep the compliance of the source at the same limits.
    fn litdiode_live_settings_new(low_v: f64, high_v: f64, low_a: f64, high_a: f64, settings: Out<u64>) {
        give("settings", settings, || Ok(Arc::new(LiveOptions::within((low_v, high_v), (low_a, high_a)))))?;
        Ok(Answer::Done)
    }

    /// The key point that is to be known, and its relative standard uncertainty that is wanted.
    fn litdiode_live_settings_target(settings: u64, figure: i32, wanted: f64) {
        let target = KEY_POINT.of(figure)?;
        edit("settings", settings, |options: LiveOptions| options.target(target).wanted(wanted))
    }

    /// The most power in W, delivered or taken up, NaN for no limit, and a set point that is known to be safe: below Voc, or
    /// below Isc where the current is set; 0 where none is known.
    fn litdiode_live_settings_safety(settings: u64, limit_w: f64, safe: f64) {
        edit("settings", settings, |options: LiveOptions| options.limit_w(optional(limit_w)).safe(safe))
    }

    /// The most readings, the time in s that the sweep may take, NaN for no limit, and the time in s between setting and
    /// reading.
    fn litdiode_live_settings_time(settings: u64, capacity: usize, time_limit_s: f64, dwell_s: f64) {
        let limit = optional(time_limit_s);
        edit("settings", settings, |options: LiveOptions| {
            options.capacity(capacity).time_limit_s(limit).dwell_s(dwell_s)
        })
    }

    /// In which order set points are given.
    fn litdiode_live_settings_order(settings: u64, order: i32) {
        let order = ORDER.of(order)?;
        edit("settings", settings, |options: LiveOptions| options.order(order))
    }

    /// What the sweep is to carry: stepped quantity, sign, leads, noise, area, irradiance, corrections, label.
    fn litdiode_live_settings_sweep(settings: u64, sweep_settings: u64) {
        let sweep = handles::get::<Arc<SweepOptions>>("sweep_settings", sweep_settings)?;
        edit("settings", settings, |options: LiveOptions| options.sweep((*sweep).clone()))
    }

    /// A live sweep before its first reading.
    fn litdiode_live_new(settings: u64, live: Out<u64>) {
        give("live", live, || {
            let options = handles::get::<Arc<LiveOptions>>("settings", settings)?;
            Ok(Arc::new(Mutex::new(LiveSweep::new((*options).clone())?)))
        })?;
        Ok(Answer::Done)
    }

    /// The next set point in V or A, how many seconds to wait before the reading, and why it is asked for; `more` is 1. Where
    /// there is none `more` is 0, the numbers are NaN, and `litdiode_live_reason` says why. The same again until a reading was
    /// taken.
    fn litdiode_live_next(
        live: u64,
        cancel: u64,
        more: Out<i32>,
        set_point: Out<f64>,
        dwell_s: Out<f64>,
        purpose: Out<i32>,
    ) {
        let live = get(live)?;
        let next = under(cancel, || locked(&live).next_set_point())?;
        more.set("more", next.is_some().into())?;
        set_point.set("set_point", next.map_or(ABSENT, |n| n.value))?;
        dwell_s.set("dwell_s", next.map_or(ABSENT, |n| n.dwell_s))?;
        purpose.set("purpose", next.map_or(-1, |n| PURPOSE.number(n.purpose)))?;
        Ok(Answer::Done)
    }

    /// Takes a reading in V and A, both as they were read, with its time in s, NaN for none. `flag` is LITDIODE_FLAG_NONE or says what is odd about it, the
    /// text more of that. A reading that is refused changes nothing: the next set point is the same one.
    fn litdiode_live_push(live: u64, voltage_v: f64, current_a: f64, time_s: f64, flag: Out<i32>) {
        flag.check("flag")?;
        let live = get(live)?;
        let mut live = locked(&live);
        let found = match optional(time_s) {
            Some(time_s) => live.push_at(voltage_v, current_a, time_s)?,
            None => live.push(voltage_v, current_a)?,
        };
        flag.set("flag", ODDITY.number(oddity(found.as_ref())))?;
        Ok(Answer::Remarks(found.map_or_else(String::new, |flag| flag.to_string())))
    }

    /// Why there is no next set point: the number of the reason, LITDIODE_STOP_…, and its text; 0 while there is one.
    fn litdiode_live_reason(live: u64, reason: Out<i32>) {
        let live = get(live)?;
        let live = locked(&live);
        reason.set("reason", live.reason().map_or(0, |reason| reason.code().into()))?;
        Ok(Answer::Text(live.reason().map_or_else(String::new, ToString::to_string)))
    }

    /// The number of readings taken, and the relative standard uncertainty of the target as the stop compares it, NaN where there
    /// is none yet: without stated noise it counts Student's t.
    fn litdiode_live_progress(live: u64, count: Out<usize>, relative_u: Out<f64>) {
        let live = get(live)?;
        let mut live = locked(&live);
        count.set("count", live.len())?;
        relative_u.set("relative_u", live.relative_u().unwrap_or(ABSENT))?;
        Ok(Answer::Done)
    }

    /// Key points of a single diode fitted to the readings so far.
    fn litdiode_live_key_points(live: u64, key_points: Out<u64>) {
        give("key_points", key_points, || Ok(Arc::new(locked(&get(live)?).key_points())))?;
        Ok(Answer::Done)
    }

    /// The sweep of the readings so far, without those that are wild.
    fn litdiode_live_sweep(live: u64, sweep: Out<u64>) {
        give("sweep", sweep, || Ok(locked(&get(live)?).sweep()?))?;
        Ok(Answer::Done)
    }

    /// The fit of the readings so far, within so many seconds, NaN for any.
    fn litdiode_live_fit(live: u64, deadline_s: f64, fit: Out<u64>) {
        give("fit", fit, || {
            let deadline = duration("deadline_s", deadline_s)?.unwrap_or(Duration::MAX);
            Ok(Arc::new(Fitted::One(locked(&get(live)?).fit(deadline)?)))
        })?;
        Ok(Answer::Done)
    }
}
