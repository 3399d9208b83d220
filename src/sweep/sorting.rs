//! The order of readings.

/// Indices of the points by rising voltage; points of equal voltage in the order of measurement.
pub fn by_voltage(voltage_v: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..voltage_v.len()).collect();
    order.sort_by(|&i, &j| voltage_v[i].total_cmp(&voltage_v[j]));
    order
}
