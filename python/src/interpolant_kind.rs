//! The kinds of interpolant: a curve of one kind with what it knows; what comes of it, `Maximum` and `ShapeTest`.

use crate::arguments::{choice, word};
use crate::error::input;
use crate::getters::getters;
use crate::json::plain;
use litdiode::interpolant::{self as core, InterpolantError, Penalty};
use litdiode::sweep as readings;
use pyo3::prelude::*;
use serde::{Deserialize, Serialize};

/// The curve of one kind, with all that the kind knows.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub enum Drawn {
    Linear(core::Points, core::Piecewise),
    MonotoneCubic(core::Points, core::Piecewise),
    NaturalCubic(core::Points, core::Piecewise),
    Smoothing(Box<core::Smooth>, Penalty),
    ShapeConstrained(core::Shape),
}

/// A curve and the sweep it was drawn through.
#[derive(Clone, PartialEq, Serialize, Deserialize)]
pub struct Drawing {
    pub sweep: readings::Sweep,
    pub drawn: Drawn,
}

impl Drawing {
    pub fn curve(&self) -> &core::Piecewise {
        match &self.drawn {
            Drawn::Linear(_, c) | Drawn::MonotoneCubic(_, c) | Drawn::NaturalCubic(_, c) => c,
            Drawn::Smoothing(s, _) => s.curve(),
            Drawn::ShapeConstrained(s) => s.curve(),
        }
    }

    pub fn measured(&self) -> &core::Points {
        match &self.drawn {
            Drawn::Linear(p, _) | Drawn::MonotoneCubic(p, _) | Drawn::NaturalCubic(p, _) => p,
            Drawn::Smoothing(s, _) => s.points(),
            Drawn::ShapeConstrained(s) => s.points(),
        }
    }

    pub fn smooth(&self) -> Option<&core::Smooth> {
        match &self.drawn {
            Drawn::Smoothing(s, _) => Some(s.as_ref()),
            _ => None,
        }
    }

    pub fn kind(&self) -> &'static str {
        match self.drawn {
            Drawn::Linear(..) => "linear",
            Drawn::MonotoneCubic(..) => "monotone_cubic",
            Drawn::NaturalCubic(..) => "natural_cubic",
            Drawn::Smoothing(..) => "smoothing",
            Drawn::ShapeConstrained(..) => "shape_constrained",
        }
    }

    pub fn penalty_chosen_by(&self) -> Option<&'static str> {
        match self.drawn {
            Drawn::Smoothing(_, Penalty::Lambda(_)) => Some("given"),
            Drawn::Smoothing(_, chosen) => Some(word(&chosen, &PENALTIES)),
            _ => None,
        }
    }

    pub fn effective_dof(&self) -> f64 {
        match &self.drawn {
            Drawn::Smoothing(s, _) => s.edf(),
            Drawn::ShapeConstrained(s) => s.edf(),
            _ => self.measured().len() as f64,
        }
    }

    /// The smooth, or the error that says that only a smoothing has `what`.
    pub fn smooth_or(&self, py: Python<'_>, what: &str) -> PyResult<&core::Smooth> {
        self.smooth().ok_or_else(|| {
            let kind = self.kind();
            input(
                py,
                format!(
                    "an interpolant of kind {kind:?} has no {what}; use sweep.interpolate(\"smoothing\")"
                ),
            )
        })
    }

    /// Kind, points, range, and of a smooth what made it so.
    pub fn described(&self) -> String {
        let ((low, high), count) = (self.curve().range_v(), self.measured().len());
        let mut text =
            format!("{}, {count} points, {}", self.kind(), litdiode::quantity_format::span(low, high, "V"));
        if matches!(self.drawn, Drawn::Smoothing(..) | Drawn::ShapeConstrained(..)) {
            text += &format!(", {:.1} effective degrees of freedom", self.effective_dof());
        }
        if let (Some(smooth), Some(chosen)) = (self.smooth(), self.penalty_chosen_by()) {
            let unit = match (self.measured().of_current(), self.measured().noise_stated()) {
                (false, true) => "V³/A²",
                (false, false) => "V³",
                (true, true) => "A³/V²",
                (true, false) => "A³",
            };
            text += &format!(", penalty {:.3e} {unit} ({})", smooth.lambda(), chosen.replace('_', " "));
        }
        text
    }
}

/// A kind that can be asked for.
#[derive(Clone, Copy)]
pub enum Kind {
    Linear,
    MonotoneCubic,
    NaturalCubic,
    Smoothing,
    ShapeConstrained,
}

/// By the words that ask for them.
pub const KINDS: [(&str, Kind); 5] = [
    ("linear", Kind::Linear),
    ("monotone_cubic", Kind::MonotoneCubic),
    ("natural_cubic", Kind::NaturalCubic),
    ("smoothing", Kind::Smoothing),
    ("shape_constrained", Kind::ShapeConstrained),
];

const PENALTIES: [(&str, Penalty); 2] =
    [("cross_validation", Penalty::CrossValidation), ("stated_noise", Penalty::StatedNoise)];

/// A penalty by its number, or how it is to be chosen.
pub fn penalty(kind: Kind, given: Option<&Bound<'_, PyAny>>) -> PyResult<Penalty> {
    let Some(given) = given else { return Ok(Penalty::CrossValidation) };
    let py = given.py();
    if !matches!(kind, Kind::Smoothing) {
        return Err(input(
            py,
            format!("penalty = {given:?} belongs to kind \"smoothing\"; leave it out here"),
        ));
    }
    if let Ok(word) = given.extract::<String>() {
        return choice(py, "penalty", &word, &PENALTIES);
    }
    given.extract().map(Penalty::Lambda).map_err(|_| {
        let words = "\"cross_validation\", \"stated_noise\" or a number, 0 or more";
        input(py, format!("penalty = {given:?} is not known; pass {words}"))
    })
}

/// The curve of a kind through the readings of a sweep, or near them.
pub fn draw_curve(sweep: &readings::Sweep, kind: Kind, penalty: Penalty) -> Result<Drawn, InterpolantError> {
    let through = |draw: fn(&core::Points) -> Result<core::Piecewise, InterpolantError>| {
        let points = core::Points::of_sweep(sweep)?;
        let curve = draw(&points)?;
        Ok::<_, InterpolantError>((points, curve))
    };
    match kind {
        Kind::Linear => through(core::linear).map(|(p, c)| Drawn::Linear(p, c)),
        Kind::MonotoneCubic => through(core::monotone_cubic).map(|(p, c)| Drawn::MonotoneCubic(p, c)),
        Kind::NaturalCubic => through(core::natural_cubic).map(|(p, c)| Drawn::NaturalCubic(p, c)),
        Kind::Smoothing => core::smooth_sweep(sweep, penalty).map(|s| Drawn::Smoothing(Box::new(s), penalty)),
        Kind::ShapeConstrained => core::shape_sweep(sweep).map(Drawn::ShapeConstrained),
    }
}

/// The point of maximum power of an interpolant, from `Interpolant.maximum_power`: exact for its curve.
///
/// It has no ±; `maximum_powers` gives one.
///
/// ```python
/// >>> import litdiode as ld
/// >>> sweep = ld.Sweep([-0.1, 0.2, 0.4, 0.5, 0.6], [0.030, 0.030, 0.028, 0.017, -0.041])  # invented
/// >>> best = sweep.interpolate("monotone_cubic").maximum_power()
/// >>> f"{1e3 * best.pmax_w:.2f} mW at {best.v_pmax_v:.3f} V", best.at_end
/// ('11.42 mW at 0.422 V', False)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Maximum(pub core::Maximum);

plain!(Maximum);

/// Whether readings have the falling, concave shape, or were bent into it: the answer of `Interpolant.shape_test`.
///
/// χ² is Σ w(I − s)² over the readings, a pure number where the noise is stated, else in A².
///
/// ```python
/// >>> import litdiode as ld
/// >>> cell = ld.SingleDiode(iph_a=0.03, i0_a=1e-9, n=1.3, rs_ohm=0.5, rsh_ohm=900)  # invented
/// >>> sweep = ld.simulate_sweep(cell, ld.Instrument(noise_current_a=2e-5), seed=1)
/// >>> test = sweep.interpolate("shape_constrained").shape_test()
/// >>> test.fits, test.p > 0.05
/// (True, True)
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct ShapeTest(pub core::ShapeVerdict);

plain!(ShapeTest);

getters!(Maximum, maximum => {
    /// Largest V·I in W.
    pmax_w: f64 = maximum.pmax_w,
    /// Its voltage in V; the lowest where several give the same power.
    v_pmax_v: f64 = maximum.v_pmax,
    /// Its current in A.
    i_pmax_a: f64 = maximum.i_pmax,
    /// Whether it lies at an end of the sweep, where the power may rise further.
    at_end: bool = maximum.at_end,
});

#[pymethods]
impl Maximum {
    fn __repr__(&self) -> String {
        let end = if self.0.at_end { ", at an end of the sweep" } else { "" };
        format!("Maximum({} W at {} V, {} A{end})", self.0.pmax_w, self.0.v_pmax, self.0.i_pmax)
    }
}

getters!(ShapeTest, verdict => {
    /// Whether p is above 1 − level: nothing speaks against the shape.
    fits: bool = verdict.fits,
    /// Probability of so large a lack of fit were the shape right; at least 1/200. To ±0.3 p where it is large.
    p: f64 = verdict.p,
    /// χ² of the falling, concave curve (in A² where the noise is not stated).
    chi2_shape: f64 = verdict.chi2_shape,
    /// The same of the smooth it is compared with.
    chi2_smooth: f64 = verdict.chi2_smooth,
});

#[pymethods]
impl ShapeTest {
    fn __repr__(&self) -> String {
        format!("ShapeTest({})", self.0)
    }
}
