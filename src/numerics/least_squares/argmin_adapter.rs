//! The bounded least-squares step as a solver of `argmin`, whose observers then see every step.

use crate::numerics::least_squares::levenberg_marquardt::Descent;
use crate::numerics::least_squares::problem::{Bounds, Residuals};
use argmin::core::{Error, IterState, KV, Problem, Solver, State, TerminationReason, TerminationStatus};

/// Parameters are plain lists; gradient, Jacobian and Hessian stay inside the descent.
type Iterate = IterState<Vec<f64>, (), (), (), (), f64>;

/// The descent of [`crate::fit::minimise`], one step an iteration; cost is Σr².
///
/// Every step tells the observers `damping` (μ) and `taken`. The termination is `SolverConverged` where
/// [`Stop::converged`](super::problem::Stop::converged), else `SolverExit` with the reason.
///
/// # Examples
/// ```
/// use argmin::core::{Executor, IterState};
/// use litdiode::fit::{BoundedLevenbergMarquardt, Bounds, Residuals};
///
/// /// Residuals of y = exp(−b·x) at three points.
/// struct Decay;
///
/// impl Residuals for Decay {
///     fn len(&self) -> usize {
///         3
///     }
///
///     fn evaluate(&self, b: &[f64], r: &mut [f64], jacobian: Option<&mut [f64]>) -> bool {
///         let (x, y) = ([0.0, 1.0, 2.0], [1.0, 0.5, 0.25]);
///         (0..3).for_each(|i| r[i] = (-b[0] * x[i]).exp() - y[i]);
///         if let Some(j) = jacobian {
///             (0..3).for_each(|i| j[i] = -x[i] * (-b[0] * x[i]).exp());
///         }
///         true
///     }
/// }
///
/// let solver = BoundedLevenbergMarquardt::new(Bounds::new(vec![0.0], vec![9.0])?);
/// let found = Executor::new(Decay, solver).configure(|s: IterState<_, _, _, _, _, _>| s.param(vec![3.0])).run()?;
/// assert!((found.state.best_param.unwrap()[0] - 2f64.ln()).abs() < 1e-10);
/// # Ok::<(), argmin::core::Error>(())
/// ```
pub struct BoundedLevenbergMarquardt {
    bounds: Bounds,
    descent: Option<Descent>,
}

impl BoundedLevenbergMarquardt {
    /// A solver within `bounds`; the start is the state's parameter.
    pub fn new(bounds: Bounds) -> Self {
        Self { bounds, descent: None }
    }
}

impl<O: Residuals> Solver<O, Iterate> for BoundedLevenbergMarquardt {
    fn name(&self) -> &str {
        "bounded Levenberg-Marquardt"
    }

    fn init(&mut self, problem: &mut Problem<O>, state: Iterate) -> Result<(Iterate, Option<KV>), Error> {
        let Some(start) = state.get_param() else {
            return Err(Error::msg("the start is missing: give the state its param"));
        };
        if start.len() != self.bounds.low.len() || start.len() != self.bounds.high.len() {
            return Err(Error::msg(format!(
                "the start has {} coordinates and the bounds have {}: give one pair of bounds a coordinate",
                start.len(),
                self.bounds.low.len()
            )));
        }
        let descent = problem.problem("residuals", |p| Ok(Descent::begin(p, start, &self.bounds)))?;
        let record = record(&descent);
        let state = state.param(descent.x().to_vec()).cost(descent.cost());
        self.descent = Some(descent);
        Ok((state, Some(record)))
    }

    fn next_iter(
        &mut self,
        problem: &mut Problem<O>,
        state: Iterate,
    ) -> Result<(Iterate, Option<KV>), Error> {
        let Some(descent) = self.descent.as_mut() else {
            return Err(Error::msg("the solver was not started"));
        };
        problem.problem("residuals", |p| Ok(descent.advance(p, &self.bounds)))?;
        Ok((state.param(descent.x().to_vec()).cost(descent.cost()), Some(record(descent))))
    }

    fn terminate(&mut self, _state: &Iterate) -> TerminationStatus {
        match self.descent.as_ref().and_then(Descent::stop) {
            None => TerminationStatus::NotTerminated,
            Some(stop) if stop.converged() => {
                TerminationStatus::Terminated(TerminationReason::SolverConverged)
            }
            Some(stop) => {
                TerminationStatus::Terminated(TerminationReason::SolverExit(stop.reason().to_owned()))
            }
        }
    }
}

fn record(descent: &Descent) -> KV {
    let step = descent.as_step();
    argmin::kv!("damping" => step.damping; "taken" => step.taken;)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::least_squares::minimise::minimise;
    use crate::numerics::least_squares::problem::examples::Valley;
    use argmin::core::Executor;
    use argmin::core::observers::{Observe, ObserverMode};
    use std::sync::{Arc, Mutex};

    /// The parameters of every step.
    #[derive(Clone, Default)]
    struct Path(Arc<Mutex<Vec<Vec<f64>>>>);

    impl Observe<Iterate> for Path {
        fn observe_iter(&mut self, state: &Iterate, kv: &KV) -> Result<(), Error> {
            assert!(kv.get("damping").is_some() && kv.get("taken").is_some());
            self.0.lock().unwrap().push(state.get_param().unwrap().clone());
            Ok(())
        }
    }

    /// The observers see the path of the plain loop, step by step and bit by bit.
    #[test]
    fn observers_see_the_plain_loop() {
        let bounds = Bounds::new(vec![-9.0; 2], vec![0.5, 9.0]).unwrap();
        let mut plain = Vec::new();
        let solution = minimise(&Valley, &[-1.2, 1.0], &bounds, 200, |d| plain.push(d.x().to_vec())).unwrap();
        let path = Path::default();
        let found = Executor::new(Valley, BoundedLevenbergMarquardt::new(bounds))
            .configure(|s: Iterate| s.param(vec![-1.2, 1.0]).max_iters(200))
            .add_observer(path.clone(), ObserverMode::Always)
            .run()
            .unwrap();
        let seen = path.0.lock().unwrap().clone();
        assert_eq!(seen[..plain.len() - 1], plain[1..]);
        assert_eq!(found.state.get_param().unwrap(), &solution.x);
        assert_eq!(found.state.get_termination_reason(), Some(&TerminationReason::SolverConverged));
    }

    #[test]
    fn bounds_of_another_length_are_an_error() {
        let solver = BoundedLevenbergMarquardt::new(Bounds { low: vec![0.0], high: vec![1.0] });
        let error = Executor::new(Valley, solver)
            .configure(|s: Iterate| s.param(vec![0.0, 0.0]))
            .run()
            .err()
            .unwrap()
            .to_string();
        assert!(error.contains("2 coordinates") && error.contains("bounds have 1"), "{error}");
    }
}
