//! A live sweep as plain data: what was fixed, the readings, and where it stands. The running fit is made anew from the
//! readings.

use super::live_sweep::{LiveSweep, Purpose};
use super::options::LiveOptions;
use super::readings::Flag;
use super::stop::StopReason;
use crate::numerics::serde_float::list;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// All of a live sweep that does not follow from the rest; values in generator sign.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename = "LiveSweep")]
pub(super) struct Stored {
    pub options: LiveOptions,
    #[serde(with = "list")]
    pub voltage_v: Vec<f64>,
    #[serde(with = "list")]
    pub current_a: Vec<f64>,
    #[serde(with = "list")]
    pub time_s: Vec<f64>,
    pub flags: Vec<Option<Flag>>,
    pub walls: (f64, f64),
    #[serde(default)]
    pub walled_off: bool,
    #[serde(default)]
    pub doubts: [Option<(f64, f64)>; 2],
    pub asked: Option<(f64, Purpose)>,
    pub last: Option<(f64, Purpose)>,
    pub bracketed: bool,
    pub doubted: Option<usize>,
    pub upwards: bool,
    pub no_numbers: usize,
    pub not_followed: usize,
    #[serde(default)]
    pub beyond: usize,
    pub stop: Option<StopReason>,
}

impl Stored {
    /// What no live sweep holds.
    fn wrong(&self) -> Option<String> {
        let n = self.voltage_v.len();
        let lengths = [self.current_a.len(), self.time_s.len(), self.flags.len()];
        if lengths.iter().any(|length| *length != n) || n > self.options.capacity {
            return Some(format!("the lists of readings have {n} and {lengths:?} entries"));
        }
        let finite = |x: &f64| x.is_finite();
        let places = [self.asked, self.last].into_iter().flatten().map(|place| place.0);
        let good = self.voltage_v.iter().chain(&self.current_a).all(finite)
            && self.walls.0.is_finite()
            && self.walls.1.is_finite()
            && self.walls.0 <= self.walls.1
            && self.doubts.iter().flatten().all(|(bad, from)| bad.is_finite() && from.is_finite())
            && places.clone().all(|x| x.is_finite());
        if !good || self.doubted.is_some_and(|k| k >= n) {
            return Some("a reading, a wall or a set point is no number that a live sweep holds".into());
        }
        None
    }
}

impl Serialize for LiveSweep {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        self.stored().serialize(s)
    }
}

impl<'de> Deserialize<'de> for LiveSweep {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let stored = Stored::deserialize(d)?;
        if let Some(why) = stored.wrong() {
            return Err(D::Error::custom(why));
        }
        let live = Self::restored(stored).map_err(D::Error::custom)?;
        match live.asked_beyond() {
            Some(set) => {
                Err(D::Error::custom(format!("asked = {set} lies beyond the walls of the live sweep")))
            }
            None => Ok(live),
        }
    }
}
