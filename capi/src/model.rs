//! Forward models of one device: current over voltage, voltage over current, key points.

use crate::choices::flag;
use crate::fit::two_diodes;
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault, Misuse, Outcome};
use crate::objects::{Model, on};
use crate::pointers::{Buffer, In, Out, buffer};
use crate::work::{give, optional, same_length};
use litdiode::diode::{Condition, Device, ModelError, Parameters, SaturationLaw};
use std::sync::Arc;

/// Points of a curve that a plot can want.
const MOST_POINTS: usize = 1_000_000;

const ORDER: &str = "give iph, i0, n, rs, rsh, or iph, i01, n1, i02, n2, rs, rsh";

/// A list of SI values in the order of the model.
pub fn parameters<const K: usize>(list: &[f64], cells: u32, temperature_c: f64) -> Parameters<K> {
    Parameters {
        iph_a: list[0],
        i0_a: std::array::from_fn(|k| list[1 + 2 * k]),
        n: std::array::from_fn(|k| list[2 + 2 * k]),
        rs_ohm: list[2 * K + 1],
        rsh_ohm: list[2 * K + 2],
        cells,
        temperature_c,
    }
}

fn listed<const K: usize>(device: &Device<K>) -> Vec<f64> {
    let p = device.parameters();
    let diodes = p.i0_a.iter().zip(&p.n).flat_map(|(i0, n)| [*i0, *n]);
    std::iter::once(p.iph_a).chain(diodes).chain([p.rs_ohm, p.rsh_ohm]).collect()
}

/// Evaluates a model at the points of a host.
fn evaluated(
    model: u64,
    (name, points, length): (&'static str, In<f64>, usize),
    out: Buffer<f64>,
    evaluate: impl FnOnce(&Model, &[f64], &mut [f64]) -> Result<(), ModelError>,
) -> Outcome {
    let model = handles::get::<Model>("model", model)?;
    let points = points.list(name, length)?;
    out.check(points.len())?;
    let mut values = vec![0.0; points.len()];
    evaluate(&model, &points, &mut values)?;
    out.fill(&values)?;
    Ok(Answer::Done)
}

interface! {
    /// A model of `diodes` (1 or 2): 5 parameters in the order iph, i0, n, rs, rsh, or 7 in the order iph, i01, n1, i02, n2, rs,
    /// rsh, in A, A, 1, Ω, Ω; rsh may be infinite.
    fn litdiode_model_new(
        diodes: i32,
        parameters: In<f64>,
        parameters_length: usize,
        cells: u32,
        temperature_c: f64,
        model: Out<u64>,
    ) {
        give("model", model, || {
            let (two, list) = (two_diodes(diodes)?, parameters.list("parameters", parameters_length)?);
            same_length("parameters", list.len(), if two { 7 } else { 5 }, ORDER)?;
            Ok(match two {
                false => Model::One(Device::new(self::parameters(&list, cells, temperature_c))?),
                true => Model::Two(Device::new(self::parameters(&list, cells, temperature_c))?),
            })
        })?;
        Ok(Answer::Done)
    }

    /// The parameters of a model in the order of `litdiode_model_new`, `count` of them, its cells and its temperature in °C.
    fn litdiode_model_parameters(
        model: u64,
        parameters: Out<f64>,
        parameters_capacity: usize,
        count: Out<usize>,
        cells: Out<u32>,
        temperature_c: Out<f64>,
    ) {
        let model = handles::get::<Model>("model", model)?;
        let (list, own_cells, own_temperature) =
            on!(Model, &model, m => (listed(m), m.parameters().cells, m.parameters().temperature_c));
        buffer!(parameters, parameters_capacity).fill(&list)?;
        count.set("count", list.len())?;
        cells.set("cells", own_cells)?;
        temperature_c.set("temperature_c", own_temperature)?;
        Ok(Answer::Done)
    }

    /// I in A at each voltage in V. Input and output may be the same memory.
    fn litdiode_model_current(
        model: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        current_a: Out<f64>,
        current_capacity: usize,
    ) {
        let (points, out) =
            (("voltage_v", voltage_v, voltage_length), buffer!(current_a, current_capacity));
        evaluated(model, points, out, |model, v, i| on!(Model, model, m => m.current(v, i)))
    }

    /// V in V at each current in A; −∞ where no finite voltage carries it.
    fn litdiode_model_voltage(
        model: u64,
        current_a: In<f64>,
        current_length: usize,
        voltage_v: Out<f64>,
        voltage_capacity: usize,
    ) {
        let (points, out) =
            (("current_a", current_a, current_length), buffer!(voltage_v, voltage_capacity));
        evaluated(model, points, out, |model, i, v| on!(Model, model, m => m.voltage(i, v)))
    }

    /// dI/dV in S at each voltage in V.
    fn litdiode_model_slope(
        model: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        slope_s: Out<f64>,
        slope_capacity: usize,
    ) {
        let (points, out) =
            (("voltage_v", voltage_v, voltage_length), buffer!(slope_s, slope_capacity));
        evaluated(model, points, out, |model, v, s| on!(Model, model, m => m.slope(v, s)))
    }

    /// P in W at each voltage in V.
    fn litdiode_model_power(
        model: u64,
        voltage_v: In<f64>,
        voltage_length: usize,
        power_w: Out<f64>,
        power_capacity: usize,
    ) {
        let (points, out) =
            (("voltage_v", voltage_v, voltage_length), buffer!(power_w, power_capacity));
        evaluated(model, points, out, |model, v, p| on!(Model, model, m => m.power(v, p)))
    }

    /// The key points of a model, exact and so without ±.
    fn litdiode_model_key_points(model: u64, key_points: Out<u64>) {
        give("key_points", key_points, || {
            let model = handles::get::<Model>("model", model)?;
            Ok(Arc::new(on!(Model, &model, m => m.key_points())))
        })?;
        Ok(Answer::Done)
    }

    /// `points` pairs of V and A along the curve for a plot, dense at its knee.
    fn litdiode_model_curve(model: u64, points: usize, voltage_v: Out<f64>, current_a: Out<f64>) {
        let model = handles::get::<Model>("model", model)?;
        if !(2..=MOST_POINTS).contains(&points) {
            let cure = "give 2 to 1,000,000";
            return Err(Misuse::Number { argument: "points", value: points as f64, cure }.into());
        }
        let (v, i) = on!(Model, &model, m => m.curve(points));
        buffer!(voltage_v, points).fill(&v)?;
        buffer!(current_a, points).fill(&i)?;
        Ok(Answer::Done)
    }

    /// The model at another irradiance in W/m² and temperature in °C; NaN keeps one as it is. Its parameters hold at
    /// `reference_w_m2`; `isc_per_k` is the relative change of the photocurrent per kelvin, `gap_ev` the band gap in eV.
    /// `shunt_follows_light` 1: Rsh is proportional to 1/G.
    fn litdiode_model_at(
        model: u64,
        irradiance_w_m2: f64,
        temperature_c: f64,
        reference_w_m2: f64,
        isc_per_k: f64,
        gap_ev: f64,
        shunt_follows_light: i32,
        moved: Out<u64>,
    ) {
        give("moved", moved, || {
            let model = handles::get::<Model>("model", model)?;
            let condition = Condition::default()
                .irradiance_w_m2(optional(irradiance_w_m2))
                .temperature_c(optional(temperature_c))
                .reference_irradiance_w_m2(reference_w_m2)
                .isc_per_k(isc_per_k)
                .gap_ev(gap_ev)
                .saturation_law(SaturationLaw::Ideality)
                .shunt_follows_light(flag("shunt_follows_light", shunt_follows_light)?);
            Ok::<_, Fault>(match model {
                Model::One(model) => Model::One(model.at(&condition)?),
                Model::Two(model) => Model::Two(model.at(&condition)?),
            })
        })?;
        Ok(Answer::Done)
    }
}
