//! Parameters as users state them, and their coordinates θ in the fit.
//!
//! ```text
//! iph ↔ Iph      i0 ↔ ln I0      n ↔ ln(n·cells·k·T/q)      rs ↔ Rs      rsh ↔ g = 1/Rsh
//! ```

use super::error::FitError;
use super::solver::Bounds;
use crate::estimate::{Scale, Unit};

/// What one coordinate stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Iph,
    I0,
    N,
    Rs,
    Rsh,
}

/// One parameter: its name, and what it is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Name {
    pub name: &'static str,
    pub kind: Kind,
}

const SINGLE: [Name; 5] =
    [n("iph", Kind::Iph), n("i0", Kind::I0), n("n", Kind::N), n("rs", Kind::Rs), n("rsh", Kind::Rsh)];
const DOUBLE: [Name; 7] = [
    n("iph", Kind::Iph),
    n("i01", Kind::I0),
    n("n1", Kind::N),
    n("i02", Kind::I0),
    n("n2", Kind::N),
    n("rs", Kind::Rs),
    n("rsh", Kind::Rsh),
];

const fn n(name: &'static str, kind: Kind) -> Name {
    Name { name, kind }
}

/// The parameters of a model with `diodes` diodes, in the order of θ.
pub(crate) fn names(diodes: usize) -> &'static [Name] {
    if diodes == 1 { &SINGLE } else { &DOUBLE }
}

/// The position of `name`, or an error that lists what there is.
pub(crate) fn position(diodes: usize, option: &'static str, name: &str) -> Result<usize, FitError> {
    let all = names(diodes);
    all.iter().position(|n| n.name == name).ok_or_else(|| FitError::UnknownName {
        option,
        name: name.into(),
        known: all.iter().map(|n| n.name).collect::<Vec<_>>().join(", "),
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
    fn domain(self, diodes: usize) -> (f64, f64) {
        if self == Kind::N { (1e-2, 1e3) } else { self.limits(diodes) }
    }

    /// Whether the lower end of θ is a physical bound rather than the end of a search.
    pub fn is_physical_at_low(self) -> bool {
        matches!(self, Kind::Iph | Kind::Rs | Kind::Rsh)
    }
}

/// What a user may fix, bound or start from, in SI values by name.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Wishes {
    /// Parameters held at a value.
    pub fix: Vec<(String, f64)>,
    /// Parameters kept between two values.
    pub bounds: Vec<(String, f64, f64)>,
    /// Values to start from; the others start from the grid's best.
    pub start: Vec<(String, f64)>,
}

impl Wishes {
    /// The box in θ.
    pub(crate) fn bounds(&self, diodes: usize, a_per_n: f64) -> Result<Bounds, FitError> {
        let count = 2 * diodes + 3;
        let (mut low, mut high) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for n in names(diodes) {
            let (a, b) = n.kind.limits(diodes);
            push_limits(n.kind, a, b, a_per_n, &mut low, &mut high);
        }
        let mut bounds = Bounds { low, high };
        for (name, a, b) in &self.bounds {
            let k = position(diodes, "bounds", name)?;
            let kind = names(diodes)[k].kind;
            check("bounds", name, *a, kind, diodes)?;
            check("bounds", name, *b, kind, diodes)?;
            if a > b {
                return Err(FitError::CrossedBounds { name: name.clone(), low: *a, high: *b });
            }
            set_limits(&mut bounds, k, kind, *a, *b, a_per_n);
        }
        for (name, value) in &self.fix {
            let k = position(diodes, "fix", name)?;
            let kind = names(diodes)[k].kind;
            check("fix", name, *value, kind, diodes)?;
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
    pub(crate) fn apply_start(&self, diodes: usize, a_per_n: f64, theta: &mut [f64]) -> Result<(), FitError> {
        for (name, value) in &self.start {
            let k = position(diodes, "start", name)?;
            let kind = names(diodes)[k].kind;
            check("start", name, *value, kind, diodes)?;
            theta[k] = kind.coordinate(*value, a_per_n);
        }
        Ok(())
    }
}

fn push_limits(kind: Kind, a: f64, b: f64, a_per_n: f64, low: &mut Vec<f64>, high: &mut Vec<f64>) {
    let (x, y) = (kind.coordinate(a, a_per_n), kind.coordinate(b, a_per_n));
    low.push(x.min(y));
    high.push(x.max(y));
}

fn set_limits(bounds: &mut Bounds, k: usize, kind: Kind, a: f64, b: f64, a_per_n: f64) {
    let (x, y) = (kind.coordinate(a, a_per_n), kind.coordinate(b, a_per_n));
    (bounds.low[k], bounds.high[k]) = (x.min(y), x.max(y));
}

fn check(option: &'static str, name: &str, value: f64, kind: Kind, diodes: usize) -> Result<(), FitError> {
    let (low, high) = kind.domain(diodes);
    if value >= low && value <= high {
        return Ok(());
    }
    Err(FitError::OutOfDomain { option, name: name.into(), value, low, high })
}
