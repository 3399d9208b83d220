//! All methods on whatever sweeps there are.

use super::at_maximum_power::{lit_against_dark, lit_against_implied};
use super::by_fit::by_fit;
use super::co_content::co_content;
use super::common_sources;
use super::conductance_plot::conductance_plot;
use super::dark_regression::{DarkRegression, dark_regression};
use super::error::ResistanceError;
use super::estimated::Resistance;
use super::measured::Measured;
use super::multi_irradiance::equal_current;
use super::prepared_sweep::Prepared;
use super::quantity::Quantity;
use super::quote::{Quote, quote};
use super::reverse_bias::reverse;
use super::slope_at_voc::slope_at_voc;
use super::slope_at_zero::{dark_ohmic, slope_at_isc};
use crate::numerics::cancel;
use crate::sweep::Sweep;
use std::fmt;

/// A method that gave nothing, and why.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct Absent {
    /// Series or shunt.
    pub quantity: Quantity,
    /// The method.
    pub method: &'static str,
    /// Why, and what would help.
    pub why: ResistanceError,
}

/// What came out.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::resistance::{Measured, Quantity, resistances};
/// use litdiode::sweep::{Noise, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, mut i) = cell.curve(30);
/// let jitter = |k: usize| 3f64.sqrt() * ((k as f64 * 12.9898).sin() * 43758.5453).fract(); // σ of 1, uniform
/// i.iter_mut().enumerate().for_each(|(k, i)| *i += 1e-6 * jitter(k));
/// let lit = Sweep::new(&v, &i, SweepOptions::default().noise(Noise::default().current_a(1e-6)))?;
/// let all = resistances(&Measured::default().lit(&lit));
/// let quoted = all.shunt.resistance.as_ref().unwrap();
/// assert_eq!(quoted.method, "diode fit, lit");
/// assert!((quoted.estimate.value - 900.0).abs() < 3.0 * quoted.estimate.u.unwrap());
/// assert!(all.why_absent(Quantity::Series, "dark regression (Cheung)").is_some()); // there is no dark sweep
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[non_exhaustive]
pub struct Resistances {
    /// Series resistances first.
    pub found: Vec<Resistance>,
    /// Methods without a figure.
    pub absent: Vec<Absent>,
    /// The series resistance to quote.
    pub series: Quote,
    /// The shunt resistance to quote.
    pub shunt: Quote,
}

impl Resistances {
    /// The figure of a method by its name.
    pub fn get(&self, quantity: Quantity, method: &str) -> Option<&Resistance> {
        self.found.iter().find(|r| r.quantity == quantity && r.method == method)
    }

    /// Why a method gave no figure.
    pub fn why_absent(&self, quantity: Quantity, method: &str) -> Option<&ResistanceError> {
        self.absent.iter().find(|a| a.quantity == quantity && a.method == method).map(|a| &a.why)
    }
}

/// The table while it grows.
struct Rows<'a> {
    all: Resistances,
    /// Is called when a method is through.
    tell: &'a mut dyn FnMut(),
}

impl Rows<'_> {
    fn take(
        &mut self,
        quantity: Quantity,
        method: &'static str,
        outcome: Result<Resistance, ResistanceError>,
    ) {
        match outcome {
            Ok(resistance) => self.all.found.push(resistance),
            Err(why) => self.all.absent.push(Absent { quantity, method, why }),
        }
        (self.tell)();
    }
}

type Ready = Result<Prepared, ResistanceError>;

/// Every resistance that the data give, and the reason for every one that they do not. Never fails.
///
/// Noise is taken from each sweep where it states it, else found from the scatter of the readings.
///
/// # Examples
/// ```
/// use litdiode::resistance::{Measured, Quantity, resistances};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let v: Vec<f64> = (0..40).map(|k| -0.1 + 0.02 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0) - v / 500.0).collect();
/// let lit = Sweep::new(&v, &i, SweepOptions::default())?;
/// let all = resistances(&Measured::default().lit(&lit));
/// let shunt = all.get(Quantity::Shunt, "slope at Isc").unwrap();
/// assert!((shunt.estimate.value - 500.0).abs() < 1.0);
/// assert!((all.shunt.resistance.as_ref().unwrap().estimate.value - 500.0).abs() < 1.0);
/// assert!(all.why_absent(Quantity::Series, "dark regression (Cheung)").is_some());
/// # Ok::<(), litdiode::sweep::SweepError>(())
/// ```
pub fn resistances(measured: &Measured) -> Resistances {
    table(measured, &mut || {})
}

/// [`resistances`], where `watch` is told how many methods are through: in the end as many as there are in `found` and
/// `absent`. `None` where it answered `false`, which stops the work, or a [`Token`](cancel::Token) in force stopped it.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::resistance::{Measured, resistances_watched};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.03, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 900.0, cells: 1, temperature_c: 25.0,
/// })?; // invented
/// let (v, i) = cell.curve(30);
/// let sweep = Sweep::new(&v, &i, SweepOptions::default())?;
/// let mut methods = 0;
/// let all = resistances_watched(&Measured::default().lit(&sweep), |done| { methods = done; true }).unwrap();
/// assert_eq!(methods, all.found.len() + all.absent.len());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn resistances_watched(measured: &Measured, watch: impl FnMut(usize) -> bool) -> Option<Resistances> {
    cancel::watched(watch, |tell| table(measured, tell))
}

fn table(measured: &Measured, tell: &mut dyn FnMut()) -> Resistances {
    let mut all = by_every_method(measured, true, tell);
    common_sources::carry(&mut all.found, measured, |moved| by_every_method(moved, false, &mut || {}).found);
    all.series = quote(&all.found, Quantity::Series);
    all.shunt = quote(&all.found, Quantity::Shunt);
    all
}

/// The rows of the table with what the readings scatter; with the fits or without.
fn by_every_method(measured: &Measured, fitted: bool, tell: &mut dyn FnMut()) -> Resistances {
    let missing = |what| ResistanceError::Missing { what };
    let ready = |sweep: Option<&Sweep>, dark: bool, what| match sweep {
        Some(sweep) => Prepared::of(sweep, dark),
        None => Err(missing(what)),
    };
    let lit = ready(measured.lit, false, "a sweep under light");
    let dark = ready(measured.dark, true, "a dark sweep");
    let more: Vec<Ready> = measured.more_lit.iter().map(|sweep| Prepared::of(sweep, false)).collect();
    let mut rows = Rows { all: Resistances::default(), tell };
    series(&mut rows, &lit, &dark, &more, measured);
    if fitted {
        fits(&mut rows, &lit, &dark, Quantity::Series);
    }
    shunt(&mut rows, &lit, &dark);
    if fitted {
        fits(&mut rows, &lit, &dark, Quantity::Shunt);
    }
    rows.all
}

/// Rs, n and the classical plots of a dark sweep by Cheung's relation, done as a regression.
///
/// # Errors
/// [`ResistanceError`] where the sweep has too few readings of clear forward current.
///
/// # Examples
/// ```
/// use litdiode::diode::{Parameters, SingleDiode};
/// use litdiode::resistance::dark_ideality;
/// use litdiode::sweep::{Leads, Sign, Sweep, SweepOptions};
/// let cell = SingleDiode::new(Parameters {
///     iph_a: 0.0, i0_a: [1e-9], n: [1.3], rs_ohm: 0.5, rsh_ohm: 9e6, cells: 1, temperature_c: 25.0,
/// })?; // invented, in the dark
/// let v: Vec<f64> = (0..40).map(|k| 0.3 + 0.01 * f64::from(k)).collect();
/// let mut i = vec![0.0; v.len()];
/// cell.current(&v, &mut i)?;
/// let dark = Sweep::new(&v, &i, SweepOptions::default().sign(Sign::Generator).leads(Leads::AsGiven))?;
/// let found = dark_ideality(&dark)?;
/// assert!((found.n.value - 1.3).abs() < 1e-3 && (found.resistance.estimate.value - 0.5).abs() < 1e-3);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn dark_ideality(dark: &Sweep) -> Result<DarkRegression, ResistanceError> {
    dark_regression(&Prepared::of(dark, true)?)
}

fn with(
    ready: &Ready,
    method: impl Fn(&Prepared) -> Result<Resistance, ResistanceError>,
) -> Result<Resistance, ResistanceError> {
    if cancel::requested_now() {
        return Err(ResistanceError::Stopped);
    }
    ready.as_ref().map_err(Clone::clone).and_then(method)
}

fn series(rows: &mut Rows, lit: &Ready, dark: &Ready, more: &[Ready], measured: &Measured) {
    let q = Quantity::Series;
    rows.take(q, "slope at Voc", with(lit, |lit| slope_at_voc(lit, measured.n)));
    let others: Vec<&Prepared> = more.iter().filter_map(|m| m.as_ref().ok()).collect();
    let first = |lit: &Prepared, count: usize| {
        let what = "a sweep under light at each further irradiance";
        let rest = others.get(..count).ok_or(ResistanceError::Missing { what })?;
        equal_current(&std::iter::once(lit).chain(rest.iter().copied()).collect::<Vec<_>>())
    };
    rows.take(q, "two irradiances", with(lit, |lit| first(lit, 1)));
    rows.take(q, "several irradiances", with(lit, |lit| first(lit, others.len().max(2))));
    let against_dark = |lit: &Prepared| with(dark, |dark| lit_against_dark(lit, dark));
    rows.take(q, "lit against dark", with(lit, against_dark));
    let what = "voltages at open circuit over irradiance";
    let against_implied = |lit: &Prepared| {
        measured.implied.ok_or(ResistanceError::Missing { what }).and_then(|i| lit_against_implied(lit, i))
    };
    rows.take(q, "lit against implied voltage", with(lit, against_implied));
    rows.take(q, "co-content", with(lit, |lit| co_content(lit, q)));
    rows.take(q, "conductance plot (Werner)", with(dark, conductance_plot));
    rows.take(q, "dark regression (Cheung)", with(dark, |dark| dark_regression(dark).map(|d| d.resistance)));
}

fn shunt(rows: &mut Rows, lit: &Ready, dark: &Ready) {
    let q = Quantity::Shunt;
    rows.take(q, "slope at Isc", with(lit, slope_at_isc));
    rows.take(q, "reverse bias, lit", with(lit, |lit| reverse(lit, true)));
    rows.take(q, "co-content", with(lit, |lit| co_content(lit, q)));
    rows.take(q, "dark ohmic region", with(dark, dark_ohmic));
    rows.take(q, "reverse bias, dark", with(dark, |dark| reverse(dark, false)));
}

fn fits(rows: &mut Rows, lit: &Ready, dark: &Ready, quantity: Quantity) {
    for (ready, is_lit, method) in [(lit, true, "diode fit, lit"), (dark, false, "diode fit, dark")] {
        let of = |sweep: &Prepared| {
            let fits = by_fit(sweep, is_lit).into_iter().flatten();
            let mut own = fits.filter(|r| r.quantity == quantity);
            own.next().ok_or(ResistanceError::Undetermined { axis: "voltages" })
        };
        rows.take(quantity, method, with(ready, of));
    }
}

/// Its kind, the method and why it gave nothing.
impl fmt::Display for Absent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} by {}: {}", self.quantity, self.method, self.why)
    }
}

/// A line a method that gave a figure, then the two to quote.
impl fmt::Display for Resistances {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.found.iter().try_for_each(|one| writeln!(f, "{one}"))?;
        write!(f, "to quote: series {}\nto quote: shunt {}", self.series, self.shunt)
    }
}
