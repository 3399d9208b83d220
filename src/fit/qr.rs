//! Thin QR of a small dense matrix, and triangular solves, on plain slices.
//!
//! J = Q·R with Q (rows × columns, row by row) orthonormal, R upper triangular. Gram–Schmidt with
//! every column orthogonalised twice, which is orthonormal to rounding (W. Hoffmann, Computing 41 (1989)
//! 335: twice is enough).

/// Thin QR of `j` (rows × n, row by row): Q replaces `j`, R (n × n, row by row) goes to `r`.
///
/// A column that depends on those before it gets a zero column in Q and a zero on the diagonal of R.
pub fn thin_qr(j: &mut [f64], n: usize, r: &mut [f64]) {
    if n == 0 {
        return;
    }
    let rows = j.len() / n;
    r.fill(0.0);
    for c in 0..n {
        let before = norm(j, rows, n, c);
        for _ in 0..2 {
            for k in 0..c {
                let dot: f64 = (0..rows).map(|i| j[i * n + k] * j[i * n + c]).sum();
                r[k * n + c] += dot;
                (0..rows).for_each(|i| j[i * n + c] -= dot * j[i * n + k]);
            }
        }
        let length = norm(j, rows, n, c);
        let dependent = length.is_nan() || length <= 1e-15 * before;
        r[c * n + c] = if dependent { 0.0 } else { length };
        let factor = if dependent { 0.0 } else { 1.0 / length };
        (0..rows).for_each(|i| j[i * n + c] *= factor);
    }
}

fn norm(j: &[f64], rows: usize, n: usize, c: usize) -> f64 {
    (0..rows).map(|i| j[i * n + c] * j[i * n + c]).sum::<f64>().sqrt()
}

/// Solves R·x = b in place for upper triangular R; `false` where a diagonal entry is 0.
pub fn solve_upper(r: &[f64], n: usize, b: &mut [f64]) -> bool {
    for i in (0..n).rev() {
        let sum: f64 = (i + 1..n).map(|k| r[i * n + k] * b[k]).sum();
        if r[i * n + i] == 0.0 {
            return false;
        }
        b[i] = (b[i] - sum) / r[i * n + i];
    }
    true
}

/// R⁻¹ for upper triangular R; `None` where it is singular.
pub fn inverse_upper(r: &[f64], n: usize) -> Option<Vec<f64>> {
    let mut inverse = vec![0.0; n * n];
    let mut column = vec![0.0; n];
    for c in 0..n {
        column.fill(0.0);
        column[c] = 1.0;
        if !solve_upper(r, n, &mut column) {
            return None;
        }
        (0..n).for_each(|i| inverse[i * n + c] = column[i]);
    }
    Some(inverse)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Läuchli's matrix with δ = 1e-9: normal equations lose it entirely. JᵀJ = 11ᵀ + δ²·I exactly.
    #[test]
    fn ill_conditioned_columns_stay_orthonormal() {
        let d = 1e-9;
        let mut j = vec![1.0, 1.0, 1.0, d, 0.0, 0.0, 0.0, d, 0.0, 0.0, 0.0, d];
        let mut r = vec![0.0; 9];
        thin_qr(&mut j, 3, &mut r);
        for a in 0..3 {
            for b in 0..3 {
                let dot: f64 = (0..4).map(|i| j[i * 3 + a] * j[i * 3 + b]).sum();
                assert_relative_eq!(dot, f64::from(u8::from(a == b)), epsilon = 1e-14);
            }
        }
        assert_relative_eq!(r[4], d * 2f64.sqrt(), max_relative = 1e-7);
    }
}
