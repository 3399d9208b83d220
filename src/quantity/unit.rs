//! Units, and numbers with one.

use crate::quantity::format::quantity;
use std::fmt;

/// The SI unit of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub enum Unit {
    /// A pure number.
    One,
    /// Ampere.
    Ampere,
    /// Volt.
    Volt,
    /// Watt.
    Watt,
    /// Ohm.
    Ohm,
    /// Ampere per square centimetre.
    AmperePerCm2,
    /// Square centimetre.
    Cm2,
    /// Watt per square metre.
    WattPerM2,
    /// Siemens.
    Siemens,
    /// Kelvin.
    Kelvin,
    /// Per kelvin: a relative temperature coefficient.
    PerKelvin,
    /// Ampere per kelvin.
    AmperePerKelvin,
    /// Volt per kelvin.
    VoltPerKelvin,
    /// Ohm per kelvin.
    OhmPerKelvin,
    /// Second.
    Second,
    /// Per hour: a relative drift.
    PerHour,
}

impl Unit {
    /// All there are.
    pub const ALL: [Unit; 16] = [
        Unit::One,
        Unit::Ampere,
        Unit::Volt,
        Unit::Watt,
        Unit::Ohm,
        Unit::AmperePerCm2,
        Unit::Cm2,
        Unit::WattPerM2,
        Unit::Siemens,
        Unit::Kelvin,
        Unit::PerKelvin,
        Unit::AmperePerKelvin,
        Unit::VoltPerKelvin,
        Unit::OhmPerKelvin,
        Unit::Second,
        Unit::PerHour,
    ];

    /// The symbol, empty for a pure number.
    pub const fn symbol(self) -> &'static str {
        match self {
            Unit::One => "",
            Unit::Ampere => "A",
            Unit::Volt => "V",
            Unit::Watt => "W",
            Unit::Ohm => "Ω",
            Unit::AmperePerCm2 => "A/cm²",
            Unit::Cm2 => "cm²",
            Unit::WattPerM2 => "W/m²",
            Unit::Siemens => "S",
            Unit::Kelvin => "K",
            Unit::PerKelvin => "1/K",
            Unit::AmperePerKelvin => "A/K",
            Unit::VoltPerKelvin => "V/K",
            Unit::OhmPerKelvin => "Ω/K",
            Unit::Second => "s",
            Unit::PerHour => "1/h",
        }
    }
}

/// Exponents of ampere, volt, square centimetre, square metre, kelvin, second and hour.
type Dimensions = [i8; 7];

impl Unit {
    const fn dimensions(self) -> Dimensions {
        match self {
            Unit::One => [0, 0, 0, 0, 0, 0, 0],
            Unit::Ampere => [1, 0, 0, 0, 0, 0, 0],
            Unit::Volt => [0, 1, 0, 0, 0, 0, 0],
            Unit::Watt => [1, 1, 0, 0, 0, 0, 0],
            Unit::Ohm => [-1, 1, 0, 0, 0, 0, 0],
            Unit::AmperePerCm2 => [1, 0, -1, 0, 0, 0, 0],
            Unit::Cm2 => [0, 0, 1, 0, 0, 0, 0],
            Unit::WattPerM2 => [1, 1, 0, -1, 0, 0, 0],
            Unit::Siemens => [1, -1, 0, 0, 0, 0, 0],
            Unit::Kelvin => [0, 0, 0, 0, 1, 0, 0],
            Unit::PerKelvin => [0, 0, 0, 0, -1, 0, 0],
            Unit::AmperePerKelvin => [1, 0, 0, 0, -1, 0, 0],
            Unit::VoltPerKelvin => [0, 1, 0, 0, -1, 0, 0],
            Unit::OhmPerKelvin => [-1, 1, 0, 0, -1, 0, 0],
            Unit::Second => [0, 0, 0, 0, 0, 1, 0],
            Unit::PerHour => [0, 0, 0, 0, 0, 0, -1],
        }
    }

    /// The unit of a product (`sense` 1) or a quotient (−1); `None` where there is none here.
    pub(crate) fn product(self, other: Self, sense: i8) -> Option<Self> {
        let (a, b) = (self.dimensions(), other.dimensions());
        let wanted: Dimensions = std::array::from_fn(|k| a[k] + sense * b[k]);
        Self::ALL.into_iter().find(|unit| unit.dimensions() == wanted)
    }
}

/// A number with its unit, as reasons hold it.
///
/// # Examples
/// ```
/// use litdiode::estimate::Amount;
/// assert_eq!(Amount::volts(0.5743).to_string(), "0.5743 V");
/// assert_eq!(Amount::amperes(2e-5).to_string(), "20.00 µA");
/// ```
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[non_exhaustive]
pub struct Amount {
    /// The number, in `unit`.
    #[cfg_attr(feature = "serde", serde(with = "crate::numerics::serde_float::real"))]
    pub value: f64,
    /// Its unit.
    pub unit: Unit,
}

impl Amount {
    /// `value` in `unit`.
    pub const fn new(value: f64, unit: Unit) -> Self {
        Self { value, unit }
    }

    /// A voltage.
    pub const fn volts(value: f64) -> Self {
        Self::new(value, Unit::Volt)
    }

    /// A current.
    pub const fn amperes(value: f64) -> Self {
        Self::new(value, Unit::Ampere)
    }
}

/// In four digits: `35.21 mA`.
impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&quantity(self.value, self.unit.symbol()))
    }
}

/// Its symbol, empty for a pure number.
impl fmt::Display for Unit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.symbol())
    }
}
