//! What two readings and their neighbours leave open of the slope between them.
//!
//! ```text
//! right ┄ R: the line through the gap before          E = min(L, R) where the curve bends down, max where it bends up
//! left  ┄ L: the line through the gap after           (I_k − E(V))/(V_k − V) ≤ dI/dV ≤ (E(V) − I_k₊₁)/(V − V_k₊₁)
//! ```
//!
//! A falling curve of one bend through the readings (V_k, I_k) and (V_k₊₁, I_k₊₁), V_k₊₁ < V < V_k, lies between their chord
//! and E. The tangent at V passes no reading on the wrong side: its slope lies between those of the straight lines from
//! (V, E(V)) to the two readings, and both are reached. Where the neighbours do not bend the same way both L and R count.

/// dV/dI before the first gap is continued straight from the first two, but is at least this share of the first.
const LEAST: f64 = 0.25;

/// The least and the greatest dI/dV in S at a voltage in gap `k` of a curve through voltages `y` at currents `x`.
pub(super) fn open_slope(x: &[f64], y: &[f64], k: usize, voltage_v: f64) -> [f64; 2] {
    let last = x.len() - 2;
    let secant = |k: usize| (y[k + 1] - y[k]) / (x[k + 1] - x[k]);
    let own = secant(k);
    let continued = |inner: f64| (2.0 * own - inner).min(LEAST * own);
    let before = if k > 0 {
        secant(k - 1)
    } else if last > 0 {
        continued(secant(1))
    } else {
        own
    };
    let after = if k < last {
        secant(k + 1)
    } else if last == 0 {
        own
    } else if own < secant(k - 1) {
        f64::NEG_INFINITY
    } else {
        continued(secant(k - 1))
    };
    let slope = |secant: f64| (secant < 0.0).then(|| 1.0 / secant);
    let chord = slope(own).unwrap_or(0.0);
    let (steep, flat) = (slope(before).unwrap_or(chord), slope(after).unwrap_or(chord));
    let (low, high) = (y[k + 1].min(y[k]), y[k]);
    let v = voltage_v.clamp(low, high);
    let (left, right) = (x[k + 1] + flat * (v - y[k + 1]), x[k] + steep * (v - y[k]));
    // From a line to the reading that it does not pass through.
    let to_first = if high > v { (x[k] - left) / (high - v) } else { steep };
    let to_second = if v > low { (right - x[k + 1]) / (v - low) } else { flat };
    let by_left = [flat, to_first.min(0.0)];
    let by_right = [steep, to_second.min(0.0)];
    let bends = (own - before, after - own);
    let open: Vec<f64> = if bends.0 <= 0.0 && bends.1 <= 0.0 {
        if left <= right { by_left.to_vec() } else { by_right.to_vec() }
    } else if bends.0 >= 0.0 && bends.1 >= 0.0 {
        if left >= right { by_left.to_vec() } else { by_right.to_vec() }
    } else {
        vec![flat, steep]
    };
    open.into_iter().fold([chord; 2], |[least, most], d| [least.min(d), most.max(d)])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: secants dV/dI of −1, −2 and −4. At 5 V L = 1.75 A is below R = 2 A: slopes from (1 − 1.75)/1 to −1/4. At
    /// 5.8 V R = 1.2 A is below L = 1.55 A: from −1 to (1.2 − 2)/1.8.
    #[test]
    fn slopes_left_open_by_hand() {
        let (x, y) = ([0.0, 1.0, 2.0, 3.0], [7.0, 6.0, 4.0, 0.0]);
        for (v, want) in [(5.0, [-0.75, -0.25]), (5.8, [-1.0, -0.8 / 1.8])] {
            let got = open_slope(&x, &y, 1, v);
            assert!(got.iter().zip(want).all(|(g, w)| (g - w).abs() < 1e-12), "{v}: {got:?}");
        }
        // Of a straight line nothing is open; beyond the last reading a curve that bends down may stop falling.
        assert_eq!(open_slope(&x, &[3.0, 2.0, 1.0, 0.0], 1, 1.5), [-1.0, -1.0]);
        assert_eq!(open_slope(&x, &y, 2, 1.0)[1], 0.0);
    }
}
