//! Order and range of readings: what several rooms ask of a list of numbers.

/// Indices of the points by rising voltage; points of equal voltage in the order of measurement.
pub fn by_voltage(voltage_v: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..voltage_v.len()).collect();
    order.sort_by(|&i, &j| voltage_v[i].total_cmp(&voltage_v[j]));
    order
}

/// Smallest and largest of `xs`; (∞, −∞) of none.
pub fn range(xs: &[f64]) -> (f64, f64) {
    xs.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)))
}
