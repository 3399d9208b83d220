//! Newton's method that never leaves a bracket: the root of a falling function of one variable.

/// Steps of widening, and of refinement; more than f64 has exponents and bits.
const MOST_STEPS: usize = 2200;

/// The root of a falling `f` (value, slope), searched outwards from `start` in steps of `unit`.
///
/// ±∞ where `f` keeps its sign to the end of f64.
pub(crate) fn falling_root(start: f64, unit: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let (value, _) = f(start);
    if value == 0.0 || value.is_nan() {
        return if value == 0.0 { start } else { f64::NAN };
    }
    let outward = value.signum();
    let mut near = start;
    let mut width = unit;
    for _ in 0..MOST_STEPS {
        let far = start + outward * width;
        if !far.is_finite() {
            return outward * f64::INFINITY;
        }
        if f(far).0 * outward <= 0.0 {
            return root_between(near.min(far), near.max(far), &f);
        }
        near = far;
        width *= 2.0;
    }
    outward * f64::INFINITY
}

/// The root of a falling `f` between `low` (f ≥ 0) and `high` (f ≤ 0).
///
/// Newton's step where it stays inside and at least halves the bracket's promise; else bisection.
pub(crate) fn root_between(mut low: f64, mut high: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut x = 0.5 * low + 0.5 * high;
    let mut last_step = high - low;
    for _ in 0..MOST_STEPS {
        let (value, slope) = f(x);
        if value == 0.0 {
            return x;
        }
        if value > 0.0 {
            low = x
        } else {
            high = x
        }
        let newton = x - value / slope;
        let inside = newton > low && newton < high;
        let next = if inside && (newton - x).abs() <= 0.5 * last_step.abs() {
            newton
        } else {
            0.5 * low + 0.5 * high
        };
        last_step = next - x;
        if last_step.abs() <= 0.5 * f64::EPSILON * x.abs() || next <= low && next >= high {
            return next;
        }
        x = next;
        if !(low < x && x < high) {
            return x;
        }
    }
    x
}
