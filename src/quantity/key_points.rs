//! The key points of a device with their joint uncertainty, whoever found them: curve, fit or model.
//!
//! ```text
//! FF = Pmax/(Isc·Voc)      Jsc = Isc/A      η = Pmax/(A·G)
//! ```
//!
//! Uncertainties are carried to first order (JCGM 100:2008, 5.2.2, equation 13) with the covariance of
//! Isc, Voc, Pmax, V_Pmax and I_Pmax; degrees of freedom of a combination by the Welch–Satterthwaite
//! formula (annex G, equation G.2b).

use crate::quantity::estimate::{Estimate, Name, Unit};
use crate::quantity::reason::Reason;
use crate::quantity::source::{Aside, CommonSource};
use crate::setters::setters;
use std::fmt;

pub use crate::quantity::key_point::{KeyPoint, NAMES};

/// Square metres in a square centimetre.
const M2_PER_CM2: f64 = 1e-4;

/// A figure that could not be given, and the reason.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Absence {
    /// The figure: one of [`NAMES`], `jsc` or `efficiency`.
    pub figure: Name,
    /// Why it is not there, and what would give it.
    pub why: Reason,
}

/// `isc: ` and the reason.
impl fmt::Display for Absence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.figure, self.why)
    }
}

/// Isc, Voc, the point of maximum power, FF and what follows from area and irradiance.
///
/// # Examples
/// ```
/// use litdiode::curve::key_points;
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let options = SweepOptions::default()
///     .area_cm2(Estimate::new(2.0, 0.02, Unit::Cm2))
///     .irradiance_w_m2(Estimate::new(1000.0, 0.0, Unit::WattPerM2));
/// let points = key_points(&Sweep::new(&v, &i, options)?);
/// let efficiency = points.get("efficiency").unwrap(); // Pmax/(area·irradiance), the area 1 % uncertain
/// assert!((efficiency.value - 0.01293074 / 0.2).abs() < 1e-5);
/// assert!((efficiency.u.unwrap() / efficiency.value - 0.01).abs() < 1e-4);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct KeyPoints {
    /// Short-circuit current in A.
    pub isc: Option<Estimate>,
    /// Open-circuit voltage in V.
    pub voc: Option<Estimate>,
    /// Maximum power in W.
    pub pmax: Option<Estimate>,
    /// Voltage at maximum power in V.
    pub v_pmax: Option<Estimate>,
    /// Current at maximum power in A.
    pub i_pmax: Option<Estimate>,
    /// Fill factor, 0 to 1.
    pub ff: Option<Estimate>,
    /// Short-circuit current density in A/cm².
    pub jsc: Option<Estimate>,
    /// Efficiency, 0 to 1.
    pub efficiency: Option<Estimate>,
    /// What is not there, and why.
    pub absent: Vec<Absence>,
    /// Figures that `covariance` is over: those of [`NAMES`] that have an uncertainty.
    pub names: Vec<Name>,
    /// Covariance of `names` in SI units, row by row.
    pub covariance: Vec<f64>,
    /// Sources that other sweeps may share.
    #[cfg_attr(feature = "serde", serde(default))]
    pub(crate) common: Vec<CommonSource>,
    /// A digest of the readings that they come from; 0 where there are none.
    #[cfg_attr(feature = "serde", serde(default))]
    pub(crate) readings: Aside<u64>,
}

/// What an estimator found: five figures, each with its degrees of freedom, and their covariance.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Found {
    /// Isc, Voc, Pmax, V_Pmax, I_Pmax in SI units, or the reason why there is none.
    pub values: [Result<f64, Reason>; 5],
    /// Covariance of the five, or the reason why there is no ±. Rows of absent figures are not read.
    pub covariance: Result<[[f64; 5]; 5], Reason>,
    /// Degrees of freedom behind each variance (infinite when the noise is known).
    pub dof: [f64; 5],
}

/// What a sweep says of the light on the device and its size.
#[derive(Clone, Copy, Debug, Default)]
#[non_exhaustive]
pub struct Surroundings<'a> {
    /// Area in cm².
    pub area_cm2: Option<&'a Estimate>,
    /// Irradiance in W/m².
    pub irradiance_w_m2: Option<&'a Estimate>,
}

setters!(Surroundings<'a> {
    /// With an area in cm².
    area_cm2: impl Into<Option<&'a Estimate>>,
    /// With an irradiance in W/m².
    irradiance_w_m2: impl Into<Option<&'a Estimate>>,
});

impl KeyPoints {
    /// Adds a remark to every figure that carries a ±.
    pub(crate) fn remark(&mut self, remark: &Reason) {
        let electrical = [&mut self.isc, &mut self.voc, &mut self.pmax, &mut self.v_pmax, &mut self.i_pmax];
        let derived = [&mut self.ff, &mut self.jsc, &mut self.efficiency];
        for figure in electrical.into_iter().chain(derived).flatten().filter(|figure| figure.u.is_some()) {
            figure.notes.push(remark.clone());
        }
    }

    /// All figures that follow from `found`; what cannot be given is absent with its reason.
    pub fn new(found: &Found, around: Surroundings) -> Self {
        let mut absent = Vec::new();
        let fill = fill_factor(found);
        let figures = [0, 1, 2, 3, 4, 5].map(|k| {
            let unit = KeyPoint::ALL[k].unit();
            let figure = match (&fill, found.values.get(k)) {
                (_, Some(Ok(value))) => Ok(with_u(*value, unit, variance(found, k), found.dof[k])),
                (Ok(fill), None) => Ok(with_u(fill.value, unit, fill.variance(found), fill.dof(found))),
                (_, Some(Err(why))) | (Err(why), None) => Err(why.clone()),
            };
            given(figure, NAMES[k], &mut absent)
        });
        let (names, covariance) = joint(found, fill.as_ref().ok(), &figures);
        let [isc, voc, pmax, v_pmax, i_pmax, ff] = figures;
        let jsc = given(density(isc.as_ref(), around), "jsc", &mut absent);
        let efficiency = given(efficiency(pmax.as_ref(), around), "efficiency", &mut absent);
        let (common, readings) = (Vec::new(), Aside::default());
        let mut points = Self {
            isc,
            voc,
            pmax,
            v_pmax,
            i_pmax,
            ff,
            jsc,
            efficiency,
            absent,
            names,
            covariance,
            common,
            readings,
        };
        points.attribute_surroundings(around);
        points
    }

    /// A figure by its name; `None` where it is absent or no such name exists.
    pub fn get(&self, name: &str) -> Option<&Estimate> {
        match name {
            "isc" => self.isc.as_ref(),
            "voc" => self.voc.as_ref(),
            "pmax" => self.pmax.as_ref(),
            "v_pmax" => self.v_pmax.as_ref(),
            "i_pmax" => self.i_pmax.as_ref(),
            "ff" => self.ff.as_ref(),
            "jsc" => self.jsc.as_ref(),
            "efficiency" => self.efficiency.as_ref(),
            _ => None,
        }
    }

    /// Why the figure `name` is not there.
    pub fn why_absent(&self, name: &str) -> Option<&Reason> {
        self.absent.iter().find(|a| a.figure == name).map(|a| &a.why)
    }
}

/// One line a figure: its name and `value ± u`, or that it is absent and why.
impl fmt::Display for KeyPoints {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (k, point) in KeyPoint::ALL.into_iter().enumerate() {
            let end = if k > 0 { "\n" } else { "" };
            match (self.get(point.name()), self.why_absent(point.name())) {
                (Some(estimate), _) => write!(f, "{end}{point:<11}{}", shown(point, estimate))?,
                (None, Some(why)) => write!(f, "{end}{point:<11}absent: {why}")?,
                (None, None) => {}
            }
        }
        Ok(())
    }
}

/// A figure as it is printed: one below its detection limit says so.
///
/// # Examples
/// ```
/// use litdiode::estimate::{Estimate, Unit};
/// use litdiode::key_points::{KeyPoint, shown};
/// assert_eq!(shown(KeyPoint::Isc, &Estimate::new(0.030, 0.0001, Unit::Ampere)), "30.00 ± 0.10 mA");
/// let dim = shown(KeyPoint::Isc, &Estimate::new(1e-7, 1e-7, Unit::Ampere));
/// assert_eq!(dim, "not detected: 100 ± 100 nA is below its detection limit of 329.0 nA");
/// ```
pub fn shown(point: KeyPoint, estimate: &Estimate) -> String {
    let signal = matches!(point, KeyPoint::Isc | KeyPoint::Voc | KeyPoint::Pmax | KeyPoint::Jsc);
    match estimate.detection_limit().filter(|_| signal) {
        Some(limit) => {
            let limit = crate::quantity::format::quantity(limit, estimate.unit.symbol());
            format!("not detected: {estimate} is below its detection limit of {limit}")
        }
        None => estimate.to_string(),
    }
}

/// A figure, or none and a note of the reason.
fn given(
    figure: Result<Estimate, Reason>,
    name: &'static str,
    absent: &mut Vec<Absence>,
) -> Option<Estimate> {
    figure.map_err(|why| absent.push(Absence { figure: name.into(), why })).ok()
}

fn variance(found: &Found, k: usize) -> Result<f64, Reason> {
    found.covariance.as_ref().map(|c| c[k][k]).map_err(Clone::clone)
}

fn with_u(value: f64, unit: Unit, variance: Result<f64, Reason>, dof: f64) -> Estimate {
    match variance {
        Ok(v) if v.is_finite() && dof > 0.0 => Estimate::new(value, v.max(0.0).sqrt(), unit).with_dof(dof),
        Ok(_) => Estimate::without_u(value, unit, Reason::NoDegreesOfFreedom),
        Err(why) => Estimate::without_u(value, unit, why),
    }
}

/// The fill factor and its derivatives by Isc, Voc and Pmax.
struct Fill {
    value: f64,
    by: [f64; 3],
}

impl Fill {
    /// Derivatives by all five figures.
    fn row(&self) -> [f64; 5] {
        [self.by[0], self.by[1], self.by[2], 0.0, 0.0]
    }

    fn variance(&self, found: &Found) -> Result<f64, Reason> {
        found.covariance.as_ref().map(|c| quadratic(&self.row(), c)).map_err(Clone::clone)
    }

    /// The variances of the three figures rest on one estimate of the scatter, so that their relative
    /// errors √(2/ν) add as they are, not in squares: 1/√ν = Σ wₖ/√νₖ with wₖ the share of variance.
    fn dof(&self, found: &Found) -> f64 {
        let Ok(c) = &found.covariance else { return f64::INFINITY };
        let parts: [f64; 3] = std::array::from_fn(|k| self.by[k] * self.by[k] * c[k][k]);
        let total: f64 = parts.iter().sum();
        let sum: f64 =
            (0..3).filter(|&k| parts[k] > 0.0).map(|k| parts[k] / total / found.dof[k].sqrt()).sum();
        if sum > 0.0 { 1.0 / (sum * sum) } else { f64::INFINITY }
    }
}

fn quadratic(row: &[f64; 5], c: &[[f64; 5]; 5]) -> f64 {
    // A figure that does not enter must not spoil the sum with the NaN of its absence.
    let used = |k: &usize| row[*k] != 0.0;
    (0..5).filter(used).map(|i| (0..5).filter(used).map(|j| row[i] * c[i][j] * row[j]).sum::<f64>()).sum()
}

/// Welch–Satterthwaite: (Σ v)²/Σ v²/ν for independent parts of variance v.
pub(crate) fn combined_dof(parts: &[(f64, f64)]) -> f64 {
    let total: f64 = parts.iter().map(|p| p.0).sum();
    let spread: f64 = parts.iter().filter(|p| p.0 > 0.0).map(|&(v, dof)| (v / total).powi(2) / dof).sum();
    if spread > 0.0 { 1.0 / spread } else { f64::INFINITY }
}

fn fill_factor(found: &Found) -> Result<Fill, Reason> {
    let factors = [KeyPoint::Isc, KeyPoint::Voc, KeyPoint::Pmax];
    let [Ok(isc), Ok(voc), Ok(pmax), ..] = found.values else {
        let missing = (0..3).filter(|&k| found.values[k].is_err()).map(|k| factors[k]).collect();
        return Err(Reason::Needs { figure: KeyPoint::Ff, missing });
    };
    // "Above noise" is five standard uncertainties: below, the quotient has no useful distribution.
    let u = |k: usize| found.covariance.as_ref().map_or(0.0, |c| c[k][k].max(0.0).sqrt());
    for (k, value) in [isc, voc, pmax].into_iter().enumerate() {
        if value <= 0.0 || value <= 5.0 * u(k) {
            return Err(Reason::NotAboveZero { figure: factors[k] });
        }
    }
    let value = pmax / (isc * voc);
    if value > 1.0 {
        return Err(Reason::FillFactor { fill_factor: value });
    }
    Ok(Fill { value, by: [-value / isc, -value / voc, value / pmax] })
}

/// Names and covariance of all figures that have an uncertainty.
fn joint(found: &Found, fill: Option<&Fill>, figures: &[Option<Estimate>; 6]) -> (Vec<Name>, Vec<f64>) {
    let Ok(c) = &found.covariance else { return (Vec::new(), Vec::new()) };
    let row = |k: usize| match fill {
        Some(fill) if k == 5 => fill.row(),
        _ => std::array::from_fn(|j| f64::from(u8::from(j == k))),
    };
    let entry = |i: usize, j: usize| if i.max(j) < 5 { c[i][j] } else { bilinear(&row(i), c, &row(j)) };
    let has_u = || (0..6).filter(|&k| figures[k].as_ref().is_some_and(|f| f.u.is_some()));
    let mut names = Vec::with_capacity(6);
    names.extend(has_u().map(|k| Name::from(NAMES[k])));
    let mut covariance = Vec::with_capacity(names.len() * names.len());
    for i in has_u() {
        covariance.extend(has_u().map(|j| entry(i, j)));
    }
    (names, covariance)
}

fn bilinear(a: &[f64; 5], c: &[[f64; 5]; 5], b: &[f64; 5]) -> f64 {
    let mut sum = 0.0;
    for i in (0..5).filter(|&i| a[i] != 0.0) {
        for j in (0..5).filter(|&j| b[j] != 0.0) {
            sum += a[i] * c[i][j] * b[j];
        }
    }
    sum
}

fn density(isc: Option<&Estimate>, around: Surroundings) -> Result<Estimate, Reason> {
    let figure = KeyPoint::Jsc;
    let isc = isc.ok_or_else(|| Reason::Needs { figure, missing: vec![KeyPoint::Isc] })?;
    let area = around.area_cm2.ok_or(Reason::Unstated { figure, area: true, irradiance: false })?;
    Ok(quotient((isc, 1.0), area, None, figure.unit()))
}

fn efficiency(pmax: Option<&Estimate>, around: Surroundings) -> Result<Estimate, Reason> {
    let figure = KeyPoint::Efficiency;
    let pmax = pmax.ok_or_else(|| Reason::Needs { figure, missing: vec![KeyPoint::Pmax] })?;
    let (Some(area), Some(light)) = (around.area_cm2, around.irradiance_w_m2) else {
        let (area, irradiance) = (around.area_cm2.is_none(), around.irradiance_w_m2.is_none());
        return Err(Reason::Unstated { figure, area, irradiance });
    };
    Ok(quotient((pmax, 1.0 / M2_PER_CM2), area, Some(light), figure.unit()))
}

/// factor·top/(area·light) with the uncertainties of all that have one.
fn quotient(
    (top, factor): (&Estimate, f64),
    area: &Estimate,
    light: Option<&Estimate>,
    unit: Unit,
) -> Estimate {
    let product = area.value * light.map_or(1.0, |light| light.value);
    let value = factor * top.value / product;
    let Some(u) = top.u else {
        return Estimate { u: None, notes: top.notes.clone(), ..Estimate::new(value, 0.0, unit) };
    };
    let mut parts = vec![((factor * u / product).powi(2), top.dof)];
    let below = [Some(area), light].into_iter().flatten();
    parts.extend(below.filter_map(|e| e.relative_u().map(|r| ((r * value).powi(2), e.dof))));
    let total: f64 = parts.iter().map(|p| p.0).sum();
    let estimate = Estimate::new(value, total.sqrt(), unit).with_dof(combined_dof(&parts));
    match (area.u.is_none(), light.is_some_and(|light| light.u.is_none())) {
        (false, false) => estimate,
        (area, irradiance) => estimate.noted(Reason::ElectricalPartOnly { area, irradiance }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn found(covariance: [[f64; 5]; 5]) -> Found {
        Found {
            values: [Ok(0.1), Ok(0.6), Ok(0.045), Ok(0.5), Ok(0.09)],
            covariance: Ok(covariance),
            dof: [f64::INFINITY; 5],
        }
    }

    /// With Pmax proportional to Isc (correlation 1), a common error of the current leaves FF alone.
    #[test]
    fn common_scale_of_current_cancels_in_ff() {
        let relative = 0.01;
        let v = [0.1, 0.0, 0.045, 0.0, 0.09];
        let c = std::array::from_fn(|i| std::array::from_fn(|j| relative * relative * v[i] * v[j]));
        let points = KeyPoints::new(&found(c), Surroundings::default());
        assert!(points.ff.as_ref().unwrap().u.unwrap() < 1e-9);
        assert_relative_eq!(points.ff.unwrap().value, 0.75, max_relative = 1e-15);
        assert_relative_eq!(points.isc.unwrap().u.unwrap(), 1e-3, max_relative = 1e-12);
        assert!(points.efficiency.is_none() && points.absent.len() == 2);
    }

    /// By hand: 0.045 W on 4 cm² under 800 W/m² is 14.0625 %, with 1 % of area and 2 % of irradiance.
    #[test]
    fn efficiency_carries_area_and_irradiance() {
        let (area, light) =
            (Estimate::new(4.0, 0.04, Unit::Cm2), Estimate::new(800.0, 16.0, Unit::WattPerM2));
        let around = Surroundings { area_cm2: Some(&area), irradiance_w_m2: Some(&light) };
        let points = KeyPoints::new(&found([[0.0; 5]; 5]), around);
        let eta = points.efficiency.unwrap();
        assert_relative_eq!(eta.value, 0.140625, max_relative = 1e-14);
        assert_relative_eq!(eta.u.unwrap(), 0.140625 * (5.0f64).sqrt() * 0.01, max_relative = 1e-12);
        assert_eq!(eta.notes, []);
    }

    /// The units that the fields of [`KeyPoints`] and the names of the figures state.
    #[test]
    fn every_figure_has_its_unit() {
        let (area, light) =
            (Estimate::new(4.0, 0.04, Unit::Cm2), Estimate::new(800.0, 16.0, Unit::WattPerM2));
        let around = Surroundings { area_cm2: Some(&area), irradiance_w_m2: Some(&light) };
        let points = KeyPoints::new(&found([[0.0; 5]; 5]), around);
        let units = KeyPoint::ALL.map(|p| (p.name(), points.get(p.name()).unwrap().unit.symbol()));
        let stated =
            [("isc", "A"), ("voc", "V"), ("pmax", "W"), ("v_pmax", "V"), ("i_pmax", "A"), ("ff", "")];
        assert_eq!(units[..6], stated);
        assert_eq!(units[6..], [("jsc", "A/cm²"), ("efficiency", "")]);
    }

    /// One scatter with 16 degrees of freedom behind all three figures leaves FF 16, not more.
    #[test]
    fn a_common_scatter_keeps_its_degrees_of_freedom() {
        let c = std::array::from_fn(|i| std::array::from_fn(|j| if i == j { 1e-8 } else { 0.0 }));
        let points = KeyPoints::new(&Found { dof: [16.0; 5], ..found(c) }, Surroundings::default());
        assert_relative_eq!(points.ff.unwrap().dof, 16.0, max_relative = 1e-12);
    }

    /// GUM G.4.1: independent parts of equal variance with 4 degrees of freedom each have 8 together.
    #[test]
    fn degrees_of_freedom_add_for_equal_parts() {
        assert_relative_eq!(combined_dof(&[(2.0, 4.0), (2.0, 4.0)]), 8.0, max_relative = 1e-14);
        assert_eq!(combined_dof(&[(2.0, f64::INFINITY)]), f64::INFINITY);
    }
}
