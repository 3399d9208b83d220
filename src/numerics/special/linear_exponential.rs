//! The scalar equation behind both directions of a circuit, solved to the last bits.
//!
//! ```text
//! α·u + ρ·Σk I0k·(exp(u/ak) − 1) = s
//! I(V): α = 1 + Rs·g, ρ = Rs, s = V + Rs·Iph          V(I): α = g, ρ = 1, s = Iph − I
//! ```
//!
//! The left side is convex and rises with u. With one diode and α > 0 the root is a Wright omega:
//!
//! ```text
//! ω + ln ω = y,   y = ln(ρI0/(αa)) + c/(αa),   c = s + ρΣI0,   u = a·(ln ω − ln(ρI0/(αa))) = c/α − a·ω
//! ```
//!
//! With more diodes the smallest of the single-diode roots lies above the root, and Newton's method
//! falls to it from there without overshooting. A last Newton step with `expm1` removes what the
//! closed form lost; its residual has no cancellation that the data do not have.
//!
//! Sources: R. M. Corless, D. J. Jeffrey, The Wright ω function, LNCS 2385 (2002) 76; iteration of
//! F. N. Fritsch, R. E. Shafer, W. P. Crowley, Commun. ACM 16 (1973) 123 (both from memory).

/// Newton steps after which the root is taken as it is; convergence takes fewer than ten from the
/// starts used here, and the bound only keeps the loop finite.
const MOST_STEPS: usize = 200;
/// Exponent above which exp is had as the square of its root: below, exp times the largest saturation current (1e6 A)
/// is finite.
const SPLIT: f64 = 690.0;

/// One equation; see the module.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LinExp<'a, const K: usize> {
    pub alpha: f64,
    pub rho: f64,
    pub i0: &'a [f64; K],
    pub ln_i0: &'a [f64; K],
    pub a: &'a [f64; K],
}

impl<const K: usize> LinExp<'_, K> {
    /// The root u for the right side `s`; −∞ where only α = 0 and s ≤ −ρΣI0 leave none.
    pub fn solve(&self, s: f64) -> f64 {
        if self.rho == 0.0 || s == 0.0 {
            return if s == 0.0 { 0.0 } else { s / self.alpha };
        }
        let c = s + self.rho * self.i0.iter().sum::<f64>();
        let start = if self.alpha > 0.0 { self.start(c) } else { self.start_without_linear_part(c) };
        if start.is_finite() { self.polish(start, s) } else { start }
    }

    /// An upper bound of the root, exact for one diode.
    fn start(&self, c: f64) -> f64 {
        let ln_rho_over_alpha = (self.rho / self.alpha).ln();
        let mut least = f64::INFINITY;
        for k in 0..K {
            let ln_slope = self.ln_i0[k] + (ln_rho_over_alpha - self.a[k].ln());
            least = least.min(single_root(c, self.alpha, self.a[k], ln_slope));
        }
        least
    }

    /// Root of Σ I0k·exp(u/ak) = c/ρ by Newton's method on its logarithm, which is all but straight.
    fn start_without_linear_part(&self, c: f64) -> f64 {
        if c.is_nan() || c <= 0.0 {
            return if c.is_nan() { c } else { f64::NEG_INFINITY };
        }
        let ln_c = (c / self.rho).ln();
        let mut u = f64::INFINITY;
        for k in 0..K {
            u = u.min(self.a[k] * (ln_c - self.ln_i0[k]));
        }
        for _ in 0..MOST_STEPS * usize::from(K > 1) {
            let (sum, slope) = self.relative_sum(u, ln_c);
            let step = sum.ln() * sum / slope;
            u -= step;
            if step.abs() <= 1e-9 * self.a[0] {
                break;
            }
        }
        u
    }

    /// Σ I0k·exp(u/ak)/c and its derivative.
    fn relative_sum(&self, u: f64, ln_c: f64) -> (f64, f64) {
        let (mut sum, mut slope) = (0.0, 0.0);
        for k in 0..K {
            let part = (u / self.a[k] + self.ln_i0[k] - ln_c).exp();
            sum += part;
            slope += part / self.a[k];
        }
        (sum, slope)
    }

    /// Newton's method from `u` at or above the root.
    fn polish(&self, mut u: f64, s: f64) -> f64 {
        let least_a = self.a.iter().copied().fold(f64::INFINITY, f64::min);
        for _ in 0..MOST_STEPS {
            let (mut value, mut slope) = (self.alpha.mul_add(u, -s), self.alpha);
            for k in 0..K {
                let e = ScaledExp::of_product(u / self.a[k], self.i0[k], self.rho);
                value += e.minus_one;
                slope += e.whole / self.a[k];
            }
            let step = value / slope;
            if !step.is_finite() {
                break;
            }
            u -= step;
            // The error after a step is about step²/2a: below a tenth of the last bit of u here.
            let resolved =
                step.abs() <= 4.0 * u.abs() && step * step <= 0.2 * f64::EPSILON * least_a * u.abs();
            if resolved || step.abs() <= f64::EPSILON * u.abs() {
                break;
            }
        }
        u
    }
}

/// u of αu + βe^(u/a) = c, given ln(β/(αa)), to a few roundings of the larger term.
fn single_root(c: f64, alpha: f64, a: f64, ln_slope: f64) -> f64 {
    let c_over_alpha = c / alpha;
    let y = ln_slope + c_over_alpha / a;
    if y > 1e8 {
        // ω = y − ln y to full precision; c/(αa) itself may lie beyond the range of f64.
        let ln_y = if y.is_finite() { (y - y.ln()).ln() } else { c.ln() - alpha.ln() - a.ln() };
        return a * (ln_y - ln_slope);
    }
    let omega = wright_omega(y);
    if omega >= 1.0 { a * (omega.ln() - ln_slope) } else { c_over_alpha - a * omega }
}

/// ω with ω + ln ω = y, y ≤ 1e8.
fn wright_omega(y: f64) -> f64 {
    if y < -40.0 {
        return y.exp();
    }
    let mut w = if y < -1.0 {
        let e = y.exp();
        e * (1.0 - e * (1.0 - 1.5 * e))
    } else if y < 4.0 {
        // Taylor series about y = 1, where ω = 1.
        let t = y - 1.0;
        1.0 + t * (0.5 + t * (1.0 / 16.0 + t * (-1.0 / 192.0 - t / 3072.0)))
    } else {
        let ln_y = y.ln();
        y - ln_y + ln_y / y
    };
    for _ in 0..2 {
        let r = y - w - w.ln();
        let t = 1.0 + w;
        let twice = 2.0 * t * (t + 2.0 / 3.0 * r);
        w *= 1.0 + r / t * (twice - r) / (twice - 2.0 * r);
    }
    w
}

/// factor·exp(x) and factor·(exp(x) − 1), finite wherever the true product is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ScaledExp {
    pub whole: f64,
    pub minus_one: f64,
}

impl ScaledExp {
    #[inline]
    pub fn new(x: f64, factor: f64) -> Self {
        Self::of_product(x, factor, 1.0)
    }

    /// With `factor`·`by` in place of the factor, also where that product alone would be too small for f64.
    #[inline]
    fn of_product(x: f64, factor: f64, by: f64) -> Self {
        if x > SPLIT {
            let half = (0.5 * x).exp();
            let whole = (factor * half) * (by * half);
            return Self { whole, minus_one: whole };
        }
        let minus_one = x.exp_m1();
        // Below −½ the sum would lose bits of exp(x).
        let whole = if x > -0.5 { minus_one + 1.0 } else { x.exp() };
        Self { whole: by * (factor * whole), minus_one: by * (factor * minus_one) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Ω constant: ω(0) = W(1) = 0.567143290409783872999968662210355549753815787...
    /// (OEIS A030178); ω(1) = 1; ω(1 + e) = e.
    #[test]
    fn wright_omega_at_known_points() {
        assert_relative_eq!(wright_omega(0.0), 0.567_143_290_409_783_8, max_relative = 4e-16);
        assert_relative_eq!(wright_omega(1.0), 1.0, max_relative = 4e-16);
        let e = std::f64::consts::E;
        assert_relative_eq!(wright_omega(1.0 + e), e, max_relative = 6e-16);
    }

    #[test]
    fn wright_omega_satisfies_its_equation() {
        for k in -400..4000 {
            let y = f64::from(k) * 0.1;
            let w = wright_omega(y);
            assert!((w + w.ln() - y).abs() <= 4e-16 * (1.0 + w + y.abs()), "y = {y}");
        }
    }

    #[test]
    fn scaled_exp_stays_finite_where_the_product_is() {
        let e = ScaledExp::new(750.0, 1e-40);
        assert_relative_eq!(e.whole.ln(), 750.0 - 40.0 * std::f64::consts::LN_10, max_relative = 1e-14);
    }

    /// ln(I0·ρ·e^x) is the sum of the three logarithms, also where I0·ρ is below the smallest number.
    #[test]
    fn scaled_exp_of_a_product_below_the_smallest_number() {
        for x in [600.0, 750.0] {
            let e = ScaledExp::of_product(x, 1e-290, 1e-60);
            let want = x - 350.0 * std::f64::consts::LN_10;
            assert_relative_eq!(e.whole.ln(), want, max_relative = 1e-13);
        }
    }
}
