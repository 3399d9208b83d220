//! Figures that no device has, and what usually stands behind them: a unit, an area, an irradiance, a temperature
//! in kelvin, a number of cells, exchanged columns.
//!
//! The figures are read from the readings themselves, between which they lie: to tell a factor of ten or of a thousand
//! takes no estimate.

use crate::diode::thermal_voltage_v;
use crate::quantity::format::quantity;
use crate::sweep::{Finding, Kind, Sweep, by_voltage};

/// Voltage of one cell that no junction reaches in V: the gap of the widest absorbers in use is about 3 eV (common
/// practice), and Voc stays below gap/q.
pub(super) const HIGHEST_VOC: f64 = 3.0;
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
/// Temperature in °C above which none is measured under light, and above which one in kelvin lies: −73 °C are 200 K
/// (common practice).
const HOTTEST_C: f64 = 200.0;
/// Lowest ideality factor of a junction, that of Auger recombination in both bands (from memory).
pub(super) const LOWEST_N: f64 = 2.0 / 3.0;
/// What the fill factor of single readings may be above that of an ideal junction: at 3 % noise and 50 readings the best
/// reading is 4 % above the maximum on average.
const FILL_MARGIN: f64 = 0.05;
/// Voc in thermal voltages from which an ideal junction fills more than any readings do.
const HIGH: f64 = 300.0;
/// Steps to the fill factor of an ideal junction, flat about its maximum.
const STEPS: u32 = 400;
/// Square metres in a square centimetre.
const M2_PER_CM2: f64 = 1e-4;

/// Remarks on temperature, Voc, fill factor, current density and efficiency of the readings without `left_out`.
pub(super) fn findings(sweep: &Sweep, left_out: &[usize]) -> Vec<Finding> {
    let order: Vec<usize> =
        by_voltage(sweep.voltage_v()).into_iter().filter(|k| !left_out.contains(k)).collect();
    let kelvin = temperature(sweep);
    // What a temperature in kelvin makes of the fill factor is no remark of its own.
    let fill = if kelvin.is_none() { fill_factor(sweep, &order) } else { None };
    [kelvin, voltage(sweep, &order), fill, density(sweep, &order), efficiency(sweep, &order)]
        .into_iter()
        .flatten()
        .collect()
}

fn temperature(sweep: &Sweep) -> Option<Finding> {
    let given = sweep.options().temperature_c;
    if given <= HOTTEST_C {
        return None;
    }
    remark(format!(
        "temperature_c is {}, hotter than cells are measured: if it is in kelvin, pass {}",
        quantity(given, "°C"),
        quantity(given - 273.15, "°C")
    ))
}

/// A fill factor that no junction of so low a voltage has.
///
/// ```text
/// FF ≤ max of x/v·(1 − (exp x − 1)/(exp v − 1)) over 0 < x < v        v = q·Voc/(n·cells·k·T), n = 2/3
/// ```
///
/// Series and shunt resistance only lower it. With exchanged columns the curve keeps its fill factor, and its axes lose
/// their scale.
fn fill_factor(sweep: &Sweep, order: &[usize]) -> Option<Finding> {
    let (options, v, i) = (sweep.options(), sweep.voltage_v(), sweep.current_a());
    let (voc, isc) = (crossing(v, i, order)?, crossing(i, v, order)?);
    let power = order.iter().map(|&k| v[k] * i[k]).fold(0.0, f64::max);
    let found = power / (voc * isc);
    let thermal = thermal_voltage_v(LOWEST_N, options.cells, options.temperature_c);
    let most = ideal_fill_factor(voc / thermal);
    if !(voc > 0.0 && isc > 0.0 && found <= 1.0 && found > most + FILL_MARGIN) {
        return None;
    }
    let cells =
        if options.cells == 1 { "one cell".into() } else { format!("{} cells in series", options.cells) };
    let or = if options.cells == 1 { "" } else { ", cells too large" };
    remark(format!(
        "FF is about {}, and a junction with a Voc of {} ({cells}, {}) fills no more than {}: are voltage_v and current_a \
         exchanged{or}, or the voltages in another unit?",
        quantity(found, ""),
        quantity(voc, "V"),
        quantity(options.temperature_c, "°C"),
        quantity(most, "")
    ))
}

fn ideal_fill_factor(v: f64) -> f64 {
    if v > HIGH {
        return 1.0;
    }
    let at = |x: f64| x / v * (1.0 - x.exp_m1() / v.exp_m1());
    (1..STEPS).map(|k| at(v * f64::from(k) / f64::from(STEPS))).fold(0.0, f64::max)
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
             a string or a module (pass its cells)?",
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
