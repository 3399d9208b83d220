//! What a user asks of the parameters, and the box in θ that it leaves.

use super::error::FitError;
use super::parameters::{Kind, Parameter, names, position};
use crate::numerics::least_squares::problem::Bounds;

/// What a user may fix, bound or start from, in SI values by parameter.
///
/// # Examples
/// ```
/// use litdiode::fit::{Options, Parameter, Wishes};
/// let wishes = Wishes::default().fix(Parameter::N, 1.0).bounds(Parameter::Rs, 0.0, 2.0);
/// let options = Options::default().wishes(wishes);
/// # let _ = options;
/// ```
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Wishes {
    /// Parameters held at a value.
    pub fix: Vec<(Parameter, f64)>,
    /// Parameters kept between two values.
    pub bounds: Vec<(Parameter, f64, f64)>,
    /// Values to start from; the others start from the grid's best.
    pub start: Vec<(Parameter, f64)>,
}

impl Wishes {
    /// With `parameter` held at an SI value.
    #[must_use]
    pub fn fix(mut self, parameter: Parameter, value: f64) -> Self {
        self.fix.push((parameter, value));
        self
    }

    /// With `parameter` kept between two SI values.
    #[must_use]
    pub fn bounds(mut self, parameter: Parameter, low: f64, high: f64) -> Self {
        self.bounds.push((parameter, low, high));
        self
    }

    /// With an SI value that `parameter` starts from.
    #[must_use]
    pub fn start(mut self, parameter: Parameter, value: f64) -> Self {
        self.start.push((parameter, value));
        self
    }

    /// The box in θ.
    pub(super) fn limits(&self, diodes: usize, a_per_n: f64) -> Result<Bounds, FitError> {
        let mut bounds = default_bounds(diodes, a_per_n);
        for (parameter, a, b) in &self.bounds {
            let k = position(diodes, "bounds", *parameter)?;
            let kind = parameter.kind();
            check("bounds", *parameter, *a, diodes)?;
            check("bounds", *parameter, *b, diodes)?;
            if a > b {
                return Err(FitError::CrossedBounds { name: parameter.name().into(), low: *a, high: *b });
            }
            set_limits(&mut bounds, k, kind, *a, *b, a_per_n);
        }
        for (parameter, value) in &self.fix {
            let k = position(diodes, "fix", *parameter)?;
            let kind = parameter.kind();
            check("fix", *parameter, *value, diodes)?;
            set_limits(&mut bounds, k, kind, *value, *value, a_per_n);
        }
        if diodes == 2 && bounds.low[2] > bounds.high[4] {
            return Err(FitError::Exchanged);
        }
        if diodes == 2 {
            // What n1 ≤ n2 leaves of either: within that two diodes out of order can be exchanged.
            bounds.high[2] = bounds.high[2].min(bounds.high[4]);
            bounds.low[4] = bounds.low[4].max(bounds.low[2]);
        }
        Ok(bounds)
    }

    /// Writes the start values over `theta`.
    pub(super) fn apply_start(&self, diodes: usize, a_per_n: f64, theta: &mut [f64]) -> Result<(), FitError> {
        for (parameter, value) in &self.start {
            let k = position(diodes, "start", *parameter)?;
            let kind = parameter.kind();
            check("start", *parameter, *value, diodes)?;
            theta[k] = kind.coordinate(*value, a_per_n);
        }
        Ok(())
    }
}

/// The box in θ where a user asks for nothing.
pub(crate) fn default_bounds(diodes: usize, a_per_n: f64) -> Bounds {
    let all = names(diodes);
    let mut bounds = Bounds { low: vec![0.0; all.len()], high: vec![0.0; all.len()] };
    for (k, parameter) in all.iter().enumerate() {
        let (a, b) = parameter.kind().limits(diodes);
        set_limits(&mut bounds, k, parameter.kind(), a, b, a_per_n);
    }
    bounds
}

fn set_limits(bounds: &mut Bounds, k: usize, kind: Kind, a: f64, b: f64, a_per_n: f64) {
    let (x, y) = (kind.coordinate(a, a_per_n), kind.coordinate(b, a_per_n));
    (bounds.low[k], bounds.high[k]) = (x.min(y), x.max(y));
}

fn check(option: &'static str, parameter: Parameter, value: f64, diodes: usize) -> Result<(), FitError> {
    let (low, high) = parameter.kind().domain(diodes);
    if value >= low && value <= high {
        return Ok(());
    }
    Err(FitError::OutOfDomain { option, name: parameter.name().into(), value, low, high })
}
