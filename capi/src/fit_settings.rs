//! How to fit: residual, what to fix, to bound and to start from, budget and deadline.

use crate::choices::{NOISE_SCALE, PARAMETER, RESIDUAL};
use crate::interface::interface;
use crate::misuse::{Answer, Outcome};
use crate::pointers::Out;
use crate::work::{duration, edit, give};
use litdiode::fit::{Options, Wishes};
use std::sync::Arc;

fn wish(settings: u64, by: impl FnOnce(Wishes) -> Wishes) -> Outcome {
    edit("settings", settings, |options: Options| {
        let wishes = by(options.wishes.clone());
        options.wishes(wishes)
    })
}

interface! {
    /// Settings as they are where nothing is said: the residual by the noise that is stated, all parameters free within
    /// their physical bounds, the budget of docs/speed.md. What they hold is checked by `litdiode_fit_new`.
    fn litdiode_fit_settings_new(settings: Out<u64>) {
        give("settings", settings, || Ok(Arc::new(Options::default())))?;
        Ok(Answer::Done)
    }

    /// The distance that is made small.
    fn litdiode_fit_settings_residual(settings: u64, residual: i32) {
        let residual = RESIDUAL.of(residual)?;
        edit("settings", settings, |mut options: Options| {
            options.residual = residual;
            options
        })
    }

    /// Where the size of the noise comes from.
    fn litdiode_fit_settings_noise_scale(settings: u64, noise_scale: i32) {
        let scale = NOISE_SCALE.of(noise_scale)?;
        edit("settings", settings, |options: Options| options.noise_scale(scale))
    }

    /// Holds a parameter at an SI value.
    fn litdiode_fit_settings_fix(settings: u64, parameter: i32, value: f64) {
        let parameter = PARAMETER.of(parameter)?;
        wish(settings, |wishes| wishes.fix(parameter, value))
    }

    /// Keeps a parameter between two SI values.
    fn litdiode_fit_settings_bounds(settings: u64, parameter: i32, low: f64, high: f64) {
        let parameter = PARAMETER.of(parameter)?;
        wish(settings, |wishes| wishes.bounds(parameter, low, high))
    }

    /// An SI value that a parameter starts from.
    fn litdiode_fit_settings_start(settings: u64, parameter: i32, value: f64) {
        let parameter = PARAMETER.of(parameter)?;
        wish(settings, |wishes| wishes.start(parameter, value))
    }

    /// How often the residuals may be evaluated, 0 for the budget of docs/speed.md, and how many seconds a fit may take, NaN or
    /// infinite for any. A fit that uses one of them up is LITDIODE_FIT_NOT_CONVERGED and holds its best state.
    fn litdiode_fit_settings_budget(settings: u64, most_evaluations: usize, deadline_s: f64) {
        let deadline = duration("deadline_s", deadline_s)?;
        edit("settings", settings, |mut options: Options| {
            options.most_evaluations = (most_evaluations > 0).then_some(most_evaluations);
            options.deadline = deadline;
            options
        })
    }
}
