//! `Change` and `Finding`: what was done to a sweep, and what is to be said of it.

use crate::getters::getters;
use crate::json::plain;
use litdiode::sweep as core;
use pyo3::prelude::*;

/// What was done to the readings, and why: an entry of `Sweep.changes`.
///
/// What the library decided by itself (`automatic`) is warned of with a `LitdiodeWarning` when the sweep is made.
///
/// ```python
/// >>> import warnings
/// >>> import litdiode as ld
/// >>> voltage_v, current_a = [0.0, 0.2, 0.4, 0.5, 0.6], [-0.030, -0.030, -0.028, -0.017, 0.041]  # invented
/// >>> with warnings.catch_warnings():
/// ...     warnings.simplefilter("ignore", ld.LitdiodeWarning)
/// ...     change = ld.Sweep(voltage_v, current_a).changes[0]
/// >>> print(change.what, change.why, change.automatic, sep="; ")
/// current turned from load sign to generator sign; the current rises with voltage, as it does in load sign; True
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Change(pub core::Change);

plain!(Change);

getters!(Change, change => {
    /// What was done.
    what: &str = &change.what,
    /// The evidence, or the option that asked for it; empty for what a caller or a reader of files recorded.
    why: &str = &change.why,
    /// Whether the library decided it.
    automatic: bool = change.automatic,
});

#[pymethods]
impl Change {
    fn __repr__(&self) -> String {
        format!("Change({})", self.0)
    }
}

/// A remark on a sweep that its figures do not show by themselves: an entry of `Sweep.findings`.
///
/// `kind` is one of
///
/// - "negative_voltage": power is delivered at V < 0, after the leads were taken as given;
/// - "short_of_isc", "short_of_voc": the readings do not reach V = 0, or I = 0;
/// - "few_points": fewer than 10 readings;
/// - "clipped": three or more readings in a row at exactly the lowest or the highest current;
/// - "turns_back": the voltage goes one way and comes back by more than half of it; `points` holds the turn;
/// - "current_stepped": the currents rise in even steps and the voltages do not, though the voltage counts as set;
/// - "sign_contradicted": with the `sign` that was passed the current rises with voltage;
/// - "outlier": a reading far from the diode curve through the others, `points` holds it: its studentised deleted
///   residual is beyond chance, and clearly larger than every other residual (1.8 times where these look like noise, else three times), and the curve of the key
///   points through the others contradicts it (so none is told among fewer than 8 readings). Of readings 15 to 40 σ off
///   on diodes, 87 to 94 % are found among 25, 79 % among 15, 56 to 61 % among 10; of S-shapes with 10 and 15 readings 2 %
///   have a false one;
/// - "scatter": the readings scatter more than the stated noise, beyond doubt;
/// - "quantised": the readings of what was set are m or m + 1 steps of a converter apart, and the noise states no step: a
///   rounding that is in no ±;
/// - "implausible": a figure that no device has: Voc per cell above 3 V, a current density above that of all photons of
///   sunlight, an efficiency above 100 % or above the detailed-balance limit of one junction, 33.77 %, a temperature above
///   200 °C (kelvin), a fill factor that no junction of so low a voltage has (exchanged columns, too many `cells`);
/// - "bias": the current is flat already at the lowest voltage, far from V = 0, or Voc is above 1.7 V a cell: a bias may not
///   have been subtracted;
/// - "below_noise": Isc or Voc is below its detection limit (3.29 u), or no power stands out of the scatter;
/// - "no_voltage": a current and no voltage: a short circuit;
/// - "few_at_knee": fewer than three readings about the point of maximum power;
/// - "not_settled": the maximum powers of two ways part by more than 3 u: see `hysteresis`;
/// - "not_monotone": readings rise where a passive device falls, by 6 times the stated noise;
/// - "s_shape": the curve is bent both ways, beyond chance;
/// - "shunted", "series_limited": a resistance that takes a tenth of FF or more, clear of its ±;
/// - "low_ideality": n below 2/3 by 4 u.
///
/// Of 100 simulated faults (25 kinds, four devices) each is found by its code, and of 8,000 clean sweeps 0.11 % show a finding
/// (`tests/remarks/faults.rs`).
///
/// ```python
/// >>> import litdiode as ld
/// >>> volts = [1.5, 1.7, 1.9, 2.0, 2.1]  # invented: a bias of 1.5 V is in them
/// >>> sweep = ld.Sweep(volts, [0.030, 0.030, 0.028, 0.017, -0.041])
/// >>> [(finding.kind, finding.severity) for finding in sweep.findings]
/// [('short_of_isc', 'warning'), ('few_points', 'note'), ('bias', 'warning')]
/// ```
#[pyclass(frozen, module = "litdiode")]
pub struct Finding(pub core::Finding);

plain!(Finding);

getters!(Finding, finding => {
    /// What it is about, in one word; the class lists them.
    kind: &'static str = finding.kind.name(),
    /// How much it says against the figures: "note" (good to know), "warning" (a figure may be off by more than its ±, or is
    /// missing) or "fault" (a figure is that of a fault, and not of the device).
    severity: &'static str = finding.severity().name(),
    /// Names of the key points that it is about.
    figures: Vec<&'static str> = finding.kind.figures().iter().map(|f| f.name()).collect(),
    /// The remark, in one sentence.
    text: &str = &finding.text,
    /// Indices of the points it is about; empty where it is about the whole.
    points: Vec<usize> = finding.points.clone(),
});

#[pymethods]
impl Finding {
    fn __repr__(&self) -> String {
        format!("Finding({}: {})", self.0.kind.name(), self.0.text)
    }
}
