//! The order of readings.

/// Indices of the points by rising voltage; points of equal voltage in the order of measurement.
///
/// # Examples
/// ```
/// assert_eq!(litdiode::sweep::by_voltage(&[0.4, 0.0, 0.2]), [1, 2, 0]);
/// ```
pub fn by_voltage(voltage_v: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..voltage_v.len()).collect();
    order.sort_by(|&i, &j| voltage_v[i].total_cmp(&voltage_v[j]));
    order
}

/// Part of the first step by which readings may miss 0 and still begin there: a correction moved them, or the source's own
/// error.
const MISSED: f64 = 0.02;

/// Whether the reading nearest to 0 is nearer to it than a fiftieth of its distance to the next one.
pub(crate) fn begins_at_zero(readings: &[f64]) -> bool {
    let (mut first, mut second) = (f64::INFINITY, f64::INFINITY);
    for size in readings.iter().map(|x| x.abs()) {
        if size < first {
            (first, second) = (size, first);
        } else if size < second && size > first {
            second = size;
        }
    }
    first <= MISSED * (second - first)
}
