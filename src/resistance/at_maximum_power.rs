//! Rs from the distance between the lit curve and one without its series drop, at maximum power.
//!
//! ```text
//! lit      Vm = h(Isc − Im) − Rs·Im                 h(Δ): junction voltage at diode current Δ
//! dark     Vd = h(Isc − Im) + Rs·(Isc − Im)         so Rs = (Vd − Vm)/Isc
//! implied  Vp = h(Isc − Im)  at suns = 1 − Im/Isc   so Rs = (Vp − Vm)/Im
//! ```
//!
//! A. G. Aberle, S. R. Wenham, M. A. Green, 23rd IEEE PVSC (1993) 133 (from memory) divide by Im and correct for
//! the drop in the dark; with the same Rs in both this is (Vd − Vm)/Isc. The place is fixed beforehand on the axis that
//! was set, so that its own uncertainty does not enter: Vm where the current was read, Im where the voltage was. Only
//! the other of the two, Isc and the voltage of the other curve scatter,
//!
//! ```text
//! u² = (∂R/∂V)²·u²(V) + (∂R/∂Vm)²·u²(Vm) + (∂R/∂Im)²·u²(Im) + (∂R/∂Isc)²·u²(Isc)
//! ```

use super::error::ResistanceError;
use super::estimated::{Raw, Resistance, Words};
use super::local_line::local_best;
use super::local_line::{Columns, Local};
use super::prepared_sweep::{Prepared, Trace};
use super::quantity::Quantity;
use super::suns_voc::Implied;
use super::window_selection::Trial;
use crate::curve::nearest;
use crate::diode::Junction;
use crate::quantity::estimate::Estimate;
use crate::quantity::key_points::combined_dof;

/// The dark curve is used from this part of the target current on.
const LEAST: f64 = 0.2;

/// … and where the current is this many of its standard deviations.
const CLEAR: f64 = 6.0;

const DARK: Words = Words {
    quantity: Quantity::Series,
    method: "lit against dark",
    measures: "lumped, at maximum power; dark and light resistance taken as equal",
    source: "A. G. Aberle, S. R. Wenham, M. A. Green, 23rd IEEE PVSC (1993) 133",
};

const IMPLIED: Words = Words {
    method: "lit against implied voltage",
    measures: "lumped, at maximum power under light",
    source: "common practice; voltages at open circuit over irradiance carry no series drop",
    ..DARK
};

/// Rs of a lit and a dark sweep.
pub(super) fn lit_against_dark(lit: &Prepared, dark: &Prepared) -> Result<Resistance, ResistanceError> {
    let place = Place::of(lit)?;
    let (target, d) = (place.isc.value - place.current.value, &dark.trace);
    let far = -d.i.iter().copied().fold(f64::INFINITY, f64::min);
    if target <= 0.0 || far < target {
        return Err(ResistanceError::DarkTooShort { far_a: far, target_a: target });
    }
    let voltage = dark_voltage(d, target)?;
    let figure = |v: f64, v_m: f64, _: f64, isc: f64| (v - v_m) / isc;
    // The stand-in in the light and in the dark: what unequal Iph and Isc make wrong.
    let c = lit.trace.circuit;
    let (isc, top) = (c.isc(), c.maximum_power());
    let mut night = c;
    night.iph = 0.0;
    let principle = figure(night.voltage_at(top.i_pmax - isc), top.v_pmax, top.i_pmax, isc) - c.rs;
    place.finish(lit, (&voltage, d), (&figure, principle), DARK)
}

/// Rs of a lit sweep and voltages at open circuit over irradiance.
pub(super) fn lit_against_implied(lit: &Prepared, implied: &Implied) -> Result<Resistance, ResistanceError> {
    let place = Place::of(lit)?;
    let suns = 1.0 - place.current.value / place.isc.value;
    let (voltage, dof) = implied.voltage_at(suns)?;
    let figure = |v: f64, v_m: f64, i_m: f64, _: f64| (v - v_m) / i_m;
    let c = lit.trace.circuit;
    let (isc, top) = (c.isc(), c.maximum_power());
    let mut dimmed = c;
    dimmed.iph *= 1.0 - top.i_pmax / isc;
    let principle = figure(dimmed.voc(), top.v_pmax, top.i_pmax, isc) - c.rs;
    // The slope by suns becomes one by I: ds = −dIm/Isc.
    let by_current = Local { slope: voltage.slope / place.isc.value, ..voltage };
    let other = Trace { dof, ..lit.trace.clone() };
    place.finish(lit, (&by_current, &other), (&figure, principle), IMPLIED)
}

/// The point of maximum power: one of the two is the stand-in's, the other was read there.
struct Place {
    volts: Trial,
    current: Trial,
    isc: Estimate,
}

impl Place {
    fn of(lit: &Prepared) -> Result<Self, ResistanceError> {
        let isc = lit.key_point("isc")?.clone();
        let t = &lit.trace;
        // The place is the stand-in's: a maximum found in the readings near it would favour those that scatter up.
        let top = t.circuit.maximum_power();
        let exact = |x: f64| Trial::plain(x, 0.0, 0.0);
        let region = "around maximum power";
        let few = || ResistanceError::TooFewPoints { region, given: t.len(), needed: 4 };
        if t.reads_voltage() {
            let volts = read_at(t, top.i_pmax, top.v_pmax, true).ok_or_else(few)?;
            return Ok(Self { volts, current: exact(top.i_pmax), isc });
        }
        let current = read_at(t, top.v_pmax, top.i_pmax, false).ok_or_else(few)?;
        Ok(Self { volts: exact(top.v_pmax), current, isc })
    }

    /// R with its uncertainty; the other curve, with its trace, is read where its diode current is Isc − Im. `figure` is R
    /// of the voltage there, Vm, Im and Isc, with what the method makes wrong of the stand-in.
    fn finish(
        &self,
        lit: &Prepared,
        (voltage, other): (&Local, &Trace),
        (figure, principle): (&dyn Fn(f64, f64, f64, f64) -> f64, f64),
        words: Words,
    ) -> Result<Resistance, ResistanceError> {
        let (v, v_m, i_m, isc) = (voltage.value, self.volts.value, self.current.value, self.isc.value);
        let value = figure(v, v_m, i_m, isc);
        let moved = |[dv, dm, di, ds]: [f64; 4]| {
            let shift = voltage.slope * (ds - di);
            figure(v + dv + shift, v_m + dm, i_m + di, isc + ds) - value
        };
        let u = [
            voltage.variance.sqrt(),
            self.volts.variance.sqrt(),
            self.current.variance.sqrt(),
            self.isc.u.unwrap_or(0.0),
        ];
        let dofs = [other.dof, lit.trace.dof, lit.trace.dof, self.isc.dof];
        let alone = |k: usize, x: f64| moved(std::array::from_fn(|j| if j == k { x } else { 0.0 }));
        let parts: Vec<(f64, f64)> = (0..4).map(|k| (alone(k, u[k]).powi(2), dofs[k])).collect();
        let (variance, dof) = (parts.iter().map(|p| p.0).sum(), combined_dof(&parts));
        let bias = principle + moved([0.0, self.volts.bias, self.current.bias, 0.0]);
        let doubts = lit.doubt().into_iter().collect();
        let mut trace = lit.trace.clone();
        trace.unknown = trace.unknown.or_else(|| other.unknown.clone());
        Raw { value, variance, dof, bias, doubts }.dress(words, &trace)
    }
}

/// The quantity that was read where the other is `at`; `truth` is the stand-in's.
fn read_at(t: &Trace, at: f64, truth: f64, voltage: bool) -> Option<Trial> {
    let order = |t: &Trace| if voltage { t.by_falling_current() } else { t.clone() };
    let (real, ideal) = (order(t), order(&t.ideal()));
    let local = |t: &Trace, span: std::ops::Range<usize>, degree: usize| {
        let cut = t.cut(span);
        let (mut x, mut y, mut sigma_x, mut sigma_y) = (&cut.v, &cut.i, &cut.sigma_v, &cut.sigma_i);
        if voltage {
            (x, y, sigma_x, sigma_y) = (y, x, sigma_y, sigma_x);
        }
        Columns { x, y, sigma_x, sigma_y }.at(at, degree)
    };
    let centres: Vec<f64> = if voltage { real.i.iter().map(|i| -i).collect() } else { real.v.clone() };
    let centre = if voltage { -at } else { at };
    let (local, bias) = local_best(
        t.len(),
        |span, degree| {
            Some((local(&real, span.clone(), degree)?, local(&ideal, span, degree)?.value - truth))
        },
        |count| nearest(&centres, centre, count),
    )?;
    Some(Trial::plain(local.value, local.variance, bias))
}

/// V of a dark sweep where its forward current is `target`, by V on ln I.
fn dark_voltage(dark: &Trace, target: f64) -> Result<Local, ResistanceError> {
    let forward: Vec<f64> = dark.i.iter().map(|i| -i).collect();
    let expected: Vec<f64> = dark.expected().iter().map(|i| -i).collect();
    // Readings well below the target, or in the noise, have no logarithm worth using.
    let usable = |k: usize| expected[k] >= (LEAST * target).max(CLEAR * dark.sigma_i[k]) && forward[k] > 0.0;
    let first = (0..dark.len()).rev().take_while(|&k| usable(k)).last().unwrap_or(dark.len());
    let region = "of clear dark current around Isc − I_Pmax";
    let few = ResistanceError::TooFewPoints { region, given: dark.len() - first, needed: 4 };
    if expected.get(first).is_none_or(|i| *i > target) {
        return Err(few);
    }
    let cut = dark.cut(first..dark.len());
    let truth = dark.circuit.voltage_at(-target);
    let at = |cut: &Trace, degree: usize| {
        let x: Vec<f64> = cut.i.iter().map(|i| -i).collect();
        Columns { x: &x, y: &cut.v, sigma_x: &cut.sigma_i, sigma_y: &cut.sigma_v }
            .at_logarithm(target, degree)
    };
    let centres: Vec<f64> = expected[first..].to_vec();
    let (local, bias) = local_best(
        cut.len(),
        |span, degree| {
            let cut = cut.cut(span);
            Some((at(&cut, degree)?, at(&cut.ideal(), degree)?.value - truth))
        },
        |count| nearest(&centres, target, count),
    )
    .ok_or(few)?;
    Ok(Local { variance: local.variance + bias * bias, ..local })
}
