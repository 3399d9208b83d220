//! Diode fits: parameters, covariance, status, notes, intervals, key points.

use crate::choices::{INTERVAL, IntervalMethod, PARAMETER, figure};
use crate::handles;
use crate::interface::interface;
use crate::key_points::write_matrix;
use crate::misuse::{Answer, Fault, Misuse};
use crate::objects::{Fitted, Model, on};
use crate::pointers::{Out, buffer};
use crate::work::{check_level, give, place, under, write_estimate, write_interval};
use litdiode::code::Coded;
use litdiode::estimate::Interval;
use litdiode::fit::{Figure, Fit, Options, fit_double_diode, fit_single_diode};
use litdiode::reason::Reason;
use litdiode::sweep::Sweep;
use std::sync::Arc;

fn get(fit: u64) -> Result<Arc<Fitted>, Fault> {
    handles::get("fit", fit)
}

/// The number of diodes of a model.
pub fn two_diodes(diodes: i32) -> Result<bool, Fault> {
    match diodes {
        1 => Ok(false),
        2 => Ok(true),
        number => {
            let known = "1 or 2".into();
            Err(Misuse::NoChoice { argument: "diodes", number, known }.into())
        }
    }
}

fn fitted(sweep: &Sweep, two: bool, options: &Options) -> Result<Fitted, Fault> {
    Ok(match two {
        false => Fitted::One(fit_single_diode(sweep, options)?),
        true => Fitted::Two(fit_double_diode(sweep, options)?),
    })
}

fn interval<const K: usize>(
    fit: &Fit<K>,
    figure: Figure,
    level: f64,
    method: IntervalMethod,
) -> Result<Interval, Fault> {
    let found = match method {
        IntervalMethod::Automatic => fit.interval(figure, level),
        IntervalMethod::Linear => fit.linear_interval(figure, level),
        IntervalMethod::Profile => Some(fit.profile_interval(figure, level)),
    };
    found.ok_or_else(|| Reason::NoFigure { figure: figure.name().into() }.into())
}

interface! {
    /// Fits `diodes` (1 or 2) to a sweep. `settings` and `cancel` may be 0. A fit that does not converge is no error but a
    /// status of the fit.
    fn litdiode_fit_new(sweep: u64, diodes: i32, settings: u64, cancel: u64, fit: Out<u64>) {
        give("fit", fit, || {
            let (sweep, two) = (handles::get::<Sweep>("sweep", sweep)?, two_diodes(diodes)?);
            let options = handles::optional::<Arc<Options>>("settings", settings)?.unwrap_or_default();
            Ok(Arc::new(under(cancel, || fitted(&sweep, two, &options))??))
        })?;
        Ok(Answer::Done)
    }

    /// A parameter with its standard uncertainty (NaN where there is none, as at a bound) and its degrees of freedom, in SI
    /// units. The text is what must be known with it.
    fn litdiode_fit_parameter(fit: u64, parameter: i32, value: Out<f64>, u: Out<f64>, dof: Out<f64>) {
        let (fit, parameter) = (get(fit)?, PARAMETER.of(parameter)?);
        let none = || Reason::NoFigure { figure: parameter.name().into() };
        let found = on!(Fitted, &*fit, f => f.parameter(parameter)).ok_or_else(none)?;
        Ok(Answer::Remarks(write_estimate(found, value, u, dof)?))
    }

    /// The interval that holds a parameter or a key point with the probability `level`; an end that is not there is NaN, and
    /// the text says why.
    fn litdiode_fit_interval(
        fit: u64,
        figure: i32,
        level: f64,
        method: i32,
        cancel: u64,
        low: Out<f64>,
        high: Out<f64>,
    ) {
        let (fit, figure, method) = (get(fit)?, self::figure(figure)?, INTERVAL.of(method)?);
        check_level(level)?;
        low.check("low")?;
        high.check("high")?;
        let found = under(cancel, || on!(Fitted, &*fit, f => interval(f, figure, level, method)))??;
        Ok(Answer::Remarks(write_interval(&found, low, high)?))
    }

    /// The free parameters, `count` of at most 7, and their covariance in SI units, row by row; 0 of them where the data give
    /// none.
    fn litdiode_fit_covariance(
        fit: u64,
        parameters: Out<i32>,
        parameters_capacity: usize,
        covariance: Out<f64>,
        covariance_capacity: usize,
        count: Out<usize>,
    ) {
        let fit = get(fit)?;
        let (names, matrix) = on!(Fitted, &*fit, f => (&f.names, &f.covariance));
        let numbers: Vec<i32> = names.iter().map(|name| PARAMETER.number(*name)).collect();
        let names = (&numbers[..], buffer!(parameters, parameters_capacity));
        write_matrix(names, (matrix, buffer!(covariance, covariance_capacity)), count)?;
        Ok(Answer::Done)
    }

    /// How far the fit can be believed (LITDIODE_FIT_…), the root mean square of its residuals in their unit, Σr², points less
    /// free parameters, whether ± comes from the noise that the sweep states (1) or from the scatter (0), and the number of
    /// its notes.
    fn litdiode_fit_quality(
        fit: u64,
        status: Out<i32>,
        rms: Out<f64>,
        chi2: Out<f64>,
        dof: Out<usize>,
        noise_stated: Out<i32>,
        notes: Out<usize>,
    ) {
        let fit = get(fit)?;
        let told = on!(Fitted, &*fit, f => (f.status.code(), f.rms, f.chi2, f.dof, f.noise_stated, f.notes.len()));
        status.set("status", told.0.into())?;
        rms.set("rms", told.1)?;
        chi2.set("chi2", told.2)?;
        dof.set("dof", told.3)?;
        noise_stated.set("noise_stated", told.4.into())?;
        notes.set("notes", told.5)?;
        Ok(Answer::Done)
    }

    /// Note `index` as text, and its number, 321 to 336.
    fn litdiode_fit_note(fit: u64, index: usize, number: Out<i32>) {
        let fit = get(fit)?;
        let note = place(on!(Fitted, &*fit, f => &f.notes), "index", index, "notes")?;
        number.set("number", note.code().into())?;
        Ok(Answer::Text(note.to_string()))
    }

    /// model − measured of each point, in the order of the sweep: in A or V, in units of σ for nearest.
    fn litdiode_fit_residuals(fit: u64, residuals: Out<f64>, residuals_capacity: usize) {
        let fit = get(fit)?;
        buffer!(residuals, residuals_capacity).fill(on!(Fitted, &*fit, f => &f.residuals))?;
        Ok(Answer::Done)
    }

    /// Key points by the fitted curve and its covariance.
    fn litdiode_fit_key_points(fit: u64, cancel: u64, key_points: Out<u64>) {
        give("key_points", key_points, || {
            let fit = get(fit)?;
            Ok(Arc::new(under(cancel, || on!(Fitted, &*fit, f => f.traced_key_points()))?))
        })?;
        Ok(Answer::Done)
    }

    /// The fitted model, at the temperature and with the cells of the sweep.
    fn litdiode_fit_model(fit: u64, model: Out<u64>) {
        give("model", model, || {
            Ok(match &*get(fit)? {
                Fitted::One(fit) => Model::One(fit.model),
                Fitted::Two(fit) => Model::Two(fit.model),
            })
        })?;
        Ok(Answer::Done)
    }
}
