//! A descent from its start to its end.

use super::error::{ProblemError, same_length};
use super::levenberg_marquardt::Descent;
use super::problem::{Bounds, Residuals, Solution};

/// Minimises Σr² from `start` within `bounds` in at most `most_steps` steps, showing `observe` the descent after each
/// ([`Descent::as_step`] records it). Nothing is allocated between the steps. A token in force ([`crate::cancel`]) ends it
/// where it is.
///
/// # Errors
/// [`ProblemError`] for a start that has not one number a bound.
///
/// # Examples
/// ```
/// use litdiode::fit::{Bounds, Residuals, minimise};
/// /// The two residuals 10·(x₁ − x₀²) and 1 − x₀ of Rosenbrock, Comput. J. 3 (1960) 175.
/// struct Valley;
/// impl Residuals for Valley {
///     fn len(&self) -> usize {
///         2
///     }
///     fn evaluate(&self, x: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
///         r.copy_from_slice(&[10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]);
///         jacobian.into_iter().for_each(|j| j.copy_from_slice(&[-20.0 * x[0], -1.0, 10.0, 0.0]));
///         true
///     }
/// }
/// let bounds = Bounds::new(vec![-2.0; 2], vec![2.0; 2])?;
/// let mut steps = 0;
/// let found = minimise(&Valley, &[-1.2, 1.0], &bounds, 200, |_| steps += 1)?;
/// assert!(found.stop.converged() && steps > 1);
/// assert!((found.x[0] - 1.0).abs() < 1e-8 && (found.x[1] - 1.0).abs() < 1e-8);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn minimise(
    problem: &impl Residuals,
    start: &[f64],
    bounds: &Bounds,
    most_steps: usize,
    observe: impl FnMut(&Descent),
) -> Result<Solution, ProblemError> {
    same_length("start", start.len(), bounds.low.len())?;
    Ok(descend_from(problem, start, bounds, most_steps, observe))
}

/// The same for a start that is known to have one number a bound.
pub(crate) fn descend_from(
    problem: &impl Residuals,
    start: &[f64],
    bounds: &Bounds,
    most_steps: usize,
    observe: impl FnMut(&Descent),
) -> Solution {
    Descent::begin(problem, start, bounds).run(problem, bounds, most_steps, observe)
}

#[cfg(test)]
mod tests {
    use super::super::problem::examples::Valley;
    use super::*;
    use approx::assert_relative_eq;

    fn bounds(low: [f64; 2], high: [f64; 2]) -> Bounds {
        Bounds { low: low.to_vec(), high: high.to_vec() }
    }

    #[test]
    fn valley_is_followed_to_its_end() {
        let wide = bounds([-9.0; 2], [9.0; 2]);
        let s = descend_from(&Valley, &[-1.2, 1.0], &wide, 200, |_| {});
        assert!(s.stop.converged());
        assert_relative_eq!(s.x[0], 1.0, max_relative = 1e-10);
    }

    /// With x ≤ ½ the minimum is at (½, ¼) by hand: the second residual is ½ and the first 0.
    #[test]
    fn active_bound_is_met_exactly() {
        let s = descend_from(&Valley, &[-1.2, 1.0], &bounds([-9.0; 2], [0.5, 9.0]), 200, |_| {});
        assert!(s.stop.converged(), "{s:?}");
        assert_eq!(s.x[0], 0.5);
        assert_relative_eq!(s.x[1], 0.25, max_relative = 1e-9);
        assert_relative_eq!(s.cost, 0.25, max_relative = 1e-12);
    }

    #[test]
    fn a_fixed_coordinate_stays() {
        let s = descend_from(&Valley, &[0.3, 2.0], &bounds([0.3, -9.0], [0.3, 9.0]), 200, |_| {});
        assert_eq!(s.x[0], 0.3);
        assert_relative_eq!(s.x[1], 0.09, max_relative = 1e-9);
    }
}
