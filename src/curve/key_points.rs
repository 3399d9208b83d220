//! All key points of a sweep without a model: the chain from readings to figures.

use super::figure::Common;
use super::guide::Guide;
use super::isc::{self, isc};
use super::maximum::maximum;
use super::pull::Pull;
use super::readings::Readings;
use super::scatter::{Scatter, Stated};
use super::sparse::{self, Figures};
use super::voc::{self, voc};
use crate::estimate::Estimate;
use crate::key_points::{Found, KeyPoints, Surroundings};
use crate::sweep::{Noise, Sweep};

/// Isc, Voc, the point of maximum power and FF of `sweep`, each with its standard uncertainty.
///
/// Isc is a local polynomial I(V) at V = 0, Voc a local polynomial V(ln(1 − I/Isc)) at I = 0, Pmax the
/// maximum of V·I(V) of a local polynomial about the knee. The covariance is that of the readings carried
/// through (with the noise stated: infinitely many degrees of freedom; else the scatter found in the
/// sweep, with its own), plus the common gains and offsets, plus a term for the truncation of each fit;
/// where stated noise meets readings that lie far apart, that term holds what a figure owes to single readings.
/// Nothing is extrapolated: what the sweep does not reach is absent with the reason. Never fails.
pub fn key_points(sweep: &Sweep) -> KeyPoints {
    key_points_beyond(sweep, Beyond::default())
}

/// Figures that may be read beyond the sweep.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Beyond {
    /// Isc of a sweep that does not reach V = 0.
    pub isc: bool,
    /// Voc of a sweep that does not reach I = 0.
    pub voc: bool,
}

/// [`key_points`], where Isc and Voc may be extrapolated by up to a quarter of the range swept, each on request.
///
/// Isc is then a local line or parabola I(V) continued to V = 0, Voc a line or parabola V(ln(1 − I/Isc)) continued to
/// I = 0. Their u holds the variance of the continued polynomial and what one degree more would change; what the curve
/// does where it was not measured remains an assumption. An extrapolated figure, and FF with it, says so in its note.
pub fn key_points_beyond(sweep: &Sweep, beyond: Beyond) -> KeyPoints {
    let options = sweep.options();
    let (found, remarks) = as_measured(sweep, sweep.voltage_v(), sweep.current_a(), beyond);
    let around = Surroundings {
        area_cm2: options.area_cm2.as_ref(),
        irradiance_w_m2: options.irradiance_w_m2.as_ref(),
    };
    let mut points = KeyPoints::new(&found, around);
    if let Some(remark) = remarks.all {
        note(&mut points, &remark);
    }
    if let Some(remark) = remarks.isc {
        [&mut points.isc, &mut points.ff, &mut points.jsc]
            .into_iter()
            .flatten()
            .for_each(|f| add(f, &remark));
    }
    if let Some(remark) = remarks.voc {
        [&mut points.voc, &mut points.ff].into_iter().flatten().for_each(|f| add(f, &remark));
    }
    points
}

/// What must be known with the figures.
#[derive(Default)]
struct Remarks {
    /// With all that carry a ±.
    all: Option<String>,
    isc: Option<String>,
    voc: Option<String>,
}

fn add(figure: &mut Estimate, remark: &str) {
    figure.note = Some(match figure.note.take() {
        Some(note) => format!("{note}; {remark}"),
        None => remark.to_owned(),
    });
}

/// Adds a remark to every figure that carries a ±.
fn note(points: &mut KeyPoints, remark: &str) {
    let electrical =
        [&mut points.isc, &mut points.voc, &mut points.pmax, &mut points.v_pmax, &mut points.i_pmax];
    let derived = [&mut points.ff, &mut points.jsc, &mut points.efficiency];
    for figure in electrical.into_iter().chain(derived).flatten().filter(|figure| figure.u.is_some()) {
        add(figure, remark);
    }
}

/// The five figures of other points (V and A, generator sign) with the noise, stated or not, of `sweep`.
pub(crate) fn found_in(sweep: &Sweep, voltage_v: &[f64], current_a: &[f64]) -> Found {
    as_measured(sweep, voltage_v, current_a, Beyond::default()).0
}

fn as_measured(sweep: &Sweep, v: &[f64], i: &[f64], beyond: Beyond) -> (Found, Remarks) {
    let (noise, common) = noise(sweep);
    Stated::with(&noise, sweep.options().swept, |stated| outcome(v, i, stated, &common, beyond))
}

/// Lowest and highest voltage in V of the readings that Pmax is read from; `None` where the sweep gives no Pmax.
pub fn window_of_maximum(sweep: &Sweep) -> Option<(f64, f64)> {
    let (v, i) = (sweep.voltage_v(), sweep.current_a());
    let noise = sweep.options().noise.unwrap_or_default();
    Stated::with(&noise, sweep.options().swept, |stated| {
        let sense = sense(v, i);
        let readings = Readings::new(v, i, sense)?;
        let (guide, scatter) = Scatter::with_guide(&readings, stated);
        let [pmax, ..] = maximum(&readings, &guide, &scatter).ok()?;
        let counts = |k: &usize| pmax.by_current[*k] != 0.0;
        let (first, last) = ((0..readings.len()).find(counts)?, (0..readings.len()).rfind(counts)?);
        let [a, b] = [first, last].map(|k| sense * readings.unit_v * readings.voltage[k]);
        Some((a.min(b), a.max(b)))
    })
}

/// The five figures with their covariance, from plain slices in V and A (generator sign, any order).
///
/// `common` is in SI units. Readings that are not finite or have no slope give reasons instead of figures.
pub fn found(voltage_v: &[f64], current_a: &[f64], stated: &Stated, common: &Common) -> Found {
    outcome(voltage_v, current_a, stated, common, Beyond::default()).0
}

/// What was found, and remarks where they are due.
fn outcome(v: &[f64], i: &[f64], stated: &Stated, common: &Common, beyond: Beyond) -> (Found, Remarks) {
    let Some(work) = Work::new(v, i, stated, beyond) else {
        let why =
            "the readings are no curve: at least two different finite voltages and a current are needed";
        let none = [0; 5].map(|_| Err(why.into()));
        return (Found { values: none, covariance: Err(why.into()), dof: [0.0; 5] }, Remarks::default());
    };
    let Work { readings, scatter, .. } = &work;
    let volts = isc::gap(readings, scatter).map(|v| v * readings.unit_v);
    let amperes = voc::gap(readings, scatter).map(|i| i * readings.unit_a);
    let all = scatter.excess.map(|times| {
        format!("the readings scatter {times:.1} times the stated noise: the ± is as much too small")
    });
    let remarks = Remarks {
        all,
        isc: volts
            .map(|v| format!("Isc extrapolated to V = 0 from {}", crate::quantity_format::quantity(v, "V"))),
        voc: amperes
            .map(|i| format!("Voc extrapolated to I = 0 from {}", crate::quantity_format::quantity(i, "A"))),
    };
    (work.collect(common), remarks)
}

/// The five figures of other points with the noise of `sweep`, and what every source of uncertainty does to each.
pub(crate) fn traced(sweep: &Sweep, v: &[f64], i: &[f64]) -> (Found, [Option<Pull>; 5]) {
    let (noise, common) = noise(sweep);
    Stated::with(&noise, sweep.options().swept, |stated| {
        let pulls = Work::new(v, i, stated, Beyond::default())
            .filter(|work| work.scatter.unknown.is_none())
            .map_or([const { None }; 5], |work| work.pulls(v, i, &common));
        (outcome(v, i, stated, &common, Beyond::default()).0, pulls)
    })
}

fn noise(sweep: &Sweep) -> (Noise, Common) {
    let noise = sweep.options().noise.unwrap_or_default();
    let common = Common {
        voltage_gain: noise.voltage_gain_u,
        current_gain: noise.current_gain_u,
        voltage_offset: noise.voltage_offset_u,
        current_offset: noise.current_offset_u,
    };
    (noise, common)
}

/// The figures with what they were read from, in its units.
struct Work {
    readings: Readings,
    scatter: Scatter,
    figures: Figures,
    /// −1 for a device that was turned round.
    sense: f64,
}

impl Work {
    /// `None` where the readings are no curve.
    fn new(v: &[f64], i: &[f64], stated: &Stated, beyond: Beyond) -> Option<Self> {
        let sense = sense(v, i);
        let readings = Readings::new(v, i, sense)?;
        let (guide, scatter) = Scatter::with_guide(&readings, stated);
        let mut figures = figures(&readings, &guide, &scatter, beyond);
        // A scatter that is found in the sweep holds what its polynomials leave, and with it what they make wrong.
        if let Stated::Known(..) = stated {
            sparse::widen(&mut figures, (&readings, &scatter), |rest| {
                let (guide, scatter) = Scatter::with_guide(rest, stated);
                (self::figures(rest, &guide, &scatter, beyond), scatter)
            });
        }
        Some(Self { readings, scatter, figures, sense })
    }

    fn units(&self) -> [f64; 5] {
        let (v, a) = (self.readings.unit_v, self.readings.unit_a);
        [self.sense * a, self.sense * v, v * a, self.sense * v, self.sense * a]
    }

    fn scaled(&self, common: &Common) -> Common {
        Common {
            voltage_offset: common.voltage_offset / self.readings.unit_v,
            current_offset: common.current_offset / self.readings.unit_a,
            ..*common
        }
    }

    fn collect(&self, common: &Common) -> Found {
        collect(&self.figures, &self.readings, &self.scatter, &self.scaled(common), self.units())
    }

    fn pulls(&self, v: &[f64], i: &[f64], common: &Common) -> [Option<Pull>; 5] {
        let (order, common) = (self.readings.order(v, i, self.sense), self.scaled(common));
        let (from, units) = ((&self.readings, &self.scatter, &common), self.units());
        std::array::from_fn(|k| {
            let figure = self.figures[k].as_ref().ok()?;
            Some(Pull::new(figure, units[k], from, (&order, v.len())))
        })
    }
}

fn figures(readings: &Readings, guide: &Guide, scatter: &Scatter, beyond: Beyond) -> Figures {
    let isc = isc(readings, guide, scatter, beyond.isc);
    let voc = voc(readings, guide, scatter, beyond.voc);
    match maximum(readings, guide, scatter) {
        Ok([p, v, i]) => [isc, voc, Ok(p), Ok(v), Ok(i)],
        Err(why) => [isc, voc, Err(why.clone()), Err(why.clone()), Err(why)],
    }
}

/// −1 for a device that delivers its power at V < 0 and I < 0: it is turned round for the work.
fn sense(voltage_v: &[f64], current_a: &[f64]) -> f64 {
    let best = |sense: f64| {
        voltage_v
            .iter()
            .zip(current_a)
            .filter(|(v, i)| sense * **v > 0.0 && sense * **i > 0.0)
            .map(|(v, i)| v.abs().ln() + i.abs().ln())
            .fold(f64::NEG_INFINITY, f64::max)
    };
    // Logarithms, because the product of two readings may leave the range of numbers: a factor of 4.
    if best(-1.0) > best(1.0) + 4f64.ln() { -1.0 } else { 1.0 }
}

fn collect(
    figures: &Figures,
    readings: &Readings,
    scatter: &Scatter,
    common: &Common,
    units: [f64; 5],
) -> Found {
    let mut covariance = [[0.0; 5]; 5];
    let mut dof = [f64::INFINITY; 5];
    let effects: Vec<Option<[f64; 4]>> =
        figures.iter().map(|f| f.as_ref().ok().map(|f| f.common(readings, common))).collect();
    for (j, first) in figures.iter().enumerate() {
        for (k, second) in figures.iter().enumerate().take(j + 1) {
            let (Ok(f), Ok(h), Some(at), Some(bt)) = (first, second, effects[j], effects[k]) else {
                continue;
            };
            let noise = f.scatter_covariance(h, scatter);
            let shared: f64 = at.iter().zip(&bt).map(|(a, b)| a * b).sum();
            // Isc and Voc each have a fit of their own; the last three are one.
            let shape = if j == k || k > 1 { f.truncation * h.truncation } else { 0.0 };
            let total = noise + shared + shape;
            covariance[j][k] = total * units[j] * units[k];
            covariance[k][j] = covariance[j][k];
            if j == k && noise > 0.0 {
                dof[j] = scatter.dof * (total / noise).powi(2);
            }
        }
    }
    let values = std::array::from_fn(|k| match &figures[k] {
        Ok(f) if (f.value * units[k]).is_finite() => Ok(f.value * units[k]),
        Ok(_) => Err("the product of voltage and current is beyond the range of numbers".into()),
        Err(why) => Err(why.clone()),
    });
    let covariance = match &scatter.unknown {
        None => Ok(covariance),
        Some(why) => Err(why.clone()),
    };
    Found { values, covariance, dof }
}
