//! Fisher information of a linear model in N coordinates, its inverse, and the inverse after one more observation.
//!
//! ```text
//! M = Σ w·g·gᵀ        C = M⁻¹        (M + g·gᵀ)⁻¹ = C − (C·g)·(C·g)ᵀ/(1 + gᵀ·C·g)
//! ```
//!
//! g is the derivative of one observation, in units of its standard deviation, by the coordinates; cᵀ·C·c is the variance of
//! the combination cᵀ·θ. The last formula is that of J. Sherman, W. J. Morrison, Ann. Math. Stat. 21 (1950) 124. M is
//! scaled to a unit diagonal before it is inverted, so that the units of the coordinates do not matter. Nothing here
//! allocates.

/// Part of a scaled diagonal entry below which a pivot is rounding.
const SINGULAR: f64 = 1e-12;

/// Σ w·g·gᵀ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Information<const N: usize> {
    matrix: [[f64; N]; N],
}

/// The inverse of an [`Information`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covariance<const N: usize> {
    matrix: [[f64; N]; N],
}

impl<const N: usize> Information<N> {
    /// That of no observation.
    pub fn none() -> Self {
        Self { matrix: [[0.0; N]; N] }
    }

    /// Adds the observation `g` with weight `w`; a negative weight takes it away.
    #[inline]
    pub fn add(&mut self, g: &[f64; N], w: f64) {
        for i in 0..N {
            for j in 0..N {
                self.matrix[i][j] += w * g[i] * g[j];
            }
        }
    }

    /// Adds `w` to what is known of coordinate `k` alone.
    pub fn add_to(&mut self, k: usize, w: f64) {
        self.matrix[k][k] += w;
    }

    /// M⁻¹ by the Cholesky factor of D^(−1/2)·M·D^(−1/2), D the diagonal of M. `None` where M is singular to rounding.
    pub fn inverse(&self) -> Option<Covariance<N>> {
        let scale: [f64; N] = std::array::from_fn(|k| self.matrix[k][k].sqrt());
        if !scale.iter().all(|s| *s > 0.0 && s.is_finite()) {
            return None;
        }
        let inverse = inverse_lower(&self.scaled_factor(&scale)?);
        let mut matrix = [[0.0; N]; N];
        for i in 0..N {
            for j in 0..=i {
                let sum: f64 = (i..N).map(|k| inverse[k][i] * inverse[k][j]).sum();
                matrix[i][j] = sum / (scale[i] * scale[j]);
                matrix[j][i] = matrix[i][j];
            }
        }
        matrix.iter().flatten().all(|x| x.is_finite()).then_some(Covariance { matrix })
    }

    /// ln det M; `None` where M is singular to rounding.
    pub fn ln_determinant(&self) -> Option<f64> {
        let scale: [f64; N] = std::array::from_fn(|k| self.matrix[k][k].sqrt());
        let factor = self.scaled_factor(&scale)?;
        let ln = 2.0 * (0..N).map(|k| (factor[k][k] * scale[k]).ln()).sum::<f64>();
        ln.is_finite().then_some(ln)
    }

    /// L of L·Lᵀ = D^(−1/2)·M·D^(−1/2).
    fn scaled_factor(&self, scale: &[f64; N]) -> Option<[[f64; N]; N]> {
        let mut l = [[0.0; N]; N];
        for i in 0..N {
            for j in 0..=i {
                let sum: f64 = (0..j).map(|k| l[i][k] * l[j][k]).sum();
                let rest = self.matrix[i][j] / (scale[i] * scale[j]) - sum;
                if i > j {
                    l[i][j] = rest / l[j][j];
                } else if rest > SINGULAR {
                    l[i][i] = rest.sqrt();
                } else {
                    return None;
                }
            }
        }
        Some(l)
    }
}

/// L⁻¹ of a lower triangle without a zero on its diagonal.
fn inverse_lower<const N: usize>(l: &[[f64; N]; N]) -> [[f64; N]; N] {
    let mut inverse = [[0.0; N]; N];
    for i in 0..N {
        inverse[i][i] = 1.0 / l[i][i];
        for j in 0..i {
            let sum: f64 = (j..i).map(|k| l[i][k] * inverse[k][j]).sum();
            inverse[i][j] = -sum / l[i][i];
        }
    }
    inverse
}

impl<const N: usize> Covariance<N> {
    /// C·g.
    #[inline]
    pub fn times(&self, g: &[f64; N]) -> [f64; N] {
        std::array::from_fn(|i| dot(&self.matrix[i], g))
    }

    /// Variance of the combination `c`: cᵀ·C·c.
    #[inline]
    pub fn variance(&self, c: &[f64; N]) -> f64 {
        dot(c, &self.times(c))
    }

    /// Variance of the combination `c` after one more observation `g`; `c_times` is C·c.
    #[inline]
    pub fn variance_with(&self, c: &[f64; N], c_times: &[f64; N], g: &[f64; N]) -> f64 {
        let gain = dot(g, c_times);
        dot(c, c_times) - gain * gain / (1.0 + self.variance(g))
    }

    /// C after one more observation `g`. After many of them C is best made anew from the information.
    #[inline]
    pub fn observe(&mut self, g: &[f64; N]) {
        let moved = self.times(g);
        let share = 1.0 / (1.0 + dot(g, &moved));
        for i in 0..N {
            for j in 0..N {
                self.matrix[i][j] -= share * moved[i] * moved[j];
            }
        }
    }

    /// Row by row.
    #[cfg(test)]
    pub fn rows(&self) -> &[[f64; N]; N] {
        &self.matrix
    }
}

/// Scalar product.
#[inline]
pub fn dot<const N: usize>(a: &[f64; N], b: &[f64; N]) -> f64 {
    (0..N).map(|k| a[k] * b[k]).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A straight line through x = 0, 1, 2, 3 with σ = 1: u²(intercept) = Σx²/(NΣx² − (Σx)²) = 14/20, u²(slope) = 4/20,
    /// covariance −6/20.
    #[test]
    fn a_straight_line_has_the_variances_of_its_closed_form() {
        let mut m = Information::<2>::none();
        for x in [0.0, 1.0, 2.0, 3.0] {
            m.add(&[1.0, x], 1.0);
        }
        let c = m.inverse().unwrap();
        assert_relative_eq!(c.variance(&[1.0, 0.0]), 14.0 / 20.0, max_relative = 1e-14);
        assert_relative_eq!(c.variance(&[0.0, 1.0]), 4.0 / 20.0, max_relative = 1e-14);
        assert_relative_eq!(c.rows()[0][1], -6.0 / 20.0, max_relative = 1e-14);
        assert_relative_eq!(m.ln_determinant().unwrap(), 20f64.ln(), max_relative = 1e-14);
    }

    /// One observation more, as if M had been made so; coordinates of any unit.
    #[test]
    fn an_observation_more_is_that_of_the_whole() {
        for unit in [1.0, 1e-9, 1e7] {
            let g = |x: f64| [1.0, unit * x, x * x, x.exp()];
            let mut m = Information::<4>::none();
            (0..9).for_each(|k| m.add(&g(0.3 * f64::from(k)), 1.0 + 0.1 * f64::from(k)));
            let mut c = m.inverse().unwrap();
            let wanted = [1.0, -0.5 * unit, 2.0, 0.1];
            let times = c.times(&wanted);
            let more = |x: f64, size: f64| g(x).map(|d| size * d);
            for (x, size) in [(0.7, 1.6), (2.4, 0.3)] {
                let mut whole = m;
                whole.add(&g(x), size * size);
                let whole = whole.inverse().unwrap();
                let with = c.variance_with(&wanted, &times, &more(x, size));
                assert_relative_eq!(with, whole.variance(&wanted), max_relative = 1e-9);
            }
            c.observe(&more(0.7, 1.6));
            m.add(&g(0.7), 1.6 * 1.6);
            let whole = m.inverse().unwrap();
            for (found, wanted) in c.rows().iter().flatten().zip(whole.rows().iter().flatten()) {
                assert_relative_eq!(found, wanted, max_relative = 1e-8);
            }
        }
    }

    #[test]
    fn too_few_observations_are_singular() {
        let mut m = Information::<3>::none();
        assert!(m.inverse().is_none());
        m.add(&[1.0, 2.0, 3.0], 1.0);
        m.add(&[1.0, 0.5, 0.1], 1.0);
        m.add(&[2.0, 2.5, 3.1], 1.0);
        assert!(m.inverse().is_none());
        m.add_to(1, 1.0);
        assert!(m.inverse().is_some());
    }
}
