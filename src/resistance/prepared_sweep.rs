//! A sweep made ready: readings by rising voltage with their scatter, and the diode curve nearest to them.
//!
//! The fitted diode serves as a *stand-in* only: an estimator is applied to the stand-in's own curve at the
//! places of the readings, and what it makes wrong of the known answer is its truncation.
//!
//! ```text
//! bias = estimator(curve of the stand-in) − true value of the stand-in
//! ```

use super::doubt::Doubt;
use super::error::ResistanceError;
use crate::curve::{Readings, Scatter, Stated};
use crate::diode::{Circuit, Junction, thermal_voltage_v};
use crate::fit::{Fit, Options, Parameter, Residual, Status, Wishes, fit_single_diode};
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::KeyPoints;
use crate::quantity::reason::Reason;
use crate::sweep::{Sweep, runs};
use std::ops::Range;

/// Readings by rising voltage in V and A, with standard deviations.
#[derive(Clone, Debug)]
pub(super) struct Trace {
    pub v: Vec<f64>,
    pub i: Vec<f64>,
    pub sigma_v: Vec<f64>,
    pub sigma_i: Vec<f64>,
    /// Degrees of freedom behind the deviations; infinite when stated.
    pub dof: f64,
    /// Why there is no ±, where the scatter is neither stated nor found.
    pub unknown: Option<Reason>,
    /// Relative standard uncertainty of any ratio V/I from the gains of both axes.
    pub gain_u: f64,
    /// Standard uncertainty of a current offset common to all readings, in A.
    pub offset_u: f64,
    /// n = 1 in volts: cells·k·T/q.
    pub volts_per_n: f64,
    pub circuit: Circuit<1>,
    pub isc: f64,
    pub voc: f64,
}

/// A sweep with its fit, its key points and its [`Trace`].
pub(super) struct Prepared {
    pub fit: Fit<1>,
    pub points: KeyPoints,
    pub trace: Trace,
}

impl Prepared {
    /// Fits and orders `sweep`; a dark one has no photocurrent.
    pub fn of(sweep: &Sweep, dark: bool) -> Result<Self, ResistanceError> {
        let wishes = Wishes::default();
        let wishes = if dark { wishes.fix(Parameter::Iph, 0.0) } else { wishes };
        let fit = fit_single_diode(sweep, &Options::default().wishes(wishes))?;
        let mut points = crate::curve::key_points(sweep);
        let trace = Trace::of(sweep, &fit)?;
        Self::isc_of(&mut points, &fit, &trace);
        Ok(Self { fit, points, trace })
    }

    /// Isc: where the voltages were read, the flat part of the curve is a few readings far apart, and the fit's is taken.
    fn isc_of(points: &mut KeyPoints, fit: &Fit<1>, trace: &Trace) {
        if !trace.reads_voltage() || fit.status == Status::NotConverged {
            return;
        }
        if let Some(isc) = fit.key_points().isc.as_ref().filter(|isc| isc.u.is_some()) {
            points.isc = Some(isc.clone());
        }
    }

    /// A key point with a ± or without, or the reason why it is absent.
    pub fn key_point(&self, figure: &'static str) -> Result<&Estimate, ResistanceError> {
        self.points.get(figure).ok_or_else(|| ResistanceError::NoKeyPoint {
            figure,
            why: self.points.why_absent(figure).cloned().unwrap_or(Reason::Unrecorded),
        })
    }

    /// A doubt about the stand-in itself.
    pub fn doubt(&self) -> Option<Doubt> {
        (self.fit.status == Status::NotConverged).then_some(Doubt::NoStandIn)
    }

    /// What the residuals of the fit say against the diode.
    pub fn lack_of_fit(&self) -> impl Iterator<Item = Doubt> {
        self.fit.lack_of_fit().into_iter().map(|note| Doubt::LackOfFit { note })
    }
}

impl Trace {
    fn of(sweep: &Sweep, fit: &Fit<1>) -> Result<Self, ResistanceError> {
        let circuit = *fit.model.circuit();
        let options = sweep.options();
        let readings =
            Readings::new(sweep.voltage_v(), sweep.current_a(), 1.0).ok_or(ResistanceError::NoCurve)?;
        let noise = options.noise.unwrap_or_default();
        let (_, scatter) =
            Stated::with(&noise, options.swept, |stated| Scatter::with_bend_curve(&readings, stated));
        let (unit_v, unit_a) = (readings.unit_v, readings.unit_a);
        let times = |x: &[f64], unit: f64| x.iter().map(|x| x * unit).collect::<Vec<f64>>();
        let trace = Self {
            v: times(&readings.voltage, unit_v),
            i: times(&readings.current, unit_a),
            sigma_v: times(&scatter.voltage, unit_v),
            sigma_i: times(&scatter.current, unit_a),
            dof: scatter.dof,
            unknown: scatter.unknown,
            gain_u: noise.voltage_gain_u.hypot(noise.current_gain_u),
            offset_u: noise.current_offset_u,
            volts_per_n: thermal_voltage_v(1.0, options.cells, options.temperature_c),
            isc: circuit.isc(),
            voc: circuit.voc(),
            circuit,
        };
        Ok(if trace.unknown.is_some() { trace.with_scatter_about(fit) } else { trace })
    }

    /// The even scatter of the axis that was read about the fitted diode, where the readings themselves show none (a
    /// dark sweep of set currents has no stretch that a polynomial follows) and the fit shows no pattern.
    fn with_scatter_about(self, fit: &Fit<1>) -> Self {
        let (dof, reads) = (fit.dof as f64, fit.residual);
        let sigma = (fit.residuals.iter().map(|r| r * r).sum::<f64>() / dof).sqrt();
        if !(dof >= 1.0 && sigma > 0.0 && sigma.is_finite() && fit.lack_of_fit().is_empty()) {
            return self;
        }
        let (this, other) = (vec![sigma; self.len()], vec![0.0; self.len()]);
        match reads {
            Residual::Current => Self { sigma_i: this, sigma_v: other, dof, unknown: None, ..self },
            Residual::Voltage => Self { sigma_v: this, sigma_i: other, dof, unknown: None, ..self },
            _ => self,
        }
    }

    pub fn len(&self) -> usize {
        self.v.len()
    }

    /// Whether the currents were set and the voltages read.
    pub fn reads_voltage(&self) -> bool {
        self.sigma_i.iter().all(|s| *s == 0.0) && self.sigma_v.iter().any(|s| *s > 0.0)
    }

    /// The stand-in's own curve at the values that were set, with the scatter of the readings.
    pub fn ideal(&self) -> Self {
        if self.reads_voltage() {
            let v: Vec<f64> = self.i.iter().map(|i| self.circuit.voltage_at(*i)).collect();
            // Without a shunt it may carry less current than a reading: the voltages stay then.
            if v.iter().all(|v| v.is_finite()) {
                return Self { v, ..self.clone() };
            }
        }
        Self { i: self.expected(), ..self.clone() }
    }

    /// The readings by falling current, the order in which scatter on the voltage puts none before its neighbour.
    pub fn by_falling_current(&self) -> Self {
        let mut order: Vec<usize> = (0..self.len()).collect();
        order.sort_by(|&a, &b| self.i[b].total_cmp(&self.i[a]));
        self.pick(&order)
    }

    /// The figure without its ± where the scatter is not known.
    pub fn as_far_as_known(&self, figure: Estimate) -> Estimate {
        match &self.unknown {
            Some(why) => Estimate { u: None, notes: vec![why.clone()], ..figure },
            None => figure,
        }
    }

    /// What one standard uncertainty of the current offset does to a figure whose value is `value`.
    pub fn through_offset(&self, value: f64, figure: impl Fn(&Self) -> Option<f64>) -> f64 {
        if self.offset_u == 0.0 {
            return 0.0;
        }
        let moved = |sign: f64| {
            let i = self.i.iter().map(|i| i + sign * self.offset_u).collect();
            figure(&Self { i, ..self.clone() }).map_or(0.0, |f| (f - value).abs())
        };
        moved(1.0).max(moved(-1.0))
    }

    /// Some of the readings.
    pub fn cut(&self, span: Range<usize>) -> Self {
        let part = |x: &[f64]| x[span.clone()].to_vec();
        Self {
            v: part(&self.v),
            i: part(&self.i),
            sigma_v: part(&self.sigma_v),
            sigma_i: part(&self.sigma_i),
            unknown: self.unknown.clone(),
            ..*self
        }
    }

    /// The readings of the given places.
    pub fn pick(&self, places: &[usize]) -> Self {
        let of = |x: &[f64]| places.iter().map(|&k| x[k]).collect();
        Self {
            v: of(&self.v),
            i: of(&self.i),
            sigma_v: of(&self.sigma_v),
            sigma_i: of(&self.sigma_i),
            unknown: self.unknown.clone(),
            ..*self
        }
    }

    /// Means of successive readings by the quantity that was set, `most` of them at most, each with the deviation of a
    /// mean; the readings themselves where there are no more. What is averaged is the difference from the stand-in, so
    /// that its bend within a mean moves none.
    pub fn thinned(&self, most: usize) -> Self {
        if self.len() <= most {
            return self.clone();
        }
        let on_voltage = self.reads_voltage();
        let ordered = if on_voltage { self.by_falling_current() } else { self.clone() };
        let (set, read) = if on_voltage { (&ordered.i, &ordered.v) } else { (&ordered.v, &ordered.i) };
        let at = |x: f64| if on_voltage { self.circuit.voltage_at(x) } else { self.circuit.current_at(x) };
        let stand_in: Vec<f64> = set.iter().map(|x| at(*x)).collect();
        // Voltages that were read may stand in any order: the stand-in's at the currents that were set rise.
        let groups = runs(if on_voltage { &stand_in } else { set }, most);
        let each = |f: &dyn Fn(&Range<usize>) -> f64| groups.iter().map(f).collect::<Vec<f64>>();
        let mean = |x: &[f64], g: &Range<usize>| x[g.clone()].iter().sum::<f64>() / g.len() as f64;
        let off: Vec<f64> = read.iter().zip(&stand_in).map(|(y, s)| y - s).collect();
        let set_means = each(&|g| mean(set, g));
        let read_means = each(&|g| {
            let about = at(mean(set, g)) + mean(&off, g);
            if about.is_finite() { about } else { mean(read, g) }
        });
        let deviations =
            |x: &[f64]| each(&|g| x[g.clone()].iter().map(|s| s * s).sum::<f64>().sqrt() / g.len() as f64);
        let (sigma_v, sigma_i) = (deviations(&ordered.sigma_v), deviations(&ordered.sigma_i));
        let (v, i) = if on_voltage { (read_means, set_means) } else { (set_means, read_means) };
        Self { v, i, sigma_v, sigma_i, ..ordered }
    }

    /// The current of the stand-in at each voltage: what a reading should be.
    pub fn expected(&self) -> Vec<f64> {
        self.v.iter().map(|&v| self.circuit.current_at(v)).collect()
    }
}
