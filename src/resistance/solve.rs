//! Small dense least squares: minimise |A·c − b|² by orthogonalising the columns of A.
//!
//! ```text
//! A = Q·R      c = R⁻¹·Qᵀ·b      (AᵀA)⁻¹ = R⁻¹·R⁻ᵀ
//! ```
//!
//! Gram–Schmidt, every column twice, on columns scaled to length 1: A is never squared.

/// A column that loses more than this part of its length is a combination of those before it.
const DEPENDENT: f64 = 1e-11;

/// Solution and unscaled covariance (AᵀA)⁻¹, row by row.
pub(super) struct Solved {
    pub c: Vec<f64>,
    pub covariance: Vec<f64>,
}

/// `columns` are the columns of A; `None` where they do not determine c.
pub(super) fn least_squares(mut columns: Vec<Vec<f64>>, b: &[f64]) -> Option<Solved> {
    let m = columns.len();
    if m == 0 || b.len() < m {
        return None;
    }
    let scale: Vec<f64> = columns.iter().map(|q| length(q)).collect();
    let mut r = vec![0.0; m * m];
    for j in 0..m {
        if !(scale[j] > 0.0 && scale[j].is_finite()) {
            return None;
        }
        let (done, rest) = columns.split_at_mut(j);
        let column = &mut rest[0];
        column.iter_mut().for_each(|x| *x /= scale[j]);
        for _ in 0..2 {
            for (k, q) in done.iter().enumerate() {
                let along = dot(q, column);
                r[k * m + j] += along;
                column.iter_mut().zip(q).for_each(|(x, q)| *x -= along * q);
            }
        }
        let rest = length(column);
        if rest.is_nan() || rest <= DEPENDENT {
            return None;
        }
        r[j * m + j] = rest;
        column.iter_mut().for_each(|x| *x /= rest);
    }
    let inverse = inverse(&r, m);
    let qb: Vec<f64> = columns.iter().map(|q| dot(q, b)).collect();
    let c: Vec<f64> =
        (0..m).map(|i| (i..m).map(|j| inverse[i * m + j] * qb[j]).sum::<f64>() / scale[i]).collect();
    let entry = |i: usize, j: usize| {
        (i.max(j)..m).map(|k| inverse[i * m + k] * inverse[j * m + k]).sum::<f64>() / (scale[i] * scale[j])
    };
    let covariance: Vec<f64> = (0..m * m).map(|k| entry(k / m, k % m)).collect();
    let sound = c.iter().chain(&covariance).all(|x| x.is_finite());
    sound.then_some(Solved { c, covariance })
}

/// Inverse of an upper triangle.
fn inverse(r: &[f64], m: usize) -> Vec<f64> {
    let mut inverse = vec![0.0; m * m];
    for j in 0..m {
        inverse[j * m + j] = 1.0 / r[j * m + j];
        for i in (0..j).rev() {
            let sum: f64 = (i + 1..=j).map(|k| r[i * m + k] * inverse[k * m + j]).sum();
            inverse[i * m + j] = -sum / r[i * m + i];
        }
    }
    inverse
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn length(a: &[f64]) -> f64 {
    let largest = a.iter().fold(0.0f64, |m, x| m.max(x.abs()));
    if largest > 0.0 && largest.is_finite() {
        largest * a.iter().map(|x| (x / largest).powi(2)).sum::<f64>().sqrt()
    } else {
        largest
    }
}
