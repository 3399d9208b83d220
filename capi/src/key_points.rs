//! Key points: Isc, Voc, the point of maximum power, FF, Jsc and η, each with its standard uncertainty.

use crate::choices::{KEY_POINT, flag};
use crate::handles;
use crate::interface::interface;
use crate::misuse::{Answer, Fault};
use crate::pointers::{Buffer, Out, buffer};
use crate::work::{check_level, give, under, write_estimate, write_interval};
use litdiode::curve::{Beyond, key_points_beyond};
use litdiode::estimate::Estimate;
use litdiode::key_points::{KeyPoint, KeyPoints};
use litdiode::reason::Reason;
use litdiode::sweep::Sweep;
use std::sync::Arc;

fn get(points: u64) -> Result<Arc<KeyPoints>, Fault> {
    handles::get("key_points", points)
}

/// The figure, or why it is not there.
fn present(points: &KeyPoints, figure: KeyPoint) -> Result<&Estimate, Fault> {
    let why = || points.why_absent(figure.name()).cloned().unwrap_or(Reason::Unrecorded);
    points.get(figure.name()).ok_or_else(|| why().into())
}

/// Names as numbers and the matrix over them, each with the buffer for it.
pub fn write_matrix(
    (names, figures): (&[i32], Buffer<i32>),
    (matrix, covariance): (&[f64], Buffer<f64>),
    count: Out<usize>,
) -> Result<(), Fault> {
    let whole = matrix.len() == names.len() * names.len();
    let names = if whole { names } else { &[] };
    count.set("count", names.len())?;
    figures.fill(names)?;
    covariance.fill(if whole { matrix } else { &[] })
}

interface! {
    /// Key points of a sweep without a model. `beyond_isc`, `beyond_voc` 1: that figure may be extrapolated by a quarter of
    /// the range swept.
    fn litdiode_key_points_new(sweep: u64, beyond_isc: i32, beyond_voc: i32, cancel: u64, key_points: Out<u64>) {
        give("key_points", key_points, || {
            let sweep = handles::get::<Sweep>("sweep", sweep)?;
            let (isc, voc) = (flag("beyond_isc", beyond_isc)?, flag("beyond_voc", beyond_voc)?);
            let beyond = Beyond::default().isc(isc).voc(voc);
            Ok(Arc::new(under(cancel, || key_points_beyond(&sweep, beyond))?))
        })?;
        Ok(Answer::Done)
    }

    /// A figure with its standard uncertainty (NaN where there is none) and its degrees of freedom (infinite where the noise
    /// is known), in SI units. A figure that is not there has the number of the reason as status, 800 to 899. The text is
    /// what must be known with it.
    fn litdiode_key_points_figure(key_points: u64, figure: i32, value: Out<f64>, u: Out<f64>, dof: Out<f64>) {
        let (points, figure) = (get(key_points)?, KEY_POINT.of(figure)?);
        Ok(Answer::Remarks(write_estimate(present(&points, figure)?, value, u, dof)?))
    }

    /// The interval that holds a figure with the probability `level`; an end that is not there is NaN, and the text says why.
    fn litdiode_key_points_interval(key_points: u64, figure: i32, level: f64, low: Out<f64>, high: Out<f64>) {
        let (points, figure) = (get(key_points)?, KEY_POINT.of(figure)?);
        check_level(level)?;
        Ok(Answer::Remarks(write_interval(&present(&points, figure)?.interval(level), low, high)?))
    }

    /// The figures that have an uncertainty, `count` of at most 6, and their covariance in SI units, row by row.
    fn litdiode_key_points_covariance(
        key_points: u64,
        figures: Out<i32>,
        figures_capacity: usize,
        covariance: Out<f64>,
        covariance_capacity: usize,
        count: Out<usize>,
    ) {
        let points = get(key_points)?;
        let numbers = points.names.iter().map(|name| Ok(KEY_POINT.number(name.parse()?)));
        let numbers = numbers.collect::<Result<Vec<i32>, Fault>>()?;
        let names = (&numbers[..], buffer!(figures, figures_capacity));
        write_matrix(names, (&points.covariance, buffer!(covariance, covariance_capacity)), count)?;
        Ok(Answer::Done)
    }
}
