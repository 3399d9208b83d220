//! Zeros of a cubic in an interval, all of them, by the sequence of its derivatives.
//!
//! ```text
//! p(s) = c₀ + c₁·s + c₂·s² + c₃·s³       zeros of p′ cut the interval into stretches on which p is monotone;
//!                                        each stretch with a change of sign holds one zero, found by bracketed Newton
//! ```

/// Coefficients from the constant upwards.
pub(crate) type Cubic = [f64; 4];

/// Steps of a search; bisection alone needs about 60, a triple zero met by Newton's steps about 90.
const STEPS: usize = 200;

/// p(s) by Horner's rule.
pub(crate) fn value(c: &Cubic, s: f64) -> f64 {
    ((c[3] * s + c[2]) * s + c[1]) * s + c[0]
}

/// p′(s).
pub(crate) fn slope(c: &Cubic, s: f64) -> f64 {
    value(&derivative(c), s)
}

/// Σ |cⱼ sʲ|: the scale of the rounding in [`value`].
pub(crate) fn magnitude(c: &Cubic, s: f64) -> f64 {
    value(&c.map(f64::abs), s.abs())
}

fn derivative(c: &Cubic) -> Cubic {
    [c[1], 2.0 * c[2], 3.0 * c[3], 0.0]
}

/// Highest power with a coefficient that is not 0.
fn degree(c: &Cubic) -> usize {
    c.iter().rposition(|c| *c != 0.0).unwrap_or(0)
}

/// Places strictly between `low` and `high` where p turns, rising.
pub(crate) fn turns(c: &Cubic, low: f64, high: f64) -> Vec<f64> {
    let mut turns = zeros(&derivative(c), low, high);
    turns.retain(|s| *s > low && *s < high);
    turns
}

/// Zeros of p from `low` to `high` at which it changes sign, or which lie on an end or a turn; rising. None of a
/// constant.
pub(crate) fn zeros(c: &Cubic, low: f64, high: f64) -> Vec<f64> {
    if degree(c) == 0 {
        return Vec::new();
    }
    let mut nodes = vec![low];
    nodes.extend(turns(c, low, high));
    nodes.push(high);
    let mut zeros = Vec::new();
    for (k, &s) in nodes.iter().enumerate() {
        let here = value(c, s);
        if here == 0.0 {
            zeros.push(s);
        }
        if let Some(&next) = nodes.get(k + 1)
            && here * value(c, next).signum() < 0.0
            && value(c, next) != 0.0
        {
            zeros.push(crossing(c, s, next, here < 0.0));
        }
    }
    zeros
}

/// The zero of p on a stretch on which it is monotone and changes sign, to rounding.
pub(crate) fn crossing(c: &Cubic, mut low: f64, mut high: f64, rising: bool) -> f64 {
    let mut s = 0.5 * low + 0.5 * high;
    for _ in 0..STEPS {
        let here = value(c, s);
        if here == 0.0 {
            break;
        }
        if (here > 0.0) == rising {
            high = s
        } else {
            low = s
        }
        let newton = s - here / slope(c, s);
        let next = if newton > low && newton < high { newton } else { 0.5 * low + 0.5 * high };
        if next == s || high - low <= f64::EPSILON * low.abs().max(high.abs()) {
            break;
        }
        s = next;
    }
    s
}

/// No zero of p lies further from 0 than this (M. Fujiwara, Tôhoku Math. J. 10 (1916) 167); at most 1e100. `None` for a
/// constant.
pub(crate) fn reach(c: &Cubic) -> Option<f64> {
    let d = degree(c);
    let bound = |k: usize| 2.0 * (c[d - k] / c[d]).abs().powf(1.0 / k as f64);
    (1..=d).map(bound).reduce(f64::max).map(|bound| bound.clamp(1.0, 1e100))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn product(a: f64, b: f64, c: f64) -> Cubic {
        [-a * b * c, a * b + b * c + a * c, -(a + b + c), 1.0]
    }

    /// Zeros put in by multiplying out (s − a)(s − b)(s − c).
    #[test]
    fn zeros_that_were_put_in_are_found() {
        for (a, b, c) in [(0.1, 0.5, 0.9), (0.25, 0.26, 0.75), (-3.0, 0.5, 7.0), (0.125, 0.5, 0.501)] {
            let found = zeros(&product(a, b, c), 0.0, 1.0);
            let put: Vec<f64> = [a, b, c].into_iter().filter(|s| (0.0..=1.0).contains(s)).collect();
            assert_eq!(found.len(), put.len(), "{a} {b} {c}: {found:?}");
            assert!(found.iter().zip(&put).all(|(f, p)| (f - p).abs() < 1e-12), "{found:?}");
            assert!([a, b, c].iter().all(|s| s.abs() <= reach(&product(a, b, c)).unwrap()));
        }
    }

    #[test]
    fn a_triple_zero_ends_and_a_constant_has_none() {
        let triple = zeros(&product(0.5, 0.5, 0.5), 0.0, 0.9);
        assert!(triple.len() == 1 && (triple[0] - 0.5).abs() < 1e-5, "{triple:?}");
        assert!(zeros(&[0.0; 4], 0.0, 1.0).is_empty() && zeros(&[2.0, 0.0, 0.0, 0.0], 0.0, 1.0).is_empty());
    }
}
