//! A tridiagonal covariance and the numbers that it makes independent, by LDLᵀ.
//!
//! ```text
//! d₀ = a₀      lₖ = bₖ/dₖ      dₖ₊₁ = aₖ₊₁ − lₖ·bₖ
//! ```

/// L and D of a matrix with diagonal a and off-diagonal b.
pub(crate) struct Tridiagonal {
    lower: Vec<f64>,
    pivot: Vec<f64>,
}

/// A pivot below this part of its diagonal is rounding: the matrix is singular to working precision.
const SINGULAR: f64 = 1e-12;

impl Tridiagonal {
    /// `None` where the matrix is not positive definite.
    pub fn factor(diagonal: &[f64], beside: &[f64]) -> Option<Self> {
        let mut pivot = Vec::with_capacity(diagonal.len());
        let mut lower: Vec<f64> = Vec::with_capacity(beside.len());
        for (k, a) in diagonal.iter().enumerate() {
            let d = if k == 0 { *a } else { a - lower[k - 1] * beside[k - 1] };
            if d.is_nan() || d <= SINGULAR * a {
                return None;
            }
            pivot.push(d);
            if let Some(b) = beside.get(k) {
                lower.push(b / d);
            }
        }
        Some(Self { lower, pivot })
    }

    /// (L·D^½)⁻¹·b: numbers whose covariance is this matrix become independent, each of variance 1.
    pub fn whiten(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        for k in 1..x.len() {
            x[k] -= self.lower[k - 1] * x[k - 1];
        }
        x.iter_mut().zip(&self.pivot).for_each(|(x, d)| *x /= d.sqrt());
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// bᵀ·A⁻¹·b by hand: the second difference of x = (1, 4, 9) with 2 on the diagonal is b = (−2, −2, 14), so that
    /// bᵀ·x = −2 − 8 + 126.
    #[test]
    fn second_differences() {
        let matrix = Tridiagonal::factor(&[2.0; 3], &[-1.0; 2]).unwrap();
        let white = matrix.whiten(&[-2.0, -2.0, 14.0]);
        assert_relative_eq!(white.iter().map(|x| x * x).sum::<f64>(), 116.0, max_relative = 1e-14);
        assert!(Tridiagonal::factor(&[1.0, 1.0], &[1.0]).is_none());
    }
}
