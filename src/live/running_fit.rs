//! The fit that follows the readings: one diode, started where the last fit ended, on buffers made at the start.
//!
//! ```text
//! min Σ rᵢ(θ)²,  θ = (Iph, ln I0, ln a, Rs, g) in its bounds        C = (Σ gᵢ·gᵢᵀ)⁻¹·s²,  gᵢ = ∂rᵢ/∂θ on the curve
//! ```
//!
//! s = 1 where the noise is stated, and √(χ²/ν) where it is not; where χ² says that one diode does not suit, s is that
//! root as well. The residuals are those of the fits. All five coordinates count as free in C, also those that ended on a
//! bound: the ± is then rather too large than too small.

use super::readings::{Readings, UNSTATED};
use crate::diode::{Circuit, Junction};
use crate::fit::{Bounds, Descent, Figure, Points, Problem, Residual, Residuals, largest, residual_for};
use crate::numerics::linear_algebra::information::{Covariance, Information};
use crate::numerics::statistics::variance_ratio::deviate;
use crate::plan::information::{Reading, figure_by_theta};
use crate::quantity::key_points::KeyPoint;
use crate::sweep::{Noise, Swept};

/// Coordinates of one diode.
const FREE: usize = 5;
/// Sources that are common to all readings: gain and offset of either axis.
pub(super) const COMMON: usize = 4;
/// Readings below which there is nothing to fit.
const FEWEST: usize = 3;
/// Readings up to which the descent begins at several starts.
const SEVERAL: usize = 12;
/// Of more readings, other starts are tried at each one that is a multiple of `EVERY`, up to `OFTEN`, and at every one where a
/// scatter that is not stated is more than `COARSE` times [`UNSTATED`].
const EVERY: usize = 8;
const OFTEN: usize = 48;
const COARSE: f64 = 2.0;
/// Ideality and series resistance, in units of Voc/Isc, of the starts.
const STARTS: [(f64, f64); 3] = [(1.2, 0.02), (1.8, 0.03), (1.5, 0.15)];
/// Shunt conductance of a start in units of Isc/Voc.
const START_G: f64 = 0.03;
/// Steps of a descent from another start; of one from where the last fit ended, steps times readings, and fewest and most steps.
/// What is not done is left to the next update.
const OTHER_STEPS: usize = 5;
const WORK: usize = 600;
const STEPS: (usize, usize) = (4, 9);
/// Further descents at most until a fit has settled.
const SETTLES: usize = 60;
/// Promise, as a share of χ², below which a descent has arrived.
const ARRIVED: f64 = 1e-6;
/// Standard deviations of Iph/Isc, ln I0, ln a, Rs·Isc/Voc and g·Voc/Isc before anything is measured: for planning alone.
const BEFORE: [f64; FREE] = [1.0, 20.0, 0.4, 0.5, 0.5];
/// Degrees of freedom from which, and readings up to which, it is looked for one that contradicts the others.
const LEAVE_OUT: (f64, usize) = (2.0, 48);
/// Standard deviations that a reading left out has to be off.
const CONTRADICTS: f64 = 6.0;
/// Standard normal deviates by which χ² may be above its mean.
const SUITS: f64 = 3.3;

/// The running fit and what it knows.
pub(super) struct RunningFit {
    residual: Residual,
    /// Where it states scatter.
    stated: Option<Noise>,
    /// Gains and offsets, whether or not scatter is stated beside them.
    instrument: Noise,
    a_per_n: f64,
    points: Points,
    bounds: Bounds,
    descent: Descent,
    theta: [f64; FREE],
    circuit: Option<Circuit<1>>,
    /// In units of which the residuals are.
    noise: Noise,
    cost: f64,
    /// Whether the descent went to its end.
    arrived: bool,
    /// Whether it went on as far as it is worth while.
    settled: bool,
    dof: f64,
    scale: f64,
    suits: bool,
    covariance: Option<Covariance<FREE>>,
    planning: Option<Covariance<FREE>>,
    common: [[f64; FREE]; COMMON],
}

/// A problem of so many residuals that are nowhere: makes the buffers of a descent.
struct Room(usize);

impl Residuals for Room {
    fn len(&self) -> usize {
        self.0
    }

    fn evaluate(&self, _: &[f64], _: &mut [f64], _: Option<&mut [f64]>) -> bool {
        false
    }
}

impl RunningFit {
    /// With room for so many readings; `a_per_n` is cells·k·T/q in V.
    pub fn with_capacity(capacity: usize, swept: Swept, noise: Option<Noise>, a_per_n: f64) -> Self {
        let stated = noise.filter(Noise::states_scatter);
        let room = || Vec::with_capacity(capacity);
        let points = Points { voltage_v: room(), current_a: room(), sigma_v: room(), sigma_a: room() };
        let bounds = crate::fit::default_bounds(1, a_per_n);
        Self {
            residual: residual_for(noise.as_ref(), swept),
            stated,
            instrument: noise.unwrap_or_default(),
            a_per_n,
            points,
            descent: Descent::begin(&Room(capacity), &[0.0; FREE], &bounds),
            bounds,
            theta: [0.0; FREE],
            circuit: None,
            noise: stated.unwrap_or_default(),
            cost: f64::INFINITY,
            arrived: false,
            settled: false,
            dof: 0.0,
            scale: 1.0,
            suits: true,
            covariance: None,
            planning: None,
            common: [[0.0; FREE]; COMMON],
        }
    }

    /// Follows the readings.
    pub fn update(&mut self, readings: &Readings) {
        self.settled = false;
        self.load(readings, None);
        if self.points.voltage_v.len() < FEWEST {
            return;
        }
        self.descend_all();
        if self.stated.is_some_and(|n| n.is_proportional()) {
            self.weigh();
            self.cost = f64::INFINITY;
            self.descend(self.theta, true);
        }
        self.judge();
    }

    /// Goes on to the end of the descent that an update left unfinished.
    pub fn settle(&mut self) {
        if self.arrived || self.settled || self.circuit.is_none() {
            return;
        }
        for _ in 0..SETTLES {
            self.descend(self.theta, true);
            if self.arrived {
                break;
            }
        }
        // Where few readings leave a direction open the descent has no end: it stops here, so that asking again changes nothing.
        self.settled = true;
        self.judge();
    }

    /// The one reading without which one diode describes the others, and its standard deviations off their curve, by
    /// √(χ² − χ²ₖ); `None` where all of them suit, or where no single one explains it.
    pub fn contradiction(&mut self, readings: &Readings) -> Option<(usize, f64)> {
        if self.stated.is_none() || self.suits {
            return None;
        }
        self.settle();
        let n = self.points.voltage_v.len();
        if self.suits || self.dof < LEAVE_OUT.0 || n > LEAVE_OUT.1 {
            return None;
        }
        let (theta, circuit, cost, arrived) = (self.theta, self.circuit.take(), self.cost, self.arrived);
        let mut least = None::<(usize, f64)>;
        for k in (0..readings.len()).filter(|&k| readings.is_fitted(k)) {
            self.load(readings, Some(k));
            self.cost = f64::INFINITY;
            self.descend(theta, true);
            for (n, rs) in STARTS {
                if let Some(start) = self.start(n, rs) {
                    self.descend(start, false);
                }
            }
            self.descend(self.theta, true);
            if least.is_none_or(|(_, least)| self.cost < least) {
                least = Some((k, self.cost));
            }
        }
        (self.theta, self.circuit, self.cost, self.arrived) = (theta, circuit, cost, arrived);
        self.load(readings, None);
        let (k, left) = least?;
        let (deviations, dof) = ((cost - left).max(0.0).sqrt(), self.dof - 1.0);
        (is_chance(left / dof, dof) && deviations > CONTRADICTS).then_some((k, deviations))
    }

    /// The readings that count, without one, weighed.
    fn load(&mut self, readings: &Readings, without: Option<usize>) {
        self.points.voltage_v.clear();
        self.points.current_a.clear();
        for k in (0..readings.len()).filter(|&k| readings.is_fitted(k) && without != Some(k)) {
            self.points.voltage_v.push(readings.voltage_v[k]);
            self.points.current_a.push(readings.current_a[k]);
        }
        self.weigh();
    }

    fn weigh(&mut self) {
        let p = &mut self.points;
        self.noise = self.stated.unwrap_or_else(|| match self.residual {
            Residual::Voltage => Noise::default().voltage_v(UNSTATED * largest(&p.voltage_v)),
            _ => Noise::default().current_a(UNSTATED * largest(&p.current_a)),
        });
        p.sigma_v.clear();
        p.sigma_a.clear();
        let on_curve = self.circuit.as_ref().filter(|_| self.noise.is_proportional());
        for (&v, &a) in p.voltage_v.iter().zip(&p.current_a) {
            let (v, a) = match (on_curve, self.residual) {
                (Some(circuit), Residual::Voltage) => (finite_or(circuit.voltage_at(a), v), a),
                (Some(circuit), _) => (v, finite_or(circuit.current_at(v), a)),
                (None, _) => (v, a),
            };
            p.sigma_v.push(if self.residual == Residual::Current {
                0.0
            } else {
                self.noise.sigma_voltage(v)
            });
            p.sigma_a.push(if self.residual == Residual::Voltage {
                0.0
            } else {
                self.noise.sigma_current(a)
            });
        }
    }

    /// From where the last fit ended; with few readings, or where that does not suit, from other starts as well.
    fn descend_all(&mut self) {
        let former = self.circuit.is_some().then_some(self.theta);
        let n = self.points.voltage_v.len();
        let coarse = self.stated.is_none() && self.scale > COARSE;
        let alone = n > SEVERAL && self.suits && !coarse && !(n <= OFTEN && n.is_multiple_of(EVERY));
        self.cost = f64::INFINITY;
        if let Some(former) = former {
            self.descend(former, true);
        }
        if former.is_some() && alone {
            return;
        }
        // One other start an update, in turn, keeps its time bounded.
        let turn = n % STARTS.len();
        for (_, (n, rs)) in STARTS.iter().enumerate().filter(|(k, _)| former.is_none() || *k == turn) {
            if let Some(start) = self.start(*n, *rs) {
                self.descend(start, false);
            }
        }
    }

    /// Keeps the end of a descent from `start` where it is the lowest so far.
    fn descend(&mut self, start: [f64; FREE], former: bool) {
        let problem = Problem::<1> { points: &self.points, residual: self.residual };
        self.descent.restart(&problem, &start, &self.bounds);
        if former && self.points.voltage_v.len() > SEVERAL {
            self.descent.expect_close();
        }
        let most = (WORK / self.points.voltage_v.len()).clamp(STEPS.0, STEPS.1);
        let steps = if former { most } else { OTHER_STEPS };
        let mut arrived = false;
        for _ in 0..steps {
            arrived = !self.descent.advance(&problem, &self.bounds) || self.descent.has_little_left(ARRIVED);
            if arrived {
                break;
            }
        }
        if self.descent.cost() <= self.cost {
            self.arrived = arrived;
            self.cost = self.descent.cost();
            self.theta.copy_from_slice(self.descent.x());
            self.circuit = Some(Circuit::from_theta(&self.theta));
        }
    }

    /// θ of a device with the Isc and Voc that the readings show.
    fn start(&self, n: f64, rs: f64) -> Option<[f64; FREE]> {
        let (isc, voc) = shown_by(&self.points)?;
        let a = n * self.a_per_n;
        let largest = self.points.current_a.iter().fold(0.0f64, |m, i| m.max(*i));
        // A set current above Iph would leave the start without a voltage.
        let iph = (isc * (1.0 + rs * START_G)).max(1.001 * largest);
        let ln_i0 = isc.ln() - voc / a - (-(-voc / a).exp()).ln_1p();
        Some([iph, ln_i0, a.ln(), rs * voc / isc, START_G * isc / voc])
    }

    /// Covariance, noise, and whether one diode suits.
    fn judge(&mut self) {
        (self.covariance, self.planning) = (None, None);
        let Some(circuit) = self.circuit else { return };
        let n = self.points.voltage_v.len();
        self.dof = n.saturating_sub(FREE) as f64;
        let ratio = if self.dof > 0.0 { self.cost / self.dof } else { 1.0 };
        self.suits = self.stated.is_none() || self.dof < 1.0 || is_chance(ratio, self.dof);
        self.scale = match self.stated {
            Some(_) if self.suits => 1.0,
            None if self.dof < 1.0 => 1.0,
            _ => ratio.sqrt().max(f64::MIN_POSITIVE),
        };
        let weight = 1.0 / (self.scale * self.scale);
        let mut information = Information::none();
        let mut moved = [[0.0; FREE]; COMMON];
        for (&v, &a) in self.points.voltage_v.iter().zip(&self.points.current_a) {
            let set =
                if self.residual == Residual::Voltage { (Swept::Current, a) } else { (Swept::Voltage, v) };
            let Some(reading) = Reading::at_set_point(&circuit, set.0, set.1, &self.noise) else { continue };
            information.add(&reading.by_theta, weight);
            for (moved, by) in moved.iter_mut().zip(reading.by_common(&self.instrument)) {
                (0..FREE).for_each(|k| moved[k] += weight * reading.by_theta[k] * by);
            }
        }
        self.covariance = if n >= FREE { information.inverse() } else { None };
        let shift = |c: &Covariance<FREE>| moved.map(|m| c.times(&m).map(|x| -x));
        self.common = self.covariance.as_ref().map_or([[0.0; FREE]; COMMON], shift);
        let (isc, voc) = shown_by(&self.points).unwrap_or((1.0, 1.0));
        let unit = [isc, 1.0, 1.0, voc / isc, isc / voc];
        (0..FREE).for_each(|k| information.add_to(k, (BEFORE[k] * unit[k]).powi(-2)));
        self.planning = information.inverse();
    }

    /// The circuit of the last update.
    pub fn circuit(&self) -> Option<&Circuit<1>> {
        self.circuit.as_ref()
    }

    /// Covariance of θ; `None` where the readings leave no degree of freedom, or do not determine θ.
    pub fn covariance(&self) -> Option<&Covariance<FREE>> {
        self.covariance.as_ref().filter(|_| self.stated.is_some() || self.dof >= 1.0)
    }

    /// The same with a vague idea of what devices there are, for planning.
    pub fn planning(&self) -> Option<&Covariance<FREE>> {
        self.planning.as_ref()
    }

    /// By how much one standard uncertainty of each source that is common to all readings moves θ.
    pub fn common(&self) -> &[[f64; FREE]; COMMON] {
        &self.common
    }

    /// Degrees of freedom behind the ±.
    pub fn dof(&self) -> f64 {
        if self.stated.is_some() && self.suits { self.stated.map_or(0.0, |n| n.dof()) } else { self.dof }
    }

    /// Whether the noise is stated, rather than taken from the scatter.
    pub fn noise_is_stated(&self) -> bool {
        self.stated.is_some()
    }

    /// Readings fitted less parameters.
    pub fn surplus(&self) -> f64 {
        self.dof
    }

    /// Whether the readings lie about the curve as their noise says.
    pub fn suits(&self) -> bool {
        self.suits
    }

    /// Noise of the readings times what they scatter beyond it.
    pub fn noise(&self) -> (&Noise, f64) {
        (&self.noise, self.scale)
    }

    /// A key point and its derivatives by θ.
    pub fn figure(&self, point: KeyPoint) -> Option<(f64, [f64; FREE])> {
        figure_by_theta(Figure::KeyPoint(point), self.lit()?, self.a_per_n, &[false; FREE])
    }

    /// Isc, Voc, Pmax, V_Pmax and I_Pmax and their derivatives by θ; `None` where one of them is no number.
    pub fn figures(&self) -> Option<([f64; 5], [[f64; FREE]; 5])> {
        let (values, rows) = self.lit().filter(|c| !c.is_dark())?.key_points_by_theta();
        let rows = rows.map(|row| std::array::from_fn(|k| row[k]));
        let whole = values.iter().chain(rows.iter().flatten()).all(|x| x.is_finite());
        whole.then_some((values, rows))
    }

    fn lit(&self) -> Option<&Circuit<1>> {
        self.circuit.as_ref().filter(|c| c.iph > 0.0)
    }

    /// Standard deviations between a reading and the curve, of both together; `None` before the curve is known.
    pub fn deviations(&self, voltage_v: f64, current_a: f64) -> Option<f64> {
        let (circuit, covariance) = (self.circuit.as_ref()?, self.covariance()?);
        if self.dof < 3.0 {
            return None;
        }
        // Where the curve is steep it is known better along one axis than along the other.
        let along = |swept: Swept, value: f64| {
            let on = Reading::at_set_point(circuit, swept, value, &self.noise)?;
            let off =
                on.by_reading.0 * (voltage_v - on.voltage_v) + on.by_reading.1 * (current_a - on.current_a);
            Some(off.abs() / self.scale.hypot(covariance.variance(&on.by_theta).sqrt()))
        };
        let both = [along(Swept::Voltage, voltage_v), along(Swept::Current, current_a)];
        both.into_iter().flatten().min_by(f64::total_cmp)
    }
}

fn finite_or(x: f64, other: f64) -> f64 {
    if x.is_finite() { x } else { other }
}

/// Isc and Voc as the readings show them at once; `None` where they show no power.
fn shown_by(points: &Points) -> Option<(f64, f64)> {
    let pairs = || points.voltage_v.iter().zip(&points.current_a);
    let isc = pairs().fold(0.0f64, |m, (_, i)| m.max(*i));
    let (mut below, mut above) = ((0.0f64, isc), None::<(f64, f64)>);
    for (&v, &i) in pairs() {
        if i > 0.0 && v > below.0 {
            below = (v, i);
        }
        if i <= 0.0 && v > 0.0 && above.is_none_or(|(at, _)| v < at) {
            above = Some((v, i));
        }
    }
    let voc = match above {
        Some((v, i)) if v > below.0 => below.0 + (v - below.0) * below.1 / (below.1 - i),
        Some((v, _)) => 0.5 * (v + below.0),
        None => below.0,
    };
    (isc > 0.0 && voc > 0.0).then_some((isc, voc))
}

/// Whether χ²/ν is no more than chance.
fn is_chance(ratio: f64, dof: f64) -> bool {
    deviate(ratio, dof, f64::INFINITY) < SUITS
}
