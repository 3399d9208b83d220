//! Cholesky factor of a positive semidefinite matrix, small entries of which may have come out below zero by rounding.
//!
//! ```text
//! C = L·Lᵀ        a pivot below 1e-10 of its diagonal entry counts as 0, and its column with it
//! ```
//!
//! G. H. Golub, C. F. Van Loan, Matrix Computations, section 4.2 (from memory); the tolerance leaves what double precision
//! makes of a covariance less the parts of it that have names.

/// Part of a diagonal entry below which a pivot is rounding.
const TOLERANCE: f64 = 1e-10;

/// The lower factor of the n × n matrix `c`, row by row.
pub fn semidefinite_factor(c: &[f64], n: usize) -> Vec<f64> {
    let mut l = vec![0.0; n * n];
    for j in 0..n {
        let dot = |i: usize, l: &[f64]| (0..j).map(|k| l[i * n + k] * l[j * n + k]).sum::<f64>();
        let pivot = c[j * n + j] - dot(j, &l);
        if pivot <= TOLERANCE * c[j * n + j].abs() || !pivot.is_finite() {
            continue;
        }
        let root = pivot.sqrt();
        l[j * n + j] = root;
        for i in j + 1..n {
            l[i * n + j] = (c[i * n + j] - dot(i, &l)) / root;
        }
    }
    l
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Products of a known factor, one of them without full rank.
    #[test]
    fn the_product_comes_back() {
        for l in
            [[2.0, 0.0, 0.0, 0.5, 1.0, 0.0, -1.0, 3.0, 0.25], [2.0, 0.0, 0.0, 0.5, 0.0, 0.0, -1.0, 0.0, 0.25]]
        {
            let product = |l: &[f64]| -> Vec<f64> {
                (0..9).map(|k| (0..3).map(|m| l[k / 3 * 3 + m] * l[k % 3 * 3 + m]).sum()).collect()
            };
            let c = product(&l);
            for (found, wanted) in product(&semidefinite_factor(&c, 3)).iter().zip(&c) {
                assert_relative_eq!(found, wanted, max_relative = 1e-13);
            }
        }
    }
}
