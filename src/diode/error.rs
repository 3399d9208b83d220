//! What can be wrong with the parameters of a model.

use crate::numerics::serde_float::shown;
use thiserror::Error;

/// A parameter or an argument outside the domain of the models.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum ModelError {
    /// A model parameter outside its domain.
    #[error("{name} = {} is outside {} to {}; {cure}", shown(value), shown(low), shown(high))]
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
    /// An entry of an array of parameters outside its domain.
    #[error("{name}{} = {} is outside {} to {}; {cure}", place(index), shown(value), shown(low), shown(high))]
    Entry {
        /// The parameter.
        name: &'static str,
        /// Its place in the array, one number an axis.
        index: Vec<usize>,
        /// The offending value.
        value: f64,
        /// Lower limit of the domain.
        low: f64,
        /// Upper limit of the domain.
        high: f64,
        /// What to do.
        cure: &'static str,
    },
    /// Arrays whose shapes do not go together.
    #[error(
        "{name} of shape {} does not go with {}; give each axis the same length, or 1",
        tuple(shape),
        tuple(others)
    )]
    Shape {
        /// The argument.
        name: &'static str,
        /// Its shape.
        shape: Vec<usize>,
        /// The common shape of those before it.
        others: Vec<usize>,
    },
    /// Shapes that go together to more places than any memory holds.
    #[error("the shape {} has more places than a memory can hold; go through it in parts", tuple(shape))]
    TooMany {
        /// The common shape.
        shape: Vec<usize>,
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

/// A place in an array as it is written, [1, 2]; nothing for a single number.
fn place(index: &[usize]) -> String {
    let list: Vec<String> = index.iter().map(usize::to_string).collect();
    if list.is_empty() { String::new() } else { format!("[{}]", list.join(", ")) }
}

/// A shape as Python writes it.
fn tuple(shape: &[usize]) -> String {
    let list: Vec<String> = shape.iter().map(usize::to_string).collect();
    if list.len() == 1 { format!("({},)", list[0]) } else { format!("({})", list.join(", ")) }
}

/// One row of the domain table: name, limits, cure.
#[derive(Clone, Copy)]
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
