//! Numbers for unit tests, without a pattern that matters to them, by the quadratic map x → 3.99·x·(1 − x).

/// A function that gives the next number between two ends, from a start between 0 and 1.
pub fn numbers(start: f64) -> impl FnMut(f64, f64) -> f64 {
    let mut state = start;
    move |low, high| {
        state = 3.99 * state * (1.0 - state);
        low + (high - low) * state
    }
}
