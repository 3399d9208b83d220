//! Non-negative least squares of a small dense system.
//!
//! ```text
//! minimise ‖A·x − b‖ with x ≥ 0       at the optimum: Aᵀ(b − A·x) ≤ 0, and 0 wherever x > 0
//! ```
//!
//! The active-set method of C. L. Lawson, R. J. Hanson, Solving Least Squares Problems (1974), chapter 23. Columns are
//! brought to unit length, so that one tolerance serves all.

use crate::numerics::cancel;
use crate::numerics::linear_algebra::qr::{solve_upper, thin_qr};

/// A gradient below this part of ‖b‖ is rounding.
const TOLERANCE: f64 = 1e-13;
/// A column of which less than this is left beside those in use depends on them.
const DEPENDENT: f64 = 1e-11;
/// Rounds for each column; a handful is usual, and each lowers the misfit.
const ROUNDS: usize = 20;

/// x ≥ 0 of the least ‖A·x − b‖, for the columns of A; 0 for a column of zeros.
pub(crate) fn nnls(columns: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let lengths: Vec<f64> = columns.iter().map(|a| dot(a, a).sqrt()).collect();
    let scaled = columns
        .iter()
        .zip(&lengths)
        .map(|(a, l)| a.iter().map(|a| if *l > 0.0 { a / l } else { 0.0 }).collect());
    let mut search = Search::new(scaled.collect(), b);
    for _ in 0..ROUNDS * columns.len() {
        if cancel::requested_now() {
            break;
        }
        let Some(column) = search.steepest() else { break };
        search.admit(column);
    }
    search.x.iter().zip(&lengths).map(|(x, l)| if *l > 0.0 { x / l } else { 0.0 }).collect()
}

struct Search<'a> {
    columns: Vec<Vec<f64>>,
    b: &'a [f64],
    x: Vec<f64>,
    /// The columns with x > 0, in the order of their admission.
    free: Vec<usize>,
    /// Columns that rounding alone makes look useful, until x moves.
    barred: Vec<bool>,
}

impl<'a> Search<'a> {
    fn new(columns: Vec<Vec<f64>>, b: &'a [f64]) -> Self {
        let n = columns.len();
        Self { columns, b, x: vec![0.0; n], free: Vec::new(), barred: vec![false; n] }
    }

    /// The column at its bound along which the misfit falls fastest.
    fn steepest(&self) -> Option<usize> {
        let mut residual = self.b.to_vec();
        for &k in &self.free {
            residual.iter_mut().zip(&self.columns[k]).for_each(|(r, a)| *r -= self.x[k] * a);
        }
        let least = TOLERANCE * dot(self.b, self.b).sqrt();
        let open = (0..self.columns.len()).filter(|k| !self.barred[*k] && !self.free.contains(k));
        let slopes = open.map(|k| (k, dot(&self.columns[k], &residual)));
        slopes.filter(|s| s.1 > least).max_by(|a, b| a.1.total_cmp(&b.1)).map(|s| s.0)
    }

    /// Frees a column and moves to the optimum of the free ones, giving up those that would turn negative.
    fn admit(&mut self, column: usize) {
        self.free.push(column);
        let mut first = true;
        while let Some(z) = self.optimum() {
            if first && z[z.len() - 1] <= 0.0 {
                break;
            }
            first = false;
            if z.iter().all(|z| *z > 0.0) {
                self.free.iter().zip(&z).for_each(|(k, z)| self.x[*k] = *z);
                self.barred.fill(false);
                return;
            }
            self.step_towards(&z);
        }
        self.free.retain(|k| *k != column);
        self.x[column] = 0.0;
        self.barred[column] = true;
    }

    /// Goes towards `z` until the first free x is 0, and gives that one up.
    fn step_towards(&mut self, z: &[f64]) {
        let reach = |(k, z): (&usize, &f64)| if *z > 0.0 { 1.0 } else { self.x[*k] / (self.x[*k] - z) };
        let steps: Vec<f64> = self.free.iter().zip(z).map(reach).collect();
        let step = steps.iter().copied().fold(1.0, f64::min);
        for (&k, z) in self.free.iter().zip(z) {
            self.x[k] += step * (z - self.x[k]);
        }
        let mut given_up = steps.iter().zip(z).map(|(s, z)| *z <= 0.0 && *s <= step);
        let x = &mut self.x;
        self.free.retain(|&k| {
            let out = given_up.next() == Some(true) || x[k] <= 0.0;
            if out {
                x[k] = 0.0;
            }
            !out
        });
    }

    /// Least squares in the free columns; `None` where they are dependent.
    fn optimum(&self) -> Option<Vec<f64>> {
        let n = self.free.len();
        let mut q: Vec<f64> = self.free.iter().flat_map(|&k| self.columns[k].iter().copied()).collect();
        let mut r = vec![0.0; n * n];
        thin_qr(&mut q, n, &mut r);
        if (0..n).any(|c| r[c * n + c] <= DEPENDENT) {
            return None;
        }
        let mut z: Vec<f64> = q.chunks_exact(self.b.len().max(1)).map(|q| dot(q, self.b)).collect();
        solve_upper(&r, n, &mut z).then_some(z)
    }
}

pub(crate) fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    use rand_chacha::ChaCha8Rng;
    use rand_chacha::rand_core::SeedableRng;
    use rand_distr::{Distribution, StandardUniform};

    /// Least squares in the columns of a set by normal equations and Cramer's rule, which shares nothing with the search.
    fn normal_equations(columns: &[&Vec<f64>], b: &[f64]) -> Vec<f64> {
        let n = columns.len();
        let gram: Vec<Vec<f64>> =
            columns.iter().map(|a| columns.iter().map(|c| dot(a, c)).collect()).collect();
        let right: Vec<f64> = columns.iter().map(|a| dot(a, b)).collect();
        let whole = determinant(&gram);
        let replaced = |k: usize| {
            let mut with = gram.clone();
            (0..n).for_each(|row| with[row][k] = right[row]);
            determinant(&with)
        };
        (0..n).map(|k| replaced(k) / whole).collect()
    }

    /// By the first row.
    fn determinant(m: &[Vec<f64>]) -> f64 {
        let minor = |k: usize| -> Vec<Vec<f64>> {
            let rest = |row: &Vec<f64>| row.iter().enumerate().filter(|e| e.0 != k).map(|e| *e.1).collect();
            m[1..].iter().map(rest).collect()
        };
        let sign = |k: usize| if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        if m.is_empty() {
            1.0
        } else {
            (0..m.len()).map(|k| sign(k) * m[0][k] * determinant(&minor(k))).sum()
        }
    }

    /// Every set of columns is tried; the best one without a negative coefficient is the answer, which is unique.
    #[test]
    fn no_choice_of_free_columns_is_better() {
        let mut random = ChaCha8Rng::seed_from_u64(1);
        let mut number = || Distribution::<f64>::sample(&StandardUniform, &mut random) - 0.4;
        let mut bounded = 0;
        for _ in 0..200 {
            let columns: Vec<Vec<f64>> = (0..5).map(|_| (0..7).map(|_| number()).collect()).collect();
            let b: Vec<f64> = (0..7).map(|_| number()).collect();
            let misfit = |x: &[f64]| -> f64 {
                let at = |i: usize| columns.iter().zip(x).map(|(a, x)| a[i] * x).sum::<f64>() - b[i];
                (0..7).map(|i| at(i) * at(i)).sum()
            };
            let mut best = (misfit(&[0.0; 5]), [0.0; 5]);
            for set in 1u32..32 {
                let free: Vec<usize> = (0..5).filter(|k| set >> k & 1 == 1).collect();
                let z = normal_equations(&free.iter().map(|k| &columns[*k]).collect::<Vec<_>>(), &b);
                let mut x = [0.0; 5];
                free.iter().zip(&z).for_each(|(k, z)| x[*k] = *z);
                if z.iter().all(|z| *z >= 0.0) && misfit(&x) < best.0 {
                    best = (misfit(&x), x);
                }
            }
            let x = nnls(&columns, &b);
            for (x, best) in x.iter().zip(best.1) {
                assert!(*x >= 0.0 && (x - best).abs() <= 1e-9, "{x} {best}");
            }
            bounded += usize::from(best.1.contains(&0.0));
        }
        // With all columns free nothing of the search but the last step would be seen.
        assert!(bounded > 100, "{bounded} with a coefficient of 0");
    }

    #[test]
    fn dependent_and_empty_columns_end() {
        let a = vec![1.0, 2.0, 3.0];
        let x = nnls(&[a.clone(), a.clone(), vec![0.0; 3]], &[2.0, 4.0, 6.0]);
        assert!((x[0] + x[1] - 2.0).abs() < 1e-14 && x[2] == 0.0, "{x:?}");
    }
}
