//! Figures that no device has, and what usually stands behind them: a unit, an area, an irradiance, a number of cells.
//!
//! The figures are read from the readings themselves, between which they lie: to tell a factor of ten or of a thousand
//! takes no estimate.

use crate::quantity_format::quantity;
use crate::sweep::{Finding, Kind, Sweep, by_voltage};

/// Voltage of one cell that no junction reaches in V: the gap of the widest absorbers in use is about 3 eV (common
/// practice), and Voc stays below gap/q.
const HIGHEST_VOC: f64 = 3.0;
/// Lowest Voc of a cell under at least [`BRIGHT`] that is not called into doubt, in V (common practice).
const LOWEST_VOC: f64 = 1e-3;
/// Irradiance in W/m² from which a cell is called lit brightly.
const BRIGHT: f64 = 100.0;
/// Detailed-balance limit of one junction under the global spectrum of ASTM G-173-03 (W. Shockley, H. J. Queisser, J.
/// Appl. Phys. 32 (1961) 510; at 1.34 eV and 298.15 K recomputed: 33.77 %).
const LIMIT: f64 = 0.3377;
/// Current density per irradiance in A/cm² per W/m²: every photon of the global spectrum of ASTM G-173-03 from 280 to
/// 4000 nm gives an electron, about 69 mA/cm² at 1000 W/m² (from memory).
const ALL_PHOTONS: f64 = 0.069 / 1000.0;
/// Square metres in a square centimetre.
const M2_PER_CM2: f64 = 1e-4;

/// Remarks on Voc, current density and efficiency of the readings without `left_out`.
pub(super) fn findings(sweep: &Sweep, left_out: &[usize]) -> Vec<Finding> {
    let order: Vec<usize> =
        by_voltage(sweep.voltage_v()).into_iter().filter(|k| !left_out.contains(k)).collect();
    [voltage(sweep, &order), density(sweep, &order), efficiency(sweep, &order)]
        .into_iter()
        .flatten()
        .collect()
}

fn remark(text: String) -> Option<Finding> {
    Some(Finding { kind: Kind::Implausible, text, points: Vec::new() })
}

/// Where the straight line between neighbours crosses zero.
fn crossing(x: &[f64], y: &[f64], order: &[usize]) -> Option<f64> {
    let pair = order.windows(2).find(|w| (y[w[0]] > 0.0) != (y[w[1]] > 0.0))?;
    let (a, b) = (pair[0], pair[1]);
    Some(x[a] - y[a] * (x[b] - x[a]) / (y[b] - y[a]))
}

fn voltage(sweep: &Sweep, order: &[usize]) -> Option<Finding> {
    let cells = sweep.options().cells;
    let voc = crossing(sweep.voltage_v(), sweep.current_a(), order)?;
    let each = voc / f64::from(cells);
    let light = sweep.options().irradiance_w_m2.as_ref().map_or(0.0, |e| e.value);
    let count = if cells == 1 { "one cell".into() } else { format!("{cells} cells in series") };
    if each > HIGHEST_VOC {
        return remark(format!(
            "Voc is about {} with {count}, and one junction stays below {HIGHEST_VOC} V: are the voltages in mV, or is it \
             a string or a module (pass cells=)?",
            quantity(voc, "V")
        ));
    }
    if light >= BRIGHT && each > 0.0 && each < LOWEST_VOC {
        return remark(format!(
            "Voc is about {} with {count} under {}: is the unit of the voltages right?",
            quantity(voc, "V"),
            quantity(light, "W/m²")
        ));
    }
    None
}

fn density(sweep: &Sweep, order: &[usize]) -> Option<Finding> {
    let options = sweep.options();
    let (area, light) = (options.area_cm2.as_ref()?.value, options.irradiance_w_m2.as_ref()?.value);
    let lit = order.iter().filter(|&&k| sweep.voltage_v()[k] >= 0.0 && sweep.current_a()[k] > 0.0);
    let isc = lit.map(|&k| sweep.current_a()[k]).fold(0.0, f64::max);
    let (jsc, most) = (isc / area, ALL_PHOTONS * light);
    if jsc <= most {
        return None;
    }
    remark(format!(
        "the current density reaches {}, and all photons of sunlight at {} give {}: are the currents in mA or µA, or is \
         area_cm2 or irradiance_w_m2 too small?",
        quantity(jsc, "A/cm²"),
        quantity(light, "W/m²"),
        quantity(most, "A/cm²")
    ))
}

fn efficiency(sweep: &Sweep, order: &[usize]) -> Option<Finding> {
    let options = sweep.options();
    let (area, light) = (options.area_cm2.as_ref()?.value, options.irradiance_w_m2.as_ref()?.value);
    let power = order.iter().map(|&k| sweep.voltage_v()[k] * sweep.current_a()[k]).fold(0.0, f64::max);
    let share = power / (area * M2_PER_CM2 * light);
    let percent = quantity(100.0 * share, "%");
    if share > 1.0 {
        return remark(format!(
            "η is about {percent}, more power than the light brings: check the units of current and voltage, area_cm2 and \
             irradiance_w_m2"
        ));
    }
    if share > LIMIT {
        return remark(format!(
            "η is about {percent}, above the {} that one junction reaches in sunlight (detailed balance): check area_cm2, \
             irradiance_w_m2 and the unit of the current; only several junctions, concentrated or narrow-band light \
             allow it",
            quantity(100.0 * LIMIT, "%")
        ));
    }
    None
}
