//! Parameters as users state them, and their coordinates θ in the fit.
//!
//! ```text
//! iph ↔ Iph      i0 ↔ ln I0      n ↔ ln(n·cells·k·T/q)      rs ↔ Rs      rsh ↔ g = 1/Rsh
//! ```

use super::error::FitError;
use crate::quantity::estimate::{Scale, Unit, UnknownName, named};
use crate::quantity::key_points::KeyPoint;
use std::fmt;
use std::str::FromStr;

/// A parameter of a diode model: one diode has [`Parameter::OF_ONE`], two have [`Parameter::OF_TWO`].
///
/// # Examples
/// ```
/// use litdiode::fit::Parameter;
/// assert_eq!("rsh".parse(), Ok(Parameter::Rsh));
/// assert_eq!(Parameter::I01.name(), "i01");
/// ```
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize), serde(rename_all = "lowercase"))]
#[non_exhaustive]
pub enum Parameter {
    /// Photocurrent in A.
    Iph,
    /// Saturation current of the one diode in A.
    I0,
    /// Ideality factor of the one diode.
    N,
    /// Saturation current of the first of two diodes in A.
    I01,
    /// Ideality factor of the first of two diodes.
    N1,
    /// Saturation current of the second of two diodes in A.
    I02,
    /// Ideality factor of the second of two diodes.
    N2,
    /// Series resistance in Ω.
    Rs,
    /// Shunt resistance in Ω.
    Rsh,
}

impl Parameter {
    /// Those of the model with one diode, in its order.
    pub const OF_ONE: [Self; 5] = [Self::Iph, Self::I0, Self::N, Self::Rs, Self::Rsh];
    /// Those of the model with two diodes, in its order.
    pub const OF_TWO: [Self; 7] = [Self::Iph, Self::I01, Self::N1, Self::I02, Self::N2, Self::Rs, Self::Rsh];
    const ALL: [Self; 9] =
        [Self::Iph, Self::I0, Self::N, Self::I01, Self::N1, Self::I02, Self::N2, Self::Rs, Self::Rsh];

    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Iph => "iph",
            Self::I0 => "i0",
            Self::N => "n",
            Self::I01 => "i01",
            Self::N1 => "n1",
            Self::I02 => "i02",
            Self::N2 => "n2",
            Self::Rs => "rs",
            Self::Rsh => "rsh",
        }
    }

    pub(crate) const fn kind(self) -> Kind {
        match self {
            Self::Iph => Kind::Iph,
            Self::I0 | Self::I01 | Self::I02 => Kind::I0,
            Self::N | Self::N1 | Self::N2 => Kind::N,
            Self::Rs => Kind::Rs,
            Self::Rsh => Kind::Rsh,
        }
    }
}

impl fmt::Display for Parameter {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(self.name())
    }
}

impl FromStr for Parameter {
    type Err = UnknownName;

    fn from_str(name: &str) -> Result<Self, UnknownName> {
        named(name, "parameter of a diode model", &Self::ALL, Self::name)
    }
}

/// What a fit gives an interval of.
///
/// As plain data it is its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "serde", serde(try_from = "String", into = "String"))]
pub enum Figure {
    /// A parameter.
    Parameter(Parameter),
    /// A key point.
    KeyPoint(KeyPoint),
}

impl Figure {
    /// The name in the public surface.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Parameter(parameter) => parameter.name(),
            Self::KeyPoint(point) => point.name(),
        }
    }

    /// Its unit.
    pub fn unit(self) -> Unit {
        match self {
            Self::Parameter(parameter) => parameter.kind().unit(),
            Self::KeyPoint(point) => point.unit(),
        }
    }
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.pad(self.name())
    }
}

impl From<Parameter> for Figure {
    fn from(parameter: Parameter) -> Self {
        Self::Parameter(parameter)
    }
}

impl From<KeyPoint> for Figure {
    fn from(point: KeyPoint) -> Self {
        Self::KeyPoint(point)
    }
}

impl FromStr for Figure {
    type Err = UnknownName;

    fn from_str(name: &str) -> Result<Self, UnknownName> {
        let parameters = Parameter::ALL.map(Self::Parameter).into_iter();
        let all: Vec<Self> = parameters.chain(KeyPoint::ALL.map(Self::KeyPoint)).collect();
        named(name, "parameter or key point", &all, Self::name)
    }
}

impl TryFrom<String> for Figure {
    type Error = UnknownName;

    fn try_from(name: String) -> Result<Self, UnknownName> {
        name.parse()
    }
}

impl From<Figure> for String {
    fn from(figure: Figure) -> Self {
        figure.name().into()
    }
}

/// What one coordinate stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Iph,
    I0,
    N,
    Rs,
    Rsh,
}

/// The parameters of a model with `diodes` diodes, in the order of θ.
pub(crate) fn names(diodes: usize) -> &'static [Parameter] {
    if diodes == 1 { &Parameter::OF_ONE } else { &Parameter::OF_TWO }
}

/// The position of `parameter`, or an error that lists what there is.
pub(super) fn position(diodes: usize, option: &'static str, parameter: Parameter) -> Result<usize, FitError> {
    let all = names(diodes);
    all.iter().position(|p| *p == parameter).ok_or_else(|| FitError::UnknownName {
        option,
        name: parameter.name().into(),
        known: all.iter().map(|p| p.name()).collect::<Vec<_>>().join(", "),
    })
}

impl Kind {
    /// The coordinate of an SI value; `a_per_n` is cells·k·T/q.
    pub fn coordinate(self, value: f64, a_per_n: f64) -> f64 {
        match self {
            Kind::Iph | Kind::Rs => value,
            Kind::I0 => value.ln(),
            Kind::N => (value * a_per_n).ln(),
            Kind::Rsh => 1.0 / value,
        }
    }

    /// The SI value of a coordinate.
    pub fn value(self, theta: f64, a_per_n: f64) -> f64 {
        match self {
            Kind::Iph | Kind::Rs => theta,
            Kind::I0 => theta.exp(),
            Kind::N => theta.exp() / a_per_n,
            Kind::Rsh => 1.0 / theta,
        }
    }

    /// d(SI value)/dθ at an SI value.
    pub fn derivative(self, value: f64) -> f64 {
        match self {
            Kind::Iph | Kind::Rs => 1.0,
            Kind::I0 | Kind::N => value,
            Kind::Rsh => -value * value,
        }
    }

    pub fn unit(self) -> Unit {
        match self {
            Kind::Iph | Kind::I0 => Unit::Ampere,
            Kind::N => Unit::One,
            Kind::Rs | Kind::Rsh => Unit::Ohm,
        }
    }

    pub fn scale(self) -> Scale {
        match self {
            Kind::Iph | Kind::Rs => Scale::Linear,
            Kind::I0 | Kind::N => Scale::Log,
            Kind::Rsh => Scale::Reciprocal,
        }
    }

    /// SI limits that no bound may leave, and those that hold when none are given.
    pub fn limits(self, diodes: usize) -> (f64, f64) {
        match self {
            Kind::Iph => (0.0, 1e9),
            Kind::I0 => (1e-300, 1e6),
            Kind::N if diodes == 1 => (0.3, 10.0),
            Kind::N => (1.0, 2.0),
            Kind::Rs => (0.0, 1e12),
            Kind::Rsh => (1e-12, f64::INFINITY),
        }
    }

    /// SI limits of what a user may pass.
    pub fn domain(self, diodes: usize) -> (f64, f64) {
        if self == Kind::N { (1e-2, 1e3) } else { self.limits(diodes) }
    }

    /// Whether the lower end of θ is a physical bound rather than the end of a search.
    pub fn is_physical_at_low(self) -> bool {
        matches!(self, Kind::Iph | Kind::Rs | Kind::Rsh)
    }
}
