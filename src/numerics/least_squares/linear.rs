//! Small dense least squares: minimise |A·c − b|² by orthogonalising the columns of A.
//!
//! ```text
//! A = Q·R      c = R⁻¹·Qᵀ·b      (AᵀA)⁻¹ = R⁻¹·R⁻ᵀ
//! ```
//!
//! Columns scaled to length 1, so that one measure of dependence serves all; A is never squared.

use crate::numerics::linear_algebra::qr::{inverse_upper, thin_qr};

/// A column that loses more than this part of its length is a combination of those before it.
const DEPENDENT: f64 = 1e-11;

/// Solution and unscaled covariance (AᵀA)⁻¹, row by row.
pub(crate) struct Solved {
    pub c: Vec<f64>,
    pub covariance: Vec<f64>,
}

/// `columns` are the columns of A; `None` where they do not determine c.
pub(crate) fn least_squares(columns: &[Vec<f64>], b: &[f64]) -> Option<Solved> {
    let m = columns.len();
    if m == 0 || b.len() < m {
        return None;
    }
    let scale: Vec<f64> = columns.iter().map(|column| length(column)).collect();
    if scale.iter().any(|l| !(*l > 0.0 && l.is_finite())) {
        return None;
    }
    let mut q: Vec<f64> =
        columns.iter().zip(&scale).flat_map(|(column, l)| column.iter().map(move |x| x / l)).collect();
    let mut r = vec![0.0; m * m];
    thin_qr(&mut q, m, &mut r);
    if (0..m).any(|j| r[j * m + j] <= DEPENDENT) {
        return None;
    }
    let mut inverse = vec![0.0; m * m];
    if !inverse_upper(&r, m, &mut inverse) {
        return None;
    }
    let qb: Vec<f64> = q.chunks_exact(b.len()).map(|q| q.iter().zip(b).map(|(q, b)| q * b).sum()).collect();
    let c: Vec<f64> =
        (0..m).map(|i| (i..m).map(|j| inverse[i * m + j] * qb[j]).sum::<f64>() / scale[i]).collect();
    let entry = |i: usize, j: usize| {
        (i.max(j)..m).map(|k| inverse[i * m + k] * inverse[j * m + k]).sum::<f64>() / (scale[i] * scale[j])
    };
    let covariance: Vec<f64> = (0..m * m).map(|k| entry(k / m, k % m)).collect();
    let sound = c.iter().chain(&covariance).all(|x| x.is_finite());
    sound.then_some(Solved { c, covariance })
}

/// The inverse of a small matrix by elimination with row pivots, columns scaled to 1; `None` where it is singular.
pub(crate) fn invert<const M: usize>(mut a: [[f64; M]; M]) -> Option<[[f64; M]; M]> {
    let scale: [f64; M] = std::array::from_fn(|c| length(&a.map(|row| row[c])));
    if scale.iter().any(|s| !(*s > 0.0 && s.is_finite())) {
        return None;
    }
    a.iter_mut().for_each(|row| row.iter_mut().zip(&scale).for_each(|(x, s)| *x /= s));
    let mut inverse: [[f64; M]; M] =
        std::array::from_fn(|r| std::array::from_fn(|c| f64::from(u8::from(r == c))));
    for k in 0..M {
        let pivot = (k..M).max_by(|&i, &j| a[i][k].abs().total_cmp(&a[j][k].abs()))?;
        a.swap(k, pivot);
        inverse.swap(k, pivot);
        let d = a[k][k];
        if d.is_nan() || d.abs() <= DEPENDENT {
            return None;
        }
        a[k].iter_mut().chain(inverse[k].iter_mut()).for_each(|x| *x /= d);
        let (row, by) = (a[k], inverse[k]);
        for r in (0..M).filter(|r| *r != k) {
            let f = a[r][k];
            a[r].iter_mut().zip(&row).for_each(|(x, y)| *x -= f * y);
            inverse[r].iter_mut().zip(&by).for_each(|(x, y)| *x -= f * y);
        }
    }
    inverse.iter_mut().zip(&scale).for_each(|(row, s)| row.iter_mut().for_each(|x| *x /= s));
    Some(inverse)
}

fn length(a: &[f64]) -> f64 {
    let largest = a.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    if largest > 0.0 && largest.is_finite() {
        largest * a.iter().map(|x| (x / largest).powi(2)).sum::<f64>().sqrt()
    } else {
        largest
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// By hand: the inverse of (0, 2; 4, 2) is (−1/4, 1/4; 1/2, 0).
    #[test]
    fn inverse_by_hand() {
        let inverse = invert([[0.0, 2.0], [4.0, 2.0]]).unwrap();
        for (x, by_hand) in inverse.as_flattened().iter().zip([-0.25, 0.25, 0.5, 0.0]) {
            assert_relative_eq!(*x, by_hand, epsilon = 1e-15);
        }
        assert!(invert([[1.0, 2.0], [2.0, 4.0]]).is_none());
    }
}
