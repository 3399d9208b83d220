//! Scatter carried through a computation that is no plain regression: L by differences, reading by reading.
//!
//! ```text
//! u² = Σₖ (L_Vₖ² σVₖ² + L_Iₖ² σIₖ²),   Lₖ σₖ ≈ (f(xₖ + σₖ) − f(xₖ − σₖ))/2        L·Σ·Lᵀ for independent readings
//! shift = ½ Σₖ (f(xₖ + σₖ) + f(xₖ − σₖ) − 2f)                    what the scatter does to the mean
//! ```
//!
//! JCGM 100:2008, 5.1.3 note 2 (differences of one standard uncertainty) and 5.1.2 note (second order).

use super::prepared_sweep::Trace;
use crate::numerics::cancel;

/// Variance of a figure and the shift of its mean by the scatter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Carried {
    pub variance: f64,
    pub shift: f64,
}

/// Carries the scatter of `trace` through `f`; `None` where `f` fails on a reading moved by its σ.
pub(super) fn carry(trace: &Trace, f: impl Fn(&Trace) -> Option<f64>) -> Option<Carried> {
    let centre = f(trace)?;
    let mut moved = trace.clone();
    let mut carried = Carried { variance: 0.0, shift: 0.0 };
    let mut add = |up: f64, down: f64| {
        carried.variance += (0.5 * (up - down)).powi(2);
        carried.shift += 0.5 * (up + down - 2.0 * centre);
    };
    for k in 0..trace.len() {
        if cancel::requested() {
            return None;
        }
        if trace.sigma_v[k] > 0.0 {
            let mut at = |s: f64| {
                moved.v[k] = trace.v[k] + s * trace.sigma_v[k];
                f(&moved)
            };
            let (up, down) = (at(1.0)?, at(-1.0)?);
            add(up, down);
            moved.v[k] = trace.v[k];
        }
        if trace.sigma_i[k] > 0.0 {
            let mut at = |s: f64| {
                moved.i[k] = trace.i[k] + s * trace.sigma_i[k];
                f(&moved)
            };
            let (up, down) = (at(1.0)?, at(-1.0)?);
            add(up, down);
            moved.i[k] = trace.i[k];
        }
    }
    Some(carried)
}
