//! Forward models of many devices at the same points, in vector code.

use crate::fit::two_diodes;
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault, MOST_VALUES, Misuse, Outcome};
use crate::objects::{Models, on};
use crate::pointers::{Buffer, In, Out, buffer};
use crate::work::{ABSENT, give, same_length};
use litdiode::diode::ndarray::{Array1, ArrayD, ArrayView, ArrayView1, ArrayViewMut, Axis, IxDyn, arr0};
use litdiode::diode::{BatchKeyPoints, Devices, DevicesParameters, ModelError};
use std::num::NonZeroUsize;
use std::sync::Arc;

/// Figures of a row of `litdiode_models_key_points`.
const FIGURES: usize = 6;

/// A column of the table of parameters.
fn column(list: &[f64], width: usize, k: usize) -> ArrayD<f64> {
    let column: Array1<f64> = list.iter().skip(k).step_by(width).copied().collect();
    column.insert_axis(Axis(1)).into_dyn()
}

fn devices<const K: usize>(list: &[f64], cells: u32, temperature_c: f64) -> Result<Devices<K>, ModelError> {
    let (width, number) = (2 * K + 3, |x: f64| arr0(x).into_dyn());
    let of = |k| column(list, width, k);
    Devices::new(DevicesParameters {
        iph_a: of(0),
        i0_a: (0..K).map(|k| of(1 + 2 * k)).collect(),
        n: (0..K).map(|k| of(2 + 2 * k)).collect(),
        rs_ohm: of(2 * K + 1),
        rsh_ohm: of(2 * K + 2),
        cells: number(f64::from(cells)),
        temperature_c: number(temperature_c),
    })
}

/// 0 for all threads that the machine offers.
fn limit(threads: usize) -> Option<NonZeroUsize> {
    NonZeroUsize::new(threads)
}

/// Every device at every point of a host, a row a device.
fn evaluated(
    models: u64,
    (name, points, length): (&'static str, In<f64>, usize),
    out: Buffer<f64>,
    evaluate: impl FnOnce(
        &Models,
        ArrayView<'_, f64, IxDyn>,
        ArrayViewMut<'_, f64, IxDyn>,
    ) -> Result<(), ModelError>,
) -> Outcome {
    let models = handles::get::<Arc<Models>>("models", models)?;
    let points = points.list(name, length)?;
    let shape = [on!(Models, &*models, m => m.count()), points.len()];
    let needed = shape[0].saturating_mul(shape[1]);
    if needed > MOST_VALUES {
        return Err(Misuse::TooLong { argument: name, length: needed }.into());
    }
    out.check(needed)?;
    let mut values = ArrayD::zeros(IxDyn(&shape));
    evaluate(&models, ArrayView1::from(&points).into_dyn(), values.view_mut())?;
    out.fill(&values.into_raw_vec_and_offset().0)?;
    Ok(Answer::Done)
}

/// Isc, Voc, Pmax, V_Pmax, I_Pmax and FF of each device, one after the other.
fn rows(found: &BatchKeyPoints) -> Vec<f64> {
    let columns = [&found.isc_a, &found.voc_v, &found.pmax_w, &found.v_pmax_v, &found.i_pmax_a, &found.ff];
    let count = found.isc_a.len();
    let lists = columns.map(|column| column.iter().copied().collect::<Vec<f64>>());
    (0..count * FIGURES).map(|k| lists[k % FIGURES].get(k / FIGURES).copied().unwrap_or(ABSENT)).collect()
}

interface! {
    /// Models of many devices of `diodes` (1 or 2): a table of their parameters, row by row, 5 or 7 in the order of
    /// `litdiode_model_new`. Cells and temperature in °C are those of all.
    fn litdiode_models_new(
        diodes: i32,
        parameters: In<f64>,
        parameters_length: usize,
        cells: u32,
        temperature_c: f64,
        models: Out<u64>,
    ) {
        give("models", models, || {
            let (two, list) = (two_diodes(diodes)?, parameters.list("parameters", parameters_length)?);
            let width = if two { 7 } else { 5 };
            let whole = list.len().div_ceil(width).max(1) * width;
            same_length("parameters", list.len(), whole, "give as many for every device")?;
            Ok::<_, Fault>(Arc::new(match two {
                false => Models::One(devices(&list, cells, temperature_c)?),
                true => Models::Two(devices(&list, cells, temperature_c)?),
            }))
        })?;
        Ok(Answer::Done)
    }

    /// I in A of every device at every voltage in V, a row a device, on `threads` threads, 0 for all there are.
    fn litdiode_models_current(
        models: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        threads: usize,
        current_a: Out<f64>,
        current_capacity: usize,
    ) {
        let (points, out) =
            (("voltage_v", voltage_v, voltage_length), buffer!(current_a, current_capacity));
        evaluated(models, points, out, |models, v, i| on!(Models, models, m => m.current(v, limit(threads), i)))
    }

    /// V in V of every device at every current in A, a row a device, on `threads` threads, 0 for all there are.
    fn litdiode_models_voltage(
        models: u64,
        current_a: In<f64>,
        current_length: usize,
        threads: usize,
        voltage_v: Out<f64>,
        voltage_capacity: usize,
    ) {
        let (points, out) =
            (("current_a", current_a, current_length), buffer!(voltage_v, voltage_capacity));
        evaluated(models, points, out, |models, i, v| on!(Models, models, m => m.voltage(i, limit(threads), v)))
    }

    /// Isc, Voc, Pmax, V_Pmax, I_Pmax and FF of every device, 6 in a row, in SI units; FF in the dark is NaN.
    fn litdiode_models_key_points(models: u64, threads: usize, key_points: Out<f64>, key_points_capacity: usize) {
        let models = handles::get::<Arc<Models>>("models", models)?;
        let found = on!(Models, &*models, m => m.key_points(limit(threads)));
        buffer!(key_points, key_points_capacity).fill(&rows(&found))?;
        Ok(Answer::Done)
    }
}
