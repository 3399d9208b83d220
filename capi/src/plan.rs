//! Which set points the next sweep should take, and how many a wanted uncertainty takes.

use crate::choices::{NOISE_PART, PARAMETER, PLAN_METHOD, SWEPT, figure};
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault, Misuse};
use crate::objects::{Fitted, Model, Models, Object};
use crate::pointers::{Out, buffer};
use crate::work::{ABSENT, edit, give, optional, place, under};
use litdiode::code::Coded;
use litdiode::diode::Devices;
use litdiode::plan::{Expected, Limits, Plan, PlanOptions, plan_sweep, points_needed};
use litdiode::reason::Reason;
use std::sync::Arc;

fn get(plan: u64) -> Result<Arc<Plan>, Fault> {
    handles::get("plan", plan)
}

fn all<const K: usize>(devices: &Devices<K>) -> Vec<litdiode::diode::Device<K>> {
    (0..devices.count()).filter_map(|k| devices.device(k)).collect()
}

/// The device of a model, of several, or of a fit.
fn expected(handle: u64) -> Result<Expected, Fault> {
    const WANTED: &str = "a model, models of many devices or a fit";
    Ok(match handles::object("expected", handle)? {
        Object::Model(Model::One(model)) => Expected::one_diode(&[model])?,
        Object::Model(Model::Two(model)) => Expected::two_diodes(&[model])?,
        Object::Models(models) => match &*models {
            Models::One(devices) => Expected::one_diode(&all(devices))?,
            Models::Two(devices) => Expected::two_diodes(&all(devices))?,
        },
        Object::Fit(fit) => match &*fit {
            Fitted::One(fit) => Expected::one_diode_fitted(fit),
            Fitted::Two(fit) => Expected::two_diodes_fitted(fit),
        },
        other => {
            let (argument, found) = ("expected", other.name());
            return Err(Misuse::WrongKind { argument, handle, found, wanted: WANTED }.into());
        }
    })
}

interface! {
    /// Settings as they are where nothing is said: 25 voltages for the fill factor of the model, no limits. What they hold is
    /// checked by `litdiode_plan_new`.
    fn litdiode_plan_settings_new(settings: Out<u64>) {
        give("settings", settings, || Ok(Arc::new(PlanOptions::default())))?;
        Ok(Answer::Done)
    }

    /// The number of set points, the quantity that is set, and the step of the source in V or A, 0 for none.
    fn litdiode_plan_settings_points(settings: u64, points: usize, swept: i32, step: f64) {
        let swept = SWEPT.of(swept)?;
        edit("settings", settings, |options: PlanOptions| options.points(points).swept(swept).step(step))
    }

    /// A part of the noise of the instrument, a standard uncertainty; without it the noise is that of the sweep of a fit.
    fn litdiode_plan_settings_noise(settings: u64, part: i32, value: f64) {
        let set = NOISE_PART.of(part)?;
        edit("settings", settings, |options: PlanOptions| {
            let noise = set(options.noise.unwrap_or_default(), value);
            options.noise(noise)
        })
    }

    /// The key point or the parameter whose uncertainty is made small, and by which method.
    fn litdiode_plan_settings_target(settings: u64, figure: i32, method: i32) {
        let (target, method) = (self::figure(figure)?, PLAN_METHOD.of(method)?);
        edit("settings", settings, |options: PlanOptions| options.target(target).method(method))
    }

    /// What every set point keeps to: voltages in V, currents in A, the largest |V·I| in W; infinite for no limit.
    fn litdiode_plan_settings_limits(
        settings: u64,
        low_v: f64,
        high_v: f64,
        low_a: f64,
        high_a: f64,
        power_w: f64,
    ) {
        let limits = Limits { voltage_v: (low_v, high_v), current_a: (low_a, high_a), power_w };
        edit("settings", settings, |options: PlanOptions| options.limits(limits))
    }

    /// By what share the device may be off in the quantity that is set, NaN where nothing is known.
    fn litdiode_plan_settings_spread(settings: u64, spread: f64) {
        edit("settings", settings, |options: PlanOptions| options.spread(optional(spread)))
    }

    /// One more parameter that the fit will hold.
    fn litdiode_plan_settings_fix(settings: u64, parameter: i32) {
        let parameter = PARAMETER.of(parameter)?;
        edit("settings", settings, |mut options: PlanOptions| {
            options.fix.push(parameter);
            options
        })
    }

    /// The set points of the next sweep of the expected device: a model, models of many devices that one plan should serve, or
    /// a fit. `settings` may be 0.
    fn litdiode_plan_new(expected: u64, settings: u64, cancel: u64, plan: Out<u64>) {
        give("plan", plan, || {
            let expected = self::expected(expected)?;
            let options = handles::optional::<Arc<PlanOptions>>("settings", settings)?.unwrap_or_default();
            Ok(Arc::new(under(cancel, || plan_sweep(&expected, &options))??))
        })?;
        Ok(Answer::Done)
    }

    /// The number of set points and of notes of a plan.
    fn litdiode_plan_counts(plan: u64, points: Out<usize>, notes: Out<usize>) {
        let plan = get(plan)?;
        points.set("points", plan.set_points.len())?;
        notes.set("notes", plan.notes.len())?;
        Ok(Answer::Done)
    }

    /// What to set, rising, in V or A, and the voltages in V and currents in A that the expected device would show there.
    fn litdiode_plan_points(
        plan: u64,
        set_points: Out<f64>,
        set_points_capacity: usize,
        voltage_v: Out<f64>,
        voltage_capacity: usize,
        current_a: Out<f64>,
        current_capacity: usize,
    ) {
        let plan = get(plan)?;
        buffer!(set_points, set_points_capacity).fill(&plan.set_points)?;
        buffer!(voltage_v, voltage_capacity).fill(&plan.voltage_v)?;
        buffer!(current_a, current_capacity).fill(&plan.current_a)?;
        Ok(Answer::Done)
    }

    /// A figure of the expected device, and the standard uncertainty that readings would give it: at the planned set points, at
    /// as many in equal steps of the voltage, of the current; NaN where they leave it open.
    fn litdiode_plan_figure(
        plan: u64,
        figure: i32,
        value: Out<f64>,
        u: Out<f64>,
        u_equal_voltage: Out<f64>,
        u_equal_current: Out<f64>,
    ) {
        let (plan, figure) = (get(plan)?, self::figure(figure)?);
        let found = plan.figures.iter().find(|one| one.figure == figure);
        let found = found.ok_or_else(|| Reason::NoFigure { figure: figure.name().into() })?;
        value.set("value", found.value)?;
        u.set("u", found.u.unwrap_or(ABSENT))?;
        u_equal_voltage.set("u_equal_voltage", found.u_equal_voltage.unwrap_or(ABSENT))?;
        u_equal_current.set("u_equal_current", found.u_equal_current.unwrap_or(ABSENT))?;
        Ok(Answer::Done)
    }

    /// Note `index` as text, and its number.
    fn litdiode_plan_note(plan: u64, index: usize, number: Out<i32>) {
        let plan = get(plan)?;
        let note = place(&plan.notes, "index", index, "notes")?;
        number.set("number", note.code().into())?;
        Ok(Answer::Text(note.to_string()))
    }

    /// How many set points the relative standard uncertainty `wanted` of the target takes: planned, in equal steps of the
    /// voltage, of the current, and how many repeats of the plan; 0 where no number does. `settings` may be 0.
    fn litdiode_points_needed(
        expected: u64,
        wanted: f64,
        settings: u64,
        cancel: u64,
        planned: Out<usize>,
        equal_voltage: Out<usize>,
        equal_current: Out<usize>,
        repeats: Out<usize>,
    ) {
        let expected = self::expected(expected)?;
        let options = handles::optional::<Arc<PlanOptions>>("settings", settings)?.unwrap_or_default();
        let found = under(cancel, || points_needed(&expected, wanted, &options))??;
        planned.set("planned", found.planned.unwrap_or(0))?;
        equal_voltage.set("equal_voltage", found.equal_voltage.unwrap_or(0))?;
        equal_current.set("equal_current", found.equal_current.unwrap_or(0))?;
        repeats.set("repeats", found.repeats.unwrap_or(0))?;
        Ok(Answer::Done)
    }
}
