//! What can be wrong with the parameters of a model.

use thiserror::Error;

/// A parameter or an argument outside the domain of the models.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ModelError {
    /// A model parameter outside its domain.
    #[error("{name} = {value} is outside {low} to {high}; {cure}")]
    Parameter {
        /// The parameter.
        name: &'static str,
        /// The offending value.
        value: f64,
        /// Lower limit of the domain.
        low: f64,
        /// Upper limit of the domain.
        high: f64,
        /// What to do.
        cure: &'static str,
    },
    /// A string of no cells.
    #[error("cells = 0; give the number of cells in series, 1 for a single cell")]
    NoCells,
    /// A voltage, current or other argument that is not a finite number.
    #[error("{name}[{index}] = {value} is not a finite number; remove or replace it")]
    Argument {
        /// The argument.
        name: &'static str,
        /// Position in the argument.
        index: usize,
        /// The offending value.
        value: f64,
    },
    /// Input and output of different lengths.
    #[error("{name} has {given} values where {wanted} are needed; pass slices of equal length")]
    Length {
        /// The argument.
        name: &'static str,
        /// Its length.
        given: usize,
        /// The length that is needed.
        wanted: usize,
    },
}

/// One row of the domain table: name, limits, cure.
pub(crate) struct Domain {
    pub name: &'static str,
    pub low: f64,
    pub high: f64,
    pub cure: &'static str,
}

impl Domain {
    /// `value` when it lies in the domain (limits included; NaN never does).
    pub(crate) fn check(&self, value: f64) -> Result<f64, ModelError> {
        if value >= self.low && value <= self.high {
            return Ok(value);
        }
        let &Domain { name, low, high, cure } = self;
        Err(ModelError::Parameter { name, value, low, high, cure })
    }
}

/// All of `values` finite, or the first that is not.
pub(crate) fn check_points(name: &'static str, values: &[f64]) -> Result<(), ModelError> {
    match values.iter().position(|x| !x.is_finite()) {
        Some(index) => Err(ModelError::Argument { name, index, value: values[index] }),
        None => Ok(()),
    }
}
