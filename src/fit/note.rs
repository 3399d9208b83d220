//! What must be known with a fit: one variant a cause, with its numbers; [`Display`](fmt::Display) makes the sentence.

use super::model_comparison::{CLEAR, Support};
use super::parameters::Parameter;
use crate::numerics::least_squares::problem::Stop;
use std::fmt;

/// A note on a fit. Its number for hosts is [`Coded::code`](crate::code::Coded::code).
///
/// # Examples
/// ```
/// use litdiode::fit::{Options, Note, fit_single_diode};
/// use litdiode::sweep::{Sweep, SweepOptions};
/// let v: Vec<f64> = (0..25).map(|k| -0.05 + 0.025 * f64::from(k)).collect();
/// let i: Vec<f64> = v.iter().map(|v| 0.030 - 1e-9 * ((v / 0.033f64).exp() - 1.0)).collect();
/// let fit = fit_single_diode(&Sweep::new(&v, &i, SweepOptions::default())?, &Options::default())?;
/// assert!(fit.notes.contains(&Note::NoShunt));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Note {
    /// The readings do not differ from noise about zero.
    NoSignal,
    /// The solver ended before an optimum.
    NotConverged {
        /// Why.
        stop: Stop,
    },
    /// The budget or the deadline ended before it was examined what the readings determine.
    NotExamined {
        /// Which of them.
        stop: Stop,
    },
    /// A parameter at a bound that says nothing of the device.
    AtBound {
        /// The parameter.
        parameter: Parameter,
    },
    /// Rs at its bound 0.
    NoSeriesResistance,
    /// 1/Rsh at its bound 0.
    NoShunt,
    /// Readings about as near to a second point of the curve as to the nearest one.
    SecondFeet {
        /// How many.
        readings: usize,
        /// The first of them.
        first: usize,
    },
    /// Residuals that change sign too seldom.
    FewRuns {
        /// Runs of equal sign.
        runs: usize,
        /// Runs of independent signs, on average.
        expected: f64,
        /// Probability of at most as many.
        p: f64,
    },
    /// Residuals above the stated noise.
    ScatterAboveStated {
        /// √(χ²/ν).
        ratio: f64,
    },
    /// Residuals below the stated noise.
    ScatterBelowStated {
        /// √(χ²/ν).
        ratio: f64,
    },
    /// As many free parameters as points, and no stated noise.
    NoScatterLeft,
    /// Parameters that the data do not determine.
    NotDetermined {
        /// These.
        parameters: Vec<Parameter>,
        /// Others that they trade against.
        against: Vec<Parameter>,
    },
    /// The second diode is worth its parameters.
    SecondDiodeSupported {
        /// The comparison.
        support: Support,
    },
    /// Two diodes do better than one with a free n, but not clearly.
    SecondDiodeUnclear {
        /// The comparison.
        support: Support,
    },
    /// Two diodes do no better than one with a free n.
    OneDiodeAsGood {
        /// The comparison.
        support: Support,
    },
    /// Two diodes do no better than one of them alone.
    SecondDiodeUnsupported {
        /// The comparison.
        support: Support,
    },
}

impl Support {
    /// What it says of the fit.
    pub(super) fn note(self) -> Note {
        if self.holds() {
            Note::SecondDiodeSupported { support: self }
        } else if self.aicc_difference < 0.0 && self.aicc_beside_free_n < 0.0 {
            Note::SecondDiodeUnclear { support: self }
        } else if self.aicc_difference < 0.0 {
            Note::OneDiodeAsGood { support: self }
        } else {
            Note::SecondDiodeUnsupported { support: self }
        }
    }
}

impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        const KEPT: &str = "the last good state is given";
        match self {
            Self::NoSignal => f.write_str(
                "the readings do not differ from noise about zero: nothing is determined; check light and wiring, or \
                 average more readings",
            ),
            Self::NotConverged { stop } => write!(f, "not converged: {}; {KEPT}", stop.reason()),
            Self::NotExamined { stop } => write!(
                f,
                "not converged: {} before it was examined what the readings determine; {KEPT}",
                stop.reason()
            ),
            Self::AtBound { parameter } => {
                write!(f, "{parameter} is at its bound: the interval is one-sided")
            }
            Self::NoSeriesResistance => f.write_str(
                "rs is at its bound: no series resistance is visible; the interval is one-sided",
            ),
            Self::NoShunt => {
                f.write_str("rsh is at its bound: no shunt is visible; the interval is one-sided")
            }
            Self::NoScatterLeft => f.write_str(
                "as many free parameters as points: no scatter is left to judge the fit by",
            ),
            Self::NotDetermined { parameters, against } => not_determined(f, parameters, against),
            Self::SecondFeet { readings, first } => second_feet(f, *readings, *first),
            Self::FewRuns { .. } | Self::ScatterAboveStated { .. } | Self::ScatterBelowStated { .. } => {
                self.on_residuals(f)
            }
            Self::SecondDiodeSupported { support }
            | Self::SecondDiodeUnclear { support }
            | Self::OneDiodeAsGood { support }
            | Self::SecondDiodeUnsupported { support } => self.on_second_diode(f, support),
        }
    }
}

impl Note {
    fn on_residuals(&self, f: &mut fmt::Formatter) -> fmt::Result {
        match self {
            Self::FewRuns { runs, expected, p } => write!(
                f,
                "the residuals change sign in {runs} runs where noise would show about {expected:.0} (p = {p:.1e}): the \
                 curve does not have the model's shape, and ± is too small"
            ),
            Self::ScatterAboveStated { ratio } => write!(
                f,
                "the readings scatter {ratio:.1} times as much as stated: ± is too small unless the stated noise of the \
                 sweep is enlarged or its scale taken from the scatter"
            ),
            Self::ScatterBelowStated { ratio } => write!(
                f,
                "the readings scatter {ratio:.2} times as much as stated: the stated noise looks too large, and ± with it"
            ),
            _ => Ok(()),
        }
    }

    fn on_second_diode(&self, f: &mut fmt::Formatter, support: &Support) -> fmt::Result {
        let Support { likelihood_ratio, parameters, p, aicc_difference, n_alone, free_n, .. } = support;
        let p = if *p < 0.01 { format!("{p:.0e}") } else { format!("{p:.2}") };
        let alone = format!(
            "two diodes beside one of them alone (n = {n_alone:.3}): likelihood ratio {likelihood_ratio:.2} (p = {p} on \
             {parameters} degrees of freedom), corrected Akaike criterion {aicc_difference:+.1}"
        );
        let free = format!(
            "two diodes beside one diode with a free n (n = {free_n:.3}): corrected Akaike criterion {:+.1}",
            support.aicc_beside_free_n
        );
        match self {
            Self::SecondDiodeSupported { .. } => {
                write!(f, "the data support the second diode: {alone}; {free}")
            }
            Self::SecondDiodeUnclear { .. } => write!(
                f,
                "the data do not tell these two diodes from one with a free n: {free}, where {:.1} would be clear; {alone}; \
                 fit one diode, or measure with less noise and over a wider range",
                -CLEAR * CLEAR
            ),
            Self::OneDiodeAsGood { .. } => write!(
                f,
                "one diode with a free n describes the data no worse than these two: {free}; {alone}; fit one diode"
            ),
            _ => write!(
                f,
                "the data do not support a second diode: {alone}; fit one diode, or measure with less noise and over a \
                 wider range"
            ),
        }
    }
}

fn second_feet(f: &mut fmt::Formatter, readings: usize, first: usize) -> fmt::Result {
    if readings == 1 {
        write!(f, "reading {first} lies")?;
    } else {
        write!(f, "{readings} readings lie, the first at {first},")?;
    }
    f.write_str(
        " about as near to a second point of the curve as to the nearest one: which of them counts decides the fit, and ± \
         leaves that out; average more readings, or set residual to current",
    )
}

/// Which parameters trade against each other, and what measurement would settle it.
fn not_determined(f: &mut fmt::Formatter, parameters: &[Parameter], against: &[Parameter]) -> fmt::Result {
    let list = |p: &[Parameter]| p.iter().map(|p| p.name()).collect::<Vec<_>>().join(", ");
    write!(f, "not determined by these data: {}", list(parameters))?;
    if !against.is_empty() {
        write!(f, " (they trade against {})", list(against))?;
    } else if parameters.len() > 1 {
        f.write_str(" (they trade against each other)")?;
    }
    let any = |of: &[Parameter]| parameters.iter().any(|p| of.contains(p));
    let cure = if any(&[Parameter::N, Parameter::I0]) {
        "measure with less noise and further beyond Voc, or hold n fixed"
    } else if any(&[Parameter::N1, Parameter::N2, Parameter::I01, Parameter::I02]) {
        "measure over a wider range of current, in the dark as well, or hold n1 and n2 fixed"
    } else if any(&[Parameter::Rsh]) {
        "points in reverse bias would settle the shunt"
    } else {
        "points beyond Voc would settle the series resistance"
    };
    write!(f, "; {cure}")
}
