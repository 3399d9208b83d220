//! Thin QR of a small dense matrix, and triangular solves, on plain slices.
//!
//! J = Q·R with Q (column by column) orthonormal, R (row by row) upper triangular. Gram–Schmidt with every column
//! orthogonalised again where it lost length, which is orthonormal to rounding (W. Hoffmann, Computing 41 (1989) 335:
//! twice is enough).

use multiversion::multiversion;

/// A column that keeps more than this share of its length is orthogonal to rounding as it is.
const KEPT: f64 = 0.7;
/// The same where Q need not be orthonormal to rounding.
const ROUGHLY: f64 = 1e-4;
/// Sums that run side by side in a scalar product, so that it becomes vector code.
const LANES: usize = 8;

/// Thin QR of `j` (n columns of equal length, one after the other): Q replaces `j`, R (n × n, row by row) goes to `r`.
///
/// A column that depends on those before it gets a zero column in Q and a zero on the diagonal of R.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn thin_qr(j: &mut [f64], n: usize, r: &mut [f64]) {
    orthogonalise(j, n, r, KEPT);
}

/// R alone, to the same accuracy (Å. Björck, BIT 7 (1967) 1); what replaces `j` is not orthonormal to rounding.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn triangle_of(j: &mut [f64], n: usize, r: &mut [f64]) {
    orthogonalise(j, n, r, 0.0);
}

/// Thin QR with Q orthonormal to rounding times what a column may lose, 1e4.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn rough_qr(j: &mut [f64], n: usize, r: &mut [f64]) {
    orthogonalise(j, n, r, ROUGHLY);
}

/// Every column is taken out of all that follow as soon as it is done: their sums do not wait for each other.
#[inline(always)]
fn orthogonalise(j: &mut [f64], n: usize, r: &mut [f64], kept: f64) {
    if n == 0 || j.is_empty() {
        return;
    }
    let rows = j.len() / n;
    r.fill(0.0);
    // The lengths of the columns as they come stand on the diagonal until their turn.
    for (c, column) in j.chunks_exact(rows).enumerate() {
        r[c * n + c] = dot(column, column).sqrt();
    }
    for c in 0..n {
        let (done, rest) = j.split_at_mut(c * rows);
        let (column, rest) = rest.split_at_mut(rows);
        let before = r[c * n + c];
        let mut length = dot(column, column).sqrt();
        if length.is_nan() || length <= kept * before {
            for (k, q) in done.chunks_exact(rows).enumerate() {
                r[k * n + c] += leave(q, column);
            }
            length = dot(column, column).sqrt();
        }
        let dependent = length.is_nan() || length <= 1e-15 * before;
        r[c * n + c] = if dependent { 0.0 } else { length };
        let factor = if dependent { 0.0 } else { 1.0 / length };
        column.iter_mut().for_each(|x| *x *= factor);
        for (k, later) in rest.chunks_exact_mut(rows).enumerate() {
            r[c * n + c + 1 + k] = leave(column, later);
        }
    }
}

/// Takes the unit vector `q` out of `column`; the share it had.
#[inline(always)]
fn leave(q: &[f64], column: &mut [f64]) -> f64 {
    let share = dot(q, column);
    column.iter_mut().zip(q).for_each(|(x, q)| *x = q.mul_add(-share, *x));
    share
}

/// Σ xᵢ² in the same order.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn sum_of_squares(x: &[f64]) -> f64 {
    dot(x, x)
}

/// Takes out of `column` what lies in the span of the orthonormal columns of `q`.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn take_out(q: &[f64], column: &mut [f64]) {
    for q in q.chunks_exact(column.len()) {
        leave(q, column);
    }
}

/// Σ aᵢ·bᵢ in a fixed order, whatever the machine.
#[inline(always)]
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; LANES];
    let (a_blocks, b_blocks) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
    // A loop: a fold would be a function of its own, without the fused instructions of this one.
    let mut tail = 0.0f64;
    for (a, b) in a_blocks.remainder().iter().zip(b_blocks.remainder()) {
        tail = a.mul_add(*b, tail);
    }
    for (a, b) in a_blocks.zip(b_blocks) {
        for l in 0..LANES {
            sums[l] = a[l].mul_add(b[l], sums[l]);
        }
    }
    ((sums[0] + sums[4]) + (sums[1] + sums[5])) + ((sums[2] + sums[6]) + (sums[3] + sums[7])) + tail
}

/// Σ aᵢ·bᵢ as if in twice the precision, rounded once (T. Ogita, S. M. Rump, S. Oishi, SIAM J. Sci. Comput. 26 (2005)
/// 1955, algorithm 5.3 with the fused product), for each column of `a`, in side-by-side sums of a fixed order.
#[multiversion(targets("x86_64+avx512f+avx512dq+avx512vl+avx512bw+fma", "x86_64+avx2+fma", "aarch64+neon"))]
pub fn exact_dots(columns: &[f64], b: &[f64], out: &mut [f64]) {
    for (out, a) in out.iter_mut().zip(columns.chunks_exact(b.len().max(1))) {
        let (mut sums, mut lost) = ([0.0; LANES], [0.0; LANES]);
        let mut add = |l: usize, a: f64, b: f64| {
            let product = a * b;
            let rest = a.mul_add(b, -product);
            let sum = sums[l] + product;
            let back = sum - sums[l];
            lost[l] += (sums[l] - (sum - back)) + (product - back) + rest;
            sums[l] = sum;
        };
        let (a_blocks, b_blocks) = (a.chunks_exact(LANES), b.chunks_exact(LANES));
        let rest = a_blocks.remainder().iter().zip(b_blocks.remainder());
        rest.enumerate().for_each(|(l, (a, b))| add(l, *a, *b));
        for (a, b) in a_blocks.zip(b_blocks) {
            (0..LANES).for_each(|l| add(l, a[l], b[l]));
        }
        let (mut whole, mut small) = (0.0, 0.0);
        for l in 0..LANES {
            let sum: f64 = whole + sums[l];
            let back = sum - whole;
            small += (whole - (sum - back)) + (sums[l] - back) + lost[l];
            whole = sum;
        }
        *out = whole + small;
    }
}

/// Solves Rᵀ·x = b in place for upper triangular R; 0 where a diagonal entry is 0.
pub fn solve_transposed(r: &[f64], n: usize, b: &mut [f64]) {
    for i in 0..n {
        let sum: f64 = (0..i).map(|k| r[k * n + i] * b[k]).sum();
        let d = r[i * n + i];
        b[i] = if d == 0.0 { 0.0 } else { (b[i] - sum) / d };
    }
}

/// Solves R·x = b in place for upper triangular R; `false` where a diagonal entry is 0.
pub fn solve_upper(r: &[f64], n: usize, b: &mut [f64]) -> bool {
    solve_upper_settling(r, n, b, |_, x| x)
}

/// [`solve_upper`], where each unknown is settled to a value that can be had, `settle(i, x)`, before those above it
/// are worked out: they make up for what that moved.
pub fn solve_upper_settling(r: &[f64], n: usize, b: &mut [f64], settle: impl Fn(usize, f64) -> f64) -> bool {
    for i in (0..n).rev() {
        let sum: f64 = (i + 1..n).map(|k| r[i * n + k] * b[k]).sum();
        if r[i * n + i] == 0.0 {
            return false;
        }
        b[i] = settle(i, (b[i] - sum) / r[i * n + i]);
    }
    true
}

/// R⁻¹ for upper triangular R into `inverse`, all zeros before; `false` where it is singular.
pub fn inverse_upper(r: &[f64], n: usize, inverse: &mut [f64]) -> bool {
    for c in 0..n {
        for i in (0..=c).rev() {
            let sum: f64 = (i + 1..=c).map(|k| r[i * n + k] * inverse[k * n + c]).sum();
            let unit = if i == c { 1.0 } else { 0.0 };
            if r[i * n + i] == 0.0 {
                return false;
            }
            inverse[i * n + c] = (unit - sum) / r[i * n + i];
        }
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Läuchli's matrix with δ = 1e-9: normal equations lose it entirely. JᵀJ = 11ᵀ + δ²·I exactly.
    #[test]
    fn ill_conditioned_columns_stay_orthonormal() {
        let d = 1e-9;
        let mut j = vec![1.0, d, 0.0, 0.0, 1.0, 0.0, d, 0.0, 1.0, 0.0, 0.0, d];
        let mut r = vec![0.0; 9];
        thin_qr(&mut j, 3, &mut r);
        for a in 0..3 {
            for b in 0..3 {
                let dot: f64 = (0..4).map(|i| j[a * 4 + i] * j[b * 4 + i]).sum();
                assert_relative_eq!(dot, f64::from(u8::from(a == b)), epsilon = 1e-14);
            }
        }
        assert_relative_eq!(r[4], d * 2f64.sqrt(), max_relative = 1e-7);
    }

    /// One pass keeps R, also of Läuchli's matrix, whose R₂₂ is δ·√2 to first order.
    #[test]
    fn one_pass_keeps_the_triangle() {
        let d = 1e-9;
        let mut j = vec![1.0, d, 0.0, 0.0, 1.0, 0.0, d, 0.0, 1.0, 0.0, 0.0, d];
        let mut r = vec![0.0; 9];
        triangle_of(&mut j, 3, &mut r);
        assert_relative_eq!(r[4], d * 2f64.sqrt(), max_relative = 1e-7);
        let j: Vec<f64> = (0..75).map(|k| (f64::from(k) * 1.7).sin()).collect();
        let (mut once, mut twice) = ([0.0; 9], [0.0; 9]);
        triangle_of(&mut j.clone(), 3, &mut once);
        thin_qr(&mut j.clone(), 3, &mut twice);
        for (a, b) in once.iter().zip(twice) {
            assert_relative_eq!(*a, b, epsilon = 1e-14);
        }
    }

    /// The sum of ±1e16 and small numbers, by hand 3.
    #[test]
    fn exact_dot_loses_nothing() {
        let a = [1e16, 1.0, -1e16, 1.0, 1e8, 1.0, -1e8, 0.0, 0.0];
        let mut out = [0.0];
        exact_dots(&a, &[1.0, 1.0, 1.0, 1.0, 1e8, 1.0, 1e8, 1.0, 1.0], &mut out);
        assert_eq!(out, [3.0]);
    }

    /// Q·R gives the matrix back, also where its length is no multiple of the lanes.
    #[test]
    fn product_gives_the_matrix_back() {
        for rows in [3, 8, 19, 26] {
            let j: Vec<f64> = (0..3 * rows).map(|k| (k as f64 * 1.7).sin()).collect();
            let (mut q, mut r) = (j.clone(), vec![0.0; 9]);
            thin_qr(&mut q, 3, &mut r);
            for (k, x) in j.iter().enumerate() {
                let (c, i) = (k / rows, k % rows);
                let product: f64 = (0..3).map(|m| q[m * rows + i] * r[m * 3 + c]).sum();
                assert_relative_eq!(product, *x, epsilon = 1e-14);
            }
        }
    }
}
