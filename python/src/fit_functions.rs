//! `fit_single_diode` and `fit_double_diode`, and what is asked of them and of batches.

use crate::arguments::{choice, named, numbers, pairs};
use crate::error::input;
use crate::fit::{Either, Fit};
use crate::interrupt::interruptible;
use crate::sweep::Sweep;
use litdiode::fit as core;
use pyo3::prelude::*;
use std::time::Duration;

const NOISE_SCALES: [(&str, core::NoiseScale); 2] =
    [("stated", core::NoiseScale::Stated), ("from_scatter", core::NoiseScale::FromScatter)];

/// What a call asks of a fit.
pub struct Request<'a, 'py> {
    pub residual: &'a str,
    pub fix: Option<&'a Bound<'py, PyAny>>,
    pub bounds: Option<&'a Bound<'py, PyAny>>,
    pub start: Option<&'a Bound<'py, PyAny>>,
    pub noise_scale: &'a str,
    pub most_evaluations: Option<i64>,
    pub deadline_s: Option<f64>,
}

impl Request<'_, '_> {
    pub fn options<const K: usize>(&self, py: Python<'_>) -> PyResult<core::Options> {
        let known: &[_] = if K == 1 { &core::Parameter::OF_ONE } else { &core::Parameter::OF_TWO };
        let mut wishes = core::Wishes::default();
        wishes.fix = numbers("fix", known, self.fix)?;
        wishes.bounds = pairs("bounds", known, self.bounds)?;
        wishes.start = numbers("start", known, self.start)?;
        let residuals = core::Residual::ALL.map(|residual| (residual.name(), Some(residual)));
        let residual = choice(py, "residual", self.residual, &[&[("auto", None)], &residuals[..]].concat())?;
        let noise_scale = choice(py, "noise_scale", self.noise_scale, &NOISE_SCALES)?;
        let most_evaluations = self.most_evaluations.map(|given| {
            usize::try_from(given)
                .map_err(|_| input(py, format!("most_evaluations = {given} must be 0 or more")))
        });
        let deadline = self.deadline_s.map(|given| {
            let wrong = || input(py, format!("deadline_s = {given} is no time; give seconds, 0 or more"));
            Duration::try_from_secs_f64(given).map_err(|_| wrong())
        });
        let mut options = core::Options::default().wishes(wishes).noise_scale(noise_scale);
        options.residual = residual;
        options.most_evaluations = most_evaluations.transpose()?;
        options.deadline = deadline.transpose()?;
        Ok(options)
    }

    /// The fit itself, without the interpreter.
    fn extract<const K: usize>(
        &self,
        py: Python<'_>,
        sweep: &Sweep,
        wrap: fn(core::Fit<K>) -> Either,
    ) -> PyResult<Fit> {
        let options = self.options::<K>(py)?;
        let fit = interruptible(py, || core::extract::<K>(&sweep.0, &options))?.map_err(|e| input(py, e))?;
        Ok(Fit(wrap(fit)))
    }
}

/// A function that fits so many diodes: what its docstring says beside what holds for both.
macro_rules! fit_function {
    ($name:ident, $wrap:path, $model:literal, $most:literal, { $(#[$head:meta])* } { $(#[$fixed:meta])* }
        { $(#[$started:meta])* } { $(#[$tail:meta])* }) => {
        $(#[$head])*
        ///
        /// - `sweep`: the measured `Sweep`, with its noise, cells and temperature.
        /// - `residual`: the distance r that is made small, model − measured: "current" at the measured voltage; "voltage" at
        ///   the measured current; "nearest" to the curve, which needs a stated noise; "implicit", right side less left side of
        ///   the equation at the measured point, which many papers print. "auto" takes nearest where the sweep states scatter
        ///   on both axes, the axis that has it where on one, and the axis that was read (not swept) where on none.
        $(#[$fixed])*
        $(#[$started])*
        /// - `noise_scale`: "stated" takes the size of ± from the noise that the sweep states, and from the scatter where it
        ///   states none; "from_scatter" takes it from the scatter always, and a stated noise gives the weights only.
        #[doc = concat!("- `most_evaluations`: how often the residuals of the sweep may be evaluated in all; None for ", $most, "/√n with n readings,")]
        ///   many times what ordinary sweeps take; one in which the curve is hard to solve counts as several. A fit that uses them up is "not_converged" and holds its best state.
        /// - `deadline_s`: the time in s that the fit may take, None for no limit; one that is still at work then ends likewise.
        ///
        /// Returns a `Fit`. Weights that depend on the curve follow it. A fit that does not converge is no error but a status.
        /// Ctrl-C stops the work.
        #[doc = concat!("Raises `InputError` for a name that is no parameter, a value outside its limits (those of `", $model, "`), bounds")]
        /// that cross, fewer points than free parameters, "nearest" without a stated noise, and voltages too high for the
        /// number of cells.
        ///
        $(#[$tail])*
        #[pyfunction]
        #[pyo3(signature = (sweep, *, residual="auto", fix=None, bounds=None, start=None, noise_scale="stated",
            most_evaluations=None, deadline_s=None))]
        #[allow(clippy::too_many_arguments)]
        pub fn $name(
            py: Python<'_>,
            #[pyo3(from_py_with = named::sweep)] sweep: Bound<'_, Sweep>,
            #[pyo3(from_py_with = named::residual)] residual: &str,
            fix: Option<&Bound<'_, PyAny>>,
            bounds: Option<&Bound<'_, PyAny>>,
            start: Option<&Bound<'_, PyAny>>,
            #[pyo3(from_py_with = named::noise_scale)] noise_scale: &str,
            #[pyo3(from_py_with = named::most_evaluations)] most_evaluations: Option<i64>,
            #[pyo3(from_py_with = named::deadline_s)] deadline_s: Option<f64>,
        ) -> PyResult<Fit> {
            let request = Request { residual, fix, bounds, start, noise_scale, most_evaluations, deadline_s };
            request.extract(py, sweep.get(), $wrap)
        }
    };
}

fit_function!(
    fit_single_diode,
    Either::One,
    "SingleDiode",
    "120,000",
    {
        /// Fits one diode to a sweep: parameters `iph i0 n rs rsh`, in A, A, 1, Ω, Ω.
        ///
        /// ```text
        /// I = Iph − I0·(exp((V + I·Rs)/a) − 1) − (V + I·Rs)/Rsh        a = n·cells·k·T/q        min Σ (r/σ)²
        /// nearest: (r/σ)² = least of ((V − Vi)/σV)² + ((I − Ii)/σI)² on the curve
        /// ```
    }
    {
        /// - `fix`: parameters held, a dictionary of name to SI value.
        /// - `bounds`: parameters kept between two SI values, a dictionary of name to (low, high). Where none are given: Iph ≥
        ///   0, I0 > 0, n from 0.3 to 10, Rs ≥ 0, Rsh above 0 up to infinite.
    }
    {
        /// - `start`: SI values to start from, by name; what is not named starts from the best of a grid. Without it the start
        ///   is found from the data, always the same.
    }
    {
        /// ```python
        /// >>> import litdiode as ld
        /// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
        /// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
        /// >>> fit = ld.fit_single_diode(sweep, fix={"n": 1.3})
        /// >>> fit.status, fit.residual, fit.names
        /// ('converged', 'current', ['iph', 'i0', 'rs', 'rsh'])
        /// ```
    }
);

fit_function!(
    fit_double_diode,
    Either::Two,
    "DoubleDiode",
    "240,000",
    {
        /// Fits two diodes to a sweep: parameters `iph i01 n1 i02 n2 rs rsh`, in A, A, 1, A, 1, Ω, Ω.
        ///
        /// ```text
        /// I = Iph − Σk I0k·(exp((V + I·Rs)/ak) − 1) − (V + I·Rs)/Rsh        ak = nk·cells·k·T/q        min Σ (r/σ)²
        /// nearest: (r/σ)² = least of ((V − Vi)/σV)² + ((I − Ii)/σI)² on the curve
        /// ```
    }
    {
        /// - `fix`: parameters held, a dictionary of name to SI value; {"n1": 1, "n2": 2} is common. `fix` and
        ///   `bounds` must leave room for n1 ≤ n2.
        /// - `bounds`: parameters kept between two SI values, a dictionary of name to (low, high). Where none are given: Iph ≥
        ///   0, I01 and I02 > 0, n1 and n2 from 1 to 2, Rs ≥ 0, Rsh above 0 up to infinite.
    }
    {
        /// - `start`: SI values to start from, by name; what is not named starts from the best of a grid. Without it the start
        ///   is found from the data, always the same. Either way the optimum of one diode within the bounds is a start as well, so
        ///   that χ² of two is at most χ² of one; where the first diode comes out as the one of larger n, they are exchanged.
    }
    {
        /// `Fit.support` says whether the data support the second diode, beside one of the two alone and beside one diode with a
        /// free n; where they do not, the status is "not_identified".
        ///
        /// ```python
        /// >>> import litdiode as ld
        /// >>> cell = ld.DoubleDiode(iph_a=0.03, i01_a=3e-12, n1=1, i02_a=1e-7, n2=2, rs_ohm=0.5, rsh_ohm=900)  # invented
        /// >>> tracer = ld.Instrument(swept="current", start=0.0, stop=0.0305, points=40, noise_voltage_v=1e-4)
        /// >>> fit = ld.fit_double_diode(ld.simulate_sweep(cell, tracer, seed=1), fix={"n1": 1, "n2": 2})
        /// >>> fit.status, fit.names
        /// ('converged', ['iph', 'i01', 'i02', 'rs', 'rsh'])
        /// >>> fit.support["holds"]
        /// True
        /// ```
    }
);
