//! What moves the points of a sweep besides the noise of its instrument: named effects, one entry a source.
//!
//! ```text
//! reach Common   one source moves every point:        (dVₖ, dIₖ) = z·(voltage_v[k], current_a[k])
//! reach Each     a source of its own at every point:  (dVₖ, dIₖ) = zₖ·(voltage_v[k], current_a[k])
//! ```
//!
//! z and zₖ have mean 0 and standard deviation 1 (JCGM 100:2008, 5.2.2: what is common to the points is kept whole).
//! Effects of reach Each stand in place of the scatter that the noise of the sweep states or its readings show: a
//! translation moves the voltage of a point with the scatter of its current, which no noise of an axis can say.

use super::error::SweepError;
use crate::quantity::source::Identity;

/// Which points one source moves.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub enum Reach {
    /// One source, all points.
    Common,
    /// A source of its own at every point.
    Each,
}

/// What one standard uncertainty of a source does to the points.
///
/// # Examples
/// ```
/// use litdiode::curve::{budget, key_points};
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::key_points::KeyPoint;
/// use litdiode::sweep::{Effect, Noise, Reach, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// // 2 mV on every voltage, nothing on the currents.
/// let dial = Effect::new("dial of the divider", Reach::Common, vec![2e-3; 30], vec![0.0; 30]);
/// let options = SweepOptions::default().noise(Noise::default().current_a(1e-6)).effects(vec![dial]);
/// let sweep = Sweep::new(&v, &i, options)?;
/// assert!((key_points(&sweep).voc.unwrap().u.unwrap() - 2e-3).abs() < 1e-5);
/// assert_eq!(budget(&sweep, KeyPoint::Voc)?.contributions[0].source, "dial of the divider");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Effect {
    /// The source.
    pub name: String,
    /// Which points it moves.
    pub reach: Reach,
    /// Change of each current in A.
    pub current_a: Vec<f64>,
    /// Change of each voltage in V.
    pub voltage_v: Vec<f64>,
    /// What the source has in common with those of other sweeps; `None` for one of this sweep's own.
    #[cfg_attr(feature = "serde", serde(default))]
    pub identity: Option<Identity>,
    /// Degrees of freedom behind the standard uncertainty.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub dof: f64,
    /// What a source that was read from the points themselves shares with their other sources.
    pub(crate) shared: Option<Shared>,
}

/// Correlation coefficients of a source of reach Common with others of the same sweep.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
pub(crate) struct Shared {
    /// With each source at each point, one row for every effect of reach Each in their order.
    pub each: Vec<Vec<f64>>,
    /// With voltage gain, current gain, voltage offset, current offset.
    pub common: [f64; 4],
    /// The key point that it is (0 Isc, 1 Voc), and its part from truncation.
    pub truncation: Option<(usize, f64)>,
}

impl Effect {
    /// An effect of known standard uncertainty on the points, in V and A.
    pub fn new(name: impl Into<String>, reach: Reach, voltage_v: Vec<f64>, current_a: Vec<f64>) -> Self {
        let name = name.into();
        Self { name, reach, current_a, voltage_v, identity: None, dof: f64::INFINITY, shared: None }
    }

    /// The same effect, of a source that other sweeps may share.
    #[must_use]
    pub fn identified(mut self, identity: Identity) -> Self {
        self.identity = Some(identity);
        self
    }

    /// One finite value a point.
    pub(super) fn validate(&self, points: usize) -> Result<(), SweepError> {
        for (name, values) in
            [("effects: voltage_v", &self.voltage_v), ("effects: current_a", &self.current_a)]
        {
            if values.len() != points {
                return Err(SweepError::Lengths { name, voltage: points, given: values.len() });
            }
            super::validate::readings(name, values)?;
        }
        if self.dof.is_nan() || self.dof <= 0.0 {
            let cure = "give degrees of freedom above 0, infinite for a known standard uncertainty";
            return Err(SweepError::Option { name: "effects: dof", value: self.dof, cure });
        }
        Ok(())
    }

    /// The same for points whose voltage and current are multiplied.
    pub(super) fn turned(mut self, voltage: f64, current: f64) -> Self {
        self.voltage_v.iter_mut().for_each(|v| *v *= voltage);
        self.current_a.iter_mut().for_each(|i| *i *= current);
        self
    }
}
