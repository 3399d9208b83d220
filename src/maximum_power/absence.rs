//! Why a method gives no maximum power.

use crate::fit::FitError;
use crate::interpolant::InterpolantError;
use crate::quantity::reason::Reason;
use thiserror::Error;

/// Why a method gives no maximum power.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum NoMaximum {
    /// The readings do not give it.
    #[error(transparent)]
    Reason(#[from] Reason),
    /// The smooth or the concave curve cannot be made.
    #[error(transparent)]
    Curve(#[from] InterpolantError),
    /// The readings speak against the shape.
    #[error("the readings are not those of a falling, concave curve (p = {p:.3})")]
    NotConcave {
        /// Probability of a misfit as large as this one, were the shape right.
        p: f64,
    },
    /// The model cannot be fitted.
    #[error(transparent)]
    Fit(#[from] FitError),
    /// The fit ended before its optimum.
    #[error("the fit did not converge")]
    NotConverged,
}

/// As plain data it is its text.
#[cfg(feature = "serde")]
impl serde::Serialize for NoMaximum {
    fn serialize<S: serde::Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}
